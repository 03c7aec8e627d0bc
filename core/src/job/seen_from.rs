//! How an outline is given: laid over the surface, or drawn as it is seen.

use super::design::Entry;
use super::ids::MarkId;
use serde::{Deserialize, Serialize};

/// How an outline is given: laid over the surface, or drawn as it is seen from far off or from an eye.
///
/// No angles are asked: a direction is that in which one stands straight in front of something.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "from", rename_all = "kebab-case")]
pub enum SeenFrom {
    /// Laid over the surface, as a tape lies.
    #[default]
    Surface,
    /// As seen straight on at the middle of the feature itself.
    Middle,
    /// As seen straight on at a mark.
    Mark {
        /// The mark.
        mark: MarkId,
    },
    /// As seen on the level, standing straight in front of a mark.
    Level {
        /// The mark.
        mark: MarkId,
    },
    /// As seen from the approved viewpoint: an eye on the level straight in front of a mark.
    Eye {
        /// The mark.
        mark: MarkId,
        /// How far in front of it the eye is, on the level.
        away: Entry,
        /// How high above it the eye is; below it where negative.
        above: Entry,
    },
    /// As seen from where one mark hides another, which may lie on another face of the part: along
    /// the line through both, from far off.
    Hides {
        /// The mark in front.
        nearer: MarkId,
        /// The mark behind it.
        hidden: MarkId,
    },
}

impl SeenFrom {
    /// The mark one stands in front of.
    #[must_use]
    pub const fn mark(&self) -> Option<&MarkId> {
        match self {
            Self::Surface | Self::Middle | Self::Hides { .. } => None,
            Self::Mark { mark } | Self::Level { mark } | Self::Eye { mark, .. } => Some(mark),
        }
    }
}
