//! A face round both ways with a radius of its own each way.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::unreachable,
    clippy::shadow_unrelated,
    reason = "a test stops at the first fault"
)]

use core::f64::consts::PI;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use samespot_core::frames::{Face, Flat, Point2, Vector2};
use samespot_core::place::{Follow, Layout, Nominal, Rule, place};
use samespot_core::surface::{
    Axis, Bulge, Cylinder, Development, Dome, Register, Shape, Surface, SurfaceError, TwoRadii,
};
use samespot_core::template::{Landing, seen_after};
use samespot_core::units::{Angle, Length};

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

fn face(across: f64, up: f64) -> Surface {
    let signed = |r: f64| {
        let bulge = if r < 0.0 {
            Bulge::Hollow
        } else {
            Bulge::Bulging
        };
        (mm(r.abs()), bulge)
    };
    Surface::TwoRadii(TwoRadii::new(signed(across), signed(up)).unwrap())
}

fn at(u: f64, v: f64) -> Point2<Face> {
    Point2::from_mm(u, v)
}

#[track_caller]
fn close(what: &str, got: f64, wanted: f64, tolerance: f64) {
    assert!(
        (got - wanted).abs() <= tolerance,
        "{what}: got {got:.15e}, wanted {wanted:.15e} ± {tolerance:e}"
    );
}

fn cases(count: u32) -> ProptestConfig {
    ProptestConfig {
        cases: count,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_251_126),
        ..ProptestConfig::default()
    }
}

fn radius() -> impl Strategy<Value = f64> {
    (prop::bool::ANY, 60f64.ln()..3000f64.ln())
        .prop_map(|(hollow, r)| if hollow { -r.exp() } else { r.exp() })
}

/// A face of any kind of two radii and two places on it, up to 0.9 rad of the tighter radius out.
fn face_and_two() -> impl Strategy<Value = (Surface, Point2<Face>, Point2<Face>)> {
    let share = || (-1.0..1.0f64, -1.0..1.0f64);
    (radius(), radius(), share(), share()).prop_map(|(a, b, p, q)| {
        let reach = 0.65 * a.abs().min(b.abs());
        let place = |(x, y): (f64, f64)| at(x * reach, y * reach);
        (face(a, b), place(p), place(q))
    })
}

/// `tests/reference/two-radii/ways.csv`: Clairaut's relation by quadrature at 30 digits (mpmath).
#[test]
fn ways_agree_with_clairauts_quadrature() {
    let table = include_str!("../reference/two-radii/ways.csv");
    let mut rows = 0;
    for line in table.lines().skip(1) {
        let n: Vec<f64> = line.split(',').map(|x| x.parse().unwrap()).collect();
        let [across, up, v_from, u_to, v_to, length, bearing, arrival] = n[..] else {
            panic!("{line}")
        };
        let face = face(across, up);
        let (from, to) = (at(0.0, v_from), at(u_to, v_to));
        let d = face.over_surface(from, to, 0).unwrap();
        close(line, d.mm, length, 1e-8 * length);
        // The gradient by v is the sine of the bearing: it measures the direction.
        close("leaves", -d.d_from.y_mm(), bearing.to_radians().sin(), 1e-8);
        close("arrives", d.d_to.y_mm(), arrival.to_radians().sin(), 1e-8);
        rows += 1;
    }
    assert_eq!(rows, 10);
}

/// Equal radii are a ball: u/R and v/R are longitude and latitude (spherical trigonometry: the
/// law of haversines), and the polar map is the azimuthal equidistant one (Snyder 1987, 25-1…).
#[test]
fn equal_radii_are_a_ball() {
    let r = 160.0;
    for sign in [1.0, -1.0] {
        let face = face(sign * r, sign * r);
        for (a, b) in [
            ((0.0, 0.0), (100.0, 60.0)),
            ((-80.0, 90.0), (120.0, -40.0)),
            ((-150.0, -30.0), (150.0, 20.0)),
        ] {
            let hav = |x: f64| (x / 2.0).sin().powi(2);
            let (lat0, lat1) = (a.1 / r, b.1 / r);
            let h = hav(lat1 - lat0) + lat0.cos() * lat1.cos() * hav((b.0 - a.0) / r);
            let wanted = 2.0 * r * h.sqrt().asin();
            let d = face.over_surface(at(a.0, a.1), at(b.0, b.1), 0).unwrap();
            close("haversine", d.mm, wanted, 1e-8 * wanted);
            let ball = match face {
                Surface::TwoRadii(f) => f.ball_like(at(a.0, a.1)),
                _ => unreachable!(),
            };
            close("curved alike", ball.mm(), r, 1e-9);
        }
        let about = Development::new(&face, Point2::ORIGIN, Vector2::from_mm(0.0, 1.0)).unwrap();
        let scale = about.scale(at(0.0, 100.0)).unwrap();
        let c = 100.0 / r;
        close("across the ray", scale.greatest, c / c.sin(), 1e-9);
        close("along the ray", scale.least, 1.0, 1e-9);
    }
}

