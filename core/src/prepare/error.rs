//! Why a template could not be made, with names the workshop uses.

use crate::outline::{OffsetError, OutlineError};
use crate::place::PlaceError;
use crate::sheet::SheetError;
use crate::surface::SurfaceError;
use crate::template::LayingError;

/// Why a template could not be made, and what to do about it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PrepareError {
    /// A thing the template needs is not in the job.
    #[error("{what} of {of} has not been set up yet: {then}")]
    NotSetUp {
        /// What is missing.
        what: &'static str,
        /// Of which thing.
        of: String,
        /// What to do.
        then: &'static str,
    },
    /// An issue has it on other pieces only.
    #[error("{feature} is not made on piece {piece}: issue {issue} says so")]
    NotMade {
        /// The feature.
        feature: String,
        /// The piece's number.
        piece: u32,
        /// The issue.
        issue: u32,
    },
    /// The piece has no casting of this part yet.
    #[error("piece {piece} has no {part} yet: say which casting it is married to")]
    NoCasting {
        /// The piece's number.
        piece: String,
        /// The part.
        part: String,
    },
    /// The pattern has no readings to lay the design out from.
    #[error("nothing places {point} on the pattern yet: {need}")]
    PatternNotPlaced {
        /// Which point.
        point: String,
        /// What to read.
        need: String,
        /// Which point it is, where it is one of the job's.
        of: Option<crate::job::PointRef>,
        /// Readings fit on either side of a line: only its side is wanting.
        either_side: bool,
    },
    /// Nothing has been read on this casting.
    #[error("nothing has been read on {casting} yet: read {list}")]
    NotMeasured {
        /// The casting.
        casting: String,
        /// What to read.
        list: String,
    },
    /// What is kept level, on something that was not levelled.
    #[error(
        "{feature} is kept level, and {line} was not levelled on {casting}: take a level to {line}"
    )]
    NotLevelled {
        /// The feature.
        feature: String,
        /// The casting, or the pattern.
        casting: String,
        /// The line of its rule.
        line: String,
    },
    /// A size of the face that can't be.
    #[error("{face}: {why}")]
    Size {
        /// The face.
        face: String,
        /// What is wrong with it.
        why: String,
    },
    /// A reading that can't be as it stands.
    #[error("{casting}, {reading}: {why}")]
    Reading {
        /// The casting.
        casting: String,
        /// The reading, in words.
        reading: String,
        /// What is wrong.
        why: String,
    },
    /// The readings contradict each other so much that nothing fits.
    #[error("the readings on {casting} do not go together: {hint}")]
    DoNotFit {
        /// The casting.
        casting: String,
        /// Which to look at first.
        hint: String,
    },
    /// The outline can't be made.
    #[error("the outline of {feature}: {why}")]
    Outline {
        /// The feature.
        feature: String,
        /// What is wrong.
        why: String,
    },
    /// Both of a pair can't be on one template.
    #[error("{pair}: {why}")]
    Pair {
        /// The pair.
        pair: String,
        /// Why, and what to do.
        why: String,
    },
    /// An outline drawn as it is seen can't be carried onto the face.
    #[error("{feature}: {why}")]
    Elevation {
        /// The feature.
        feature: String,
        /// What is wrong, and what to do.
        why: String,
    },
    /// The rule can't be applied.
    #[error("{feature}: {why}")]
    Place {
        /// The feature.
        feature: String,
        /// What is wrong.
        why: PlaceError,
    },
    /// No laying holds the template.
    #[error("{feature}: {why}")]
    Laying {
        /// The feature.
        feature: String,
        /// What is wrong.
        why: LayingError,
    },
    /// The holes of a fixing can't be laid out.
    #[error("{fixing}: {why}")]
    Holes {
        /// The fixing.
        fixing: String,
        /// What is wrong.
        why: String,
    },
    /// The face refuses.
    #[error("{feature}: {why}")]
    Surface {
        /// The feature.
        feature: String,
        /// What is wrong.
        why: SurfaceError,
    },
    /// A carried-over cross fits its readings in two places.
    #[error(
        "{mark} on {casting} fits its readings on either side: read it from a third mark, or say on which side it lies"
    )]
    EitherPlace {
        /// The cross.
        mark: String,
        /// The casting.
        casting: String,
    },
    /// Too few marks can be found at the casting's stage.
    #[error(
        "{feature}: {why}; {left}. Marks should be carried over before they vanish: measure this face anew from marks that can be found"
    )]
    NothingToLayOn {
        /// The feature.
        feature: String,
        /// Which marks are gone.
        why: String,
        /// What is left.
        left: String,
    },
    /// The sheets can't be laid out.
    #[error(transparent)]
    Sheet(#[from] SheetError),
}

impl PrepareError {
    pub(super) fn outline(feature: &str, why: &OutlineError) -> Self {
        Self::Outline {
            feature: feature.to_owned(),
            why: why.to_string(),
        }
    }
    pub(super) fn offset(feature: &str, why: &OffsetError) -> Self {
        Self::Outline {
            feature: feature.to_owned(),
            why: why.to_string(),
        }
    }
}
