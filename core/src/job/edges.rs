//! Edges of castings: how they came about, and on which side of a face they lie.

use serde::{Deserialize, Serialize};

/// How an edge came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum EdgeMade {
    /// As it left the mould.
    Moulded,
    /// Trimmed by hand.
    Trimmed,
}

/// On which side of its face an edge lies, seen from outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum EdgeLies {
    /// Under everything.
    #[default]
    Below,
    /// Over everything.
    Above,
    /// To the left.
    Left,
    /// To the right.
    Right,
}

impl EdgeLies {
    /// In a sentence: *edge below*.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Below => "edge below",
            Self::Above => "edge above",
            Self::Left => "edge on the left",
            Self::Right => "edge on the right",
        }
    }

    /// Below and above face alike, left and right face alike.
    #[must_use]
    pub const fn faces(self) -> bool {
        matches!(self, Self::Below | Self::Above)
    }
}
