//! Whether a print still holds, and what changed where it does not.

use super::Source;
use super::amendments::change_words;
use super::issue_now::{inputs_as_now, is_of_issue_now};
use super::sheets::{inputs_of_all, issue};
use crate::job::{FeatureId, IssueEdit, PieceId, Printed, PrintedInputs, SheetOf};
use crate::sheet::Paper;

/// Whether the newest print of its kind for a piece still holds; what changed, where it does not.
///
/// A print is stale when the reference computed now, on the paper it was printed on, differs from
/// the one printed.
#[must_use]
pub fn staleness(source: &Source<'_>, of: impl Into<SheetOf>, piece: &PieceId) -> Option<String> {
    let printed = source.job.last_print(of, piece)?;
    print_is_stale(source, &printed.says, piece)
}

/// The same for one print, seen from one of the pieces it serves.
#[must_use]
pub fn print_is_stale(source: &Source<'_>, says: &Printed, piece: &PieceId) -> Option<String> {
    let of = &says.of;
    let paper: Paper = crate::json::read(&says.inputs.paper).unwrap_or_default();
    let issue_now = source.job.issue_of_sheet(of, source.job.number_of(piece));
    let changed_by = issue_now.map(|(_, issue)| issue).zip(of.feature());
    // Rods say by what they were made from whether they hold: their first module need not draw them.
    if says.pieces.len() > 1 || matches!(of, SheetOf::Rods(_)) {
        let now = inputs_of_all(source, of, &says.pieces, paper);
        let was = inputs_as_now(source.job, says, &now);
        return (now != was).then(|| stale_words(says, &was, &now, changed_by));
    }
    match issue(source, of, piece, paper, "") {
        Ok(now) if now.drawing.reference == says.reference => None,
        // What was printed before its issue was approved says so, and is right all the same.
        Ok(_) if as_before_approval(source, says, piece, paper) => None,
        Ok(now) => {
            let was = inputs_as_now(source.job, says, &now.inputs);
            Some(stale_words(says, &was, &now.inputs, changed_by))
        }
        Err(why) => Some(format!(
            "The sheet printed on {} can't be made again as things stand: {why}",
            says.day
        )),
    }
}

/// The sheet is as it was printed but for the words that nobody had approved its issue yet.
fn as_before_approval(source: &Source<'_>, says: &Printed, piece: &PieceId, paper: Paper) -> bool {
    let job = source.job;
    let Some((id, issue_now)) = job.issue_of_sheet(&says.of, job.number_of(piece)) else {
        return false;
    };
    if issue_now.amends.is_none() || !issue_now.approved() || !is_of_issue_now(job, says) {
        return false;
    }
    let mut before = job.clone();
    before.asked = crate::job::Asked::default();
    if let Some(edit) = before.issues.get_mut(id) {
        edit.approved_by = None;
    }
    let before = Source {
        job: &before,
        attachments: source.attachments,
    };
    let made = issue(&before, &says.of, piece, paper, "");
    made.is_ok_and(|made| made.drawing.reference == says.reference)
}

fn stale_words(
    printed: &Printed,
    was: &PrintedInputs,
    now: &PrintedInputs,
    issue: Option<(&IssueEdit, &FeatureId)>,
) -> String {
    let mut why: Vec<String> = Vec::new();
    if was.issue != now.issue {
        let changes = issue.map(|(i, feature)| (i, i.changes(feature).collect::<Vec<_>>()));
        why.push(match changes {
            Some((issue, changes)) if !changes.is_empty() => {
                let said: Vec<String> = changes.into_iter().map(change_words).collect();
                let number = issue.number.unwrap_or(0);
                format!("issue {number} has it {}", said.join(", "))
            }
            _ => "a newer issue applies".into(),
        });
    } else if was.design != now.design {
        why.push("the design changed".into());
    }
    if was.readings != now.readings {
        why.push("readings changed".into());
    }
    if was.printer != now.printer {
        why.push("drawings are corrected for the printer otherwise".into());
    }
    if was.program != now.program {
        why.push("the program is another version".into());
    }
    let reason = if why.is_empty() {
        "what it was made from changed".to_owned()
    } else {
        why.join(", ")
    };
    let (noun, holds, it) = match printed.of {
        SheetOf::Rods(_) => ("rods", "hold", "them"),
        _ => ("sheet", "holds", "it"),
    };
    format!(
        "The {} printed on {} ({}) no longer {}: {reason}. Scrap {} and print again",
        noun, printed.day, printed.reference, holds, it
    )
}
