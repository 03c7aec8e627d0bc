//! Two or three places of a picture that is said to be taken square on: it is turned, scaled and
//! shifted then, and no more.
//!
//! Nobody holds a camera quite square on: what three degrees do is allowed for. Four places need none
//! of this.

use super::Homography;
use super::view::{ROUND_95, radius, seen, stands, tapped};
use crate::read::marked_picture::{KnownPlace, MarkedError};
use kurbo::{Point, Vec2};
use nalgebra::Matrix2;

/// A camera that was held square on by eye is askew by no more, degrees (common practice, no source).
pub(super) const ASKEW_DEG: f64 = 3.0;
/// How wide a picture is for the distance it was taken from: a phone's main camera sees some 70°
/// across (from memory); what sees less is further away, and errs less.
const WIDE_FOR_FAR: f64 = 1.4;
/// Places nearer than this share of the picture's width tell nothing of its size.
const NEAREST: f64 = 0.04;
/// Three places that fit worse than so many times what was to be expected do not.
const MISFIT_TIMES: f64 = 1.5;
/// Three places whose triangle is lower than this share of its longest side are on a line: which way
/// round they run says nothing.
const LOWEST: f64 = 0.08;

/// The places, and how unsure each is.
pub(super) struct SquareOn {
    /// From the middle of them, mm.
    arms: Vec<Vec2>,
    spreads: Vec<Matrix2<f64>>,
    middle: Point,
    /// Where the middle of the picture is on the plane.
    axis: Point,
    /// How far the camera was away at least, mm.
    far: f64,
    /// How far askew it may have been, degrees; nothing for what no camera took.
    askew_deg: f64,
}

/// Complex numbers as turn and scale: `a` times `b`.
const fn times(a: Vec2, b: Vec2) -> Vec2 {
    Vec2::new(a.x * b.x - a.y * b.y, a.x * b.y + a.y * b.x)
}

const fn conjugate(a: Vec2) -> Vec2 {
    Vec2::new(a.x, -a.y)
}

const fn turning(a: Vec2) -> Matrix2<f64> {
    Matrix2::new(a.x, -a.y, a.y, a.x)
}

fn mean(all: impl Iterator<Item = Point> + Clone) -> Point {
    #[expect(clippy::cast_precision_loss, reason = "two or three")]
    let n = all.clone().count().max(1) as f64;
    let sum = all.fold(Vec2::ZERO, |s, p| s + p.to_vec2());
    (sum / n).to_point()
}

impl SquareOn {
    /// The map from picture to plane that fits best (least squares of a similarity), with how unsure
    /// it is.
    pub(super) fn of(
        known: &[KnownPlace],
        high: f64,
        askew_deg: f64,
    ) -> Result<(Homography, Self), MarkedError> {
        let middle = mean(known.iter().map(stands));
        let seen_middle = mean(known.iter().map(|p| seen(&p.tap)));
        for (k, a) in known.iter().enumerate() {
            for b in known.iter().skip(k + 1) {
                let apart = (seen(&a.tap) - seen(&b.tap)).hypot2();
                let near = apart < (NEAREST * 1000.0) * (NEAREST * 1000.0);
                if near || (stands(a) - stands(b)).hypot2() <= 0.0 {
                    return Err(MarkedError::TooNear(a.name.clone(), b.name.clone()));
                }
            }
        }
        if other_way_round(known) {
            return Err(MarkedError::Mirrored);
        }
        let (mut turn, mut sum) = (Vec2::ZERO, 0.0);
        for place in known {
            let from = seen(&place.tap) - seen_middle;
            turn += times(conjugate(from), stands(place) - middle);
            sum += from.hypot2();
        }
        let turn = turn / sum;
        let slope = turning(turn);
        let shift = middle - times(turn, seen_middle.to_vec2());
        let to_plane = Homography::plain(slope, shift);
        let spread = |place: &KnownPlace| {
            let own = place.within_mm / ROUND_95;
            Some(Matrix2::identity() * (own * own) + tapped(&to_plane, &place.tap)?)
        };
        let spreads: Option<Vec<_>> = known.iter().map(spread).collect();
        let this = Self {
            arms: known.iter().map(|p| stands(p) - middle).collect(),
            spreads: spreads.ok_or(MarkedError::OutOfOrder)?,
            middle,
            axis: to_plane
                .at(Point::new(500.0, -high / 2.0))
                .ok_or(MarkedError::OutOfOrder)?,
            far: 1000.0 * libm::hypot(turn.x, turn.y) / WIDE_FOR_FAR,
            askew_deg,
        };
        this.fitting(known, &to_plane)?;
        Ok((to_plane, this))
    }

