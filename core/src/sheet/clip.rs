//! What of a drawing lies on one sheet.
//!
//! Lines, arcs and curves are split where they leave the window, exactly to the micrometre; the
//! parts on neighbouring sheets together are the whole. Filled shapes are cut as polygons.

use super::drawing::{Contour, Item, Segment, Shape, Spot};
use super::trace::{ArcThrough, TRACE_UM, cubic_at, holding, item_bounds, point, spot, trace};
use kurbo::{Point, Rect};

/// A rectangle of the template in whole µm, its edges belonging to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// Lower left corner.
    pub low: Spot,
    /// Upper right corner.
    pub high: Spot,
}

impl Window {
    pub(crate) fn rect(self) -> Rect {
        Rect::from_points(point(self.low), point(self.high))
    }

    fn holds(self, p: Point) -> bool {
        let r = self.rect();
        p.x >= r.x0 && p.x <= r.x1 && p.y >= r.y0 && p.y <= r.y1
    }

    pub(super) fn holds_rect(self, inner: Rect) -> bool {
        let r = self.rect();
        inner.x0 >= r.x0 && inner.x1 <= r.x1 && inner.y0 >= r.y0 && inner.y1 <= r.y1
    }

    fn misses_rect(self, other: Rect) -> bool {
        let r = self.rect();
        other.x0 > r.x1 || other.x1 < r.x0 || other.y0 > r.y1 || other.y1 < r.y0
    }
}

/// The part of an item inside a window; `None` when nothing of it is.
#[must_use]
pub fn clip_item(item: &Item, window: Window) -> Option<Item> {
    if let Some(holds) = holding(item) {
        if window.misses_rect(holds) {
            return None;
        }
        if window.holds_rect(holds) {
            return Some(item.clone());
        }
    }
    let bounds = item_bounds(item)?;
    if window.misses_rect(bounds) {
        return None;
    }
    if window.holds_rect(bounds) {
        return Some(item.clone());
    }
    let shape = match &item.shape {
        Shape::Line(contours) => Shape::Line(clip_lines(contours, window)?),
        Shape::Circle { centre, radius } => {
            Shape::Line(clip_lines(&[circle(*centre, *radius)], window)?)
        }
        Shape::Solid(contours) => Shape::Solid(clip_fills(contours, window)?),
        Shape::Lettering { text, outlines } => Shape::Lettering {
            text: text.clone(),
            outlines: clip_fills(outlines, window)?,
        },
        Shape::Picture(picture) => Shape::Picture(picture.between(window.low, window.high)?),
    };
    Some(Item {
        shape,
        ..item.clone()
    })
}

fn circle(c: Spot, r: i32) -> Contour {
    let at = |dx: i32, dy: i32| c.shifted(Spot::new(dx, dy));
    Contour {
        start: at(r, 0),
        segments: vec![
            Segment::Arc {
                via: at(0, r),
                to: at(-r, 0),
            },
            Segment::Arc {
                via: at(0, -r),
                to: at(r, 0),
            },
        ],
        closed: true,
    }
}

fn clip_lines(contours: &[Contour], window: Window) -> Option<Vec<Contour>> {
    let parts: Vec<_> = contours
        .iter()
        .flat_map(|c| clip_contour(c, window))
        .collect();
    (!parts.is_empty()).then_some(parts)
}

/// The parts of a contour inside a window, in the order in which it is drawn.
#[must_use]
pub fn clip_contour(contour: &Contour, window: Window) -> Vec<Contour> {
    let mut parts: Vec<Contour> = Vec::new();
    let mut start = contour.start;
    let mut whole = true;
    let mut running = false;
    for &segment in &contour.segments {
        let curve = Curve::new(start, segment);
        let breaks = curve.breaks(window);
        let mut from = 0.0;
        for &to in breaks.iter().chain(core::iter::once(&1.0)) {
            if to - from <= 1e-12 {
                continue;
            }
            if window.holds(curve.at((from + to) / 2.0)) {
                let (first, piece) = curve.part(start, segment, from, to);
                match parts.last_mut().filter(|_| running) {
                    Some(open) => open.segments.push(piece),
                    None => parts.push(Contour {
                        start: first,
                        segments: vec![piece],
                        closed: false,
                    }),
                }
                running = true;
            } else {
                running = false;
                whole = false;
            }
            from = to;
        }
        start = segment.to();
    }
    if contour.closed {
        match parts.as_mut_slice() {
            [only] if whole => only.closed = true,
            [first, .., last] if first.start == contour.start && last.end() == contour.start => {
                last.segments.append(&mut first.segments);
                parts.remove(0);
            }
            _ => {}
        }
    }
    parts
}

