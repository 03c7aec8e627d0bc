//! Why a feature could not be placed.

use crate::surface::SurfaceError;

/// Why a feature could not be placed.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PlaceError {
    /// Two marks that should give a direction are all but the same.
    #[error(
        "the two marks of the rule are less than 1 mm apart on this casting: check that they are two different marks"
    )]
    MarksTooClose,
    /// The third mark lies on the line of the other two and cannot tell the sides apart.
    #[error(
        "the third mark lies within {within_mm:.1} mm of the line through the other two, too near to say which side is up: choose one further off"
    )]
    NoSide {
        /// Three standard deviations of its offset, mm.
        within_mm: f64,
    },
    /// The marks' pattern is mirrored on this casting.
    #[error(
        "the marks run the other way round on this casting than on the pattern: two of them may be exchanged"
    )]
    Mirrored,
    /// Edges of a face that is round both ways.
    #[error(
        "edges can be followed where the face is flat, round one way or tapered: on one that is round both ways an edge bends, and what lies square from it depends on how; let it follow marks here"
    )]
    EdgesBend,
    /// Edges that run side by side.
    #[error(
        "these two edges run side by side and meet in no corner: choose one that crosses the other"
    )]
    EdgesSideBySide,
    /// A best fit over fewer than two marks.
    #[error("a best fit needs at least two marks read on this casting")]
    TooFewMarks,
    /// Marks of a best fit lie all at one spot.
    #[error("the marks of the best fit are too close together to give a direction")]
    NoDirection,
    /// The best fit did not settle.
    #[error("the best fit did not settle: the marks do not look like the pattern's")]
    NotSettled,
    /// The surface refused.
    #[error(transparent)]
    Surface(#[from] SurfaceError),
}
