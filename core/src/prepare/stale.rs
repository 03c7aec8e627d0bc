//! Whether a print still holds, and what changed where it does not.

use super::Source;
use super::amendments::change_words;
use super::issue_now::{inputs_as_now, is_of_issue_now};
use super::sheets::{inputs_of_all, issue};
use super::words::feature_title;
use crate::job::{Job, PieceId, Printed, PrintedInputs, SheetOf};
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
    let changed_by = issue_words(source.job, of, source.job.number_of(piece));
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

/// What the issue a sheet is to be made from now says of what the sheet carries: *issue 2 has it moved 14 mm
/// down*; by name where it carries two, or is said of what it is made from.
fn issue_words(job: &Job, of: &SheetOf, number: u32) -> Option<String> {
    let (_, issue) = job.issue_of_sheet(of, number)?;
    let carried = job.carried_by(of);
    let mut said: Vec<String> = Vec::new();
    for feature in &carried {
        let spoken_of = job.spoken_of(issue, feature);
        let changes: Vec<String> = issue.changes(spoken_of).map(change_words).collect();
        if changes.is_empty() {
            continue;
        }
        let who = if spoken_of == *feature && carried.len() == 1 {
            "it".to_owned()
        } else {
            let edit = job.features.get(spoken_of);
            edit.map_or_else(|| spoken_of.to_string(), feature_title)
        };
        let words = format!("{who} {}", changes.join(", "));
        if !said.contains(&words) {
            said.push(words);
        }
    }
    let number = issue.number.unwrap_or(0);
    (!said.is_empty()).then(|| format!("issue {number} has {}", said.join(" and ")))
}

fn stale_words(
    printed: &Printed,
    was: &PrintedInputs,
    now: &PrintedInputs,
    changed_by: Option<String>,
) -> String {
    let mut why: Vec<String> = Vec::new();
    if was.issue != now.issue {
        why.push(changed_by.unwrap_or_else(|| "a newer issue applies".into()));
    } else if was.design != now.design {
        why.push("the design changed".into());
    }
    if was.readings != now.readings {
        why.push("readings changed".into());
    }
    if was.edges != now.edges {
        why.push("an edge of the face changed".into());
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
