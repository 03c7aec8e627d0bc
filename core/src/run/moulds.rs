//! Moulds: their pulls, and what happened to them.

use crate::job::{CastingId, Job, MouldEvent, MouldFact, MouldId, PartId};

/// Castings pulled from a mould, in the order of their pulls.
#[must_use]
pub fn pulls_of(job: &Job, mould: &MouldId) -> Vec<(CastingId, Option<u32>)> {
    let mut pulls: Vec<_> = job
        .castings
        .iter()
        .filter(|(_, c)| c.mould.as_ref() == Some(mould) && c.pattern != Some(true))
        .map(|(id, c)| (id.clone(), c.pull))
        .collect();
    pulls.sort_by_key(|(id, pull)| (pull.unwrap_or(u32::MAX), id.clone()));
    pulls
}

/// The pull number proposed for the next casting of a part: one after the highest known of its
/// mould, or of the part where it has no mould.
#[must_use]
pub fn next_pull(job: &Job, part: &PartId, mould: Option<&MouldId>) -> u32 {
    job.castings
        .values()
        .filter(|c| match mould {
            Some(mould) => c.mould.as_ref() == Some(mould),
            None => c.part.as_ref() == Some(part) && c.mould.is_none(),
        })
        .filter_map(|c| c.pull)
        .max()
        .unwrap_or(0)
        .saturating_add(1)
}

/// The pull after which a mould, or one of these sections of it, was retired.
pub(super) fn retired_after(job: &Job, mould: &MouldId) -> Option<u32> {
    job.mould_events
        .about(mould)
        .filter(|e| e.says.kind == Some(MouldEvent::Retired) && e.says.sections.is_empty())
        .filter_map(|e| e.says.after_pull)
        .min()
}

/// *repaired after pull 8: left half, gelcoat chipped at the brow*.
pub(crate) fn event_words(job: &Job, event: &MouldFact) -> String {
    let kind = match event.kind {
        Some(MouldEvent::Repaired) => "repaired",
        Some(MouldEvent::Retired) => "retired",
        None => "",
    };
    let known = job
        .moulds
        .get(&event.mould)
        .and_then(|m| m.sections.as_ref());
    let sections: Vec<String> = event
        .sections
        .iter()
        .map(|id| {
            known
                .and_then(|all| all.iter().find(|s| s.id == *id))
                .map_or_else(|| id.to_string(), |s| s.name.clone())
        })
        .collect();
    let mut words = kind.to_owned();
    if !sections.is_empty() {
        words.push_str(&format!(" {}", super::names::listed(&sections)));
    }
    if let Some(pull) = event.after_pull {
        words.push_str(&format!(" after pull {pull}"));
    }
    let what = event.what.trim();
    if !what.is_empty() && what.to_lowercase() != kind {
        words.push_str(&format!(
            "{}{what}",
            if words.is_empty() { "" } else { ": " }
        ));
    }
    words.trim().to_owned()
}
