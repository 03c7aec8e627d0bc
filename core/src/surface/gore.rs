//! A gore of a ball: the piece between two meridians and two parallels, flat, so that so many alike
//! butt edge to edge all round.
//!
//! ```text
//!             · pole, the middle of the feature
//!            /│\         every parallel is as long as on the ball, on an arc about the tip of the
//!           / │ \        cone that touches the ball there (polyconic: Snyder 1987, eqs 18-2 to 18-4);
//!        ──/──│──\──     the middle line is true, the long edges a little too long
//!         /   │   \
//! ```
//! The middle line runs down the sheet, the pole up; x to the right is anticlockwise about the pole.

use super::series::sinc;
use crate::frames::{Flat, Point2, Vector2};
use crate::units::Length;
use core::f64::consts::{PI, TAU};

/// So many places are looked at along a long edge and half along a parallel.
const LOOKS: u32 = 48;

/// One of so many gores alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gore {
    radius_mm: f64,
    count: u32,
    /// Polar distances of its ends over the ball, mm.
    ends: [f64; 2],
}

/// What a gore leaves when it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GoreLeaves {
    /// How far a place of either end lands from its own place at worst.
    pub worst: Length,
    /// The root of the mean square over both ends.
    pub rms: Length,
    /// How far two neighbours stand apart at their edges, at worst.
    pub gap: Length,
    /// How far they lie over each other, at worst.
    pub overlap: Length,
    /// How much longer a long edge is than the line on the ball that it runs along.
    pub too_long: Length,
}

impl Gore {
    /// One of `count` alike about a pole of a ball, from a polar distance to another, the nearer first;
    /// nothing for fewer than three, or where it would reach round to the other pole.
    #[must_use]
    pub fn new(radius: Length, count: u32, [from, to]: [Length; 2]) -> Option<Self> {
        let (r, ends) = (radius.mm(), [from.mm().max(0.0), to.mm()]);
        let round = count >= 3 && r > 0.0 && ends[1] > ends[0] && ends[1] < 0.8 * PI * r;
        round.then_some(Self {
            radius_mm: r,
            count,
            ends,
        })
    }

    /// How many there are.
    #[must_use]
    pub const fn count(&self) -> u32 {
        self.count
    }

    /// Half of the angle about the pole that one takes, radians.
    #[must_use]
    pub fn half_turn(&self) -> f64 {
        PI / f64::from(self.count)
    }

    /// Half its width along the parallel at a polar distance: (πR/n)·sin(s/R).
    #[must_use]
    pub fn half_width(&self, polar: Length) -> Length {
        let theta = polar.mm() / self.radius_mm;
        Length::from_mm(self.half_turn() * self.radius_mm * libm::sin(theta))
    }

    fn middle_mm(&self) -> f64 {
        (self.ends[0] + self.ends[1]) / 2.0
    }

    /// Where a place lies on the sheet: at a polar distance, so many radians beside the middle line,
    /// anticlockwise about the pole. The middle of the middle line is the origin.
    #[must_use]
    pub fn flat(&self, polar: Length, turn: f64) -> Point2<Flat> {
        let (r, s) = (self.radius_mm, polar.mm());
        let (sin, cos) = (libm::sin(s / r), libm::cos(s / r));
        let e = turn * cos;
        let wide = r * sin * turn;
        let x = wide * sinc(e * e);
        let y = wide * libm::sin(e / 2.0) * sinc(e * e / 4.0);
        Point2::from_mm(x, self.middle_mm() - s + y)
    }

    /// The foot of the same place on the middle line, as a polar distance, and how far off that it is:
    /// what paper rolled on from its middle line takes for y and x (Cassini's coordinates).
    fn rolled_mm(&self, s: f64, turn: f64) -> [f64; 2] {
        let (r, theta) = (self.radius_mm, s / self.radius_mm);
        let (sin, cos) = (libm::sin(theta), libm::cos(theta));
        let x = r * libm::asin(sin * libm::sin(turn));
        let foot = r * libm::atan2(sin * libm::cos(turn), cos);
        [x, foot]
    }

