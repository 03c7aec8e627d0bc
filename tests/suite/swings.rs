//! A point struck by two swings, against figures of others and against its own differences.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use nalgebra::{DMatrix, Matrix2};
use samespot_core::frames::{Face, Point2};
use samespot_core::place::swing::{Line, Quality, Swing, SwingError, cross, pairs, worst_factor};
use samespot_core::surface::{Axis, Bulge, Cylinder, Dome, FlatFace, Shape, Surface};
use samespot_core::units::{Angle, Length};

fn at(u: f64, v: f64) -> Point2<Face> {
    Point2::from_mm(u, v)
}

fn mm(x: f64) -> Length {
    Length::from_mm(x)
}

fn swing(u: f64, v: f64, length: f64) -> Swing {
    Swing {
        from: at(u, v),
        line: Line::Straight,
        length: mm(length),
    }
}

const FLAT: Surface = Surface::Flat(FlatFace);

fn faces() -> Vec<Surface> {
    vec![
        FLAT,
        Surface::Cylinder(Cylinder::new(mm(290.0), Axis::Up, Bulge::Bulging).unwrap()),
        Surface::Cylinder(Cylinder::new(mm(290.0), Axis::Up, Bulge::Hollow).unwrap()),
        Surface::Dome(Dome::new(mm(210.0), Bulge::Bulging).unwrap()),
    ]
}

#[track_caller]
fn near(a: Point2<Face>, b: Point2<Face>, by: f64) {
    assert!(a.distance(b).mm() < by, "{a:?} {b:?}");
}

#[test]
fn three_four_five_crosses_square_on_both_sides() {
    // Euclid, Elements I.47: 300² + 400² = 500². The height is 300·400/500, its foot 300²/500.
    let both = cross(&FLAT, [swing(0.0, 0.0, 300.0), swing(500.0, 0.0, 400.0)]).unwrap();
    let (left, right) = (both.left.unwrap(), both.right.unwrap());
    near(left.at, at(180.0, 240.0), 1e-6);
    near(right.at, at(180.0, -240.0), 1e-6);
    assert!((left.angle.deg() - 90.0).abs() < 1e-9);
    assert_eq!(left.quality, Quality::Good);
    // Square arcs from exact marks: each error stands alone, so a round region of the same size.
    let own = left.covariance(&DMatrix::zeros(4, 4), [mm(0.7), mm(0.7)]);
    assert!((own - Matrix2::identity() * 0.49).norm() < 1e-9, "{own}");
}

#[test]
fn legs_of_a_right_angle_on_a_dome_meet_at_it() {
    // Spherical law of cosines with a right angle at C (Napier 1614): cos c = cos a · cos b. Legs of
    // an eighth girth from the chart's origin: cos c = ½, so the marks stand 60° apart.
    let r = 210.0;
    let dome = Surface::Dome(Dome::new(mm(r), Bulge::Bulging).unwrap());
    let quarter = r * core::f64::consts::FRAC_PI_2;
    let over = |u, v, length| Swing {
        from: at(u, v),
        line: Line::Over,
        length: mm(length),
    };
    let (a, b) = (quarter / 2.0, quarter / 2.0);
    let both = cross(&dome, [over(a, 0.0, a), over(0.0, b, b)]).unwrap();
    let found = [both.left, both.right].into_iter().flatten();
    let origin = found
        .filter(|c| c.at.distance(at(0.0, 0.0)).mm() < 1e-6)
        .count();
    assert_eq!(origin, 1);
    let apart = dome.over_surface(at(a, 0.0), at(0.0, b), 0).unwrap().mm;
    assert!((apart - r * core::f64::consts::FRAC_PI_3).abs() < 1e-9);
    let short = cross(&dome, [over(a, 0.0, 100.0), over(0.0, b, 100.0)]);
    let SwingError::TooShort { by_mm } = short.unwrap_err() else {
        unreachable!("they end short of each other")
    };
    assert!((by_mm - (apart - 200.0)).abs() < 1e-9);
}

#[test]
fn the_worst_error_is_the_handbooks() {
    // design/10 §1.8, two-arc location: 90° 1.4, 60° and 120° 2.0, 45° 2.6, 30° and 150° 3.9,
    // 20° 5.8.
    for (deg, factor) in [
        (90.0, 1.4),
        (60.0, 2.0),
        (120.0, 2.0),
        (45.0, 2.6),
        (30.0, 3.9),
        (150.0, 3.9),
        (20.0, 5.8),
    ] {
        let got = worst_factor(Angle::from_deg(deg));
        assert!((got - factor).abs() < 0.05, "{deg}: {got}");
    }
}

