//! The points at which an error is asked for: close along the outline, and its extremes.

use super::{Outline, contour::here, flatten};
use crate::frames::{Frame, Point2};
use crate::units::Length;
use kurbo::{PathSeg, Point};

/// The eight directions in which an outline's extremes are taken: right, up, left, down and between.
const DIRECTIONS: [(f64, f64); 8] = [
    (1.0, 0.0),
    (1.0, 1.0),
    (0.0, 1.0),
    (-1.0, 1.0),
    (-1.0, 0.0),
    (-1.0, -1.0),
    (0.0, -1.0),
    (1.0, -1.0),
];

impl<F: Frame> Outline<F> {
    /// The points furthest right, up and right, up, … of all contours, eight in this order; none
    /// when there is no contour. The first met wins where several are as far.
    #[must_use]
    pub fn extremes(&self) -> Vec<Point2<F>> {
        DIRECTIONS
            .iter()
            .filter_map(|&dir| {
                let mut best: Option<(f64, Point)> = None;
                for seg in self.contours().iter().flat_map(super::Contour::segments) {
                    let turning = turning_params(&seg, dir).into_iter().flatten();
                    for t in [0.0, 1.0].into_iter().chain(turning) {
                        let p = flatten::at(&seg, t);
                        let reach = p.x * dir.0 + p.y * dir.1;
                        if best.is_none_or(|(far, _)| reach > far + 1e-9) {
                            best = Some((reach, p));
                        }
                    }
                }
                best.map(|(_, p)| here(p))
            })
            .collect()
    }

    /// Points along every contour no further apart than `spacing` and never more than a tenth of it
    /// beside the curve, followed by the eight extremes.
    #[must_use]
    pub fn samples(&self, spacing: Length) -> Vec<Point2<F>> {
        let mut points: Vec<_> = self
            .contours()
            .iter()
            .flat_map(|c| c.dense(spacing * 0.1, spacing))
            .collect();
        points.extend(self.extremes());
        points
    }
}

/// Where inside the segment its progress along `dir` turns back: roots of the derivative in (0, 1).
pub(super) fn turning_params(seg: &PathSeg, dir: (f64, f64)) -> [Option<f64>; 2] {
    let along = |p: Point| p.x * dir.0 + p.y * dir.1;
    let inside = |t: f64| (t > 0.0 && t < 1.0).then_some(t);
    // Derivative as a + b t + c t².
    let (a, b, c) = match *seg {
        PathSeg::Line(_) => return [None, None],
        PathSeg::Quad(q) => {
            let (d0, d1) = (along(q.p1) - along(q.p0), along(q.p2) - along(q.p1));
            (d0, d1 - d0, 0.0)
        }
        PathSeg::Cubic(q) => {
            let d0 = along(q.p1) - along(q.p0);
            let d1 = along(q.p2) - along(q.p1);
            let d2 = along(q.p3) - along(q.p2);
            (d0, 2.0 * (d1 - d0), d0 - 2.0 * d1 + d2)
        }
    };
    let size = a.abs().max(b.abs()).max(c.abs());
    if c.abs() <= 1e-12 * size {
        return [
            if b.abs() > 1e-12 * size {
                inside(-a / b)
            } else {
                None
            },
            None,
        ];
    }
    let under_root = b * b - 4.0 * a * c;
    if under_root < 0.0 {
        return [None, None];
    }
    // The root with no cancellation first, the other from the product of both.
    let q = -0.5 * (b + libm::copysign(libm::sqrt(under_root), b));
    [
        inside(q / c),
        if q.abs() > 0.0 { inside(a / q) } else { None },
    ]
}
