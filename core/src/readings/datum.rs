//! A, then B, then C: the result laid on its datums.
//!
//! An S-transformation (Baarda 1973, *S-transformations and criterion matrices*): the same
//! pattern of marks, moved over the face as the free motions allow until A stands where the
//! drawing has it and B lies on the drawing's line A–B; the covariance follows.

use super::adjusted::Adjusted;
use super::edge;
use super::model::crossed_inverse;
use super::motion::{Coefficients, Group};
use super::network::{EdgeStart, ReadingKind};
use crate::frames::{Face, Point2, Vector2};
use crate::num::cholesky::Symmetric;
use crate::surface::{Jet, Shape, Surface, SurfaceError};
use crate::units::Angle;

/// Why a result can't be laid on these datums.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DatumError {
    /// No such mark.
    #[error("mark {index} is not there")]
    Missing {
        /// Its number.
        index: usize,
    },
    /// Two of them are the same mark.
    #[error("A, B and C must be three different marks")]
    Same,
    /// The face can't say which way B lies from A.
    #[error("A and B: {0}")]
    Surface(#[from] SurfaceError),
    /// The marks do not hold the motions that are free (B too near A).
    #[error("A and B together do not hold the face: take B further away")]
    TooWeak,
    /// C lies too near the line A–B for its side to mean anything.
    #[error(
        "C is {offset_mm:.1} mm off the line A to B, known to {sd_mm:.1} mm: too near to tell a side"
    )]
    NoSide {
        /// How far off, mm.
        offset_mm: f64,
        /// Its standard deviation, mm.
        sd_mm: f64,
    },
    /// The readings themselves say that C lies on the other side than in the drawing.
    #[error("C lies on the other side of A to B than in the drawing")]
    OtherHand,
}

/// Steps of the search for the motion; Newton needs four or five from anywhere sensible.
const MOST_STEPS: usize = 50;

/// Pattern and edges while they are moved.
#[derive(Clone)]
struct Pattern {
    points: Vec<Point2<Face>>,
    edges: Vec<(f64, f64)>,
}

/// One condition on one mark: `gradient · (move of mark)`.
#[derive(Clone, Copy)]
struct Condition {
    mark: usize,
    gradient: Vector2<Face>,
    off_mm: f64,
}

impl Adjusted {
    /// The same result with A where it starts, B on the line from there to where B starts, and
    /// (where a mark C is given) C on its own side of that line.
    ///
    /// Only motions that the readings leave free are used: on a cone with straight readings A
    /// alone fixes the turn about the axis. The covariance is that of the marks relative to the
    /// datums, to first order; residuals and everything said about readings stay.
    ///
    /// # Errors
    /// [`DatumError`].
    pub fn in_datum(&self, a: usize, b: usize, c: Option<usize>) -> Result<Self, DatumError> {
        for index in [Some(a), Some(b), c].into_iter().flatten() {
            if index >= self.points.len() {
                return Err(DatumError::Missing { index });
            }
        }
        if a == b || c == Some(a) || c == Some(b) {
            return Err(DatumError::Same);
        }
        let mut out = self.clone();
        // Up is told against the marks as solved.
        out.stances.clear();
        let mut pattern = Pattern {
            points: self.points.iter().map(|p| p.at).collect(),
            edges: self
                .edges
                .iter()
                .zip(&self.inner.network.edges)
                .map(relative)
                .collect(),
        };
        let chosen = self.choose(&pattern, a, b)?;
        self.lay(&mut out, &mut pattern, &chosen, a, b)?;
        if let Some(c) = c
            && self.hand(&pattern, a, b, c)? != self.nominal_hand(a, b, c)?
        {
            self.mirror(&mut out, &mut pattern, a, b)?;
            self.lay(&mut out, &mut pattern, &chosen, a, b)?;
        }
        for (p, at) in out.points.iter_mut().zip(&pattern.points) {
            p.at = *at;
        }
        for ((e, start), (offset, slope)) in out
            .edges
            .iter_mut()
            .zip(&self.inner.network.edges)
            .zip(&pattern.edges)
        {
            let (origin, _, left) = edge::frame(start);
            e.through = origin + left * *offset;
            e.along = Angle::from_rad(start.along.rad() + libm::atan(*slope));
        }
        let shares: Vec<f64> = self.points.iter().map(|p| p.by_drawing).collect();
        out.describe_points(|i, _| shares[i]);
        if let Some(c) = c {
            out.check_side(&pattern, a, b, c)?;
        }
        Ok(out)
    }

