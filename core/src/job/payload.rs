//! What facts say.

use super::amendments::AmendedFact;
use super::checked::{CheckFact, ConcessionFact, PairConcessionFact};
use super::cured::CuredReading;
use super::design::*;
use super::fact::FactId;
use super::holes::DrilledFact;
use super::ids::*;
use super::measured::Measured;
use super::proofs::ProofFact;
use super::rack::{CheckDistance, TemplateFact};
use super::seat::SeatReading;
use super::signed::SignOffFact;
use crate::json;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Fields of one thing, as one fact sets them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Edit {
    /// What it is about.
    pub on: EntityRef,
    /// The fields and their new values; fields not named stay as they are.
    pub set: Map<String, Value>,
}

/// One reading off a tape, rule, square or drawing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Reading {
    /// The casting it was taken on.
    pub casting: CastingId,
    /// What was read.
    pub of: Measured,
    /// What the tape said.
    pub value: Entry,
    /// With what.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<InstrumentId>,
    /// From the hook or the butt end (else from a mark on the blade).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub hooked: bool,
    /// Stage of the casting at the time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    /// How well it was read (one standard deviation), where it was said outright.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub within: Option<crate::units::Length>,
    /// Kept out of the network, and why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_aside: Option<String>,
}

/// A casting has come to a stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StageFact {
    /// The casting.
    pub casting: CastingId,
    /// The stage it came to.
    pub stage: String,
    /// The day.
    #[serde(default)]
    pub day: String,
    /// Why a stage was skipped, or why it went back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// Castings joined into a piece; the latest counts, earlier ones stay.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Marriage {
    /// The piece.
    pub piece: PieceId,
    /// Its castings; none for *taken apart again*.
    pub castings: Vec<CastingId>,
    /// Why they were put together anew, where somebody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// Something was done to a casting: filled, cut, drilled, carried over, marked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DoneFact {
    /// To which casting.
    pub casting: CastingId,
    /// What was done, in words.
    pub what: String,
    /// Where: the thing it touched.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<EntityRef>,
    /// What kind of work it was, where it matters to readings or holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<DoneKind>,
    /// Near which marks it was done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub near: Vec<MarkId>,
}

/// Kinds of work on a casting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum DoneKind {
    /// Filler was put on.
    Filled,
    /// Something was cut off or open.
    Cut,
    /// It was sanded.
    Sanded,
    /// The sentence of a hold was ticked.
    Ticked,
    /// The plug of a hatch went back and was made good.
    Closed,
}

/// Something happened to a mould.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MouldFact {
    /// Which mould.
    pub mould: MouldId,
    /// Repaired, retired, …
    pub what: String,
    /// After which pull.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after_pull: Option<u32>,
    /// Repaired or retired.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<MouldEvent>,
    /// Which sections; all of them where none is named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sections: Vec<SectionId>,
}

/// What can happen to a mould.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum MouldEvent {
    /// It was repaired.
    Repaired,
    /// Nothing is pulled from it any more.
    Retired,
}

/// A sheet was printed or downloaded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Printed {
    /// What it carries.
    #[serde(flatten)]
    pub of: super::SheetOf,
    /// The pieces it serves.
    pub pieces: Vec<PieceId>,
    /// The sheet's own reference.
    pub reference: String,
    /// The day on the sheet.
    pub day: String,
    /// What the reference was made from, so that a difference can be given its reason.
    pub inputs: PrintedInputs,
    /// Long distances to be read on the finished template before it counts as proved.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub distances: Vec<CheckDistance>,
}

/// Digests of what a sheet was made from.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PrintedInputs {
    /// The issue it was made from.
    pub issue: String,
    /// The design: outline, rule, tolerance, allowance.
    pub design: String,
    /// The readings.
    pub readings: String,
    /// The edges of its face; not known of prints of before 2026-11-28.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edges: Option<String>,
    /// The paper.
    pub paper: String,
    /// What drawings were corrected by for the printer; nothing where they were not.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub printer: String,
    /// The program.
    pub program: String,
}

