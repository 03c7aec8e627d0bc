//! What contradicts, with both sides named and what to do. Nothing is ever lost over it.

use super::life::out_of_life_on;
use super::moulds::retired_after;
use super::names::{casting_name, listed, piece_name};
use super::stages::{Step, place_in, stage_list, step};
use crate::job::{CastingId, Job};

/// What contradicts about one casting, one sentence each.
#[must_use]
pub fn conflicts_of(job: &Job, casting: &CastingId) -> Vec<String> {
    let mut all = Vec::new();
    all.extend(same_number(job, casting));
    all.extend(same_pull(job, casting));
    all.extend(two_pieces(job, casting));
    all.extend(beside_another(job, casting));
    all.extend(mould_retired(job, casting));
    all.extend(stage_unknown(job, casting));
    all.extend(out_of_life_on(job, casting).map(|o| o.sentence));
    all
}

fn told_apart(job: &Job, casting: &CastingId) -> String {
    let edit = job.castings.get(casting);
    let mould = edit
        .and_then(|c| c.mould.as_ref())
        .and_then(|m| job.moulds.get(m))
        .and_then(|m| m.name.clone());
    match (edit.and_then(|c| c.pull), mould) {
        (Some(pull), Some(mould)) => format!("pull {pull} of {mould}"),
        (Some(pull), None) => format!("pull {pull}"),
        (None, _) => format!("entered as {casting}"),
    }
}

fn same_number(job: &Job, casting: &CastingId) -> Option<String> {
    let edit = job.castings.get(casting)?;
    if edit.pattern == Some(true) {
        return None;
    }
    let own = edit.number.as_deref()?.trim().to_lowercase();
    if own.is_empty() {
        return None;
    }
    let same: Vec<&CastingId> = job
        .castings
        .iter()
        .filter(|(_, c)| {
            c.part == edit.part
                && c.pattern != Some(true)
                && c.number
                    .as_deref()
                    .is_some_and(|n| n.trim().to_lowercase() == own)
        })
        .map(|(id, _)| id)
        .collect();
    if same.len() < 2 {
        return None;
    }
    let which: Vec<String> = same.iter().map(|id| told_apart(job, id)).collect();
    Some(format!(
        "{} is written on {} castings: {}. Look at the hidden face of each and correct the number that is wrong; the readings of both are kept",
        casting_name(job, casting),
        same.len(),
        listed(&which)
    ))
}

fn same_pull(job: &Job, casting: &CastingId) -> Option<String> {
    let edit = job.castings.get(casting)?;
    let (pull, mould) = (edit.pull?, edit.mould.as_ref()?);
    let (other, _) = job.castings.iter().find(|(id, c)| {
        *id != casting && c.mould.as_ref() == Some(mould) && c.pull == Some(pull)
    })?;
    Some(format!(
        "{} and {} both say pull {pull} of {}: correct one of them",
        casting_name(job, casting),
        casting_name(job, other),
        job.moulds
            .get(mould)
            .and_then(|m| m.name.clone())
            .unwrap_or_else(|| mould.to_string()),
    ))
}

fn two_pieces(job: &Job, casting: &CastingId) -> Vec<String> {
    job.claimed_twice
        .iter()
        .filter(|c| c.casting == *casting)
        .map(|c| {
            format!(
                "{} was put into {} and into {}. The later counts, {}; {} goes without. Say again what {} is made of",
                casting_name(job, casting),
                piece_name(job, &c.without),
                piece_name(job, &c.has),
                piece_name(job, &c.has),
                piece_name(job, &c.without),
                piece_name(job, &c.without),
            )
        })
        .collect()
}

fn beside_another(job: &Job, casting: &CastingId) -> Option<String> {
    let part = job.castings.get(casting)?.part.as_ref()?;
    let piece = job.piece_with(casting)?;
    let same: Vec<String> = job
        .marriages
        .get(piece)?
        .castings
        .iter()
        .filter(|c| job.castings.get(c).and_then(|c| c.part.as_ref()) == Some(part))
        .map(|c| casting_name(job, c))
        .collect();
    (same.len() > 1).then(|| {
        format!(
            "{} has {} of one part. Take out the one that is not in it",
            piece_name(job, piece),
            listed(&same)
        )
    })
}

fn mould_retired(job: &Job, casting: &CastingId) -> Option<String> {
    let edit = job.castings.get(casting)?;
    let (pull, mould) = (edit.pull?, edit.mould.as_ref()?);
    let last = retired_after(job, mould)?;
    (pull > last).then(|| {
        format!(
            "{} says pull {pull}, but its mould was retired after pull {last}: correct the pull, the mould, or what was said of the mould",
            casting_name(job, casting)
        )
    })
}

fn stage_unknown(job: &Job, casting: &CastingId) -> Option<String> {
    let stage = job.stage_of(casting)?;
    place_in(&stage_list(job), stage).is_none().then(|| {
        format!("it stands at “{stage}”, which is no longer in the list of stages: choose its stage anew")
    })
}

/// Stages skipped and steps back, with their reasons, in order; and whether a reason is missing.
pub(super) fn off_the_list(job: &Job, casting: &CastingId) -> Vec<(String, bool)> {
    if job.castings.get(casting).and_then(|c| c.pattern) == Some(true) {
        // The list of stages is what a casting goes through.
        return Vec::new();
    }
    let list = stage_list(job);
    let mut at: Option<&str> = None;
    let mut all = Vec::new();
    let mut bare: Option<(String, String, Vec<String>)> = None;
    for fact in job.stages.about(casting) {
        let to = fact.says.stage.as_str();
        let reason = fact.says.reason.as_deref().map(str::trim);
        let reason = reason.filter(|r| !r.is_empty());
        let because = reason.map_or_else(
            || "no reason was said: say one by setting the stage again".to_owned(),
            str::to_owned,
        );
        let from = at.unwrap_or("the beginning");
        match step(&list, at, to) {
            Step::Skips(left) if reason.is_none() => {
                let (_, last, out) =
                    bare.get_or_insert_with(|| (from.to_owned(), String::new(), Vec::new()));
                to.clone_into(last);
                out.extend(left);
            }
            Step::Skips(left) => all.push((
                format!(
                    "straight from {from} to {to}, leaving out {}: {because}",
                    listed(&left)
                ),
                false,
            )),
            Step::Back => all.push((
                format!("back from {from} to {to}: {because}"),
                reason.is_none(),
            )),
            Step::Next | Step::Stays | Step::NoSuchStage | Step::Anew => {}
        }
        at = Some(to);
    }
    // Said once, however many jumps it were: the answer to all of them is one reason.
    all.extend(bare.map(|(from, to, left)| {
        (
            format!(
                "from {from} to {to}, leaving out {}: no reason was said. To say one, set the stage again",
                listed(&left)
            ),
            true,
        )
    }));
    all
}
