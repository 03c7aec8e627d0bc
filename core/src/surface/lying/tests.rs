#![allow(clippy::unwrap_used, reason = "tests")]

use super::*;
use crate::surface::{Bulge, Dome, Surface, TwoRadii};
use core::f64::consts::TAU;

fn about(surface: &Surface) -> Development {
    Development::new(surface, Point2::ORIGIN, Vector2::from_mm(0.0, 1.0)).unwrap()
}

fn dome(radius_mm: f64) -> Surface {
    Surface::Dome(Dome::new(Length::from_mm(radius_mm), Bulge::Bulging).unwrap())
}

fn oval(width: f64, height: f64) -> Vec<Point2<Flat>> {
    (0..48)
        .map(|k| f64::from(k) * TAU / 48.0)
        .map(|a| Point2::from_mm(width / 2.0 * libm::cos(a), height / 2.0 * libm::sin(a)))
        .collect()
}

fn on(about: &Development, places: &[(f64, f64)]) -> Vec<Point2<Face>> {
    places
        .iter()
        .map(|&(x, y)| about.face(Point2::from_mm(x, y)).unwrap())
        .collect()
}

const ROOM: DartRoom = DartRoom {
    share: Length::from_mm(0.5),
    bridge: Length::from_mm(5.0),
    about_cross: Length::from_mm(12.0),
};

#[test]
fn crosses_stand_where_the_outline_lands_nearer_than_by_the_polar_map_alone() {
    let about = about(&dome(118.0));
    let outline = oval(62.0, 48.0);
    let marks = on(&about, &[(-44.0, 21.0), (52.0, -7.0), (11.0, 65.0)]);
    let lie = about.lie(&outline, &marks, None).unwrap();
    let faces: Vec<_> = outline.iter().map(|&p| about.face(p).unwrap()).collect();
    let held: Vec<_> = marks
        .iter()
        .map(|&at| crate::surface::Register { at, weight: 1.0 })
        .collect();
    let before = about.landing(&faces, &held).unwrap().worst.mm();
    assert!(before > 0.8, "a check that could not fail: {before}");
    assert!(lie.out_by().mm() < 0.6 * before, "{:?}", lie.out_by());
    assert!(lie.darts.is_empty());
}

#[test]
fn far_crosses_on_a_tight_dome_need_a_dart_between_each_two() {
    let about = about(&dome(118.0));
    let outline = oval(62.0, 48.0);
    let marks = on(&about, &[(-100.0, -50.0), (90.0, -60.0), (11.0, 105.0)]);
    let plain = about.lie(&outline, &marks, None).unwrap();
    let room = DartRoom {
        share: Length::from_mm(0.6),
        ..ROOM
    };
    let lie = about.lie(&outline, &marks, Some(&room)).unwrap();
    assert!(plain.out_by().mm() > 1.0, "{:?}", plain.out_by());
    assert_eq!(lie.darts.len(), 3, "{:?}", lie.darts);
    assert!(lie.out_by() <= room.share, "{:?}", lie.out_by());
    for dart in &lie.darts {
        assert!(dart.angle > Angle::ZERO);
        for &p in &outline {
            assert!(dart.clear_of(p).mm() >= 4.9);
        }
        for &c in &lie.crosses {
            assert!(dart.clear_of(c).mm() > 10.0);
        }
    }
}

/// Shared checks J9: a disc of angular radius 20° wants 7.2666° of it cut away once. Crosses all
/// round take the same in sum, but for the chords between them, which go with their square.
#[test]
fn darts_all_round_take_the_missing_angle_of_the_disc() {
    let r = 300.0;
    let about = about(&dome(r));
    let arc = 20_f64.to_radians() * r;
    let dot = [Point2::from_mm(0.0, 0.0)];
    let bare = DartRoom {
        bridge: Length::from_mm(-1.0),
        about_cross: Length::ZERO,
        ..ROOM
    };
    let total = |n: u32| {
        let ring: Vec<(f64, f64)> = (0..n)
            .map(|k| f64::from(k) * TAU / f64::from(n))
            .map(|a| (arc * libm::cos(a), arc * libm::sin(a)))
            .collect();
        let marks = on(&about, &ring);
        let polar = ring.iter().map(|&(x, y)| Point2::from_mm(x, y)).collect();
        let survey = about.survey(&dot, &marks, polar).unwrap();
        let darts: Vec<Dart> = survey
            .between
            .iter()
            .filter_map(|&(j, k, mm)| {
                survey.in_gap((survey.polar[j], survey.polar[k], mm), &dot, &bare)
            })
            .flatten()
            .collect();
        assert_eq!(darts.len(), usize::try_from(n).unwrap());
        darts.iter().map(|d| d.angle.deg()).sum::<f64>()
    };
    let (few, many) = (total(12), total(22));
    let square = (22.0_f64 / 12.0) * (22.0 / 12.0);
    let limit = many + (many - few) / (square - 1.0);
    assert!((limit / 7.2666 - 1.0).abs() < 2e-3, "{few} {many} {limit}");
}

#[test]
fn a_saddle_is_slit_and_opens() {
    let up = (Length::from_mm(120.0), Bulge::Hollow);
    let across = (Length::from_mm(120.0), Bulge::Bulging);
    let face = Surface::TwoRadii(TwoRadii::new(across, up).unwrap());
    let about = about(&face);
    let outline = oval(40.0, 30.0);
    let marks = on(&about, &[(-75.0, -45.0), (75.0, -45.0), (0.0, 85.0)]);
    let room = DartRoom {
        share: Length::from_mm(0.3),
        ..ROOM
    };
    let lie = about.lie(&outline, &marks, Some(&room)).unwrap();
    assert!(
        !lie.darts.is_empty(),
        "{:?} and {:?}",
        lie.worst,
        lie.crosses_off
    );
    assert!(lie.darts.iter().all(|d| d.angle < Angle::ZERO));
    let plain = about.lie(&outline, &marks, None).unwrap();
    assert!(lie.out_by().mm() < plain.out_by().mm() * 2.0 / 3.0);
}

#[test]
fn what_no_dart_helps_gets_none() {
    // The opening itself is too round: 150 mm on a ball of 112.
    let about = about(&dome(112.0));
    let outline = oval(150.0, 110.0);
    let marks = on(&about, &[(-100.0, -83.0), (100.0, -75.0)]);
    let lie = about.lie(&outline, &marks, Some(&ROOM)).unwrap();
    assert!(lie.darts.is_empty(), "{:?}", lie.darts);
    assert!(lie.out_by().mm() > 3.0);
}
