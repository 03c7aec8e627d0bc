//! Curves of a drawing as numbers: circles through three points, points along, bounds.

use super::drawing::{Contour, Item, Segment, Shape, Spot};
use kurbo::{Point, Rect};

/// The most a traced polyline leaves its curve: 0.02 mm, the flattening tolerance of outlines.
pub(crate) const TRACE_UM: f64 = 20.0;

/// A circular arc as centre, radius and angles; sweep is positive anticlockwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ArcThrough {
    pub(crate) centre: Point,
    pub(crate) radius: f64,
    pub(crate) from_rad: f64,
    pub(crate) sweep_rad: f64,
}

impl ArcThrough {
    /// The arc from `start` through `via` to `to`; `None` where the three lie on a line.
    pub(crate) fn new(start: Point, via: Point, to: Point) -> Option<Self> {
        let (b, c) = (via - start, to - start);
        let twice_area = 2.0 * b.cross(c);
        // A quarter of a square micrometre of area: flatter than the grid can tell from a line.
        if twice_area.abs() < 0.5 {
            return None;
        }
        let (bb, cc) = (b.dot(b), c.dot(c));
        let centre = Point::new(
            start.x + (c.y * bb - b.y * cc) / twice_area,
            start.y + (b.x * cc - c.x * bb) / twice_area,
        );
        let radius = libm::hypot(start.x - centre.x, start.y - centre.y);
        let angle = |p: Point| libm::atan2(p.y - centre.y, p.x - centre.x);
        let from_rad = angle(start);
        let turn = core::f64::consts::TAU;
        let ahead = |a: f64| {
            let d = a - from_rad;
            d - turn * libm::floor(d / turn)
        };
        let (mid, end) = (ahead(angle(via)), ahead(angle(to)));
        let sweep_rad = if mid <= end { end } else { end - turn };
        Some(Self {
            centre,
            radius,
            from_rad,
            sweep_rad,
        })
    }

    pub(crate) fn at(&self, t: f64) -> Point {
        let a = self.from_rad + self.sweep_rad * t;
        Point::new(
            self.centre.x + self.radius * libm::cos(a),
            self.centre.y + self.radius * libm::sin(a),
        )
    }

    /// Cubic Bézier pieces that stay within half a micrometre of the arc (units as the arc's).
    ///
    /// A piece of 90° misses its circle by 2.73e-4 of the radius and the miss falls with the sixth
    /// power of the angle (Goldapp 1991, *Approximation of circular arcs by cubic polynomials*),
    /// which fixes the number of pieces.
    pub(crate) fn cubics(&self, half_um: f64) -> Vec<[Point; 3]> {
        let share = (half_um / (2.73e-4 * self.radius.max(1e-9))).min(1.0);
        let piece = core::f64::consts::FRAC_PI_2 * libm::pow(share, 1.0 / 6.0);
        let n = libm::ceil(self.sweep_rad.abs() / piece).clamp(1.0, 720.0);
        let step = self.sweep_rad / n;
        let k = 4.0 / 3.0 * libm::tan(step / 4.0) * self.radius;
        let tangent = |a: f64| (-libm::sin(a) * k, libm::cos(a) * k);
        let mut out = Vec::new();
        let mut i = 0.0;
        while i < n {
            let (a, b) = (self.from_rad + step * i, self.from_rad + step * (i + 1.0));
            let (p, q) = (self.at(i / n), self.at((i + 1.0) / n));
            let (ta, tb) = (tangent(a), tangent(b));
            out.push([
                Point::new(p.x + ta.0, p.y + ta.1),
                Point::new(q.x - tb.0, q.y - tb.1),
                q,
            ]);
            i += 1.0;
        }
        out
    }
}

pub(crate) fn point(s: Spot) -> Point {
    Point::new(f64::from(s.x), f64::from(s.y))
}

/// To the nearest whole micrometre, ties away from zero.
pub(crate) fn spot(p: Point) -> Spot {
    let whole = |v: f64| {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "saturates; sheets end 5 m out"
        )]
        let um = libm::round(v) as i32;
        um
    };
    Spot {
        x: whole(p.x),
        y: whole(p.y),
    }
}

/// A point of a cubic.
pub(crate) fn cubic_at(p: [Point; 4], t: f64) -> Point {
    let s = 1.0 - t;
    let (a, b, c, d) = (s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t);
    let [p0, p1, p2, p3] = p;
    Point::new(
        a * p0.x + b * p1.x + c * p2.x + d * p3.x,
        a * p0.y + b * p1.y + c * p2.y + d * p3.y,
    )
}

