//! What is cut hangs together: bridges, and shapes with a hole or points.
#![allow(
    clippy::expect_used,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a test may stop at the first surprise; grids are small"
)]

use proptest::prelude::*;
use samespot_core::frames::{Flat, Point2};
use samespot_core::outline::lettering::Weight;
use samespot_core::outline::{FLATTENING, Outline, OutlineError};
use samespot_core::units::{Angle, Length};
use std::f64::consts::PI;

const fn mm(v: f64) -> Length {
    Length::from_mm(v)
}

fn text(words: &str, capitals_mm: f64) -> Outline<Flat> {
    Outline::text(words, mm(capitals_mm), Weight::SemiBold)
        .expect("letters")
        .0
}

/// Whether every part of the sheet round and in an outline's openings hangs together, found by
/// flooding a grid of squares from a corner: no geometry of the product's.
fn loose_squares(cut: &Outline<Flat>, square_mm: f64) -> usize {
    let rings = cut.polylines(FLATTENING);
    let b = cut.bounds().expect("something");
    let across = ((b.width().mm() + 8.0) / square_mm) as usize;
    let up = ((b.height().mm() + 8.0) / square_mm) as usize;
    let (x0, y0) = (b.min.x_mm() - 4.0, b.min.y_mm() - 4.0);
    let open = |x: f64, y: f64| {
        // Even-odd: an opening, an island in it, an opening in that.
        let mut inside = false;
        for ring in &rings {
            for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
                if (a.y_mm() > y) != (b.y_mm() > y)
                    && x < a.x_mm() + (b.x_mm() - a.x_mm()) * (y - a.y_mm()) / (b.y_mm() - a.y_mm())
                {
                    inside = !inside;
                }
            }
        }
        inside
    };
    let mut sheet = vec![false; across * up];
    for j in 0..up {
        for i in 0..across {
            let (x, y) = (
                x0 + (i as f64 + 0.5) * square_mm,
                y0 + (j as f64 + 0.5) * square_mm,
            );
            sheet[j * across + i] = !open(x, y);
        }
    }
    let mut seen = vec![false; across * up];
    let mut todo = vec![0];
    seen[0] = true;
    while let Some(k) = todo.pop() {
        let (i, j) = (k % across, k / across);
        let mut go = |i: usize, j: usize| {
            let n = j * across + i;
            if sheet[n] && !seen[n] {
                seen[n] = true;
                todo.push(n);
            }
        };
        if i > 0 {
            go(i - 1, j);
        }
        if i + 1 < across {
            go(i + 1, j);
        }
        if j > 0 {
            go(i, j - 1);
        }
        if j + 1 < up {
            go(i, j + 1);
        }
    }
    sheet
        .iter()
        .zip(&seen)
        .filter(|(sheet, seen)| **sheet && !**seen)
        .count()
}

/// Closed counters of the letters and figures (design/10 §1.7: A, B, D, O, P, Q, R, a, e, o, 0, 4, 6,
/// 8, 9; common practice of stencil cutting, no source).
#[test]
fn every_closed_counter_is_found_and_held() {
    for (letter, counters) in [
        ("A", 1),
        ("B", 2),
        ("D", 1),
        ("O", 1),
        ("P", 1),
        ("Q", 1),
        ("R", 1),
        ("a", 1),
        ("e", 1),
        ("o", 1),
        ("0", 1),
        // Open at the top in this face.
        ("4", 0),
        ("6", 1),
        ("8", 2),
        ("9", 1),
        ("C", 0),
        ("S", 0),
    ] {
        let plain = text(letter, 60.0);
        assert_eq!(loose_squares(&plain, 0.5) > 0, counters > 0, "{letter}");
        let done = plain.bridged(mm(2.5));
        assert_eq!(done.held, counters, "{letter}");
        assert_eq!(done.bridges.len(), 2 * counters, "{letter}");
        assert!(done.loose.is_empty(), "{letter}");
        assert_eq!(loose_squares(&done.outline, 0.5), 0, "{letter}");
        assert!(done.outline.nesting().iter().all(|n| !n.is_hole()));
        assert!(done.outline.meetings(FLATTENING, 1).is_empty(), "{letter}");
    }
}

