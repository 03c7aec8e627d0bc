//! Sizes a workshop can measure.

use super::random::{cases, close, mm};
use core::f64::consts::TAU;
use proptest::prelude::*;
use samespot_core::surface::size::{
    SizeError, StraightEdge, Taped, from_girth, from_radius, from_two_girths, gauge_card,
    straight_edge_for,
};
use samespot_core::units::Length;

fn taped(length: f64, standard: f64) -> Taped {
    Taped {
        length: mm(length),
        standard: mm(standard),
    }
}

fn edge(length: f64, gap: f64, standard: f64) -> StraightEdge {
    StraightEdge {
        length: mm(length),
        gap: taped(gap, standard),
    }
}

/// Design/02: a 300 mm radius under a 100 mm straight-edge read to ± 0.5 is 269 to 340.
#[test]
fn short_straight_edge_says_little() {
    let gap = 300.0 - (300f64.powi(2) - 50f64.powi(2)).sqrt();
    let held = edge(100.0, gap, 0.5);
    close("radius", held.radius().unwrap().radius.mm(), 300.0, 1e-9);
    let (least, greatest) = held.range(mm(0.5)).unwrap();
    // Printed to whole millimetres.
    close("least", least.mm(), 269.0, 0.5);
    close("greatest", greatest.unwrap().mm(), 340.0, 0.5);
    // |1/2 − c²/8h²| · 0.5, and the same as (R/h − 1)·u(h).
    let standard = held.radius().unwrap().standard.mm();
    close(
        "U",
        standard,
        (0.5 - 100f64.powi(2) / (8.0 * gap * gap)).abs() * 0.5,
        1e-12,
    );
    close("U by R/h", standard, (300.0 / gap - 1.0) * 0.5, 1e-9);
    // The same gap under a straight-edge three times as long: nine times the gap, 9 times surer.
    assert_eq!(
        edge(100.0, 0.4, 0.5).range(mm(0.5)).unwrap().1,
        None,
        "may be flat"
    );
    let wanted = straight_edge_for(mm(300.0), mm(5.0), mm(0.5)).unwrap();
    let long_gap = 300.0 - (300f64.powi(2) - (wanted.mm() / 2.0).powi(2)).sqrt();
    close(
        "the length that would do",
        edge(wanted.mm(), long_gap, 0.5)
            .radius()
            .unwrap()
            .standard
            .mm(),
        5.0,
        1e-9,
    );
}

#[test]
fn straight_edges_that_say_nothing() {
    #[track_caller]
    fn check(length: f64, gap: f64, message: &str) {
        assert_eq!(
            edge(length, gap, 0.1).radius().unwrap_err().to_string(),
            message
        );
    }
    check(
        100.0,
        0.0,
        "with a gap of 0 mm under 100 mm this face is flat: choose flat",
    );
    check(
        100.0,
        0.01,
        "with a gap of 0.01 mm under 100 mm this face is flat: choose flat",
    );
    check(
        100.0,
        51.0,
        "a gap of 51 mm is more than half of the straight-edge's 100 mm: check which is which, or take its girth",
    );
    check(
        100.0,
        -2.0,
        "a gap of -2 mm can't be: it must be more than zero, measure it again",
    );
    check(
        0.0,
        2.0,
        "a straight-edge of 0 mm can't be: it must be more than zero, measure it again",
    );
    let unsure = edge(100.0, 4.0, -0.1).radius().unwrap_err();
    assert_eq!(
        unsure,
        SizeError::Uncertainty {
            what: "a gap",
            value_mm: -0.1
        }
    );
    close(
        "half round",
        edge(100.0, 50.0, 0.1).radius().unwrap().radius.mm(),
        50.0,
        1e-12,
    );
}

#[test]
fn radius_and_girth() {
    let found = from_girth(taped(TAU * 150.0, 2.0)).unwrap();
    close("radius", found.radius.mm(), 150.0, 1e-12);
    close("standard", found.standard.mm(), 2.0 / TAU, 1e-15);
    assert_eq!(from_radius(taped(80.0, 0.3)).unwrap().standard, mm(0.3));
    assert!(from_girth(taped(-1.0, 0.1)).is_err() && from_radius(taped(0.0, 0.1)).is_err());
}

