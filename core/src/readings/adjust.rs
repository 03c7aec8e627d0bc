//! The adjustment itself: solve, find what is not held, hold it by the drawing, look again.

use super::adjusted::{Adjusted, ChiSquare, Inner, PointResult, ReadingResult, TapeResult};
use super::error::{AdjustError, NotHeld, Notice, Unusable};
use super::model::{DrawingRow, EDGE_HALF_MM, FaceModel, Layout, nominal, take_off_motions};
use super::motion::{Coefficients, Group};
use super::network::{Held, Network, Options, Precision, ReadingKind, SizeHeld};
use super::rank::{free_motions, name_free};
use super::start::other_starts;
use crate::frames::{Face, Point2, Vector2};
use crate::num::cholesky::Symmetric;
use crate::num::least_squares::{Model, Rows, Solution, Status, Stop, cofactors, minimise};
use crate::num::small::eigen2;
use crate::surface::{DIP_WORTH_ASKING, Parameter, Shape, Surface, Turns};
use crate::units::{Angle, Length};

/// A reading further off than this many standard deviations is tried the other way round
/// (design/11, *Branches*).
const OTHER_WAY_ROUND: f64 = 10.0;

/// A mark is *not held* where its deviation exceeds this share of the drawing's spread
/// (design/11, *Ranks*).
const NOT_HELD: f64 = 1.0 / 3.0;

/// A step under 5e-9 mm moves nothing that is asked for, three digits under the accuracy promised.
const STEP: f64 = 1e-9;

/// Under this redundancy nothing else checks a reading; what it is off by is rounding.
const UNCHECKED: f64 = 1e-9;

/// Adjusts the readings of one face: places with covariance, what each reading is off by, and
/// what holds what.
///
/// # Errors
/// [`AdjustError`] for input that can't be meant, a face that refuses a reading, or, when no
/// drawing may hold it, something that no reading holds.
pub fn adjust(network: &Network, options: &Options) -> Result<Adjusted, AdjustError> {
    validate(network)?;
    let (network, shift) = reduced(network);
    let layout = Layout::of(&network);
    if layout.count == 0 {
        return Err(AdjustError::NothingToFind);
    }
    let x0 = nominal(&network, &layout);
    let mut turns: Vec<Turns> = network
        .readings
        .iter()
        .map(|r| {
            if let ReadingKind::Over { turns, .. } = r.kind {
                turns
            } else {
                0
            }
        })
        .collect();
    let mut notices = Vec::new();
    let mut task = Task::new(&network, &layout, &x0, options);
    task.find_free_motions(&turns)?;
    let mut solved = task.from_starts(&turns, &mut notices)?;
    if other_ways_round(&network, &task, &solved, &mut turns, &mut notices) {
        solved = task.from(&turns, &solved.solution.x)?;
    }
    let mut adjusted = gather(&task, solved, &turns, notices)?;
    unshift(&mut adjusted, shift);
    Ok(adjusted)
}

/// Everything that stays the same while a network is solved.
struct Task<'a> {
    network: &'a Network,
    layout: &'a Layout,
    nominal: &'a [f64],
    options: &'a Options,
    centre: Point2<Face>,
    reach_mm: f64,
    free: Vec<Coefficients>,
}

struct Solved {
    solution: Solution,
    q: Symmetric,
    drawing: Vec<DrawingRow>,
}

impl<'a> Task<'a> {
    fn new(
        network: &'a Network,
        layout: &'a Layout,
        nominal: &'a [f64],
        options: &'a Options,
    ) -> Self {
        let centre = middle(network);
        let count = network.points.len().max(1) as f64;
        let square: f64 = network
            .points
            .iter()
            .map(|p| (p.start - centre).dot(p.start - centre))
            .sum();
        let reach_mm = libm::sqrt(square / count).max(1.0);
        Self {
            network,
            layout,
            nominal,
            options,
            centre,
            reach_mm,
            free: Vec::new(),
        }
    }