    /// The conditions that can be asked, in the order of the datums.
    fn conditions(
        &self,
        points: &[Point2<Face>],
        a: usize,
        b: usize,
    ) -> Result<[Condition; 3], DatumError> {
        let start = |k: usize| self.inner.network.points[k].start;
        let off = points[a] - start(a);
        let (aside, gradient) = off_line(&self.surface, start(a), start(b), points[b])?;
        Ok([
            Condition {
                mark: a,
                gradient: Vector2::from_mm(1.0, 0.0),
                off_mm: off.x_mm(),
            },
            Condition {
                mark: a,
                gradient: Vector2::from_mm(0.0, 1.0),
                off_mm: off.y_mm(),
            },
            Condition {
                mark: b,
                gradient,
                off_mm: aside,
            },
        ])
    }

    /// As many conditions as there are free motions, in the order of the datums, each of which
    /// holds something the earlier ones do not.
    fn choose(&self, pattern: &Pattern, a: usize, b: usize) -> Result<Vec<usize>, DatumError> {
        let wanted = self.inner.free.len();
        let conditions = self.conditions(&pattern.points, a, b)?;
        let mut basis: Vec<Vec<f64>> = Vec::new();
        let mut chosen = Vec::new();
        let reach_mm = (pattern.points[b] - pattern.points[a]).norm_mm().max(1.0);
        for (k, condition) in conditions.iter().enumerate() {
            if chosen.len() == wanted {
                break;
            }
            let mut row = self.seen(condition, &pattern.points);
            // Turns count by what they move at the datums.
            let size = libm::sqrt(row.iter().map(|x| x * x).sum::<f64>());
            for known in &basis {
                let along: f64 = known.iter().zip(&row).map(|(x, y)| x * y).sum();
                for (x, y) in row.iter_mut().zip(known) {
                    *x -= along * y;
                }
            }
            let rest = libm::sqrt(row.iter().map(|x| x * x).sum::<f64>());
            if rest > 1e-6 * size && rest > 1e-9 / reach_mm {
                for x in &mut row {
                    *x /= rest;
                }
                basis.push(row);
                chosen.push(k);
            }
        }
        if chosen.len() == wanted {
            Ok(chosen)
        } else {
            Err(DatumError::TooWeak)
        }
    }

    /// What a condition sees of each free motion.
    fn seen(&self, condition: &Condition, points: &[Point2<Face>]) -> Vec<f64> {
        let generators = self.inner.group.generators(points[condition.mark]);
        self.inner
            .free
            .iter()
            .map(|c| {
                (0..3)
                    .map(|k| c[k] * condition.gradient.dot(generators[k]))
                    .sum()
            })
            .collect()
    }

    fn lay(
        &self,
        out: &mut Self,
        pattern: &mut Pattern,
        chosen: &[usize],
        a: usize,
        b: usize,
    ) -> Result<(), DatumError> {
        if chosen.is_empty() {
            return Ok(());
        }
        for _ in 0..MOST_STEPS {
            let conditions = self.conditions(&pattern.points, a, b)?;
            let rows: Vec<Vec<f64>> = chosen
                .iter()
                .map(|k| self.seen(&conditions[*k], &pattern.points))
                .collect();
            let inverse = inverse_of(&rows);
            let mut by: Coefficients = [0.0; 3];
            for (motion, line) in self.inner.free.iter().zip(&inverse) {
                let amount: f64 = line
                    .iter()
                    .zip(chosen)
                    .map(|(x, k)| -x * conditions[*k].off_mm)
                    .sum();
                for (x, c) in by.iter_mut().zip(motion) {
                    *x += amount * c;
                }
            }
            if !by.iter().all(|x| x.is_finite()) {
                return Err(DatumError::TooWeak);
            }
            self.follow(&by, pattern, &mut out.inner.q);
            let worst = chosen
                .iter()
                .fold(0.0_f64, |m, k| m.max(conditions[*k].off_mm.abs()));
            if worst < 1e-11 {
                break;
            }
        }
        self.project(&mut out.inner.q, pattern, chosen, a, b)
    }

