//! Observation equations: what each reading would be, with all its derivatives.

use super::edge::square;
use super::error::AdjustError;
use super::girth::girth;
use super::layout::Layout;
use super::motion::{Coefficients, Group};
use super::network::{CoordinateAxis, Held, Network, Precision, Reading, ReadingKind, SizeHeld};
use super::stance::{self, Levelled, Up};
use crate::frames::{Face, Point2, Vector2};
use crate::num::cholesky::Symmetric;
use crate::num::least_squares::{Model, Rows};
use crate::surface::{Distance, MAX_PARAMETERS, Parameter, Shape, Surface, SurfaceError, Turns};

/// A unit step of any length among the unknowns (design/11, *Ranks*).
pub(super) const LENGTH_STEP_MM: f64 = 5.0;

/// Half the length over which an edge's prior deviation also bounds its slope, mm.
pub(super) const EDGE_HALF_MM: f64 = 500.0;

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
    /// Up of each stance, and the height of its level line.
    pub(super) ups: Vec<(Up, f64)>,
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
        let ups = layout
            .stances
            .iter()
            .zip(&network.stances)
            .map(|(at, stance)| match at {
                Some(at) => (
                    Up::of(&surface, x[at.turn], x[at.lean]),
                    at.line.map_or(0.0, |k| x[k]),
                ),
                None => (Up::of(&surface, stance.turn.rad(), 0.0), 0.0),
            })
            .collect();
        Ok(State {
            surface,
            points,
            edges,
            ups,
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
                    let half_mm = super::edge::looked_at_mm(&group);
                    let aside = |t: f64| {
                        let shift = combine(origin + along * t + left * (offset + slope * t), c);
                        left.dot(shift) - slope * along.dot(shift)
                    };
                    let (ahead, behind) = (aside(half_mm), aside(-half_mm));
                    out[k] = 0.5 * (ahead + behind);
                    out[k + 1] = (ahead - behind) / (2.0 * half_mm);
                }
                // Up goes with the marks: no reading sees that both are turned together.
                let (spin, shift) = group.in_space(&state.surface, c);
                for (at, (up, _)) in self.layout.stances.iter().zip(&state.ups) {
                    let Some(at) = at else { continue };
                    let [turn, lean] = up.unknowns_of(spin.cross(up.at));
                    (out[at.turn], out[at.lean]) = (turn, lean);
                    if let Some(line) = at.line {
                        out[line] = up.at.dot(shift);
                    }
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
            for at in self.layout.stances.iter().flatten() {
                row[at.turn] = 0.0;
                row[at.lean] = 0.0;
                if let Some(line) = at.line {
                    row[line] = 0.0;
                }
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
            ReadingKind::Straight { .. }
            | ReadingKind::Over { .. }
            | ReadingKind::Level { .. }
            | ReadingKind::Plumb { .. } => 2,
            ReadingKind::Square { .. }
            | ReadingKind::Coordinate { .. }
            | ReadingKind::Height { .. }
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
            ReadingKind::Level { from, to, stance } => {
                let (up, _) = &state.ups[stance];
                let d = stance::level(surface, up, state.points[from], state.points[to])?;
                self.levelled(terms, stance, Some(from), to, &d);
                Ok(d.mm)
            }
            ReadingKind::Plumb { high, low, stance } => {
                let (up, _) = &state.ups[stance];
                // One stands square to the face as drawn: where exactly moves nothing that is read.
                let normal = (self.network.surface).normal(self.network.points[high].start)?;
                let d = stance::plumb(surface, up, normal, state.points[high], state.points[low])?;
                self.levelled(terms, stance, Some(high), low, &d);
                Ok(d.mm)
            }
            ReadingKind::Height { of, stance } => {
                let (up, line_mm) = &state.ups[stance];
                let d = stance::height(surface, up, state.points[of])?;
                self.levelled(terms, stance, None, of, &d);
                if let Some(line) = layout.stances[stance].and_then(|at| at.line) {
                    terms.push((line, -1.0));
                }
                Ok(d.mm - line_mm)
            }
        }
    }

    /// Derivatives of what was read against up.
    fn levelled(
        &self,
        terms: &mut Vec<(usize, f64)>,
        stance: usize,
        from: Option<usize>,
        to: usize,
        d: &Levelled,
    ) {
        let mut mark = |i: usize, d: [f64; 2]| {
            if let Some(k) = self.layout.points[i] {
                terms.extend([(k, d[0]), (k + 1, d[1])]);
            }
        };
        if let (Some(from), Some(by)) = (from, d.d_from) {
            mark(from, by);
        }
        mark(to, d.d_to);
        for (at, by) in self.layout.sizes.iter().zip(d.d_param) {
            terms.extend(at.map(|k| (k, by)));
        }
        if let Some(at) = self.layout.stances[stance] {
            terms.extend([(at.turn, d.by_turn), (at.lean, d.by_lean)]);
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
            if let (Some(k), Some(sd)) = (*at, e.slope_sd) {
                hold(k + 1, sd);
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

    /// What readings and priors on marks see: by these a motion is free or not.
    pub(super) fn seen_rows(&self, x: &[f64], out: &mut Rows) -> Result<(), AdjustError> {
        out.clear();
        let state = self.state(x)?;
        let mut terms = Vec::with_capacity(12);
        for k in 0..self.network.readings.len() {
            self.reading_row(&state, x, k, &mut terms, out)
                .map_err(|why| AdjustError::Reading { reading: k, why })?;
        }
        self.prior_rows(x, out);
        Ok(())
    }

    /// What is known beforehand of how the casting stood. It holds no mark: up goes with them.
    fn stance_rows(&self, x: &[f64], out: &mut Rows) {
        let [turn, lean, line] = stance::spread(&self.network.surface);
        for at in self.layout.stances.iter().flatten() {
            let all = [Some((at.turn, turn)), Some((at.lean, lean))];
            for (k, sd) in all
                .into_iter()
                .chain([at.line.map(|k| (k, line))])
                .flatten()
            {
                out.push(&[(k, 1.0)], self.nominal[k] - x[k], sd);
            }
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
        for at in self.layout.stances.iter().flatten() {
            (scale[at.turn], scale[at.lean]) = (turn, turn);
        }
        scale
    }

    fn rows(&self, x: &[f64], out: &mut Rows) -> Result<(), AdjustError> {
        self.seen_rows(x, out)?;
        self.stance_rows(x, out);
        Ok(self.holding_rows(&self.state(x)?, x, out)?)
    }
}

/// What the normal matrix still holds of the motions, taken off: Q − QC (CᵀQC)⁻¹ CᵀQ.
///
/// With Q = (N + C Cᵀ)⁻¹ that is the covariance where the motions are held exactly (a conditional
/// covariance, which no direction can be known better by than exactly). Where the readings do not see
/// the motions at all (N G = 0) it is Q − G (CᵀG)⁻¹ (CᵀG)⁻ᵀ Gᵀ; where they see them faintly that would
/// take off more than the holding rows left.
pub(super) fn take_off_motions(q: &mut Symmetric, holding: &[Vec<f64>]) {
    let k = holding.len();
    // QC, a column for each holding row.
    let carried: Vec<Vec<f64>> = holding.iter().map(|c| q.times(c)).collect();
    // With G the columns of QC, (CᵀG)⁻¹ is (CᵀQC)⁻¹.
    let inverse = crossed_inverse(holding, &carried);
    let weighed: Vec<Vec<f64>> = (0..k)
        .map(|a| {
            (0..q.size())
                .map(|i| (0..k).map(|b| inverse[a][b] * carried[b][i]).sum())
                .collect()
        })
        .collect();
    for i in 0..q.size() {
        for j in 0..=i {
            let sum: f64 = (weighed.iter().zip(&carried))
                .map(|(w, c)| w[i] * c[j])
                .sum();
            q.add(i, j, -sum);
        }
    }
}
