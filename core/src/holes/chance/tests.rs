//! Held against a plain simulation, the trade's table and hand calculation.

use super::spread::{sum_below, sum_quantile};
use super::*;
use crate::frames::Flat;

fn four() -> Vec<Vector2<Flat>> {
    [(-60.0, -40.0), (60.0, -40.0), (60.0, 40.0), (-60.0, 40.0)]
        .map(|(x, y)| Vector2::from_mm(x, y))
        .to_vec()
}

fn budget(apart: f64, one: f64, other: f64) -> Budget {
    let mm = Length::from_mm;
    Budget {
        apart: mm(apart),
        one: mm(one),
        other: mm(other),
    }
}

/// xorshift64*, seeded: a plain simulation that shares nothing with the sequence above.
struct Dice(u64);
impl Dice {
    fn within(&mut self, a: f64) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let bits = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 40;
        (f64::from(u32::try_from(bits).unwrap_or(0)) / f64::from(1_u32 << 24) * 2.0 - 1.0) * a
    }
}

/// Whether some place fits, by walking towards the worst hole ever more carefully.
fn fits_by_walking(holes: &[Vector2<Flat>], off: &[Vector2<Flat>], limit: f64) -> bool {
    let (mut x, mut y, mut turn) = (0.0, 0.0, 0.0);
    let mut step = 0.5;
    for _ in 0..4000 {
        let left = |k: usize| off[k] - Vector2::from_mm(x, y) - holes[k].perp() * turn;
        let worst = (0..holes.len())
            .max_by(|a, b| left(*a).norm_mm().total_cmp(&left(*b).norm_mm()))
            .unwrap_or(0);
        let e = left(worst);
        if e.norm_mm() <= limit {
            return true;
        }
        let Some(way) = e.unit() else { return true };
        x += step * way.x_mm();
        y += step * way.y_mm();
        turn += step * way.dot(holes[worst].perp()) / 5200.0;
        step *= 0.998;
    }
    false
}

#[test]
fn the_table_of_the_trade_comes_out() {
    // design/10 §1.6: four M10 on 120 × 80, uniform errors; 6000 trials held, 1500 free. Its 0.46
    // comes of a search that gives up on some that do fit: the simulation below finds 0.50.
    for (apart, one, other, held, free) in [
        (1.0, 1.0, 1.0, 0.06, 0.50),
        (2.0, 1.0, 1.0, 0.90, 1.00),
        (1.0, 1.0, 0.3, 0.28, 0.86),
        (2.0, 1.0, 0.3, 1.00, 1.00),
        (1.0, 0.3, 0.3, 1.00, 1.00),
        (1.0, 0.2, 0.0, 1.00, 1.00),
    ] {
        let b = budget(apart, one, other);
        let stays = all_enter(&four(), b, &Alike::default(), Bracket::Stays);
        let moves = all_enter(&four(), b, &Alike::default(), Bracket::MayMove);
        assert!(
            (stays - held).abs() < 0.012,
            "held {apart} {one} {other}: {stays}"
        );
        assert!(
            (moves - free).abs() < 0.03,
            "free {apart} {one} {other}: {moves}"
        );
        assert!(moves >= stays);
    }
}

#[test]
fn a_plain_simulation_agrees() {
    let holes = four();
    let mut dice = Dice(0x5EED_0006);
    for (apart, one, other) in [
        (1.0, 1.0, 0.3),
        (1.0, 1.0, 1.0),
        (0.8, 0.7, 0.5),
        (1.5, 1.0, 1.0),
    ] {
        let b = budget(apart, one, other);
        let trials = 1500;
        let (mut held, mut free) = (0, 0);
        for _ in 0..trials {
            let off: Vec<Vector2<Flat>> = holes
                .iter()
                .map(|_| {
                    Vector2::from_mm(
                        dice.within(one) + dice.within(other),
                        dice.within(one) + dice.within(other),
                    )
                })
                .collect();
            held += u32::from(off.iter().all(|e| e.norm_mm() <= apart));
            free += u32::from(fits_by_walking(&holes, &off, apart));
        }
        let share = |n: u32| f64::from(n) / f64::from(trials);
        // Three deviations of 1500 trials at one half are 0.039.
        let stays = all_enter(&holes, b, &Alike::default(), Bracket::Stays);
        let moves = all_enter(&holes, b, &Alike::default(), Bracket::MayMove);
        assert!(
            (stays - share(held)).abs() < 0.04,
            "{stays} and {}",
            share(held)
        );
        assert!(
            (moves - share(free)).abs() < 0.04,
            "{moves} and {}",
            share(free)
        );
    }
}

