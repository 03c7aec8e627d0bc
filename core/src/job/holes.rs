//! Holes: what a fixing asks for, and what became of each hole on each piece.

use super::design::Entry;
use super::ids::*;
use crate::check::{DecisionRule, HoleJudged};
use crate::frames::{Flat, Point2, Vector2};
use crate::holes::bolting::Lie;
use crate::holes::pattern::{Pattern, PatternError, evenly_along};
use crate::units::{Angle, Length};
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
    /// Evenly round a circle.
    BoltCircle {
        /// How many.
        count: u32,
        /// Across, through the centres.
        diameter: Entry,
        /// Where the first lies, anticlockwise from straight to the right, if not there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        first: Option<Angle>,
    },
    /// Four at the corners: lower left, lower right, upper right, upper left.
    Rectangle {
        /// Across.
        across: Entry,
        /// Up.
        up: Entry,
    },
    /// Evenly along a straight edge, as few as the greatest pitch allows; the middle of the
    /// pattern is the middle of the edge.
    Along {
        /// How long the edge is.
        length: Entry,
        /// From its left end to the first hole.
        start: Entry,
        /// From the last hole to its right end.
        end: Entry,
        /// From one to the next at most.
        greatest: Entry,
    },
}

impl HolePattern {
    /// How many holes it has; none where its sizes make no pattern.
    #[must_use]
    pub fn count(&self) -> u32 {
        match self {
            Self::Single => 1,
            Self::Row { count, .. } | Self::BoltCircle { count, .. } => *count,
            Self::Rectangle { .. } => 4,
            Self::Along { .. } => self
                .places()
                .map_or(0, |all| u32::try_from(all.len()).unwrap_or(0)),
        }
    }

    /// How its holes lie to each other.
    #[must_use]
    pub const fn lie(&self) -> Lie {
        match self {
            Self::Single | Self::Row { .. } | Self::Along { .. } => Lie::Row,
            Self::BoltCircle { .. } | Self::Rectangle { .. } => Lie::Ring,
        }
    }

    /// Where its holes lie from its middle, in their order.
    ///
    /// # Errors
    /// [`PatternError`] where its sizes make no pattern.
    pub fn places(&self) -> Result<Vec<Vector2<Flat>>, PatternError> {
        match self {
            Self::Single => Pattern::Single.places(),
            Self::Row { count, pitch } => Pattern::Row {
                count: *count,
                pitch: pitch.mm,
            }
            .places(),
            Self::BoltCircle {
                count,
                diameter,
                first,
            } => Pattern::BoltCircle {
                count: *count,
                diameter: diameter.mm,
                first: first.unwrap_or(Angle::ZERO),
            }
            .places(),
            Self::Rectangle { across, up } => Pattern::Rectangle {
                across: across.mm,
                up: up.mm,
            }
            .places(),
            Self::Along {
                length,
                start,
                end,
                greatest,
            } => {
                let half = length.mm.mm() / 2.0;
                let edge: [Point2<Flat>; 2] =
                    [Point2::from_mm(-half, 0.0), Point2::from_mm(half, 0.0)];
                let all = evenly_along(&edge, (start.mm, end.mm), greatest.mm)?;
                Ok(all
                    .iter()
                    .map(|p| Vector2::from_mm(p.x_mm(), p.y_mm()))
                    .collect())
            }
        }
    }
}

/// What holds the bolt on the far side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HeldBy {
    /// The bracket's plate is tapped.
    TappedPlate,
    /// A nut fixed to the bracket.
    CaptiveNut,
    /// A loose nut and washer; the bracket's hole is clear.
    LooseNut,
}

/// A stop of a jig: it touches an edge of the casting opposite a mark.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JigStop {
    /// Which edge.
    pub edge: EdgeId,
    /// Opposite which mark, from which the edge is read square.
    pub at: MarkId,
}

/// A round place that no hole may touch, and why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct KeepOut {
    /// Its middle to the right of the mark the bracket is dimensioned from.
    pub right: Entry,
    /// Its middle above that mark.
    pub up: Entry,
    /// Across.
    pub across: Entry,
    /// What is there.
    pub why: String,
}

/// An engineer lets a short edge distance or pitch stand. It holds for the bolt and the distances
/// it was given for, and lapses when one of them changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct SpacingLet {
    /// Whose initials.
    pub initials: String,
    /// Why.
    pub reason: String,
    /// For which bolt.
    pub thread: String,
    /// With this to the edge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_edge: Option<Length>,
    /// With this between the nearest two holes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pitch: Option<Length>,
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

/// Whether a hole that came out bigger gives its place more room (ISO 2692, maximum material
/// requirement).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum BiggerHole {
    /// It does.
    MoreRoom,
    /// It does not.
    NoMore,
}

/// What was found of a drilled hole, as it was judged then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct HoleFound {
    /// Across.
    pub across: Entry,
    /// Its middle to the right of where it should be, seen from outside.
    pub right: Entry,
    /// And up.
    pub up: Entry,
    /// What that came to.
    pub judged: HoleJudged,
    /// By which rule.
    pub rule: DecisionRule,
}

/// A hole is drilled on a piece, or has become something else. The latest for a hole counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
    /// What was found of it, where it was checked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<Box<HoleFound>>,
}
