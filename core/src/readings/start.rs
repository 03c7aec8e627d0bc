//! Start values: from readings alone, and others to try where the first did not lead to a fit.

use super::layout::Layout;
use super::network::{Network, ReadingKind};
use crate::frames::{Face, Point2, Vector2};
use crate::num::arcs::{Crossing, two_arcs};
use crate::units::Length;

/// Which side of the line from the first mark to the second, seen from outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Left of the line.
    Left,
    /// Right of the line.
    Right,
}

/// Why marks can't be placed from readings alone.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum StartError {
    /// Two arcs miss each other: a reading is wrong.
    #[error("the arcs for mark {mark} about marks {about:?} miss each other by {by_mm:.1} mm")]
    ArcsMiss {
        /// The mark to be placed.
        mark: usize,
        /// The marks they are struck from.
        about: (usize, usize),
        /// By how much, mm.
        by_mm: f64,
    },
    /// A mark with fewer than two distances to marks already placed.
    #[error("mark {mark} needs two distances to marks already placed")]
    TooFew {
        /// The mark.
        mark: usize,
    },
    /// Two places are possible and nothing says which.
    #[error("mark {mark} may lie on either side: say which")]
    EitherSide {
        /// The mark.
        mark: usize,
    },
    /// A distance that names no mark or is not more than zero.
    #[error("distance {index} can't be used")]
    Unusable {
        /// Its place in the list.
        index: usize,
    },
}

/// Arcs that fail to reach each other by less than this are taken to touch: rounding of a tape
/// read to the millimetre, at both.
const TOUCHING_MM: f64 = 2.0;

/// Places marks from distances alone: mark 0 at the origin, the first mark with a distance to it
/// along u, the rest by two arcs, on the side asked for (or the side a third distance tells).
///
/// On a curved face the distances are laid out flat: good enough to start from.
///
/// # Errors
/// [`StartError`]: arcs that miss, too few distances, or a side nobody gave.
pub fn start_from_readings(
    sides: &[Option<Side>],
    distances: &[(usize, usize, Length)],
) -> Result<Vec<Point2<Face>>, StartError> {
    start_about(&vec![None; sides.len()], sides, distances)
}

/// The same about places that are known: these stay where they are, on the side where they are, and
/// only the others are struck from them.
///
/// Fewer than two known places say nothing of how the others lie, and are not looked at.
///
/// # Errors
/// As [`start_from_readings`].
pub fn start_about(
    known: &[Option<Point2<Face>>],
    sides: &[Option<Side>],
    distances: &[(usize, usize, Length)],
) -> Result<Vec<Point2<Face>>, StartError> {
    for (index, (a, b, d)) in distances.iter().enumerate() {
        if *a >= sides.len() || *b >= sides.len() || a == b || d.mm() <= 0.0 {
            return Err(StartError::Unusable { index });
        }
    }
    let known_at = |k: usize| known.get(k).copied().flatten();
    let to_first = |k: &usize| {
        let both_known = known_at(0).is_some() && known_at(*k).is_some();
        let read = |(a, b, _): &(usize, usize, Length)| [(0, *k), (*k, 0)].contains(&(*a, *b));
        both_known || distances.iter().any(read)
    };
    let second = (1..sides.len()).find(to_first);
    let mut placed: Vec<Option<Point2<Face>>> = (0..sides.len()).map(known_at).collect();
    if placed.iter().flatten().count() < 2 {
        placed.fill(None);
        let Some(first) = placed.first_mut() else {
            return Ok(Vec::new());
        };
        *first = Some(Point2::ORIGIN);
        let far = distances
            .iter()
            .find(|(a, b, _)| a.min(b) == &0 && Some(*a.max(b)) == second);
        if let (Some(second), Some((_, _, d))) = (second, far) {
            placed[second] = Some(Point2::from_mm(d.mm(), 0.0));
        }
    }
    loop {
        let mut next: Option<(f64, usize, Swing, Swing)> = None;
        let mut waiting = None;
        for mark in 0..sides.len() {
            if placed[mark].is_some() {
                continue;
            }
            waiting = waiting.or(Some(mark));
            let known = known_distances(mark, distances, &placed);
            for (i, p) in known.iter().enumerate() {
                for q in &known[..i] {
                    let quality = crossing_quality(&placed, *p, *q);
                    if next.is_none_or(|n| quality > n.0 + 1e-9) {
                        next = Some((quality, mark, *q, *p));
                    }
                }
            }
        }
        let Some(waiting) = waiting else { break };
        let Some((_, mark, p, q)) = next else {
            return Err(StartError::TooFew { mark: waiting });
        };
        let told = Told { sides, second };
        placed[mark] = Some(by_arcs(mark, p, q, &told, distances, &placed)?);
    }
    Ok(placed.into_iter().flatten().collect())
}

