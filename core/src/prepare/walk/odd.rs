//! The odd one out, in words: one at a time, and both where two could be it.

use super::super::Source;
use super::super::naming::name_of;
use super::super::network::{Marks, slip_question};
use super::super::words::mm;
use super::order::ends;
use super::view::{OddOne, Unsettled};
use crate::job::{FactId, Job, Measured, MeasuringSays};
use crate::readings::{Adjusted, ODD_ONE_OUT, Slip, Suspect};
use crate::units::Length;
use std::cmp::Ordering;

/// *B–C*; a girth or a coordinate by its own words.
pub(super) fn short(job: &Job, of: &Measured) -> String {
    match (of, ends(of)) {
        (_, Some((from, to))) => format!("{}–{}", name_of(job, from), name_of(job, to)),
        (Measured::Level { from, to, .. }, _) => {
            format!("{}–{} level", name_of(job, from), name_of(job, to))
        }
        (Measured::Plumb { high, low, .. }, _) => {
            format!("{}–{} plumb", name_of(job, high), name_of(job, low))
        }
        (Measured::Height { of, .. }, _) => format!("{} height", name_of(job, of)),
        _ => super::super::naming::reading_words(job, of),
    }
}

/// Whether somebody looked at it and said that it stands, as it reads now.
fn kept(job: &Job, fact: FactId) -> bool {
    let mut said = job.measuring.about(fact);
    said.any(|m| matches!(&m.says.says, MeasuringSays::Kept { .. }))
}

/// What does not go together on a face.
enum Found {
    /// One reading is the worst; others may equally be it.
    One(Box<Adjusted>, Suspect),
    /// One of these is wrong, and nothing says which.
    AmongThese(Vec<usize>),
}

/// The worst reading that nobody has kept, in an adjustment without those that were.
///
/// A reading that was kept against the others bends them all: the next worst beside it may be off
/// only because of it. So each kept one is taken out before anything else is accused.
fn found(job: &Job, marks: &Marks) -> Option<Found> {
    let mut adjusted = marks.adjusted.clone();
    let stands = |k: usize| marks.facts.get(k).is_some_and(|fact| kept(job, *fact));
    // Each round takes one reading out, so that there are no more rounds than readings.
    for _ in 0..marks.facts.len() {
        if adjusted.spare < 2 {
            return among(&adjusted)
                .filter(|list| !list.iter().any(|k| stands(*k)))
                .map(Found::AmongThese);
        }
        let list = adjusted.suspects().ok()?;
        let worst = list.first()?.clone();
        // Where two could be it and one of them was kept, that is the one that was decided on.
        let decided = list
            .iter()
            .map(|s| s.reading)
            .chain(worst.or.iter().copied())
            .find(|k| stands(*k));
        match decided {
            None => return Some(Found::One(Box::new(adjusted), worst)),
            Some(reading) => adjusted = adjusted.without(reading, &marks.options)?,
        }
    }
    None
}

/// The readings of which one must be wrong where a single spare one shows that, in their order.
fn among(adjusted: &Adjusted) -> Option<Vec<usize>> {
    let size = |k: usize| adjusted.readings.get(k).and_then(|r| r.w).map(f64::abs);
    let worst = (0..adjusted.readings.len())
        .filter(|k| size(*k).is_some_and(|w| w > ODD_ONE_OUT))
        .max_by(|a, b| size(*a).partial_cmp(&size(*b)).unwrap_or(Ordering::Equal))?;
    let mut list = adjusted.same_culprits(worst);
    list.push(worst);
    list.sort_unstable();
    Some(list)
}

/// That readings do not go together where nothing says which of them is wrong.
pub(super) fn unsettled(source: &Source<'_>, marks: &Marks) -> Option<Unsettled> {
    let job = source.job;
    let Found::AmongThese(list) = found(job, marks)? else {
        return None;
    };
    let readings: Vec<_> = list
        .iter()
        .filter_map(|k| {
            let fact = marks.facts.get(*k)?;
            job.readings.named(*fact)
        })
        .collect();
    let names: Vec<String> = readings.iter().map(|r| short(job, &r.says.of)).collect();
    let says = match names.as_slice() {
        [] => return None,
        [one] => format!("{one} does not go with the sizes of the face"),
        [first @ .., last] => format!(
            "{} and {last} do not go together: one of them is wrong, and nothing says which",
            first.join(", ")
        ),
    };
    Some(Unsettled {
        says,
        then: "Read them again, or read one more distance to these marks: that would tell"
            .to_owned(),
        readings: readings.iter().map(|r| r.id).collect(),
        again: Vec::new(),
    })
}

/// What was read where the tape lay as it was not asked to.
fn lay_otherwise(slip: Slip, of: &Measured) -> Option<Measured> {
    match (slip, of.clone()) {
        (Slip::LaidOver, Measured::Straight { from, to }) => Some(Measured::Over { from, to }),
        (Slip::HungStraight, Measured::Over { from, to }) => Some(Measured::Straight { from, to }),
        _ => None,
    }
}

/// The worst reading that nobody has kept yet.
pub(super) fn odd_one(source: &Source<'_>, marks: &Marks) -> Option<OddOne> {
    let job = source.job;
    let Found::One(adjusted, suspect) = found(job, marks)? else {
        return None;
    };
    let fact = *marks.facts.get(suspect.reading)?;
    let reading = job.readings.named(fact)?;
    let wrong_mm = -adjusted.slip(suspect.reading)?.mm();
    let others_mm = reading.says.value.mm.mm() - wrong_mm;
    let others_sd_mm = adjusted.others_sd(suspect.reading)?.mm();
    let reach_mm = (2.0 * others_sd_mm).max(0.5);
    let name = short(job, &reading.says.of);
    let way = if wrong_mm > 0.0 { "long" } else { "short" };
    let by = Length::from_mm(libm::round(wrong_mm.abs()));
    let or: Vec<String> = suspect
        .or
        .iter()
        .filter_map(|k| {
            let fact = marks.facts.get(*k)?;
            let other = job.readings.named(*fact)?;
            Some(short(job, &other.says.of))
        })
        .collect();
    let says = if or.is_empty() {
        format!("{name} is probably {} mm {way}", mm(by))
    } else {
        let of = match or.len() {
            1 => "two".to_owned(),
            2 => "three".to_owned(),
            n => (n + 1).to_string(),
        };
        format!(
            "One of these {of} is wrong: {name} or {}. If it is {name}, it is {} mm {way}",
            or.join(" or "),
            mm(by)
        )
    };
    let explained = adjusted.explain(suspect.reading, &marks.options);
    let whole = |x: f64| mm(Length::from_mm(libm::round(x)));
    Some(OddOne {
        fact,
        ask: None,
        short: name,
        says,
        others: format!(
            "Typed {}; the others say {}–{}",
            reading.says.value.typed,
            whole(others_mm - reach_mm),
            whole(others_mm + reach_mm)
        ),
        slip: explained
            .as_ref()
            .and_then(|e| slip_question(job, &marks.points, e)),
        lay: explained
            .as_ref()
            .and_then(|e| lay_otherwise(e.slips.first()?.slip, &reading.says.of)),
        of: reading.says.of.clone(),
        typed: reading.says.value.typed.clone(),
        value: reading.says.value.mm,
    })
}
