//! Unrolling: round trips, derivatives, true distances from the centre, thickness, hand.

use super::random::{cases, close, dome, face_and_two, mm, place, point};
use super::up;
use core::f64::consts::TAU;
use proptest::prelude::*;
use samespot_core::frames::{Face, Flat, Mirror2, Part, Point2, Vector2, Vector3};
use samespot_core::surface::{
    Axis, Bulge, Cone, Cylinder, Development, FlatFace, Shape, Surface, SurfaceError, UP,
};
use samespot_core::units::{Angle, Length};

fn heading(angle: f64) -> Vector2<Face> {
    Vector2::from_mm(angle.cos(), angle.sin())
}

/// Sheets from film to thick foam, as thick as the face takes.
fn laid(face: &Surface, centre: Point2<Face>, angle: f64, thickness: f64) -> Development {
    let least = match face {
        Surface::Flat(_) => 1e6,
        Surface::Cone(c) => c.radius_at(mm(centre.y_mm())).unwrap().mm(),
        _ => face.values()[0].abs(),
    };
    let thickness = mm((thickness * least).min(12.0));
    Development::with_thickness(face, centre, heading(angle), thickness).unwrap()
}

proptest! {
    #![proptest_config(cases(1500))]

    #[test]
    fn there_and_back((face, centre, at) in face_and_two(), angle in -4.0..4.0, thick in 0.0..0.3) {
        let about = laid(&face, centre, angle, thick);
        let Ok(flat) = about.flat(at) else { return Ok(()) };
        let back = about.face(flat).unwrap();
        let radius = face.values()[0].abs();
        // A cone's u is written at the reference girth: near the tip rounding grows with r₀/r.
        let grow = match face {
            Surface::Cone(c) => 1.0 + radius / c.radius_at(mm(at.y_mm())).unwrap().mm(),
            _ => 1.0,
        };
        close("there and back", back.distance(at).mm(), 0.0, 1e-12 * grow * (radius + at.from_origin().norm_mm() + 1.0));
        close("centre", about.flat(centre).unwrap().from_origin().norm_mm(), 0.0, 1e-12 * (1.0 + radius));
    }

    #[test]
    fn unrolling_has_its_derivatives((face, centre, at) in face_and_two(), angle in -4.0..4.0, thick in 0.0..0.3) {
        let about = laid(&face, centre, angle, thick);
        let sharp = match face {
            Surface::Flat(_) => 1e3,
            Surface::Cone(c) => c.radius_at(mm(at.y_mm())).unwrap().mm(),
            _ => face.values()[0].abs(),
        };
        let step = 1e-3 * sharp;
        let try_flat = |u: f64, v: f64| about.flat(at + Vector2::from_mm(u, v));
        prop_assume!([(2.0, 0.0), (-2.0, 0.0), (0.0, 2.0), (0.0, -2.0)].iter().all(|(u, v)| try_flat(u * step, v * step).is_ok()));
        let (flat, slopes) = about.flat_with_slopes(at).unwrap();
        for (column, (u, v)) in [(0, (1.0, 0.0)), (1, (0.0, 1.0))] {
            let to = |h: f64| about.flat(at + Vector2::from_mm(u, v) * (h * step)).unwrap();
            let numeric = ((to(1.0) - to(-1.0)) * 8.0 - (to(2.0) - to(-2.0))) * (1.0 / (12.0 * step));
            let analytic = slopes.vector(Vector2::from_mm(u, v));
            // Rounding at 1e5 mm over the step; 1e-9 of remainder.
            close(&format!("column {column} on {face:?}"), (analytic - numeric).norm_mm(), 0.0, 2e-8 + 1e-10 / step);
        }
        prop_assert!(slopes.determinant() > 0.0, "the hand is kept");
        let there_and_back = about.face_from_flat(flat).unwrap().after(slopes).matrix();
        close("inverse", (there_and_back - nalgebra::Matrix2::identity()).norm(), 0.0, 1e-6);
    }

    /// From its centre a sheet is true: distance by distance, direction by direction; and up at
    /// the centre is up the sheet.
    #[test]
    fn true_from_the_centre((face, centre, at) in face_and_two(), angle in -4.0..4.0) {
        let about = laid(&face, centre, angle, 0.0);
        let (Ok(flat), Ok(over)) = (about.flat(at), face.over_surface(centre, at, 0)) else { return Ok(()) };
        close("distance", flat.from_origin().norm_mm(), over.mm, 1e-11 * (over.mm + face.values()[0].abs()));
        let (jet, slopes) = (face.jet(centre).unwrap(), about.flat_from_face(centre).unwrap());
        let lifted = slopes.vector(heading(angle));
        close("up", lifted.x_mm(), 0.0, 1e-9);
        close("no stretch", lifted.norm_mm(), jet.space(heading(angle)).norm().mm(), 1e-9);
        prop_assume!(over.mm > 3.0);
        // The way there leaves along the gradient at the centre, turned back.
        let leaving = slopes.vector(-jet.raise(over.d_from));
        let wanted = flat.from_origin() * (1.0 / over.mm);
        close("direction", (leaving - wanted).norm_mm(), 0.0, 1e-8 * (1.0 + face.values()[0].abs() / over.mm / 1e3));
    }

    /// Straight ahead: as far as asked, along the direction asked, and half-way is on the way.
    #[test]
    fn walking((face, from, _) in face_and_two(), angle in -4.0..4.0, distance in 3.0..200.0) {
        let Ok(to) = face.walk(from, heading(angle), mm(distance)) else { return Ok(()) };
        let Ok(over) = face.over_surface(from, to, 0) else { return Ok(()) };
        close("distance", over.mm, distance, 1e-11 * (distance + face.values()[0].abs()));
        let half = face.walk(from, heading(angle), mm(distance / 2.0)).unwrap();
        let (first, second) = (face.over_surface(from, half, 0), face.over_surface(half, to, 0));
        if let (Ok(first), Ok(second)) = (first, second) {
            close("half-way", first.mm + second.mm, distance, 1e-10 * (distance + face.values()[0].abs()));
        }
    }

    /// Flat, cylinder and cone keep every distance between any two points, thick sheets the
    /// distances of their own middle.
    #[test]
    fn developable_faces_unroll_exactly((face, a, b) in face_and_two(), centre in (-0.4..0.4, -0.4..0.4), angle in -4.0..4.0, thick in 0.0..0.3) {
        prop_assume!(face.is_developable());
        let about = laid(&face, place(&face, centre), angle, thick);
        let (Ok(p), Ok(q)) = (about.flat(a), about.flat(b)) else { return Ok(()) };
        let (ma, mb) = (about.middle_from_face(a), about.middle_from_face(b));
        let Ok(over) = about.middle().over_surface(ma, mb, 0) else { return Ok(()) };
        // Two points further round than half the sector from one another go over the tip, but a
        // chord of the flat sheet then leaves it: only ways inside are compared.
        close(&format!("{face:?}"), p.distance(q).mm(), over.mm, 1e-10 * (over.mm + face.values()[0].abs()));
        let scale = about.scale(a).unwrap();
        close("least scale", scale.least, 1.0, 1e-9);
        close("greatest scale", scale.greatest, 1.0, 1e-9);
    }

    /// Mirrored across v, a left eye gives the mirror image of the right eye's sheet.
    #[test]
    fn mirror_changes_hand((face, centre, at) in face_and_two(), angle in -4.0..4.0, a in -0.5..0.5, b in -0.5..0.5) {
        let mirror = Mirror2::<Face>::across(Point2::ORIGIN, Angle::from_deg(90.0));
        let other = place(&face, (a, b));
        let right = laid(&face, centre, angle, 0.0);
        let left = Development::new(&face, mirror.point(centre), mirror.vector(heading(angle))).unwrap();
        let (Ok(p), Ok(q)) = (right.flat(at), right.flat(other)) else { return Ok(()) };
        let (mp, mq) = (left.flat(mirror.point(at)).unwrap(), left.flat(mirror.point(other)).unwrap());
        let tolerance = 1e-11 * (1000.0 + face.values()[0].abs());
        close("x", mp.x_mm(), -p.x_mm(), tolerance);
        close("y", mp.y_mm(), p.y_mm(), tolerance);
        let hand = |p: Point2<Flat>, q: Point2<Flat>| p.from_origin().cross(q.from_origin());
        close("hand", hand(mp, mq), -hand(p, q), tolerance * 4000.0);
    }
}

