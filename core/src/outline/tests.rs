#![allow(
    clippy::unwrap_used,
    clippy::float_cmp,
    reason = "a test may stop at the first surprise"
)]

use super::*;
use crate::frames::{Face, Flat};
use crate::units::Angle;
use core::f64::consts::PI;

fn mm(v: f64) -> Length {
    Length::from_mm(v)
}

fn polygon(points: &[(f64, f64)]) -> Outline<Flat> {
    let points: Vec<_> = points.iter().map(|&(x, y)| Point2::from_mm(x, y)).collect();
    Contour::closed_through(&points).into_iter().collect()
}

#[track_caller]
fn near(found: f64, wanted: f64, within: f64) {
    assert!(
        (found - wanted).abs() <= within,
        "{found} is not {wanted} within {within}"
    );
}

#[test]
fn sizes_and_areas_are_those_of_the_figures() {
    // Areas from the formulas of any handbook; cubics stray from a circle by 4 millionths of r.
    let circle = Outline::<Flat>::circle(mm(40.0)).unwrap();
    near(circle.area_mm2(), PI * 400.0, 0.01);
    near(circle.bounds().unwrap().width().mm(), 40.0, 1e-3);
    let ellipse = Outline::<Flat>::ellipse(mm(60.0), mm(20.0)).unwrap();
    near(ellipse.area_mm2(), PI * 300.0, 0.01);
    let rect = Outline::<Flat>::rounded_rectangle(mm(50.0), mm(30.0), mm(5.0)).unwrap();
    near(rect.area_mm2(), 1500.0 - (4.0 - PI) * 25.0, 0.01);
    let sharp = Outline::<Flat>::rounded_rectangle(mm(50.0), mm(30.0), mm(0.0)).unwrap();
    near(sharp.area_mm2(), 1500.0, 1e-9);
    let ring = Outline::<Flat>::ring(mm(40.0), mm(30.0)).unwrap();
    near(ring.area_mm2(), PI * (400.0 - 225.0), 0.01);
    let band = Outline::<Flat>::arc_band(mm(50.0), mm(10.0), Angle::from_deg(90.0)).unwrap();
    near(
        band.area_mm2(),
        0.5 * (PI / 2.0) * (55.0 * 55.0 - 45.0 * 45.0),
        0.02,
    );
    near(band.bounds().unwrap().max.y_mm(), 55.0, 1e-3);
}

#[test]
fn sizes_that_make_no_figure_are_refused() {
    assert!(Outline::<Flat>::circle(mm(0.0)).is_err());
    assert!(Outline::<Flat>::ring(mm(30.0), mm(30.0)).is_err());
    assert_eq!(
        Outline::<Flat>::rounded_rectangle(mm(10.0), mm(6.0), mm(3.5)),
        Err(OutlineError::CornerTooLarge {
            radius_mm: 3.5,
            most_mm: 3.0
        })
    );
}

#[test]
fn a_flattened_circle_stays_within_its_tolerance() {
    let circle = Outline::<Flat>::circle(mm(100.0)).unwrap();
    let points = circle.polylines(FLATTENING).concat();
    for (i, p) in points.iter().enumerate() {
        near(p.from_origin().norm_mm(), 50.0, 3e-4);
        let middle = p.lerp(points[(i + 1) % points.len()], 0.5);
        near(middle.from_origin().norm_mm(), 50.0, 0.02 + 3e-4);
    }
}

#[test]
fn extremes_of_a_curve_lie_between_its_ends() {
    let circle = Outline::<Flat>::circle(mm(20.0)).unwrap();
    let found = circle.extremes();
    assert_eq!(found.len(), 8);
    for (p, k) in found.iter().zip(0..) {
        let at = f64::from(k) * PI / 4.0;
        near(p.x_mm(), 10.0 * libm::cos(at), 1e-3);
        near(p.y_mm(), 10.0 * libm::sin(at), 1e-3);
    }
}

#[test]
fn islands_and_holes_are_told_by_how_they_lie() {
    let mut all = Outline::<Flat>::ring(mm(100.0), mm(80.0)).unwrap();
    all.extend(Outline::ring(mm(60.0), mm(40.0)).unwrap());
    all.extend(
        Outline::circle(mm(5.0))
            .unwrap()
            .shifted(Vector2::from_mm(0.0, 200.0)),
    );
    let depths: Vec<_> = all.nesting().iter().map(|n| (n.depth, n.inside)).collect();
    assert_eq!(
        depths,
        [
            (0, None),
            (1, Some(0)),
            (2, Some(1)),
            (3, Some(2)),
            (0, None)
        ]
    );
}

#[test]
fn crossings_are_named_where_they_are() {
    let bow_tie = polygon(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]);
    let found = bow_tie.meetings(FLATTENING, 10);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].kind, MeetingKind::Crosses);
    near(found[0].at.x_mm(), 5.0, 1e-9);
    near(found[0].at.y_mm(), 5.0, 1e-9);
    assert!(
        Outline::<Flat>::circle(mm(10.0))
            .unwrap()
            .meetings(FLATTENING, 10)
            .is_empty()
    );
    let mut two = polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
    two.extend(two.shifted(Vector2::from_mm(10.0, 0.0)));
    let touching = two.meetings(FLATTENING, 10);
    assert!(!touching.is_empty() && touching.iter().all(|m| m.kind == MeetingKind::Touches));
}

