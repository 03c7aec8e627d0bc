use super::*;

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

fn slab(name: &str, top: f64, thick: f64, normal: Vector3<Part>) -> Layer {
    let near = Ground::Plane {
        at: at(0.0, 0.0, top),
        normal,
    };
    Layer {
        name: name.into(),
        near,
        far: near.parallel(mm(-thick)),
    }
}

#[test]
fn a_lean_through_a_flat_skin_by_trigonometry() {
    // 9 mm of skin at 30° from square: 9 / cos 30° of material, marks 9·tan 30° apart.
    let d = to(0.5, 0.0, -libm::sqrt(0.75));
    let axis = Axis {
        from: at(-50.0, 0.0, 50.0 * libm::sqrt(3.0)),
        along: d,
    };
    let way = through(axis, &[slab("skin", 0.0, 9.0, UP)], &[], UP, mm(11.0));
    let Ok(way) = way else {
        unreachable!("{way:?}")
    };
    assert!((way.grip.mm() - 9.0 / libm::cos(30f64.to_radians())).abs() < 1e-9);
    let skin = &way.layers[0];
    assert!(
        (skin.entry.tilt.deg() - 30.0).abs() < 1e-9 && (way.off_plumb.deg() - 30.0).abs() < 1e-9
    );
    let apart = skin.exit.at - skin.entry.at;
    assert!((apart.mm().x - 9.0 * libm::tan(30f64.to_radians())).abs() < 1e-9);
    // The bit goes towards +x, so its top leans towards −x.
    assert!(skin.entry.top_leans.is_some_and(|l| l.mm().x < -0.999));
}

#[test]
fn through_a_dome_off_its_crown() {
    // Plumb at 150 off the crown of R 500: leans asin(0.3) from square; the inner radius is
    // met 9.45 mm further down: √(500² − 150²) − √(491² − 150²).
    let near = Ground::Sphere {
        centre: at(0.0, 0.0, 0.0),
        radius: mm(500.0),
    };
    let skin = Layer {
        name: "skin".into(),
        near,
        far: near.parallel(mm(-9.0)),
    };
    let axis = Axis {
        from: at(150.0, 0.0, 700.0),
        along: -UP,
    };
    let Ok(way) = through(axis, &[skin], &[], UP, mm(11.0)) else {
        unreachable!("it is there")
    };
    let want = libm::sqrt(250_000.0 - 22_500.0) - libm::sqrt(241_081.0 - 22_500.0);
    assert!((way.grip.mm() - want).abs() < 1e-9);
    let entry = way.layers[0].entry;
    assert!((libm::sin(entry.tilt.rad()) - 0.3).abs() < 1e-9);
    assert!(
        entry
            .top_leans
            .is_some_and(|l| l.mm().x < 0.0 && l.mm().z > 0.0),
        "top leans in"
    );
}

#[test]
fn a_rigid_motion_changes_no_length_or_lean() {
    let turn = |v: Vector3<Part>| {
        // 120° about (1, 1, 1): x → y → z → x, exact.
        let m = v.mm();
        to(m.z, m.x, m.y)
    };
    let d = to(0.3, 0.2, -1.0);
    let still = through(
        Axis {
            from: at(5.0, 6.0, 90.0),
            along: d,
        },
        &[slab("skin", 0.0, 9.0, UP)],
        &[],
        UP,
        mm(6.0),
    );
    let near = Ground::Plane {
        at: at(0.0, 0.0, 0.0),
        normal: turn(UP),
    };
    let layer = Layer {
        name: "skin".into(),
        near,
        far: near.parallel(mm(-9.0)),
    };
    let moved = through(
        Axis {
            from: at(90.0, 5.0, 6.0),
            along: turn(d),
        },
        &[layer],
        &[],
        turn(UP),
        mm(6.0),
    );
    let (Ok(a), Ok(b)) = (still, moved) else {
        unreachable!("both are there")
    };
    assert!((a.grip.mm() - b.grip.mm()).abs() < 1e-9);
    assert!((a.layers[0].entry.tilt.deg() - b.layers[0].entry.tilt.deg()).abs() < 1e-9);
}

#[test]
fn what_can_not_be_drilled_is_refused_in_words() {
    let drill = |along, keep: &[KeepOut]| {
        through(
            Axis {
                from: at(0.0, 0.0, 100.0),
                along,
            },
            &[slab("the skin", 0.0, 9.0, UP)],
            keep,
            UP,
            mm(11.0),
        )
    };
    assert!(matches!(drill(UP, &[]), Err(ThroughError::Misses { .. })));
    assert!(matches!(
        drill(to(1.0, 0.0, 0.0), &[]),
        Err(ThroughError::Misses { .. })
    ));
    assert!(matches!(
        drill(to(0.0, 0.0, 0.0), &[]),
        Err(ThroughError::NoDirection)
    ));
    let Err(graze) = drill(to(1.0, 0.0, -0.36), &[]) else {
        unreachable!("20 degrees")
    };
    assert!(graze.to_string().contains("20°"), "{graze}");
    // A steel rod 10 mm below the skin, running across 12 mm to the side: 12 − 5.5 = 6.5 mm near.
    let rod = KeepOut {
        from: at(12.0, -300.0, -10.0),
        to: at(12.0, 300.0, -10.0),
        radius: mm(8.0),
        reason: "steel armature".into(),
    };
    let Err(ThroughError::KeepOut { near_mm, .. }) = drill(-UP, core::slice::from_ref(&rod)) else {
        unreachable!("too near")
    };
    assert!((near_mm - 6.5).abs() < 1e-9);
    let Ok(_) = drill(
        -UP,
        &[KeepOut {
            radius: mm(6.0),
            ..rod
        }],
    ) else {
        unreachable!("far enough")
    };
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
    assert_eq!(screw(mm(17.0), mm(2.5), mm(13.5)).map(Length::mm), Ok(35.0));
    assert_eq!(drill_for(mm(150.0)), Some(Drill::Angle));
    assert_eq!(drill_for(mm(90.0)), None);
}
