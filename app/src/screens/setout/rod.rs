//! A distance of which a rod says only that one end goes and the other doesn't.

use super::model::{TakenWith, read};
use samespot_core::job::{CastingId, Entry, Job, Payload, PointRef};
use samespot_core::prepare::instruments::between;

/// That a distance lies between what goes and what doesn't; nothing where both are one length.
pub fn read_between(
    job: &Job,
    casting: &CastingId,
    ends: [PointRef; 2],
    goes: &Entry,
    doesnt: &Entry,
) -> Option<Vec<Payload>> {
    let found = between(goes.mm, doesnt.mm)?;
    let value = Entry {
        typed: format!("goes {}, doesn't {}", goes.typed, doesnt.typed),
        ..Entry::of_mm(found.middle.mm())
    };
    let mut all = read(job, casting, ends, value, TakenWith::Rod);
    for payload in &mut all {
        if let Payload::Reading(reading) = payload {
            reading.within = Some(found.sd);
        }
    }
    Some(all)
}