    /// Moves everything by a finite motion; the covariance turns with it.
    fn follow(&self, by: &Coefficients, pattern: &mut Pattern, q: &mut Symmetric) {
        let group = &self.inner.group;
        let layout = &self.inner.layout;
        let mut blocks = Vec::new();
        for (at, p) in layout.points.iter().zip(&mut pattern.points) {
            let jacobian = group.moved_jacobian(by, *p);
            // A fixed mark stays: the free motions do not move it but for rounding.
            if let Some(k) = *at {
                *p = group.moved(by, *p);
                blocks.push((k, jacobian));
            }
        }
        for ((at, start), e) in layout
            .edges
            .iter()
            .zip(&self.inner.network.edges)
            .zip(&mut pattern.edges)
        {
            if let Some(k) = *at {
                let (moved, jacobian) = moved_edge(group, by, start, *e);
                *e = moved;
                blocks.push((k, jacobian));
            }
        }
        turn_blocks(q, &blocks);
    }

    /// Q ← S Q Sᵀ with S = I − G (DᵀG)⁻¹ Dᵀ.
    fn project(
        &self,
        q: &mut Symmetric,
        pattern: &Pattern,
        chosen: &[usize],
        a: usize,
        b: usize,
    ) -> Result<(), DatumError> {
        let conditions = self.conditions(&pattern.points, a, b)?;
        let n = q.size();
        let layout = &self.inner.layout;
        let rows: Vec<Vec<f64>> = chosen
            .iter()
            .map(|k| self.seen(&conditions[*k], &pattern.points))
            .collect();
        let inverse = inverse_of(&rows);
        let moves = self.displacements(pattern);
        let k = chosen.len();
        // H = G (DᵀG)⁻¹, and W = Dᵀ Q.
        let carried: Vec<Vec<f64>> = (0..k)
            .map(|c| {
                (0..n)
                    .map(|i| (0..k).map(|m| moves[m][i] * inverse[m][c]).sum())
                    .collect()
            })
            .collect();
        let on = |c: usize| {
            let condition = conditions[chosen[c]];
            layout.points[condition.mark].map(|at| (at, condition.gradient))
        };
        let seen: Vec<Vec<f64>> = (0..k)
            .map(|c| match on(c) {
                None => vec![0.0; n],
                Some((at, g)) => (0..n)
                    .map(|i| g.x_mm() * q.get(at, i) + g.y_mm() * q.get(at + 1, i))
                    .collect(),
            })
            .collect();
        let inner = |c: usize, d: usize| {
            on(d).map_or(0.0, |(at, g)| {
                g.x_mm() * seen[c][at] + g.y_mm() * seen[c][at + 1]
            })
        };
        let core: Vec<Vec<f64>> = (0..k)
            .map(|c| (0..k).map(|d| inner(c, d)).collect())
            .collect();
        for i in 0..n {
            for j in 0..=i {
                let mut change = 0.0;
                for c in 0..k {
                    change -= carried[c][i] * seen[c][j] + seen[c][i] * carried[c][j];
                    for d in 0..k {
                        change += carried[c][i] * core[c][d] * carried[d][j];
                    }
                }
                q.add(i, j, change);
            }
        }
        Ok(())
    }

    /// Each free motion as a displacement of all unknowns.
    fn displacements(&self, pattern: &Pattern) -> Vec<Vec<f64>> {
        let (layout, group) = (&self.inner.layout, &self.inner.group);
        let combined = |at: Point2<Face>, c: &Coefficients| {
            let g = group.generators(at);
            g[0] * c[0] + g[1] * c[1] + g[2] * c[2]
        };
        self.inner
            .free
            .iter()
            .map(|c| {
                let mut out = vec![0.0; layout.count];
                for (at, p) in layout.points.iter().zip(&pattern.points) {
                    if let Some(k) = *at {
                        let shift = combined(*p, c);
                        (out[k], out[k + 1]) = (shift.x_mm(), shift.y_mm());
                    }
                }
                for ((at, start), (offset, slope)) in layout
                    .edges
                    .iter()
                    .zip(&self.inner.network.edges)
                    .zip(&pattern.edges)
                {
                    let Some(k) = *at else { continue };
                    let (origin, along, left) = edge::frame(start);
                    let aside = |t: f64| {
                        let at = origin + along * t + left * (offset + slope * t);
                        let shift = combined(at, c);
                        left.dot(shift) - slope * along.dot(shift)
                    };
                    let half_mm = edge::looked_at_mm(group);
                    let (ahead, behind) = (aside(half_mm), aside(-half_mm));
                    out[k] = 0.5 * (ahead + behind);
                    out[k + 1] = (ahead - behind) / (2.0 * half_mm);
                }
                out
            })
            .collect()
    }

