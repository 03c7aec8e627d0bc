//! How old each casting of a piece was when it was read and checked, and how warm the shop was: a
//! fresh casting goes on shrinking, and a steel tape grows otherwise than glass fibre does.

use super::run_checks::age::days_after;
use super::warmth::noted;
use crate::job::{CastingId, FeatureId, Job, PieceId};
use crate::run::casting_name;
use crate::sheet::Block;

/// A line for each casting of which any of it is known; none for the rest.
pub(super) fn ages(job: &Job, piece: &PieceId) -> Vec<Block> {
    let castings = job.marriages.get(piece).map(|m| m.castings.as_slice());
    let castings = castings.unwrap_or_default().iter();
    castings
        .filter_map(|c| words(job, piece, c))
        .map(Block::Words)
        .collect()
}

/// *Cap 7: demoulded 2026-10-07; its marks read 4 days after, checked 12 to 14 days after; the shop
/// at 18 °C*.
fn words(job: &Job, piece: &PieceId, casting: &CastingId) -> Option<String> {
    let born = job.castings.get(casting).and_then(|c| c.demoulded.clone());
    let shop = noted(job, casting);
    if born.is_none() && shop.is_none() {
        return None;
    }
    let after = |wall: &str| days_after(job, casting, wall);
    let read = span(
        (job.readings.iter())
            .filter(|r| r.says.casting == *casting)
            .filter_map(|r| after(&r.wall)),
    );
    let checked = span(
        (job.checks.iter())
            .filter(|c| {
                c.says.piece == *piece && casting_of(job, piece, &c.says.feature) == Some(casting)
            })
            .filter_map(|c| after(&c.wall)),
    );
    let of = |what: &str, span: Option<String>| span.map(|s| format!("{what} {s}"));
    let ages: Vec<String> = [of("its marks read", read), of("checked", checked)]
        .into_iter()
        .flatten()
        .collect();
    let born = match born {
        Some(day) => format!("demoulded {day}"),
        None => "the day it was demoulded was not noted".to_owned(),
    };
    let shop = match shop {
        Some(celsius) => format!("the shop at {celsius} °C"),
        None => "how warm the shop was is not noted".to_owned(),
    };
    let all = [born, ages.join(", "), shop];
    let all: Vec<String> = all.into_iter().filter(|s| !s.is_empty()).collect();
    Some(format!(
        "{}: {}.",
        casting_name(job, casting),
        all.join("; ")
    ))
}

/// *4 days after*, *4 to 9 days after*.
fn span(days: impl Iterator<Item = i64>) -> Option<String> {
    let (low, high) = days.fold(None, |span: Option<(i64, i64)>, d| {
        Some(span.map_or((d, d), |(low, high)| (low.min(d), high.max(d))))
    })?;
    Some(match (low, high) {
        (0, 0) => "on the same day".to_owned(),
        (1, 1) => "1 day after".to_owned(),
        (low, high) if low == high => format!("{low} days after"),
        (low, high) => format!("{low} to {high} days after"),
    })
}

/// The casting of a piece that a feature lies on.
pub(super) fn casting_of<'a>(
    job: &'a Job,
    piece: &PieceId,
    feature: &FeatureId,
) -> Option<&'a CastingId> {
    let face = job.features.get(feature)?.face.as_ref()?;
    job.casting_of(piece, job.faces.get(face)?.part.as_ref()?)
}

/// For a table: days from demoulding to something that happened then, and the shop in °C; empty
/// where nobody noted them.
pub(super) fn cells(job: &Job, piece: &PieceId, feature: &FeatureId, wall: &str) -> [String; 2] {
    let casting = casting_of(job, piece, feature);
    let said = |n: Option<String>| n.unwrap_or_default();
    [
        said(
            casting
                .and_then(|c| days_after(job, c, wall))
                .map(|d| d.to_string()),
        ),
        said(casting.and_then(|c| noted(job, c)).map(|c| c.to_string())),
    ]
}