#[test]
fn a_plain_simulation_agrees_where_all_holes_move_together() {
    // The example's worst: M10 in coarse holes, 1 mm apart, marks read to about 1 mm.
    let holes = four();
    let mut dice = Dice(0x5EED_0016);
    for (sd, turn_mrad, leans, one) in [
        (0.6, 4.0, 0.0, 0.6),
        (0.3, 0.0, 0.0, 0.3),
        (0.0, 8.0, 0.0, 0.3),
        (0.5, 5.0, 0.6, 1.0),
    ] {
        let b = budget(1.0, one, 0.3);
        let (var, turn) = (sd * sd, turn_mrad / 1000.0);
        let yx = leans * var;
        let alike = Alike::of_pose(&holes, [var, yx, var, 0.0, 0.0, turn * turn]);
        let trials = 20_000;
        let mut entered = 0;
        for _ in 0..trials {
            // Twelve even throws make a normal one.
            let mut normal = || (0..12).map(|_| dice.within(0.5)).sum::<f64>();
            let (z1, z2, z3) = (normal(), normal(), normal());
            let shift = Vector2::from_mm(
                sd * z1,
                sd * (leans * z1 + libm::sqrt(1.0 - leans * leans) * z2),
            );
            entered += u32::from(holes.iter().all(|at| {
                let own = Vector2::from_mm(
                    dice.within(one) + dice.within(0.3),
                    dice.within(one) + dice.within(0.3),
                );
                (shift + at.perp() * (turn * z3) + own).norm_mm() <= 1.0
            }));
        }
        let plain = f64::from(entered) / f64::from(trials);
        let p = all_enter(&holes, b, &alike, Bracket::Stays);
        // Three deviations of 20 000 trials at one half are 0.011.
        assert!((p - plain).abs() < 0.015, "{sd} {turn}: {p} and {plain}");
        assert!(p < all_enter(&holes, b, &Alike::default(), Bracket::Stays));
        // The same question, the same answer.
        assert!(p.to_bits() == all_enter(&holes, b, &alike, Bracket::Stays).to_bits());
    }
}

#[test]
fn a_hole_known_to_be_off_by_hand() {
    // Own errors ± 1 even in x and y, reach 1, known to be 1 to the right: half the circle lies
    // over the square, π/2 of 4.
    let one = [Vector2::<Flat>::ZERO];
    let off = Alike {
        known: vec![Vector2::from_mm(1.0, 0.0)],
        causes: Vec::new(),
    };
    let p = all_enter(&one, budget(1.0, 1.0, 0.0), &off, Bracket::Stays);
    let exact = core::f64::consts::FRAC_PI_8;
    assert!((p - exact).abs() < 1e-4, "{p} and {exact}");
}

#[test]
fn one_hole_by_hand() {
    // ± 1 evenly in x and y, one part exact, reach 1: the circle's share of the square, π/4.
    let p = all_enter(
        &[Vector2::<Flat>::ZERO],
        budget(1.0, 1.0, 0.0),
        &Alike::default(),
        Bracket::Stays,
    );
    assert!((p - core::f64::consts::FRAC_PI_4).abs() < 1e-9, "{p}");
    // Two parts ± 1 each: ∫ over the quarter disc of (1 − x/2)(1 − y/2) = π/4 − 1/3 + 1/32.
    let p = all_enter(
        &[Vector2::<Flat>::ZERO],
        budget(1.0, 1.0, 1.0),
        &Alike::default(),
        Bracket::Stays,
    );
    let exact = core::f64::consts::FRAC_PI_4 - 1.0 / 3.0 + 1.0 / 32.0;
    assert!((p - exact).abs() < 1e-9, "{p} and {exact}");
}

#[test]
fn better_methods_never_lower_the_chance() {
    let (chances, first) = enough(
        &four(),
        Length::from_mm(0.5),
        Length::from_mm(0.3),
        |_| Some(Alike::default()),
        0.99,
    );
    assert!(
        chances.windows(2).all(|w| w[0].1 <= w[1].1 + 1e-12),
        "{chances:?}"
    );
    assert_eq!(first, Some(Method::ThroughTheBracket));
    let (_, first) = enough(
        &four(),
        Length::from_mm(2.0),
        Length::from_mm(0.3),
        |_| Some(Alike::default()),
        0.99,
    );
    assert_eq!(first, Some(Method::Marked));
}

#[test]
fn quantiles_answer_their_shares() {
    for (a, b) in [(1.0, 1.0), (1.0, 0.3), (0.2, 0.0), (0.3, 1.0)] {
        for p in [0.001, 0.2, 0.5, 0.77, 0.999] {
            assert!(
                (sum_below(sum_quantile(p, a, b), a, b) - p).abs() < 1e-9,
                "{a} {b} {p}"
            );
        }
    }
}

#[test]
fn a_square_of_errors_and_the_circle_round_it() {
    // CHECKS F3: a square zone ± a lies in a circle of diameter 2√2·a, and that circle is π/2 as large;
    // in the circle within it, π/4 of it lies.
    let hole: [Vector2<Flat>; 1] = [Vector2::ZERO];
    let a = 0.8;
    let chance = |apart: f64| {
        all_enter(
            &hole,
            budget(apart, a, 0.0),
            &Alike::default(),
            Bracket::Stays,
        )
    };
    assert!((chance(a * core::f64::consts::SQRT_2) - 1.0).abs() < 1e-9);
    assert!(chance(a * core::f64::consts::SQRT_2 * 0.99) < 1.0);
    let inner = core::f64::consts::FRAC_PI_4;
    assert!((chance(a) - inner).abs() < 1e-3, "{}", chance(a));
    let gain = core::f64::consts::PI * 2.0 * a * a / (4.0 * a * a) - 1.0;
    assert!((gain - 0.570_8).abs() < 1e-4);
}
