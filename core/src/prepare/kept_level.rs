//! What is kept level: its turn on a casting follows a spirit level instead of the line of its rule.
//!
//! ```text
//!  pattern: A–B to up, θp     casting: A–B to up, θc     turned by θc − θp on this casting's line
//! ```
//! The template is laid on the marks all the same, so that what the level did not tell turns with
//! it: the deviation of both angles goes into the budget as a turn of its own.

use super::design::Design;
use super::error::PrepareError;
use super::naming::{casting_words, name_of};
use super::network::Marks;
use crate::job::{Job, PieceId, PointRef, RuleSpec};
use crate::readings::UpAgainst;
use crate::units::Angle;

/// As it was approved, and as it will stand in the end: the first way in which each was levelled.
pub(super) const AS_IT_WILL_STAND: u32 = 0;

/// As it stands first on the board, by the heights of its marks there.
pub(super) const BY_BOARD: u32 = u32::MAX;

/// The way in which it stood that says which way is up: levelled, else by the board.
pub(super) fn stands_by(marks: &Marks) -> Option<usize> {
    [AS_IT_WILL_STAND, BY_BOARD]
        .into_iter()
        .find_map(|stood| marks.stood.iter().position(|s| *s == stood))
}

/// Turned so far on a casting's line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Levelled {
    /// Anticlockwise seen from outside.
    pub(super) by: Angle,
    /// Standard deviation.
    pub(super) sd: Angle,
}

impl Levelled {
    /// What is said beside the template.
    pub(super) fn words(self) -> String {
        let deg = self.by.deg();
        let sure = 2.0 * self.sd.deg();
        if deg.abs() < 0.05 {
            return format!(
                "kept level: this casting’s line is as level as the pattern’s, within {sure:.1}°"
            );
        }
        let way = if deg > 0.0 {
            "anticlockwise"
        } else {
            "clockwise"
        };
        format!(
            "kept level: turned {:.1}° {way} on this casting’s line, known within {sure:.1}°",
            deg.abs()
        )
    }
}

/// Up against the line of a rule, as readings on one casting tell it.
pub(super) fn on(
    job: &Job,
    marks: &Marks,
    rule: Option<&RuleSpec>,
    (feature, casting): (&str, &str),
) -> Result<UpAgainst, PrepareError> {
    let line = rule.and_then(RuleSpec::line).ok_or_else(|| PrepareError::NotSetUp {
        what: "the line that is kept level",
        of: feature.to_owned(),
        then: "only what follows two marks has one: let it follow two, or keep its turn otherwise",
    })?;
    let found = || {
        let stance = stands_by(marks)?;
        let [from, to] = line.map(|m| marks.index(&PointRef::Mark(m.clone())));
        marks.adjusted.up_against(stance, from?, to?)
    };
    found().ok_or_else(|| {
        let [a, b] = line.map(|m| name_of(job, &PointRef::Mark(m.clone())));
        PrepareError::NotLevelled {
            feature: feature.to_owned(),
            casting: casting.to_owned(),
            line: format!("{a}–{b}"),
        }
    })
}

/// How far a design is turned on the line of this casting; nothing where its turn is kept to that.
pub(super) fn levelled(
    job: &Job,
    design: &Design<'_>,
    marks: &Marks,
    piece: &PieceId,
) -> Result<Option<Levelled>, PrepareError> {
    let Some(drawn) = design.level else {
        return Ok(None);
    };
    let casting = design
        .edit
        .face
        .as_ref()
        .and_then(|f| job.casting_of(piece, job.faces.get(f)?.part.as_ref()?))
        .map_or_else(|| piece.to_string(), |c| casting_words(job, c));
    let here = on(
        job,
        marks,
        design.edit.rule.as_ref(),
        (&design.name, &casting),
    )?;
    let turn = here.turn.rad() - drawn.turn.rad();
    Ok(Some(Levelled {
        // The short way round.
        by: Angle::from_rad(libm::remainder(turn, core::f64::consts::TAU)),
        sd: Angle::from_rad(libm::hypot(here.sd.rad(), drawn.sd.rad())),
    }))
}
