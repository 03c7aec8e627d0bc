//! How old a casting was when it was read: a fresh one goes on shrinking.

use super::super::naming::casting_words;
use super::super::run_checks::age::{a_day, days_after};
use super::capital;
use crate::job::{CastingId, Job, Kept, PartId, Reading};

/// A casting goes on shrinking noticeably for about a week (common practice, no source).
const FRESH_DAYS: i64 = 7;

/// Readings of one casting are of one age while they are less than this apart, days.
const ONE_AGE_DAYS: i64 = 2;

/// Days from demoulding to a reading, where both are known.
fn age(job: &Job, reading: &Kept<Reading>) -> Option<i64> {
    days_after(job, &reading.says.casting, &reading.wall)
}

/// How old a casting was at the latest of its readings.
fn last_read(job: &Job, casting: &CastingId) -> Option<i64> {
    let mut latest = job.readings.about(casting).rev();
    latest.find_map(|r| age(job, r))
}

/// How old the other castings of its part were, the middle one of them.
fn usual(job: &Job, part: &PartId, casting: &CastingId) -> Option<i64> {
    let mut ages: Vec<i64> = job
        .castings
        .iter()
        .filter(|(id, c)| {
            *id != casting && c.part.as_ref() == Some(part) && c.pattern != Some(true)
        })
        .filter_map(|(id, _)| last_read(job, id))
        .collect();
    ages.sort_unstable();
    ages.get(ages.len() / 2).copied()
}

/// A week between two ages of which one is fresh: castings so far apart are not compared.
const fn other_age(one: i64, other: i64) -> bool {
    let (young, old) = if one < other {
        (one, other)
    } else {
        (other, one)
    };
    young < FRESH_DAYS && old - young >= FRESH_DAYS
}

/// It was read at another age than its sisters: what it differs by may be that.
pub(super) fn unlike(job: &Job, casting: &CastingId) -> bool {
    let part = job.castings.get(casting).and_then(|c| c.part.as_ref());
    part.and_then(|part| {
        Some(other_age(
            last_read(job, casting)?,
            usual(job, part, casting)?,
        ))
    }) == Some(true)
}

fn days(n: i64) -> String {
    match n {
        0 => "on the day it was demoulded".to_owned(),
        1 => "1 day after demoulding".to_owned(),
        n => format!("{n} days after demoulding"),
    }
}

/// What its age means for the readings of a casting; nothing where it means nothing.
pub(super) fn words(
    job: &Job,
    part: &PartId,
    casting: &CastingId,
    read: &[&Kept<Reading>],
) -> Vec<String> {
    let name = capital(&casting_words(job, casting));
    let Some(own) = job
        .castings
        .get(casting)
        .filter(|c| c.pattern != Some(true))
    else {
        return Vec::new();
    };
    if own.demoulded.is_none() {
        let others_are = job
            .castings
            .values()
            .any(|c| c.part.as_ref() == Some(part) && c.demoulded.is_some());
        return Vec::from_iter(others_are.then(|| {
            format!("When was {name} demoulded? Say so under Castings: a fresh one goes on shrinking and is compared with none of another age")
        }));
    }
    let mut ages: Vec<i64> = read.iter().filter_map(|r| age(job, r)).collect();
    ages.sort_unstable();
    let (Some(first), Some(last)) = (ages.first().copied(), ages.last().copied()) else {
        return Vec::new();
    };
    let mut says = Vec::new();
    let goes_on = a_day(job, part).filter(|a| *a > 0.0).map_or_else(
        || "a fresh casting goes on shrinking for days".to_owned(),
        |a| {
            format!(
                "this run’s go on shrinking, about {:.1} mm in a metre in ten days",
                10.0 * a
            )
        },
    );
    if last - first >= ONE_AGE_DAYS && first < FRESH_DAYS {
        says.push(format!(
            "{name} was read {} and again {}: {goes_on}. Read the first ones again",
            days(first),
            days(last)
        ));
    } else if let Some(usual) = usual(job, part, casting).filter(|u| other_age(*u, last)) {
        says.push(format!(
            "{name} was read {}, its sisters about {usual} days: {goes_on}. It is compared with none of them",
            days(last)
        ));
    } else if last < FRESH_DAYS && usual(job, part, casting).is_none() {
        // The first to be read: sisters of its age need not be told each time.
        says.push(format!(
            "{name} was read {}: {goes_on}. Read all castings at one age",
            days(last)
        ));
    }
    says
}
