//! What is on a piece already, and to which issue: a piece keeps what it was built to until somebody
//! says what becomes of it.

use super::super::checks::{newest, of_piece, worked_on};
use super::super::issue_now::is_of_issue_now;
use super::words::change_words;
use crate::check::Verdict;
use crate::job::{
    Change, EntityRef, FeatureId, IssueEdit, IssueId, Job, Kept, PieceId, Printed, StageFact,
};
use crate::run::{painting_stage, place_in, stage_list};
use serde::{Deserialize, Serialize};

/// A feature that is on a piece as an older issue has it, of which nobody has said yet what becomes of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Older {
    /// The issue that it is to be made to now.
    pub issue: u32,
    /// What shows that it is on the piece: *painted*, *checked*.
    pub because: String,
    /// What that issue has otherwise: *moved 14 mm down*.
    pub changes: String,
}

impl Older {
    /// What it means, and what to do.
    #[must_use]
    pub fn sentence(&self) -> String {
        format!(
            "Issue {0} has it {1}; here it is as before ({2}). Make it again, or say under Changes that it stays. A template of before, laid back, says nothing of issue {0}",
            self.issue, self.changes, self.because
        )
    }
}

/// Whether a feature is on a piece as an older issue has it, undecided.
///
/// It is where something shows that it was made before any sheet of the issue was printed. A check *within*
/// by a sheet of the issue settles it as well as a decision does.
#[must_use]
pub fn older(job: &Job, feature: &FeatureId, piece: &PieceId) -> Option<Older> {
    let number = job.number_of(piece);
    if job.in_force(feature, number)?.not_made.is_some() {
        return None;
    }
    let original = job.made_from(feature).map_or(feature, |m| m.feature);
    let changes_it = |issue: &IssueEdit| {
        [feature, original]
            .iter()
            .any(|f| issue.changes(f).next().is_some() && !only_paper(issue, f))
    };
    let all = job.issues_on(number).into_iter();
    let (id, issue) = all.rev().find(|(_, issue)| changes_it(issue))?;
    // What comes with the issue was nowhere before it.
    let added = |f: &&FeatureId| issue.changes(f).any(|c| *c == Change::Added);
    if [feature, original].iter().any(added) || decided(job, id, feature, piece) {
        return None;
    }
    let because = on_the_piece(job, feature, piece)?;
    Some(Older {
        issue: issue.number.unwrap_or(0),
        because,
        changes: issue
            .changes(job.spoken_of(issue, feature))
            .map(change_words)
            .collect::<Vec<_>>()
            .join(", "),
    })
}

fn decided(job: &Job, issue: &IssueId, feature: &FeatureId, piece: &PieceId) -> bool {
    let mut said = (job.amended).about_part(piece, &EntityRef::Feature(feature.clone()));
    said.any(|a| a.says.issue == *issue)
}

/// A change that leaves every finished piece as it is: what was asked of it is less or other words.
pub(super) fn only_paper(issue: &IssueEdit, feature: &FeatureId) -> bool {
    issue
        .changes(feature)
        .all(|c| matches!(c, Change::Tolerance { .. }))
}

/// What shows that the feature is on the piece from before its issue: a check of it, work on it, or the
/// casting's stage, each unless it came after a sheet of the issue.
pub(super) fn on_the_piece(job: &Job, feature: &FeatureId, piece: &PieceId) -> Option<String> {
    let carries = |p: &&Kept<Printed>| job.carried_by(&p.says.of).contains(&feature);
    let of_issue = |p: &&Kept<Printed>| carries(p) && is_of_issue_now(job, &p.says);
    let first = job.printed.about(piece).find(of_issue);
    if let Some((check, found)) = newest(job, feature, piece)
        && found.verdict == Verdict::Within
        && let Some(laid) = check.says.reference.as_deref()
        && (job.printed.about(piece)).any(|p| p.says.reference == laid && of_issue(&p))
    {
        return None;
    }
    let checked = of_piece(job, feature, piece).next();
    if checked.is_some_and(|c| first.is_none_or(|p| !c.after(p))) {
        return Some("checked".into());
    }
    if worked_on(job, feature, piece, first) {
        return Some("marked or painted".into());
    }
    let stage = painted_since(job, feature, piece)?;
    first
        .is_none_or(|p| !stage.after(p))
        .then(|| stage.says.stage.clone())
}

/// The step by which its casting came to be painted, unless it was taken back since.
fn painted_since<'a>(
    job: &'a Job,
    feature: &FeatureId,
    piece: &PieceId,
) -> Option<&'a Kept<StageFact>> {
    let stages = stage_list(job);
    let painting = painting_stage(job)?;
    let mut since = None;
    for step in job.stages.about(job.casting_with(feature, piece)?) {
        let at = place_in(&stages, &step.says.stage);
        if at.is_some_and(|at| at >= painting) {
            since = since.or(Some(step));
        } else {
            since = None;
        }
    }
    since
}
