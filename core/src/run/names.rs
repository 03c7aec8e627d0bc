//! What castings, pieces and marks are called in sentences.

use crate::job::{CastingId, Job, MarkId, PieceId};

/// *base 7*, *base, pull 12* before it has a number, *the pattern of base*.
#[must_use]
pub fn casting_name(job: &Job, casting: &CastingId) -> String {
    let edit = job.castings.get(casting);
    let part = edit
        .and_then(|c| c.part.as_ref())
        .and_then(|p| job.parts.get(p))
        .and_then(|p| p.name.clone())
        .unwrap_or_else(|| "casting".into());
    if edit.and_then(|c| c.pattern) == Some(true) {
        return format!("the pattern of {part}");
    }
    let number = edit.and_then(|c| c.number.as_deref()).map(str::trim);
    match (number.filter(|n| !n.is_empty()), edit.and_then(|c| c.pull)) {
        (Some(number), _) => format!("{part} {number}"),
        (None, Some(pull)) => format!("{part}, pull {pull}"),
        (None, None) => format!("{part} ({casting})"),
    }
}

/// What stands on its tile: its number, else its pull, else its id.
#[must_use]
pub fn casting_label(job: &Job, casting: &CastingId) -> String {
    let edit = job.castings.get(casting);
    let number = edit.and_then(|c| c.number.as_deref()).map(str::trim);
    match (number.filter(|n| !n.is_empty()), edit.and_then(|c| c.pull)) {
        (Some(number), _) => number.to_owned(),
        (None, Some(pull)) => format!("pull {pull}"),
        (None, None) if edit.and_then(|c| c.pattern) == Some(true) => "pattern".into(),
        (None, None) => casting.to_string(),
    }
}

/// *piece 7*.
#[must_use]
pub fn piece_name(job: &Job, piece: &PieceId) -> String {
    match job.pieces.get(piece).and_then(|p| p.number) {
        Some(number) => format!("piece {number}"),
        None => format!("piece {piece}"),
    }
}

/// A mark's letter.
#[must_use]
pub fn mark_name(job: &Job, mark: &MarkId) -> String {
    job.marks
        .get(mark)
        .and_then(|m| m.letter.clone())
        .unwrap_or_else(|| mark.to_string())
}

/// *A, B and C*.
pub(super) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