#[test]
fn a_bridge_takes_its_own_width_and_no_more() {
    // A ring 40/20: two straight strips across a wall of 10.
    let ring: Outline<Flat> = Outline::ring(mm(40.0), mm(20.0)).expect("a ring");
    let done = ring.bridged(mm(3.0));
    assert_eq!(done.bridges.len(), 2);
    let area = PI * (400.0 - 100.0);
    assert!((ring.area_mm2() - area).abs() < 0.05);
    // Between two concentric circles a strip of width w covers w·(R − r) less the two segments that
    // the circles cut off: ∫(√(R²−t²) − √(r²−t²)) dt over ±w/2.
    let half = |r: f64, t: f64| 0.5 * (t * (r * r - t * t).sqrt() + r * r * (t / r).asin());
    let strip = 2.0 * (half(20.0, 1.5) - half(10.0, 1.5));
    let taken = ring.area_mm2() - done.outline.area_mm2();
    assert!(
        (taken - 2.0 * strip).abs() < 0.1,
        "{taken} for {}",
        2.0 * strip
    );
    for b in &done.bridges {
        assert!((b.length.mm() - 10.0).abs() < 0.05, "{b:?}");
    }
    // They stand across from each other.
    let [a, b] = [done.bridges[0].at, done.bridges[1].at];
    assert!(a.distance(b).mm() > 28.0, "{a:?} {b:?}");
}

#[test]
fn a_wide_island_gets_more_than_two() {
    let ring: Outline<Flat> = Outline::ring(mm(300.0), mm(260.0)).expect("a ring");
    let done = ring.bridged(mm(5.0));
    // π·260 = 817 mm round, one at least every 160.
    assert_eq!(done.bridges.len(), 6);
    assert_eq!(loose_squares(&done.outline, 1.0), 0);
}

/// An island in an opening in an island in an opening: every one is held, to the sheet or to the
/// island it lies in.
#[test]
fn islands_in_islands_in_islands_are_all_held() {
    let rings = [100.0, 84.0, 66.0, 50.0, 32.0, 16.0];
    let mut all = Outline::<Flat>::default();
    for across in rings {
        all.extend(Outline::circle(mm(across)).expect("a circle"));
    }
    let nests = all.nesting();
    assert_eq!(nests.iter().filter(|n| n.is_hole()).count(), 3);
    // Uncut, three rings of sheet lie loose: the inspector can tell.
    assert!(loose_squares(&all, 0.5) > 1000);
    let done = all.bridged(mm(3.0));
    assert_eq!((done.held, done.loose.len()), (3, 0));
    assert_eq!(loose_squares(&done.outline, 0.5), 0);
    assert!(done.bridges.len() >= 6);
}

#[test]
fn a_bridge_keeps_off_corners() {
    // A box in a box: bridges run across the walls, square to them, and not into a corner.
    let mut boxes: Outline<Flat> =
        Outline::rounded_rectangle(mm(80.0), mm(60.0), mm(0.0)).expect("a box");
    boxes.extend(Outline::rounded_rectangle(mm(56.0), mm(36.0), mm(0.0)).expect("a box"));
    let done = boxes.bridged(mm(4.0));
    for b in &done.bridges {
        assert!((b.length.mm() - 12.0).abs() < 0.02, "{b:?}");
        assert!(
            b.at.x_mm().abs() < 25.0 || b.at.y_mm().abs() < 15.0,
            "{b:?}"
        );
    }
    let taken = boxes.area_mm2() - done.outline.area_mm2();
    assert!((taken - 2.0 * 4.0 * 12.0).abs() < 0.1, "{taken}");
}

#[test]
fn narrow_sheet_between_openings_is_found_where_it_is() {
    let box_at = |x: f64| {
        Outline::<Flat>::rounded_rectangle(mm(20.0), mm(20.0), mm(0.0))
            .expect("a box")
            .shifted(samespot_core::frames::Vector2::from_mm(x, 0.0))
    };
    let mut two = box_at(0.0);
    two.extend(box_at(20.9));
    let webs = two.webs(mm(1.5));
    assert_eq!(webs.len(), 1);
    assert!((webs[0].width.mm() - 0.9).abs() < 0.003);
    assert!((webs[0].at.x_mm() - 10.0).abs() < 1.0);
    let mut apart = box_at(0.0);
    apart.extend(box_at(21.6));
    assert!(apart.webs(mm(1.5)).is_empty());
}

