//! Which casting to measure next.

use crate::job::{CastingId, Job, Measured, PieceId};
use std::collections::BTreeSet;

/// Different readings that count on a casting.
fn read_on(job: &Job, casting: &CastingId) -> usize {
    let read: BTreeSet<&Measured> = job
        .readings
        .about(casting)
        .filter(|r| r.says.set_aside.is_none())
        .map(|r| &r.says.of)
        .collect();
    read.len()
}

/// Readings its written list asks for; one at least.
fn asked_of(job: &Job, casting: &CastingId) -> usize {
    let part = job.castings.get(casting).and_then(|c| c.part.as_ref());
    job.lists
        .values()
        .filter(|l| l.part.as_ref() == part)
        .filter_map(|l| l.asks.as_ref())
        .map(Vec::len)
        .max()
        .unwrap_or(1)
        .max(1)
}

/// Castings in the order of the run: piece by piece, then those that belong to none yet, by pull.
fn in_order(job: &Job) -> Vec<CastingId> {
    let mut out: Vec<CastingId> = Vec::new();
    for (piece, _) in job.pieces_in_order() {
        if let Some(marriage) = job.marriages.get(piece) {
            out.extend(marriage.castings.iter().cloned());
        }
    }
    let mut others: Vec<_> = job
        .castings
        .iter()
        .filter(|(id, c)| c.pattern != Some(true) && !out.contains(id))
        .collect();
    others.sort_by_key(|(id, c)| (c.pull.unwrap_or(u32::MAX), (*id).clone()));
    out.extend(others.into_iter().map(|(id, _)| id.clone()));
    out.retain(|id| job.castings.contains_key(id));
    out
}

fn wants(job: &Job, casting: &CastingId) -> bool {
    read_on(job, casting) < asked_of(job, casting)
}

/// The casting to measure, of a piece or of the whole job: the first with nothing read, else the
/// first that lacks a reading, else the first.
#[must_use]
pub fn casting_to_measure(job: &Job, piece: Option<&PieceId>) -> Option<CastingId> {
    let all = match piece {
        Some(piece) => job
            .marriages
            .get(piece)
            .map(|m| m.castings.clone())
            .unwrap_or_default(),
        None => in_order(job),
    };
    all.iter()
        .find(|c| read_on(job, c) == 0)
        .or_else(|| all.iter().find(|c| wants(job, c)))
        .or_else(|| all.first())
        .cloned()
}

/// The casting to go to after one: the others of its piece, then on through the run.
pub(super) fn after(job: &Job, casting: &CastingId) -> Option<CastingId> {
    let marriage = job.piece_with(casting).and_then(|p| job.marriages.get(p));
    let siblings = marriage.map_or(&[][..], |m| m.castings.as_slice());
    let all = in_order(job);
    let at = all.iter().position(|c| c == casting).unwrap_or(0);
    let (before, behind) = all.split_at(at.min(all.len()));
    siblings
        .iter()
        .chain(behind)
        .chain(before)
        .find(|c| *c != casting && wants(job, c))
        .cloned()
}
