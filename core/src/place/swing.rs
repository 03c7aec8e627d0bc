//! A point struck by two swings: arcs about two marks, straight or over the surface.
//!
//! Two arcs cross twice, once on either side of the line of their marks, so both crossings are
//! given and the side is left to whoever strikes them. How sure the crossing is follows from the
//! angle the arcs cross at: a small error of either arc runs along the other.

use crate::frames::{Face, Point2, Vector2};
use crate::surface::{DIP_WORTH_ASKING, Distance, MAX_PARAMETERS, Shape, Surface, SurfaceError};
use crate::units::{Angle, Length};
use nalgebra::{DMatrix, Matrix2};

/// Arcs that cross under this angle are warned of: the worst error is over 2.6 times an arc's
/// own (design/10 §1.8, *Two-arc location*).
pub const WARN_UNDER: Angle = Angle::from_deg(45.0);

/// Arcs that cross under this angle are refused: 3.9 times.
pub const REFUSE_UNDER: Angle = Angle::from_deg(30.0);

/// A crossing is found when both arcs are met this closely, mm.
const MET_MM: f64 = 1e-9;

/// At the last digit no step is better; what is this near is met as well as it can be, mm.
const LAST_DIGIT_MM: f64 = 1e-6;

/// Newton's steps at most; from the plane's crossing four or five do.
const MOST_STEPS: usize = 60;

/// How the tape lies from the mark to the arc.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// Pulled straight, or struck with a trammel.
    Straight,
    /// Laid over the surface.
    Over,
}

impl Line {
    /// Straight where nothing stands in the way: on a flat face, in a hollow, and where the line
    /// would dip less than can be seen. Else the tape lies on the face.
    ///
    /// # Errors
    /// A point off the face.
    pub fn clear(
        surface: &Surface,
        from: Point2<Face>,
        to: Point2<Face>,
    ) -> Result<Self, SurfaceError> {
        Ok(if surface.dip(from, to)? <= DIP_WORTH_ASKING {
            Self::Straight
        } else {
            Self::Over
        })
    }

    fn distance(
        self,
        surface: &Surface,
        from: Point2<Face>,
        to: Point2<Face>,
    ) -> Result<Distance, SurfaceError> {
        match self {
            Self::Straight => surface.straight(from, to),
            Self::Over => surface.over_surface(from, to, surface.nearest_turns(from, to)),
        }
    }
}

/// One arc: about a mark, this long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// The mark it is struck from, on the face's chart.
    pub from: Point2<Face>,
    /// How the tape lies.
    pub line: Line,
    /// Its length.
    pub length: Length,
}

impl Swing {
    /// The swing that meets a point.
    ///
    /// # Errors
    /// The mark and the point under 1 mm apart, too far round a dome, over the tip of a cone, or
    /// either of them off the face.
    pub fn to(
        surface: &Surface,
        from: Point2<Face>,
        line: Line,
        to: Point2<Face>,
    ) -> Result<Self, SurfaceError> {
        Ok(Self {
            from,
            line,
            length: Length::from_mm(line.distance(surface, from, to)?.mm),
        })
    }

    fn at(&self, surface: &Surface, p: Point2<Face>) -> Result<Distance, SurfaceError> {
        self.line.distance(surface, self.from, p)
    }
}

/// How good a crossing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quality {
    /// 45° or more.
    Good,
    /// From 30° to 45°: struck with care, or from another mark.
    Shallow,
    /// Under 30°: not to be struck.
    TooShallow,
}

/// Where two swings cross, with how it follows everything it was struck from.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossing {
    /// The place.
    pub at: Point2<Face>,
    /// The angle between the arcs there, 0° to 90°.
    pub angle: Angle,
    /// What that angle is good for.
    pub quality: Quality,
    /// Derivative by the two lengths: rows u, v.
    pub by_length: Matrix2<f64>,
    /// Derivative by (u, v) of the first mark, then of the second: rows u, v.
    pub by_mark: [Matrix2<f64>; 2],
    /// Derivative by each size of the face, mm of (u, v) for one unit of the size.
    pub by_size: [Vector2<Face>; MAX_PARAMETERS],
}

impl Crossing {
    /// Covariance of the crossing on the chart, mm².
    ///
    /// `known` is the covariance of both marks (u, v of the first, u, v of the second), then of
    /// the face's sizes where it has any; rows that are not there count as exact. `sd` is how well
    /// each swing is struck.
    #[must_use]
    pub fn covariance(&self, known: &DMatrix<f64>, sd: [Length; 2]) -> Matrix2<f64> {
        let n = known.nrows().min(4 + MAX_PARAMETERS);
        let j = DMatrix::from_fn(2, n, |r, c| match c {
            0..4 => self.by_mark[c / 2][(r, c % 2)],
            _ if r == 0 => self.by_size[c - 4].x_mm(),
            _ => self.by_size[c - 4].y_mm(),
        });
        let marks = &j * known.view((0, 0), (n, n)) * j.transpose();
        let own = Matrix2::new(sd[0].mm() * sd[0].mm(), 0.0, 0.0, sd[1].mm() * sd[1].mm());
        self.by_length * own * self.by_length.transpose() + Matrix2::from_fn(|r, c| marks[(r, c)])
    }
}

