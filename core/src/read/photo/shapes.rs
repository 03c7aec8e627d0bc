//! From edges to outlines: the middle of a pen line, the edge of what is filled.

use super::PhotoError;
use super::crosses::cross;
use super::follow::Patch;
use kurbo::simplify::{SimplifyOptLevel, SimplifyOptions, simplify_bezpath};
use kurbo::{BezPath, Point};

/// What is smaller both ways is a speck, mm.
const SPECK_MM: f64 = 3.0;
/// A dark band wider than this is filled, not drawn, mm.
const WIDEST_PEN_MM: f64 = 8.0;
/// Longer than this for its width, without a hole, is a line that is not closed…
const LONG: f64 = 10.0;
/// …where a pen may be so wide, mm.
const OPEN_PEN_MM: f64 = 4.0;
/// Places along a line's middle, mm apart.
const APART_MM: f64 = 0.4;
/// Curves keep this near to the middle followed, mm.
const FITTED_MM: f64 = 0.06;
/// A turn sharper than this between places is a corner, radians.
const CORNER_RAD: f64 = 0.6;
/// More shapes than this nobody traces.
const MOST: usize = 200;

/// What was found in a window.
pub(super) struct Shapes {
    /// Closed paths, mm in the window.
    pub(super) outlines: Vec<BezPath>,
    /// Middles of the crosses that stand for marks, mm in the window.
    pub(super) crosses: Vec<Point>,
    pub(super) specks: usize,
}

/// A closed run of places with what is to be known of it.
pub(super) struct Loop {
    pub(super) points: Vec<Point>,
    /// Twice signed, mm²: dark on the left makes an outer edge positive.
    area: f64,
    length: f64,
}

impl Loop {
    fn new(points: Vec<Point>) -> Self {
        let next = points.iter().skip(1).chain(points.first());
        let (area, length) = points.iter().zip(next).fold((0.0, 0.0), |(a, l), (p, q)| {
            (
                a + (p.x * q.y - p.y * q.x) / 2.0,
                l + libm::hypot(q.x - p.x, q.y - p.y),
            )
        });
        Self {
            points,
            area,
            length,
        }
    }

    pub(super) fn size(&self) -> f64 {
        let reach = |by: fn(&Point) -> f64| {
            let (low, high) = self
                .points
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
                    (l.min(by(p)), h.max(by(p)))
                });
            high - low
        };
        reach(|p| p.x).max(reach(|p| p.y))
    }

    /// Whether a place lies inside (the even-odd rule).
    fn holds(&self, p: Point) -> bool {
        let next = self.points.iter().skip(1).chain(self.points.first());
        self.points.iter().zip(next).fold(false, |inside, (a, b)| {
            let crosses =
                (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
            inside != crosses
        })
    }
}

/// The outlines that were traced.
pub(super) fn shapes(patch: &Patch) -> Result<Shapes, PhotoError> {
    let all: Vec<Loop> = patch.edges().into_iter().map(Loop::new).collect();
    let (outer, holes): (Vec<Loop>, Vec<Loop>) = all.into_iter().partition(|l| l.area > 0.0);
    let (outer, specks): (Vec<Loop>, Vec<Loop>) =
        outer.into_iter().partition(|l| l.size() >= SPECK_MM);
    if outer.len() > MOST {
        return Err(PhotoError::TooManyShapes(outer.len()));
    }
    let holes: Vec<Loop> = holes.into_iter().filter(|h| h.size() >= SPECK_MM).collect();
    // A hole belongs to the least outer edge that holds it.
    let mut own: Vec<Vec<&Loop>> = outer.iter().map(|_| Vec::new()).collect();
    for hole in &holes {
        let Some(place) = hole.points.first() else {
            continue;
        };
        let least = outer
            .iter()
            .zip(0_usize..)
            .filter(|(o, _)| o.holds(*place))
            .min_by(|a, b| a.0.area.total_cmp(&b.0.area));
        if let Some(list) = least.and_then(|(_, i)| own.get_mut(i)) {
            list.push(hole);
        }
    }
    let mut outlines = Vec::new();
    let mut crosses = Vec::new();
    for (edge, holes) in outer.iter().zip(&own) {
        if edge.points.iter().any(|p| patch.is_at_edge(*p)) {
            return Err(PhotoError::RunsOut);
        }
        if holes.is_empty()
            && let Some(middle) = cross(edge, 2.0 * edge.area / edge.length.max(1e-9))
        {
            crosses.push(middle);
            continue;
        }
        outlines.extend(shape(edge, holes)?);
    }
    if outlines.is_empty() {
        return Err(PhotoError::Nothing);
    }
    Ok(Shapes {
        outlines,
        crosses,
        specks: specks.len(),
    })
}

