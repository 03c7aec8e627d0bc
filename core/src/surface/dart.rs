//! Darts: wedges cut out of a flat sheet, and how far apart two places of it are once they are closed.
//!
//! ```text
//!              trim
//!      ───╮         ╭───      the sheet is flat but for its tips: closing a dart makes a cone there,
//!          ╲       ╱          which takes the dart's angle of curvature (Gauss–Bonnet: do Carmo
//!           ╲  ω  ╱           1976, 4-5); a way across a dart is straight once one side has been
//!            ╲   ╱            turned about the tip by ω
//!             ╲ ╱
//!              o  tip: a 2 mm hole
//! ```

use crate::frames::{Flat, Point2, Vector2};
use crate::units::{Angle, Length};

/// Radius of the hole at a dart's tip: it stops the paper from tearing on.
pub const HOLE_RADIUS: Length = Length::from_mm(1.0);

/// A wedge to cut out of a flat sheet, or on a saddle a slit that opens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dart {
    /// Where it ends inside the sheet: the middle of its hole.
    pub tip: Point2<Flat>,
    /// The direction in which it runs out to the edge, of unit length.
    pub out: Vector2<Flat>,
    /// The angle taken out; negative where the sheet is slit and opens by so much.
    pub angle: Angle,
}

impl Dart {
    /// The directions of its two edges, the one met first going anticlockwise about the sheet first;
    /// a slit has both in one.
    #[must_use]
    pub fn edges(&self) -> [Vector2<Flat>; 2] {
        let half = self.angle.rad().max(0.0) / 2.0;
        [self.out.turned(-half), self.out.turned(half)]
    }

    /// How near a place comes to the wedge that is taken out; nothing inside it.
    #[must_use]
    pub fn clear_of(&self, p: Point2<Flat>) -> Length {
        let v = p - self.tip;
        let along = v.dot(self.out);
        let inside = along > 0.0
            && libm::atan2(self.out.cross(v).abs(), along) <= self.angle.rad().max(0.0) / 2.0;
        if inside {
            return Length::ZERO;
        }
        let off = |edge: Vector2<Flat>| (v - edge * v.dot(edge).max(0.0)).norm_mm();
        let [a, b] = self.edges();
        Length::from_mm(off(a).min(off(b)))
    }

    /// A place on one side of the dart carried to where it lies against the other side once the
    /// dart is closed; `ways` is +1 for what lies clockwise of it, −1 for what lies anticlockwise.
    fn closed(&self, p: Point2<Flat>, ways: f64) -> Point2<Flat> {
        self.tip + (p - self.tip).turned(ways * self.angle.rad())
    }

    /// Whether the straight way between two places, the first clockwise of the dart, crosses the
    /// seam when the first side has been closed against the second.
    fn seam_crossed(&self, from: Point2<Flat>, to: Point2<Flat>, ways: f64) -> bool {
        let seam = self.out.turned(ways * self.angle.rad() / 2.0);
        let (a, b) = (self.closed(from, ways) - self.tip, to - self.tip);
        let (sa, sb) = (seam.cross(a), seam.cross(b));
        if sa * sb > 0.0 {
            return false;
        }
        let share = sa / (sa - sb);
        (a + (b - a) * share).dot(seam) >= 0.0
    }

    /// Whether the straight line on the open sheet runs through the dart.
    fn cuts(&self, from: Point2<Flat>, to: Point2<Flat>) -> bool {
        let (a, b) = (from - self.tip, to - self.tip);
        let (sa, sb) = (self.out.cross(a), self.out.cross(b));
        if sa * sb > 0.0 || (sa - sb).abs() < 1e-12 {
            return false;
        }
        let share = sa / (sa - sb);
        (a + (b - a) * share).dot(self.out) > 0.0
    }
}

/// How far apart two places of a sheet are when its darts are closed: the shortest way, straight
/// but for the turn about each tip whose dart it crosses, or round a tip.
#[must_use]
pub fn apart_mm(darts: &[Dart], from: Point2<Flat>, to: Point2<Flat>) -> f64 {
    let straight = (to - from).norm_mm();
    if !darts.iter().any(|d| d.cuts(from, to)) {
        return straight;
    }
    let mut least = f64::INFINITY;
    for ways in [1.0, -1.0] {
        // The darts met going that way round the sheet, in order.
        let start = from.from_origin().direction_rad();
        let turn = |a: f64| {
            let t = ways * (a - start);
            t - core::f64::consts::TAU * libm::floor(t / core::f64::consts::TAU)
        };
        let end = turn(to.from_origin().direction_rad());
        // A dart stands where it runs at the distance of these two.
        let far = from.from_origin().norm_mm().max(to.from_origin().norm_mm());
        let mut met: Vec<(f64, &Dart)> = darts
            .iter()
            .map(|d| (turn((d.tip.from_origin() + d.out * far).direction_rad()), d))
            .filter(|(t, _)| *t < end)
            .collect();
        met.sort_by(|a, b| a.0.total_cmp(&b.0));
        let met: Vec<&Dart> = met.into_iter().map(|m| m.1).collect();
        for first in 0..met.len() {
            for last in first..met.len() {
                let crossed = met.get(first..=last).unwrap_or_default();
                if let Some(mm) = across_mm(crossed, from, to, ways) {
                    least = least.min(mm);
                }
            }
        }
    }
    for dart in darts {
        let by_tip = (dart.tip - from).norm_mm() + (to - dart.tip).norm_mm();
        least = least.min(by_tip);
    }
    least
}