/// The landing error on a ball given as two radii is that of the same ball as a dome.
#[test]
fn the_landing_error_is_the_domes_when_both_radii_are_equal() {
    let r = 150.0;
    let (two, dome) = (
        face(r, r),
        Surface::Dome(Dome::new(mm(r), Bulge::Bulging).unwrap()),
    );
    let up = Vector2::from_mm(0.0, 1.0);
    let about = |s: &Surface| Development::new(s, Point2::ORIGIN, up).unwrap();
    let (a, b) = (about(&two), about(&dome));
    let flat: Vec<Point2<Flat>> = (0..12)
        .map(|k| f64::from(k) * PI / 6.0)
        .map(|t| Point2::from_mm(60.0 * t.cos(), 45.0 * t.sin()))
        .collect();
    let crosses = [Point2::from_mm(-110.0, -30.0), Point2::from_mm(95.0, -50.0)];
    let landing = |d: &Development| {
        let outline: Vec<_> = flat.iter().map(|&q| d.face(q).unwrap()).collect();
        let registers = crosses.map(|q| Register {
            at: d.face(q).unwrap(),
            weight: 1.0,
        });
        d.landing(&outline, &registers).unwrap()
    };
    let (one, other) = (landing(&a), landing(&b));
    assert!(other.worst.mm() > 0.5, "a check that could not fail");
    close("worst", one.worst.mm(), other.worst.mm(), 1e-6);
    close("rms", one.rms.mm(), other.rms.mm(), 1e-6);
    assert_eq!(one.worst_at, other.worst_at);
}

/// As one radius grows the face becomes a cylinder: the distance comes near its Pythagoras as
/// 1/R, and at the greatest radius taken is within what Gauss's curvature leaves (K·d³/24 and so).
#[test]
fn a_radius_that_grows_makes_a_cylinder() {
    let cylinder = Surface::Cylinder(Cylinder::new(mm(150.0), Axis::Up, Bulge::Bulging).unwrap());
    let (a, b) = (at(-60.0, -50.0), at(90.0, 70.0));
    let wanted = cylinder.over_surface(a, b, 0).unwrap().mm;
    let off = |up: f64| (face(150.0, up).over_surface(a, b, 0).unwrap().mm - wanted).abs();
    assert!(off(1_000.0) > 0.1);
    assert!(off(99_000.0) < 0.01, "{}", off(99_000.0));
    close("tenfold", off(9_000.0) / off(90_000.0), 10.0, 0.05);
    let flat = |r: f64| face(150.0, r).jet(b).unwrap().at.mm();
    assert!((flat(99_000.0) - cylinder.jet(b).unwrap().at.mm()).norm() < 0.05);
}

