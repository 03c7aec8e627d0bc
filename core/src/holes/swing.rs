//! Finding a hole with a tape: two swings from marks, and a third as the check.
//!
//! Two arcs that cross square find a place best: where each is off by e, the place is off by
//! e / sin of the angle between them in the worst direction of one arc. Never from hole to hole:
//! errors would add up along the chain.

use crate::frames::{Flat, Point2, Vector2};
use crate::units::Angle;

/// Arcs that cross under this angle are warned of: the worst error is over 2.6 times an arc's
/// own (design/10 §1.8, *Two-arc location*).
pub const WARN_UNDER: Angle = Angle::from_deg(45.0);

/// Arcs that cross under this angle are refused: 3.9 times.
pub const REFUSE_UNDER: Angle = Angle::from_deg(30.0);

/// Nearer than this no arc can be struck with a tape (common practice, no source).
const NEAREST_MM: f64 = 15.0;

/// The swings chosen for one hole; the numbers count the marks given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swings {
    /// From this mark…
    pub first: usize,
    /// …and from this one.
    pub second: usize,
    /// And the check.
    pub check: Option<usize>,
    /// At what angle the two arcs cross, at most a right angle.
    pub crossing: Angle,
    /// From the line of the two marks to the hole, square to it, of unit length: the arcs also
    /// cross on the other side.
    pub beyond: Vector2<Flat>,
}

impl Swings {
    /// The arcs cross at a poor angle.
    #[must_use]
    pub fn is_poor(&self) -> bool {
        self.crossing < WARN_UNDER
    }
    /// The other crossing, as seen from the hole: as far beyond the line of the two marks.
    #[must_use]
    pub fn other(&self, seen: &[Point2<Flat>]) -> Option<Point2<Flat>> {
        let (a, b) = (seen.get(self.first)?, seen.get(self.second)?);
        let line = (*b - *a).unit()?;
        let to_line = a.from_origin() - line * a.from_origin().dot(line);
        Some(Point2::ORIGIN + to_line * 2.0)
    }
    /// The side of the line of the two marks in words.
    #[must_use]
    pub fn side(&self) -> &'static str {
        let (x, y) = (self.beyond.x_mm(), self.beyond.y_mm());
        if y.abs() >= x.abs() {
            if y > 0.0 { "above" } else { "below" }
        } else if x > 0.0 {
            "right of"
        } else {
            "left of"
        }
    }
}

/// Why a hole can't be found with a tape.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoSwings {
    /// Fewer than two marks far enough away.
    #[error("a tape needs two marks at least 15 mm from the hole: put on another")]
    TooFewMarks,
    /// The best pair is no good.
    #[error(
        "the best two swings cross at {:.0}° only, and under 30° they find nothing: put on a mark to one side, or use the template",
        .0.deg()
    )]
    TooFlat(Angle),
}

/// Chooses the swings; `seen` are the marks as seen from the hole, their distance kept.
///
/// The pair that crosses nearest to square; of equals the one that needs less tape. The check is
/// the mark whose arc crosses both best.
///
/// # Errors
/// [`NoSwings`].
pub fn swings(seen: &[Point2<Flat>]) -> Result<Swings, NoSwings> {
    let from: Vec<(usize, Vector2<Flat>)> = seen
        .iter()
        .map(|p| p.from_origin())
        .enumerate()
        .filter(|(_, v)| v.norm_mm() >= NEAREST_MM)
        .collect();
    let mut best: Option<(f64, f64, usize, usize, Vector2<Flat>)> = None;
    for (k, &(i, a)) in from.iter().enumerate() {
        for &(j, b) in from.iter().skip(k + 1) {
            let (angle, tape) = (crossing(a, b), a.norm_mm() + b.norm_mm());
            let better = best.is_none_or(|(most, least, ..)| {
                angle > most + 1e-9 || (angle > most - 1e-9 && tape < least - 1e-9)
            });
            if better {
                let line = b - a;
                let along = line * (a.dot(line) / line.dot(line).max(1e-12));
                best = Some((angle, tape, i, j, along - a));
            }
        }
    }
    let (angle, _, first, second, beyond) = best.ok_or(NoSwings::TooFewMarks)?;
    let crossing_angle = Angle::from_rad(angle);
    if crossing_angle < REFUSE_UNDER {
        return Err(NoSwings::TooFlat(crossing_angle));
    }
    let (a, b) = (seen[first].from_origin(), seen[second].from_origin());
    let mut check: Option<(f64, usize)> = None;
    for &(i, v) in &from {
        if i == first || i == second {
            continue;
        }
        let least = crossing(a, v).min(crossing(b, v));
        if check.is_none_or(|(most, _)| least > most + 1e-9) {
            check = Some((least, i));
        }
    }
    Ok(Swings {
        first,
        second,
        check: check.map(|(_, i)| i),
        crossing: crossing_angle,
        // Arcs that cross at 30° and more don't cross on the line of their marks, unless the hole
        // is square to it at a right angle's foot: then either side is as good.
        beyond: beyond.unit().unwrap_or(Vector2::ZERO),
    })
}

