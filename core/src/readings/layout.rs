//! Where each unknown of a network stands in its solution, and what it starts from.

use super::network::{Held, Network, Precision, ReadingKind, SizeHeld};
use super::stance::StanceAt;
use crate::surface::{MAX_PARAMETERS, Shape};

/// Where each unknown stands in the solution.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub(super) points: Vec<Option<usize>>,
    pub(super) edges: Vec<Option<usize>>,
    pub(super) sizes: [Option<usize>; MAX_PARAMETERS],
    /// Scale and hook of each tape, where there is anything to know.
    pub(super) tapes: Vec<(Option<usize>, Option<usize>)>,
    /// The unknowns of each stance that something was read in.
    pub(super) stances: Vec<Option<StanceAt>>,
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
        let stances = (0..network.stances.len())
            .map(|k| {
                let used = |height: bool| {
                    network.readings.iter().any(|r| match r.kind {
                        ReadingKind::Level { stance, .. } | ReadingKind::Plumb { stance, .. } => {
                            stance == k && !height
                        }
                        ReadingKind::Height { stance, .. } => stance == k,
                        _ => false,
                    })
                };
                let turn = take(used(false), 2)?;
                Some(StanceAt {
                    turn,
                    lean: turn + 1,
                    line: take(used(true), 1),
                })
            })
            .collect();
        Self {
            points,
            edges,
            sizes,
            tapes,
            stances,
            count,
        }
    }
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
    for (at, stance) in layout.stances.iter().zip(&network.stances) {
        if let Some(at) = at {
            x[at.turn] = stance.turn.rad();
        }
    }
    x
}
