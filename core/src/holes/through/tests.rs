use super::*;
use crate::surface::{Axis as SurfaceAxis, Bulge, Cylinder, Dome};

const fn mm(x: f64) -> Length {
    Length::from_mm(x)
}
const fn at(x: f64, y: f64, z: f64) -> Point3<Part> {
    Point3::from_mm(x, y, z)
}
const fn to(x: f64, y: f64, z: f64) -> Vector3<Part> {
    Vector3::from_mm(x, y, z)
}
const UP: Vector3<Part> = to(0.0, 0.0, 1.0);

/// A slab: its top through a point, so thick below it.
fn slab(name: &str, top: Point3<Part>, thick: f64, normal: Vector3<Part>) -> Layer<'static> {
    Layer {
        name: name.into(),
        near: Ground::Plane { at: top, normal },
        far: Ground::Plane {
            at: top + normal * -thick,
            normal,
        },
    }
}

#[test]
fn a_lean_through_a_flat_skin_by_trigonometry() {
    // 9 mm of skin at 30° from square: 9 / cos 30° of material, marks 9·tan 30° apart.
    let axis = Axis {
        from: at(-50.0, 0.0, 50.0 * libm::sqrt(3.0)),
        along: to(0.5, 0.0, -libm::sqrt(0.75)),
    };
    let way = through(axis, &[slab("skin", at(0.0, 0.0, 0.0), 9.0, UP)]).unwrap();
    assert!((way.grip.mm() - 9.0 / libm::cos(30f64.to_radians())).abs() < 1e-9);
    let skin = &way.layers[0];
    assert!((skin.entry.tilt.deg() - 30.0).abs() < 1e-9);
    let apart = skin.exit.at - skin.entry.at;
    assert!((apart.mm().x - 9.0 * libm::tan(30f64.to_radians())).abs() < 1e-9);
    // The bit goes towards +x, so its top leans towards −x.
    assert!(skin.entry.top_leans.is_some_and(|l| l.mm().x < -0.999));
}

/// A skin of a face between two depths, met near a place.
fn skin(face: &Surface, from: f64, deep: f64, near: Point2<Face>) -> Layer<'_> {
    let side = |deep| Ground::Skin {
        face,
        deep: mm(deep),
        near,
    };
    Layer {
        name: "skin".into(),
        near: side(from),
        far: side(deep),
    }
}

#[test]
fn through_a_dome_off_its_crown() {
    // A face has its outward along +x. Along x at 150 off the crown of R 500: leans asin(0.3) from
    // square; the inner radius is met 9.45 mm further in: √(500² − 150²) − √(491² − 150²).
    let face = Surface::Dome(Dome::new(mm(500.0), Bulge::Bulging).unwrap());
    let axis = Axis {
        from: at(700.0, 0.0, 150.0),
        along: to(-1.0, 0.0, 0.0),
    };
    let layers = [skin(&face, 0.0, 9.0, Point2::from_mm(0.0, 140.0))];
    let way = through(axis, &layers).unwrap();
    let want = libm::sqrt(250_000.0 - 22_500.0) - libm::sqrt(241_081.0 - 22_500.0);
    assert!((way.grip.mm() - want).abs() < 1e-6, "{}", way.grip.mm());
    let entry = way.layers[0].entry;
    assert!((libm::sin(entry.tilt.rad()) - 0.3).abs() < 1e-6);
    assert!(
        entry
            .top_leans
            .is_some_and(|l| l.mm().z < 0.0 && l.mm().x > 0.0)
    );
    // Two skins together are as long as the one they make up.
    let both = [
        skin(&face, 0.0, 4.0, Point2::from_mm(0.0, 140.0)),
        skin(&face, 4.0, 9.0, Point2::from_mm(0.0, 140.0)),
    ];
    let sum: f64 = through(axis, &both)
        .unwrap()
        .layers
        .iter()
        .map(|l| l.length.mm())
        .sum();
    assert!((sum - want).abs() < 1e-6);
}

#[test]
fn through_a_hollow_cylinder_wall() {
    // From inside a hollow of R 200, 60 off its middle line: √(210² − 60²) − √(200² − 60²).
    let face = Surface::Cylinder(Cylinder::new(mm(200.0), SurfaceAxis::Up, Bulge::Hollow).unwrap());
    let crown = face.jet(Point2::ORIGIN).unwrap();
    let out = face.normal(Point2::ORIGIN).unwrap();
    let axis = Axis {
        from: crown.at + out * 50.0 + crown.du * 60.0,
        along: -out,
    };
    let way = through(axis, &[skin(&face, 0.0, 10.0, Point2::from_mm(60.0, 0.0))]).unwrap();
    let want = libm::sqrt(210.0 * 210.0 - 3600.0) - libm::sqrt(40_000.0 - 3600.0);
    assert!(
        (way.grip.mm() - want).abs() < 1e-6,
        "{} {want}",
        way.grip.mm()
    );
}

#[test]
fn what_can_not_be_drilled_is_refused_in_words() {
    let drill = |along| {
        let axis = Axis {
            from: at(0.0, 0.0, 100.0),
            along,
        };
        through(axis, &[slab("the skin", at(0.0, 0.0, 0.0), 9.0, UP)])
    };
    assert!(matches!(drill(UP), Err(ThroughError::Misses { .. })));
    assert!(matches!(
        drill(to(1.0, 0.0, 0.0)),
        Err(ThroughError::Misses { .. })
    ));
    assert!(matches!(
        drill(to(0.0, 0.0, 0.0)),
        Err(ThroughError::NoDirection)
    ));
    let graze = drill(to(1.0, 0.0, -0.36)).unwrap_err();
    assert!(graze.to_string().contains("20°"), "{graze}");
    let upside_down = Layer {
        name: "skin".into(),
        near: Ground::Plane {
            at: at(0.0, 0.0, -9.0),
            normal: UP,
        },
        far: Ground::Plane {
            at: at(0.0, 0.0, 0.0),
            normal: UP,
        },
    };
    let axis = Axis {
        from: at(0.0, 0.0, 100.0),
        along: -UP,
    };
    assert!(matches!(
        through(axis, &[upside_down]),
        Err(ThroughError::Order { .. })
    ));
    // A dome that the axis passes beside.
    let face = Surface::Dome(Dome::new(mm(500.0), Bulge::Bulging).unwrap());
    let beside = Axis {
        from: at(700.0, 0.0, 600.0),
        along: to(-1.0, 0.0, 0.0),
    };
    assert!(
        through(
            beside,
            &[skin(&face, 0.0, 9.0, Point2::from_mm(0.0, 400.0))]
        )
        .is_err()
    );
}

#[test]
fn stops_never_reach_the_finish() {
    assert_eq!(collar_at(mm(12.0), None, mm(8.5)), Some(mm(15.0)));
    assert_eq!(
        collar_at(mm(9.0), Some(Thickness::FromGlass(mm(9.0))), mm(11.0)),
        None
    );
    // 9 + 3.3 + 3 rounded up.
    assert_eq!(
        collar_at(mm(9.0), Some(Thickness::Measured(mm(9.0))), mm(11.0)),
        Some(mm(16.0))
    );
    // 3 mm of a 118° point is 6 tan 59° = 9.986 wide: a 12 mm bit leaves that, an 8.5 is through.
    assert!((far_edge(mm(12.0)).mm() - 9.9857).abs() < 1e-4);
    assert_eq!(far_edge(mm(8.5)).to_um(), 8_500);
    assert_eq!(drill_for(mm(150.0)), Some(Drill::Angle));
    assert_eq!(drill_for(mm(90.0)), None);
}