    fn model<'b>(&'b self, turns: &'b [Turns], drawing: &'b [DrawingRow]) -> FaceModel<'b> {
        FaceModel {
            network: self.network,
            layout: self.layout,
            turns,
            reach_mm: self.reach_mm,
            nominal: self.nominal,
            free: &self.free,
            drawing,
            centre: self.centre,
        }
    }

    fn find_free_motions(&mut self, turns: &[Turns]) -> Result<(), AdjustError> {
        self.free = free_motions(&self.model(turns, &[]))?;
        Ok(())
    }

    fn from_starts(
        &self,
        turns: &[Turns],
        notices: &mut Vec<Notice>,
    ) -> Result<Solved, AdjustError> {
        let first = self.from(turns, self.nominal);
        if matches!(&first, Ok(s) if s.solution.status == Status::Converged)
            || matches!(first, Err(AdjustError::NotHeld(_)))
        {
            return first;
        }
        for (tried, start) in other_starts(self.network, self.layout, self.nominal)
            .iter()
            .enumerate()
        {
            if let Ok(next) = self.from(turns, start)
                && next.solution.status == Status::Converged
            {
                notices.push(Notice::StartedElsewhere { tried: tried + 1 });
                return Ok(next);
            }
        }
        first
    }

    /// Solves, and holds by the drawing what the readings hold badly or not at all, until
    /// nothing more needs it.
    fn from(&self, turns: &[Turns], start: &[f64]) -> Result<Solved, AdjustError> {
        let mut drawing: Vec<DrawingRow> = Vec::new();
        let stop = Stop {
            most_steps: self.options.most_steps,
            step: STEP,
        };
        loop {
            let model = self.model(turns, &drawing);
            let solution = minimise(&model, start, &stop)?;
            if solution.status == Status::BadlyPosed {
                let free = solution.free.clone();
                self.hold(turns, &solution, &free, &mut drawing)?;
                continue;
            }
            let state = model.state(&solution.x)?;
            match cofactors(&solution.rows, &model.scale()) {
                Err(free) => self.hold(turns, &solution, &free, &mut drawing)?,
                Ok(mut q) => {
                    take_off_motions(
                        &mut q,
                        &model.holding()?,
                        &model.motions(&state, &self.free),
                    );
                    let weak = self.weak_rows(&q, &drawing);
                    if weak.is_empty() {
                        return Ok(Solved {
                            solution,
                            q,
                            drawing,
                        });
                    }
                    drawing.extend(weak);
                }
            }
        }
    }

    /// Adds rows that hold what a free direction moves, or says what it is.
    fn hold(
        &self,
        turns: &[Turns],
        solution: &Solution,
        free: &[Vec<f64>],
        drawing: &mut Vec<DrawingRow>,
    ) -> Result<(), AdjustError> {
        let model = self.model(turns, drawing);
        let named = name_free(&model, &solution.x, free)?;
        let refuse = || Err(AdjustError::NotHeld(named.clone()));
        let Some(spread) = self.options.drawing_spread else {
            return refuse();
        };
        let before = drawing.len();
        for what in &named {
            let new = match *what {
                NotHeld::Point { index, .. } => {
                    self.layout.points[index].map(|k| [(k, spread.mm()), (k + 1, spread.mm())])
                }
                NotHeld::Edge { index } => self.layout.edges[index]
                    .map(|k| [(k, spread.mm()), (k + 1, spread.mm() / EDGE_HALF_MM)]),
                NotHeld::Size { .. } => return refuse(),
            };
            for (unknown, sd) in new.into_iter().flatten() {
                if drawing.iter().all(|d| d.unknown != unknown) {
                    drawing.push(DrawingRow { unknown, sd });
                }
            }
        }
        if drawing.len() == before {
            refuse()
        } else {
            Ok(())
        }
    }

    fn weak_rows(&self, q: &Symmetric, drawing: &[DrawingRow]) -> Vec<DrawingRow> {
        let Some(spread) = self.options.drawing_spread else {
            return Vec::new();
        };
        let limit = NOT_HELD * spread.mm();
        let mut out = Vec::new();
        for (at, p) in self.layout.points.iter().zip(&self.network.points) {
            let (Some(k), Held::Free) = (*at, p.held) else {
                continue;
            };
            let [_, (worst, _)] = eigen2(q.get(k, k), q.get(k + 1, k), q.get(k + 1, k + 1));
            if worst > limit * limit && drawing.iter().all(|d| d.unknown != k) {
                out.extend([k, k + 1].map(|unknown| DrawingRow {
                    unknown,
                    sd: spread.mm(),
                }));
            }
        }
        out
    }
}

