//! Faces against the outside: published values, a projection library, trade facts.
//!
//! Numbers J1 to J12 and K1 are rows of the shared checks; each names its source again here.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_cmp,
    clippy::approx_constant,
    reason = "a test stops at the first fault; exact zeros are meant; published digits stay as printed"
)]

#[path = "surface/contact_frame.rs"]
mod contact_frame;
#[path = "surface/landing.rs"]
mod landing;
#[path = "surface/properties.rs"]
mod properties;
#[path = "surface/random.rs"]
mod random;
#[path = "surface/shortest.rs"]
mod shortest;
#[path = "surface/size.rs"]
mod size;
#[path = "surface/unroll.rs"]
mod unroll;

use core::f64::consts::{PI, TAU};
use random::{close, dome, mm, point};
use samespot_core::frames::{Face, Flat, Part, Point2, Rigid3, Vector2, Vector3};
use samespot_core::surface::{
    Axis, Bulge, Cone, Cylinder, Development, Dome, FlatFace, Shape, Surface, SurfaceError, UP,
    least_stretch,
};
use samespot_core::units::{Angle, Length};

/// A point on a dome's chart by its distance round from the origin, in degrees, along +u.
fn round(radius_mm: f64, deg: f64) -> Point2<Face> {
    point(radius_mm * deg.to_radians(), 0.0)
}

fn up() -> Vector2<Face> {
    Vector2::from_mm(0.0, 1.0)
}

/// J1. Snyder 1987, USGS Professional Paper 1395, Appendix A pp. 337–338 (eqs 5-3, 25-2, 22-4,
/// 22-5): R = 3, centre 40° N 100° W, point 20° S 100° E: x = −5.8311398, y = 5.5444634.
#[test]
fn snyders_azimuthal_equidistant_example() {
    let (lat0, lat, dlon) = (
        40f64.to_radians(),
        (-20f64).to_radians(),
        (100f64 - -100f64).to_radians(),
    );
    // The point in axes out, east, north at the centre.
    let (x, y, z) = (lat.cos() * dlon.cos(), lat.cos() * dlon.sin(), lat.sin());
    let out = x * lat0.cos() + z * lat0.sin();
    let north = z * lat0.cos() - x * lat0.sin();
    let ball = Dome::new(mm(3.0), Bulge::Bulging).unwrap();
    let found = ball.from_unit(Vector3::from_mm(out, y, north)).unwrap().at;
    // Printed to seven decimals.
    close("x", found.x_mm(), -5.831_139_8, 6e-8);
    close("y", found.y_mm(), 5.544_463_4, 6e-8);
    close(
        "cos c",
        (found.from_origin().norm_mm() / 3.0).cos(),
        -0.896_280_6,
        6e-8,
    );
    // 153.67 degrees from the centre: a template refuses what the chart still writes.
    let about = Development::new(&Surface::Dome(ball), Point2::ORIGIN, up()).unwrap();
    assert_eq!(about.flat(found), Err(SurfaceError::TooFarRound));
}

/// J7. Scale factors of the azimuthal equidistant map, Snyder 1987 eqs 25-2 and 4-8/4-9: h′ = 1,
/// k′ = c/sin c. The check row's ω for 30° (2.6425) is not what eq. 4-9 gives for its own k′:
/// 2·asin(0.0471976/2.0471976) = 2.6421, which stands here.
#[test]
fn scale_of_a_cap() {
    #[track_caller]
    fn check(deg: f64, across: f64, omega_deg: Option<f64>) {
        for bulge in [Bulge::Bulging, Bulge::Hollow] {
            let ball = dome(250.0, bulge);
            let about = Development::new(&ball, Point2::ORIGIN, up()).unwrap();
            let scale = about.scale(round(250.0, deg)).unwrap();
            close("h'", scale.least, 1.0, 1e-12);
            close("k'", scale.greatest, across, 1e-9);
            if let Some(omega) = omega_deg {
                // Printed to four decimals.
                close("omega", scale.angular().deg(), omega, 5e-5);
            }
        }
    }
    check(10.0, 1.005_095_057_975_210_3, Some(0.2912));
    check(20.0, 1.020_600_269_342_874_2, None);
    check(30.0, 1.047_197_551_196_597_9, Some(2.6421));
    check(45.0, 1.110_720_734_539_591_5, None);
    check(60.0, 1.209_199_576_156_145_2, None);
    check(90.0, 1.570_796_326_794_896_6, None);
}

