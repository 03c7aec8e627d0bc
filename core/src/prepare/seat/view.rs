//! What the Seat screen shows.

use super::given::Given;
use crate::job::{Bedding, CastingId, Entry, Job, JointId, PieceId, SeatSpot, SeatWhen, SpotId};
use crate::seat::BedFlag;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// The seat of one piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SeatView {
    /// The joint.
    pub joint: JointId,
    /// Every joint of the job that is set out, with its name: this one among them.
    pub joints: Vec<(JointId, String)>,
    /// Its name.
    pub name: String,
    /// The piece's number.
    pub piece: String,
    /// The base, by its number.
    pub base: Option<String>,
    /// The figure, by its number.
    pub figure: Option<String>,
    /// Heights over the board, pads then stations, on base and figure.
    pub heights: Vec<HeightRow>,
    /// How it is bedded.
    pub bedding: Option<Bedding>,
    /// The fixed locating dimension.
    pub locating: Length,
    /// How far it may be out.
    pub within: Length,
    /// The thinnest bed.
    pub least: Length,
    /// The thickest bed.
    pub greatest: Length,
    /// How far the joint's edge is from its middle.
    pub edge: Option<Length>,
    /// Paint, film and felt, in words.
    pub layers: Vec<String>,
    /// What the shims are worked out from; nothing while too little was read.
    pub from: Option<SeatFrom>,
    /// The pads.
    pub pads: Vec<PadView>,
    /// The stations.
    pub stations: Vec<StationView>,
    /// Whether it is held, in words.
    pub held: String,
    /// How it is free to move, in words.
    pub free: Vec<String>,
    /// Readings that contradict the others, in words.
    pub contradict: Vec<String>,
    /// What 1 mm more of shim does.
    pub moves: Vec<MoveRow>,
    /// What a reading on trial that is 1 mm too long does to the shims.
    pub misread: Vec<MisreadRow>,
    /// How sure the shims are (95 %).
    pub sure: Option<Length>,
    /// How sure a reading is with each thing it may be read with, in words.
    pub gain: String,
    /// Lean and step by the latest readings.
    pub lean: Option<LeanView>,
    /// What to read next, in words.
    pub missing: Vec<String>,
    /// Which figure goes on which base.
    pub pairing: Option<PairingView>,
}

/// What shims are worked out from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SeatFrom {
    /// Heights read on both castings, before they ever met.
    Heights,
    /// Gaps and locating dimensions with the figure set on trial.
    Trial,
}

/// What a bed is at a pad.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PadFlag {
    /// Between least and greatest.
    Fits,
    /// Dry spot here.
    DrySpot,
    /// Too thick.
    TooThick,
}

impl From<BedFlag> for PadFlag {
    fn from(flag: BedFlag) -> Self {
        match flag {
            BedFlag::Fits => Self::Fits,
            BedFlag::DrySpot => Self::DrySpot,
            BedFlag::TooThick => Self::TooThick,
        }
    }
}

/// A pad.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PadView {
    /// Its id in the joint.
    pub id: SpotId,
    /// Where it is, in words.
    pub name: String,
    /// In plan: across, back.
    pub across: Length,
    /// Behind the middle.
    pub back: Length,
    /// How steep the base is there, degrees.
    pub slope_deg: f64,
    /// Which way it falls there, degrees in plan from *across* towards *back*.
    pub falls_deg: f64,
    /// The height of the base there.
    pub top: Option<Length>,
    /// The shim, and the bed beside it.
    pub shim: Option<Length>,
    /// Whether it is between least and greatest.
    pub flag: Option<PadFlag>,
    /// The gap read on trial.
    pub dry: Option<Entry>,
}

/// A height on each of the two castings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeightRow {
    /// The pad or station.
    pub spot: SpotId,
    /// *P1, front left*.
    pub name: String,
    /// On the base; nothing while the piece has none.
    pub base: Option<HeightCell>,
    /// On the figure.
    pub figure: Option<HeightCell>,
}

/// A height on one casting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeightCell {
    /// The casting.
    pub casting: CastingId,
    /// What was read.
    pub read: Option<Entry>,
    /// What the same place reads on the other castings: the middle one of them.
    pub usual: Option<Length>,
}

/// A verdict on what was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SeatVerdict {
    /// Within.
    Within,
    /// Outside.
    Outside,
    /// Can't tell with this.
    CannotTell,
}

/// One time a station is read.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct StationState {
    /// What it should read then.
    pub aim: Option<Length>,
    /// What it read.
    pub read: Option<Entry>,
    /// How well it was read, one standard deviation.
    pub sd: Length,
    /// What that means.
    pub verdict: Option<SeatVerdict>,
}

