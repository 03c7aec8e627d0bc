//! C on the other side than in the drawing: turned over where distances alone leave that open, refused
//! where another reading tells.

use super::{flat, plain};
use samespot_core::frames::Point2;
use samespot_core::readings::{
    CoordinateAxis, DatumError, Options, Precision, Reading, ReadingKind, Stance, adjust,
    turn_from_readings,
};
use samespot_core::units::Length;

fn mm(x: f64) -> Length {
    Length::from_mm(x)
}

fn read(kind: ReadingKind, value: f64) -> Reading {
    Reading {
        kind,
        value: mm(value),
        precision: Precision::Sd(mm(0.5)),
    }
}

#[test]
fn readings_that_say_the_other_hand_are_not_mirrored() {
    let mut net = flat(
        &[(0., 0., true), (800., 0., true), (400., 300.0, false)],
        &[(0, 2, 500., 0.5), (1, 2, 500., 0.5)],
    );
    net.readings.push(read(
        ReadingKind::Coordinate {
            point: 2,
            axis: CoordinateAxis::V,
        },
        -300.0,
    ));
    net.readings[2].precision = Precision::Sd(mm(0.05));
    net.points[2].start = Point2::from_mm(400., 20.);
    let got = adjust(&net, &Options::default()).unwrap();
    assert!(
        (got.points[2].at.y_mm() + 300.0).abs() < 0.1,
        "below the line"
    );
    assert_eq!(
        got.in_datum(0, 1, Some(2)).unwrap_err(),
        DatumError::OtherHand
    );
}

/// A level and a plumb line say that C hangs below A and B; the drawing has it above. Distances alone
/// would let the whole be turned over, and these would not.
#[test]
fn plumb_lines_that_say_the_other_hand_are_not_mirrored() {
    let level = |from, to| ReadingKind::Level {
        from,
        to,
        stance: 0,
    };
    let distances = [(0, 1, 800., 0.5), (0, 2, 500., 0.5), (1, 2, 500., 0.5)];
    let marks = [(0., 0., false), (800., 0., false), (400., 20., false)];
    let mut net = flat(&marks, &distances);
    net.stances = vec![Stance::default()];
    net.readings.push(read(level(0, 1), 0.0));
    net.readings.push(read(
        ReadingKind::Plumb {
            high: 0,
            low: 1,
            stance: 0,
        },
        800.0,
    ));
    net.readings.push(read(level(0, 2), -300.0));
    net.points[2].start = Point2::from_mm(400., -20.);
    net.stances[0].turn = turn_from_readings(&net, 0);
    let right = plain(&net);
    assert!(right.in_datum(0, 1, Some(2)).is_ok(), "as in the drawing");
    net.points[2].start = Point2::from_mm(400., 20.);
    let got = plain(&net);
    assert!(got.chi_square.is_none_or(|c| !c.too_high), "they fit");
    assert_eq!(
        got.in_datum(0, 1, Some(2)).unwrap_err(),
        DatumError::OtherHand
    );
    // With distances alone it is the same pattern turned over.
    let alone = plain(&flat(&marks, &distances));
    let laid = alone.in_datum(0, 1, Some(2)).unwrap();
    assert!((laid.points[2].at.y_mm() - 300.0).abs() < 0.01);
}