/// Both crossings of two swings, seen on the chart from the first mark to the second.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossings {
    /// To the left of the line of the marks.
    pub left: Option<Crossing>,
    /// To its right.
    pub right: Option<Crossing>,
}

/// Why two swings can't be struck.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SwingError {
    /// The marks are further apart than both arcs together.
    #[error("the two swings end {by_mm:.1} mm short of each other: check both lengths")]
    TooShort {
        /// How much is missing, mm.
        by_mm: f64,
    },
    /// One arc lies inside the other.
    #[error("one swing passes {by_mm:.1} mm inside the other: check both lengths")]
    Inside {
        /// By how much, mm.
        by_mm: f64,
    },
    /// They cross nowhere on this face.
    #[error("these two swings do not cross on this face: strike it from other marks")]
    NoCrossing,
    /// The face refused.
    #[error(transparent)]
    Surface(#[from] SurfaceError),
}

/// Worst error of a crossing over the error of one arc: max(1/sin ½t, 1/cos ½t) (design/10 §1.8).
#[must_use]
pub fn worst_factor(angle: Angle) -> f64 {
    let half = angle.rad() / 2.0;
    (1.0 / libm::sin(half)).max(1.0 / libm::cos(half))
}

/// Where two swings cross: both places, each with its derivatives.
///
/// # Errors
/// [`SwingError`]: what is wrong with the two lengths, or what the face refuses.
pub fn cross(surface: &Surface, swings: [Swing; 2]) -> Result<Crossings, SwingError> {
    let [a, b] = swings;
    // Written beside each other, also where the face goes all the way round.
    let b = Swing {
        from: surface.nearest(b.from, a.from),
        ..b
    };
    if a.line == b.line {
        // Distances of one kind obey the triangle's inequality, so what misses is known exactly.
        let apart_mm = a.line.distance(surface, a.from, b.from)?.mm;
        let short_mm = apart_mm - a.length.mm() - b.length.mm();
        let inside_mm = (a.length.mm() - b.length.mm()).abs() - apart_mm;
        if short_mm > MET_MM {
            return Err(SwingError::TooShort { by_mm: short_mm });
        }
        if inside_mm > MET_MM {
            return Err(SwingError::Inside { by_mm: inside_mm });
        }
    }
    let [left, right] = [1.0, -1.0].map(|side| {
        let at = met(surface, &a, &b, start(&a, &b, side)?)?;
        // What the search found on the wrong side is the other crossing, not this one.
        let across = (b.from - a.from).cross(at - a.from);
        (across * side >= 0.0).then(|| described(surface, &a, &b, at))?
    });
    if left.is_none() && right.is_none() {
        return Err(SwingError::NoCrossing);
    }
    Ok(Crossings { left, right })
}

/// Two of the marks for a point, with the angle their arcs cross at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The first mark, by its number.
    pub first: usize,
    /// The second.
    pub second: usize,
    /// The angle between the arcs, 0° to 90°.
    pub angle: Angle,
    /// What that angle is good for.
    pub quality: Quality,
}

/// All pairs of marks a point can be struck from, the surest first; of equals, the nearer.
///
/// Marks further than `reach` over their own line, and those the face refuses, are left out.
#[must_use]
pub fn pairs(
    surface: &Surface,
    marks: &[Point2<Face>],
    to: Point2<Face>,
    reach: Length,
) -> Vec<Pair> {
    let reached: Vec<_> = marks
        .iter()
        .enumerate()
        .filter_map(|(k, mark)| {
            let mark = surface.nearest(*mark, to);
            let line = Line::clear(surface, mark, to).ok()?;
            let d = line.distance(surface, mark, to).ok()?;
            (d.mm <= reach.mm()).then_some((k, d))
        })
        .collect();
    let mut out = Vec::new();
    for (i, (first, d)) in reached.iter().enumerate() {
        for (second, e) in reached.iter().skip(i + 1) {
            if let Some(angle) = angle_between(surface, to, d, e) {
                let pair = Pair {
                    first: *first,
                    second: *second,
                    angle,
                    quality: quality(angle),
                };
                out.push((pair, d.mm + e.mm));
            }
        }
    }
    out.sort_by(|(p, far_p), (q, far_q)| {
        let to_tenth = |a: Angle| libm::round(a.deg() * 10.0);
        to_tenth(q.angle)
            .total_cmp(&to_tenth(p.angle))
            .then(far_p.total_cmp(far_q))
            .then((p.first, p.second).cmp(&(q.first, q.second)))
    });
    out.into_iter().map(|(pair, _)| pair).collect()
}

