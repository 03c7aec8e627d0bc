//! Motions that readings see, but too badly to be let decide: held where the marks start. What is held is
//! known exactly there, and nothing is known better than exactly.

use nalgebra::{DMatrix, SymmetricEigen};
use proptest::prelude::*;
use samespot_core::frames::Point2;
use samespot_core::readings::{
    Adjusted, Held, Network, Options, PointStart, Precision, Reading, ReadingKind, adjust,
};
use samespot_core::surface::{Axis, Bulge, Cylinder, Shape, Surface, TwoRadii};
use samespot_core::units::Length;

fn mm(x: f64) -> Length {
    Length::from_mm(x)
}

/// Faces on which some motion is a near one: nearly a ball, or a cylinder under chords.
fn face(kind: u8, radius: f64, more: f64) -> Surface {
    match kind {
        0 => {
            let way = |r: f64| (mm(r), Bulge::Bulging);
            Surface::TwoRadii(TwoRadii::new(way(radius), way(radius * more)).unwrap())
        }
        1 => Surface::Cylinder(Cylinder::new(mm(radius), Axis::Up, Bulge::Bulging).unwrap()),
        _ => Surface::Cylinder(Cylinder::new(mm(radius), Axis::Across, Bulge::Hollow).unwrap()),
    }
}

/// Every distance between marks, straight or laid over, off by what a tape is off by.
fn strewn(
    surface: &Surface,
    marks: &[(f64, f64)],
    off: &[f64],
    (spread, weak): (Option<f64>, Option<f64>),
) -> Adjusted {
    let mut net = Network::on(surface.clone());
    net.points = (marks.iter())
        .map(|&(x, y)| PointStart {
            start: Point2::from_mm(x, y),
            held: Held::Free,
        })
        .collect();
    let mut off = off.iter();
    for to in 0..marks.len() {
        for from in 0..to {
            let (a, b) = (net.points[from].start, net.points[to].start);
            let straight = matches!(surface, Surface::Cylinder(_));
            let (kind, far) = if straight {
                let far = surface.straight(a, b).unwrap().mm;
                (ReadingKind::Straight { from, to }, far)
            } else {
                let far = surface.over_surface(a, b, 0).unwrap().mm;
                (ReadingKind::Over { from, to, turns: 0 }, far)
            };
            net.readings.push(Reading {
                kind,
                value: mm(far + off.next().unwrap()),
                precision: Precision::Sd(mm(0.5)),
            });
        }
    }
    let options = Options {
        drawing_spread: spread.map(mm),
        weak_motion: weak.map(mm),
        ..Options::default()
    };
    adjust(&net, &options).unwrap()
}

/// Least and greatest eigenvalue of the covariance of all marks, by an eigensolver that is not ours.
fn eigenvalues(got: &Adjusted) -> (f64, f64) {
    let all: Vec<usize> = (0..got.points.len()).collect();
    let c = got.covariance(&all);
    let n = 2 * all.len();
    let values = SymmetricEigen::new(DMatrix::from_fn(n, n, |i, j| c.get(i, j))).eigenvalues;
    (values.min(), values.max())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn nothing_is_known_better_than_exactly(
        kind in 0_u8..3,
        radius in 150.0..600.0_f64,
        more in 1.0005..1.3_f64,
        marks in proptest::collection::vec((-25.0..25.0_f64, -25.0..25.0_f64), 5),
        off in proptest::collection::vec(-0.5..0.5_f64, 10),
        by_drawing in any::<bool>(),
    ) {
        // Strewn about the corners and the middle, so that no two fall together.
        let about = [(-80.0, -60.0), (85.0, -55.0), (70.0, 75.0), (-75.0, 65.0), (0.0, 5.0)];
        let marks: Vec<_> = (marks.iter().zip(about))
            .map(|((x, y), (u, v))| (x + u, y + v))
            .collect();
        let got = strewn(&face(kind, radius, more), &marks, &off, (by_drawing.then_some(2.0), Some(50.0)));
        let (least, most) = eigenvalues(&got);
        prop_assert!(least >= -1e-12 * most, "{least} of {most}, {:?}", got.motions);
    }
}

/// The strewn jobs above do hold motions that readings see: without them they could not fail. On two
/// radii only the turn about the axis is one that none sees; what is left is seen, and badly.
#[test]
fn a_motion_seen_badly_is_held() {
    let marks = [
        (-80.0, -60.0),
        (85.0, -55.0),
        (70.0, 75.0),
        (-75.0, 65.0),
        (0.0, 5.0),
    ];
    let motions = |weak| {
        let got = strewn(&face(0, 300.0, 1.3), &marks, &[0.0; 10], (None, weak));
        got.motions.len()
    };
    assert_eq!((motions(None), motions(Some(50.0))), (1, 3));
}