/// Cards run in steps of about 8 % (design/02), each half a step sure.
#[test]
fn gauge_cards() {
    close("card 1", gauge_card::radius(1).unwrap().mm(), 20.0, 0.0);
    close(
        "card 31",
        gauge_card::radius(31).unwrap().mm(),
        200.0,
        1e-12,
    );
    close(
        "card 61",
        gauge_card::radius(61).unwrap().mm(),
        2000.0,
        1e-11,
    );
    for number in gauge_card::FIRST..gauge_card::LAST {
        let (this, next) = (
            gauge_card::radius(number).unwrap(),
            gauge_card::radius(number + 1).unwrap(),
        );
        close("a step", next / this, 1.08, 3e-4);
        let half = gauge_card::half_step(number).unwrap();
        // Half a step up meets the next card's half a step down.
        close(
            "half a step",
            (this + half) / this,
            (next / this).sqrt(),
            1e-12,
        );
        assert_eq!(gauge_card::nearest(this * 1.038), number);
        assert_eq!(gauge_card::nearest(this * 1.041), number + 1);
        let measured = gauge_card::measured(number).unwrap();
        // Where neighbours can't be told apart a card is less sure than half a step.
        let sure = if number < gauge_card::first_too_close() {
            half.mm()
        } else {
            // R - sqrt(R² - 120²) is off by 0.2 mm.
            let sagitta = |r: f64| r - (r * r - 14_400.0).sqrt();
            let step = (sagitta(this.mm() - 0.5) - sagitta(this.mm() + 0.5)) / 1.0;
            (0.2 / step).max(half.mm())
        };
        close(
            "rectangular",
            measured.standard.mm() * 3f64.sqrt(),
            sure,
            1e-4 * sure,
        );
    }
    // Preferred numbers of ISO 3, series R10: each within 1.3 % of its exact value.
    let r10 = [
        20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0,
    ];
    for (card, preferred) in (1..).step_by(3).zip(r10) {
        let share = gauge_card::radius(card).unwrap().mm() / preferred;
        close("R10", share, 1.0, 0.013);
    }
    // Cards of 1362 and 1471 mm, 240 long: c²/8·(1/1362 - 1/1471) = 0.390 mm, and 0.002 for their
    // depth; one card tighter 0.421.
    close(
        "the light under the next",
        gauge_card::gap_to_next(56).unwrap().mm(),
        57_600.0 / 8.0 * (1.0 / 1362.4 - 1.0 / 1471.1),
        3e-3,
    );
    assert_eq!(gauge_card::first_too_close(), 56);
    assert_eq!(
        (gauge_card::nearest(mm(1.0)), gauge_card::nearest(mm(9e4))),
        (1, 61)
    );
    assert_eq!(gauge_card::nearest(Length::ZERO), 1);
    assert!(gauge_card::round_alike(22, 23) && !gauge_card::round_alike(22, 24));
    let none = gauge_card::measured(62).unwrap_err().to_string();
    assert_eq!(none, "there is no gauge card 62: they are numbered 1 to 61");
}

/// Two girths and the slant of the frustum of J10 (300 to 200 across, 400 high).
#[test]
fn taper_of_a_frustum() {
    let slant = 400f64.hypot(50.0);
    let found = from_two_girths(
        taped(TAU * 150.0, 1.0),
        taped(TAU * 100.0, 1.0),
        taped(slant, 1.0),
    )
    .unwrap();
    close("radius", found.reference.radius.mm(), 150.0, 1e-12);
    close("taper", found.taper, -50.0 / slant, 1e-15);
    let steep =
        from_two_girths(taped(1000.0, 1.0), taped(300.0, 1.0), taped(100.0, 1.0)).unwrap_err();
    assert_eq!(
        steep.to_string(),
        "girths of 1000 and 300 mm need a slant of more than 111.5 mm between them, not 100: check all three"
    );
}

proptest! {
    #![proptest_config(cases(500))]

    /// A straight-edge on a round of any radius finds it, and its sensitivity is the slope.
    #[test]
    fn sagitta_there_and_back(radius in 30.0..5000.0, share in 0.02..0.999) {
        let half = radius * share;
        let gap = half * half / (radius + f64::sqrt(radius * radius - half * half));
        let found = edge(2.0 * half, gap, 1.0).radius().unwrap();
        close("radius", found.radius.mm(), radius, 1e-10 * radius);
        let at = |h: f64| edge(2.0 * half, gap * (1.0 - h), 1.0).radius().unwrap().radius.mm();
        let slope = (at(1e-4) - at(3e-4)) / (2e-4 * gap);
        // A one-sided difference about 2e-4 below: the slope there, to 1e-3.
        close("slope", found.standard.mm(), slope.abs(), 2e-3 * (found.standard.mm() + 1.0));
    }

    /// Uncertainty of taper and its share with the radius, against differences.
    #[test]
    fn taper_propagates(lower in 300.0..3000.0, upper in 300.0..3000.0, slant in 450.0..2000.0, u in 0.1..3.0, w in 0.1..3.0, s in 0.1..3.0) {
        let taper = |a: f64, b: f64, c: f64| from_two_girths(taped(a, u), taped(b, w), taped(c, s)).unwrap();
        let found = taper(lower, upper, slant);
        let by = |a: f64, b: f64, c: f64| {
            (taper(lower + a, upper + b, slant + c).taper - taper(lower - a, upper - b, slant - c).taper) / 0.02
        };
        let (a, b, c) = (by(0.01, 0.0, 0.0), by(0.0, 0.01, 0.0), by(0.0, 0.0, 0.01));
        let wanted = ((a * u).powi(2) + (b * w).powi(2) + (c * s).powi(2)).sqrt();
        close("taper", found.taper_standard, wanted, 1e-6 * wanted + 1e-12);
        close("shared", found.covariance_mm, a * u * u / TAU, 1e-8);
    }
}