/// Something said while a casting was measured, beside the readings themselves.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MeasuringFact {
    /// Of which casting.
    pub casting: CastingId,
    /// What was said.
    #[serde(flatten)]
    pub says: MeasuringSays,
}

/// What can be said while measuring.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "says", rename_all = "kebab-case")]
pub enum MeasuringSays {
    /// A reading that was asked for can't be taken.
    CannotReach {
        /// Which.
        of: Measured,
    },
    /// An odd one out was looked at and stands.
    Kept {
        /// The reading.
        reading: FactId,
        /// Why.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        why: String,
    },
    /// A reading is left out from now on.
    SetAside {
        /// The reading.
        reading: FactId,
        /// Why.
        why: String,
    },
    /// How warm the shop is while its casting is read, whole degrees Celsius.
    ShopAt {
        /// On the thermometer.
        celsius: i16,
    },
}

/// Undoes a fact (or, aimed at another withdrawal, redoes it).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Withdrawal {
    /// The fact that no longer counts.
    pub target: FactId,
}

/// Another value for a reading; both stay in the history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Correction {
    /// The reading corrected.
    pub target: FactId,
    /// What it should have said.
    pub value: Entry,
    /// Why.
    #[serde(default)]
    pub reason: String,
}

/// A thing is taken out of the job; sticky, but it can be brought back by withdrawing this.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Removal {
    /// The thing.
    pub entity: EntityRef,
}

/// What a fact of any known kind says.
#[derive(Debug, Clone, PartialEq)]
pub enum Payload {
    /// Fields of a thing.
    Edit(Edit),
    /// A reading.
    Reading(Reading),
    /// A stage reached.
    Stage(StageFact),
    /// A marriage.
    Marriage(Marriage),
    /// Something done to a casting.
    Done(DoneFact),
    /// Something that happened to a mould.
    Mould(MouldFact),
    /// A check.
    Check(Box<CheckFact>),
    /// A feature let stand.
    Concession(ConcessionFact),
    /// A pair let stand.
    PairConcession(PairConcessionFact),
    /// A record signed off.
    SignedOff(SignOffFact),
    /// A sheet printed.
    Printed(Printed),
    /// A proof page measured.
    Proof(Box<ProofFact>),
    /// Something said while measuring.
    Measuring(MeasuringFact),
    /// Something decided of a piece made to an older issue.
    Amended(AmendedFact),
    /// A reading at a joint.
    Seat(SeatReading),
    /// A hole drilled.
    Drilled(DrilledFact),
    /// A hole of a bracket read after cure.
    Cured(CuredReading),
    /// Something that happened to a template.
    Template(TemplateFact),
    /// An undo.
    Withdraw(Withdrawal),
    /// A correction.
    Correct(Correction),
    /// A removal.
    Remove(Removal),
}

/// Why a payload was not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PayloadError {
    /// A kind this version does not know: carried along untouched.
    #[error("'{kind}' is a kind of entry this version doesn't know; it is kept as it is")]
    UnknownKind {
        /// The kind.
        kind: String,
    },
    /// A version of a known kind from a later program.
    #[error("this '{kind}' was written by a newer version ({v}); it is kept as it is")]
    Newer {
        /// The kind.
        kind: String,
        /// Its version.
        v: u32,
    },
    /// The text does not fit the kind.
    #[error("this '{kind}' doesn't read: {why}")]
    Malformed {
        /// The kind.
        kind: String,
        /// What the reader said, with the field.
        why: String,
    },
}

