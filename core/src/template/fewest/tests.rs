//! Against plain searches that share nothing with the solver.
#![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

use super::ball::{Centre, Until, enclosing, norm};
use super::cover::cover;
use super::*;
use nalgebra::Vector3;

/// A rectangle's corners: any convex outline is as good.
fn corners(w: f64, h: f64) -> Vec<Point2<Flat>> {
    [(-w, -h), (w, -h), (w, h), (-w, h)]
        .map(|(x, y)| Point2::from_mm(x / 2.0, y / 2.0))
        .to_vec()
}

/// Numbers between −1 and 1 that look thrown, always the same.
struct Dice(u64);
impl Dice {
    fn throw(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 33).unwrap()) / f64::from(1_u32 << 30) - 1.0
    }
}

fn thrown(dice: &mut Dice, count: usize, spread: f64, left: f64) -> Vec<Sharer> {
    (0..count)
        .map(|_| Sharer {
            landing: Landing {
                shift: Vector2::from_mm(dice.throw() * spread, dice.throw() * spread),
                turn: Angle::from_rad(dice.throw() * spread / 80.0),
            },
            left: Length::from_mm(left * (1.0 + 0.2 * dice.throw())),
            seen: Vec::new(),
        })
        .collect()
}

fn centres(list: &[Sharer]) -> Vec<Centre> {
    list.iter()
        .map(|s| Centre::of(&s.landing, s.left.mm()))
        .collect()
}

/// The least of a convex function of one variable by golden section.
fn golden(from: f64, to: f64, f: &dyn Fn(f64) -> f64) -> f64 {
    let share = 0.618_033_988_75;
    let (mut a, mut b) = (from, to);
    let (mut p, mut q) = (b - share * (b - a), a + share * (b - a));
    let (mut fp, mut fq) = (f(p), f(q));
    for _ in 0..30 {
        if fp < fq {
            (b, q, fq) = (q, p, fp);
            p = b - share * (b - a);
            fp = f(p);
        } else {
            (a, p, fp) = (p, q, fq);
            q = a + share * (b - a);
            fq = f(q);
        }
    }
    fp.min(fq)
}