/// J8. Milnor 1969, *A problem in cartography*, Amer. Math. Monthly 76(10): 1101–1112 (theorem
/// from memory): no flat map of a cap stretches less than ln(r/sin r).
#[test]
fn least_stretch_of_a_cap() {
    #[track_caller]
    fn check(deg: f64, bound: f64) {
        close("bound", least_stretch(Angle::from_deg(deg)), bound, 1e-9);
        let ball = dome(400.0, Bulge::Bulging);
        let about = Development::new(&ball, Point2::ORIGIN, up()).unwrap();
        let rim = [round(400.0, deg), round(400.0, deg / 3.0)];
        close(
            "of an outline",
            about.bound_on_stretch(&rim).unwrap(),
            bound,
            1e-9,
        );
    }
    check(5.0, 0.001_269_561_598_641_683);
    check(10.0, 0.005_082_122_088_115_737);
    check(15.0, 0.011_449_365_083_753_507);
    check(20.0, 0.020_390_953_554_101_494);
    check(30.0, 0.046_117_597_181_290_58);
    check(45.0, 0.105_009_115_009_482_18);
    check(60.0, 0.189_958_633_407_180_9);
    check(90.0, 0.451_582_705_289_454_8);
}

/// J9 (elementary; Gauss–Bonnet): a cap of 20° laid flat and cut once gapes by
/// 360·(1 − sin r/r) = 7.2666°. The gap is what the rim has too little.
#[test]
fn a_cap_cut_once_gapes() {
    let ball = dome(300.0, Bulge::Bulging);
    let about = Development::new(&ball, Point2::ORIGIN, up()).unwrap();
    let scale = about.scale(round(300.0, 20.0)).unwrap();
    close(
        "gap",
        360.0 * (1.0 - 1.0 / scale.greatest),
        7.266_407_021_634_076,
        1e-9,
    );
}

/// J10. Radial-line development of sheet-metal handbooks: frustum 300 to 200 across, 400 high.
#[test]
fn frustum_development() {
    let cone = Cone::from_radii(mm(150.0), mm(100.0), mm(400.0), Bulge::Bulging).unwrap();
    let tip_mm = cone.slant_to_tip().unwrap().mm();
    close("outer radius", tip_mm, 1_209.338_662_244_782_4, 1e-9);
    let slant_mm = 50.0 / cone.half_angle().rad().sin();
    close("slant", slant_mm, 403.112_887_414_927_46, 1e-9);
    let about = Development::new(&Surface::Cone(cone), Point2::ORIGIN, up()).unwrap();
    let tip = Point2::<Flat>::from_mm(0.0, tip_mm);
    let angle = |v: f64, radius: f64| {
        let (a, b) = (
            about.flat(point(-PI * 150.0, v)).unwrap(),
            about.flat(point(PI * 150.0, v)).unwrap(),
        );
        close("distance from the tip", a.distance(tip).mm(), radius, 1e-9);
        let (a, b) = (a - tip, b - tip);
        a.cross(b).atan2(a.dot(b)).to_degrees()
    };
    close(
        "included angle",
        angle(0.0, 1_209.338_662_244_782_4),
        44.652_504_452_115_046,
        1e-9,
    );
    close(
        "at the top",
        angle(slant_mm, 806.225_774_829_854_9),
        44.652_504_452_115_046,
        1e-9,
    );
}

/// J10, note. Longfield, *Sheet Metal Drafting*, 1921, ch. V problem 19 (public domain): a full
/// cone, base 4 in, altitude 7 in: slant 7.280110, stretch-out 12.566371, angle 98.899606°.
#[test]
fn longfields_cone() {
    let (radius, altitude) = (Length::INCH * 2.0, Length::INCH * 7.0);
    let sine = 2.0 / 53f64.sqrt();
    let cone = Cone::new(radius, -sine, Bulge::Bulging).unwrap();
    close(
        "slant",
        cone.slant_to_tip().unwrap() / Length::INCH,
        7.280_110,
        5e-7,
    );
    let face = Surface::Cone(cone);
    close(
        "stretch-out",
        face.girth().unwrap().norm_mm() / 25.4,
        12.566_371,
        5e-7,
    );
    let angle = TAU * sine;
    close("angle", angle.to_degrees(), 98.899_606, 5e-7);
    let near_tip = face
        .jet(point(0.0, cone.slant_to_tip().unwrap().mm() - 1e-9))
        .unwrap();
    close("altitude", near_tip.at.mm().z, altitude.mm(), 1e-6);
}