fn validate(network: &Network) -> Result<(), AdjustError> {
    let positive = |l: Length| l.mm() > 0.0 && l.mm().is_finite();
    for (index, p) in network.points.iter().enumerate() {
        let sound = if let Held::Prior { sd } = p.held {
            positive(sd)
        } else {
            true
        };
        if !p.start.is_finite() || !sound {
            return Err(AdjustError::Start {
                what: "mark",
                index,
            });
        }
    }
    for (index, e) in network.edges.iter().enumerate() {
        let sound = if let Held::Prior { sd } = e.held {
            positive(sd)
        } else {
            true
        };
        if !e.through.is_finite() || !e.along.rad().is_finite() || !sound {
            return Err(AdjustError::Start {
                what: "edge",
                index,
            });
        }
    }
    for (index, size) in network.sizes.iter().enumerate() {
        if let SizeHeld::Prior { sd } = *size
            && !(sd > 0.0 && sd.is_finite())
        {
            return Err(AdjustError::Start {
                what: "size",
                index,
            });
        }
    }
    (0..network.readings.len()).try_for_each(|k| validate_reading(network, k))
}

fn validate_reading(network: &Network, k: usize) -> Result<(), AdjustError> {
    let reading = &network.readings[k];
    let value_mm = reading.value.mm();
    let unusable = |why: Unusable| {
        Err(AdjustError::Unusable {
            reading: k,
            value_mm,
            why,
        })
    };
    let among = |what: &'static str, index: usize, count: usize| {
        if index < count {
            Ok(())
        } else {
            Err(AdjustError::Missing {
                reading: k,
                what,
                index,
            })
        }
    };
    let mark = |index: usize| among("mark", index, network.points.len());
    let positive = match reading.kind {
        ReadingKind::Straight { from, to } | ReadingKind::Over { from, to, .. } => {
            mark(from)?;
            mark(to)?;
            if from == to {
                return unusable(Unusable::SameMark);
            }
            true
        }
        ReadingKind::Square { edge, to } => {
            among("edge", edge, network.edges.len())?;
            mark(to)?;
            false
        }
        ReadingKind::Coordinate { point, .. } => {
            mark(point)?;
            false
        }
        ReadingKind::Size { index } => {
            among("size", index, network.surface.parameters().len())?;
            if network.surface.parameters()[index] == Parameter::Taper {
                return unusable(Unusable::Taper);
            }
            true
        }
        ReadingKind::Girth { .. } => {
            if matches!(network.surface, Surface::Flat(_)) {
                return unusable(Unusable::NotRound);
            }
            true
        }
    };
    if !value_mm.is_finite() || (positive && value_mm <= 0.0) {
        return unusable(Unusable::NotPositive);
    }
    let own_mm2 = match reading.precision {
        Precision::Sd(sd) => sd.mm(),
        Precision::Tape { tape, .. } => {
            among("tape", tape, network.tapes.len())?;
            network.tapes[tape].each.variance_mm2(0)
        }
    };
    if own_mm2 > 0.0 && own_mm2.is_finite() {
        Ok(())
    } else {
        unusable(Unusable::NoPrecision)
    }
}

fn middle(network: &Network) -> Point2<Face> {
    let count = network.points.len().max(1) as f64;
    let sum = network
        .points
        .iter()
        .fold(Vector2::ZERO, |s, p| s + p.start.from_origin());
    Point2::ORIGIN + sum * (1.0 / count)
}