#[test]
fn the_ball_is_the_one_a_search_in_three_nested_directions_finds() {
    let outline = corners(90.0, 40.0);
    let mut dice = Dice(5);
    for count in [2, 3, 5, 9] {
        let list = centres(&thrown(&mut dice, count, 4.0, 2.0));
        let over = |x: f64, y: f64, turn: f64| {
            list.iter()
                .map(|c| norm(&outline, &(Vector3::new(x, y, turn) - c.at)).0 - c.left)
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let least = golden(-5.0, 5.0, &|x| {
            golden(-5.0, 5.0, &|y| golden(-0.06, 0.06, &|t| over(x, y, t)))
        });
        let ball = enclosing(&outline, &list, Until::Centred);
        assert!(
            (ball.over - least).abs() < 2e-4,
            "{count}: {} against {least}",
            ball.over
        );
    }
}

#[test]
fn the_smallest_circle_about_an_equilateral_triangle_is_its_circumcircle() {
    // Side 6: radius 6/√3 (Euclid IV.5).
    let h = libm::sqrt(27.0);
    let points = [(0.0, 0.0), (6.0, 0.0), (3.0, h)].map(|(x, y)| Point2::from_mm(x, y));
    let (at, radius) = middle(&points);
    assert!((radius.mm() - 6.0 / libm::sqrt(3.0)).abs() < 1e-4);
    assert!((at - Point2::from_mm(3.0, h / 3.0)).norm_mm() < 1e-3);
}

/// The least number of groups by looking at every subset (Björklund and Husfeldt's problem, the plain way).
fn by_brute_force(count: usize, fits: &mut dyn FnMut(&[usize]) -> bool) -> usize {
    let all = 1_usize << count;
    let good: Vec<bool> = (0..all)
        .map(|mask| {
            let group: Vec<usize> = (0..count).filter(|k| mask >> k & 1 == 1).collect();
            mask > 0 && fits(&group)
        })
        .collect();
    let mut least = vec![usize::MAX; all];
    least[0] = 0;
    for mask in 1..all {
        let mut part = mask;
        while part > 0 {
            if good[part] && least[mask ^ part] != usize::MAX {
                least[mask] = least[mask].min(least[mask ^ part] + 1);
            }
            part = (part - 1) & mask;
        }
    }
    least[all - 1]
}

#[test]
fn the_number_of_groups_is_the_one_brute_force_finds() {
    let outline = corners(60.0, 50.0);
    let mut dice = Dice(11);
    let mut seen = std::collections::BTreeSet::new();
    for left in [0.8, 1.4, 2.0, 2.6, 3.4] {
        for _ in 0..2 {
            let list = centres(&thrown(&mut dice, 8, 4.0, left));
            let mut fits = |group: &[usize]| {
                let chosen: Vec<Centre> = group.iter().map(|&k| list[k]).collect();
                chosen.len() < 2 || enclosing(&outline, &chosen, Until::Known).over <= MARGIN_MM
            };
            let truth = by_brute_force(8, &mut fits);
            let found = cover(8, usize::MAX, &mut fits).unwrap();
            assert_eq!(found.groups.len(), truth);
            assert_eq!(found.at_least, truth, "proved");
            // Whoever has no use for more is told the same, or that it takes more.
            assert_eq!(cover(8, truth, &mut fits), Some(found));
            assert_eq!(cover(8, truth - 1, &mut fits), None);
            seen.insert(truth);
        }
    }
    assert!(seen.len() > 3, "the runs must differ: {seen:?}");
}

#[test]
fn five_castings_in_a_ring_need_three_although_only_pairs_go_together() {
    // An odd ring: no three go together, two groups hold four (the chromatic number of the
    // complement of a five-ring is 3, its largest set all apart has 2).
    let mut fits = |g: &[usize]| match *g {
        [a, b] => (a + 1) % 5 == b || (b + 1) % 5 == a,
        _ => g.len() < 2,
    };
    let found = cover(5, usize::MAX, &mut fits).unwrap();
    assert_eq!(found.groups.len(), 3);
    assert_eq!(found.at_least, 3);
}

#[test]
fn every_group_is_served_and_order_hand_and_a_turn_of_the_whole_change_no_number() {
    let outline = corners(60.0, 50.0);
    let mut dice = Dice(3);
    let mut list = thrown(&mut dice, 14, 4.0, 2.0);
    let first = fewest(&outline, &list, CROSS_OFF);
    let mut served: Vec<usize> = Vec::new();
    for group in &first.groups {
        for &k in &group.members {
            let miss = apart(&outline, &list[k].landing, &group.at);
            assert!(miss.mm() <= list[k].left.mm() + 0.002);
            served.push(k);
        }
    }
    served.sort_unstable();
    assert_eq!(served, (0..14).collect::<Vec<_>>());
    assert!(first.groups.len() > 1 && first.groups.len() < 14);

    let mirrored: Vec<Sharer> = list
        .iter()
        .map(|s| Sharer {
            landing: Landing {
                shift: Vector2::from_mm(-s.landing.shift.x_mm(), s.landing.shift.y_mm()),
                turn: -s.landing.turn,
            },
            ..s.clone()
        })
        .collect();
    let flipped: Vec<_> = outline
        .iter()
        .map(|p| Point2::from_mm(-p.x_mm(), p.y_mm()))
        .collect();
    let turned: Vec<Sharer> = list
        .iter()
        .map(|s| Sharer {
            landing: Landing {
                shift: s.landing.shift.turned(0.7),
                turn: s.landing.turn,
            },
            ..s.clone()
        })
        .collect();
    let turned_outline: Vec<_> = outline
        .iter()
        .map(|p| Point2::ORIGIN + p.from_origin().turned(0.7))
        .collect();
    let count = first.groups.len();
    assert_eq!(fewest(&flipped, &mirrored, CROSS_OFF).groups.len(), count);
    assert_eq!(
        fewest(&turned_outline, &turned, CROSS_OFF).groups.len(),
        count
    );
    list.reverse();
    assert_eq!(fewest(&outline, &list, CROSS_OFF).groups.len(), count);
}

#[test]
fn a_cross_too_far_off_its_mark_stops_sharing_however_well_the_feature_lands() {
    let outline = corners(60.0, 50.0);
    let at = |x: f64| Sharer {
        landing: Landing {
            shift: Vector2::ZERO,
            turn: Angle::ZERO,
        },
        left: Length::from_mm(1.0),
        seen: vec![Point2::from_mm(x, 0.0)],
    };
    let list = [at(0.0), at(5.9), at(6.2)];
    assert_eq!(fewest(&outline, &list[..2], CROSS_OFF).groups.len(), 1);
    assert_eq!(fewest(&outline, &list, CROSS_OFF).groups.len(), 2);
}

#[test]
fn a_casting_that_its_own_template_does_not_fit_shares_with_none() {
    let outline = corners(60.0, 50.0);
    let mut list = thrown(&mut Dice(1), 4, 0.1, 2.0);
    list[2].left = Length::from_mm(-0.1);
    let found = fewest(&outline, &list, CROSS_OFF);
    assert_eq!(found.groups.len(), 2);
    assert!(found.groups.iter().any(|g| g.members == [2]));
}
