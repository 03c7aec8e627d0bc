//! Holes: what a fixing asks for, and what became of each hole on each piece.

use super::design::Entry;
use super::ids::*;
use serde::{Deserialize, Serialize};

/// What a hole is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HolePurpose {
    /// A bolt goes through it.
    Bolt,
    /// A dowel fits in it.
    Dowel,
    /// To lift by.
    Lifting,
    /// Water runs out.
    Drain,
    /// Air gets in and out.
    Vent,
    /// A cable goes through.
    Cable,
    /// Drilled first, to be opened later.
    Pilot,
}

/// How wide a clearance hole is made (ISO 273, ASME B18.2.8).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HoleWidth {
    /// Fine, close.
    Fine,
    /// Medium, normal.
    Medium,
    /// Coarse, loose.
    Coarse,
}

/// Where the holes of a fixing lie about its middle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "holes", rename_all = "kebab-case")]
pub enum HolePattern {
    /// One hole.
    Single,
    /// Evenly on a line across.
    Row {
        /// How many.
        count: u32,
        /// From one to the next.
        pitch: Entry,
    },
    /// Evenly round a circle; the first lies straight to the right.
    BoltCircle {
        /// How many.
        count: u32,
        /// Across, through the centres.
        diameter: Entry,
    },
    /// Four at the corners: lower left, lower right, upper right, upper left.
    Rectangle {
        /// Across.
        across: Entry,
        /// Up.
        up: Entry,
    },
}

impl HolePattern {
    /// How many holes it has.
    #[must_use]
    pub const fn count(&self) -> u32 {
        match self {
            Self::Single => 1,
            Self::Row { count, .. } | Self::BoltCircle { count, .. } => *count,
            Self::Rectangle { .. } => 4,
        }
    }
}

/// Whether a hand reaches the far side once everything is closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HandReaches {
    /// A nut can be held there.
    Yes,
    /// A tapped plate or captive nut holds the bolt.
    No,
}

/// One layer that is drilled through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HoleLayer {
    /// What it is.
    pub name: String,
    /// How thick, as measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<Entry>,
    /// Its layers of glass as typed (*450 g*, *1.5 oz mat*), where it was not measured.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub glass: Vec<String>,
}

/// A hole is drilled on a piece, or has become something else. The latest for a hole counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DrilledFact {
    /// The piece.
    pub piece: PieceId,
    /// The fixing.
    pub fixing: FixingId,
    /// The hole's number in its fixing, from 1.
    pub hole: u32,
    /// What it became where it is not as asked, in the words typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub became: Option<String>,
}
