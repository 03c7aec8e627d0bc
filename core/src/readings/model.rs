//! Observation equations: what each reading would be, with all its derivatives.

use super::edge::square;
use super::error::AdjustError;
use super::motion::{Coefficients, Group};
use super::network::{CoordinateAxis, Held, Network, Precision, Reading, ReadingKind, SizeHeld};
use crate::frames::{Face, Point2, Vector2};
use crate::num::cholesky::Symmetric;
use crate::num::least_squares::{Model, Rows};
use crate::surface::{Distance, MAX_PARAMETERS, Parameter, Shape, Surface, SurfaceError, Turns};
use core::f64::consts::TAU;

/// A unit step of any length among the unknowns (design/11, *Ranks*).
pub(super) const LENGTH_STEP_MM: f64 = 5.0;

/// Half the length over which an edge's prior deviation also bounds its slope, mm.
pub(super) const EDGE_HALF_MM: f64 = 500.0;

/// Where each unknown stands in the solution.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub(super) points: Vec<Option<usize>>,
    pub(super) edges: Vec<Option<usize>>,
    pub(super) sizes: [Option<usize>; MAX_PARAMETERS],
    /// Scale and hook of each tape, where there is anything to know.
    pub(super) tapes: Vec<(Option<usize>, Option<usize>)>,
    pub(super) count: usize,
}

impl Layout {
    pub(super) fn of(network: &Network) -> Self {
        let mut count = 0;
        let mut take = |wanted: bool, width: usize| {
            wanted.then(|| {
                count += width;
                count - width
            })
        };
        let points = network
            .points
            .iter()
            .map(|p| take(p.held != Held::Fixed, 2))
            .collect();
        let edges = network
            .edges
            .iter()
            .map(|e| take(e.held != Held::Fixed, 2))
            .collect();
        let known = network.surface.parameters().len();
        let sizes =
            core::array::from_fn(|k| take(k < known && network.sizes[k] != SizeHeld::Fixed, 1));
        let tapes = network
            .tapes
            .iter()
            .enumerate()
            .map(|(k, tape)| {
                let used = |hook: bool| {
                    network.readings.iter().any(|r| match r.precision {
                        Precision::Tape { tape, hooked } => tape == k && (hooked || !hook),
                        Precision::Sd(_) => false,
                    })
                };
                let scale = tape.scale_sd_per_mm(1000.0) > 0.0 && used(false);
                let hook = tape.hook_sd_mm() > 0.0 && used(true);
                (take(scale, 1), take(hook, 1))
            })
            .collect();
        Self {
            points,
            edges,
            sizes,
            tapes,
            count,
        }
    }
}

/// What holds a mark or edge to the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct DrawingRow {
    pub(super) unknown: usize,
    pub(super) sd: f64,
}

/// The whole network as rows of a least-squares problem.
///
/// Rows come in this order: readings; priors on marks, edges, sizes and tapes; rows that hold
/// to the drawing; rows that hold the free motions.
pub(super) struct FaceModel<'a> {
    pub(super) network: &'a Network,
    pub(super) layout: &'a Layout,
    pub(super) turns: &'a [Turns],
    /// Root mean square distance of the marks from their middle, mm.
    pub(super) reach_mm: f64,
    /// The starting unknowns: the nominal configuration.
    pub(super) nominal: &'a [f64],
    /// The motions to be held, in combinations of generators.
    pub(super) free: &'a [Coefficients],
    pub(super) drawing: &'a [DrawingRow],
    pub(super) centre: Point2<Face>,
    /// What was taken off all places for the solution; readings of coordinates have it back.
    pub(super) shift: Vector2<Face>,
}

/// The unknowns put back where they belong.
pub(super) struct State {
    pub(super) surface: Surface,
    pub(super) points: Vec<Point2<Face>>,
    /// Offset and slope of each edge.
    pub(super) edges: Vec<(f64, f64)>,
}