/// Design/11 *Thickness*, by hand: 3 mm card, so 1.5 mm to its middle.
#[test]
fn thickness_of_the_sheet() {
    #[track_caller]
    fn check(face: &Surface, at: Point2<Face>, wanted: (f64, f64)) {
        let about = Development::with_thickness(face, Point2::ORIGIN, up(), mm(3.0)).unwrap();
        let flat = about.flat(at).unwrap();
        close("x", flat.x_mm(), wanted.0, 1e-10);
        close("y", flat.y_mm(), wanted.1, 1e-10);
    }
    let round = |axis, bulge| Surface::Cylinder(Cylinder::new(mm(150.0), axis, bulge).unwrap());
    check(
        &round(Axis::Up, Bulge::Bulging),
        point(100.0, 40.0),
        (101.0, 40.0),
    );
    check(
        &round(Axis::Up, Bulge::Hollow),
        point(100.0, 40.0),
        (99.0, 40.0),
    );
    check(
        &round(Axis::Across, Bulge::Bulging),
        point(100.0, 50.0),
        (100.0, 50.5),
    );
    check(
        &dome(150.0, Bulge::Bulging),
        point(100.0, 50.0),
        (101.0, 50.5),
    );
    check(
        &dome(150.0, Bulge::Hollow),
        point(100.0, 50.0),
        (99.0, 49.5),
    );
    check(&Surface::Flat(FlatFace), point(100.0, 50.0), (100.0, 50.0));
    // Cone: slant from the tip grows by (t/2)·cot a, the sector's angle stays.
    let (sine, radius) = (0.25f64, 150.0);
    let cot = (1.0 - sine * sine).sqrt() / sine;
    let (slant, turn) = (radius / sine + 1.5 * cot, 60.0 / radius * sine);
    let at = slant - 40.0;
    let cone = |bulge| Surface::Cone(Cone::new(mm(radius), -sine, bulge).unwrap());
    check(
        &cone(Bulge::Bulging),
        point(60.0, 40.0),
        (at * turn.sin(), slant - at * turn.cos()),
    );
    let slant = radius / sine - 1.5 * cot;
    let at = slant - 40.0;
    check(
        &cone(Bulge::Hollow),
        point(60.0, 40.0),
        (at * turn.sin(), slant - at * turn.cos()),
    );

    let tight =
        Development::with_thickness(&dome(10.0, Bulge::Hollow), Point2::ORIGIN, up(), mm(12.0));
    assert_eq!(
        tight,
        Err(SurfaceError::TooThick {
            thickness_mm: 12.0,
            radius_mm: 10.0
        })
    );
    let less =
        Development::with_thickness(&Surface::Flat(FlatFace), Point2::ORIGIN, up(), mm(-1.0));
    assert_eq!(
        less,
        Err(SurfaceError::Size {
            what: "a thickness",
            value_mm: -1.0
        })
    );
}

