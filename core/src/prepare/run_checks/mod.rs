//! What the checks of a feature say together over the run.
//!
//! ```text
//!  newest finding of each piece ─ order.rs ──▶ in the order of pulls, or of pieces
//!                               ─ divides.rs ▶ what happened meanwhile: mould repaired, another template, another issue
//!                               ─ words.rs ──▶ drifting, stepped, unlike its neighbours, room inside the limit
//!  pairs ─────────────────────── sides.rs ──▶ left against right over the run
//!  readings of castings ──────── age.rs ────▶ shrinkage, and what it does with age
//!  all of it ─────────────────── overview.rs ▶ who is not checked, what is outside, what can't be told
//! ```

pub(super) mod age;
mod divides;
mod order;
mod overview;
mod sides;
mod words;

pub use age::{Shrinkage, shrinkage};
pub use divides::Divide;
pub use order::RunOrder;
pub use overview::{FeatureStands, Mark, RunOverview, overview};
pub use sides::{PairRun, pair_runs};

use super::checks::{Checked, checked, newest};
use crate::check::{Chart, chart};
use crate::job::{FeatureId, Found, Job};
use crate::units::Length;
use order::placed;
use serde::{Deserialize, Serialize};

/// The run of one feature.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct FeatureRun {
    /// Every piece that was checked, once a piece however often it was, in order.
    pub checked: Vec<Checked>,
    /// What order that is.
    pub order: RunOrder,
    /// What happened meanwhile.
    pub divides: Vec<Divide>,
    /// What the run does, where it does not stay as it is.
    pub drift: Option<String>,
    /// What else is to be said of it.
    pub says: Vec<String>,
    /// Sideways and up.
    pub charts: Option<(Chart, Chart)>,
}

/// What the findings of a feature say together.
#[must_use]
pub fn feature_run(job: &Job, feature: &FeatureId) -> FeatureRun {
    let (placed, order) = placed(job, feature);
    let divides = divides::divides(job, feature, &placed);
    let column = |of: fn(&Found) -> Length| -> Vec<(u32, f64)> {
        placed
            .iter()
            .map(|p| (p.place, of(&p.found).mm()))
            .collect()
    };
    let across = column(|f| f.right);
    let up = column(|f| f.up);
    let charts = chart(&across).zip(chart(&up));
    let said = words::words(&placed, order, &divides, [&across, &up], charts.as_ref());
    let checked = placed
        .iter()
        .filter_map(|p| {
            let (fact, found) = newest(job, feature, p.piece)?;
            Some(checked(job, fact, found))
        })
        .collect();
    FeatureRun {
        checked,
        order,
        divides,
        drift: said.drift,
        says: said.rest,
        charts,
    }
}