/// The starting unknowns.
pub(super) fn nominal(network: &Network, layout: &Layout) -> Vec<f64> {
    let mut x = vec![0.0; layout.count];
    for (at, p) in layout.points.iter().zip(&network.points) {
        if let Some(k) = *at {
            x[k] = p.start.x_mm();
            x[k + 1] = p.start.y_mm();
        }
    }
    for (at, value) in layout.sizes.iter().zip(network.surface.values()) {
        if let Some(k) = *at {
            x[k] = value;
        }
    }
    x
}

impl FaceModel<'_> {
    pub(super) fn state(&self, x: &[f64]) -> Result<State, SurfaceError> {
        let (network, layout) = (self.network, self.layout);
        let mut surface = network.surface.clone();
        if layout.sizes.iter().any(Option::is_some) {
            let mut values = surface.values();
            for (value, at) in values.iter_mut().zip(layout.sizes) {
                *value = at.map_or(*value, |k| x[k]);
            }
            surface = surface.with_values(&values)?;
        }
        let points = layout
            .points
            .iter()
            .zip(&network.points)
            .map(|(at, p)| at.map_or(p.start, |k| Point2::from_mm(x[k], x[k + 1])))
            .collect();
        let edges = layout
            .edges
            .iter()
            .map(|at| at.map_or((0.0, 0.0), |k| (x[k], x[k + 1])))
            .collect();
        Ok(State {
            surface,
            points,
            edges,
        })
    }

    /// Each combination of generators as a displacement of all unknowns, at this state.
    pub(super) fn motions(&self, state: &State, which: &[Coefficients]) -> Vec<Vec<f64>> {
        let group = Group::of(&state.surface, self.centre);
        let combine = |at: Point2<Face>, c: &Coefficients| {
            let g = group.generators(at);
            g[0] * c[0] + g[1] * c[1] + g[2] * c[2]
        };
        which
            .iter()
            .map(|c| {
                let mut out = vec![0.0; self.layout.count];
                for (at, p) in self.layout.points.iter().zip(&state.points) {
                    if let Some(k) = *at {
                        let shift = combine(*p, c);
                        out[k] = shift.x_mm();
                        out[k + 1] = shift.y_mm();
                    }
                }
                for (i, at) in self.layout.edges.iter().enumerate() {
                    let Some(k) = *at else { continue };
                    let (origin, along, left) = super::edge::frame(&self.network.edges[i]);
                    let (offset, slope) = state.edges[i];
                    let aside = |t: f64| {
                        let shift = combine(origin + along * t + left * (offset + slope * t), c);
                        left.dot(shift) - slope * along.dot(shift)
                    };
                    let (ahead, behind) = (aside(EDGE_HALF_MM), aside(-EDGE_HALF_MM));
                    out[k] = 0.5 * (ahead + behind);
                    out[k + 1] = (ahead - behind) / (2.0 * EDGE_HALF_MM);
                }
                out
            })
            .collect()
    }

    /// Rows that hold the free motions: the sum of all marks' shifts along each motion, at the
    /// nominal configuration, is nothing.
    pub(super) fn holding(&self) -> Result<Vec<Vec<f64>>, SurfaceError> {
        let state = self.state(self.nominal)?;
        let mut rows = self.motions(&state, self.free);
        for row in &mut rows {
            for at in self.layout.edges.iter().flatten() {
                row[*at] = 0.0;
                row[*at + 1] = 0.0;
            }
            let norm = libm::sqrt(row.iter().map(|x| x * x).sum::<f64>());
            if norm > 0.0 {
                for x in row.iter_mut() {
                    *x /= norm;
                }
            }
        }
        Ok(rows)
    }

    /// Standard deviation of what a reading adds on its own, mm.
    pub(super) fn own_sd_mm(&self, reading: &Reading) -> f64 {
        let marks = match reading.kind {
            ReadingKind::Straight { .. } | ReadingKind::Over { .. } => 2,
            ReadingKind::Square { .. }
            | ReadingKind::Coordinate { .. }
            | ReadingKind::Girth { .. } => 1,
            ReadingKind::Size { .. } => 0,
        };
        let own = match reading.precision {
            Precision::Sd(sd) => sd.mm() * sd.mm(),
            Precision::Tape { tape, .. } => self.network.tapes[tape].each.variance_mm2(marks),
        };
        let waviness = match reading.kind {
            ReadingKind::Square { edge, .. } => self.network.edges[edge].kind.waviness().mm(),
            _ => 0.0,
        };
        libm::sqrt(own + waviness * waviness)
    }

    /// What a reading measures, before its tape spoils it: the value, derivatives by unknowns.
    fn measured(
        &self,
        state: &State,
        k: usize,
        terms: &mut Vec<(usize, f64)>,
    ) -> Result<f64, SurfaceError> {
        let surface = &state.surface;
        let layout = self.layout;
        let sizes = |terms: &mut Vec<(usize, f64)>, d: &[f64; MAX_PARAMETERS]| {
            for (at, by) in layout.sizes.iter().zip(d) {
                terms.extend(at.map(|k| (k, *by)));
            }
        };
        let point = |terms: &mut Vec<(usize, f64)>, i: usize, d: Vector2<Face>| {
            if let Some(k) = layout.points[i] {
                terms.push((k, d.x_mm()));
                terms.push((k + 1, d.y_mm()));
            }
        };
        match self.network.readings[k].kind {
            ReadingKind::Straight { from, to } => {
                let d = surface.straight(state.points[from], state.points[to])?;
                between(terms, from, to, &d, point);
                sizes(terms, &d.d_param);
                Ok(d.mm)
            }
            ReadingKind::Over { from, to, .. } => {
                let d =
                    surface.over_surface(state.points[from], state.points[to], self.turns[k])?;
                between(terms, from, to, &d, point);
                sizes(terms, &d.d_param);
                Ok(d.mm)
            }
            ReadingKind::Square { edge, to } => {
                let (offset, slope) = state.edges[edge];
                let start = &self.network.edges[edge];
                let d = square(surface, start, offset, slope, state.points[to])?;
                point(terms, to, d.d_point);
                if let Some(k) = layout.edges[edge] {
                    terms.push((k, d.d_offset));
                    terms.push((k + 1, d.d_slope));
                }
                sizes(terms, &d.d_param);
                Ok(d.mm)
            }
            ReadingKind::Coordinate { point: i, axis } => {
                let (value, d) = match axis {
                    CoordinateAxis::U => (
                        state.points[i].x_mm() + self.shift.x_mm(),
                        Vector2::from_mm(1.0, 0.0),
                    ),
                    CoordinateAxis::V => (
                        state.points[i].y_mm() + self.shift.y_mm(),
                        Vector2::from_mm(0.0, 1.0),
                    ),
                };
                point(terms, i, d);
                Ok(value)
            }
            ReadingKind::Size { index } => {
                let value = surface.values()[index];
                let mut d = [0.0; MAX_PARAMETERS];
                d[index] = value.signum();
                sizes(terms, &d);
                Ok(value.abs())
            }
            ReadingKind::Girth { at_v } => {
                let (value, d) = girth(surface, at_v.mm());
                sizes(terms, &d);
                Ok(value)
            }
        }
    }

    pub(super) fn reading_row(
        &self,
        state: &State,
        x: &[f64],
        k: usize,
        terms: &mut Vec<(usize, f64)>,
        out: &mut Rows,
    ) -> Result<(), SurfaceError> {
        let reading = &self.network.readings[k];
        let value_mm = reading.value.mm();
        terms.clear();
        let mut mm = self.measured(state, k, terms)?;
        if let Precision::Tape { tape, hooked } = reading.precision {
            let (scale_at, hook_at) = self.layout.tapes[tape];
            let tape = &self.network.tapes[tape];
            if let Some(at) = scale_at {
                let by = tape.scale_sd_per_mm(value_mm);
                let stretch = 1.0 + x[at] * by;
                for (_, d) in terms.iter_mut() {
                    *d *= stretch;
                }
                terms.push((at, mm * by));
                mm *= stretch;
            }
            if let (Some(at), true) = (hook_at, hooked) {
                terms.push((at, tape.hook_sd_mm()));
                mm += x[at] * tape.hook_sd_mm();
            }
        }
        out.push(terms, value_mm - mm, self.own_sd_mm(reading));
        Ok(())
    }

    fn prior_rows(&self, x: &[f64], out: &mut Rows) {
        let mut hold = |at: usize, sd: f64| out.push(&[(at, 1.0)], self.nominal[at] - x[at], sd);
        for (at, p) in self.layout.points.iter().zip(&self.network.points) {
            if let (Some(k), Held::Prior { sd }) = (*at, p.held) {
                hold(k, sd.mm());
                hold(k + 1, sd.mm());
            }
        }
        for (at, e) in self.layout.edges.iter().zip(&self.network.edges) {
            if let (Some(k), Held::Prior { sd }) = (*at, e.held) {
                hold(k, sd.mm());
                hold(k + 1, sd.mm() / EDGE_HALF_MM);
            }
        }
        for (at, size) in self.layout.sizes.iter().zip(self.network.sizes) {
            if let (Some(k), SizeHeld::Prior { sd }) = (*at, size) {
                hold(k, sd);
            }
        }
        // A tape's unknowns are in their own standard deviations.
        for at in self
            .layout
            .tapes
            .iter()
            .flat_map(|(s, o)| [*s, *o])
            .flatten()
        {
            hold(at, 1.0);
        }
    }

    /// A row for each thing held to the drawing, and for each free motion.
    fn holding_rows(&self, state: &State, x: &[f64], out: &mut Rows) -> Result<(), SurfaceError> {
        if self.drawing.is_empty() && self.free.is_empty() {
            return Ok(());
        }
        let holding = self.holding()?;
        let moves = self.motions(state, self.free);
        let inverse = crossed_inverse(&holding, &moves);
        for row in self.drawing {
            // Told relative to the marks' own middle, so that the drawing never holds a motion:
            // p·(I − G (CᵀG)⁻¹ Cᵀ).
            let mut dense = vec![0.0; x.len()];
            dense[row.unknown] = 1.0;
            for (a, g) in moves.iter().enumerate() {
                for (b, c) in holding.iter().enumerate() {
                    let factor = g[row.unknown] * inverse[a][b];
                    for (d, c) in dense.iter_mut().zip(c) {
                        *d -= factor * c;
                    }
                }
            }
            let terms: Vec<(usize, f64)> = dense
                .iter()
                .copied()
                .enumerate()
                .filter(|(_, d)| d.abs() > 0.0)
                .collect();
            let misclosure = dense
                .iter()
                .zip(self.nominal)
                .zip(x)
                .map(|((d, n), x)| d * (n - x))
                .sum();
            out.push(&terms, misclosure, row.sd);
        }
        for c in &holding {
            let terms: Vec<(usize, f64)> = c
                .iter()
                .copied()
                .enumerate()
                .filter(|(_, d)| d.abs() > 0.0)
                .collect();
            let misclosure = c
                .iter()
                .zip(self.nominal)
                .zip(x)
                .map(|((c, n), x)| c * (n - x))
                .sum();
            // Any weight gives the same result; one millimetre keeps the columns alike.
            out.push(&terms, misclosure, 1.0);
        }
        Ok(())
    }
}

