//! The whole run for the screen: what each casting may do next, and why not yet.

use super::again::to_read_again;
use super::conflicts::{conflicts_of, off_the_list};
use super::holds::{asked, hold_words, holds, is_read, ticked, why_not};
use super::life::{Carried, carried, counts, faces_of, marks_in, vanishing};
use super::moulds::{event_words, pulls_of, retired_after};
use super::names::{casting_label, casting_name, listed, mark_name, piece_name};
use super::stages::{place_in, stage_list};
use crate::job::{CastingId, FaceId, Hold, HoldUntil, Job, MouldId, PartId, PieceId};
use serde::{Deserialize, Serialize};

/// The run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunView {
    /// The stages in order.
    pub stages: Vec<String>,
    /// What stages wait for.
    pub holds: Vec<Hold>,
    /// Castings by part, then by number; patterns first.
    pub castings: Vec<CastingView>,
    /// Moulds.
    pub moulds: Vec<MouldView>,
    /// Pieces in the order of their numbers.
    pub pieces: Vec<PieceView>,
}

/// One casting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CastingView {
    /// Which.
    pub casting: CastingId,
    /// *base 7*.
    pub name: String,
    /// What stands on its tile.
    pub label: String,
    /// Its part.
    pub part: Option<PartId>,
    /// It is the pattern: it goes through no stages.
    pub pattern: bool,
    /// Which pull it is.
    pub pull: Option<u32>,
    /// Its mould.
    pub mould: Option<MouldId>,
    /// The piece it is in.
    pub piece: Option<PieceId>,
    /// Where it is.
    pub stage: Option<String>,
    /// The next stage of the list.
    pub next: Option<String>,
    /// Why it may not go there yet; none where it may.
    pub waits: Vec<String>,
    /// Sentences of holds on the next stage that somebody may tick: the sentence, and whether it is ticked.
    pub ticks: Vec<(String, bool)>,
    /// Faces measured.
    pub faces_measured: usize,
    /// Faces it has.
    pub faces: usize,
    /// Marks that vanish with the next stage, each with how far it is carried over.
    pub vanishing: Vec<String>,
    /// Readings to take again.
    pub again: Vec<String>,
    /// What contradicts.
    pub conflicts: Vec<String>,
    /// Stages skipped and steps back, with reasons.
    pub history: Vec<String>,
}

impl CastingView {
    /// What may be done next, or the first reason why not, in one sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        match (&self.next, self.waits.as_slice()) {
            _ if self.pattern => "the pattern: measured, not built".into(),
            (None, _) => "nothing further in the list of stages".into(),
            (Some(next), []) => format!("may go on to: {next}"),
            (Some(_), [one]) => one.clone(),
            (Some(_), [one, more @ ..]) => format!("{one} (and {} more)", more.len()),
        }
    }
}

/// One mould.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MouldView {
    /// Which.
    pub mould: MouldId,
    /// Its name.
    pub name: String,
    /// Its sections.
    pub sections: Vec<String>,
    /// How many castings it has given.
    pub pulls: usize,
    /// The highest pull number.
    pub last_pull: Option<u32>,
    /// The pull after which it was retired.
    pub retired_after: Option<u32>,
    /// What happened to it, in order.
    pub events: Vec<String>,
}

/// One piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PieceView {
    /// Which.
    pub piece: PieceId,
    /// *piece 7*.
    pub name: String,
    /// Its castings.
    pub castings: Vec<CastingId>,
    /// The stage of the casting that is furthest behind.
    pub stage: Option<String>,
    /// What it waits for, or what may be done next, in one sentence.
    pub waits: String,
    /// It waits: the next stage of one of its castings is held.
    pub held: bool,
}

/// The count a casting's number ends in: 2 of *B2*, so that it stands before *B10*.
fn counted(number: &str) -> u32 {
    let text = number.trim();
    let start = text.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    text.get(start..)
        .and_then(|digits| digits.parse().ok())
        .unwrap_or(u32::MAX)
}

