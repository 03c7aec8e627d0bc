//! Why an adjustment was refused, and what is not held: numbers, for the caller to name.

use crate::surface::SurfaceError;
use crate::units::{Angle, Length};

/// Why readings could not be adjusted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AdjustError {
    /// There is nothing to find: no mark, edge or size is free.
    #[error("nothing to work out: no mark, edge or size is left open")]
    NothingToFind,
    /// A reading speaks of a mark, edge, tape or size that is not in the list.
    #[error("reading {reading} speaks of {what} {index}, which is not there")]
    Missing {
        /// Which reading.
        reading: usize,
        /// What is missing.
        what: &'static str,
        /// Its number.
        index: usize,
    },
    /// A reading that can't be as it stands.
    #[error("reading {reading} of {value_mm} mm: {why}")]
    Unusable {
        /// Which reading.
        reading: usize,
        /// Its value, mm.
        value_mm: f64,
        /// What is wrong with it.
        why: Unusable,
    },
    /// The face refuses a reading as the marks lie (over the tip, too far round, under 1 mm).
    #[error("reading {reading}: {why}")]
    Reading {
        /// Which reading.
        reading: usize,
        /// What the face said.
        why: SurfaceError,
    },
    /// The face itself can't be.
    #[error(transparent)]
    Surface(#[from] SurfaceError),
    /// A mark, edge or size starts with something that is not a usable number.
    #[error(
        "{what} {index} starts from something that is not a number, or has a spread of nothing"
    )]
    Start {
        /// What.
        what: &'static str,
        /// Its number.
        index: usize,
    },
    /// Something is not held by any reading, and no drawing is allowed to hold it.
    #[error("not held: {0:?}")]
    NotHeld(Vec<NotHeld>),
}

/// What is wrong with a reading as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unusable {
    /// From a mark to itself.
    #[error("it goes from a mark to the same mark")]
    SameMark,
    /// Not more than zero.
    #[error("a distance must be more than zero")]
    NotPositive,
    /// A precision of zero or less.
    #[error("nothing is read without any error: give how well it was read")]
    NoPrecision,
    /// A taper has no unit of length.
    #[error("a taper can't be read as a length: read two girths instead")]
    Taper,
    /// A girth of a face that does not close.
    #[error("this face does not go all the way round")]
    NotRound,
}

/// Something that nothing holds, or that only the drawing holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NotHeld {
    /// A mark.
    Point {
        /// Its number.
        index: usize,
        /// The direction in which it is free, anticlockwise from u; `None` when it is free in
        /// all directions.
        along: Option<Angle>,
        /// The reading that would hold it.
        would_hold: Remedy,
    },
    /// An edge.
    Edge {
        /// Its number.
        index: usize,
    },
    /// A size of the face.
    Size {
        /// Its place in `Shape::parameters`.
        index: usize,
    },
}

/// A reading that would hold what is not held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remedy {
    /// A distance from another mark, which lies the way the mark is free.
    DistanceFrom {
        /// The other mark's number.
        point: usize,
    },
    /// No mark lies that way: a coordinate or a square distance.
    SquareOrCoordinate,
}

impl NotHeld {
    /// The short words for it, the caller adding names: *free along 30°*.
    #[must_use]
    pub const fn words(&self) -> &'static str {
        match self {
            Self::Point { along: Some(_), .. } => "is free to slide one way",
            Self::Point { along: None, .. } => "is not held at all",
            Self::Edge { .. } => "is an edge that no reading holds",
            Self::Size { .. } => "is a size of the face that no reading holds",
        }
    }
}

/// Something to tell the user about an adjustment that succeeded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Notice {
    /// A straight line would dip into a bulging face: *trammel, or laid over?*
    LineDips {
        /// Which reading.
        reading: usize,
        /// How deep, mm.
        by: Length,
    },
    /// Another way round fitted far better and was taken.
    OtherWayRound {
        /// Which reading.
        reading: usize,
        /// The turns it was written with.
        written: i32,
        /// The turns taken.
        taken: i32,
    },
    /// The mark, edge or size is held by the drawing more than by readings.
    HeldByDrawing(NotHeld),
    /// A mark is held, but worse than the tolerance.
    Weak {
        /// Its number.
        index: usize,
        /// In which direction.
        along: Angle,
        /// Standard deviation that way.
        sd: Length,
    },
    /// The first start did not lead to a fit; this one did.
    StartedElsewhere {
        /// How many starts were tried before.
        tried: usize,
    },
}