impl Payload {
    /// The name of its kind in the file.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Edit(_) => "edit",
            Self::Reading(_) => "reading",
            Self::Stage(_) => "stage",
            Self::Marriage(_) => "marriage",
            Self::Done(_) => "done",
            Self::Mould(_) => "mould-event",
            Self::Check(_) => "check",
            Self::Concession(_) => "concession",
            Self::PairConcession(_) => "pair-concession",
            Self::SignedOff(_) => "signed-off",
            Self::Printed(_) => "printed",
            Self::Proof(_) => "printer-proof",
            Self::Measuring(_) => "measuring",
            Self::Amended(_) => "amended",
            Self::Seat(_) => "seat-reading",
            Self::Drilled(_) => "drilled",
            Self::Cured(_) => "cured-reading",
            Self::Template(_) => "template",
            Self::Withdraw(_) => "withdraw",
            Self::Correct(_) => "correct",
            Self::Remove(_) => "remove",
        }
    }

    /// The current version of every kind.
    pub const VERSION: u32 = 1;

    /// Reads the payload of a fact, raising older versions.
    ///
    /// # Errors
    /// [`PayloadError`]: unknown, newer, or not of its kind.
    pub fn read(kind: &str, v: u32, text: &str) -> Result<Self, PayloadError> {
        let known = match kind {
            "edit" => of(kind, text)
                .and_then(|edit: Edit| edit.checked())
                .map(Self::Edit),
            "reading" => of(kind, text).map(Self::Reading),
            "stage" => of(kind, text).map(Self::Stage),
            "marriage" => of(kind, text).map(Self::Marriage),
            "printed" => of(kind, text).map(Self::Printed),
            "withdraw" => of(kind, text).map(Self::Withdraw),
            "correct" => of(kind, text).map(Self::Correct),
            "remove" => of(kind, text).map(Self::Remove),
            _ => further(kind, text).unwrap_or_else(|| Err(unknown(kind))),
        };
        if matches!(known, Err(PayloadError::UnknownKind { .. })) {
            known
        } else if v > Self::VERSION {
            Err(PayloadError::Newer {
                kind: kind.to_owned(),
                v,
            })
        } else {
            known
        }
    }

    /// The payload as JSON.
    ///
    /// # Errors
    /// Never for payloads built from finite values; the JSON writer's error otherwise.
    pub fn to_value(&self) -> Result<Value, serde_json::Error> {
        match self {
            Self::Edit(p) => serde_json::to_value(p),
            Self::Reading(p) => serde_json::to_value(p),
            Self::Stage(p) => serde_json::to_value(p),
            Self::Marriage(p) => serde_json::to_value(p),
            Self::Printed(p) => serde_json::to_value(p),
            Self::Withdraw(p) => serde_json::to_value(p),
            Self::Correct(p) => serde_json::to_value(p),
            Self::Remove(p) => serde_json::to_value(p),
            other => other.further_to_value(),
        }
    }

    #[cfg(feature = "every-kind")]
    fn further_to_value(&self) -> Result<Value, serde_json::Error> {
        match self {
            Self::Done(p) => serde_json::to_value(p),
            Self::Mould(p) => serde_json::to_value(p),
            Self::Check(p) => serde_json::to_value(p),
            Self::Concession(p) => serde_json::to_value(p),
            Self::PairConcession(p) => serde_json::to_value(p),
            Self::SignedOff(p) => serde_json::to_value(p),
            Self::Proof(p) => serde_json::to_value(p),
            Self::Measuring(p) => serde_json::to_value(p),
            Self::Amended(p) => serde_json::to_value(p),
            Self::Seat(p) => serde_json::to_value(p),
            Self::Drilled(p) => serde_json::to_value(p),
            Self::Cured(p) => serde_json::to_value(p),
            Self::Template(p) => serde_json::to_value(p),
            other => other.to_value(),
        }
    }

    #[cfg(not(feature = "every-kind"))]
    fn further_to_value(&self) -> Result<Value, serde_json::Error> {
        Err(serde::ser::Error::custom(unknown(self.kind())))
    }
}

fn of<T: for<'de> Deserialize<'de>>(kind: &str, text: &str) -> Result<T, PayloadError> {
    json::read(text).map_err(|e| PayloadError::Malformed {
        kind: kind.to_owned(),
        why: e.to_string(),
    })
}

