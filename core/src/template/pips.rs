//! Where pips go that every casting is to show: the fewest, where they place what is painted best.
//!
//! A template is laid on marks by best fit; what it leaves at a place is the marks' own scatter
//! carried there. With n marks found alike to σ and d the distance from their middle that is
//! σ²/n · (1 + d²·n/Σr²) each way in the plane (Fitzpatrick, West and Maurer 1998, IEEE Trans. Med.
//! Imaging 17:694-702, for two dimensions), and with marks found unlike the inverse of the weighted
//! normal matrix.

use super::COVER_95;
use crate::frames::{Flat, Point2, Vector2};
use crate::num::small::eigen2;
use crate::units::Length;
use nalgebra::{Matrix3, Vector3};

/// A place that could carry a pip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// Where.
    pub at: Point2<Flat>,
    /// In which section of the mould.
    pub section: usize,
    /// Nobody sees it in the finished piece.
    pub hidden: bool,
}

/// Something that is to land in the right place.
#[derive(Debug, Clone, PartialEq)]
pub struct Lands {
    /// In which section of the mould.
    pub section: usize,
    /// Its middle.
    pub middle: Point2<Flat>,
    /// Its outline.
    pub outline: Vec<Point2<Flat>>,
    /// How far out it may be, any way.
    pub asked: Length,
}

/// Why no pips can be chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoPips {
    /// Nothing is to land anywhere.
    #[error("nothing is placed on this face yet: set out what has to land first")]
    NothingLands,
    /// No three places in a section go together.
    #[error(
        "there is no room for three pips that cross well and can't be taken for one another: add a mark further out, so that the face is known to reach there"
    )]
    NoRoom,
}

/// Pips nearer to each other than this hardly hold a turn, mm (common practice, no source).
const APART_MM: f64 = 40.0;
/// Two sides of their triangle differ by this share at least, so that a template fits one way only
/// (common practice, no source).
const UNLIKE: f64 = 0.08;
/// And by this much, mm: more than a casting strays.
const UNLIKE_MM: f64 = 8.0;
/// Some two of them are seen from a feature's middle under this at least: sin 45°.
const CROSSING: f64 = core::f64::consts::FRAC_1_SQRT_2;

/// What laying on marks by best fit leaves at the worst point of an outline, 95 % of cases.
///
/// Marks with the standard deviation to which each is found. `None` for fewer than two marks, or all
/// in one place.
#[must_use]
pub fn leaves(marks: &[(Point2<Flat>, Length)], outline: &[Point2<Flat>]) -> Option<Length> {
    let (mut weights, mut middle) = (0.0, Vector2::ZERO);
    for (at, sd) in marks {
        let w = 1.0 / (sd.mm() * sd.mm());
        weights += w;
        middle = middle + at.from_origin() * w;
    }
    if marks.len() < 2 || !weights.is_finite() || weights <= 0.0 {
        return None;
    }
    let middle = Point2::ORIGIN + middle * (1.0 / weights);
    // About their weighted middle the shift and the turn part.
    let turning: f64 = marks
        .iter()
        .map(|(at, sd)| {
            let arm = *at - middle;
            arm.dot(arm) / (sd.mm() * sd.mm())
        })
        .sum();
    if turning <= 0.0 {
        return None;
    }
    let c = Matrix3::from_diagonal(&Vector3::new(1.0 / weights, 1.0 / weights, 1.0 / turning));
    let mut worst_mm2 = 0.0_f64;
    for at in outline {
        let arm = (*at - middle).perp();
        let (x, y) = (arm.x_mm(), arm.y_mm());
        let (xx, xy, yy) = (
            c[(0, 0)] + x * x * c[(2, 2)],
            x * y * c[(2, 2)],
            c[(1, 1)] + y * y * c[(2, 2)],
        );
        let [_, (most, _)] = eigen2(xx, xy, yy);
        worst_mm2 = worst_mm2.max(most);
    }
    Some(Length::from_mm(COVER_95 * libm::sqrt(worst_mm2)))
}

fn goes_together(three: [&Candidate; 3]) -> bool {
    let side = |a: &Candidate, b: &Candidate| (b.at - a.at).norm_mm();
    let [a, b, c] = three;
    let mut sides = [side(a, b), side(b, c), side(c, a)];
    sides.sort_by(f64::total_cmp);
    let unlike = |short: f64, long: f64| long - short >= UNLIKE_MM.max(UNLIKE * long);
    sides[0] >= APART_MM && unlike(sides[0], sides[1]) && unlike(sides[1], sides[2])
}