/// J11. OEIS A105419: the 45° cut of a unit cylinder unrolls to one period of a cosine, as long
/// as the ellipse of semi-axes √2 and 1: 4√2·E(1/2) = 7.640395578.
#[test]
fn oblique_cut_unrolled() {
    let face = Surface::Cylinder(Cylinder::new(mm(1.0), Axis::Up, Bulge::Bulging).unwrap());
    let about = Development::new(&face, Point2::ORIGIN, Vector2::from_mm(0.3, 0.4)).unwrap();
    let length = |n: i32| {
        let at = |i: i32| {
            let s = TAU * f64::from(i) / f64::from(n);
            let p = point(s, s.cos());
            let x = face.jet(p).unwrap().at.mm();
            close("in the plane z = x", x.z, x.x, 1e-15);
            about.flat(p).unwrap()
        };
        (0..n).map(|i| at(i).distance(at(i + 1)).mm()).sum::<f64>()
    };
    // A polygon in a closed smooth curve falls short as 1/n²: one extrapolation leaves 1e-12.
    let (coarse, fine) = (length(1000), length(2000));
    close(
        "perimeter",
        fine + (fine - coarse) / 3.0,
        7.640_395_578_055_425,
        1e-9,
    );
}

/// J12 (elementary): a gore of 12 on R = 100 is 26.179939 either side of its middle at the
/// equator and 18.512012 at 45°.
#[test]
fn gore_width() {
    #[track_caller]
    fn check(lat_deg: f64, half_width: f64) {
        let ball = Dome::new(mm(100.0), Bulge::Bulging).unwrap();
        let lat = lat_deg.to_radians();
        let along_the_parallel = |n: i32| {
            let at = |i: i32| {
                let lon = PI / 12.0 * f64::from(i) / f64::from(n);
                let unit =
                    Vector3::from_mm(lat.cos() * lon.cos(), lat.cos() * lon.sin(), lat.sin());
                ball.jet(ball.from_unit(unit).unwrap().at).unwrap().at
            };
            (0..n).map(|i| at(i).distance(at(i + 1)).mm()).sum::<f64>()
        };
        let (coarse, fine) = (along_the_parallel(100), along_the_parallel(200));
        close("half-width", fine + (fine - coarse) / 3.0, half_width, 1e-8);
    }
    check(0.0, 26.179_938_779_914_945);
    check(45.0, 18.512_012_242_326_527);
}

/// K1 (do Carmo 1976; elementary). The cone's printed case and the closed forms.
#[test]
fn shortest_ways_in_closed_form() {
    // Half-angle 20°, 1.25 and 2 from the tip, a quarter turn apart; here in decimetres.
    let sine = 20f64.to_radians().sin();
    let cone = Surface::Cone(Cone::new(mm(200.0 * sine), -sine, Bulge::Bulging).unwrap());
    let quarter = 200.0 * sine * PI / 2.0;
    let d = cone
        .over_surface(point(0.0, 0.0), point(quarter, 75.0), 0)
        .unwrap();
    close("cone", d.mm, 112.556_121_834_344_76, 1e-10);

    let round = Surface::Cylinder(Cylinder::new(mm(80.0), Axis::Up, Bulge::Bulging).unwrap());
    let d = round
        .over_surface(point(10.0, 5.0), point(10.0 + 80.0, 65.0), 0)
        .unwrap();
    close("cylinder", d.mm, 100.0, 1e-12);
    // Written a whole girth on, brought back by one turn.
    let far = point(10.0 + 80.0 + TAU * 80.0, 65.0);
    assert_eq!(round.nearest_turns(point(10.0, 5.0), far), -1);
    close(
        "other branch",
        round.over_surface(point(10.0, 5.0), far, -1).unwrap().mm,
        100.0,
        1e-10,
    );

    let ball = dome(500.0, Bulge::Hollow);
    let (a, b) = (point(120.0, -60.0), point(-300.0, 210.0));
    let (x, y) = (ball.normal(a).unwrap(), ball.normal(b).unwrap());
    let d = ball.over_surface(a, b, 0).unwrap();
    close("sphere", d.mm, 500.0 * x.dot(y).acos(), 1e-9);
}