/// A segment as something with a parameter.
enum Curve {
    Line(Point, Point),
    Arc(ArcThrough),
    Cubic([Point; 4]),
}

impl Curve {
    fn new(start: Spot, segment: Segment) -> Self {
        let a = point(start);
        match segment {
            Segment::Line { to } => Self::Line(a, point(to)),
            Segment::Arc { via, to } => ArcThrough::new(a, point(via), point(to))
                .map_or(Self::Line(a, point(to)), Self::Arc),
            Segment::Cubic { c1, c2, to } => Self::Cubic([a, point(c1), point(c2), point(to)]),
        }
    }

    fn at(&self, t: f64) -> Point {
        match self {
            Self::Line(a, b) => a.lerp(*b, t),
            Self::Arc(arc) => arc.at(t),
            Self::Cubic(p) => cubic_at(*p, t),
        }
    }

    /// Parameters strictly between 0 and 1 where it crosses an edge line of the window, rising.
    fn breaks(&self, window: Window) -> Vec<f64> {
        let r = window.rect();
        let mut out = Vec::new();
        for (across, edge) in [(true, r.x0), (true, r.x1), (false, r.y0), (false, r.y1)] {
            self.crossings(across, edge, &mut out);
        }
        out.retain(|t| *t > 0.0 && *t < 1.0);
        out.sort_by(f64::total_cmp);
        out
    }

    fn crossings(&self, across: bool, edge: f64, out: &mut Vec<f64>) {
        let pick = |p: Point| if across { p.x } else { p.y };
        match self {
            Self::Line(a, b) => {
                let run = pick(*b) - pick(*a);
                if run.abs() > 0.0 {
                    out.push((edge - pick(*a)) / run);
                }
            }
            Self::Arc(arc) => {
                let c = (edge - pick(arc.centre)) / arc.radius;
                if c.abs() >= 1.0 {
                    return;
                }
                let turn = core::f64::consts::TAU;
                let angles = if across {
                    let a = libm::acos(c);
                    [a, -a]
                } else {
                    let a = libm::asin(c);
                    [a, core::f64::consts::PI - a]
                };
                for angle in angles {
                    let ahead = (angle - arc.from_rad) * arc.sweep_rad.signum();
                    let ahead = ahead - turn * libm::floor(ahead / turn);
                    out.push(ahead / arc.sweep_rad.abs());
                }
            }
            Self::Cubic(p) => {
                // Between the turning points of the coordinate it runs one way only: bisect there.
                let [a, b, c, d] = [pick(p[0]), pick(p[1]), pick(p[2]), pick(p[3])];
                let mut stops = vec![0.0];
                stops.extend(turning_points(b - a, c - b, d - c));
                stops.push(1.0);
                let value = |t: f64| pick(cubic_at(*p, t)) - edge;
                for pair in stops.windows(2) {
                    if let &[lo, hi] = pair
                        && value(lo) * value(hi) < 0.0
                    {
                        out.push(bisect(&value, lo, hi));
                    }
                }
            }
        }
    }

