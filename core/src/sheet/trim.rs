//! The trim line: a rounded hull round everything a template needs, one corner cut, perhaps a tail.
//!
//! ```text
//!      ╭───────────╲   corner cut, top right as seen from outside:
//!     ╭             ╲  a template turned over shows it at the left
//!     │   + A        │
//!     │      ( )   + │
//!     ╰──╮       ╭──╯
//!        │ words │     tail, where the words find no room inside
//!        ╰───────╯
//! ```

use super::board::um;
use super::drawing::{Contour, Segment, Spot};
use kurbo::{Point, Rect};

/// How far the trim line runs outside what it encloses.
const ROOM_MM: f64 = 10.0;
/// How far the cut corner stays outside it; the difference to [`ROOM_MM`] is what is cut off.
const CORNER_MM: f64 = 3.0;
/// How far a tail's edges run outside its words.
const TAIL_ROOM_MM: f64 = 6.0;
/// Radius of the tail's corners.
const TAIL_ROUND_MM: f64 = 5.0;

/// How much a trim line is let out, or pulled in (negative), mm: all round, and at the cut corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pull {
    edge: f64,
    corner: f64,
}

impl Pull {
    /// As it runs where there is paper enough.
    pub(super) const NONE: Self = Self {
        edge: 0.0,
        corner: 0.0,
    };
    /// Where paper is short: 6 mm outside of everything, 2.5 at the corner.
    pub(super) const TIGHT: Self = Self {
        edge: -4.0,
        corner: -0.5,
    };

