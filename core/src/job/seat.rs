//! How a figure sits on its base: what a joint asks for, and what is read there.

use super::design::Entry;
use super::ids::*;
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};

/// How the figure is bedded; it decides what may be swapped later.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Bedding {
    /// In filler on its own base: figure and base belong together from then on.
    OwnBase,
    /// In filler on the master seat: any figure fits any base that fits the master.
    MasterSeat,
    /// On hard pads or a gasket, no filler: free to swap.
    HardPads,
}

/// A place of the joint in plan, seen from above with the front towards you: a pad under the
/// figure, or a station where the locating dimension is read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SeatSpot {
    /// Its id within the joint.
    pub id: SpotId,
    /// Where it is, in words: *front left*.
    pub name: String,
    /// To the right of the centre line, as somebody looking at the front sees it.
    pub across: Entry,
    /// Behind the middle (negative: in front of it).
    pub back: Entry,
    /// How steep the base is under it, off level.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slope: Option<Angle>,
    /// Which way it falls, in plan: from *across* anticlockwise towards *back*.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub falls: Option<Angle>,
}

/// Something thin in the joint beside the filler: paint, release film, felt.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SeatLayer {
    /// What it is.
    pub name: String,
    /// How thick, as painted or as laid.
    pub thickness: Length,
    /// It is there while the figure is bedded.
    pub while_bedding: bool,
    /// It is there in the finished piece.
    pub finished: bool,
}

/// When something was read at the joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum SeatWhen {
    /// Set on trial, no filler.
    Dry,
    /// In wet filler, before it gels: the last chance.
    Wet,
    /// Cured: the one that counts.
    Cured,
}

/// What was read at a joint.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "read", rename_all = "kebab-case")]
pub enum SeatRead {
    /// The height of a place over the gridded board, with the casting chocked as it stands: on a
    /// base the top under a pad or the foot of a station, on a figure its underside or its mark.
    Height {
        /// The casting.
        casting: CastingId,
        /// The pad or station.
        spot: SpotId,
    },
    /// The gap between figure and base at a pad.
    Gap {
        /// The piece.
        piece: PieceId,
        /// The pad.
        pad: SpotId,
        /// When.
        when: SeatWhen,
    },
    /// The locating dimension at a station.
    Locating {
        /// The piece.
        piece: PieceId,
        /// The station.
        station: SpotId,
        /// When.
        when: SeatWhen,
    },
}

/// With what a locating dimension was read, where it was not a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum SeatTool {
    /// A steel rule or height gauge.
    Rule,
    /// A pocket tape on its hook.
    Tape,
    /// The locating stick and its shim gauge.
    Stick,
}

/// One reading at a joint. The latest of the same thing counts; earlier ones stay to be read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SeatReading {
    /// The joint.
    pub joint: JointId,
    /// What was read.
    #[serde(flatten)]
    pub of: SeatRead,
    /// What it said.
    pub value: Entry,
    /// With what.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<InstrumentId>,
    /// With what kind of thing, if not a rule.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool: Option<SeatTool>,
}

impl SeatReading {
    /// Every thing of the job it speaks of.
    #[must_use]
    pub fn speaks_of(&self) -> Vec<EntityRef> {
        let mut all = vec![EntityRef::Joint(self.joint.clone())];
        all.push(match &self.of {
            SeatRead::Height { casting, .. } => EntityRef::Casting(casting.clone()),
            SeatRead::Gap { piece, .. } | SeatRead::Locating { piece, .. } => {
                EntityRef::Piece(piece.clone())
            }
        });
        all.extend(self.instrument.clone().map(EntityRef::Instrument));
        all
    }
}
