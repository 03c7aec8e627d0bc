//! Published values that judging and the run rest on (`../shared/checks`, groups E and L). The others
//! of these groups stand beside what they check: E6–E8, E10, F1, F2 in `core/src/check/verdict.rs`,
//! F3 in `holes/chance`, F4–F7 in `holes/fit.rs`, F7 as a check too in `check/hole.rs`, L2 in
//! `check/chart.rs`, L4–L6, E11, E12 in `check/capability.rs`. Not of this product, which has neither: E1, E2 (products of correlated
//! quantities), L7, L8 (run rules: a run is told steady, drifting or stepped by tests of its own), L9.

use samespot_core::check::{DecisionRule, Verdict, chart, judge, line};
use samespot_core::frames::Point2;
use samespot_core::num::distribution::{chi_square_quantile, student, student_quantile};
use samespot_core::readings::{
    CoordinateAxis, Held, Network, Options, PointStart, Precision, Reading, ReadingKind, adjust,
};
use samespot_core::surface::{FlatFace, Surface};
use samespot_core::units::Length;

/// JCGM 100:2008 H.3, Table H.6: a thermometer's corrections over temperature. Its slope is 0.00218
/// with u = 0.00067 on 9 degrees of freedom (E3).
#[test]
fn the_line_of_the_guides_thermometer() {
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let run: Vec<(f64, f64)> = t.into_iter().zip(b).collect();
    let l = line(&run).unwrap();
    assert!((l.slope - 0.002_18).abs() < 5e-6, "{}", l.slope);
    // s = 0.0035 from what is left over, and u(slope) from it.
    assert!(((l.left_over / 9.0).sqrt() - 0.0035).abs() < 5e-5);
    let by_chance = |u: f64| 2.0 * student(l.slope / u, 9.0).1;
    let found = l.by_chance.unwrap();
    assert!(
        found > by_chance(0.000_665) && found < by_chance(0.000_675),
        "{found}"
    );
}

/// JCGM 100:2008 Table G.2 (E4).
#[test]
fn students_quantiles_are_those_of_the_guide() {
    let degrees = [1.0, 2.0, 5.0, 10.0, 16.0, 20.0, 50.0];
    let table = [
        (0.95, [12.71, 4.30, 2.57, 2.23, 2.12, 2.09, 2.01]),
        (0.9545, [13.97, 4.53, 2.65, 2.28, 2.17, 2.13, 2.05]),
        (0.99, [63.66, 9.92, 4.03, 3.17, 2.92, 2.85, 2.68]),
    ];
    for (p, row) in table {
        for (f, printed) in degrees.into_iter().zip(row) {
            let found = student_quantile((1.0 + p) / 2.0, f);
            assert!((found - printed).abs() <= 0.0051, "{p} {f}: {found}");
        }
    }
}

/// NIST/SEMATECH e-Handbook 1.3.6.7.4 (E5).
#[test]
fn chi_squares_are_those_of_the_handbook() {
    let degrees = [5.0, 10.0, 11.0, 20.0, 30.0];
    let table = [
        (0.95, [11.070, 18.307, 19.675, 31.410, 43.773]),
        (0.99, [15.086, 23.209, 24.725, 37.566, 50.892]),
        (0.05, [1.145, 3.940, 4.575, 10.851, 18.493]),
    ];
    for (p, row) in table {
        for (f, printed) in degrees.into_iter().zip(row) {
            let found = chi_square_quantile(p, f);
            assert!((found - printed).abs() <= 5.1e-4, "{p} {f}: {found}");
        }
    }
}