/// A band goes all the way round: points are taken on the branch they are written on.
#[test]
fn a_band_all_the_way_round() {
    let face = Surface::Cylinder(Cylinder::new(mm(100.0), Axis::Up, Bulge::Bulging).unwrap());
    let about = Development::new(&face, point(10.0, 20.0), up()).unwrap();
    let end = about.flat(point(10.0 + TAU * 100.0, 20.0)).unwrap();
    close("once round", end.x_mm(), TAU * 100.0, 1e-10);
    let seam = face.nearest(point(TAU * 100.0 - 5.0, 0.0), point(10.0, 20.0));
    close(
        "a mark across the seam comes near",
        seam.x_mm(),
        -5.0,
        1e-10,
    );
}

/// Up at a centre is the part's up, and none where up runs within 20° of the normal.
#[test]
fn up_at_a_centre() {
    let ball = dome(200.0, Bulge::Bulging);
    let at = |deg: f64| point(0.0, 200.0 * deg.to_radians());
    assert_eq!(ball.up_at(at(0.0), UP).unwrap(), Some(up()));
    assert!(ball.up_at(at(69.9), UP).unwrap().is_some());
    assert_eq!(ball.up_at(at(70.1), UP).unwrap(), None);
    assert_eq!(ball.up_at(at(-70.1), UP).unwrap(), None);
    // On the side of the ball the part's up is not the chart's: never carried from the origin.
    let side = point(150.0, 120.0);
    let found = ball.up_at(side, UP).unwrap().unwrap();
    let (jet, normal) = (ball.jet(side).unwrap(), ball.normal(side).unwrap());
    let in_space = jet.space(found);
    close("one long", in_space.norm().mm(), 1.0, 1e-12);
    close("level across", in_space.cross(normal).dot(UP), 0.0, 1e-12);
    assert!(in_space.dot(UP) > 0.0 && found.x_mm().abs() > 0.01);
    let none: Vector3<Part> = Vector3::from_mm(0.0, 0.0, 0.0);
    assert_eq!(ball.up_at(side, none), Err(SurfaceError::NoDirection));
    let undecided = Development::new(&ball, side, Vector2::ZERO);
    assert_eq!(undecided, Err(SurfaceError::NoDirection));
    assert_eq!(
        Length::ZERO,
        Development::new(&ball, side, up()).unwrap().thickness()
    );
}
