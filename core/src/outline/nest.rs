//! Which contours lie in which: islands, holes, islands in holes.

use super::{Bounds, FLATTENING, Outline};
use crate::frames::{Frame, Point2};

/// Where one contour lies among the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Nest {
    /// How many contours lie around it; odd for a hole.
    pub depth: usize,
    /// The smallest contour around it, counted from 0.
    pub inside: Option<usize>,
}

impl Nest {
    /// It bounds a hole in the contour around it.
    #[must_use]
    pub const fn is_hole(self) -> bool {
        self.depth % 2 == 1
    }
}

/// As many vertices as are asked whether they lie inside; most of them decide, so that one that
/// touches does not.
const ASKED: usize = 9;

impl<F: Frame> Outline<F> {
    /// For every contour in order, how it lies in the others. Open contours lie in others but hold
    /// none. Holds for contours that do not cross.
    #[must_use]
    pub fn nesting(&self) -> Vec<Nest> {
        let shapes: Vec<(Bounds<F>, Vec<Point2<F>>, f64)> = self
            .contours()
            .iter()
            .map(|c| {
                (
                    c.bounds(),
                    c.polyline(FLATTENING),
                    c.signed_area_mm2().abs(),
                )
            })
            .collect();
        let mut order: Vec<usize> = (0..shapes.len()).collect();
        let key = |i: usize| shapes.get(i).map_or((0.0, 0.0), |s| (s.0.min.x_mm(), -s.2));
        // From left to right, the larger first where two begin together: what holds a contour has
        // then been met before it.
        order.sort_by(|&i, &j| {
            let ((x, a), (y, b)) = (key(i), key(j));
            x.total_cmp(&y).then(a.total_cmp(&b)).then(i.cmp(&j))
        });
        let mut nests = vec![
            Nest {
                depth: 0,
                inside: None
            };
            shapes.len()
        ];
        let mut open: Vec<usize> = Vec::new();
        for &i in &order {
            let Some((bounds, points, area)) = shapes.get(i) else {
                continue;
            };
            open.retain(|&j| {
                shapes
                    .get(j)
                    .is_some_and(|s| s.0.max.x_mm() >= bounds.min.x_mm())
            });
            let mut smallest = f64::INFINITY;
            for &j in &open {
                let Some((around, ring, ring_area)) = shapes.get(j) else {
                    continue;
                };
                if around.holds(*bounds) && ring_area > area && mostly_inside(ring, points) {
                    let Some(nest) = nests.get_mut(i) else {
                        continue;
                    };
                    nest.depth += 1;
                    if *ring_area < smallest {
                        smallest = *ring_area;
                        nest.inside = Some(j);
                    }
                }
            }
            if self
                .contours()
                .get(i)
                .is_some_and(super::Contour::is_closed)
            {
                open.push(i);
            }
        }
        nests
    }
}

impl<F: Frame> Outline<F> {
    /// A point lies in the area this outline bounds: islands in it are none of it. Open lines bound
    /// nothing.
    #[must_use]
    pub fn encloses(&self, p: Point2<F>) -> bool {
        let closed = self.contours().iter().filter(|c| c.is_closed());
        let rings = closed.filter(|c| winding(&c.polyline(super::FLATTENING), p) != 0);
        rings.count() % 2 == 1
    }
}

fn mostly_inside<F: Frame>(ring: &[Point2<F>], points: &[Point2<F>]) -> bool {
    let step = points.len().div_ceil(ASKED).max(1);
    let asked = points.iter().step_by(step);
    let (inside, all) = asked.fold((0_usize, 0_usize), |(inside, all), p| {
        (inside + usize::from(winding(ring, *p) != 0), all + 1)
    });
    2 * inside > all
}

/// How often a ring runs round a point, anticlockwise counted positive (Sunday, *Inclusion of a
/// point in a polygon*, 2001: crossings of the ray to the right, up and down).
pub(super) fn winding<F: Frame>(ring: &[Point2<F>], p: Point2<F>) -> i32 {
    let Some(mut a) = ring.last() else {
        return 0;
    };
    let mut turns = 0;
    let mut below = a.y_mm() <= p.y_mm();
    for b in ring {
        let then_below = b.y_mm() <= p.y_mm();
        // Most sides do not pass the height of the point: which side of them it is on is not asked.
        if below != then_below {
            let side = (*b - *a).cross(p - *a);
            turns += i32::from(below && side > 0.0) - i32::from(then_below && side < 0.0);
        }
        (a, below) = (b, then_below);
    }
    turns
}