fn quality(angle: Angle) -> Quality {
    if angle.rad() < REFUSE_UNDER.rad() {
        Quality::TooShallow
    } else if angle.rad() < WARN_UNDER.rad() {
        Quality::Shallow
    } else {
        Quality::Good
    }
}

/// Arcs cross as their steepest ways do, measured on the face.
fn angle_between(surface: &Surface, at: Point2<Face>, d: &Distance, e: &Distance) -> Option<Angle> {
    let jet = surface.jet(at).ok()?;
    let way = |g: &Distance| jet.space(jet.raise(g.d_to)).unit();
    let (a, b) = (way(d)?, way(e)?);
    Some(Angle::from_rad(libm::atan2(
        a.cross(b).norm().mm(),
        a.dot(b).abs(),
    )))
}

/// The crossing on a plane with the chart's distances, or as near to one as there is.
fn start(a: &Swing, b: &Swing, side: f64) -> Option<Point2<Face>> {
    let base = b.from - a.from;
    let c = base.norm_mm();
    let along = base.unit()?;
    let (ra, rb) = (a.length.mm(), b.length.mm());
    let foot = (ra * ra - rb * rb + c * c) / (2.0 * c);
    // Arcs that miss on the chart may meet on the face: begin off the line of the marks.
    let rise = libm::sqrt((ra * ra - foot * foot).max(0.0025 * c * c));
    Some(a.from + along * foot + along.perp() * (side * rise))
}

/// Newton's method, a step halved while it makes the worse.
fn met(surface: &Surface, a: &Swing, b: &Swing, from: Point2<Face>) -> Option<Point2<Face>> {
    let off = |p: Point2<Face>| {
        let (d, e) = (a.at(surface, p).ok()?, b.at(surface, p).ok()?);
        let miss = Vector2::<Face>::from_mm(d.mm - a.length.mm(), e.mm - b.length.mm());
        Some((miss, d, e))
    };
    let mut p = from;
    let (mut miss, mut d, mut e) = off(p)?;
    for _ in 0..MOST_STEPS {
        if miss.norm_mm() < MET_MM {
            return Some(p);
        }
        let inverse = rows(&d, &e).try_inverse()?;
        let step = Vector2::from_mm(
            -(inverse[(0, 0)] * miss.x_mm() + inverse[(0, 1)] * miss.y_mm()),
            -(inverse[(1, 0)] * miss.x_mm() + inverse[(1, 1)] * miss.y_mm()),
        );
        let mut share = 1.0;
        let next = loop {
            let tried = p + step * share;
            match off(tried) {
                Some(found) if found.0.norm_mm() < miss.norm_mm() => break Some((tried, found)),
                _ if share < 1e-6 => break None,
                _ => share *= 0.5,
            }
        };
        let Some((tried, found)) = next else {
            return (miss.norm_mm() < LAST_DIGIT_MM).then_some(p);
        };
        p = tried;
        (miss, d, e) = found;
    }
    None
}

fn rows(d: &Distance, e: &Distance) -> Matrix2<f64> {
    Matrix2::new(d.d_to.x_mm(), d.d_to.y_mm(), e.d_to.x_mm(), e.d_to.y_mm())
}

/// By the implicit function theorem: what moves an arc moves the crossing by the inverse of how
/// both distances change there.
fn described(surface: &Surface, a: &Swing, b: &Swing, at: Point2<Face>) -> Option<Crossing> {
    let (d, e) = (a.at(surface, at).ok()?, b.at(surface, at).ok()?);
    let angle = angle_between(surface, at, &d, &e)?;
    let by_length = rows(&d, &e).try_inverse()?;
    let zero = Matrix2::zeros();
    let mut by_mark = [zero; 2];
    for (k, moved) in by_mark.iter_mut().enumerate() {
        let way = if k == 0 { d.d_from } else { e.d_from };
        let mut row = zero;
        row[(k, 0)] = way.x_mm();
        row[(k, 1)] = way.y_mm();
        *moved = -(by_length * row);
    }
    let by_size = core::array::from_fn(|s| {
        let (x, y) = (d.d_param[s], e.d_param[s]);
        Vector2::from_mm(
            -(by_length[(0, 0)] * x + by_length[(0, 1)] * y),
            -(by_length[(1, 0)] * x + by_length[(1, 1)] * y),
        )
    });
    Some(Crossing {
        at,
        angle,
        quality: quality(angle),
        by_length,
        by_mark,
        by_size,
    })
}
