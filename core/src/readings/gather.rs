//! The solution put into the user's terms: places, what readings are off by, what holds what.

use super::adjust::{Solved, Task};
use super::adjusted::{Adjusted, ChiSquare, Inner, PointResult, ReadingResult, TapeResult};
use super::error::{AdjustError, NotHeld, Notice};
use super::layout::Layout;
use super::model::{DrawingRow, FaceModel};
use super::motion::Group;
use super::network::{Network, ReadingKind, SizeHeld};
use super::stance::Stood;
use crate::num::cholesky::Symmetric;
use crate::num::least_squares::Rows;
use crate::surface::{DIP_WORTH_ASKING, Turns};
use crate::units::{Angle, Length};

/// Under this redundancy nothing else checks a reading; what it is off by is rounding.
const UNCHECKED: f64 = 1e-9;

/// The solution in the user's terms.
pub(super) fn gather(
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
    let readings = reading_results(&model, &solution.rows, &q, turns);
    let weightless = readings.iter().filter(|r| !r.counts()).count();
    // Rows of the drawing and of the tapes are observations too: the test of all together counts
    // them. A reading without weight brings a row that can't be off by anything.
    let freedom = solution
        .rows
        .len()
        .saturating_sub(layout.count + weightless);
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
        stances: layout
            .stances
            .iter()
            .zip(&state.ups)
            .map(|(at, (up, _))| at.map(|at| Stood::of(at, up, &solution.x)))
            .collect(),
        spare: spare(&readings),
        readings,
        chi_square: ChiSquare::of(solution.rows.sum_of_squares(), freedom),
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

/// How many readings others check: the redundancy numbers of those with weight, summed to the
/// nearest whole (Baarda 1968: they add up to the observations beyond what was needed). What a
/// prior stands in for has next to none, so that nothing the drawing says is counted.
fn spare(readings: &[ReadingResult]) -> usize {
    let sum: f64 = readings
        .iter()
        .filter(|r| r.counts())
        .map(|r| r.redundancy)
        .sum();
    let mut whole = 0;
    let mut left = sum + 0.5;
    while left >= 1.0 {
        left -= 1.0;
        whole += 1;
    }
    whole
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