/// (CᵀG)⁻¹, a k×k matrix of at most three rows; its rows follow the motions.
pub(super) fn crossed_inverse(holding: &[Vec<f64>], moves: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let k = moves.len();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    // Gauss–Jordan on [CᵀG | I] with row exchange.
    let mut m: Vec<Vec<f64>> = (0..k)
        .map(|i| {
            let mut line: Vec<f64> = moves.iter().map(|g| dot(&holding[i], g)).collect();
            line.extend((0..k).map(|j| if i == j { 1.0 } else { 0.0 }));
            line
        })
        .collect();
    for c in 0..k {
        let best = (c..k).fold(c, |best, r| {
            if m[r][c].abs() > m[best][c].abs() {
                r
            } else {
                best
            }
        });
        m.swap(c, best);
        let pivot = m[c][c];
        if pivot.abs() <= 0.0 {
            continue;
        }
        for x in &mut m[c] {
            *x /= pivot;
        }
        let line = m[c].clone();
        for (r, other) in m.iter_mut().enumerate() {
            if r != c {
                let factor = other[c];
                for (x, y) in other.iter_mut().zip(&line) {
                    *x -= factor * y;
                }
            }
        }
    }
    m.iter().map(|line| line[k..].to_vec()).collect()
}

fn between(
    terms: &mut Vec<(usize, f64)>,
    from: usize,
    to: usize,
    d: &Distance,
    point: impl Fn(&mut Vec<(usize, f64)>, usize, Vector2<Face>),
) {
    point(terms, from, d.d_from);
    point(terms, to, d.d_to);
}

