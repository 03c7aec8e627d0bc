//! A template's first use is a proving piece: until one made with it has been checked and is within,
//! its sheets bear PROVING.
//!
//! Templates made for one piece each are proved together, by any piece to the same issue: they are one
//! design carried by one reckoning. A template shared by several pieces is a thing of its own and is
//! proved on one of them. What an issue changed is proved anew: a check counts for it only where the
//! sheet printed last before the check was made from that issue.

use super::checks::newest;
use super::sheets::{is_of_issue_now, issue_digest};
use crate::check::Verdict;
use crate::job::{FeatureId, Job, Kept, PieceId, Printed, SheetOf};
use serde::{Deserialize, Serialize};

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
/// carries no feature, or where the job has one piece only.
#[must_use]
pub fn proving(job: &Job, of: &SheetOf, pieces: &[PieceId]) -> Option<Proving> {
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

fn proving_of(job: &Job, of: &SheetOf, feature: &FeatureId, pieces: &[PieceId]) -> Option<Proving> {
    let first = pieces.first()?;
    if job.pieces.len() < 2 {
        return None;
    }
    let issue = issue_digest(job, of, job.number_of(first));
    let amended = job
        .issue_of(feature, job.number_of(first))
        .is_some_and(|(_, i)| i.amends.is_some());
    let mut checked = false;
    let alike: Vec<&PieceId> = match pieces {
        [_] => job.pieces.keys().collect(),
        shared => shared.iter().collect(),
    };
    for piece in alike {
        let Some((fact, found)) = newest(job, feature, piece) else {
            continue;
        };
        let before = printed_before(job, feature, piece, |p| fact.after(p));
        let counts = match before {
            Some(print) => {
                is_of_issue_now(job, print) && issue_digest(job, of, job.number_of(piece)) == issue
            }
            // Painted from a template this job knows nothing of: good for the design as it was drawn.
            None => !amended && issue_digest(job, of, job.number_of(piece)) == issue,
        };
        if !counts {
            continue;
        }
        if found.verdict == Verdict::Within {
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

/// The sheet of a feature that a piece had when it was checked.
fn printed_before<'a>(
    job: &'a Job,
    feature: &FeatureId,
    piece: &PieceId,
    before: impl Fn(&Kept<Printed>) -> bool,
) -> Option<&'a Printed> {
    job.printed
        .iter()
        .rev()
        .find(|p| {
            !matches!(p.says.of, SheetOf::Rods(_))
                && job.carried_by(&p.says.of).contains(&feature)
                && p.says.pieces.contains(piece)
                && before(p)
        })
        .map(|p| &p.says)
}
