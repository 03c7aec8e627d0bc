//! Two features judged together: level with each other, the right distance apart, equal either side.
//!
//! Each was laid back by itself. Mirrored onto the other, what the two shifts have in common is the
//! pair's, and what they do not is between them:
//!
//! ```text
//!        a            b           level  up_b − up_a
//!      ( · )   |    ( · )         apart  right_b − right_a
//!              middle             equal  right_b + right_a   (b further from the middle than a)
//! ```

use crate::frames::{Flat, Vector2};
use crate::units::{Angle, Length};

/// What a lay-back found of one of two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// Where the paint lies against where it should: right and up of its own up, seen from outside.
    pub by: Vector2<Flat>,
    /// One standard deviation of it, the worse way.
    pub sd: Length,
}

/// How two that belong together stand to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Together {
    /// How much higher the one on the right is.
    pub level: Length,
    /// How much too far apart they are.
    pub apart: Length,
    /// How much further from the middle the one on the right is.
    pub equal: Length,
    /// One standard deviation of each of them: two shifts found independently.
    pub sd: Length,
}

/// Two shifts together: `a` of the one on the left as seen from outside, `b` of the one on the right,
/// whose up leans by `lean` (anticlockwise) from the line halfway between them; that of `a` leans the
/// other way.
#[must_use]
pub fn together(a: Shift, b: Shift, lean: Angle) -> Together {
    let (sin, cos) = (libm::sin(lean.rad()), libm::cos(lean.rad()));
    // Mirrored, a's shift is (−right, up) in the axes of b.
    let turned = |right: f64, up: f64| (cos * right - sin * up, sin * right + cos * up);
    let (equal, level) = turned(a.by.x_mm() + b.by.x_mm(), b.by.y_mm() - a.by.y_mm());
    let (apart, _) = turned(b.by.x_mm() - a.by.x_mm(), b.by.y_mm() + a.by.y_mm());
    Together {
        level: Length::from_mm(level),
        apart: Length::from_mm(apart),
        equal: Length::from_mm(equal),
        sd: Length::from_mm(libm::hypot(a.sd.mm(), b.sd.mm())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shift(right: f64, up: f64) -> Shift {
        Shift {
            by: Vector2::from_mm(right, up),
            sd: Length::from_mm(0.3),
        }
    }

    /// Two spots at (∓60, 20), ups leaning outwards by 15°; each moved in its own axes; heights,
    /// distance and distances from the middle by plane geometry.
    #[test]
    fn against_plane_geometry() {
        let lean = Angle::from_deg(-15.0);
        let (a, b) = (shift(0.7, -0.4), shift(0.2, 0.9));
        let moved = |x: f64, s: &Shift, lean: f64| {
            let (sin, cos) = (libm::sin(lean), libm::cos(lean));
            let (r, u) = (s.by.x_mm(), s.by.y_mm());
            (x + cos * r - sin * u, 20.0 + sin * r + cos * u)
        };
        let (left, right) = (moved(-60.0, &a, -lean.rad()), moved(60.0, &b, lean.rad()));
        let found = together(a, b, lean);
        assert!((found.level.mm() - (right.1 - left.1)).abs() < 1e-12);
        assert!((found.apart.mm() - (right.0 - left.0 - 120.0)).abs() < 1e-12);
        assert!((found.equal.mm() - (right.0 + left.0)).abs() < 1e-12);
        assert!((found.sd.mm() - 0.3 * libm::sqrt(2.0)).abs() < 1e-12);
    }

    #[test]
    fn both_moved_together_stay_a_pair_but_off_the_middle() {
        let found = together(shift(1.0, 0.5), shift(1.0, 0.5), Angle::ZERO);
        assert!(found.level.mm().abs() < 1e-12 && found.apart.mm().abs() < 1e-12);
        assert!((found.equal.mm() - 2.0).abs() < 1e-12);
    }
}
