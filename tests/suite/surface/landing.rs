//! The landing error of a flat sheet.

use super::random::{cases, close, dome, face_and_two, mm, place, point};
use super::up;
use proptest::prelude::*;
use samespot_core::frames::{Face, Point2, Vector2};
use samespot_core::surface::{Bulge, Development, Register, Shape};

fn at(points: &[Point2<Face>]) -> Vec<Register> {
    points
        .iter()
        .map(|&at| Register { at, weight: 1.0 })
        .collect()
}

proptest! {
    #![proptest_config(cases(400))]

    /// Where a face unrolls exactly, whatever the sheet and the registers, nothing is left.
    #[test]
    fn nothing_on_developable_faces((face, a, b) in face_and_two(), c in (-0.5..0.5, -0.5..0.5), thick in 0.0..3.0) {
        prop_assume!(face.is_developable());
        let centre = place(&face, (0.1, 0.1));
        let Ok(about) = Development::with_thickness(&face, centre, Vector2::from_mm(0.6, 0.8), mm(thick)) else { return Ok(()) };
        let outline = [centre, place(&face, c), a.lerp(b, 0.5), a.lerp(centre, 0.3)];
        let Ok(landing) = about.landing(&outline, &at(&[a, b])) else { return Ok(()) };
        // Rounding, times the 1/sin² 30° by which two narrow arrivals can enlarge it.
        close("worst", landing.worst.mm(), 0.0, 1e-8 + 1e-12 * face.values()[0].abs());
        prop_assert_eq!(about.bound_on_stretch(&outline).unwrap(), 0.0);
    }
}

/// A ball, three marks and an outline point, done again with spherical trigonometry: haversines,
/// the sine and cosine rules, a 2 × 2 solve. Everything by distance and bearing from the centre.
#[test]
fn as_spherical_trigonometry_has_it() {
    let radius = 180.0;
    // (mm from the centre, bearing in degrees clockwise from up)
    let marks = [(95.0f64, -70.0f64), (110.0, 65.0), (80.0, 170.0)];
    let place = |(r, deg): (f64, f64)| {
        let bearing = deg.to_radians();
        (r * bearing.sin(), r * bearing.cos())
    };
    let ball = dome(radius, Bulge::Bulging);
    let about = Development::new(&ball, Point2::ORIGIN, up()).unwrap();
    let registers: Vec<_> = marks
        .iter()
        .map(|&m| place(m))
        .map(|(x, y)| Register {
            at: point(x, y),
            weight: 1.0,
        })
        .collect();
    for p in [
        (60.0, 20.0f64),
        (75.0, -40.0),
        (50.0, 140.0),
        (70.0, -120.0),
    ] {
        let (x, y) = place(p);
        let found = about.landing(&[point(x, y)], &registers).unwrap();
        let (c, mut n, mut rhs) = (p.0 / radius, [0.0; 3], [0.0; 2]);
        for m in marks {
            let (a, turn) = (m.0 / radius, (p.1 - m.1).to_radians());
            let hav =
                ((c - a) / 2.0).sin().powi(2) + a.sin() * c.sin() * (turn / 2.0).sin().powi(2);
            let d = 2.0 * hav.sqrt().asin();
            let (mx, my) = place(m);
            let too_long = (x - mx).hypot(y - my) - radius * d;
            // Arrival at p: how much outwards and how much round, by the cosine and sine rules.
            let outwards = (c.sin() * a.cos() - c.cos() * a.sin() * turn.cos()) / d.sin();
            let clockwise = a.sin() * turn.sin() / d.sin() * (c / c.sin());
            let bearing = p.1.to_radians();
            let tx = outwards * bearing.sin() + clockwise * bearing.cos();
            let ty = outwards * bearing.cos() - clockwise * bearing.sin();
            let (tx, ty) = (tx / tx.hypot(ty), ty / tx.hypot(ty));
            n = [n[0] + tx * tx, n[1] + tx * ty, n[2] + ty * ty];
            rhs = [rhs[0] + tx * too_long, rhs[1] + ty * too_long];
        }
        let det = n[0] * n[2] - n[1] * n[1];
        let wanted = (
            (n[2] * rhs[0] - n[1] * rhs[1]) / det,
            (n[0] * rhs[1] - n[1] * rhs[0]) / det,
        );
        let error = found.points[0].error;
        close("x", error.x_mm(), wanted.0, 1e-9);
        close("y", error.y_mm(), wanted.1, 1e-9);
        assert!(
            found.worst.mm() > 0.05,
            "a ball does leave something: {}",
            found.worst.mm()
        );
    }
}

/// The field's own summary, and the centre's part in it.
#[test]
fn worst_and_where() {
    let ball = dome(200.0, Bulge::Bulging);
    let about = Development::new(&ball, Point2::ORIGIN, up()).unwrap();
    let outline: Vec<_> = (0..24)
        .map(|i| (f64::from(i) * 15.0).to_radians())
        .map(|a| point(60.0 * a.cos(), 60.0 * a.sin()))
        .collect();
    let landing = about
        .landing(
            &outline,
            &at(&[point(-90.0, 10.0), point(90.0, 10.0), point(0.0, -85.0)]),
        )
        .unwrap();
    let lengths: Vec<f64> = landing.points.iter().map(|p| p.error.norm_mm()).collect();
    let worst = lengths.iter().copied().fold(0.0, f64::max);
    close("worst", landing.worst.mm(), worst, 0.0);
    close("where", lengths[landing.worst_at.unwrap()], worst, 0.0);
    let mean_square = lengths.iter().map(|l| l * l).sum::<f64>() / 24.0;
    close("rms", landing.rms.mm(), mean_square.sqrt(), 1e-14);
    // One register can't hold a point sideways: the centre joins.
    let one = about.landing(&outline, &at(&[point(-90.0, 10.0)])).unwrap();
    assert!(one.points.iter().all(|p| p.centre_joined));
    // None: the sheet lies by its centre, from which it is true. A point on a register is held.
    close(
        "by its centre",
        about.landing(&outline, &[]).unwrap().worst.mm(),
        0.0,
        1e-12,
    );
    let on_it = about.landing(&outline[..1], &at(&[outline[0]])).unwrap();
    close("on its register", on_it.worst.mm(), 0.0, 0.0);
    assert_eq!(about.landing(&[], &[]).unwrap().worst_at, None);
}

/// The error falls with the fourth power of size at the same marks relative to it: e is of the
/// order d³/R², so halving everything on the same ball leaves an eighth.
#[test]
fn falls_with_the_cube_of_size() {
    let ball = dome(300.0, Bulge::Hollow);
    let about = Development::new(&ball, Point2::ORIGIN, up()).unwrap();
    let worst = |k: f64| {
        let outline = [point(30.0 * k, 20.0 * k), point(-10.0 * k, 35.0 * k)];
        let marks = at(&[
            point(-50.0 * k, -30.0 * k),
            point(45.0 * k, -40.0 * k),
            point(5.0 * k, 60.0 * k),
        ]);
        about.landing(&outline, &marks).unwrap().worst.mm()
    };
    // The next order is (d/R)² = 4 % at k = 1 and a quarter of that at ½.
    close("ratio", worst(1.0) / worst(0.5), 8.0, 0.4);
}