/// What the distance refuses, and in which words (design/11, *Branches*).
#[test]
fn ways_that_are_refused() {
    let cone = Surface::Cone(Cone::new(mm(100.0), -0.6, Bulge::Bulging).unwrap());
    let turn = |rad: f64| point(100.0 * rad, 20.0);
    let limit = (PI - 0.05) / 0.6;
    assert!(cone.over_surface(turn(0.0), turn(limit - 1e-6), 0).is_ok());
    let over = cone.over_surface(turn(0.0), turn(limit + 1e-6), 0);
    assert_eq!(over, Err(SurfaceError::OverTheTip));
    assert!(
        matches!(cone.jet(point(0.0, 170.0)), Err(SurfaceError::PastTheTip { past_mm }) if (past_mm - 10.0 / 3.0).abs() < 1e-9)
    );

    let ball = dome(100.0, Bulge::Bulging);
    assert!(
        ball.over_surface(round(100.0, -75.0), round(100.0, 74.999), 0)
            .is_ok()
    );
    let far = ball.over_surface(round(100.0, -75.0), round(100.0, 75.001), 0);
    assert_eq!(far, Err(SurfaceError::TooFarRound));
    assert_eq!(
        ball.jet(round(100.0, 179.0)),
        Err(SurfaceError::BehindTheDome)
    );

    for face in [Surface::Flat(FlatFace), cone, ball] {
        let near = point(0.6, 0.79);
        assert_eq!(
            face.over_surface(point(0.0, 0.0), near, 0),
            Err(SurfaceError::TooClose)
        );
        assert_eq!(
            face.straight(point(0.0, 0.0), near),
            Err(SurfaceError::TooClose)
        );
    }
}

/// Sizes that no face can have, NaN among them, by name.
#[test]
fn sizes_that_are_refused() {
    for bad in [0.0, -40.0, 2e5] {
        assert_eq!(
            Dome::new(mm(bad), Bulge::Bulging),
            Err(SurfaceError::Size {
                what: "a radius",
                value_mm: bad
            })
        );
        assert!(Cylinder::new(mm(bad), Axis::Up, Bulge::Hollow).is_err());
        assert!(Cone::from_girths(mm(bad), mm(300.0), mm(100.0), Bulge::Bulging).is_err());
    }
    let face = dome(100.0, Bulge::Bulging);
    assert!(face.with_values(&[f64::NAN, 0.0, 0.0]).is_err());
    let cone = Surface::Cone(Cone::new(mm(100.0), 0.1, Bulge::Bulging).unwrap());
    assert!(cone.with_values(&[100.0, f64::NAN, 0.0]).is_err());
    let steep = Cone::from_girths(mm(1000.0), mm(100.0), mm(100.0), Bulge::Bulging);
    assert!(matches!(steep, Err(SurfaceError::Taper { taper }) if taper < -1.0));
    let message = Dome::new(mm(-40.0), Bulge::Bulging)
        .unwrap_err()
        .to_string();
    assert_eq!(
        message,
        "a radius of -40 mm can't be: it must be more than zero and less than 100 m"
    );
}

/// Common practice, no source: a 75 mm plank on a roof of 60° pitch measures 150 mm plumb.
#[test]
fn plank_on_a_roof() {
    let pitch = 60f64.to_radians();
    // A flat face stands upright; lean it back until it lies at the roof's pitch.
    let (s, c) = ((PI / 2.0 - pitch).sin(), (PI / 2.0 - pitch).cos());
    let lean = nalgebra::Matrix3::new(c, 0.0, -s, 0.0, 1.0, 0.0, s, 0.0, c);
    let part_from_face =
        Rigid3::<Part, Part>::new(lean, samespot_core::frames::Point3::from_mm(0.0, 0.0, 0.0))
            .unwrap();
    let normal = part_from_face.vector(FlatFace.normal(Point2::ORIGIN).unwrap());
    close(
        "plumb through a flat roof",
        75.0 / normal.dot(UP),
        150.0,
        1e-10,
    );
    // A conical roof of the same pitch: half-angle 30°.
    let roof = Cone::new(mm(2000.0), -0.5, Bulge::Bulging).unwrap();
    let normal = roof.normal(point(345.0, 800.0)).unwrap();
    close(
        "plumb through a conical roof",
        75.0 / normal.dot(UP),
        150.0,
        1e-10,
    );
}