/// Looks the run over.
#[must_use]
pub fn look(job: &Job) -> RunView {
    let mut castings: Vec<CastingView> = job.castings.keys().map(|id| casting(job, id)).collect();
    castings.sort_by_cached_key(|c| {
        let edit = job.castings.get(&c.casting);
        let number = edit.and_then(|e| e.number.clone()).unwrap_or_default();
        let part = c
            .part
            .as_ref()
            .and_then(|p| job.parts.get(p))
            .and_then(|p| p.name.clone());
        (
            part,
            !c.pattern,
            counted(&number),
            number,
            c.pull.unwrap_or(u32::MAX),
            c.casting.clone(),
        )
    });
    let pieces = job
        .pieces_in_order()
        .into_iter()
        .map(|(id, _)| piece(job, id, &castings))
        .collect();
    RunView {
        stages: stage_list(job),
        holds: holds(job),
        moulds: job.moulds.keys().map(|id| mould(job, id)).collect(),
        pieces,
        castings,
    }
}

fn casting(job: &Job, id: &CastingId) -> CastingView {
    let list = stage_list(job);
    let edit = job.castings.get(id);
    let pattern = edit.and_then(|c| c.pattern) == Some(true);
    let stage = job.stage_of(id).map(str::to_owned);
    let next = match stage.as_deref().map(|s| place_in(&list, s)) {
        _ if pattern => None,
        None => list.first().cloned(),
        Some(Some(at)) => list.get(at + 1).cloned(),
        Some(None) => None,
    };
    let waits = next
        .as_deref()
        .map_or_else(Vec::new, |n| why_not(job, id, n));
    let ticks = next.as_deref().map_or_else(Vec::new, |n| {
        holds(job)
            .into_iter()
            .filter(|h| place_in(&list, &h.before) == place_in(&list, n))
            .filter_map(|h| match h.until {
                HoldUntil::Ticked(what) => {
                    let done = ticked(job, id, &what);
                    Some((what, done))
                }
                _ => None,
            })
            .collect()
    });
    let going = next.as_deref().map_or_else(Vec::new, |n| {
        let mut bare: Vec<(Option<&FaceId>, Vec<String>)> = Vec::new();
        let mut all: Vec<String> = vanishing(job, id, stage.as_deref(), n)
            .iter()
            .filter_map(|mark| {
                let letter = mark_name(job, mark);
                match carried(job, id, mark, n) {
                    Carried::Yes(k) => {
                        Some(format!("{letter}, carried over by {}", mark_name(job, &k)))
                    }
                    Carried::TooFewReadings(k, have) => Some(format!(
                        "{letter}: {}, which stands in for it, has {have} of two readings",
                        mark_name(job, &k)
                    )),
                    Carried::NoCross | Carried::CrossGone(_) => {
                        let face = job.marks.get(mark).and_then(|m| m.face.as_ref());
                        match bare.iter_mut().find(|(of, _)| *of == face) {
                            Some((_, letters)) => letters.push(letter),
                            None => bare.push((face, vec![letter])),
                        }
                        None
                    }
                }
            })
            .collect();
        let several = bare.len() > 1;
        for (face, letters) in bare {
            let them = if letters.len() == 1 { "it" } else { "them" };
            // The same letters stand on several faces: which is meant is said.
            let on = face.filter(|_| several).and_then(|f| job.faces.get(f)?.name.clone());
            let on = on.map_or_else(String::new, |name| format!(" of {name}"));
            all.push(format!(
                "{}{on}: no cross stands in for {them} yet. Scribe one now if {them} may be wanted later",
                listed(&letters)
            ));
        }
        all
    });
    let (faces_measured, faces) = faces_measured(job, id);
    let off = off_the_list(job, id);
    let mut conflicts = conflicts_of(job, id);
    conflicts.extend(
        off.iter()
            .filter(|(_, bare)| *bare)
            .map(|(words, _)| words.clone()),
    );
    CastingView {
        casting: id.clone(),
        name: casting_name(job, id),
        label: casting_label(job, id),
        part: edit.and_then(|c| c.part.clone()),
        pattern,
        pull: edit.and_then(|c| c.pull),
        mould: edit.and_then(|c| c.mould.clone()),
        piece: job.piece_with(id).cloned(),
        stage,
        next,
        waits,
        ticks,
        faces_measured,
        faces,
        vanishing: going,
        again: to_read_again(job, id)
            .into_iter()
            .map(|a| a.sentence)
            .collect(),
        conflicts,
        history: off
            .into_iter()
            .filter(|(_, bare)| !bare)
            .map(|(words, _)| words)
            .collect(),
    }
}