    /// Further in by so much, all round.
    pub(super) fn further_in(self, mm: f64) -> Self {
        Self {
            edge: self.edge - mm,
            corner: self.corner - mm,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Edge {
    Line(Point, Point),
    /// Anticlockwise about a centre; clockwise, round the hole of a dart, where `to` is less.
    Arc {
        centre: Point,
        radius: f64,
        from: f64,
        to: f64,
    },
}

impl Edge {
    fn ends(self) -> (Point, Point) {
        match self {
            Self::Line(a, b) => (a, b),
            Self::Arc {
                centre,
                radius,
                from,
                to,
            } => (on(centre, radius, from), on(centre, radius, to)),
        }
    }
    fn middle(self) -> Point {
        match self {
            Self::Line(a, b) => a.midpoint(b),
            Self::Arc {
                centre,
                radius,
                from,
                to,
            } => on(centre, radius, (from + to) / 2.0),
        }
    }
    /// Split where `value`, linear over the plane, is zero.
    fn split(self, n: (f64, f64), d: f64) -> Vec<Self> {
        let value = |p: Point| n.0 * p.x + n.1 * p.y - d;
        match self {
            Self::Line(a, b) => {
                let (va, vb) = (value(a), value(b));
                if va * vb >= 0.0 {
                    return vec![self];
                }
                let m = a.lerp(b, va / (va - vb));
                vec![Self::Line(a, m), Self::Line(m, b)]
            }
            Self::Arc {
                centre,
                radius,
                from,
                to,
            } => {
                // n·(c + r·e(φ)) = d has its roots either side of the direction of n.
                let reach = libm::hypot(n.0, n.1) * radius;
                let c = -value(centre) / reach;
                if c.abs() >= 1.0 {
                    return vec![self];
                }
                let (towards, half) = (libm::atan2(n.1, n.0), libm::acos(c));
                let turn = core::f64::consts::TAU;
                let mut stops: Vec<f64> = [towards - half, towards + half]
                    .into_iter()
                    .map(|a| from + (a - from) - turn * libm::floor((a - from) / turn))
                    .filter(|a| *a > from + 1e-9 && *a < to - 1e-9)
                    .collect();
                stops.sort_by(f64::total_cmp);
                stops.push(to);
                let mut start = from;
                let mut out = Vec::new();
                for stop in stops {
                    out.push(Self::Arc {
                        centre,
                        radius,
                        from: start,
                        to: stop,
                    });
                    start = stop;
                }
                out
            }
        }
    }
}

fn on(c: Point, r: f64, a: f64) -> Point {
    Point::new(c.x + r * libm::cos(a), c.y + r * libm::sin(a))
}

/// The convex hull of points, anticlockwise (Andrew 1979).
pub(super) fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let chain = |order: &mut dyn Iterator<Item = Point>| {
        let mut out: Vec<Point> = Vec::new();
        for p in order {
            while let [.., a, b] = out.as_slice() {
                if (*b - *a).cross(p - *b) > 1e-9 {
                    break;
                }
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut lower = chain(&mut sorted.iter().copied());
    lower.extend(chain(&mut sorted.iter().rev().copied()));
    if lower.is_empty() {
        sorted.into_iter().take(1).collect()
    } else {
        lower
    }
}

/// Which way a tail grows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TailSide {
    Below,
    Right,
}

/// A tail: a box for words that hangs out of the hull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tail {
    pub(super) side: TailSide,
    pub(super) words: Rect,
}

/// A trim line.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Trim {
    edges: Vec<Edge>,
}

impl Trim {
    /// Round points (mm) and a tail.
    pub(super) fn round(points: &[Point], tail: Option<Tail>, pull: Pull) -> Self {
        let extra = pull.edge;
        let corners = hull(points);
        let radius = ROOM_MM + extra;
        let n = corners.len();
        let mut edges = Vec::new();
        if let [only] = corners.as_slice() {
            let turn = core::f64::consts::TAU;
            edges.push(Edge::Arc {
                centre: *only,
                radius,
                from: 0.0,
                to: turn / 2.0,
            });
            edges.push(Edge::Arc {
                centre: *only,
                radius,
                from: turn / 2.0,
                to: turn,
            });
        }
        let corner = |i: usize| corners.get(i % n.max(1)).copied().unwrap_or_default();
        if n > 1 {
            let outward = |a: Point, b: Point| libm::atan2(-(b.x - a.x), b.y - a.y);
            for i in 0..n {
                let (before, here, after) = (corner(i + n - 1), corner(i), corner(i + 1));
                let from = outward(before, here);
                let mut to = outward(here, after);
                let turn = core::f64::consts::TAU;
                to -= turn * libm::floor((to - from) / turn);
                edges.push(Edge::Arc {
                    centre: here,
                    radius,
                    from,
                    to,
                });
                edges.push(Edge::Line(on(here, radius, to), on(after, radius, to)));
            }
        }
        let slant = core::f64::consts::FRAC_1_SQRT_2;
        let high = tail.map(|t| Point::new(t.words.x1, t.words.y1));
        let reach = points
            .iter()
            .chain(&high)
            .map(|p| (p.x + p.y) * slant)
            .fold(f64::NEG_INFINITY, f64::max);
        let mut trim = Self { edges };
        if let Some(tail) = tail {
            trim = trim.with_tail(tail, extra);
        }
        trim.cut((slant, slant), reach + CORNER_MM + pull.corner);
        trim
    }

    /// Cuts off what lies beyond n·p = d.
    fn cut(&mut self, n: (f64, f64), d: f64) {
        let value = |p: Point| n.0 * p.x + n.1 * p.y - d;
        let split: Vec<Edge> = self.edges.iter().flat_map(|e| e.split(n, d)).collect();
        self.replace(
            &split,
            |e| value(e.middle()) > 0.0,
            |from, to| vec![Edge::Line(from, to)],
        );
    }

    /// Replaces the one run of edges chosen by `goes` with a path between its ends.
    fn replace(
        &mut self,
        split: &[Edge],
        goes: impl Fn(&Edge) -> bool,
        path: impl Fn(Point, Point) -> Vec<Edge>,
    ) {
        let n = split.len();
        let at = |i: usize| split.get(i % n.max(1)).copied();
        let Some(first) = (0..n)
            .find(|&i| at(i).is_some_and(|e| goes(&e)) && at(i + n - 1).is_some_and(|e| !goes(&e)))
        else {
            return;
        };
        let mut edges = Vec::new();
        let mut last = first;
        while at(last).is_some_and(|e| goes(&e)) && last < first + n {
            last += 1;
        }
        if let (Some(a), Some(b)) = (at(first), at(last + n - 1)) {
            edges.extend(path(a.ends().0, b.ends().1));
        }
        edges.extend((last..first + n).filter_map(at));
        self.edges = edges;
    }

    /// Lets a tail grow out that holds a box of words; only where the hull is wide enough.
    fn with_tail(mut self, tail: Tail, extra: f64) -> Self {
        let turns = match tail.side {
            TailSide::Below => 0,
            TailSide::Right => 1,
        };
        // Looked at from its own side every tail hangs down.
        self.edges = self.edges.iter().map(|e| turned(*e, -turns)).collect();
        let a = quarter(Point::new(tail.words.x0, tail.words.y0), -turns);
        let b = quarter(Point::new(tail.words.x1, tail.words.y1), -turns);
        let words = Rect::from_points(a, b).inflate(TAIL_ROOM_MM + extra, TAIL_ROOM_MM + extra);
        let round = TAIL_ROUND_MM + extra.min(0.0);
        let (x0, x1, y0) = (words.x0, words.x1, words.y0);
        let split: Vec<Edge> = self
            .edges
            .iter()
            .flat_map(|e| e.split((1.0, 0.0), x0))
            .flat_map(|e| e.split((1.0, 0.0), x1))
            .collect();
        let half = core::f64::consts::FRAC_PI_2;
        self.replace(
            &split,
            |e| {
                let (m, (p, q)) = (e.middle(), e.ends());
                m.x > x0 && m.x < x1 && q.x > p.x
            },
            |from, to| {
                let p = Point::new;
                vec![
                    Edge::Line(from, p(x0, y0 + round)),
                    Edge::Arc {
                        centre: p(x0 + round, y0 + round),
                        radius: round,
                        from: 2.0 * half,
                        to: 3.0 * half,
                    },
                    Edge::Line(p(x0 + round, y0), p(x1 - round, y0)),
                    Edge::Arc {
                        centre: p(x1 - round, y0 + round),
                        radius: round,
                        from: 3.0 * half,
                        to: 4.0 * half,
                    },
                    Edge::Line(p(x1, y0 + round), to),
                ]
            },
        );
        self.edges = self.edges.iter().map(|e| turned(*e, turns)).collect();
        self
    }

    /// Cuts a wedge out: in along its first edge, round the hole at its tip, out along the second.
    ///
    /// `from` and `to` are the directions of its edges in radians, anticlockwise. The trim must be
    /// convex, the tip inside it.
    pub(super) fn notch(&mut self, tip: Point, (from, to): (f64, f64), hole_mm: f64) {
        let towards = |a: f64| (libm::cos(a), libm::sin(a));
        let square = |(x, y): (f64, f64)| (-y, x);
        let (one, other) = (square(towards(from)), square(towards(to)));
        let beyond = |n: (f64, f64)| move |p: Point| n.0 * (p.x - tip.x) + n.1 * (p.y - tip.y);
        let (past_one, past_other) = (beyond(one), beyond(other));
        let split: Vec<Edge> = self
            .edges
            .iter()
            .flat_map(|e| e.split(one, one.0 * tip.x + one.1 * tip.y))
            .flat_map(|e| e.split(other, other.0 * tip.x + other.1 * tip.y))
            .collect();
        let turn = core::f64::consts::TAU;
        let half = f64::midpoint(from, to - turn);
        let round = |from, to| Edge::Arc {
            centre: tip,
            radius: hole_mm,
            from,
            to,
        };
        self.replace(
            &split,
            |e| past_one(e.middle()) > 0.0 && past_other(e.middle()) < 0.0,
            |a, b| {
                vec![
                    Edge::Line(a, on(tip, hole_mm, from)),
                    round(from, half),
                    round(half, to - turn),
                    Edge::Line(on(tip, hole_mm, to), b),
                ]
            },
        );
    }

    /// As a contour on the grid of whole micrometres.
    pub(super) fn contour(&self) -> Option<Contour> {
        let first = self.edges.first()?.ends().0;
        let start = grid(first);
        let mut segments = Vec::new();
        let mut at = start;
        for edge in &self.edges {
            let to = grid(edge.ends().1);
            if to == at {
                continue;
            }
            segments.push(match edge {
                Edge::Line(..) => Segment::Line { to },
                Edge::Arc { .. } => Segment::Arc {
                    via: grid(edge.middle()),
                    to,
                },
            });
            at = to;
        }
        if at != start {
            segments.push(Segment::Line { to: start });
        }
        Some(Contour {
            start,
            segments,
            closed: true,
        })
    }

    /// Points along it, to 0.5 mm: for finding room, not for drawing.
    pub(super) fn ring(&self) -> Vec<Point> {
        let mut out = Vec::new();
        for edge in &self.edges {
            match *edge {
                Edge::Line(a, _) => out.push(a),
                Edge::Arc {
                    centre,
                    radius,
                    from,
                    to,
                } => {
                    let n = libm::ceil((to - from).abs() / 0.3).max(1.0);
                    let mut i = 0.0;
                    while i < n {
                        out.push(on(centre, radius, from + (to - from) * i / n));
                        i += 1.0;
                    }
                }
            }
        }
        out
    }
}

fn grid(p: Point) -> Spot {
    Spot::new(um(p.x), um(p.y))
}

/// A quarter turn anticlockwise, `turns` times.
fn quarter(p: Point, turns: i32) -> Point {
    match turns.rem_euclid(4) {
        1 => Point::new(-p.y, p.x),
        2 => Point::new(-p.x, -p.y),
        3 => Point::new(p.y, -p.x),
        _ => p,
    }
}

fn turned(e: Edge, turns: i32) -> Edge {
    let by = core::f64::consts::FRAC_PI_2 * f64::from(turns);
    match e {
        Edge::Line(a, b) => Edge::Line(quarter(a, turns), quarter(b, turns)),
        Edge::Arc {
            centre,
            radius,
            from,
            to,
        } => Edge::Arc {
            centre: quarter(centre, turns),
            radius,
            from: from + by,
            to: to + by,
        },
    }
}