/// ASTM E2587, ISO 7870-2 (L1): E₂ = 3/d₂ = 2.66 and D₄ = 3.267, as printed, where d₂ = 2/√π. A run
/// that steps by one each time, up and down, has a mean range of one.
#[test]
fn limits_of_individuals_are_the_printed_constants() {
    let run: Vec<(u32, f64)> = (0..10).map(|n| (n, f64::from(n % 2))).collect();
    let c = chart(&run).unwrap();
    let (low, high) = c.limits.unwrap();
    let d2 = 2.0 / std::f64::consts::PI.sqrt();
    let d3 = (2.0 - d2 * d2).sqrt();
    assert!((c.moving_range - 1.0).abs() < 1e-12);
    assert!((high - c.centre - 2.66).abs() < 1e-12 && (c.centre - low - 2.66).abs() < 1e-12);
    assert!((3.0 / d2 - 2.658_681).abs() < 1e-6 && (high - c.centre - 3.0 / d2).abs() < 0.005);
    let d4 = 1.0 + 3.0 * d3 / d2;
    assert!((d4 - 3.266_532).abs() < 1e-6);
    assert!((c.range_limit.unwrap() - d4).abs() < 5e-4);
}

/// ISO 14253-1:2017 asks 95 %, its guard is 1.65 u; up to the 2013 edition U at k = 2 (E10): the same
/// finding passes by one and can't be told by the other.
#[test]
fn the_editions_of_the_decision_rule_part_between_their_guards() {
    let mm = Length::from_mm;
    let says = |by: f64, rule| judge(mm(2.0 - by), mm(2.0), mm(0.1), rule).verdict;
    for (by, newer, older) in [
        (0.16, Verdict::NotProven, Verdict::NotProven),
        (0.18, Verdict::Within, Verdict::NotProven),
        (0.21, Verdict::Within, Verdict::Within),
        (-0.16, Verdict::NotProven, Verdict::NotProven),
        (-0.18, Verdict::Outside, Verdict::NotProven),
        (-0.21, Verdict::Outside, Verdict::Outside),
    ] {
        assert_eq!(says(by, DecisionRule::OneSided95), newer, "{by}");
        assert_eq!(says(by, DecisionRule::TwoSigma), older, "{by}");
    }
}

/// JCGM 100:2008 5.1.2 (E13): out by a, on by b, back by c, each read by itself with u 0.5, 0.3 and
/// 0.4 mm, ends at a + b − c with u 0.7071. Its worst case, 1.2 mm, is not of this product, which adds no
/// worst cases.
#[test]
fn a_chain_of_readings_adds_as_squares() {
    let mm = Length::from_mm;
    let point = |x: f64, held| PointStart {
        start: Point2::from_mm(x, 0.0),
        held,
    };
    let mut chain = Network::on(Surface::Flat(FlatFace));
    chain.points = vec![
        point(0.0, Held::Fixed),
        point(500.0, Held::Free),
        point(800.0, Held::Free),
        point(400.0, Held::Free),
    ];
    let along = |from, to, read: f64, u: f64| Reading {
        kind: ReadingKind::Straight { from, to },
        value: mm(read),
        precision: Precision::Sd(mm(u)),
    };
    // On one line, which nothing but the line itself holds them to.
    let on_the_line = (1..4).map(|point| Reading {
        kind: ReadingKind::Coordinate {
            point,
            axis: CoordinateAxis::V,
        },
        value: Length::ZERO,
        precision: Precision::Sd(mm(0.01)),
    });
    chain.readings = [
        along(0, 1, 500.3, 0.5),
        along(1, 2, 299.9, 0.3),
        along(2, 3, 400.1, 0.4),
    ]
    .into_iter()
    .chain(on_the_line)
    .collect();
    let options = Options {
        drawing_spread: None,
        ..Options::default()
    };
    let got = adjust(&chain, &options).unwrap();
    let u = |k: usize| got.covariance(&[k]).get(0, 0).sqrt();
    assert!((got.points[3].at.x_mm() - 400.1).abs() < 1e-6);
    for (k, want) in [(1, 0.5), (2, 0.34_f64.sqrt()), (3, 0.5_f64.sqrt())] {
        assert!((u(k) - want).abs() < 1e-6, "{k}: {} not {want}", u(k));
    }
    assert!((u(3) - core::f64::consts::FRAC_1_SQRT_2).abs() < 5e-5);
}