/// The sides that were told, against the line from the first mark to the second.
struct Told<'a> {
    sides: &'a [Option<Side>],
    second: Option<usize>,
}

impl Told<'_> {
    /// Whether a mark put there leaves those on their sides whose sides it decides: its own, or, where it
    /// is an end of the line, all others that are placed.
    fn goes(&self, mark: usize, x: Point2<Face>, placed: &[Option<Point2<Face>>]) -> bool {
        let at = |k: usize| if k == mark { Some(x) } else { placed[k] };
        let ends = at(0).zip(self.second.and_then(at));
        let Some((from, to)) = ends else { return true };
        let is_end = mark == 0 || Some(mark) == self.second;
        self.sides.iter().enumerate().all(|(k, side)| {
            let decides = if is_end { k != mark } else { k == mark };
            let (Some(side), Some(there), true) = (side, at(k), decides) else {
                return true;
            };
            let left = (to - from).cross(there - from);
            match side {
                Side::Left => left >= 0.0,
                Side::Right => left <= 0.0,
            }
        })
    }
}

/// A placed mark and the distance from it, mm.
type Swing = (usize, f64);

/// Placed marks with their distance to this one, each once.
fn known_distances(
    mark: usize,
    distances: &[(usize, usize, Length)],
    placed: &[Option<Point2<Face>>],
) -> Vec<(usize, f64)> {
    let mut out: Vec<(usize, f64)> = Vec::new();
    for &(a, b, d) in distances {
        let other = if a == mark {
            b
        } else if b == mark {
            a
        } else {
            continue;
        };
        if placed[other].is_some() && out.iter().all(|(k, _)| *k != other) {
            out.push((other, d.mm()));
        }
    }
    out
}

/// Sine of the angle at which two arcs cross, negative where they miss.
fn crossing_quality(placed: &[Option<Point2<Face>>], p: (usize, f64), q: (usize, f64)) -> f64 {
    let (Some(a), Some(b)) = (placed[p.0], placed[q.0]) else {
        return -1.0;
    };
    let d = (b - a).norm_mm();
    match two_arcs(d, p.1, q.1, TOUCHING_MM) {
        Crossing::Two { aside, .. } => aside * d / (p.1 * q.1),
        Crossing::Touch { .. } => 0.0,
        Crossing::Apart { .. } => -1.0,
    }
}

fn by_arcs(
    mark: usize,
    p: (usize, f64),
    q: (usize, f64),
    told: &Told<'_>,
    distances: &[(usize, usize, Length)],
    placed: &[Option<Point2<Face>>],
) -> Result<Point2<Face>, StartError> {
    let nothing = StartError::TooFew { mark };
    let (Some(a), Some(b)) = (placed[p.0], placed[q.0]) else {
        return Err(nothing);
    };
    let Some(along_line) = (b - a).unit() else {
        return Err(nothing);
    };
    let (along, aside) = match two_arcs((b - a).norm_mm(), p.1, q.1, TOUCHING_MM) {
        Crossing::Apart { by } => {
            return Err(StartError::ArcsMiss {
                mark,
                about: (p.0, q.0),
                by_mm: by,
            });
        }
        Crossing::Touch { along } => return Ok(a + along_line * along),
        Crossing::Two { along, aside } => (along, aside),
    };
    let both = [aside, -aside].map(|s| a + along_line * along + along_line.perp() * s);
    let fits = both.map(|x| told.goes(mark, x, placed));
    if fits[0] != fits[1] {
        return Ok(if fits[0] { both[0] } else { both[1] });
    }
    let known = known_distances(mark, distances, placed);
    let misfit = both.map(|x| {
        known
            .iter()
            .filter(|(k, _)| *k != p.0 && *k != q.0)
            .filter_map(|(k, d)| placed[*k].map(|at| ((at - x).norm_mm() - d).abs()))
            .fold(0.0, f64::max)
    });
    if (misfit[0] - misfit[1]).abs() < TOUCHING_MM {
        return Err(StartError::EitherSide { mark });
    }
    Ok(if misfit[0] < misfit[1] {
        both[0]
    } else {
        both[1]
    })
}