proptest! {
    #![proptest_config(cases(50))]

    #[test]
    fn derivatives_are_those_of_the_numbers((face, a, b) in face_and_two()) {
        let Ok(d) = face.over_surface(a, b, 0) else { return Ok(()) };
        prop_assume!(d.mm > 5.0);
        let straight = face.straight(a, b).unwrap();
        let h = 1e-3;
        let e = [Vector2::from_mm(h, 0.0), Vector2::from_mm(0.0, h)];
        let over = |f: &Surface, p, q| f.over_surface(p, q, 0).unwrap().mm;
        let chord = |f: &Surface, p, q| f.straight(p, q).unwrap().mm;
        for (k, step) in e.into_iter().enumerate() {
            let pick = |v: Vector2<Face>| if k == 0 { v.x_mm() } else { v.y_mm() };
            close("by from", pick(d.d_from), (over(&face, a + step, b) - over(&face, a + -step, b)) / (2.0 * h), 1e-5);
            close("by to", pick(d.d_to), (over(&face, a, b + step) - over(&face, a, b + -step)) / (2.0 * h), 1e-5);
            close("straight by to", pick(straight.d_to), (chord(&face, a, b + step) - chord(&face, a, b + -step)) / (2.0 * h), 1e-6);
        }
        for k in 0..2 {
            let h = 1e-4 * face.values()[k].abs();
            let with = |by: f64| {
                let mut values = face.values();
                values[k] += by;
                face.with_values(&values).unwrap()
            };
            close("by radius", d.d_param[k], (over(&with(h), a, b) - over(&with(-h), a, b)) / (2.0 * h), 1e-5);
            close("straight by radius", straight.d_param[k], (chord(&with(h), a, b) - chord(&with(-h), a, b)) / (2.0 * h), 1e-5);
        }
        prop_assert!(straight.mm <= d.mm + 1e-9);
    }

    #[test]
    fn distances_know_no_order_no_mirror_and_no_turn_about_the_axis((face, a, b) in face_and_two(), shift in -30.0..30.0f64) {
        let Ok(d) = face.over_surface(a, b, 0) else { return Ok(()) };
        let same = |what: &str, p, q| close(what, face.over_surface(p, q, 0).unwrap().mm, d.mm, 1e-7);
        same("back", b, a);
        same("mirrored across", at(-a.x_mm(), a.y_mm()), at(-b.x_mm(), b.y_mm()));
        same("mirrored up", at(a.x_mm(), -a.y_mm()), at(b.x_mm(), -b.y_mm()));
        let turned = |p: Point2<Face>| at(p.x_mm() + shift, p.y_mm());
        same("turned", turned(a), turned(b));
        let values = face.values();
        let hollow = face.with_values(&[-values[0], -values[1], 0.0]).unwrap();
        close("from inside", hollow.over_surface(a, b, 0).unwrap().mm, d.mm, 1e-9 * (1.0 + d.mm));
    }

    #[test]
    fn unrolling_goes_there_and_back((face, centre, p) in face_and_two(), angle in -3.0..3.0f64, thick in 0.0..4.0f64) {
        let up = Vector2::from_mm(f64::cos(angle), f64::sin(angle));
        let about = Development::with_thickness(&face, centre, up, mm(thick)).unwrap();
        let Ok((flat, slopes)) = about.flat_with_slopes(p) else { return Ok(()) };
        close("there and back", about.face(flat).unwrap().distance(p).mm(), 0.0, 1e-6);
        let (m, c) = (about.middle_from_face(p), about.middle_from_face(centre));
        if let Ok(d) = about.middle().over_surface(c, m, 0) {
            close("true from the centre", flat.from_origin().norm_mm(), d.mm, 1e-8);
        }
        let h = 1e-2;
        for (column, step) in [Vector2::from_mm(h, 0.0), Vector2::from_mm(0.0, h)].into_iter().enumerate() {
            let (hi, lo) = (about.flat(p + step), about.flat(p + -step));
            if let (Ok(hi), Ok(lo)) = (hi, lo) {
                let numeric = (hi - lo) * (0.5 / h);
                let m = slopes.matrix();
                close("x", m[(0, column)], numeric.x_mm(), 1e-5);
                close("y", m[(1, column)], numeric.y_mm(), 1e-5);
            }
        }
    }

    /// By every rule the derivatives are those of the place itself, in the directions there.
    #[test]
    fn placing_has_its_derivatives(a in radius(), b in radius(), kind in 0..4usize, wobble in prop::array::uniform6(-2.0..2.0f64)) {
        let reach = 0.4 * a.abs().min(b.abs()).min(400.0);
        let marks = [at(-reach, -0.6 * reach), at(0.9 * reach, -0.5 * reach), at(0.1 * reach, 0.8 * reach)];
        let line = |along| Rule::Line { from: 0, to: 1, side: Some(2), along, across: None };
        let rule = match kind {
            0 => line(Follow::FixedDistance),
            1 => line(Follow::InProportion),
            k => Rule::BestFit { line: (0, 1), weights: vec![1.0, 2.0, 1.0], scale: k == 3 },
        };
        let nominal = Nominal {
            layout: Layout { surface: face(a, b), marks: marks.to_vec() },
            centre: at(0.05 * reach, 0.1 * reach),
            rule,
            turn: Angle::from_deg(7.0),
        };
        let of = |x: &[f64]| Layout {
            surface: face(x[6], x[7]),
            marks: x[..6].chunks(2).map(|c| at(c[0], c[1])).collect(),
        };
        let mut x: Vec<f64> = marks.iter().zip(wobble.chunks(2)).flat_map(|(m, w)| [m.x_mm() + w[0], m.y_mm() + w[1]]).collect();
        x.extend([a * 1.01, b * 0.98]);
        let placed = place(&nominal, &of(&x)).unwrap();
        let here = of(&x).surface;
        let about = Development::new(&here, placed.pose.centre, placed.pose.up).unwrap();
        for k in 0..8 {
            let h = if k < 6 { 1e-3 } else { 1e-5 * x[k].abs() };
            let moved = |by: f64| {
                let mut x = x.clone();
                x[k] += by;
                // Seen in the plane about the place itself, by the sizes as they are there.
                about.flat(place(&nominal, &of(&x)).unwrap().pose.centre).unwrap()
            };
            let numeric = (moved(h) - moved(-h)) * (0.5 / h);
            close("across", placed.by_casting.0[0][k], numeric.x_mm(), 2e-5);
            close("up", placed.by_casting.0[1][k], numeric.y_mm(), 2e-5);
        }
    }
}

