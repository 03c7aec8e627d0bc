//! Every derivative against central differences, and what must hold on any face.

use super::random::{cases, close, face, face_and_two, mm, place, point};
use proptest::prelude::*;
use samespot_core::frames::{Face, Point2, Rigid2, Vector2, Vector3};
use samespot_core::surface::{
    Bulge, Distance, MAX_PARAMETERS, Parameter, Shape, Surface, SurfaceError,
};
use samespot_core::units::Angle;

/// Fourth-order central difference.
fn slope(step: f64, f: impl Fn(f64) -> f64) -> f64 {
    (8.0 * (f(step) - f(-step)) - (f(2.0 * step) - f(-2.0 * step))) / (12.0 * step)
}

/// The same face with its n-th parameter moved; `None` past what can be.
fn moved(face: &Surface, n: usize, by: f64) -> Surface {
    let mut values = face.values();
    values[n] += by;
    face.with_values(&values).unwrap()
}

/// Steps for central differences: large enough to keep rounding under 1e-8 of the result,
/// small enough for the fourth-order remainder to be less.
fn parameter_step(face: &Surface, n: usize) -> f64 {
    match face.parameters()[n] {
        Parameter::Radius
        | Parameter::ReferenceRadius
        | Parameter::AcrossRadius
        | Parameter::UpRadius => 1e-4 * face.values()[n].abs(),
        Parameter::Taper | Parameter::Scale => 1e-5,
    }
}

/// The shortest radius of anything the chart point sees: how fast derivatives change there.
fn sharpness(face: &Surface, at: Point2<Face>) -> f64 {
    match face {
        Surface::Flat(_) => 1e6,
        Surface::Cone(cone) => cone.radius_at(mm(at.y_mm())).unwrap().mm(),
        _ => face.values()[0].abs(),
    }
}

#[track_caller]
fn check_distance(
    name: &str,
    face: &Surface,
    (from, to): (Point2<Face>, Point2<Face>),
    measure: impl Fn(&Surface, Point2<Face>, Point2<Face>) -> Result<Distance, SurfaceError>,
) {
    let d = measure(face, from, to).unwrap();
    let step = 1e-3 * sharpness(face, from).min(sharpness(face, to)).min(d.mm);
    let length = |face: &Surface, a, b| measure(face, a, b).unwrap().mm;
    // Rounding of coordinates up to 1e5 mm (1e-11) over the step, and 1e-9 of remainder.
    let tolerance = 1e-8 + 3e-11 / step;
    let (u, v) = (Vector2::from_mm(1.0, 0.0), Vector2::from_mm(0.0, 1.0));
    let slopes = [
        (
            "u of first",
            slope(step, |h| length(face, from + u * h, to)),
            d.d_from.x_mm(),
        ),
        (
            "v of first",
            slope(step, |h| length(face, from + v * h, to)),
            d.d_from.y_mm(),
        ),
        (
            "u of second",
            slope(step, |h| length(face, from, to + u * h)),
            d.d_to.x_mm(),
        ),
        (
            "v of second",
            slope(step, |h| length(face, from, to + v * h)),
            d.d_to.y_mm(),
        ),
    ];
    for (what, numeric, analytic) in slopes {
        close(
            &format!("{name} by {what} on {face:?} {from:?} {to:?}"),
            analytic,
            numeric,
            tolerance,
        );
    }
    for n in 0..face.parameters().len() {
        let step = parameter_step(face, n);
        let numeric = slope(step, |h| length(&moved(face, n, h), from, to));
        // Coordinates up to 1e5 mm and the distance itself are rounded, over the step.
        let rounding = (2e-10 + 2e-15 * d.mm) / step;
        close(
            &format!("{name} by parameter {n} on {face:?} {from:?} {to:?}"),
            d.d_param[n],
            numeric,
            2e-7 * (1.0 + numeric.abs()) + rounding,
        );
    }
    for n in face.parameters().len()..MAX_PARAMETERS {
        close("unused parameter", d.d_param[n], 0.0, 0.0);
    }
}

