//! A thick sheet on a scan: its middle keeps its length half its thickness out, wherever along a way
//! the face is curved how much.
//!
//! Outside values: parallel faces in closed form. A ball of R becomes one of R + t/2, a cylinder alike; a
//! cone's parallel is the same cone with its tip moved along the axis by (t/2)/sin of its half-angle; a
//! torus keeps its core circle and its tube grows (do Carmo 1976, 3-5, exercise 11).

use super::*;

/// Thick enough to be seen through what fitting leaves.
const THICK_MM: f64 = 6.0;

/// How much longer each way from the first mark to another is in the sheet than on the face, as the
/// program has it, and by a closed form of the way so far out.
#[track_caller]
fn longer(name: &str, made: &Made, marks: &[V], over: impl Fn(f64, usize) -> f64) -> Vec<f64> {
    let scan = read(&made.stl()).unwrap();
    let fitted = fitted(&scan, marks, None, None);
    let surface = face(&fitted);
    let places: Vec<Point2<Face>> = fitted.marks.iter().map(|m| at(m.uv_mm)).collect();
    let up = Vector2::from_mm(0.2, 1.0);
    let about = |t: f64| {
        let t = Length::from_mm(t);
        Development::with_thickness(&surface, places[0], up, t).unwrap()
    };
    let (thin, thick) = (about(0.0), about(THICK_MM));
    let long = |d: &Development, k: usize| d.flat(places[k]).unwrap().from_origin().norm_mm();
    (1..marks.len())
        .map(|k| {
            let says = long(&thick, k) - long(&thin, k);
            let wanted = over(THICK_MM / 2.0, k) - over(0.0, k);
            assert!(
                (says - wanted).abs() < 0.004,
                "{name} {k}: {says} for {wanted}"
            );
            // And back again.
            let there = thick.face(thick.flat(places[k]).unwrap()).unwrap();
            assert!(there.distance(places[k]).mm() < 1e-4);
            wanted
        })
        .collect()
}

#[test]
fn on_a_ball_and_a_cylinder_lying_askew() {
    let r = 150.0;
    let ball = |a: f64, b: f64| [r * b.cos() * a.cos(), r * b.cos() * a.sin(), r * b.sin()];
    let marks = PLACES.map(|[a, b]| ball(a, b));
    let made = patch((-0.6, 0.6), (-0.6, 0.6), (120, 120), ball);
    let angle = |i: usize, j: usize| -> f64 {
        let dot: f64 = (0..3).map(|n| marks[i][n] * marks[j][n]).sum();
        (dot / (r * r)).clamp(-1.0, 1.0).acos()
    };
    let all = longer("ball", &made, &marks, |out, k| (r + out) * angle(0, k));
    assert!(all.iter().all(|mm| *mm > 0.5), "{all:?}");

    // The axis leans 35° from plumb: neither across nor up is along it.
    let lean = 35.0_f64.to_radians();
    let skew = |a: f64, s: f64| {
        let (across, along) = (r * a.sin(), s * r);
        [
            r * a.cos(),
            across * lean.cos() - along * lean.sin(),
            across * lean.sin() + along * lean.cos(),
        ]
    };
    let marks = PLACES.map(|[a, s]| skew(a, s));
    let made = patch((-0.6, 0.6), (-0.6, 0.6), (120, 120), skew);
    let all = longer("cylinder", &made, &marks, |out, k| {
        let (da, ds) = (PLACES[k][0] - PLACES[0][0], PLACES[k][1] - PLACES[0][1]);
        ((r + out) * da).hypot(r * ds)
    });
    assert!(all.iter().any(|mm| *mm > 0.5), "{all:?}");
}

#[test]
fn on_a_cone_that_is_rounder_at_one_end() {
    // Half-angle 20°; the radius goes from 60 to 140 over the patch.
    let half = 20.0_f64.to_radians();
    let slant0 = 100.0 / half.sin();
    let cone = |a: f64, b: f64| {
        let s = slant0 + b * 200.0;
        let r = s * half.sin();
        // The tip downwards, so that the patch is seen from outside.
        [r * a.cos(), r * a.sin(), s * half.cos()]
    };
    let marks = PLACES.map(|[a, b]| cone(a, b));
    let made = patch((-0.6, 0.6), (-0.55, 0.55), (140, 140), cone);
    let all = longer("cone", &made, &marks, |out, k| {
        // Straight above stands (t/2)·cot of the half-angle further from the parallel cone's tip.
        let s = |k: usize| slant0 + PLACES[k][1] * 200.0 + out / half.tan();
        let turn = (PLACES[k][0] - PLACES[0][0]) * half.sin();
        let (a, b) = (s(0), s(k));
        (a * a + b * b - 2.0 * a * b * turn.cos()).sqrt()
    });
    assert!(all.iter().any(|mm| *mm > 0.4), "{all:?}");
}

#[test]
fn on_a_ring_whose_rounding_changes_along_the_way() {
    let (across, up) = (180.0, 70.0);
    let ring = |a: f64, b: f64| {
        let rho = across + up * (b.cos() - 1.0);
        [rho * a.cos(), rho * a.sin(), up * b.sin()]
    };
    // Up to 40° round the tube, where the girth is 9 % less.
    let places: [[f64; 2]; 4] = [[0.0, 0.0], [0.3, 0.7], [-0.35, 0.6], [0.35, -0.1]];
    let marks = places.map(|[a, b]| ring(a, b));
    let made = patch((-0.5, 0.5), (-0.9, 0.9), (140, 140), ring);
    longer("ring", &made, &marks, |out, k| {
        let (a, b) = (across + out, up + out);
        let wide = |r: f64| (Length::from_mm(r), Bulge::Bulging);
        let formula = Surface::TwoRadii(TwoRadii::new(wide(a), wide(b)).unwrap());
        let place = |k: usize| Point2::from_mm(places[k][0] * a, places[k][1] * b);
        formula.over_surface(place(0), place(k), 0).unwrap().mm
    });
}

#[test]
fn a_sheet_too_thick_for_a_hollow_is_refused() {
    // A bowl of radius 20, seen from inside.
    let r = 20.0;
    let bowl = |a: f64, b: f64| [-r * b.cos() * a.cos(), r * b.cos() * a.sin(), r * b.sin()];
    let marks = PLACES.map(|[a, b]| bowl(a, b));
    let made = patch((-0.9, 0.9), (-0.9, 0.9), (90, 90), bowl);
    let scan = read(&made.stl()).unwrap();
    let fitted = fitted(&scan, &marks, Some([1.0, 0.0, 0.0]), None);
    let surface = face(&fitted);
    let lay = |t: f64| {
        let up = Vector2::from_mm(0.0, 1.0);
        let centre = at(fitted.marks[0].uv_mm);
        Development::with_thickness(&surface, centre, up, Length::from_mm(t))
    };
    // A fifth of the radius is 4 mm.
    assert!(lay(3.5).is_ok());
    let why = lay(4.5).unwrap_err();
    assert!(
        matches!(why, SurfaceError::TooThick { radius_mm, .. } if (radius_mm - r).abs() < 0.5),
        "{why}"
    );
}
