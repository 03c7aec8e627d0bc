//! What must be done before a casting may come to a stage.

use super::life::{Carried, carried, counts, faces_of, kept_on, vanishing};
use super::names::mark_name;
use super::stages::{place_in, stage_list};
use crate::job::{
    CastingId, DoneKind, FaceId, Hold, HoldUntil, Job, MarkEdit, MarkId, Measured, RuleSpec,
};

/// Marks a face must keep, hidden or carried over, to be painted (design/11).
const KEPT_WANTED: usize = 3;

/// The job's holds. Until it says any, *before primed: marks carried over* stands where some mark
/// has a last stage; in a list without *primed*, before the stage that is the first to hide a mark.
#[must_use]
pub fn holds(job: &Job) -> Vec<Hold> {
    if let Some(holds) = &job.about.holds {
        return holds.clone();
    }
    let list = stage_list(job);
    let last_seen = |m: &MarkEdit| place_in(&list, m.to_stage.as_deref()?);
    let lives_end = job.marks.values().any(|m| m.to_stage.is_some());
    let first_to_hide = || Some(job.marks.values().filter_map(last_seen).min()? + 1);
    let held = place_in(&list, "primed").or_else(first_to_hide);
    match held.and_then(|at| list.get(at)) {
        Some(before) if lives_end => vec![Hold {
            before: before.clone(),
            until: HoldUntil::MarksCarriedOver,
        }],
        _ => Vec::new(),
    }
}

/// *marks carried over*.
#[must_use]
pub fn hold_words(until: &HoldUntil) -> String {
    match until {
        HoldUntil::MarksCarriedOver => "marks carried over".into(),
        HoldUntil::Measured => "everything asked for is read".into(),
        HoldUntil::Married => "it is in a piece".into(),
        HoldUntil::Ticked(what) => what.trim().to_owned(),
    }
}

/// Why a casting may not come to a stage yet, one sentence each; none where it may.
#[must_use]
pub fn why_not(job: &Job, casting: &CastingId, to: &str) -> Vec<String> {
    let list = stage_list(job);
    let from = job.stage_of(casting);
    let at = from.and_then(|s| place_in(&list, s));
    let Some(goes) = place_in(&list, to) else {
        return vec![format!(
            "“{to}” is not in this job’s list of stages: add it there or choose another"
        )];
    };
    let mut why = Vec::new();
    for hold in holds(job) {
        let Some(held) = place_in(&list, &hold.before) else {
            continue;
        };
        // A stage skipped over holds too.
        if held > goes || at.is_some_and(|at| held <= at) {
            continue;
        }
        let before = list.get(held).map_or(to, String::as_str);
        match &hold.until {
            HoldUntil::MarksCarriedOver => why.extend(not_carried(job, casting, from, before)),
            HoldUntil::Measured => why.extend(not_measured(job, casting, before)),
            HoldUntil::Married => {
                if job.piece_with(casting).is_none() {
                    why.push(format!("Before {before}: say which piece it belongs to"));
                }
            }
            HoldUntil::Ticked(what) => {
                if !ticked(job, casting, what) {
                    why.push(format!("Before {before}: {}", what.trim()));
                }
            }
        }
    }
    why
}

/// The sentence of a hold was ticked for a casting.
pub(super) fn ticked(job: &Job, casting: &CastingId, what: &str) -> bool {
    let mut done = job.done.about(casting);
    done.any(|d| d.says.kind == Some(DoneKind::Ticked) && d.says.what.trim() == what.trim())
}

/// Marks that some feature's rule follows.
fn followed<'a>(job: &'a Job, face: &FaceId) -> Vec<&'a MarkId> {
    job.features
        .values()
        .filter(|f| f.face.as_ref() == Some(face))
        .filter_map(|f| f.rule.as_ref())
        .flat_map(RuleSpec::marks)
        .collect()
}

fn not_carried(job: &Job, casting: &CastingId, from: Option<&str>, before: &str) -> Vec<String> {
    let mut why = Vec::new();
    let going = vanishing(job, casting, from, before);
    for face in faces_of(job, casting) {
        let follows = followed(job, &face);
        if follows.is_empty() {
            continue;
        }
        let on_face = |m: &&MarkId| job.marks.get(m).and_then(|e| e.face.as_ref()) == Some(&face);
        for mark in going.iter().filter(on_face) {
            if !follows.contains(&mark) {
                continue;
            }
            let letter = mark_name(job, mark);
            match carried(job, casting, mark, before) {
                Carried::Yes(_) => {}
                Carried::NoCross => why.push(format!(
                    "Before {before}: {letter} vanishes. Scribe a cross that lasts, say that it stands in for {letter}, and read it from two marks"
                )),
                Carried::CrossGone(k) => why.push(format!(
                    "Before {before}: {letter} vanishes, and {} with it. Scribe a cross that lasts to {before}",
                    mark_name(job, &k)
                )),
                Carried::TooFewReadings(k, n) => why.push(format!(
                    "Before {before}: {letter} vanishes. Read {}, which stands in for it, from {}",
                    mark_name(job, &k),
                    if n == 0 { "two marks" } else { "one more mark" }
                )),
            }
        }
        let kept = kept_on(job, casting, &face, before).len();
        if kept < KEPT_WANTED {
            let name = job
                .faces
                .get(&face)
                .and_then(|f| f.name.clone())
                .unwrap_or_else(|| face.to_string());
            let missing = KEPT_WANTED - kept;
            why.push(format!(
                "Before {before}: three marks of {name} must still be found afterwards, and {} would. Scribe {}, or say of a mark that it is hidden",
                match kept {
                    0 => "none".to_owned(),
                    n => format!("only {n}"),
                },
                match missing {
                    1 => "a cross that lasts and say which mark it stands in for".to_owned(),
                    n => format!("{n} crosses that last and say which marks they stand in for"),
                }
            ));
        }
    }
    why
}

/// What is asked of a casting: its part's measuring lists.
pub(super) fn asked(job: &Job, casting: &CastingId) -> Vec<Measured> {
    let part = job.castings.get(casting).and_then(|c| c.part.as_ref());
    let mut all: Vec<Measured> = job
        .lists
        .values()
        .filter(|l| part.is_some() && l.part.as_ref() == part)
        .flat_map(|l| l.asks.iter().flatten().cloned())
        .collect();
    all.sort();
    all.dedup();
    all
}

/// A reading of this was taken on a casting and counts.
pub(super) fn is_read(job: &Job, casting: &CastingId, of: &Measured) -> bool {
    let mut there = job
        .readings
        .about_parts(casting, &|by| by == of.lies_by().as_ref());
    there.any(|r| r.says.of == *of && counts(job, &r.says))
}

fn not_measured(job: &Job, casting: &CastingId, before: &str) -> Option<String> {
    let asked = asked(job, casting);
    let left = asked.iter().filter(|of| !is_read(job, casting, of)).count();
    let any = job.readings.about(casting).next().is_some();
    match (asked.len(), left) {
        (0, _) if any => None,
        (0, _) => Some(format!("Before {before}: nothing has been read on it yet")),
        (_, 0) => None,
        (of, left) => Some(format!(
            "Before {before}: {left} of {of} readings are still to be taken"
        )),
    }
}