impl StationState {
    /// Guard-banded (ISO 14253-1, design/11): within if off ≤ T − U, outside past T + U.
    pub(super) fn judged(&self, within: Length) -> Option<SeatVerdict> {
        let off = Length::from_mm(self.read.as_ref()?.mm.mm() - self.aim?.mm()).abs();
        let (t, u) = (within.to_um(), (self.sd * 2.0).to_um());
        Some(if off.to_um() <= t - u {
            SeatVerdict::Within
        } else if off.to_um() > t + u {
            SeatVerdict::Outside
        } else {
            SeatVerdict::CannotTell
        })
    }
}

/// A station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StationView {
    /// Its id in the joint.
    pub id: SpotId,
    /// Where it is, in words.
    pub name: String,
    /// In plan: across.
    pub across: Length,
    /// Behind the middle.
    pub back: Length,
    /// The height of its end on the base.
    pub foot: Option<Length>,
    /// The height of its end on the figure, seated.
    pub mark: Option<Length>,
    /// On trial.
    pub dry: StationState,
    /// In wet filler.
    pub wet: StationState,
    /// Cured: the one that counts.
    pub cured: StationState,
    /// The ends of its locating stick: what goes, what doesn't; nothing where no stick can tell.
    pub stick: Option<(Length, Length)>,
}

impl StationView {
    pub(super) fn at_mm(&self) -> [f64; 2] {
        [self.across.mm(), self.back.mm()]
    }

    /// One time it is read.
    #[must_use]
    pub const fn at(&self, when: SeatWhen) -> &StationState {
        match when {
            SeatWhen::Dry => &self.dry,
            SeatWhen::Wet => &self.wet,
            SeatWhen::Cured => &self.cured,
        }
    }

    pub(super) fn bare(spot: &SeatSpot, job: &Job, given: &Given, piece: &PieceId) -> Self {
        let read = |when| StationState {
            read: given.locating_read(job, piece, &spot.id, when),
            sd: given.locating_sd(job, piece, &spot.id, when),
            ..StationState::default()
        };
        Self {
            id: spot.id.clone(),
            name: spot.name.clone(),
            across: spot.across.mm,
            back: spot.back.mm,
            foot: None,
            mark: None,
            dry: read(SeatWhen::Dry),
            wet: read(SeatWhen::Wet),
            cured: read(SeatWhen::Cured),
            stick: None,
        }
    }
}

impl PadView {
    pub(super) fn bare(spot: &SeatSpot, job: &Job, given: &Given, piece: &PieceId) -> Self {
        Self {
            id: spot.id.clone(),
            name: spot.name.clone(),
            across: spot.across.mm,
            back: spot.back.mm,
            slope_deg: spot.slope.map_or(0.0, |s| s.deg()),
            falls_deg: spot.falls.map_or(0.0, |f| f.deg()),
            top: None,
            shim: None,
            flag: None,
            dry: given.gap_read(job, piece, &spot.id, SeatWhen::Dry),
        }
    }
}

/// What 1 mm more under something does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MoveRow {
    /// Under what.
    pub what: String,
    /// How much each station rises.
    pub up: Vec<Length>,
    /// How far the figure leans, per 100 mm of its height.
    pub leans: Length,
    /// Which way, in words.
    pub towards: String,
}

/// What a reading that is 1 mm too long does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MisreadRow {
    /// At which station.
    pub station: String,
    /// By how much the shim at each pad then comes out other than it should.
    pub shims: Vec<Length>,
    /// How far the figure then leans, per 100 mm of its height.
    pub leans: Length,
    /// Which way, in words.
    pub towards: String,
}

/// Lean and step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LeanView {
    /// By readings taken when.
    pub when: SeatWhen,
    /// High in the middle by.
    pub high: Length,
    /// Its lean, degrees.
    pub tilt_deg: f64,
    /// High towards, in words.
    pub high_towards: String,
    /// The worst step at the edge.
    pub step: Length,
}

/// Which figure goes on which base.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairingView {
    /// *Any fits any, 0.6 to spare*.
    pub verdict: String,
    /// What it rests on, and what to do.
    pub because: String,
    /// Bases, by their numbers.
    pub bases: Vec<String>,
    /// Figures, by their numbers, with the misfit on each base.
    pub figures: Vec<PairingRow>,
    /// The misfit allowed.
    pub allowed: Length,
}

/// One figure on every base.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairingRow {
    /// The figure, by its number.
    pub figure: String,
    /// It is the one of the piece in hand.
    pub here: bool,
    /// On each base.
    pub on: Vec<PairingCell>,
}

/// One figure on one base.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairingCell {
    /// The misfit; nothing where it was not measured.
    pub misfit: Option<Length>,
    /// The shims it needs.
    pub shims: Vec<Length>,
    /// They go together, or are proposed to.
    pub chosen: bool,
    /// They are together now: the castings of one piece.
    pub married: bool,
    /// They are locked.
    pub locked: bool,
    /// It is inside tolerance.
    pub inside: bool,
}