fn unknown(kind: &str) -> PayloadError {
    PayloadError::UnknownKind {
        kind: kind.chars().take(40).collect(),
    }
}

/// The kinds of which a quick template has none.
#[cfg(feature = "every-kind")]
fn further(kind: &str, text: &str) -> Option<Result<Payload, PayloadError>> {
    Some(match kind {
        "done" => of(kind, text).map(Payload::Done),
        "mould-event" => of(kind, text).map(Payload::Mould),
        "check" => of(kind, text).map(Box::new).map(Payload::Check),
        "concession" => of(kind, text).map(Payload::Concession),
        "pair-concession" => of(kind, text).map(Payload::PairConcession),
        "signed-off" => of(kind, text).map(Payload::SignedOff),
        "printer-proof" => of(kind, text).map(Box::new).map(Payload::Proof),
        "measuring" => of(kind, text).map(Payload::Measuring),
        "amended" => of(kind, text).map(Payload::Amended),
        "seat-reading" => of(kind, text).map(Payload::Seat),
        "drilled" => of(kind, text).map(Payload::Drilled),
        "cured-reading" => of(kind, text).map(Payload::Cured),
        "template" => of(kind, text).map(Payload::Template),
        _ => return None,
    })
}

#[cfg(not(feature = "every-kind"))]
fn further(_: &str, _: &str) -> Option<Result<Payload, PayloadError>> {
    None
}

fn reads<T: for<'de> Deserialize<'de>>(set: &Map<String, Value>) -> Result<(), serde_json::Error> {
    json::of_fields::<T>(set).map(drop)
}

#[cfg(feature = "every-kind")]
fn reads_further(on: &EntityRef, set: &Map<String, Value>) -> Result<(), serde_json::Error> {
    match on {
        EntityRef::Mould(_) => reads::<MouldEdit>(set),
        EntityRef::Edge(_) => reads::<EdgeEdit>(set),
        EntityRef::Pair(_) => reads::<PairEdit>(set),
        EntityRef::MeasuringList(_) => reads::<MeasuringListEdit>(set),
        EntityRef::Joint(_) => reads::<JointEdit>(set),
        EntityRef::Fixing(_) => reads::<FixingEdit>(set),
        EntityRef::Printer(_) => reads::<PrinterEdit>(set),
        EntityRef::Template(_) => reads::<TemplateEdit>(set),
        _ => Ok(()),
    }
}

impl Edit {
    /// An edit from the typed fields of a thing.
    ///
    /// # Errors
    /// The JSON writer's error; never for finite values.
    pub fn of(on: EntityRef, fields: &impl Serialize) -> Result<Self, serde_json::Error> {
        match serde_json::to_value(fields)? {
            Value::Object(set) => Ok(Self { on, set }),
            _ => Ok(Self {
                on,
                set: Map::new(),
            }),
        }
    }

    /// Every field this version knows reads as what it should be.
    fn checked(self) -> Result<Self, PayloadError> {
        let set = &self.set;
        let result = match &self.on {
            EntityRef::Job => reads::<JobEdit>(set),
            EntityRef::Issue(_) => reads::<IssueEdit>(set),
            EntityRef::Part(_) => reads::<PartEdit>(set),
            EntityRef::Face(_) => reads::<FaceEdit>(set),
            EntityRef::Mark(_) => reads::<MarkEdit>(set),
            EntityRef::Feature(_) => reads::<FeatureEdit>(set),
            EntityRef::Instrument(_) => reads::<InstrumentEdit>(set),
            EntityRef::Casting(_) => reads::<CastingEdit>(set),
            EntityRef::Piece(_) => reads::<PieceEdit>(set),
            #[cfg(feature = "every-kind")]
            other => reads_further(other, set),
            #[cfg(not(feature = "every-kind"))]
            _ => return Err(unknown("edit")),
        };
        match result {
            Ok(()) => Ok(self),
            Err(e) => Err(PayloadError::Malformed {
                kind: "edit".into(),
                why: e.to_string(),
            }),
        }
    }
}