/// Whether some two marks are seen from a place well aside of each other.
fn crosses_well(three: [&Candidate; 3], from: Point2<Flat>) -> bool {
    let ways: Vec<_> = three.iter().filter_map(|c| (c.at - from).unit()).collect();
    ways.iter().enumerate().any(|(k, a)| {
        let rest = ways.get(k + 1..).unwrap_or_default();
        rest.iter().any(|b| a.cross(*b).abs() >= CROSSING)
    })
}

/// The fewest pips: three for each section that carries something, one of them hidden where it can
/// be, of unequal sides, crossing well, so that what is worst placed is placed best.
///
/// Numbers of the candidates, in their order.
///
/// # Errors
/// [`NoPips`].
pub fn fewest(
    candidates: &[Candidate],
    lands: &[Lands],
    found: Length,
) -> Result<Vec<usize>, NoPips> {
    let mut sections: Vec<usize> = lands.iter().map(|l| l.section).collect();
    sections.sort_unstable();
    sections.dedup();
    if sections.is_empty() {
        return Err(NoPips::NothingLands);
    }
    let mut out = Vec::new();
    for section in sections {
        let here: Vec<(usize, &Candidate)> = candidates
            .iter()
            .enumerate()
            .filter(|(_, c)| c.section == section)
            .collect();
        let mine: Vec<&Lands> = lands.iter().filter(|l| l.section == section).collect();
        let some_hidden = here.iter().any(|(_, c)| c.hidden);
        let mut best: Option<(f64, [usize; 3])> = None;
        for (i, &(ka, a)) in here.iter().enumerate() {
            for (j, &(kb, b)) in here.iter().enumerate().skip(i + 1) {
                for &(kc, c) in here.iter().skip(j + 1) {
                    let three = [a, b, c];
                    if (some_hidden && !three.iter().any(|c| c.hidden))
                        || !goes_together(three)
                        || !mine.iter().all(|l| crosses_well(three, l.middle))
                    {
                        continue;
                    }
                    let marks = three.map(|c| (c.at, found));
                    let share = mine.iter().filter_map(|l| {
                        let left = leaves(&marks, &l.outline)?;
                        Some(left.mm() / l.asked.mm().max(0.1))
                    });
                    let worst = share.fold(0.0, f64::max);
                    // Equal within rounding: the first stands.
                    if best.is_none_or(|(known, _)| worst < known * (1.0 - 1e-9)) {
                        best = Some((worst, [ka, kb, kc]));
                    }
                }
            }
        }
        out.extend(best.ok_or(NoPips::NoRoom)?.1);
    }
    Ok(out)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point2<Flat> {
        Point2::from_mm(x, y)
    }

    fn l(mm: f64) -> Length {
        Length::from_mm(mm)
    }

    #[test]
    fn what_is_left_follows_the_formula_of_registration() {
        // Four marks at (±100, ±100), σ 0.5 each way (../shared/checks B7, in the plane): at d from
        // their middle the larger variance is σ²/4·(1 + d²·4/Σr²), Σr² = 4·2·100².
        let marks: Vec<_> = [(1, 1), (1, -1), (-1, 1), (-1, -1)]
            .iter()
            .map(|&(x, y)| (p(100.0 * f64::from(x), 100.0 * f64::from(y)), l(0.5)))
            .collect();
        for d in [0.0, 60.0, 250.0] {
            let wanted = 0.25 / 4.0 * (1.0 + d * d * 4.0 / 80_000.0);
            let got = leaves(&marks, &[p(d, 0.0)]).unwrap().mm();
            assert!(
                (got - COVER_95 * libm::sqrt(wanted)).abs() < 1e-12,
                "{d}: {got}"
            );
        }
        assert_eq!(leaves(&marks[..1], &[p(0.0, 0.0)]), None);
        assert_eq!(leaves(&[marks[0], marks[0]], &[p(0.0, 0.0)]), None);
    }

    #[test]
    fn marks_strewn_by_chance_leave_what_is_said() {
        // Twenty thousand layings by the closed form of a best fit in the plane (turn by the sums of
        // products), seeded; 95 % of them are to land within, to half a per cent of cases.
        let marks = [p(-90.0, -40.0), p(110.0, -70.0), p(20.0, 95.0)];
        let at = p(60.0, 30.0);
        let said = leaves(&marks.map(|m| (m, l(0.4))), &[at]).unwrap().mm();
        let mut seed = 0x5EED_u64;
        let mut even = || {
            seed ^= seed >> 12;
            seed ^= seed << 25;
            seed ^= seed >> 27;
            (seed.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
        };
        let mut normal = || {
            let (a, b) = (even().max(1e-300), even());
            libm::sqrt(-2.0 * libm::log(a)) * libm::cos(core::f64::consts::TAU * b)
        };
        let middle = p(40.0 / 3.0, -5.0);
        let (mut inside, cases) = (0_u32, 20_000_u32);
        for _ in 0..cases {
            let off: Vec<Vector2<Flat>> = (0..3)
                .map(|_| Vector2::from_mm(0.4 * normal(), 0.4 * normal()))
                .collect();
            let shift = (off[0] + off[1] + off[2]) * (1.0 / 3.0);
            let (mut aside, mut square) = (0.0, 0.0);
            for (m, o) in marks.iter().zip(&off) {
                let arm = *m - middle;
                aside += arm.cross(*o);
                square += arm.dot(arm);
            }
            let landed = shift + (at - middle).perp() * (aside / square);
            inside += u32::from(landed.norm_mm() <= said);
        }
        let share = f64::from(inside) / f64::from(cases);
        // The radius is by the longer axis: exact for a round spread, to the safe side else.
        assert!((0.945..0.985).contains(&share), "{share}");
    }

    fn grid(section: usize, left: f64) -> Vec<Candidate> {
        (0..36)
            .map(|k| Candidate {
                at: p(left + 40.0 * f64::from(k % 6), 40.0 * f64::from(k / 6)),
                section,
                hidden: k == 0,
            })
            .collect()
    }

    fn eye(section: usize, x: f64) -> Lands {
        Lands {
            section,
            middle: p(x, 100.0),
            outline: [(-30.0, 0.0), (30.0, 0.0), (0.0, 25.0), (0.0, -25.0)]
                .iter()
                .map(|&(u, v)| p(x + u, 100.0 + v))
                .collect(),
            asked: l(2.0),
        }
    }

    #[test]
    fn three_for_each_section_one_hidden_and_no_two_sides_alike() {
        let mut all = grid(0, 0.0);
        all.extend(grid(1, 400.0));
        let chosen = fewest(&all, &[eye(0, 100.0), eye(1, 500.0)], l(0.25)).unwrap();
        assert_eq!(chosen.len(), 6);
        for section in 0..2 {
            let three: Vec<&Candidate> = chosen
                .iter()
                .map(|k| &all[*k])
                .filter(|c| c.section == section)
                .collect();
            assert_eq!(three.len(), 3);
            assert!(three.iter().any(|c| c.hidden));
            assert!(goes_together([three[0], three[1], three[2]]));
        }
        // One section carries nothing: no pip goes there.
        assert_eq!(fewest(&all, &[eye(0, 100.0)], l(0.25)).unwrap().len(), 3);
        assert_eq!(fewest(&all, &[], l(0.25)), Err(NoPips::NothingLands));
        assert_eq!(
            fewest(&all[..2], &[eye(0, 100.0)], l(0.25)),
            Err(NoPips::NoRoom)
        );
    }

    #[test]
    fn no_other_three_that_go_together_place_it_better() {
        let all: Vec<Candidate> = grid(0, 0.0).into_iter().step_by(3).collect();
        let want = eye(0, 100.0);
        let chosen = fewest(&all, std::slice::from_ref(&want), l(0.25)).unwrap();
        let left = |k: &[usize]| {
            let marks: Vec<_> = k.iter().map(|k| (all[*k].at, l(0.25))).collect();
            leaves(&marks, &want.outline).unwrap().mm()
        };
        let best = left(&chosen);
        for a in 0..all.len() {
            for b in a + 1..all.len() {
                for c in b + 1..all.len() {
                    let three = [&all[a], &all[b], &all[c]];
                    let fits = three.iter().any(|c| c.hidden)
                        && goes_together(three)
                        && crosses_well(three, want.middle);
                    assert!(!fits || left(&[a, b, c]) >= best * (1.0 - 1e-6));
                }
            }
        }
    }
}