/// On a flat face, where only differences count, the marks are brought to the origin, so that
/// national coordinates lose no digits.
fn reduced(network: &Network) -> (Network, Vector2<Face>) {
    let mut network = network.clone();
    if !matches!(network.surface, Surface::Flat(_)) {
        return (network, Vector2::ZERO);
    }
    let shift = middle(&network).from_origin();
    for p in &mut network.points {
        p.start = p.start - shift;
    }
    for e in &mut network.edges {
        e.through = e.through - shift;
    }
    for r in &mut network.readings {
        if let ReadingKind::Coordinate { axis, .. } = r.kind {
            let by_mm = match axis {
                super::CoordinateAxis::U => shift.x_mm(),
                super::CoordinateAxis::V => shift.y_mm(),
            };
            r.value = r.value - Length::from_mm(by_mm);
        }
    }
    (network, shift)
}

fn unshift(adjusted: &mut Adjusted, shift: Vector2<Face>) {
    for p in &mut adjusted.points {
        p.at = p.at + shift;
    }
    for e in adjusted
        .edges
        .iter_mut()
        .chain(&mut adjusted.inner.network.edges)
    {
        e.through = e.through + shift;
    }
    for p in &mut adjusted.inner.network.points {
        p.start = p.start + shift;
    }
    if let Group::Plane { centre } = &mut adjusted.inner.group {
        *centre = *centre + shift;
    }
}

/// Tries readings round a closed face the other way where they are far off; true if any changed.
fn other_ways_round(
    network: &Network,
    task: &Task<'_>,
    solved: &Solved,
    turns: &mut [Turns],
    notices: &mut Vec<Notice>,
) -> bool {
    let Ok(state) = task.model(turns, &[]).state(&solved.solution.x) else {
        return false;
    };
    if state.surface.girth().is_none() {
        return false;
    }
    let mut changed = false;
    let off = solved.solution.rows.misclosures().to_vec();
    for (k, reading) in network.readings.iter().enumerate() {
        let ReadingKind::Over {
            from,
            to,
            turns: written,
        } = reading.kind
        else {
            continue;
        };
        if off[k].abs() <= OTHER_WAY_ROUND {
            continue;
        }
        let (a, b) = (state.points[from], state.points[to]);
        let near = state.surface.nearest_turns(a, b);
        let mut best = (off[k].abs(), turns[k]);
        for t in [near, near - 1, near + 1] {
            if let Ok(d) = state.surface.over_surface(a, b, t) {
                let misfit =
                    ((reading.value.mm() - d.mm) / task.model(turns, &[]).own_sd_mm(reading)).abs();
                // Both ways round can be equal to the last digit: the first one found stays.
                if misfit < 0.5 * best.0 {
                    best = (misfit, t);
                }
            }
        }
        if best.1 != turns[k] {
            turns[k] = best.1;
            notices.push(Notice::OtherWayRound {
                reading: k,
                written,
                taken: best.1,
            });
            changed = true;
        }
    }
    changed
}

fn gather(
    task: &Task<'_>,
    solved: Solved,
    turns: &[Turns],
    mut notices: Vec<Notice>,
) -> Result<Adjusted, AdjustError> {
    let Solved {
        solution,
        q,
        drawing,
    } = solved;
    let (network, layout) = (task.network, task.layout);
    let model = task.model(turns, &drawing);
    let state = model.state(&solution.x)?;
    let spare = (solution.rows.len()).saturating_sub(layout.count);
    let readings = reading_results(&model, &solution.rows, &q, turns);
    for (k, reading) in network.readings.iter().enumerate() {
        if let ReadingKind::Straight { from, to } = reading.kind {
            let by = state.surface.dip(state.points[from], state.points[to])?;
            if by > DIP_WORTH_ASKING {
                notices.push(Notice::LineDips { reading: k, by });
            }
        }
    }
    let group = Group::of(&state.surface, task.centre);
    let mut adjusted = Adjusted {
        status: solution.status,
        steps: solution.steps,
        surface: state.surface,
        points: state
            .points
            .iter()
            .map(|at| PointResult {
                at: *at,
                worst: Length::ZERO,
                worst_along: Angle::ZERO,
                by_drawing: 0.0,
            })
            .collect(),
        edges: network
            .edges
            .iter()
            .zip(&state.edges)
            .map(|(e, (offset, slope))| {
                let (origin, _, left) = super::edge::frame(e);
                let along = Angle::from_rad(e.along.rad() + libm::atan(*slope));
                super::EdgeStart {
                    through: origin + left * *offset,
                    along,
                    ..*e
                }
            })
            .collect(),
        tapes: tape_results(network, layout, &solution.x, &q),
        readings,
        spare,
        chi_square: ChiSquare::of(solution.rows.sum_of_squares(), spare),
        motions: task
            .free
            .iter()
            .map(|c| group.name(c, task.reach_mm))
            .collect(),
        notices,
        inner: Inner {
            network: network.clone(),
            layout: layout.clone(),
            group,
            free: task.free.clone(),
            q: q.clone(),
            rows: solution.rows,
            solved: q,
        },
    };
    say_how_held(&mut adjusted, task, &drawing);
    Ok(adjusted)
}

