//! The smallest enclosing ball in the norm of an outline, each point with a radius of its own.
//!
//! ‖v‖ = max over outline points x of |B(x)v|, v = (across, up, turn), B(x) = [I₂ | e⊥x]. What is
//! sought is the g with the least max over castings of ‖g_p − g‖ − τ_p. It is convex in g; a
//! working set of (casting, outline point) pairs grows by the worst ones until none is left out,
//! and each working set is solved by Newton's method on the soft maximum μ·ln Σ exp(fᵢ/μ), which
//! stands at most μ·ln(count) above the maximum.

use crate::frames::{Flat, Point2};
use crate::template::Landing;
use nalgebra::{Matrix2x3, Matrix3, Vector2, Vector3};

/// Agreement of the solver, mm: a hundredth of a micrometre times a few.
const SETTLED_MM: f64 = 2e-5;

/// Where a casting puts the feature of one common template, and how far off it may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Centre {
    /// Across and up in mm, turn in rad.
    pub(super) at: Vector3<f64>,
    /// What may be left, mm.
    pub(super) left: f64,
}

impl Centre {
    pub(super) fn of(landing: &Landing, left: f64) -> Self {
        Self {
            at: Vector3::new(
                landing.shift.x_mm(),
                landing.shift.y_mm(),
                landing.turn.rad(),
            ),
            left,
        }
    }
}

fn slopes(p: Point2<Flat>) -> Matrix2x3<f64> {
    Matrix2x3::new(1.0, 0.0, -p.y_mm(), 0.0, 1.0, p.x_mm())
}

/// ‖v‖ and where on the outline it is reached.
pub(super) fn norm(outline: &[Point2<Flat>], v: &Vector3<f64>) -> (f64, usize) {
    let mut worst = (0.0, 0);
    for (k, p) in outline.iter().enumerate() {
        // `slopes(p)·v` without its ones and noughts, and one root for all.
        let (across, up) = (v.x - p.y_mm() * v.z, v.y + p.x_mm() * v.z);
        let square = across * across + up * up;
        if square > worst.0 {
            worst = (square, k);
        }
    }
    (libm::sqrt(worst.0), worst.1)
}