fn crossing(a: Vector2<Flat>, b: Vector2<Flat>) -> f64 {
    libm::atan2(a.cross(b).abs(), a.dot(b).abs())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn seen(all: &[(f64, f64)]) -> Vec<Point2<Flat>> {
        all.iter().map(|&(x, y)| Point2::from_mm(x, y)).collect()
    }

    #[test]
    fn the_square_pair_of_a_3_4_5_triangle_is_chosen() {
        // Euclid I.48: 300, 400, 500 is square at the hole. The third crosses them at 45°.
        let s = swings(&seen(&[(-300.0, 0.0), (0.0, -400.0), (-200.0, -200.0)])).unwrap();
        assert_eq!((s.first, s.second, s.check), (0, 1, Some(2)));
        assert!((s.crossing.deg() - 90.0).abs() < 1e-9);
        // The hole lies up and right of the line; 0.8 of the way is right… of 4 : 3, up wins less.
        assert!((s.beyond.x_mm() - 0.8).abs() < 1e-9 && (s.beyond.y_mm() - 0.6).abs() < 1e-9);
        assert_eq!(s.side(), "right of");
    }

    #[test]
    fn arcs_that_run_into_each_other_are_warned_of_and_refused() {
        let at = |deg: f64| {
            let a = deg.to_radians();
            (200.0 * libm::cos(a), 200.0 * libm::sin(a))
        };
        assert!(swings(&seen(&[at(0.0), at(40.0)])).unwrap().is_poor());
        assert!(!swings(&seen(&[at(0.0), at(50.0)])).unwrap().is_poor());
        match swings(&seen(&[at(0.0), at(29.0)])) {
            Err(NoSwings::TooFlat(a)) => assert!((a.deg() - 29.0).abs() < 1e-9),
            other => unreachable!("{other:?}"),
        }
        // Opposite each other counts as flat as side by side.
        assert!(swings(&seen(&[at(0.0), at(170.0)])).is_err());
        assert_eq!(
            swings(&seen(&[at(0.0), (1.0, 2.0)])),
            Err(NoSwings::TooFewMarks)
        );
    }

    #[test]
    fn a_place_struck_from_the_swings_is_the_hole_and_a_mirror_mirrors_its_side() {
        let all = seen(&[
            (-120.0, -80.0),
            (90.0, -100.0),
            (10.0, 140.0),
            (-60.0, 60.0),
        ]);
        let s = swings(&all).unwrap();
        for turn in [0.4, 1.9, 3.0, 5.1] {
            let turned: Vec<_> = all
                .iter()
                .map(|p| Point2::ORIGIN + p.from_origin().turned(turn))
                .collect();
            let t = swings(&turned).unwrap();
            assert_eq!((s.first, s.second, s.check), (t.first, t.second, t.check));
            assert!((s.beyond.turned(turn) - t.beyond).norm_mm() < 1e-9);
        }
        let mirrored: Vec<_> = all
            .iter()
            .map(|p| Point2::from_mm(-p.x_mm(), p.y_mm()))
            .collect();
        let m = swings(&mirrored).unwrap();
        assert_eq!((s.first, s.second, s.check), (m.first, m.second, m.check));
        assert!((s.beyond.x_mm() + m.beyond.x_mm()).abs() < 1e-9);
        assert!((s.beyond.y_mm() - m.beyond.y_mm()).abs() < 1e-9);
        // The other crossing is as far from both marks, on the other side of their line.
        let other = s.other(&all).unwrap();
        for mark in [s.first, s.second] {
            let near = all[mark].from_origin().norm_mm();
            assert!((all[mark].distance(other).mm() - near).abs() < 1e-9);
        }
        let line = all[s.second] - all[s.first];
        let sides = [Point2::ORIGIN, other].map(|p| line.cross(p - all[s.first]));
        assert!(sides[0] * sides[1] < 0.0);
        // Struck again: from the two marks with both lengths, on the side named.
        let (a, b) = (all[s.first].from_origin(), all[s.second].from_origin());
        let (ra, rb, d) = (a.norm_mm(), b.norm_mm(), (b - a).norm_mm());
        let along = (ra * ra - rb * rb + d * d) / (2.0 * d);
        let off = libm::sqrt(ra * ra - along * along);
        let hit = a + (b - a) * (along / d) + s.beyond * off;
        assert!(hit.norm_mm() < 1e-9, "{hit:?}");
    }
}