/// Other starts, tried in turn where the nominal one led nowhere: laid out from the distances
/// and fitted onto the nominal; then the nominal shaken by 3, 10 and 25 % of its reach in
/// directions a golden angle apart, which repeat on no regular layout.
pub(super) fn other_starts(network: &Network, layout: &Layout, nominal: &[f64]) -> Vec<Vec<f64>> {
    let mut out = Vec::new();
    let starts: Vec<Point2<Face>> = network.points.iter().map(|p| p.start).collect();
    if let Some(points) = laid_out(network, &starts) {
        out.push(with_points(layout, nominal, &points));
    }
    let count = starts.len().max(1) as f64;
    let middle = Point2::ORIGIN
        + starts
            .iter()
            .fold(Vector2::ZERO, |s, p| s + p.from_origin())
            * (1.0 / count);
    let reach_mm = starts
        .iter()
        .fold(0.0_f64, |m, p| m.max((*p - middle).norm_mm()));
    const GOLDEN_ANGLE: f64 = 2.399_963_229_728_653;
    for (round, share) in [0.03, 0.1, 0.25].into_iter().enumerate() {
        let shaken: Vec<Point2<Face>> = starts
            .iter()
            .enumerate()
            .map(|(k, p)| {
                let turn = GOLDEN_ANGLE * (k + 1) as f64 + round as f64;
                *p + Vector2::from_mm(share * reach_mm, 0.0).turned(turn)
            })
            .collect();
        out.push(with_points(layout, nominal, &shaken));
    }
    out
}

fn with_points(layout: &Layout, nominal: &[f64], points: &[Point2<Face>]) -> Vec<f64> {
    let mut x = nominal.to_vec();
    for (at, p) in layout.points.iter().zip(points) {
        if let Some(k) = *at {
            x[k] = p.x_mm();
            x[k + 1] = p.y_mm();
        }
    }
    x
}

fn laid_out(network: &Network, starts: &[Point2<Face>]) -> Option<Vec<Point2<Face>>> {
    let distances: Vec<(usize, usize, Length)> = network
        .readings
        .iter()
        .filter_map(|r| match r.kind {
            ReadingKind::Straight { from, to } | ReadingKind::Over { from, to, .. } => {
                Some((from, to, r.value))
            }
            _ => None,
        })
        .collect();
    let second = distances
        .iter()
        .filter(|(a, b, _)| *a == 0 || *b == 0)
        .map(|(a, b, _)| a + b)
        .min()?;
    let line = *starts.get(second)? - *starts.first()?;
    let sides: Vec<Option<Side>> = starts
        .iter()
        .map(|p| {
            Some(if line.cross(*p - starts[0]) >= 0.0 {
                Side::Left
            } else {
                Side::Right
            })
        })
        .collect();
    let placed = start_from_readings(&sides, &distances).ok()?;
    // Rigid fit in the plane: the turn from the sums of products about both middles.
    let middle = |points: &[Point2<Face>]| {
        points
            .iter()
            .fold(Vector2::ZERO, |s, p| s + p.from_origin())
            * (1.0 / points.len() as f64)
    };
    let (from, to) = (middle(&placed), middle(starts));
    let (mut along, mut aside) = (0.0, 0.0);
    for (p, q) in placed.iter().zip(starts) {
        let (a, b) = (p.from_origin() - from, q.from_origin() - to);
        along += a.dot(b);
        aside += a.cross(b);
    }
    let turn = libm::atan2(aside, along);
    Some(
        placed
            .iter()
            .map(|p| Point2::ORIGIN + (p.from_origin() - from).turned(turn) + to)
            .collect(),
    )
}