#[test]
fn what_an_offset_eats_is_returned() {
    // A 20 mm square with a 2 mm wide arm, taken in by 2 mm: the arm goes.
    let arm = polygon(&[
        (0.0, 0.0),
        (20.0, 0.0),
        (20.0, 9.0),
        (50.0, 9.0),
        (50.0, 11.0),
        (20.0, 11.0),
        (20.0, 20.0),
        (0.0, 20.0),
    ]);
    let taken_in = arm.offset(mm(-2.0)).unwrap();
    // The pen just noses into the mouth of the arm: 2·∫₀¹(2 − √(4 − u²)) du over the 16 mm square.
    let nose = 2.0 * (2.0 - (0.5 * libm::sqrt(3.0) + 2.0 * libm::asin(0.5)));
    near(taken_in.outline.area_mm2(), 16.0 * 16.0 + nose, 0.01);
    assert_eq!(taken_in.lost.len(), 1);
    assert!(!taken_in.lost[0].whole);
    near(taken_in.lost[0].at.x_mm(), 50.0, 1e-6);
    // From a corner of the tip to the end of that nose, less what the pen covers.
    let tip = libm::hypot(30.0 + libm::sqrt(3.0), 1.0);
    near(taken_in.lost[0].depth.mm(), tip - 2.0, 0.01);
    let gone = arm.offset(mm(-11.0)).unwrap();
    assert!(gone.outline.is_empty() && gone.lost.len() == 1 && gone.lost[0].whole);
}

#[test]
fn an_offset_circle_is_a_circle() {
    let circle = Outline::<Flat>::circle(mm(40.0)).unwrap();
    for (by, radius) in [(-2.0, 18.0), (3.5, 23.5)] {
        let moved = circle.offset(mm(by)).unwrap();
        assert!(moved.lost.is_empty());
        for p in moved.outline.samples(mm(0.5)) {
            // The grid's half step each way, and the cubic's 4 millionths.
            near(p.from_origin().norm_mm(), radius, 1.5e-3);
        }
    }
}

#[test]
fn an_outline_that_crosses_itself_is_not_offset() {
    let bow_tie = polygon(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]);
    assert!(matches!(
        bow_tie.offset(mm(1.0)),
        Err(OffsetError::Crosses {
            x_mm: 5.0,
            y_mm: 5.0,
            ..
        })
    ));
    let line = Outline::<Flat>::line(Point2::from_mm(0.0, 0.0), Point2::from_mm(9.0, 0.0));
    assert_eq!(
        line.unwrap().offset(mm(1.0)),
        Err(OffsetError::Open { contour: 0 })
    );
}

#[test]
fn a_stored_outline_comes_back_to_the_grid_step() {
    let mut all = Outline::<Flat>::ring(mm(33.3), mm(20.1)).unwrap();
    all.extend(Outline::line(Point2::from_mm(0.1, 0.2), Point2::from_mm(-7.0, 3.0)).unwrap());
    let text = serde_json::to_string(&all).unwrap();
    let back: Outline<Flat> = serde_json::from_str(&text).unwrap();
    assert_eq!(back, all.snapped());
    assert_eq!(serde_json::to_string(&back).unwrap(), text);
    for damaged in [
        "[\"\"]",
        "[\"L0 0\"]",
        "[\"M0 0\"]",
        "[\"M0 0L1\"]",
        "[\"M0 0L9999999999 1\"]",
        "[\"é\"]",
        "[\"M0 0ZL1 1\"]",
    ] {
        assert!(
            serde_json::from_str::<Outline<Flat>>(damaged).is_err(),
            "{damaged}"
        );
    }
}

#[test]
fn placing_keeps_the_hand_and_a_mirror_changes_it() {
    let (letter, missing) =
        Outline::<Face>::text("F", mm(10.0), lettering::Weight::Medium).unwrap();
    assert!(missing.is_empty());
    let turned: Outline<Flat> = letter.placed(&Rigid2::new(
        Angle::from_deg(90.0),
        Point2::from_mm(3.0, 4.0),
    ));
    let hand = |c: f64| c > 0.0;
    let first = letter.contours()[0].signed_area_mm2();
    assert_eq!(hand(first), hand(turned.contours()[0].signed_area_mm2()));
    let mirror = Mirror2::across(Point2::ORIGIN, Angle::from_deg(90.0));
    let mirrored = letter.mirrored(&mirror);
    near(mirrored.contours()[0].signed_area_mm2(), -first, 1e-9);
}

#[test]
fn a_known_length_gives_the_size() {
    let drawn = Outline::<crate::frames::Artwork>::circle(mm(24.0)).unwrap();
    let sized: Outline<Flat> = drawn.sized(mm(24.0), mm(184.0)).unwrap();
    near(sized.bounds().unwrap().width().mm(), 184.0, 2e-3);
    assert!(drawn.sized::<Flat>(mm(0.0), mm(1.0)).is_none());
}
