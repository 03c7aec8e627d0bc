//! What happened while the run was made, and which pieces came after it.

use super::order::Placed;
use crate::job::{FeatureId, Job, MouldEvent};
use crate::run::mould_event_words;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Something that divides a run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Divide {
    /// *the mould was repaired after pull 9*; follows *since*.
    pub says: String,
    /// Of each piece checked, in the order of the run: it came after.
    pub after: Vec<bool>,
}

/// Everything known that divides the pieces checked in two.
pub(super) fn divides(job: &Job, feature: &FeatureId, run: &[Placed<'_>]) -> Vec<Divide> {
    let mut all = mould_events(job, feature, run);
    all.extend(other_mould(job, run));
    all.extend(templates(run));
    all.extend(issues(job, feature, run));
    all.retain(|d| d.after.contains(&true) && d.after.contains(&false));
    all
}

/// A mould repaired or otherwise seen to: castings of it pulled later came after.
fn mould_events(job: &Job, feature: &FeatureId, run: &[Placed<'_>]) -> Vec<Divide> {
    let section = job.features.get(feature).and_then(|f| f.section.as_ref());
    job.mould_events
        .iter()
        .filter(|e| e.says.kind != Some(MouldEvent::Retired))
        .filter(|e| {
            // What was done to another section of it is no cause here.
            e.says.sections.is_empty() || section.is_none_or(|s| e.says.sections.contains(s))
        })
        .filter_map(|e| {
            let last = e.says.after_pull?;
            let all_of_it = run
                .iter()
                .all(|p| p.mould == Some(&e.says.mould) && p.pull.is_some());
            all_of_it.then(|| Divide {
                says: match e.says.kind {
                    None => format!("the mould was seen to {}", mould_event_words(job, &e.says)),
                    Some(_) => format!("the mould was {}", mould_event_words(job, &e.says)),
                },
                after: run
                    .iter()
                    .map(|p| p.pull.is_some_and(|pull| pull > last))
                    .collect(),
            })
        })
        .collect()
}

fn other_mould(job: &Job, run: &[Placed<'_>]) -> Option<Divide> {
    let first = run.first()?.mould?;
    let other = run.iter().find_map(|p| p.mould.filter(|m| *m != first))?;
    let name = |m| {
        let named = job.moulds.get(m).and_then(|m| m.name.clone());
        named.unwrap_or_else(|| m.to_string())
    };
    Some(Divide {
        says: format!("they come from {} instead of {}", name(other), name(first)),
        after: run.iter().map(|p| p.mould != Some(first)).collect(),
    })
}

/// Pieces laid from one shared template against the others. A template for each piece divides
/// nothing.
fn templates(run: &[Placed<'_>]) -> Vec<Divide> {
    let served = |reference: &str| {
        run.iter()
            .filter(|p| p.reference == Some(reference))
            .count()
    };
    let shared: BTreeSet<&str> = run
        .iter()
        .filter_map(|p| p.reference)
        .filter(|r| served(r) > 1)
        .collect();
    let first = run.first().and_then(|p| p.reference);
    shared
        .into_iter()
        .filter(|r| Some(*r) != first)
        .map(|reference| Divide {
            says: format!("they are from another template ({reference})"),
            after: run.iter().map(|p| p.reference == Some(reference)).collect(),
        })
        .collect()
}

fn issues(job: &Job, feature: &FeatureId, run: &[Placed<'_>]) -> Vec<Divide> {
    let of = |p: &Placed<'_>| {
        let issue = job.issue_of(feature, p.number);
        issue.and_then(|(_, i)| i.number).unwrap_or(0)
    };
    let numbers: BTreeSet<u32> = run.iter().map(of).collect();
    numbers
        .into_iter()
        .skip(1)
        .map(|number| Divide {
            says: format!("they are made to issue {number}"),
            after: run.iter().map(|p| of(p) >= number).collect(),
        })
        .collect()
}