    fn hand(&self, p: &Pattern, a: usize, b: usize, c: usize) -> Result<bool, DatumError> {
        Ok(off_line(&self.surface, p.points[a], p.points[b], p.points[c])?.0 > 0.0)
    }

    fn nominal_hand(&self, a: usize, b: usize, c: usize) -> Result<bool, DatumError> {
        let start = |k: usize| self.inner.network.points[k].start;
        Ok(off_line(&self.surface, start(a), start(b), start(c))?.0 > 0.0)
    }

    /// C decides a side only where it lies off the line by three standard deviations.
    fn check_side(&self, p: &Pattern, a: usize, b: usize, c: usize) -> Result<(), DatumError> {
        let (offset_mm, g) = off_line(&self.surface, p.points[a], p.points[b], p.points[c])?;
        let sd_mm = self.inner.layout.points[c].map_or(0.0, |k| {
            let q = &self.inner.q;
            let variance = g.x_mm() * g.x_mm() * q.get(k, k)
                + 2.0 * g.x_mm() * g.y_mm() * q.get(k, k + 1)
                + g.y_mm() * g.y_mm() * q.get(k + 1, k + 1);
            libm::sqrt(variance.max(0.0))
        });
        if offset_mm.abs() < 3.0 * sd_mm {
            return Err(DatumError::NoSide {
                offset_mm: offset_mm.abs(),
                sd_mm,
            });
        }
        Ok(())
    }

    /// The mirror image in the line A–B, where distances alone can't tell it from the pattern.
    fn mirror(
        &self,
        out: &mut Self,
        pattern: &mut Pattern,
        a: usize,
        b: usize,
    ) -> Result<(), DatumError> {
        // Levels, plumb lines and heights tell the hand as squares and coordinates do.
        let only_distances = self.inner.network.readings.iter().all(|r| match r.kind {
            ReadingKind::Straight { .. }
            | ReadingKind::Over { .. }
            | ReadingKind::Size { .. }
            | ReadingKind::Girth { .. } => true,
            ReadingKind::Square { .. }
            | ReadingKind::Coordinate { .. }
            | ReadingKind::Level { .. }
            | ReadingKind::Plumb { .. }
            | ReadingKind::Height { .. } => false,
        });
        if !only_distances || self.inner.free.len() < 3 || !self.inner.network.edges.is_empty() {
            return Err(DatumError::OtherHand);
        }
        let line = (pattern.points[a], pattern.points[b]);
        let mut blocks = Vec::new();
        for (at, p) in self.inner.layout.points.iter().zip(&mut pattern.points) {
            let (image, jacobian) = self
                .inner
                .group
                .mirrored(line, *p)
                .ok_or(DatumError::OtherHand)?;
            *p = image;
            blocks.extend(at.map(|k| (k, jacobian)));
        }
        turn_blocks(&mut out.inner.q, &blocks);
        Ok(())
    }
}

/// Offset and slope of an adjusted edge against its nominal line.
fn relative((edge, start): (&EdgeStart, &EdgeStart)) -> (f64, f64) {
    let (origin, along, left) = edge::frame(start);
    let slope = libm::tan(edge.along.rad() - start.along.rad());
    let arm = edge.through - origin;
    (arm.dot(left) - slope * arm.dot(along), slope)
}

fn inverse_of(rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = rows.len();
    let unit: Vec<Vec<f64>> = (0..n)
        .map(|i| (0..n).map(|j| if i == j { 1.0 } else { 0.0 }).collect())
        .collect();
    // crossed_inverse wants (CᵀG)⁻¹ with G by columns; with G the unit vectors that is rows⁻¹.
    crossed_inverse(rows, &unit)
}

