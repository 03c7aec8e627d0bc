//! The life of a mark: from which stage to which it can be found, and crosses that carry it over.

use super::names::{casting_name, mark_name};
use super::stages::{place_in, stage_names};
use crate::job::{CastingId, FaceId, FactId, Job, Kept, MarkId, Measured, PointRef, Reading};

/// Whether a mark can be found at a stage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Findable {
    /// It can.
    Yes,
    /// Only from a later stage on.
    NotYet(String),
    /// It is gone after this stage.
    Gone(String),
}

/// Whether a mark can be found at a stage. A mark that says nothing of its life, and a casting
/// whose stage is unknown, are taken to agree.
#[must_use]
pub fn findable(job: &Job, mark: &MarkId, stage: Option<&str>) -> Findable {
    let Some(edit) = job.marks.get(mark) else {
        return Findable::Yes;
    };
    if edit.from_stage.is_none() && edit.to_stage.is_none() {
        return Findable::Yes;
    }
    let list = stage_names(job);
    let Some(at) = stage.and_then(|s| place_in(&list, s)) else {
        return Findable::Yes;
    };
    if let Some(from) = &edit.from_stage
        && place_in(&list, from).is_some_and(|from| at < from)
    {
        return Findable::NotYet(from.clone());
    }
    if let Some(to) = &edit.to_stage
        && place_in(&list, to).is_some_and(|to| at > to)
    {
        return Findable::Gone(to.clone());
    }
    Findable::Yes
}

/// Marks a reading goes to.
pub(super) fn marks_in(of: &Measured) -> Vec<&MarkId> {
    of.points()
        .into_iter()
        .filter_map(|p| match p {
            PointRef::Mark(id) => Some(id),
            PointRef::Feature(_) => None,
        })
        .collect()
}

/// A reading to a mark that could not be found at its stage: kept, set aside, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutOfLife {
    /// Which reading.
    pub fact: FactId,
    /// On which casting.
    pub casting: CastingId,
    /// Why it does not count and what to do.
    pub sentence: String,
}

fn out_of_its_life(job: &Job, reading: &Reading) -> Option<String> {
    let stage = reading.stage.as_deref()?;
    if job.castings.get(&reading.casting).and_then(|c| c.pattern) == Some(true) {
        return None;
    }
    marks_in(&reading.of).into_iter().find_map(|mark| {
        let (letter, on) = (mark_name(job, mark), casting_name(job, &reading.casting));
        let value = &reading.value.typed;
        let instead = carrier_of(job, mark)
            .map_or_else(String::new, |k| format!(" Was it {}, which stands in for it?", mark_name(job, k)));
        match findable(job, mark, Some(stage)) {
            Findable::Yes => None,
            Findable::Gone(after) => Some(format!(
                "{value} to {letter} on {on} was read at \u{201c}{stage}\u{201d}, but {letter} can’t be found after \u{201c}{after}\u{201d}: the reading is kept and set aside.{instead} Read again from marks that can be found, or say that {letter} lasts longer"
            )),
            Findable::NotYet(from) => Some(format!(
                "{value} to {letter} on {on} was read at \u{201c}{stage}\u{201d}, but {letter} can only be found from \u{201c}{from}\u{201d} on: the reading is kept and set aside. Read it again then, or say that {letter} is there earlier"
            )),
        }
    })
}

/// Readings taken to marks outside their lives.
#[must_use]
pub fn out_of_life(job: &Job) -> Vec<OutOfLife> {
    job.readings
        .iter()
        .filter_map(|r| out_of_life_is(job, r))
        .collect()
}

/// Those on one casting.
pub(super) fn out_of_life_on<'a>(
    job: &'a Job,
    casting: &CastingId,
) -> impl Iterator<Item = OutOfLife> + use<'a> {
    let read = job.readings.about(casting);
    read.filter_map(|r| out_of_life_is(job, r))
}

fn out_of_life_is(job: &Job, reading: &Kept<Reading>) -> Option<OutOfLife> {
    Some(OutOfLife {
        fact: reading.id,
        casting: reading.says.casting.clone(),
        sentence: out_of_its_life(job, &reading.says)?,
    })
}

/// A reading counts: nobody set it aside, and its marks could be found when it was taken.
#[must_use]
pub fn counts(job: &Job, reading: &Reading) -> bool {
    reading.set_aside.is_none() && out_of_its_life(job, reading).is_none()
}

