//! Outlines against another library (GEOS, through `tests/reference/offsets/offsets.py`) and laws.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test may stop at the first surprise"
)]

use proptest::prelude::*;
use samespot_core::frames::{Flat, Point2};
use samespot_core::outline::{Contour, OffsetError, Outline};
use samespot_core::units::Length;
use serde_json::Value;

fn mm(v: f64) -> Length {
    Length::from_mm(v)
}

fn point(v: &Value) -> Point2<Flat> {
    Point2::from_mm(v[0].as_f64().unwrap(), v[1].as_f64().unwrap())
}

fn outline(rings: &Value) -> Outline<Flat> {
    rings
        .as_array()
        .unwrap()
        .iter()
        .map(|ring| {
            let points: Vec<_> = ring.as_array().unwrap().iter().map(point).collect();
            Contour::closed_through(&points).unwrap()
        })
        .collect()
}

fn distance(o: &Outline<Flat>, p: Point2<Flat>) -> f64 {
    let mut best = f64::MAX;
    for ring in o.polylines(mm(1e-4)) {
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            let along = *b - *a;
            let square = along.dot(along).max(1e-30);
            let t = ((p - *a).dot(along) / square).clamp(0.0, 1.0);
            best = best.min(p.distance(*a + along * t).mm());
        }
    }
    best
}

#[test]
fn offsets_agree_with_geos() {
    let file = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/reference/offsets/offsets.json"
    );
    let reference: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    for case in reference["cases"].as_array().unwrap() {
        let (name, by) = (
            case["shape"].as_str().unwrap(),
            case["distance"].as_f64().unwrap(),
        );
        let shape = outline(&reference["shapes"][name]);
        let moved = shape
            .offset(mm(by))
            .unwrap_or_else(|e| panic!("{name} by {by}: {e}"));
        let rings = case["rings"].as_u64().unwrap();
        assert_eq!(
            u64::try_from(moved.outline.contours().len()).unwrap(),
            rings,
            "{name} by {by}"
        );
        for p in case["points"].as_array().unwrap().iter().map(point) {
            // 10 µm, the accuracy promised of offsets.
            let off = distance(&moved.outline, p);
            assert!(off < 0.01, "{name} by {by}: {off} mm at {p:?}");
        }
        let area = case["area"].as_f64().unwrap();
        let round: f64 = moved
            .outline
            .polylines(mm(0.01))
            .iter()
            .map(|r| {
                r.iter()
                    .zip(r.iter().cycle().skip(1))
                    .map(|(a, b)| a.distance(*b).mm())
                    .sum::<f64>()
            })
            .sum();
        // 2 µm all the way round, as far as both libraries' arcs may differ.
        let off = (moved.outline.area_mm2() - area).abs();
        assert!(off <= 0.002 * round + 1e-6, "{name} by {by}: {off} mm²");
        let gone = rings == 0;
        assert_eq!(
            gone,
            moved.lost.iter().filter(|l| l.whole).count() == shape.contours().len(),
            "{name} by {by}"
        );
    }
}

/// A wavy ring that never crosses itself.
fn ring() -> impl Strategy<Value = Outline<Flat>> {
    (prop::collection::vec(8.0_f64..30.0, 5..40)).prop_map(|radii| {
        let count = radii.len();
        let points: Vec<_> = radii
            .iter()
            .enumerate()
            .map(|(i, r)| {
                #[expect(clippy::cast_precision_loss, reason = "a few dozen")]
                let at = core::f64::consts::TAU * i as f64 / count as f64;
                Point2::from_mm(r * at.cos(), r * at.sin())
            })
            .collect();
        Contour::closed_through(&points).into_iter().collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn an_offset_keeps_its_distance(shape in ring(), by in -6.0_f64..6.0) {
        prop_assume!(by.abs() > 0.01);
        match shape.offset(mm(by)) {
            Ok(moved) => {
                let grown = moved.outline.area_mm2() > shape.area_mm2();
                prop_assert_eq!(grown, by > 0.0);
                for p in moved.outline.samples(mm(1.0)) {
                    let off = (distance(&shape, p) - by.abs()).abs();
                    prop_assert!(off < 0.02, "{} mm", off);
                }
            }
            Err(e) => prop_assert!(false, "{}", e),
        }
    }

    #[test]
    fn storing_is_exact_on_the_grid(shape in ring()) {
        let text = serde_json::to_string(&shape).unwrap();
        let back: Outline<Flat> = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(&back, &shape.snapped());
        prop_assert_eq!(back.snapped(), back);
    }

    #[test]
    fn a_stored_outline_damaged_is_refused_or_finite(text in "[MLQCZ0-9 -]{0,40}") {
        let quoted = serde_json::to_string(&[text]).unwrap();
        if let Ok(o) = serde_json::from_str::<Outline<Flat>>(&quoted) {
            prop_assert!(o.bounds().is_none_or(|b| b.min.is_finite() && b.max.is_finite()));
        }
    }

    #[test]
    fn any_polygon_is_offset_or_refused(points in prop::collection::vec((0_i32..40, 0_i32..40), 3..14), by in -3_i32..4) {
        // Whole millimetres, so that corners fall on edges and on each other.
        let points: Vec<_> = points.iter().map(|&(x, y)| Point2::from_mm(f64::from(x), f64::from(y))).collect();
        let shape: Outline<Flat> = Contour::closed_through(&points).into_iter().collect();
        match shape.offset(mm(f64::from(by))) {
            Ok(moved) => prop_assert!(moved.outline.samples(mm(2.0)).iter().all(|p| p.is_finite())),
            Err(OffsetError::Crosses { x_mm, y_mm, .. }) => prop_assert!(x_mm.is_finite() && y_mm.is_finite()),
            Err(e) => prop_assert!(matches!(e, OffsetError::Unsound { .. }), "{}", e),
        }
    }
}