/// Design/10 §1.4, the table of flat discs on a ball (common practice, computed there): chord,
/// arc over it, sag, and the rim's surplus if the disc is forced to lie down.
#[test]
fn discs_on_a_ball() {
    #[track_caller]
    fn check(radius: f64, diameter: f64, arc: f64, sag: f64, surplus: f64) {
        let ball = dome(radius, Bulge::Bulging);
        let half = radius * (diameter / 2.0 / radius).asin();
        let (a, b) = (point(-half, 0.0), point(half, 0.0));
        // The table prints one decimal.
        close("chord", ball.straight(a, b).unwrap().mm, diameter, 1e-9);
        close("arc", ball.over_surface(a, b, 0).unwrap().mm, arc, 0.0501);
        close("sag", ball.dip(a, b).unwrap().mm(), sag, 0.0501);
        let about = Development::new(&ball, Point2::ORIGIN, up()).unwrap();
        let rim = about.scale(point(diameter / 2.0, 0.0)).unwrap().greatest;
        close(
            "surplus",
            PI * diameter * (1.0 - 1.0 / rim),
            surplus,
            0.0501,
        );
        close(
            "no dip in a hollow",
            dome(radius, Bulge::Hollow).dip(a, b).unwrap().mm(),
            0.0,
            1e-300,
        );
    }
    check(800.0, 200.0, 200.5, 6.3, 1.6);
    check(500.0, 100.0, 100.2, 2.5, 0.5);
    check(500.0, 200.0, 201.4, 10.1, 4.2);
    check(500.0, 300.0, 304.7, 23.0, 14.1);
    check(300.0, 100.0, 100.5, 4.2, 1.5);
    check(300.0, 200.0, 203.9, 17.2, 11.6);
    check(300.0, 300.0, 314.2, 40.2, 38.8);
}

/// pyproj (PROJ) on 400 random balls: `tests/reference/surface/sphere_maps.py` made the file.
#[test]
fn sphere_maps_as_proj_has_them() {
    let text = include_str!("../reference/surface/sphere_maps.json");
    let file: serde_json::Value = serde_json::from_str(text).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 400);
    for case in cases {
        let number = |name: &str| case[name].as_f64().unwrap();
        let pair = |name: &str| {
            (
                case[name][0].as_f64().unwrap(),
                case[name][1].as_f64().unwrap(),
            )
        };
        let radius = number("radius");
        let tolerance = 1e-9 * radius;
        let direction = |lat: f64, lon: f64| {
            let (lat, lon) = (lat.to_radians(), lon.to_radians());
            Vector3::from_mm(lat.cos() * lon.cos(), lat.cos() * lon.sin(), lat.sin())
        };
        let ball = Dome::new(mm(radius), Bulge::Bulging).unwrap();
        let centre = ball
            .from_unit(direction(number("centre_lat"), number("centre_lon")))
            .unwrap()
            .at;
        let at = ball
            .from_unit(direction(number("lat"), number("lon")))
            .unwrap()
            .at;
        for (name, found, (x, y)) in [
            ("centre", centre, pair("centre_chart")),
            ("point", at, pair("chart")),
        ] {
            close(name, found.x_mm(), x, tolerance);
            close(name, found.y_mm(), y, tolerance);
        }
        let face = Surface::Dome(ball);
        let d = face.over_surface(centre, at, 0).unwrap().mm;
        close("great circle", d, number("distance"), tolerance);
        // PROJ's north at the centre is the ball's own z axis: what a template calls up.
        let north = face.up_at(centre, UP).unwrap().unwrap();
        let about = Development::new(&face, centre, north).unwrap();
        let (flat, (x, y)) = (about.flat(at).unwrap(), pair("sheet"));
        close("sheet x", flat.x_mm(), x, tolerance);
        close("sheet y", flat.y_mm(), y, tolerance);
        let scale = about.scale(at).unwrap();
        // PROJ finds its factors by differences.
        close("least", scale.least, number("least"), 2e-6);
        close(
            "greatest",
            scale.greatest,
            number("greatest"),
            2e-6 * scale.greatest * scale.greatest,
        );
        let back = about.face(flat).unwrap();
        close("back", back.distance(at).mm(), 0.0, tolerance);
    }
}