#[test]
fn a_point_on_any_face_is_struck_again_from_any_two_marks() {
    let marks = [at(-120.0, -90.0), at(130.0, -80.0), at(20.0, 140.0)];
    let point = at(15.0, 25.0);
    for face in faces() {
        for (i, j) in [(0, 1), (1, 2), (2, 0)] {
            for lines in [
                [Line::Straight; 2],
                [Line::Over; 2],
                [Line::Straight, Line::Over],
            ] {
                let swings = [
                    Swing::to(&face, marks[i], lines[0], point).unwrap(),
                    Swing::to(&face, marks[j], lines[1], point).unwrap(),
                ];
                let both = cross(&face, swings).unwrap();
                let found = [both.left, both.right];
                let again = found
                    .iter()
                    .flatten()
                    .find(|c| c.at.distance(point).mm() < 1e-6);
                assert!(again.is_some(), "{face:?} {i} {j} {lines:?}: {found:?}");
                for other in found.iter().flatten() {
                    for s in swings {
                        let back = Swing::to(&face, s.from, s.line, other.at).unwrap();
                        assert!((back.length.mm() - s.length.mm()).abs() < 1e-6);
                    }
                }
            }
        }
    }
}

#[test]
fn a_crossing_follows_its_marks_lengths_and_sizes_as_differences_say() {
    let point = at(15.0, 25.0);
    let marks = [at(-120.0, -90.0), at(130.0, -80.0)];
    let step = 1e-3;
    for face in faces() {
        let swings = marks.map(|m| Swing::to(&face, m, Line::Over, point).unwrap());
        let of = |face: &Surface, swings| cross(face, swings).unwrap().left.unwrap();
        let here = of(&face, swings);
        let differs = |up: Point2<Face>, down: Point2<Face>| {
            let d = (up - down) * (0.5 / step);
            [d.x_mm(), d.y_mm()]
        };
        let close = |got: [f64; 2], want: [f64; 2], what: &str| {
            assert!(
                (got[0] - want[0]).abs() < 1e-5 && (got[1] - want[1]).abs() < 1e-5,
                "{face:?} {what}: {got:?} {want:?}"
            );
        };
        for k in 0..2 {
            let longer = |by: f64| {
                let mut s = swings;
                s[k].length += mm(by);
                of(&face, s).at
            };
            let column = here.by_length.column(k);
            close(
                [column[0], column[1]],
                differs(longer(step), longer(-step)),
                "length",
            );
            for c in 0..2 {
                let moved = |by: f64| {
                    let mut s = swings;
                    let by = if c == 0 { at(by, 0.0) } else { at(0.0, by) };
                    s[k].from = s[k].from + by.from_origin();
                    of(&face, s).at
                };
                let column = here.by_mark[k].column(c);
                close(
                    [column[0], column[1]],
                    differs(moved(step), moved(-step)),
                    "mark",
                );
            }
        }
        for k in 0..face.parameters().len() {
            let sized = |by: f64| {
                let mut values = face.values();
                values[k] += by;
                of(&face.with_values(&values).unwrap(), swings).at
            };
            let by = here.by_size[k];
            close(
                [by.x_mm(), by.y_mm()],
                differs(sized(step), sized(-step)),
                "size",
            );
        }
    }
}

#[test]
fn marks_are_chosen_by_their_angle_and_shallow_ones_named() {
    // A point straight over A: B to the side crosses square, C just beside A crosses shallow.
    let marks = [
        at(0.0, 0.0),
        at(300.0, 300.0),
        at(60.0, 0.0),
        at(180.0, 0.0),
        at(0.0, 5000.0),
    ];
    let got = pairs(&FLAT, &marks, at(0.0, 300.0), mm(1000.0));
    assert_eq!((got[0].first, got[0].second), (0, 1));
    assert!((got[0].angle.deg() - 90.0).abs() < 1e-9);
    assert!(got.iter().all(|p| p.second != 4), "out of reach");
    let of = |i, j| got.iter().find(|p| (p.first, p.second) == (i, j)).unwrap();
    // atan(60/300) = 11.3°, atan(180/300) = 31.0°.
    assert_eq!(of(0, 2).quality, Quality::TooShallow);
    assert_eq!(of(0, 3).quality, Quality::Shallow);
    assert!((of(0, 3).angle.deg() - 30.963_756_5).abs() < 1e-6);
}

#[test]
fn what_can_not_meet_says_by_how_much() {
    let short = cross(&FLAT, [swing(0.0, 0.0, 100.0), swing(500.0, 0.0, 300.0)]).unwrap_err();
    assert_eq!(
        short.to_string(),
        "the two swings end 100.0 mm short of each other: check both lengths"
    );
    let inside = cross(&FLAT, [swing(0.0, 0.0, 100.0), swing(50.0, 0.0, 300.0)]).unwrap_err();
    assert!(matches!(inside, SwingError::Inside { by_mm } if (by_mm - 150.0).abs() < 1e-9));
    let same = cross(&FLAT, [swing(0.0, 0.0, 100.0), swing(0.0, 0.0, 100.0)]);
    assert!(matches!(same, Err(SwingError::Surface(_))));
}

#[test]
fn the_tape_lies_straight_only_where_the_line_is_clear() {
    let (a, b) = (at(-100.0, 0.0), at(100.0, 0.0));
    let lines: Vec<_> = faces()
        .iter()
        .map(|f| Line::clear(f, a, b).unwrap())
        .collect();
    assert_eq!(
        lines,
        [Line::Straight, Line::Over, Line::Straight, Line::Over]
    );
}