fn reading_results(
    model: &FaceModel<'_>,
    rows: &Rows,
    q: &Symmetric,
    turns: &[Turns],
) -> Vec<ReadingResult> {
    let readings = model.network.readings.iter().enumerate();
    readings
        .map(|(k, reading)| {
            let own_mm = model.own_sd_mm(reading);
            let off = -rows.misclosures()[k];
            let redundancy = (1.0 - rows.form(k, q, k)).clamp(0.0, 1.0);
            ReadingResult {
                off_by: Length::from_mm(off * own_mm),
                own: Length::from_mm(own_mm),
                redundancy,
                w: (redundancy > UNCHECKED).then(|| off / libm::sqrt(redundancy)),
                turns: turns[k],
            }
        })
        .collect()
}

fn tape_results(network: &Network, layout: &Layout, x: &[f64], q: &Symmetric) -> Vec<TapeResult> {
    let found =
        |at: Option<usize>| at.map_or((0.0, 0.0), |k| (x[k], libm::sqrt(q.get(k, k).max(0.0))));
    layout
        .tapes
        .iter()
        .zip(&network.tapes)
        .map(|((scale, hook), tape)| {
            let (value, sd) = found(*hook);
            let unit = Length::from_mm(tape.hook_sd_mm());
            TapeResult {
                scale: found(*scale),
                hook: (unit * value, unit * sd),
            }
        })
        .collect()
}

fn say_how_held(adjusted: &mut Adjusted, task: &Task<'_>, drawing: &[DrawingRow]) {
    let spread_mm = task.options.drawing_spread.map_or(0.0, Length::mm);
    let layout = task.layout;
    let drawn = |k: Option<usize>| k.is_some_and(|k| drawing.iter().any(|d| d.unknown == k));
    adjusted.describe_points(|i, variance_mm2| {
        if drawn(layout.points[i]) {
            (variance_mm2 / (spread_mm * spread_mm)).min(1.0)
        } else {
            0.0
        }
    });
    for (index, p) in adjusted.points.iter().enumerate() {
        if p.by_drawing > 0.5 {
            let remedy = super::rank::remedy(&adjusted.points, index, p.worst_along, task.reach_mm);
            adjusted.notices.push(Notice::HeldByDrawing(NotHeld::Point {
                index,
                along: Some(p.worst_along),
                would_hold: remedy,
            }));
        }
        if let Some(tolerance) = task.options.tolerance
            && p.worst > tolerance
        {
            let (along, sd) = (p.worst_along, p.worst);
            adjusted.notices.push(Notice::Weak { index, along, sd });
        }
    }
    let q = &adjusted.inner.q;
    for (index, at) in layout.edges.iter().enumerate() {
        let share = at.map_or(0.0, |k| q.get(k, k) / (spread_mm * spread_mm));
        if drawn(*at) && share > 0.5 {
            adjusted
                .notices
                .push(Notice::HeldByDrawing(NotHeld::Edge { index }));
        }
    }
    for (index, (at, size)) in layout.sizes.iter().zip(task.network.sizes).enumerate() {
        if let (Some(k), SizeHeld::Prior { sd }) = (*at, size)
            && q.get(k, k) > 0.5 * sd * sd
        {
            adjusted
                .notices
                .push(Notice::HeldByDrawing(NotHeld::Size { index }));
        }
    }
}