/// The nominal casting brings the feature back to where it is drawn.
#[test]
fn a_casting_like_the_drawing_changes_nothing() {
    let marks = vec![at(-70.0, -40.0), at(80.0, -30.0), at(10.0, 75.0)];
    for (a, b) in [(130.0, 260.0), (130.0, -260.0), (-200.0, 150.0)] {
        let layout = Layout {
            surface: face(a, b),
            marks: marks.clone(),
        };
        for rule in [
            Rule::Line {
                from: 0,
                to: 1,
                side: Some(2),
                along: Follow::DifferenceSplit,
                across: None,
            },
            Rule::BestFit {
                line: (0, 1),
                weights: vec![1.0; 3],
                scale: true,
            },
        ] {
            let nominal = Nominal {
                layout: layout.clone(),
                centre: at(5.0, 12.0),
                rule,
                turn: Angle::from_deg(3.0),
            };
            let placed = place(&nominal, &layout).unwrap();
            close("u", placed.pose.centre.x_mm(), 5.0, 1e-7);
            close("v", placed.pose.centre.y_mm(), 12.0, 1e-7);
            close("scale", placed.scale, 1.0, 1e-9);
        }
    }
}

/// Seen after a shift, on a saddle's ball (hyperbolic law of cosines; Beardon 1983, 7.12): the
/// distance from the new place to a mark.
#[test]
fn marks_seen_after_a_shift_on_a_saddle() {
    let r = 150.0;
    let landing = Landing {
        shift: Vector2::from_mm(12.0, 5.0),
        turn: Angle::ZERO,
    };
    let mark = Point2::<Flat>::from_mm(80.0, -35.0);
    let seen = seen_after(&[mark], &landing, Some(-r))[0];
    let (a, b) = (
        landing.shift.norm_mm() / r,
        mark.from_origin().norm_mm() / r,
    );
    let between = (5.0f64).atan2(12.0) - (-35.0f64).atan2(80.0);
    let c = (a.cosh() * b.cosh() - a.sinh() * b.sinh() * between.cos()).acosh();
    close("distance", seen.from_origin().norm_mm(), c * r, 1e-9);
}

#[test]
fn what_two_radii_cannot_say_is_refused() {
    let zero = TwoRadii::new((mm(0.0), Bulge::Bulging), (mm(100.0), Bulge::Hollow));
    assert!(matches!(zero, Err(SurfaceError::Size { .. })));
    let barrel = face(100.0, 150.0);
    // Girth closes to 15 % at cos(v/150) = 1 - 0.85·100/150: v = 168 mm.
    assert_eq!(
        barrel.jet(at(0.0, 169.0)).unwrap_err(),
        SurfaceError::OffTheRound
    );
    assert!(barrel.jet(at(0.0, 167.0)).is_ok());
    assert_eq!(
        barrel
            .over_surface(at(-200.0, 0.0), at(200.0, 0.0), 0)
            .unwrap_err(),
        SurfaceError::TooFarRound
    );
    let hollow = face(-100.0, -3.0);
    let thick =
        Development::with_thickness(&hollow, Point2::ORIGIN, Vector2::from_mm(0.0, 1.0), mm(3.5));
    assert!(matches!(thick, Err(SurfaceError::TooThick { .. })));
}

/// No two places of a ball lie further apart than half a great circle, π·R; with two radii, than that of
/// the flatter way. A saddle and what unrolls have no such bound.
#[test]
fn half_way_round_is_as_far_as_two_places_can_be() {
    let bound = |s: &Surface| s.half_way_mm();
    for bulge in [Bulge::Bulging, Bulge::Hollow] {
        let ball = Surface::Dome(Dome::new(mm(160.0), bulge).unwrap());
        assert!((bound(&ball).unwrap() - 502.654_824_574_366_9).abs() < 1e-9);
    }
    assert!((bound(&face(140.0, 210.0)).unwrap() - 659.734_457_253_856_5).abs() < 1e-9);
    assert_eq!(bound(&face(200.0, -300.0)), None);
}
