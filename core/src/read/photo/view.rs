//! From a picture to the plane of the places in it that are known, and how unsure that is.

use super::Homography;
use super::square_on::{ASKEW_DEG, SquareOn};
use crate::read::marked_picture::{KnownPlace, MarkedError, Tap};
use kurbo::Point;
use nalgebra::{Matrix2, SMatrix};

/// 95 % of a round spread in the plane lie within so many deviations.
pub(super) const ROUND_95: f64 = 2.4477;

/// The picture's y runs down.
pub(super) fn seen(tap: &Tap) -> Point {
    Point::new(tap.at[0], -tap.at[1])
}

pub(super) const fn stands(place: &KnownPlace) -> Point {
    Point::new(place.at_mm[0], place.at_mm[1])
}

/// From the picture to the plane of the known places, with how unsure that is.
pub(super) struct View {
    to_plane: Homography,
    /// The side of the horizon on which the places lie.
    side: f64,
    middle: Point,
    /// How far the places reach, mm.
    pub(super) scale: f64,
    carries: Carries,
}

/// How what the places are unsure by goes on to another.
enum Carries {
    /// By four of them, however the camera was held.
    Four {
        /// From how they move to the eight numbers of the field.
        inverse: Box<SMatrix<f64, 8, 8>>,
        /// How unsure each is.
        spreads: [Matrix2<f64>; 4],
    },
    /// By two or three, the camera square on.
    SquareOn(SquareOn),
}

impl View {
    pub(super) fn through(four: &[KnownPlace; 4]) -> Option<Self> {
        let stand = four.each_ref().map(stands);
        let taps = four.each_ref().map(|p| seen(&p.tap));
        let to_plane = Homography::through(taps, stand)?;
        let side = to_plane.depth(taps[0]);
        if taps.iter().any(|t| to_plane.depth(*t) * side <= 0.0) {
            return None;
        }
        let sum = stand.iter().fold(Point::ZERO, |s, p| s + p.to_vec2());
        let middle = Point::new(sum.x / 4.0, sum.y / 4.0);
        let scale = stand
            .iter()
            .map(|p| libm::hypot(p.x - middle.x, p.y - middle.y))
            .fold(0.0, f64::max);
        let mut field = SMatrix::<f64, 8, 8>::zeros();
        let mut spreads = [Matrix2::zeros(); 4];
        for (k, (place, spread)) in four.iter().zip(&mut spreads).enumerate() {
            let rows = rows((stand[k] - middle) / scale);
            field.fixed_view_mut::<2, 8>(2 * k, 0).copy_from(&rows);
            let own = place.within_mm / ROUND_95;
            *spread = Matrix2::identity() * (own * own) + tapped(&to_plane, &place.tap)?;
        }
        Some(Self {
            to_plane,
            side,
            middle,
            scale,
            carries: Carries::Four {
                inverse: Box::new(field.try_inverse()?),
                spreads,
            },
        })
    }

    /// By two or three places of a picture that was taken square on.
    pub(super) fn square_on_to(known: &[KnownPlace], high: f64) -> Result<Self, MarkedError> {
        Self::turned_and_scaled(known, high, ASKEW_DEG)
    }

    /// By two places or more of what is turned, scaled and shifted, held askew by no more than so many
    /// degrees.
    pub(super) fn turned_and_scaled(
        known: &[KnownPlace],
        high: f64,
        askew_deg: f64,
    ) -> Result<Self, MarkedError> {
        let (to_plane, square_on) = SquareOn::of(known, high, askew_deg)?;
        let side = to_plane.depth(Point::ZERO);
        Ok(Self {
            to_plane,
            side,
            middle: square_on.middle(),
            scale: square_on.reach(),
            carries: Carries::SquareOn(square_on),
        })
    }

    /// By how many places of a picture that is said to be taken square on; nothing where four show
    /// how it was taken.
    pub(super) fn square_on(&self) -> Option<usize> {
        match &self.carries {
            Carries::Four { .. } => None,
            Carries::SquareOn(by) => Some(by.places()),
        }
    }

    /// Where the picture shows a place of the plane; nothing for what is beyond its horizon.
    pub(super) fn pictured(&self, inverse: &Homography, at: Point) -> Option<Point> {
        let place = inverse.at(at)?;
        (self.to_plane.depth(place) * self.side > 0.0).then_some(place)
    }

    /// The map from the picture to the plane.
    pub(super) const fn to_plane(&self) -> &Homography {
        &self.to_plane
    }

    /// What lies at a place of the picture; nothing beyond its horizon.
    pub(super) fn place(&self, pictured: Point) -> Option<Point> {
        let ahead = self.to_plane.depth(pictured) * self.side > 0.0;
        self.to_plane
            .at(pictured)
            .filter(|p| ahead && p.is_finite())
    }

    /// The middle of the known places.
    pub(super) const fn middle(&self) -> Point {
        self.middle
    }

    /// Where something tapped is on the plane, and its covariance, mm².
    pub(super) fn at(&self, tap: Tap) -> Option<(Point, Matrix2<f64>)> {
        let place = seen(&tap);
        if self.to_plane.depth(place) * self.side <= 0.0 {
            return None;
        }
        let at = self.to_plane.at(place)?;
        let spread = self.carried(at) + tapped(&self.to_plane, &tap)?;
        let ok = at.is_finite() && spread.iter().all(|v| v.is_finite());
        ok.then_some((at, spread))
    }

    /// What the known places are unsure by, carried to another.
    pub(super) fn carried(&self, at: Point) -> Matrix2<f64> {
        let (inverse, spreads) = match &self.carries {
            Carries::Four { inverse, spreads } => (inverse, spreads),
            Carries::SquareOn(by) => return by.carried(at),
        };
        let weights = rows((at - self.middle) / self.scale) * **inverse;
        let mut sum = Matrix2::zeros();
        for (k, spread) in spreads.iter().enumerate() {
            let w = weights.fixed_view::<2, 2>(0, 2 * k).into_owned();
            sum += w * spread * w.transpose();
        }
        sum
    }
}

/// The field at a place, by its eight numbers.
fn rows(at: kurbo::Vec2) -> SMatrix<f64, 2, 8> {
    let (x, y) = (at.x, at.y);
    SMatrix::<f64, 2, 8>::from_row_slice(&[
        1.0,
        x,
        y,
        0.0,
        0.0,
        0.0,
        x * x,
        x * y, //
        0.0,
        0.0,
        0.0,
        1.0,
        x,
        y,
        x * y,
        y * y,
    ])
}

/// What a tap is unsure by, on the plane.
pub(super) fn tapped(to_plane: &Homography, tap: &Tap) -> Option<Matrix2<f64>> {
    let slope = to_plane.slope(seen(tap))?;
    let own = tap.within / ROUND_95;
    Some(slope * slope.transpose() * (own * own))
}

/// 95 % lie within, mm.
pub(super) fn radius(spread: Matrix2<f64>) -> f64 {
    let (a, b, c) = (spread[(0, 0)], spread[(0, 1)], spread[(1, 1)]);
    let most = (a + c) / 2.0 + libm::hypot((a - c) / 2.0, b);
    ROUND_95 * libm::sqrt(most.max(0.0))
}