/// Appends points along a segment after its start, leaving the curve by at most `tolerance`.
pub(crate) fn trace_segment(start: Point, segment: Segment, tolerance: f64, out: &mut Vec<Point>) {
    let steps = |n: f64| libm::ceil(n).clamp(1.0, 2_000.0);
    match segment {
        Segment::Line { to } => out.push(point(to)),
        Segment::Arc { via, to } => match ArcThrough::new(start, point(via), point(to)) {
            None => out.extend([point(via), point(to)]),
            Some(arc) => {
                let each = 2.0 * libm::acos((1.0 - tolerance / arc.radius).clamp(0.0, 1.0));
                let n = steps(arc.sweep_rad.abs() / each.max(1e-3));
                let mut i = 1.0;
                while i < n {
                    out.push(arc.at(i / n));
                    i += 1.0;
                }
                out.push(point(to));
            }
        },
        Segment::Cubic { c1, c2, to } => {
            let p = [start, point(c1), point(c2), point(to)];
            let bend = |a: Point, b: Point, c: Point| {
                libm::hypot(a.x - 2.0 * b.x + c.x, a.y - 2.0 * b.y + c.y)
            };
            // Wang's bound for a cubic (Goldman 2003, *Pyramid Algorithms*, §5.6.3).
            let most = bend(p[0], p[1], p[2]).max(bend(p[1], p[2], p[3]));
            let n = steps(libm::sqrt(0.75 * most / tolerance));
            let mut i = 1.0;
            while i < n {
                out.push(cubic_at(p, i / n));
                i += 1.0;
            }
            out.push(p[3]);
        }
    }
}

/// Points along a contour, its start first.
pub(crate) fn trace(contour: &Contour, tolerance: f64) -> Vec<Point> {
    let mut out = vec![point(contour.start)];
    let mut at = point(contour.start);
    for &segment in &contour.segments {
        trace_segment(at, segment, tolerance, &mut out);
        at = point(segment.to());
    }
    out
}

/// The box round points; `None` for none.
pub(crate) fn bounds_of(points: &[Point]) -> Option<Rect> {
    let first = points.first()?;
    Some(
        points
            .iter()
            .fold(Rect::from_points(*first, *first), |r, p| {
                Rect::new(r.x0.min(p.x), r.y0.min(p.y), r.x1.max(p.x), r.y1.max(p.y))
            }),
    )
}

pub(crate) fn joined(a: Option<Rect>, b: Option<Rect>) -> Option<Rect> {
    match (a, b) {
        (Some(a), Some(b)) => Some(Rect::new(
            a.x0.min(b.x0),
            a.y0.min(b.y0),
            a.x1.max(b.x1),
            a.y1.max(b.y1),
        )),
        (a, b) => a.or(b),
    }
}

/// A box that holds an item of straight lines and curves: that of its points and control points, told
/// without following it. Nothing for what has arcs.
pub(crate) fn holding(item: &Item) -> Option<Rect> {
    let (Shape::Line(contours)
    | Shape::Solid(contours)
    | Shape::Lettering {
        outlines: contours, ..
    }) = &item.shape
    else {
        return None;
    };
    let first = contours.first()?.start;
    let (mut low, mut high) = (first, first);
    let mut take = |s: Spot| {
        low = Spot::new(low.x.min(s.x), low.y.min(s.y));
        high = Spot::new(high.x.max(s.x), high.y.max(s.y));
    };
    for contour in contours {
        take(contour.start);
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => take(to),
                Segment::Cubic { c1, c2, to } => [c1, c2, to].into_iter().for_each(&mut take),
                Segment::Arc { .. } => return None,
            }
        }
    }
    Some(Rect::from_points(point(low), point(high)))
}

/// The box round an item's geometry, without the width of its lines.
pub(crate) fn item_bounds(item: &Item) -> Option<Rect> {
    match &item.shape {
        Shape::Circle { centre, radius } => {
            let (c, r) = (point(*centre), f64::from(*radius));
            Some(Rect::new(c.x - r, c.y - r, c.x + r, c.y + r))
        }
        Shape::Picture(picture) => {
            Some(Rect::from_points(point(picture.low), point(picture.top())))
        }
        Shape::Line(cs) | Shape::Solid(cs) | Shape::Lettering { outlines: cs, .. } => cs
            .iter()
            .map(|c| bounds_of(&trace(c, 5.0)))
            .fold(None, joined),
    }
}