/// How far a point lies left of the shortest way from `a` through `b`, with the gradient by the
/// point: the angle between the two ways at `a`, times the distance.
fn off_line(
    surface: &Surface,
    a: Point2<Face>,
    b: Point2<Face>,
    point: Point2<Face>,
) -> Result<(f64, Vector2<Face>), SurfaceError> {
    let metric = |j: &Jet| (j.du.dot(j.du), j.du.dot(j.dv), j.dv.dot(j.dv));
    let raise = |j: &Jet, covector: Vector2<Face>| {
        let (e, f, g) = metric(j);
        let det = e * g - f * f;
        Vector2::<Face>::from_mm(
            (g * covector.x_mm() - f * covector.y_mm()) / det,
            (e * covector.y_mm() - f * covector.x_mm()) / det,
        )
    };
    let area = |j: &Jet| {
        let (e, f, g) = metric(j);
        libm::sqrt(e * g - f * f)
    };
    let at_a = surface.jet(a)?;
    let ahead = surface.over_surface(a, b, surface.nearest_turns(a, b))?;
    let there = surface.over_surface(a, point, surface.nearest_turns(a, point))?;
    let (line, way) = (raise(&at_a, -ahead.d_from), raise(&at_a, -there.d_from));
    let offset_mm = there.mm * line.cross(way) * area(&at_a);
    let at_point = surface.jet(point)?;
    let arrival = raise(&at_point, there.d_to);
    let gradient = Vector2::from_mm(-arrival.y_mm(), arrival.x_mm()) * area(&at_point);
    Ok((offset_mm, gradient))
}

/// An edge carried along by a motion: two of its points are moved, the line through them is it.
fn moved_edge(
    group: &Group,
    by: &Coefficients,
    start: &EdgeStart,
    (offset, slope): (f64, f64),
) -> ((f64, f64), [[f64; 2]; 2]) {
    let (origin, along, left) = edge::frame(start);
    let half_mm = edge::looked_at_mm(group);
    let ends = [-half_mm, half_mm].map(|t| {
        let at = origin + along * t + left * (offset + slope * t);
        let j = group.moved_jacobian(by, at);
        let arm = group.moved(by, at) - origin;
        let aside = Vector2::<Face>::from_mm(
            j[0][0] * left.x_mm() + j[0][1] * left.y_mm(),
            j[1][0] * left.x_mm() + j[1][1] * left.y_mm(),
        );
        (
            t,
            arm.dot(along),
            arm.dot(left),
            aside.dot(along),
            aside.dot(left),
        )
    });
    let [(_, t0, n0, dt0, dn0), (_, t1, n1, dt1, dn1)] = ends;
    let span = t1 - t0;
    let new_slope = (n1 - n0) / span;
    // By the offset both ends move aside alike; by the slope as far as they are out.
    let slope_by =
        |w0: f64, w1: f64| ((w1 * dn1 - w0 * dn0) - new_slope * (w1 * dt1 - w0 * dt0)) / span;
    let offset_by = |w0: f64, by_slope: f64| w0 * (dn0 - new_slope * dt0) - t0 * by_slope;
    let by_offset = slope_by(1.0, 1.0);
    let by_slope = slope_by(-half_mm, half_mm);
    (
        (n0 - new_slope * t0, new_slope),
        [
            [offset_by(1.0, by_offset), offset_by(-half_mm, by_slope)],
            [by_offset, by_slope],
        ],
    )
}

/// Q ← T Q Tᵀ with T made of 2×2 blocks; unknowns without a block stay.
fn turn_blocks(q: &mut Symmetric, blocks: &[(usize, [[f64; 2]; 2])]) {
    let n = q.size();
    let mut full: Vec<Vec<f64>> = (0..n)
        .map(|i| (0..n).map(|j| q.get(i, j)).collect())
        .collect();
    for (k, t) in blocks {
        let (head, tail) = full.split_at_mut(*k + 1);
        for (x, y) in head[*k].iter_mut().zip(&mut tail[0]) {
            (*x, *y) = (t[0][0] * *x + t[0][1] * *y, t[1][0] * *x + t[1][1] * *y);
        }
    }
    for line in &mut full {
        for (k, t) in blocks {
            let (x, y) = (line[*k], line[*k + 1]);
            line[*k] = t[0][0] * x + t[0][1] * y;
            line[*k + 1] = t[1][0] * x + t[1][1] * y;
        }
    }
    for (i, line) in full.iter().enumerate() {
        for (j, x) in line.iter().enumerate().take(i + 1) {
            q.set(i, j, *x);
        }
    }
}
