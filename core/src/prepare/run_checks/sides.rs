//! Left against right over the run: what one piece alone can't tell from chance.

use crate::check::{Mean, mean};
use crate::job::{Job, PairId};
use crate::prepare::Source;
use crate::prepare::checks::newest;
use crate::prepare::pair_checks::{pair_title, stand_together};
use crate::prepare::words::tenth;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// Fewer pairs than this say nothing of the run (common practice, no source).
const LEAST: usize = 5;
/// A lean this improbable by chance is one.
const RARE: f64 = 0.05;

/// How the two of a pair stand to each other over the run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairRun {
    /// The pair.
    pub pair: PairId,
    /// Its name.
    pub title: String,
    /// On how many pieces both were checked.
    pub count: usize,
    /// What shows over all of them.
    pub says: String,
    /// It leans one way, more than chance would.
    pub leans: bool,
}

/// Every pair of which both were checked on five pieces or more.
#[must_use]
pub fn pair_runs(source: &Source<'_>) -> Vec<PairRun> {
    let job = source.job;
    job.pairs
        .keys()
        .filter_map(|id| pair_run(source, id))
        .collect()
}

fn both_found(job: &Job, pair: &PairId) -> Vec<crate::job::PieceId> {
    let Some(edit) = job.pairs.get(pair) else {
        return Vec::new();
    };
    let (Some(left), Some(right)) = (&edit.left, &edit.right) else {
        return Vec::new();
    };
    job.pieces_in_order()
        .into_iter()
        .map(|(piece, _)| piece)
        .filter(|p| newest(job, left, p).is_some() && newest(job, right, p).is_some())
        .cloned()
        .collect()
}

/// One pair over the run; none of a few pieces.
fn pair_run(source: &Source<'_>, id: &PairId) -> Option<PairRun> {
    let pieces = both_found(source.job, id);
    if pieces.len() < LEAST {
        return None;
    }
    let all = stand_together(source, id, &pieces);
    let first = all.first()?;
    let column = |of: fn(&crate::check::Together) -> Length| {
        mean(&all.iter().map(|s| of(&s.stand).mm()).collect::<Vec<_>>())
    };
    let lean = |m: Option<Mean>| m.filter(|m| m.by_chance < RARE && m.mean.abs() >= 0.05);
    let said = |m: &Mean, plus: String, minus: String| {
        let which = if m.mean > 0.0 { plus } else { minus };
        format!(
            "{} (± {})",
            which.replace('#', &tenth(Length::from_mm(m.mean.abs()))),
            tenth(Length::from_mm(m.half))
        )
    };
    let (a, b) = (first.a_is, first.b_is);
    let mut parts = Vec::new();
    if let Some(m) = lean(column(|t| t.level)) {
        parts.push(said(
            &m,
            format!("the {b} one # mm higher"),
            format!("the {a} one # mm higher"),
        ));
    }
    if let Some(m) = lean(column(|t| t.equal)) {
        parts.push(said(
            &m,
            format!("the {b} one # mm further out"),
            format!("the {a} one # mm further out"),
        ));
    }
    if first.same_face
        && let Some(m) = lean(column(|t| t.apart))
    {
        parts.push(said(
            &m,
            "# mm too far apart".into(),
            "# mm too near each other".into(),
        ));
    }
    let leans = !parts.is_empty();
    let says = if leans {
        format!(
            "On {} pieces alike, more than chance would: {}. Look at how the template is laid on either side",
            all.len(),
            parts.join(", ")
        )
    } else {
        format!("Even on both sides over {} pieces", all.len())
    };
    Some(PairRun {
        pair: id.clone(),
        title: pair_title(source.job, id).unwrap_or_default(),
        count: all.len(),
        says,
        leans,
    })
}
