//! The adjustment itself: solve, find what is not held, hold it by the drawing, look again.

use super::adjusted::Adjusted;
use super::error::{AdjustError, NotHeld, Notice};
use super::gather::gather;
use super::layout::{Layout, nominal};
use super::model::{DrawingRow, EDGE_HALF_MM, FaceModel, take_off_motions};
use super::motion::{Coefficients, Group};
use super::network::{Held, Network, Options, ReadingKind};
use super::rank::{free_motions, name_free};
use super::start::other_starts;
use super::validate::validate;
use crate::frames::{Face, Point2, Vector2};
use crate::num::cholesky::Symmetric;
use crate::num::least_squares::{Solution, Status, Stop, minimise};
use crate::num::small::eigen2;
use crate::surface::{Shape, Surface, Turns};

/// A reading further off than this many standard deviations is tried the other way round
/// (design/11, *Branches*).
const OTHER_WAY_ROUND: f64 = 10.0;

/// A mark is *not held* where its deviation exceeds this share of the drawing's spread
/// (design/11, *Ranks*).
const NOT_HELD: f64 = 1.0 / 3.0;

/// A casting that leans back and one that leans forward shorten their heights alike: both are tried,
/// from about the lean that is usual (`stance`), rad.
const OTHER_LEANS: [f64; 2] = [-0.3, 0.3];

/// Another fit counts only if its sum of squares is less by more, so that machines agree.
pub(super) const CLEARLY_LESS: f64 = 1e-3;

/// A step under 5e-9 mm moves nothing that is asked for, three digits under the accuracy promised.
const STEP: f64 = 1e-9;

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
    let mut task = Task::new(&network, &layout, &x0, options, shift);
    task.find_free_motions(&turns)?;
    let mut solved = task.solve_anywhere(&turns, &mut notices)?;
    if let Some(other) = other_ways_round(&task, &solved, &turns)
        && let Ok(second) = task.solve_from(&other, task.nominal)
        && second.sum_of_squares() < solved.sum_of_squares()
    {
        for (k, reading) in network.readings.iter().enumerate() {
            if let ReadingKind::Over { turns: written, .. } = reading.kind
                && other[k] != turns[k]
            {
                notices.push(Notice::OtherWayRound {
                    reading: k,
                    written,
                    taken: other[k],
                });
            }
        }
        (turns, solved) = (other, second);
    }
    solved = task.leaning_otherwise(solved, &turns);
    let mut adjusted = gather(&task, solved, &turns, notices)?;
    unshift(&mut adjusted, shift);
    Ok(adjusted)
}

/// Everything that stays the same while a network is solved.
pub(super) struct Task<'a> {
    pub(super) network: &'a Network,
    pub(super) layout: &'a Layout,
    nominal: &'a [f64],
    pub(super) options: &'a Options,
    pub(super) centre: Point2<Face>,
    shift: Vector2<Face>,
    pub(super) reach_mm: f64,
    pub(super) free: Vec<Coefficients>,
}

/// A solution with its covariance and what had to be held to the drawing.
pub(super) struct Solved {
    pub(super) solution: Solution,
    pub(super) q: Symmetric,
    pub(super) drawing: Vec<DrawingRow>,
}

impl Solved {
    fn sum_of_squares(&self) -> f64 {
        self.solution.rows.sum_of_squares()
    }
}

