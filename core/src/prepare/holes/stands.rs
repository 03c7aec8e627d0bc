//! A fixing's pattern put on the casting of a piece, and what its thread asks for.

use super::around::{InTheWay, keep_clear};
use super::cured::{Cured, Unsettled, settled};
use super::laid::LayError;
use crate::frames::{Flat, Vector2};
use crate::holes::fastener::{Clearance, NotAThread, Thread};
use crate::holes::fit::{HoleTooSmall, may_be_apart};
use crate::holes::grade::HoleClass;
use crate::holes::laminate::WeightError;
use crate::holes::pattern::PatternError;
use crate::holes::through::ThroughError;
use crate::job::{
    Entry, FeatureEdit, FixingEdit, FixingId, HandReaches, HolePurpose, HoleWidth, PieceId,
    PointRef,
};
use crate::prepare::Source;
use crate::prepare::design::{Centre, design_about, missing};
use crate::prepare::error::PrepareError;
use crate::prepare::standing::{Standing, standing};
use crate::units::{Angle, Length};
use std::borrow::Cow;

/// How far the bracket's own holes are off, each way (design/10 §1.6).
pub(super) const BRACKET_WITHIN: Length = Length::from_mm(0.3);

/// Why one fixing can't be laid out.
#[derive(Debug, thiserror::Error)]
pub(super) enum Cannot {
    #[error(transparent)]
    Prepare(#[from] PrepareError),
    #[error(transparent)]
    Thread(#[from] NotAThread),
    #[error(transparent)]
    Pattern(#[from] PatternError),
    #[error(transparent)]
    Lay(#[from] LayError),
    #[error(transparent)]
    Glass(#[from] WeightError),
    #[error(transparent)]
    InTheWay(#[from] InTheWay),
    #[error(transparent)]
    TooSmall(#[from] HoleTooSmall),
    #[error(transparent)]
    Cured(#[from] Unsettled),
    #[error(transparent)]
    Through(#[from] ThroughError),
}

impl Cannot {
    /// The same for a template of the fixing.
    pub(super) fn of(self, fixing: &str) -> PrepareError {
        match self {
            Self::Prepare(why) => why,
            other => PrepareError::Holes {
                fixing: fixing.to_owned(),
                why: other.to_string(),
            },
        }
    }
}

/// A fixing's pattern put on the casting of a piece.
pub(super) struct Stands {
    pub(super) thread: Thread,
    /// The holes about the middle, in the bracket's own plane.
    pub(super) places: Vec<Vector2<Flat>>,
    pub(super) standing: Standing,
    /// Where the bracket came to be, where that was read.
    pub(super) cured: Option<Cured>,
}

/// The pattern where it now belongs: where the bracket was read to be after cure, else where it
/// was meant to be.
pub(super) fn stands(
    source: &Source<'_>,
    id: &FixingId,
    name: &str,
    fixing: &FixingEdit,
    piece: &PieceId,
) -> Result<Stands, Cannot> {
    let meant = as_meant(source, name, fixing, piece)?;
    settled(source, id, name, fixing, piece, meant)
}

/// The pattern where it was meant to be.
pub(super) fn as_meant(
    source: &Source<'_>,
    name: &str,
    fixing: &FixingEdit,
    piece: &PieceId,
) -> Result<Stands, Cannot> {
    let from = fixing
        .from
        .clone()
        .ok_or_else(|| missing("the mark it is dimensioned from", name, "choose a mark"))?;
    let thread = fixing
        .thread
        .as_deref()
        .ok_or_else(|| missing("the thread", name, "say which bolt it takes, as M10"))?;
    let thread = Thread::named(thread)?;
    let spec = fixing
        .pattern
        .as_ref()
        .ok_or_else(|| missing("the pattern of holes", name, "say where they lie"))?;
    let places = spec.places()?;
    let like_a_feature = FeatureEdit {
        face: fixing.face.clone(),
        name: fixing.name.clone(),
        rule: fixing.rule.clone(),
        turn: fixing.turn,
        turn_kept: fixing.turn_kept,
        ..FeatureEdit::default()
    };
    let mm = |e: &Option<Entry>| e.as_ref().map_or(0.0, |e| e.mm.mm());
    // Dimensioned along its rule and square to it; a design is moved along its own axes.
    let turn = fixing.turn.unwrap_or(Angle::ZERO);
    let to = Vector2::<Flat>::from_mm(mm(&fixing.right), mm(&fixing.up)).turned(-turn.rad());
    let design = design_about(
        source,
        Cow::Owned(like_a_feature),
        name.to_owned(),
        &Centre::Read(PointRef::Mark(from)),
        (Length::from_mm(to.x_mm()), Length::from_mm(to.y_mm())),
    )?;
    let standing = standing(source, &design, piece)?;
    let by = standing.level.map_or(Angle::ZERO, |l| l.by);
    keep_clear(fixing, drill_of(fixing, thread).0, &places, by)?;
    Ok(Stands {
        thread,
        places,
        standing,
        cured: None,
    })
}

/// How far the axes of a bolt's two holes may be apart.
pub(super) fn apart(fixing: &FixingEdit, thread: Thread) -> Result<Length, HoleTooSmall> {
    let hole = thread.clearance(clearance_of(fixing).0);
    let other = (fixing.hand_reaches == Some(HandReaches::Yes)).then_some(hole);
    may_be_apart(hole, other, thread.diameter())
}

pub(super) fn clearance_of(fixing: &FixingEdit) -> (Clearance, &'static str) {
    match fixing.width {
        Some(HoleWidth::Fine) => (Clearance::Fine, "fine"),
        None | Some(HoleWidth::Medium) => (Clearance::Medium, "medium"),
        Some(HoleWidth::Coarse) => (Clearance::Coarse, "coarse"),
    }
}

/// The widest a hole may come out, and by what; nothing for a dowel, which is reamed to its own fit.
pub(super) fn widest_of(fixing: &FixingEdit, drill: Length) -> Option<(Length, Option<HoleClass>)> {
    if let Some(said) = &fixing.widest {
        return Some((said.mm, None));
    }
    let class = match fixing.purpose.unwrap_or(HolePurpose::Bolt) {
        HolePurpose::Bolt | HolePurpose::Lifting => clearance_of(fixing).0.class(),
        HolePurpose::Dowel => return None,
        // Nothing is put in that would ask for more (common practice, no source).
        HolePurpose::Pilot | HolePurpose::Drain | HolePurpose::Vent | HolePurpose::Cable => {
            HoleClass::H14
        }
    };
    Some((drill + class.wider(drill)?, Some(class)))
}

/// The drill, and what it is for.
pub(super) fn drill_of(fixing: &FixingEdit, thread: Thread) -> (Length, String) {
    let (width, named) = clearance_of(fixing);
    let standard = if thread.name().starts_with('M') {
        "ISO 273"
    } else {
        "ASME B18.2.8"
    };
    let clears = (
        thread.clearance(width),
        format!("clears {}, {named} ({standard})", thread.name()),
    );
    match fixing.purpose.unwrap_or(HolePurpose::Bolt) {
        HolePurpose::Bolt => clears,
        HolePurpose::Lifting => (clears.0, format!("{}, to lift by", clears.1)),
        HolePurpose::Dowel => (
            thread.diameter(),
            "for a dowel: ream to the dowel's own fit".into(),
        ),
        HolePurpose::Pilot => (
            thread.tapping_drill(),
            format!("a pilot, the tapping size of {}", thread.name()),
        ),
        HolePurpose::Drain => (clears.0, "a drain: at the lowest place, kept open".into()),
        HolePurpose::Vent => (clears.0, "a vent: kept open".into()),
        HolePurpose::Cable => (clears.0, "for a cable: a grommet over the raw edge".into()),
    }
}
