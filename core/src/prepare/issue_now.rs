//! Which issue a sheet is made from, and whether a print was made from the one that its pieces are made to now.

use super::sheets::digest;
use crate::job::{Amendment, Job, Printed, PrintedInputs, SheetOf};

/// The issue a sheet for a piece is made from, to be compared: what it says of what the sheet carries, and
/// nothing of what it says of others. One more change of another feature leaves it as it is.
pub(super) fn issue_digest(job: &Job, of: &SheetOf, number: u32) -> String {
    let carried: Vec<_> = (job.carried_by(of).into_iter())
        .flat_map(|f| [Some(f), job.made_from(f).map(|m| m.feature)])
        .flatten()
        .collect();
    digest_of(job, of, number, |a| carried.contains(&&a.feature))
}

/// The same as it was kept until 2026-11-28: with all that the issue changes.
fn whole_digest(job: &Job, of: &SheetOf, number: u32) -> String {
    digest_of(job, of, number, |_| true)
}

fn digest_of(job: &Job, of: &SheetOf, number: u32, says: impl Fn(&Amendment) -> bool) -> String {
    let issue = job.issue_of_sheet(of, number);
    match issue.and_then(|(_, i)| i.amends.as_ref()) {
        None => digest(&(issue.map(|(id, _)| id), issue.and_then(|(_, i)| i.number))),
        Some(amends) => {
            let amends: Vec<_> = amends.iter().filter(|a| says(a)).collect();
            digest(&(issue.map(|(id, i)| (id, i.number)), amends))
        }
    }
}

/// What would stand in a print that was made now for the same pieces.
fn now(
    print: &Printed,
    of_piece: impl Fn(u32) -> String,
    number: impl Fn(usize) -> u32,
) -> [String; 2] {
    let each: Vec<String> = (0..print.pieces.len())
        .map(|k| of_piece(number(k)))
        .collect();
    // One of the fewest may serve a single piece: it keeps the digest of a list all the same.
    let alone = match each.as_slice() {
        [one] => one.clone(),
        _ => String::new(),
    };
    [digest(&each), alone]
}

/// Whether a print was made from the issue that its pieces are to be made to now.
pub(super) fn is_of_issue_now(job: &Job, print: &Printed) -> bool {
    let kept = &print.inputs.issue;
    let number = |k: usize| print.pieces.get(k).map_or(0, |p| job.number_of(p));
    let is = |all: [String; 2]| !kept.is_empty() && all.contains(kept);
    is(now(print, |n| issue_digest(job, &print.of, n), number))
        || is(now(print, |n| whole_digest(job, &print.of, n), number))
}

/// What a print was made from, its issue as it is compared now where it is the same one.
pub(super) fn inputs_as_now(job: &Job, print: &Printed, now: &PrintedInputs) -> PrintedInputs {
    let mut was = print.inputs.clone();
    if is_of_issue_now(job, print) {
        was.issue.clone_from(&now.issue);
    }
    if was.edges.is_none() {
        was.edges.clone_from(&now.edges);
    }
    was
}