impl<'a> Task<'a> {
    fn new(
        network: &'a Network,
        layout: &'a Layout,
        nominal: &'a [f64],
        options: &'a Options,
        shift: Vector2<Face>,
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
            shift,
            reach_mm,
            free: Vec::new(),
        }
    }

    pub(super) fn model<'b>(
        &'b self,
        turns: &'b [Turns],
        drawing: &'b [DrawingRow],
    ) -> FaceModel<'b> {
        FaceModel {
            network: self.network,
            layout: self.layout,
            turns,
            reach_mm: self.reach_mm,
            nominal: self.nominal,
            free: &self.free,
            drawing,
            centre: self.centre,
            shift: self.shift,
        }
    }

    fn find_free_motions(&mut self, turns: &[Turns]) -> Result<(), AdjustError> {
        self.free = free_motions(&self.model(turns, &[]), self.options.weak_motion)?;
        Ok(())
    }

    fn solve_anywhere(
        &self,
        turns: &[Turns],
        notices: &mut Vec<Notice>,
    ) -> Result<Solved, AdjustError> {
        let first = self.solve_from(turns, self.nominal);
        if matches!(&first, Ok(s) if s.solution.status == Status::Converged)
            || matches!(first, Err(AdjustError::NotHeld(_)))
        {
            return first;
        }
        for (tried, start) in other_starts(self.network, self.layout, self.nominal)
            .iter()
            .enumerate()
        {
            if let Ok(next) = self.solve_from(turns, start)
                && next.solution.status == Status::Converged
            {
                notices.push(Notice::StartedElsewhere { tried: tried + 1 });
                return Ok(next);
            }
        }
        first
    }

    /// The best fit over which way the casting leant each time: on a round face every lean has a rival
    /// that fits nearly as well, and the way from upright leads to one of both.
    fn leaning_otherwise(&self, mut best: Solved, turns: &[Turns]) -> Solved {
        if matches!(self.network.surface, Surface::Flat(_)) {
            return best;
        }
        for at in self.layout.stances.iter().flatten() {
            for lean in OTHER_LEANS {
                let mut start = best.solution.x.clone();
                start[at.lean] = lean;
                let Ok(other) = self.solve_from(turns, &start) else {
                    continue;
                };
                let settled = |s: &Solved| s.solution.status == Status::Converged;
                let better = other.sum_of_squares() < best.sum_of_squares() - CLEARLY_LESS;
                if settled(&other) && (better || !settled(&best)) {
                    best = other;
                }
            }
        }
        best
    }

    /// Solves, and holds by the drawing what the readings hold badly or not at all, until
    /// nothing more needs it.
    fn solve_from(&self, turns: &[Turns], start: &[f64]) -> Result<Solved, AdjustError> {
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
            match solution.covariance() {
                Err(free) => self.hold(turns, &solution, &free, &mut drawing)?,
                Ok(mut q) => {
                    take_off_motions(&mut q, &model.holding()?);
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

/// The ways round that the nominal places suggest, where some reading is far off and they are
/// not the ways already taken.
///
/// The adjusted places are no guide here: a reading taken the wrong way round has bent them.
fn other_ways_round(task: &Task<'_>, solved: &Solved, turns: &[Turns]) -> Option<Vec<Turns>> {
    let off = solved.solution.rows.misclosures();
    let far = |k: usize| off.get(k).is_some_and(|m| m.abs() > OTHER_WAY_ROUND);
    if !(0..turns.len()).any(far) {
        return None;
    }
    let model = task.model(turns, &[]);
    let state = model.state(task.nominal).ok()?;
    state.surface.girth()?;
    let mut other = turns.to_vec();
    for (k, reading) in task.network.readings.iter().enumerate() {
        let ReadingKind::Over { from, to, .. } = reading.kind else {
            continue;
        };
        let (a, b) = (state.points[from], state.points[to]);
        let misfit = |t: Turns| {
            let d = state.surface.over_surface(a, b, t).ok()?;
            Some((reading.value.mm() - d.mm).abs())
        };
        let near = state.surface.nearest_turns(a, b);
        let mut best = (misfit(turns[k]).unwrap_or(f64::INFINITY), turns[k]);
        for t in [near, near - 1, near + 1] {
            // Both ways can be equal to the last digit: the one written stays.
            if let Some(misfit) = misfit(t).filter(|m| *m < 0.5 * best.0) {
                best = (misfit, t);
            }
        }
        other[k] = best.1;
    }
    (other != turns).then_some(other)
}