    /// How far a place of it lands from its own place when its middle line lies true: x and y as on the
    /// sheet.
    ///
    /// Off the middle line paper is too long. It either ripples there, and the place lands by its two
    /// coordinates; or it keeps its length and pushes outwards from the middle. The worse of both.
    #[must_use]
    pub fn lands(&self, polar: Length, turn: f64) -> Vector2<Flat> {
        let rippled = self.rolls_on(polar, turn);
        let [x, foot] = self.rolled_mm(polar.mm(), turn);
        let along = self.middle_mm() - foot;
        let shorter = along * libm::cos(x / self.radius_mm);
        let pushed = rippled + Vector2::from_mm(0.0, along - shorter);
        if pushed.norm_mm() > rippled.norm_mm() {
            pushed
        } else {
            rippled
        }
    }

    /// The same where it ripples.
    fn rolls_on(&self, polar: Length, turn: f64) -> Vector2<Flat> {
        let on_paper = self.flat(polar, turn);
        let [x, foot] = self.rolled_mm(polar.mm(), turn);
        let along = self.middle_mm() - foot;
        Vector2::from_mm(on_paper.x_mm() - x, on_paper.y_mm() - along)
    }

    /// The long edge on the anticlockwise side, from the pole's end on.
    #[must_use]
    pub fn edge(&self) -> Vec<Point2<Flat>> {
        self.polars()
            .map(|s| self.flat(s, self.half_turn()))
            .collect()
    }

    fn polars(&self) -> impl Iterator<Item = Length> {
        let [from, to] = self.ends;
        (0..=LOOKS)
            .map(move |k| Length::from_mm(from + (to - from) * f64::from(k) / f64::from(LOOKS)))
    }

    /// A parallel from the clockwise long edge to the other.
    #[must_use]
    pub fn parallel(&self, polar: Length) -> Vec<Point2<Flat>> {
        let half = self.half_turn();
        let n = f64::from(LOOKS);
        (0..=2 * LOOKS)
            .map(|k| self.flat(polar, half * (f64::from(k) / n - 1.0)))
            .collect()
    }

    /// What it leaves.
    #[must_use]
    pub fn leaves(&self) -> GoreLeaves {
        let half = self.half_turn();
        let (mut worst, mut squares, mut count) = (0.0_f64, 0.0, 0.0);
        for end in self.ends {
            for k in 0..=LOOKS {
                let turn = half * f64::from(k) / f64::from(LOOKS);
                let mm = self.lands(Length::from_mm(end), turn).norm_mm();
                worst = worst.max(mm);
                squares += mm * mm;
                count += 1.0;
            }
        }
        // Across the edge, where both neighbours are off alike.
        let (mut gap, mut overlap) = (0.0_f64, 0.0_f64);
        for s in self.polars() {
            let off = self.rolls_on(s, half);
            // The meridian as it is rolled on: down the sheet as the polar distance grows.
            let step = 1e-3 * self.radius_mm;
            let [a, b] = [s.mm() - step, s.mm() + step].map(|s| self.rolled_mm(s.max(0.0), half));
            let Some(down) = Vector2::<Flat>::from_mm(b[0] - a[0], a[1] - b[1]).unit() else {
                continue;
            };
            // To its right, seen going down, is the gore itself; to its left the neighbour.
            let out = -2.0 * off.cross(down);
            (gap, overlap) = (gap.max(-out), overlap.max(out));
        }
        let edge = self.edge();
        let long: f64 = edge.windows(2).map(|w| (w[1] - w[0]).norm_mm()).sum();
        let [from, to] = self.ends;
        GoreLeaves {
            worst: Length::from_mm(worst),
            rms: Length::from_mm(libm::sqrt(squares / f64::max(count, 1.0))),
            gap: Length::from_mm(gap),
            overlap: Length::from_mm(overlap),
            too_long: Length::from_mm((long - (to - from)).max(0.0)),
        }
    }

    /// Which gore a bearing about the pole falls in, counted from 1 anticlockwise where the first has
    /// its middle line at a bearing, and how far beside that gore's middle line, radians.
    #[must_use]
    pub fn of_bearing(&self, bearing: f64, first: f64) -> (u32, f64) {
        let each = TAU / f64::from(self.count);
        let turned = (bearing - first) / each;
        let turned = turned - f64::from(self.count) * libm::floor(turned / f64::from(self.count));
        let whole = libm::round(turned);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "from 0 to the count"
        )]
        let which = whole as u32 % self.count;
        (which + 1, (turned - whole) * each)
    }

    /// Bearing of the middle line of one, counted from 1.
    #[must_use]
    pub fn bearing(&self, which: u32, first: f64) -> f64 {
        first + TAU / f64::from(self.count) * f64::from(which.saturating_sub(1))
    }
}
