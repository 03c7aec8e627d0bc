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