/// Faces of a casting on which everything asked for is read, and faces it has. Where no list asks
/// anything of a face, one reading on it counts.
fn faces_measured(job: &Job, id: &CastingId) -> (usize, usize) {
    let faces = faces_of(job, id);
    let asks = asked(job, id);
    let face_of = |of: &crate::job::Measured| {
        if let crate::job::Measured::Girth { face, .. } = of {
            return Some(face.clone());
        }
        marks_in(of)
            .first()
            .and_then(|m| job.marks.get(m)?.face.clone())
    };
    let done = faces
        .iter()
        .filter(|face| {
            let own: Vec<_> = asks
                .iter()
                .filter(|of| face_of(of).as_ref() == Some(face))
                .collect();
            if own.is_empty() {
                let mut read = job.readings.about(id);
                read.any(|r| face_of(&r.says.of).as_ref() == Some(face) && counts(job, &r.says))
            } else {
                own.iter().all(|of| is_read(job, id, of))
            }
        })
        .count();
    (done, faces.len())
}

fn mould(job: &Job, id: &MouldId) -> MouldView {
    let edit = job.moulds.get(id);
    let pulls = pulls_of(job, id);
    MouldView {
        mould: id.clone(),
        name: edit
            .and_then(|m| m.name.clone())
            .unwrap_or_else(|| id.to_string()),
        sections: edit
            .and_then(|m| m.sections.as_ref())
            .map_or_else(Vec::new, |all| all.iter().map(|s| s.name.clone()).collect()),
        last_pull: pulls.iter().filter_map(|(_, pull)| *pull).max(),
        pulls: pulls.len(),
        retired_after: retired_after(job, id),
        events: job
            .mould_events
            .about(id)
            .map(|e| event_words(job, &e.says))
            .collect(),
    }
}

fn piece(job: &Job, id: &PieceId, castings: &[CastingView]) -> PieceView {
    let list = stage_list(job);
    let own: Vec<&CastingView> = castings
        .iter()
        .filter(|c| c.piece.as_ref() == Some(id))
        .collect();
    let behind = own.iter().min_by_key(|c| {
        c.stage
            .as_deref()
            .and_then(|s| place_in(&list, s))
            .map_or(0, |at| at + 1)
    });
    let held = own.iter().find(|c| !c.waits.is_empty());
    let waits = match (own.is_empty(), held, behind) {
        (true, ..) => "no casting yet: say which it is made of".to_owned(),
        (_, Some(c), _) => format!("{}: {}", c.name, c.sentence()),
        (_, None, Some(c)) => format!("{} {}", c.name, c.sentence()),
        (_, None, None) => String::new(),
    };
    PieceView {
        piece: id.clone(),
        name: piece_name(job, id),
        castings: own.iter().map(|c| c.casting.clone()).collect(),
        stage: behind.and_then(|c| c.stage.clone()),
        waits,
        held: held.is_some(),
    }
}

/// The words of a hold: *before primed: marks carried over*.
impl core::fmt::Display for Hold {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "before {}: {}", self.before, hold_words(&self.until))
    }
}

#[cfg(test)]
mod tests {
    use super::counted;

    #[test]
    fn a_number_counts_by_its_end() {
        assert_eq!(counted("B2"), 2);
        assert_eq!(counted(" 07 "), 7);
        assert!(counted("B10") > counted("B2"));
        assert_eq!(counted("pattern"), u32::MAX);
    }
}