/// All the way round at a height, with derivatives by the sizes.
fn girth(surface: &Surface, v_mm: f64) -> (f64, [f64; MAX_PARAMETERS]) {
    if let Surface::TwoRadii(face) = surface {
        return face.girth_at(v_mm);
    }
    let values = surface.values();
    let mut d = [0.0; MAX_PARAMETERS];
    let mut radius_mm = 0.0;
    for (k, parameter) in surface.parameters().iter().enumerate() {
        d[k] = match parameter {
            Parameter::Radius | Parameter::ReferenceRadius | Parameter::AcrossRadius => 1.0,
            Parameter::UpRadius | Parameter::Scale => 0.0,
            Parameter::Taper => v_mm,
        };
        radius_mm += values[k] * d[k];
    }
    (
        TAU * radius_mm.abs(),
        d.map(|x| TAU * radius_mm.signum() * x),
    )
}

impl Model for FaceModel<'_> {
    type Error = AdjustError;

    fn unknowns(&self) -> usize {
        self.layout.count
    }

    fn scale(&self) -> Vec<f64> {
        let turn = LENGTH_STEP_MM / self.reach_mm;
        let mut scale = vec![LENGTH_STEP_MM; self.layout.count];
        for at in self.layout.edges.iter().flatten() {
            scale[*at + 1] = turn;
        }
        for (at, parameter) in self
            .layout
            .sizes
            .iter()
            .zip(self.network.surface.parameters())
        {
            if let (Some(k), Parameter::Taper | Parameter::Scale) = (*at, parameter) {
                scale[k] = turn;
            }
        }
        for at in self
            .layout
            .tapes
            .iter()
            .flat_map(|(s, o)| [*s, *o])
            .flatten()
        {
            scale[at] = 1.0;
        }
        scale
    }

    fn rows(&self, x: &[f64], out: &mut Rows) -> Result<(), AdjustError> {
        out.clear();
        let state = self.state(x)?;
        let mut terms = Vec::with_capacity(12);
        for k in 0..self.network.readings.len() {
            self.reading_row(&state, x, k, &mut terms, out)
                .map_err(|why| AdjustError::Reading { reading: k, why })?;
        }
        self.prior_rows(x, out);
        self.holding_rows(&state, x, out)?;
        Ok(())
    }
}

/// What the normal matrix still holds of the motions, taken off: G (CᵀG)⁻¹ (CᵀG)⁻ᵀ Gᵀ.
pub(super) fn take_off_motions(q: &mut Symmetric, holding: &[Vec<f64>], moves: &[Vec<f64>]) {
    let inverse = crossed_inverse(holding, moves);
    let k = moves.len();
    let n = q.size();
    // G (CᵀG)⁻¹, a column for each holding row.
    let carried: Vec<Vec<f64>> = (0..k)
        .map(|b| {
            (0..n)
                .map(|i| (0..k).map(|a| moves[a][i] * inverse[a][b]).sum())
                .collect()
        })
        .collect();
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = carried.iter().map(|c| c[i] * c[j]).sum();
            q.add(i, j, -sum);
        }
    }
}