    /// Three places prove one another.
    fn fitting(&self, known: &[KnownPlace], to_plane: &Homography) -> Result<(), MarkedError> {
        if known.len() < 3 {
            return Ok(());
        }
        for (place, spread) in known.iter().zip(&self.spreads) {
            let at = to_plane
                .at(seen(&place.tap))
                .ok_or(MarkedError::OutOfOrder)?;
            let off = at - stands(place);
            let off = libm::hypot(off.x, off.y);
            let expected = radius(*spread + self.askew(stands(place)));
            if off > MISFIT_TIMES * expected {
                return Err(MarkedError::NotSquareOn { off, expected });
            }
        }
        Ok(())
    }

    /// How each known place's own fault goes on to another: turned and scaled with the rest.
    fn weights(&self, at: Point) -> impl Iterator<Item = Matrix2<f64>> {
        let away = at - self.middle;
        #[expect(clippy::cast_precision_loss, reason = "two or three")]
        let n = self.arms.len().max(1) as f64;
        let sum: f64 = self.arms.iter().map(|a| a.hypot2()).sum();
        self.arms
            .iter()
            .map(move |arm| turning(times(away, conjugate(*arm)) / sum + Vec2::new(1.0 / n, 0.0)))
    }

    /// What a camera held askew leaves at a place. A tilt by the angles τ moves what is x from the
    /// middle of the picture by (x·τ) x for each distance of the camera; the map that fits the known
    /// places takes out what they show of it.
    fn askew(&self, at: Point) -> Matrix2<f64> {
        let bend = |p: Point| {
            let x = p - self.axis;
            Matrix2::new(x.x * x.x, x.x * x.y, x.x * x.y, x.y * x.y)
        };
        let tilt = self.askew_deg.to_radians();
        let mut left = bend(at);
        for (weight, arm) in self.weights(at).zip(&self.arms) {
            left -= weight * bend(self.middle + *arm);
        }
        left *= libm::tan(tilt) / ROUND_95 / self.far;
        // Lengths across the tilt shrink besides.
        let away = at - self.middle;
        let shrunk = libm::hypot(away.x, away.y) * (1.0 - libm::cos(tilt)) / ROUND_95;
        left * left.transpose() + Matrix2::identity() * (shrunk * shrunk)
    }

    /// What is unsure at a place: what the known ones are, and how square on it was.
    pub(super) fn carried(&self, at: Point) -> Matrix2<f64> {
        let mut all = self.askew(at);
        for (weight, spread) in self.weights(at).zip(&self.spreads) {
            all += weight * spread * weight.transpose();
        }
        all
    }

    pub(super) const fn middle(&self) -> Point {
        self.middle
    }

    pub(super) const fn places(&self) -> usize {
        self.arms.len()
    }

    /// How far they reach from their middle, mm.
    pub(super) fn reach(&self) -> f64 {
        let most = self.arms.iter().map(|a| a.hypot2()).fold(0.0, f64::max);
        libm::sqrt(most)
    }
}

/// Three that run the other way round in the picture; nothing is known of two, or of a line.
fn other_way_round(known: &[KnownPlace]) -> bool {
    let [a, b, c, ..] = known else {
        return false;
    };
    let way = |p: [Point; 3]| {
        let twice = (p[1] - p[0]).cross(p[2] - p[0]);
        let sides = [p[1] - p[0], p[2] - p[0], p[2] - p[1]];
        let longest = sides.iter().map(|s| s.hypot2()).fold(0.0, f64::max);
        (twice.abs() > LOWEST * longest).then_some(twice.signum())
    };
    let plane = way([a, b, c].map(stands));
    let picture = way([a, b, c].map(|p| seen(&p.tap)));
    plane.zip(picture).is_some_and(|(p, q)| p * q < 0.0)
}
