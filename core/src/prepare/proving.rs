//! A template's first use is a proving piece: until one made with it has been checked and is within,
//! its sheets bear PROVING.
//!
//! Templates made for one piece each are proved together, by any piece to the same issue: they are one
//! design carried by one reckoning. A template shared by several pieces is a thing of its own and is
//! proved on one of them. What an issue changed is proved anew: a check counts for it only where the
//! sheet printed last before the check was made from that issue. Drill templates and jigs are proved
//! by a piece whose holes were checked and are all within.

use super::checks::newest;
use super::issue_now::{is_of_issue_now, issue_digest};
use crate::check::Verdict;
use crate::job::{
    DrilledFact, EntityRef, FeatureId, FixingId, HoleFound, Job, Kept, PieceId, Printed, SheetOf,
};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Whether a template still has to prove itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Proving {
    /// Nobody has checked a piece made with it.
    NotChecked,
    /// Pieces were checked, and none of them is within.
    NoneWithin,
}

impl Proving {
    /// What stands on the sheet: as much of it as there is room for, the longest first.
    fn on_the_sheet(self) -> [&'static str; 2] {
        match self {
            Self::NotChecked => ["PROVING: NO PIECE CHECKED YET", "PROVING"],
            Self::NoneWithin => ["PROVING: NO PIECE WITHIN YET", "PROVING"],
        }
    }

    /// The same as a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotChecked => {
                "PROVING: no piece made with it has been checked. Make one, check it, and print the others once it is within"
            }
            Self::NoneWithin => {
                "PROVING: no piece made with it is within yet. Find out why before the others are made"
            }
        }
    }
}

/// Whether a sheet that serves these pieces is still to be proved; nothing where it is, where it
/// carries neither features nor holes to drill, or where the job has one piece only.
#[must_use]
pub fn proving(job: &Job, of: &SheetOf, pieces: &[PieceId]) -> Option<Proving> {
    if let SheetOf::Fixing(fixing) | SheetOf::Jig(fixing) = of {
        let drilled = |piece: &PieceId| drilled(job, of, fixing, piece);
        return proving_by(job, of, pieces, false, drilled);
    }
    // Both of a pair that stand on one sheet are proved before it is.
    let carried = job.carried_by(of).into_iter();
    carried
        .filter_map(|feature| proving_of(job, of, feature, pieces))
        .max()
}

/// What a sheet that serves these pieces is stamped with, the longest first; nothing once it is proved.
pub(super) fn stamp(job: &Job, of: &SheetOf, pieces: &[PieceId]) -> Vec<String> {
    proving(job, of, pieces).map_or_else(Vec::new, |p| p.on_the_sheet().map(str::to_owned).to_vec())
}

/// A piece that was made with a template and checked.
struct Made<'a> {
    /// The sheet it had then; none where it was made with something this job knows nothing of.
    with: Option<&'a Printed>,
    within: bool,
}

fn proving_of(job: &Job, of: &SheetOf, feature: &FeatureId, pieces: &[PieceId]) -> Option<Proving> {
    let amended = job
        .issue_of(feature, job.number_of(pieces.first()?))
        .is_some_and(|(_, i)| i.amends.is_some());
    proving_by(job, of, pieces, amended, |piece| {
        let (fact, found) = newest(job, feature, piece)?;
        Some(Made {
            with: printed_before(job, feature, piece, |p| fact.after(p)),
            within: found.verdict == Verdict::Within,
        })
    })
}

fn proving_by<'a>(
    job: &Job,
    of: &SheetOf,
    pieces: &[PieceId],
    amended: bool,
    made: impl Fn(&PieceId) -> Option<Made<'a>>,
) -> Option<Proving> {
    let first = pieces.first()?;
    if job.pieces.len() < 2 {
        return None;
    }
    let issue = issue_digest(job, of, job.number_of(first));
    let mut checked = false;
    let alike: Vec<&PieceId> = match pieces {
        [_] => job.pieces.keys().collect(),
        shared => shared.iter().collect(),
    };
    for piece in alike {
        let Some(made) = made(piece) else {
            continue;
        };
        let counts = match made.with {
            Some(print) => {
                is_of_issue_now(job, print) && issue_digest(job, of, job.number_of(piece)) == issue
            }
            // Made with a template this job knows nothing of: good for the design as it was drawn.
            None => !amended && issue_digest(job, of, job.number_of(piece)) == issue,
        };
        if !counts {
            continue;
        }
        if made.within {
            return None;
        }
        checked = true;
    }
    Some(if checked {
        Proving::NoneWithin
    } else {
        Proving::NotChecked
    })
}

/// A piece whose holes were drilled and checked: it is within where every hole of the fixing is, in
/// its place and in its width. What was drilled with the jig says nothing of the drill template, nor
/// the other way round.
fn drilled<'a>(job: &'a Job, of: &SheetOf, fixing: &FixingId, piece: &PieceId) -> Option<Made<'a>> {
    let mut newest: BTreeMap<u32, &HoleFound> = BTreeMap::new();
    let mut last: Option<&Kept<DrilledFact>> = None;
    let by_fixing = EntityRef::Fixing(fixing.clone());
    for fact in job.drilled.about_part(piece, &by_fixing).rev() {
        if let Some(found) = &fact.says.found {
            newest.entry(fact.says.hole).or_insert(found);
            last = last.or(Some(fact));
        }
    }
    let last = last?;
    let with = job
        .printed
        .about_part(piece, &by_fixing)
        .rfind(|p| matches!(p.says.of, SheetOf::Fixing(_) | SheetOf::Jig(_)) && last.after(p));
    if with.is_some_and(|p| p.says.of != *of) {
        return None;
    }
    let within = |found: &&HoleFound| {
        [found.judged.place.verdict, found.judged.width] == [Verdict::Within; 2]
    };
    Some(Made {
        with: with.map(|p| &p.says),
        within: (1..=job.holes_of(fixing)).all(|n| newest.get(&n).is_some_and(within)),
    })
}

/// The sheet of a feature that a piece had when it was checked.
fn printed_before<'a>(
    job: &'a Job,
    feature: &FeatureId,
    piece: &PieceId,
    before: impl Fn(&Kept<Printed>) -> bool,
) -> Option<&'a Printed> {
    job.printed
        .about(piece)
        .rfind(|p| {
            !matches!(p.says.of, SheetOf::Rods(_))
                && job.carried_by(&p.says.of).contains(&feature)
                && before(p)
        })
        .map(|p| &p.says)
}