/// Differences need room: 5 mm apart, clear of the tip and of the refusals.
fn roomy(face: &Surface, from: Point2<Face>, to: Point2<Face>) -> bool {
    let tip = |p: Point2<Face>| match face {
        Surface::Cone(c) => c.radius_at(mm(p.y_mm())).is_ok_and(|r| r.mm() > 2.0),
        _ => true,
    };
    let clear = |d: Result<Distance, SurfaceError>| d.is_ok_and(|d| d.mm > 1.5);
    tip(from) && tip(to) && clear(face.over_surface(from, to, 0)) && clear(face.straight(from, to))
}

proptest! {
    #![proptest_config(cases(1500))]

    #[test]
    fn jet_has_its_derivatives((face, at, _) in face_and_two()) {
        let jet = face.jet(at).unwrap();
        let step = 1e-3 * sharpness(&face, at);
        let along = |p: Point2<Face>, axis: usize| face.jet(p).unwrap().at.mm()[axis];
        for axis in 0..3 {
            let u = slope(step, |h| along(at + Vector2::from_mm(h, 0.0), axis));
            let v = slope(step, |h| along(at + Vector2::from_mm(0.0, h), axis));
            let tolerance = 1e-9 + 3e-11 / step;
            close("du", jet.du.mm()[axis], u, tolerance);
            close("dv", jet.dv.mm()[axis], v, tolerance);
            for n in 0..face.parameters().len() {
                let step = parameter_step(&face, n);
                let numeric = slope(step, |h| moved(&face, n, h).jet(at).unwrap().at.mm()[axis]);
                let tolerance = 2e-7 * (1.0 + numeric.abs()) + 2e-10 / step;
                close("dparam", jet.dparam[n].mm()[axis], numeric, tolerance);
            }
        }
    }

    /// (u, v, outward) is right-handed, and outward is where one stands: away from the axis or
    /// centre on a bulge, towards it in a hollow.
    #[test]
    fn normal_is_outward_and_right_handed((face, at, _) in face_and_two()) {
        let (jet, normal) = (face.jet(at).unwrap(), face.normal(at).unwrap());
        close("length", normal.norm().mm(), 1.0, 1e-14);
        let cross = jet.du.cross(jet.dv);
        close("along u × v", cross.unit().unwrap().dot(normal), 1.0, 1e-12);
        let x = jet.at.mm();
        let out = match face {
            Surface::Flat(_) => 1.0,
            Surface::Dome(_) => normal.mm().dot(&x),
            Surface::Cylinder(c) if c.axis() == samespot_core::surface::Axis::Across =>
                normal.mm().x * x.x + normal.mm().z * x.z,
            _ => normal.mm().x * x.x + normal.mm().y * x.y,
        };
        let hollow = match &face {
            Surface::Flat(_) => false,
            Surface::Cylinder(c) => c.bulge() == Bulge::Hollow,
            Surface::Cone(c) => c.bulge() == Bulge::Hollow,
            Surface::Dome(d) => d.bulge() == Bulge::Hollow,
            Surface::TwoRadii(f) => f.signed_across().mm() < 0.0,
            Surface::Scan(_) => unreachable!("scans are drawn in scans.rs"),
        };
        prop_assert_eq!(out < 0.0, hollow);
    }

    #[test]
    fn over_surface_has_its_derivatives((face, from, to) in face_and_two(), turns in -1..=1) {
        prop_assume!(roomy(&face, from, to) && face.over_surface(from, to, turns).is_ok());
        let limit = |h: f64| (0..face.parameters().len()).all(|n| {
            moved(&face, n, h * parameter_step(&face, n)).over_surface(from, to, turns).is_ok()
        });
        prop_assume!(limit(2.0) && limit(-2.0));
        check_distance("over", &face, (from, to), |f, a, b| f.over_surface(a, b, turns));
    }

    #[test]
    fn straight_has_its_derivatives((face, from, to) in face_and_two()) {
        prop_assume!(roomy(&face, from, to));
        check_distance("straight", &face, (from, to), |f, a, b| f.straight(a, b));
    }

    /// A tape laid on is never shorter than one pulled straight, and the two agree to
    /// d³/24R² over a short way on a round face.
    #[test]
    fn straight_is_shortest((face, from, to) in face_and_two()) {
        prop_assume!(roomy(&face, from, to));
        let (over, straight) = (face.over_surface(from, to, 0).unwrap(), face.straight(from, to).unwrap());
        prop_assert!(straight.mm <= over.mm * (1.0 + 1e-14) + 1e-10);
        let sharp = sharpness(&face, from).min(sharpness(&face, to));
        if over.mm < 0.1 * sharp {
            // A bend of 1/R needs R; a cone's is no sharper than 1/r.
            prop_assert!(over.mm - straight.mm <= over.mm.powi(3) / (23.0 * sharp * sharp) + 1e-10);
        }
    }

    /// Swapping the ends swaps the derivatives and leaves the distance.
    #[test]
    fn either_end_first((face, from, to) in face_and_two(), turns in -1..=1) {
        prop_assume!(face.over_surface(from, to, turns).is_ok());
        let (there, back) = (face.over_surface(from, to, turns).unwrap(), face.over_surface(to, from, -turns).unwrap());
        close("distance", back.mm, there.mm, 1e-11 * there.mm);
        close("ends", (back.d_from - there.d_to).norm_mm(), 0.0, 1e-9);
        for n in 0..MAX_PARAMETERS {
            close("parameters", back.d_param[n], there.d_param[n], 1e-8 * (1.0 + there.d_param[n].abs()));
        }
    }

    /// At either end the distance grows at one millimetre for each millimetre over the surface.
    #[test]
    fn arrives_at_unit_speed((face, from, to) in face_and_two()) {
        prop_assume!(roomy(&face, from, to));
        let d = face.over_surface(from, to, 0).unwrap();
        for (at, gradient) in [(from, d.d_from), (to, d.d_to)] {
            let jet = face.jet(at).unwrap();
            close("speed", jet.space(jet.raise(gradient)).norm().mm(), 1.0, 1e-9);
        }
    }

    /// The free motions counted by `isometries` leave every distance: shifts and turns of the
    /// chart on developable faces, shifts round and along for straight distances, turns of a ball.
    #[test]
    fn moved_together_nothing_changes((face, a, b) in face_and_two(), du in -50.0..50.0, dv in -50.0..50.0, turn in -3.0..3.0) {
        prop_assume!(roomy(&face, a, b));
        let (over, straight) = (face.over_surface(a, b, 0).unwrap().mm, face.straight(a, b).unwrap().mm);
        let tolerance = 1e-9 * (1.0 + over) + 1e-15 * face.values()[0].abs();
        let shift = match face {
            Surface::Cone(_) => Vector2::from_mm(du, 0.0),
            Surface::Dome(_) => Vector2::ZERO,
            _ => Vector2::from_mm(du, dv),
        };
        close("straight, shifted", face.straight(a + shift, b + shift).unwrap().mm, straight, tolerance);
        close("over, shifted", face.over_surface(a + shift, b + shift, 0).unwrap().mm, over, tolerance);
        if let Surface::Dome(dome) = face {
            let axis = nalgebra::Unit::new_normalize(nalgebra::Vector3::new(du, dv, 7.0));
            let about = nalgebra::Rotation3::from_axis_angle(&axis, turn);
            let carry = |p| dome.from_unit(Vector3::from_column_mm(about * dome.to_unit(p).unwrap().unit.mm()));
            if let (Ok(a), Ok(b)) = (carry(a), carry(b)) {
                close("over, ball turned", face.over_surface(a.at, b.at, 0).unwrap().mm, over, tolerance);
                close("straight, ball turned", face.straight(a.at, b.at).unwrap().mm, straight, tolerance);
            }
        }
        if matches!(face, Surface::Flat(_) | Surface::Cylinder(_)) {
            let turned = Rigid2::<Face, Face>::new(Angle::from_rad(turn), point(du, dv));
            close("over, turned", face.over_surface(turned.point(a), turned.point(b), 0).unwrap().mm, over, tolerance);
        }
    }

    /// Direction and chart of a dome undo each other, derivatives too.
    #[test]
    fn chart_and_direction(radius in 30.0..5000.0f64, away in 0.0..3.0f64, angle in -4.0..4.0f64, near in any::<bool>()) {
        let dome = samespot_core::surface::Dome::new(mm(radius), Bulge::Hollow).unwrap();
        let away = radius * if near { away * 1e-8 } else { away };
        let at = point(away * angle.cos(), away * angle.sin());
        let there = dome.to_unit(at).unwrap();
        let back = dome.from_unit(there.unit).unwrap();
        // Towards the back of the ball a rounding error stretches by c / sin c.
        let scale = radius * 1e-13 / (1.0 - 0.3 * (away / radius)).abs().max(0.05);
        close("there and back", back.at.distance(at).mm(), 0.0, scale);
        for (column, wanted) in [(there.du, [1.0, 0.0]), (there.dv, [0.0, 1.0])] {
            close("u", back.u_by_unit.dot(column), wanted[0], 1e-9);
            close("v", back.v_by_unit.dot(column), wanted[1], 1e-9);
        }
    }

    /// How deep a straight line runs inside, against the deepest of many places along it.
    #[test]
    fn dip_is_the_deepest((face, a, b) in face_and_two()) {
        let dip = face.dip(a, b).unwrap().mm();
        let (p, q) = (face.jet(a).unwrap().at.mm(), face.jet(b).unwrap().at.mm());
        let inside = |s: f64| {
            let x = p + (q - p) * s;
            match &face {
                Surface::Flat(_) | Surface::Scan(_) => 0.0,
                Surface::Dome(d) => d.signed_radius().mm() - x.norm(),
                Surface::TwoRadii(f) => {
                    let (a, b) = (f.signed_across().mm(), f.signed_up().mm());
                    let ring = x.x.hypot(x.y) * a.signum() - (a - b);
                    b.signum() * (b.abs() - ring.hypot(x.z))
                }
                Surface::Cylinder(c) => {
                    let across = if c.axis() == samespot_core::surface::Axis::Up { x.y } else { x.z };
                    c.signed_radius().mm() - x.x.hypot(across)
                }
                Surface::Cone(c) => {
                    let (t, r) = (c.signed_taper(), c.signed_reference_radius().mm());
                    let rise = (1.0 - t * t).sqrt();
                    (r + t * x.z / rise - x.x.hypot(x.y)) * rise
                }
            }
        };
        let deepest_of = |from: f64, step: f64| {
            (-2000..=2000)
                .map(|i| (from + f64::from(i) * step).clamp(0.0, 1.0))
                .map(|s| (inside(s), s))
                .fold((0.0, 0.5), |best, next| if next.0 > best.0 { next } else { best })
        };
        let (_, near) = deepest_of(0.5, 1.0 / 4000.0);
        let (deepest, _) = deepest_of(near, 1.0 / 4e6);
        // Sampled a second time between the neighbours of the first: 1e-6 of the way either side.
        close("dip", dip, deepest, 1e-9 * deepest.max(1.0) + 1e-10);
    }
}

proptest! {
    #![proptest_config(cases(300))]

    /// The shorter way round, whichever branch a point was written on.
    #[test]
    fn nearest_branch(face in face(), a in -1.0..1.0, b in -1.0..1.0, turns in -3..=3) {
        let (from, to) = (place(&face, (a, b)), place(&face, (b, -a)));
        let Some(girth) = face.girth() else {
            prop_assert_eq!(face.nearest(to, from), to);
            return Ok(());
        };
        let written = to + girth * f64::from(turns);
        let near = face.nearest(written, from);
        let ahead = (near - from).dot(girth) / girth.dot(girth);
        prop_assert!(ahead.abs() <= 0.5 + 1e-12);
        let chosen = face.nearest_turns(from, written);
        if let (Ok(a), Ok(b)) = (face.over_surface(from, near, 0), face.over_surface(from, written, chosen)) {
            close("either way of saying it", a.mm, b.mm, 1e-9 * (1.0 + b.mm));
        }
        let (x, y) = (face.jet(near).unwrap().at, face.jet(to).unwrap().at);
        close("same place", x.distance(y).mm(), 0.0, 1e-9 * girth.norm_mm());
    }
}