fn shape(edge: &Loop, holes: &[&Loop]) -> Result<Vec<BezPath>, PhotoError> {
    let ink = edge.area + holes.iter().map(|h| h.area).sum::<f64>();
    let rim = edge.length + holes.iter().map(|h| h.length).sum::<f64>();
    let width = 2.0 * ink / rim.max(1e-9);
    let largest = holes
        .iter()
        .max_by(|a, b| a.area.abs().total_cmp(&b.area.abs()));
    if let Some(hole) = largest.filter(|_| width < WIDEST_PEN_MM && holes.len() == 1) {
        return Ok(vec![fitted(&middle(edge, hole))]);
    }
    if holes.is_empty() && width < OPEN_PEN_MM && rim / 2.0 > LONG * width {
        let at = edge.points.first().copied().unwrap_or_default();
        return Err(PhotoError::Open {
            right: at.x,
            up: at.y,
        });
    }
    let all = core::iter::once(edge).chain(holes.iter().copied());
    Ok(all.map(|l| fitted(&spaced(&l.points))).collect())
}

/// The middle between the two edges of a line.
fn middle(outside: &Loop, inside: &Loop) -> Vec<Point> {
    let inner = spaced(&inside.points);
    spaced(&outside.points)
        .into_iter()
        .filter_map(|p| {
            let near = inner
                .iter()
                .min_by(|a, b| (**a - p).hypot2().total_cmp(&(**b - p).hypot2()))?;
            Some(p.midpoint(*near))
        })
        .collect()
}

/// Places along a closed run, evenly apart.
fn spaced(points: &[Point]) -> Vec<Point> {
    let mut out = Vec::new();
    let next = points.iter().skip(1).chain(points.first());
    let mut since = APART_MM;
    for (p, q) in points.iter().zip(next) {
        let length = libm::hypot(q.x - p.x, q.y - p.y);
        let mut at = APART_MM - since;
        while at < length {
            out.push(p.lerp(*q, at / length));
            at += APART_MM;
        }
        since = length - (at - APART_MM);
    }
    out
}

/// Curves through places, the shake of single ones taken out: a smooth spline (Catmull and Rom
/// 1974) broken at corners, then as few curves as keep near it.
fn fitted(points: &[Point]) -> BezPath {
    let calm = calmed(&calmed(points));
    let n = calm.len();
    let at = |i: usize| calm.get(i % n.max(1)).copied().unwrap_or_default();
    let turn = |i: usize| {
        let (a, b) = (at(i) - at(i + n - 1), at(i + 1) - at(i));
        libm::atan2(a.cross(b), a.dot(b)).abs()
    };
    // Begun at a corner where there is one: nothing smooth is broken there.
    let first = (0..n).find(|i| turn(*i) > CORNER_RAD).unwrap_or(0);
    // Which way the line runs through a place; along its own side where it is a corner.
    let along = |i: usize, side: kurbo::Vec2| {
        if turn(i) > CORNER_RAD {
            side
        } else {
            (at(i + 1) - at(i + n - 1)) / 2.0
        }
    };
    let mut path = BezPath::new();
    path.move_to(at(first));
    for i in first..first + n {
        let (p, q) = (at(i), at(i + 1));
        let side = q - p;
        path.curve_to(p + along(i, side) / 3.0, q - along(i + 1, side) / 3.0, q);
    }
    path.close_path();
    let options = SimplifyOptions::default()
        .opt_level(SimplifyOptLevel::Subdivide)
        .angle_thresh(libm::tan(CORNER_RAD / 4.0));
    simplify_bezpath(path, FITTED_MM, &options)
}

/// Each place between its neighbours: a quarter, a half, a quarter.
fn calmed(points: &[Point]) -> Vec<Point> {
    let n = points.len();
    (0..n)
        .filter_map(|i| {
            let before = points.get((i + n - 1) % n)?;
            let after = points.get((i + 1) % n)?;
            let here = points.get(i)?;
            Some(here.lerp(before.midpoint(*after), 0.5))
        })
        .collect()
}