fn carrier_of<'a>(job: &'a Job, mark: &MarkId) -> Option<&'a MarkId> {
    job.marks
        .iter()
        .find(|(_, m)| m.carries.as_ref() == Some(mark))
        .map(|(id, _)| id)
}

/// How many different readings on a casting tie a mark to others.
#[must_use]
pub fn ties(job: &Job, casting: &CastingId, mark: &MarkId) -> usize {
    let mut said: Vec<&Measured> = job
        .readings
        .about(casting)
        // A place on the board is of one mark alone.
        .filter(|r| !matches!(r.says.of, Measured::Board { .. }))
        .filter(|r| marks_in(&r.says.of).contains(&mark) && counts(job, &r.says))
        .map(|r| &r.says.of)
        .collect();
    said.sort();
    said.dedup();
    said.len()
}

/// How far a mark has been carried over on a casting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Carried {
    /// No cross was set up to stand in for it.
    NoCross,
    /// The cross itself is gone by then.
    CrossGone(MarkId),
    /// The cross has fewer than two readings: so many.
    TooFewReadings(MarkId, usize),
    /// Tied by two readings or more.
    Yes(MarkId),
}

/// Readings that tie a new cross down: a point on a face has two coordinates.
const TIES_WANTED: usize = 2;

/// How far a mark has been carried over on a casting to a cross that lasts to a stage.
#[must_use]
pub fn carried(job: &Job, casting: &CastingId, mark: &MarkId, stage: &str) -> Carried {
    let mut best = Carried::NoCross;
    for (id, edit) in &job.marks {
        if edit.carries.as_ref() != Some(mark) {
            continue;
        }
        if findable(job, id, Some(stage)) != Findable::Yes {
            if best == Carried::NoCross {
                best = Carried::CrossGone(id.clone());
            }
            continue;
        }
        match ties(job, casting, id) {
            n if n >= TIES_WANTED => return Carried::Yes(id.clone()),
            n => best = Carried::TooFewReadings(id.clone(), n),
        }
    }
    best
}

/// Faces of a casting's part.
pub(super) fn faces_of(job: &Job, casting: &CastingId) -> Vec<FaceId> {
    let part = job.castings.get(casting).and_then(|c| c.part.as_ref());
    job.faces
        .iter()
        .filter(|(_, f)| part.is_some() && f.part.as_ref() == part)
        .map(|(id, _)| id.clone())
        .collect()
}

/// Marks of a casting that can be found at one stage and no longer at another.
#[must_use]
pub fn vanishing(job: &Job, casting: &CastingId, from: Option<&str>, to: &str) -> Vec<MarkId> {
    let faces = faces_of(job, casting);
    let mut marks: Vec<_> = job
        .marks
        .iter()
        .filter(|(_, m)| m.face.as_ref().is_some_and(|f| faces.contains(f)))
        .filter(|(id, _)| {
            matches!(findable(job, id, Some(to)), Findable::Gone(_))
                && !matches!(findable(job, id, from), Findable::Gone(_))
        })
        .collect();
    marks.sort_by_key(|(id, m)| (m.letter.clone(), (*id).clone()));
    marks.into_iter().map(|(id, _)| id.clone()).collect()
}

/// Marks a painted face keeps at a stage: hidden ones, and crosses tied on this casting.
#[must_use]
pub fn kept_on(job: &Job, casting: &CastingId, face: &FaceId, stage: &str) -> Vec<MarkId> {
    job.marks
        .iter()
        .filter(|(id, m)| {
            m.face.as_ref() == Some(face)
                && findable(job, id, Some(stage)) == Findable::Yes
                && match m.carries {
                    Some(_) => ties(job, casting, id) >= TIES_WANTED,
                    None => m.hidden == Some(true),
                }
        })
        .map(|(id, _)| id.clone())
        .collect()
}

/// Crosses of a face that carry other marks over and are tied on this casting.
#[must_use]
pub fn tied_crosses(job: &Job, casting: &CastingId, face: &FaceId) -> Vec<MarkId> {
    let mut crosses: Vec<_> = job
        .marks
        .iter()
        .filter(|(id, m)| {
            m.face.as_ref() == Some(face)
                && m.carries.is_some()
                && ties(job, casting, id) >= TIES_WANTED
        })
        .collect();
    crosses.sort_by_key(|(id, m)| (m.letter.clone(), (*id).clone()));
    crosses.into_iter().map(|(id, _)| id.clone()).collect()
}