/// Pentagram and hexagram: inner corners at 1/φ² and 1/√3 of the points (Weisstein, *Pentagram* and
/// *Hexagram*, MathWorld).
#[test]
fn a_star_runs_straight_from_point_to_point() {
    let phi = (1.0 + 5.0_f64.sqrt()) / 2.0;
    for (points, ratio) in [(5, 1.0 / (phi * phi)), (6, 1.0 / 3.0_f64.sqrt())] {
        let star: Outline<Flat> = Outline::star(points, mm(100.0), None).expect("a star");
        let corners = star.contours()[0].polyline(FLATTENING);
        assert_eq!(corners.len(), 2 * points as usize);
        let out = corners[0].from_origin().norm_mm();
        let inner = corners[1].from_origin().norm_mm();
        assert!((out - 50.0).abs() < 1e-9 && (inner / out - ratio).abs() < 1e-12);
        assert!(corners[0].x_mm().abs() < 1e-9 && corners[0].y_mm() > 0.0);
    }
    assert!(matches!(
        Outline::<Flat>::star(2, mm(50.0), None),
        Err(OutlineError::StarPoints { given: 2 })
    ));
    assert!(Outline::<Flat>::star(5, mm(50.0), Some(mm(50.0))).is_err());
}

/// Area of a sector of a ring: middle radius × width × angle.
#[test]
fn an_arc_band_has_its_area_and_length() {
    let sweep = Angle::from_rad(150.0 / 200.0);
    let band: Outline<Flat> = Outline::arc_band(mm(200.0), mm(20.0), sweep).expect("a band");
    assert!((band.area_mm2() - 150.0 * 20.0).abs() < 0.05);
}

/// Letters so small that no bridge of 4.9 fits: nothing is cut, and the openings are what they were, not
/// their flattened likeness.
#[test]
fn an_opening_without_a_bridge_is_left_as_it_is() {
    let plain = text("%", 15.0);
    let done = plain.bridged(mm(4.907));
    assert_eq!((done.held, done.loose.len()), (0, 2));
    assert_eq!(done.outline.contours().len(), plain.contours().len());
    for contour in plain.contours() {
        assert!(done.outline.contours().contains(contour));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever is written, whatever the bridges: nothing falls out but what is said to.
    #[test]
    fn nothing_falls_out_unsaid(
        words in "[A-Za-z0-9&@%]{1,6}",
        capitals in 15.0_f64..80.0,
        width in 1.0_f64..5.0,
    ) {
        let plain = text(&words, capitals);
        let done = plain.bridged(mm(width));
        let holes = plain.nesting().iter().filter(|n| n.is_hole()).count();
        prop_assert_eq!(done.held + done.loose.len(), holes);
        if done.loose.is_empty() {
            // The tip of a narrow strip of sheet can be a square by itself that smaller squares hang on
            // (a "g" of 24.26 mm, bridges of 4.79 mm); what falls out falls out at both sizes.
            let square = (width / 4.0).min(0.5);
            let falls_out = |square| loose_squares(&done.outline, square);
            prop_assert!(falls_out(square) == 0 || falls_out(square / 4.0) == 0);
        }
        // Nothing is opened that was not.
        prop_assert!(done.outline.area_mm2() <= plain.area_mm2() + 0.01);
        let again = plain.bridged(mm(width));
        prop_assert_eq!(done, again);
    }

    /// Turned over, an outline is held as well as before.
    #[test]
    fn bridges_follow_a_mirror(capitals in 20.0_f64..60.0) {
        let plain = text("B8", capitals);
        let mirror = samespot_core::frames::Mirror2::across(Point2::ORIGIN, Angle::from_deg(90.0));
        let (a, b) = (plain.bridged(mm(2.0)), plain.mirrored(&mirror).bridged(mm(2.0)));
        prop_assert_eq!(a.held, b.held);
        prop_assert!((a.outline.area_mm2() - b.outline.area_mm2()).abs() < 2.0);
    }
}
