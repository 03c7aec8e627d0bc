//! What can be read on a casting.

use super::ids::*;
use serde::{Deserialize, Serialize};

/// What is read.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "read", rename_all = "kebab-case")]
pub enum Measured {
    /// A straight distance: the line is clear of the surface, or by calipers or trammel.
    Straight {
        /// From.
        from: PointRef,
        /// To.
        to: PointRef,
    },
    /// A distance with the tape laid on the surface.
    Over {
        /// From.
        from: PointRef,
        /// To.
        to: PointRef,
    },
    /// Square from a datum edge.
    Square {
        /// The edge.
        edge: EdgeId,
        /// The point.
        to: PointRef,
    },
    /// A coordinate on the face, from a drawing or a scanner.
    Coordinate {
        /// The point.
        of: PointRef,
        /// Across (u) or up (v).
        axis: FaceAxis,
    },
    /// All the way round a face, at v above its lower line.
    Girth {
        /// The face.
        face: FaceId,
        /// At which of its lines.
        at: GirthLine,
    },
    /// How far one point stands above another, by a level; nothing where both are level, less
    /// than nothing where it stands below.
    Level {
        /// Above this one.
        from: PointRef,
        /// Stands this one.
        to: PointRef,
        /// As the casting stood then: another number once it was moved.
        #[serde(default, skip_serializing_if = "is_first")]
        stood: u32,
    },
    /// How far a point lies to the right of the plumb line through another, seen from outside;
    /// less than nothing to its left.
    Plumb {
        /// The line hangs through this one.
        high: PointRef,
        /// And passes this one.
        low: PointRef,
        /// As the casting stood then.
        #[serde(default, skip_serializing_if = "is_first")]
        stood: u32,
    },
    /// Height above a board, or above a level line: by a height stick, a water level or a laser.
    Height {
        /// The point.
        of: PointRef,
        /// As the casting and the line stood then.
        #[serde(default, skip_serializing_if = "is_first")]
        stood: u32,
    },
    /// Where a mark stands on the gridded board: plumbed to the grid, and its height by a stick.
    Board {
        /// The mark.
        of: PointRef,
        /// Along which edge of the board, or up.
        axis: BoardAxis,
        /// As the casting stood then: another number once it was moved.
        #[serde(default, skip_serializing_if = "is_first")]
        stood: u32,
    },
}

/// The casting has not been moved since the first time.
#[allow(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
const fn is_first(stood: &u32) -> bool {
    *stood == 0
}

impl Measured {
    /// The points it touches, from first to last.
    #[must_use]
    pub fn points(&self) -> Vec<&PointRef> {
        match self {
            Self::Straight { from, to }
            | Self::Over { from, to }
            | Self::Level { from, to, .. } => {
                vec![from, to]
            }
            Self::Plumb { high, low, .. } => vec![high, low],
            Self::Square { to: p, .. }
            | Self::Coordinate { of: p, .. }
            | Self::Height { of: p, .. }
            | Self::Board { of: p, .. } => {
                vec![p]
            }
            Self::Girth { .. } => Vec::new(),
        }
    }

    /// Whether it goes from or to a point.
    #[must_use]
    pub fn touches(&self, point: &PointRef) -> bool {
        match self {
            Self::Straight { from: a, to: b }
            | Self::Over { from: a, to: b }
            | Self::Level { from: a, to: b, .. }
            | Self::Plumb {
                high: a, low: b, ..
            } => a == point || b == point,
            Self::Square { to: p, .. }
            | Self::Coordinate { of: p, .. }
            | Self::Height { of: p, .. }
            | Self::Board { of: p, .. } => p == point,
            Self::Girth { .. } => false,
        }
    }

    /// Which way up the casting stood, where that comes into it.
    #[must_use]
    pub const fn stood(&self) -> Option<u32> {
        match self {
            Self::Level { stood, .. } | Self::Plumb { stood, .. } | Self::Height { stood, .. } => {
                Some(*stood)
            }
            _ => None,
        }
    }

    /// How often the casting was moved before, where that comes into it.
    #[must_use]
    pub const fn moved(&self) -> u32 {
        match self {
            Self::Level { stood, .. }
            | Self::Plumb { stood, .. }
            | Self::Height { stood, .. }
            | Self::Board { stood, .. } => *stood,
            _ => 0,
        }
    }
}

/// Along which edge of the gridded board, or up from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum BoardAxis {
    /// To the right along its front edge, for somebody who stands in front of it.
    Across,
    /// From its front edge to the back.
    Back,
    /// Up from it.
    Up,
}

/// Across or up on a face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum FaceAxis {
    /// Across.
    U,
    /// Up.
    V,
}

/// Where a girth was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum GirthLine {
    /// The lower line (the only one, on a cylinder or dome).
    Lower,
    /// The upper line of a cone.
    Upper,
}
