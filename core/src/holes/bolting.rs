//! In which order the bolts of a bracket are drawn up.
//!
//! A row from its middle outwards, so that nothing is left to bulge between two tight bolts; a ring
//! crosswise, so that the bracket draws down evenly (the usual order of flanges: ASME PCC-1, cross
//! pattern, from memory). Where a hand comes to them through a hatch, the one nearest to it is the last.

use crate::frames::{Frame, Vector2};
use crate::units::Length;

/// How the bolts of a pattern lie to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lie {
    /// On a line.
    Row,
    /// Round a middle, numbered one way round.
    Ring,
}

impl Lie {
    /// Why they are drawn up in that order.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Row => "From the middle outwards",
            Self::Ring => "Crosswise",
        }
    }
}

/// The order, as places in `holes` from 0, each once; `away` is how far each is from the hatch.
#[must_use]
pub fn order<F: Frame>(lie: Lie, holes: &[Vector2<F>], away: Option<&[Length]>) -> Vec<usize> {
    let far = |k: usize| away.and_then(|a| a.get(k)).map_or(0.0, |l| l.mm());
    match lie {
        Lie::Row => {
            let mut all: Vec<usize> = (0..holes.len()).collect();
            let out = |k: usize| holes.get(k).map_or(0.0, |h| h.norm_mm());
            // Of two as far out, the farther one from the hatch first. To the micrometre, so that
            // rounding decides nothing.
            let um = |mm: f64| libm::round(mm * 1000.0);
            all.sort_by(|a, b| {
                um(out(*a))
                    .total_cmp(&um(out(*b)))
                    .then(um(far(*b)).total_cmp(&um(far(*a))))
            });
            all
        }
        Lie::Ring => {
            let steps = crosswise(holes.len());
            let Some(last) = steps.last().filter(|_| away.is_some()) else {
                return steps;
            };
            // Turned round until the last of them is the nearest.
            let nearest = (0..holes.len()).reduce(|a, b| if far(b) < far(a) { b } else { a });
            let by = nearest.unwrap_or(0) + holes.len() - last;
            steps.iter().map(|k| (k + by) % holes.len()).collect()
        }
    }
}

/// The steps round a ring of `n`: each bolt and the one across, then the pair between.
fn crosswise(n: usize) -> Vec<usize> {
    let half = n / 2;
    if !n.is_multiple_of(2) {
        // No bolt has one across: the star that always goes on by the lesser half.
        return (0..n).map(|k| (k * half.max(1)) % n.max(1)).collect();
    }
    // A group is a bolt, its opposite, and the two square to them where there are such.
    let group: &[usize] = if n.is_multiple_of(4) {
        &[0, 2, 1, 3]
    } else {
        &[0, 2]
    };
    let groups = n / group.len().max(1);
    let stride = (groups / 2).max(1);
    starts(groups, stride)
        .into_iter()
        .flat_map(|q| {
            group
                .iter()
                .map(move |quarter| (q + quarter * n / 4) % n.max(1))
        })
        .collect()
}

/// The groups in strides, so that neighbours are not drawn up one after the other.
fn starts(groups: usize, stride: usize) -> Vec<usize> {
    let mut all = Vec::new();
    for first in 0..stride {
        let mut at = first;
        while at < groups {
            if !all.contains(&at) {
                all.push(at);
            }
            at += stride;
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frames::Flat;
    use crate::holes::pattern::Pattern;
    use crate::units::Angle;

    fn numbers(steps: &[usize]) -> Vec<usize> {
        steps.iter().map(|k| k + 1).collect()
    }

    #[test]
    fn rings_are_drawn_up_as_flanges_are() {
        // ASME PCC-1, table of the cross-pattern tightening sequence, from memory.
        for (n, want) in [
            (4, vec![1, 3, 2, 4]),
            (8, vec![1, 5, 3, 7, 2, 6, 4, 8]),
            (12, vec![1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12]),
            (
                16,
                vec![1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16],
            ),
        ] {
            assert_eq!(numbers(&crosswise(n)), want, "{n}");
        }
    }

    #[test]
    fn every_bolt_once_whatever_their_number_and_the_nearest_last() {
        for n in 1..=48_u32 {
            let circle = Pattern::BoltCircle {
                count: n,
                diameter: Length::from_mm(300.0),
                first: Angle::ZERO,
            };
            let row = Pattern::Row {
                count: n,
                pitch: Length::from_mm(80.0),
            };
            for (lie, pattern) in [(Lie::Ring, circle), (Lie::Row, row)] {
                let holes = pattern.places::<Flat>().unwrap_or_default();
                let hatch = Vector2::from_mm(-400.0, 37.0);
                let away: Vec<Length> = holes.iter().map(|h| (*h - hatch).norm()).collect();
                let got = order(lie, &holes, Some(&away));
                let mut sorted = got.clone();
                sorted.sort_unstable();
                assert_eq!(sorted, (0..holes.len()).collect::<Vec<_>>(), "{lie:?} {n}");
                let last = got.last().and_then(|k| away.get(*k));
                // In a row the nearer end, wherever the hatch is.
                let may_be = match lie {
                    Lie::Ring => away.as_slice(),
                    Lie::Row => away.get(..1).unwrap_or_default(),
                };
                let least = may_be.iter().map(|l| l.mm()).fold(f64::INFINITY, f64::min);
                assert!(
                    last.is_some_and(|l| (l.mm() - least).abs() < 1e-6),
                    "{lie:?} {n}"
                );
            }
        }
    }

    #[test]
    fn a_row_starts_in_its_middle() {
        let row = Pattern::Row {
            count: 5,
            pitch: Length::from_mm(60.0),
        };
        let holes = row.places::<Flat>().unwrap_or_default();
        let away: Vec<Length> = (0..5)
            .map(|k| Length::from_mm(100.0 + 60.0 * f64::from(k)))
            .collect();
        // The hatch is to the left of hole 1.
        assert_eq!(
            numbers(&order(Lie::Row, &holes, Some(&away))),
            [3, 4, 2, 5, 1]
        );
    }
}