/// The corners of the outline's convex hull: a convex function of place is greatest at one of them.
pub(super) fn hull(outline: &[Point2<Flat>]) -> Vec<Point2<Flat>> {
    let mut points = outline.to_vec();
    points.sort_by(|a, b| {
        a.x_mm()
            .total_cmp(&b.x_mm())
            .then(a.y_mm().total_cmp(&b.y_mm()))
    });
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let mut chain: Vec<Point2<Flat>> = Vec::new();
    let mut half = |list: &mut dyn Iterator<Item = Point2<Flat>>| {
        let start = chain.len();
        for p in list {
            while chain.len() >= start + 2 {
                let (a, b) = (chain[chain.len() - 2], chain[chain.len() - 1]);
                if (b - a).cross(p - b) > 1e-9 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
    };
    half(&mut points.iter().copied());
    half(&mut points.iter().rev().copied());
    chain
}

/// How far the enclosing has to go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Until {
    /// It is known whether a common centre exists.
    Known,
    /// The centre stands.
    Centred,
}

/// A centre, and max over castings of ‖g_p − g‖ − τ_p there (at most nothing where it serves all).
#[derive(Debug, Clone, Copy)]
pub(super) struct Ball {
    pub(super) centre: Vector3<f64>,
    pub(super) over: f64,
}

/// One pair of casting and outline point.
#[derive(Debug, Clone, Copy)]
struct Need {
    slopes: Matrix2x3<f64>,
    at: Vector3<f64>,
    left: f64,
}

impl Need {
    fn off(&self, g: &Vector3<f64>) -> Vector2<f64> {
        self.slopes * (g - self.at)
    }
    fn over(&self, g: &Vector3<f64>) -> f64 {
        soft_length(&self.off(g)) - self.left
    }
}

/// A length without a corner at nothing.
fn soft_length(d: &Vector2<f64>) -> f64 {
    libm::sqrt(d.norm_squared() + 1e-12)
}

/// The ball about castings `list` in the norm of `outline`.
pub(super) fn enclosing(outline: &[Point2<Flat>], list: &[Centre], until: Until) -> Ball {
    let count = f64::from(u32::try_from(list.len().max(1)).unwrap_or(u32::MAX));
    let mut g = list.iter().fold(Vector3::zeros(), |s, c| s + c.at) / count;
    // Turns are counted as millimetres at the furthest outline point, so that all three are alike.
    let reach = outline
        .iter()
        .map(|p| p.from_origin().norm_mm())
        .fold(1.0, f64::max);
    let mut needs: Vec<Need> = Vec::new();
    let mut known: Vec<(usize, usize)> = Vec::new();
    let mut least = f64::NEG_INFINITY;
    for _ in 0..200 {
        let mut found: Vec<(f64, usize, usize)> = list
            .iter()
            .enumerate()
            .map(|(k, c)| {
                let (size, at) = norm(outline, &(g - c.at));
                (size - c.left, k, at)
            })
            .collect();
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        let over = found.first().map_or(0.0, |f| f.0);
        let settled = over <= least + SETTLED_MM;
        let sure = until == Until::Known && (over <= 0.0 || least > super::MARGIN_MM);
        let fresh: Vec<_> = found
            .iter()
            .filter(|f| f.0 > least && !known.contains(&(f.1, f.2)))
            .take(4)
            .copied()
            .collect();
        if settled || sure || fresh.is_empty() {
            return Ball {
                centre: g,
                over: over.max(least),
            };
        }
        for (_, k, at) in fresh {
            known.push((k, at));
            needs.push(Need {
                slopes: slopes(outline.get(at).copied().unwrap_or(Point2::ORIGIN)),
                at: list[k].at,
                left: list[k].left,
            });
        }
        (g, least) = solved(&needs, g, reach, until);
    }
    Ball {
        centre: g,
        over: list
            .iter()
            .map(|c| norm(outline, &(g - c.at)).0 - c.left)
            .fold(f64::NEG_INFINITY, f64::max),
    }
}

/// The soft maximum, its slope and its curvature, in coordinates where the turn is `reach` times as long.
fn soft(
    needs: &[Need],
    g: &Vector3<f64>,
    mu: f64,
    reach: f64,
) -> (f64, Vector3<f64>, Matrix3<f64>) {
    let top = needs
        .iter()
        .map(|n| n.over(g))
        .fold(f64::NEG_INFINITY, f64::max);
    let (mut sum, mut slope, mut curve) = (0.0, Vector3::zeros(), Matrix3::zeros());
    for need in needs {
        let weight = libm::exp((need.over(g) - top) / mu);
        if weight < 1e-18 {
            continue;
        }
        let mut b = need.slopes;
        b.column_mut(2).scale_mut(1.0 / reach);
        let d = need.off(g);
        let length = soft_length(&d);
        let u = d / length;
        let s = b.transpose() * u;
        let bend = (nalgebra::Matrix2::identity() - u * u.transpose()) / length;
        sum += weight;
        slope += s * weight;
        curve += (b.transpose() * bend * b + s * s.transpose() / mu) * weight;
    }
    slope /= sum;
    curve = curve / sum - slope * slope.transpose() / mu;
    (top + mu * libm::log(sum), slope, curve)
}

/// The least soft maximum of a few pairs, and a bound below their true least maximum. Where it need only be
/// known whether they have a common centre, no closer than that takes.
fn solved(needs: &[Need], start: Vector3<f64>, reach: f64, until: Until) -> (Vector3<f64>, f64) {
    let mut g = start;
    let mut bound = f64::NEG_INFINITY;
    let count = f64::from(u32::try_from(needs.len().max(1)).unwrap_or(u32::MAX));
    for mu in [1.0, 0.2, 0.04, 8e-3, 1.6e-3, 3e-4, 6e-5, 1.2e-5, 2e-6] {
        let mut here = soft(needs, &g, mu, reach);
        for _ in 0..30 {
            let (now, slope, curve) = here;
            let stiff = curve + Matrix3::identity() * (1e-9 * (1.0 + curve.trace()));
            let Some(inverse) = stiff.try_inverse() else {
                break;
            };
            let step = -(inverse * slope);
            let gain = slope.dot(&step);
            if gain > -1e-11 {
                break;
            }
            let mut share = 1.0;
            let mut moved = false;
            for _ in 0..40 {
                let there = g + Vector3::new(step.x, step.y, step.z / reach) * share;
                let then = soft(needs, &there, mu, reach);
                if then.0 <= now + 1e-4 * share * gain {
                    g = there;
                    here = then;
                    moved = true;
                    break;
                }
                share *= 0.5;
            }
            if !moved {
                break;
            }
        }
        bound = here.0 - mu * libm::log(count) - 1e-6;
        let known = bound > super::MARGIN_MM || needs.iter().all(|n| n.over(&g) <= 0.0);
        if until == Until::Known && known {
            break;
        }
    }
    (g, bound)
}