    /// The part between two parameters as a start and a segment; the ends of the whole stay the
    /// spots they were.
    fn part(&self, start: Spot, segment: Segment, from: f64, to: f64) -> (Spot, Segment) {
        if from <= 0.0 && to >= 1.0 {
            return (start, segment);
        }
        let first = if from <= 0.0 {
            start
        } else {
            spot(self.at(from))
        };
        let last = if to >= 1.0 {
            segment.to()
        } else {
            spot(self.at(to))
        };
        let piece = match self {
            Self::Line(..) => Segment::Line { to: last },
            Self::Arc(arc) => Segment::Arc {
                via: spot(arc.at((from + to) / 2.0)),
                to: last,
            },
            Self::Cubic(p) => {
                let [_, c1, c2, _] = sub_cubic(*p, from, to);
                Segment::Cubic {
                    c1: spot(c1),
                    c2: spot(c2),
                    to: last,
                }
            }
        };
        (first, piece)
    }
}

/// Where a·(1−t)² + 2b·t(1−t) + c·t² vanishes inside (0, 1), rising.
fn turning_points(a: f64, b: f64, c: f64) -> Vec<f64> {
    let (q, half, k) = (a - 2.0 * b + c, b - a, a);
    let mut roots = Vec::new();
    if q.abs() < 1e-9 {
        if half.abs() > 0.0 {
            roots.push(-k / (2.0 * half));
        }
    } else {
        let disc = half * half - q * k;
        if disc >= 0.0 {
            let root = libm::sqrt(disc);
            roots.push((-half - root) / q);
            roots.push((-half + root) / q);
        }
    }
    roots.retain(|t| *t > 0.0 && *t < 1.0);
    roots.sort_by(f64::total_cmp);
    roots
}

/// 60 halvings take a parameter of order one below the spacing of f64.
fn bisect(value: &impl Fn(f64) -> f64, mut lo: f64, mut hi: f64) -> f64 {
    let rising = value(lo) < 0.0;
    for _ in 0..60 {
        let mid = (lo + hi) / 2.0;
        if (value(mid) < 0.0) == rising {
            lo = mid
        } else {
            hi = mid
        }
    }
    (lo + hi) / 2.0
}

/// The part of a cubic between two parameters, by blossoming (de Casteljau).
fn sub_cubic(p: [Point; 4], from: f64, to: f64) -> [Point; 4] {
    let blossom = |r: f64, s: f64, t: f64| {
        let [p0, p1, p2, p3] = p;
        let (a, b, c) = (p0.lerp(p1, r), p1.lerp(p2, r), p2.lerp(p3, r));
        let (d, e) = (a.lerp(b, s), b.lerp(c, s));
        d.lerp(e, t)
    };
    [
        blossom(from, from, from),
        blossom(from, from, to),
        blossom(from, to, to),
        blossom(to, to, to),
    ]
}

/// Filled contours cut by a window (Sutherland and Hodgman 1974), traced to 0.02 mm.
fn clip_fills(contours: &[Contour], window: Window) -> Option<Vec<Contour>> {
    let r = window.rect();
    let cut: Vec<Contour> = contours
        .iter()
        .filter_map(|c| {
            let mut ring = trace(c, TRACE_UM);
            ring = keep(&ring, |p| p.x - r.x0);
            ring = keep(&ring, |p| r.x1 - p.x);
            ring = keep(&ring, |p| p.y - r.y0);
            ring = keep(&ring, |p| r.y1 - p.y);
            let start = spot(*ring.first()?);
            let mut segments: Vec<_> = Vec::new();
            let mut at = start;
            for p in ring.iter().skip(1) {
                let to = spot(*p);
                if to != at {
                    segments.push(Segment::Line { to });
                    at = to;
                }
            }
            (segments.len() > 1).then_some(Contour {
                start,
                segments,
                closed: true,
            })
        })
        .collect();
    (!cut.is_empty()).then_some(cut)
}

fn keep(ring: &[Point], inside: impl Fn(Point) -> f64) -> Vec<Point> {
    let mut out = Vec::with_capacity(ring.len() + 4);
    let Some(mut before) = ring.last().copied() else {
        return out;
    };
    for &p in ring {
        let (was, is) = (inside(before), inside(p));
        if (was < 0.0) != (is < 0.0) {
            out.push(before.lerp(p, was / (was - is)));
        }
        if is >= 0.0 {
            out.push(p);
        }
        before = p;
    }
    out
}