/// The straight way across these darts in turn; `None` where it misses a seam.
fn across_mm(darts: &[&Dart], from: Point2<Flat>, to: Point2<Flat>, ways: f64) -> Option<f64> {
    // The far end seen from before each dart.
    let mut ends = vec![to];
    for dart in darts.iter().rev() {
        let seen = dart.closed(*ends.last()?, -ways);
        ends.push(seen);
    }
    ends.reverse();
    let mut here = from;
    for (k, dart) in darts.iter().enumerate() {
        if !dart.seam_crossed(here, *ends.get(k + 1)?, ways) {
            return None;
        }
        here = dart.closed(here, ways);
    }
    Some((to - here).norm_mm())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point2<Flat> {
        Point2::from_mm(x, y)
    }

    /// One dart at the middle of a disc is a cone: its distances are those of the sector
    /// (shared checks K1: √(s₁² + s₂² − 2s₁s₂ cos Δ)).
    #[test]
    fn a_dart_at_the_middle_makes_a_cone() {
        let omega = 0.5;
        let dart = Dart {
            tip: p(0.0, 0.0),
            out: Vector2::from_mm(0.0, -1.0),
            angle: Angle::from_rad(omega),
        };
        let at = |r: f64, deg: f64| {
            let a = deg.to_radians();
            p(r * libm::cos(a), r * libm::sin(a))
        };
        // 200° and 340° on paper are 140° less half a radian apart across the dart.
        let (a, b) = (at(80.0, 200.0), at(50.0, 340.0));
        let between = 140_f64.to_radians() - omega;
        let wanted = libm::sqrt(6400.0 + 2500.0 - 2.0 * 80.0 * 50.0 * libm::cos(between));
        assert!((apart_mm(&[dart], a, b) - wanted).abs() < 1e-9);
        assert!((apart_mm(&[dart], b, a) - wanted).abs() < 1e-9);
        // Where the straight way does not meet the dart it stays.
        let (c, d) = (at(80.0, 40.0), at(50.0, 150.0));
        assert!((apart_mm(&[dart], c, d) - (d - c).norm_mm()).abs() < 1e-12);
    }

    /// A slit on a saddle opens: what lies on either side moves apart, and no way is shorter than
    /// round its tip.
    #[test]
    fn a_slit_opens() {
        let slit = Dart {
            tip: p(0.0, -20.0),
            out: Vector2::from_mm(0.0, -1.0),
            angle: Angle::from_rad(-0.2),
        };
        let (a, b) = (p(-40.0, -60.0), p(40.0, -60.0));
        let open = apart_mm(&[slit], a, b);
        assert!(open > 80.0 + 5.0, "{open}");
        let round = 2.0 * libm::hypot(40.0, 40.0);
        assert!(open <= round + 1e-9);
    }

    #[test]
    fn two_darts_close_one_after_the_other() {
        let dart = |x: f64| Dart {
            tip: p(x, -10.0),
            out: Vector2::from_mm(0.0, -1.0),
            angle: Angle::from_rad(0.2),
        };
        let both = [dart(-15.0), dart(15.0)];
        let (a, b) = (p(-60.0, -50.0), p(60.0, -50.0));
        // Turning about both tips by hand, towards the middle.
        let by = |q: Point2<Flat>, tip: Point2<Flat>, angle: f64| {
            let (v, s, c) = (q - tip, libm::sin(angle), libm::cos(angle));
            p(
                tip.x_mm() + c * v.x_mm() - s * v.y_mm(),
                tip.y_mm() + s * v.x_mm() + c * v.y_mm(),
            )
        };
        let (a2, b2) = (by(a, both[0].tip, 0.2), by(b, both[1].tip, -0.2));
        let wanted = (b2 - a2).norm_mm();
        assert!((apart_mm(&both, a, b) - wanted).abs() < 1e-9);
        assert!((apart_mm(&both, b, a) - wanted).abs() < 1e-9);
        assert!((both[0].clear_of(a).mm() - 40.0).abs() < 5.0);
    }
}
