//! Readings that filler, saw or paper made stale.

use super::life::{counts, marks_in};
use super::names::mark_name;
use crate::job::{
    CastingId, DoneFact, DoneKind, EntityRef, FactId, Job, Kept, MarkId, Measured, Reading,
};
use std::collections::BTreeMap;

/// A reading to take again, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Again {
    /// Which reading.
    pub fact: FactId,
    /// *Read A to B again: filled near B since*.
    pub sentence: String,
}

fn work(kind: Option<DoneKind>) -> Option<&'static str> {
    match kind? {
        DoneKind::Filled => Some("filled"),
        DoneKind::Cut => Some("cut"),
        DoneKind::Sanded => Some("sanded"),
        DoneKind::Ticked | DoneKind::Closed => None,
    }
}

fn near(done: &DoneFact) -> Vec<&MarkId> {
    let mut near: Vec<&MarkId> = done.near.iter().collect();
    if let Some(EntityRef::Mark(mark)) = &done.on {
        near.push(mark);
    }
    near
}

/// The work on a casting after a reading that came near one of its marks.
fn touched<'a>(job: &'a Job, reading: &Kept<Reading>) -> Option<(&'static str, &'a MarkId)> {
    let marks = marks_in(&reading.says.of);
    let by_mark = |part: Option<&EntityRef>| match part {
        Some(EntityRef::Mark(mark)) => marks.contains(&mark),
        _ => false,
    };
    job.done
        .about_parts(&reading.says.casting, &by_mark)
        .filter(|d| d.after(reading))
        .find_map(|d| {
            let what = work(d.says.kind)?;
            near(&d.says)
                .into_iter()
                .find(|m| marks.contains(m))
                .map(|m| (what, m))
        })
}

/// Nothing was filled, cut or sanded near the marks of a reading since it was taken.
#[must_use]
pub fn untouched(job: &Job, reading: &Kept<Reading>) -> bool {
    touched(job, reading).is_none()
}

/// Readings of a casting to take again: something was done near their marks since, and nobody
/// has read the same thing after that.
#[must_use]
pub fn to_read_again(job: &Job, casting: &CastingId) -> Vec<Again> {
    // The last of each stands for those before it.
    let mut last: BTreeMap<&Measured, &Kept<Reading>> = BTreeMap::new();
    for r in job.readings.about(casting).filter(|r| counts(job, &r.says)) {
        last.insert(&r.says.of, r);
    }
    let mut all: Vec<&Kept<Reading>> = last.into_values().collect();
    all.sort_by_key(|r| (r.lamport, r.id));
    all.into_iter()
        .filter_map(|r| {
            let (what, mark) = touched(job, r)?;
            let names: Vec<String> = marks_in(&r.says.of)
                .into_iter()
                .map(|m| mark_name(job, m))
                .collect();
            let reading = match names.as_slice() {
                [one] => format!("the reading to {one}"),
                names => names.join(" to "),
            };
            Some(Again {
                fact: r.id,
                sentence: format!(
                    "Read {reading} again: {what} near {} since",
                    mark_name(job, mark)
                ),
            })
        })
        .collect()
}
