//! Names of things that never change: short enough to type, safe in an address.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Why a text cannot be an id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is no id: ids are 1 to 40 small letters, digits and hyphens")]
pub struct NotAnId(pub String);

fn checked(text: &str) -> Result<String, NotAnId> {
    let good = (1..=40).contains(&text.len())
        && text
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if good {
        Ok(text.to_owned())
    } else {
        Err(NotAnId(text.chars().take(60).collect()))
    }
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(
            #[cfg_attr(feature = "schema", schemars(regex(pattern = "^[a-z0-9-]{1,40}$")))] String,
        );

        impl $name {
            /// From text that came from outside.
            ///
            /// # Errors
            /// [`NotAnId`] when it is empty, too long or holds other characters.
            pub fn new(text: &str) -> Result<Self, NotAnId> {
                checked(text).map(Self)
            }
            /// The id as text.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }
        impl TryFrom<String> for $name {
            type Error = NotAnId;
            fn try_from(text: String) -> Result<Self, NotAnId> {
                Self::new(&text)
            }
        }
        impl From<$name> for String {
            fn from(id: $name) -> Self {
                id.0
            }
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    )+};
}

ids!(
    /// A job.
    JobId,
    /// An issue of the design.
    IssueId,
    /// A mould.
    MouldId,
    /// One section of a mould.
    SectionId,
    /// A part.
    PartId,
    /// A face of a part.
    FaceId,
    /// A datum mark.
    MarkId,
    /// A datum edge.
    EdgeId,
    /// A feature.
    FeatureId,
    /// A pair of features.
    PairId,
    /// A measuring list.
    ListId,
    /// A joint between castings.
    JointId,
    /// A fixing.
    FixingId,
    /// An instrument.
    InstrumentId,
    /// A printer.
    PrinterId,
    /// A template, as a thing.
    TemplateId,
    /// A casting.
    CastingId,
    /// A piece of the run.
    PieceId,
    /// A pad or station of a joint.
    SpotId,
);

/// Anything a fact can be about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum EntityRef {
    /// The job itself.
    Job,
    /// An issue.
    Issue(IssueId),
    /// A mould.
    Mould(MouldId),
    /// A part.
    Part(PartId),
    /// A face.
    Face(FaceId),
    /// A datum mark.
    Mark(MarkId),
    /// A datum edge.
    Edge(EdgeId),
    /// A feature.
    Feature(FeatureId),
    /// A pair.
    Pair(PairId),
    /// A measuring list.
    MeasuringList(ListId),
    /// A joint.
    Joint(JointId),
    /// A fixing.
    Fixing(FixingId),
    /// An instrument.
    Instrument(InstrumentId),
    /// A printer.
    Printer(PrinterId),
    /// A template.
    Template(TemplateId),
    /// A casting.
    Casting(CastingId),
    /// A piece.
    Piece(PieceId),
}

/// A point that a reading can go to: a datum mark, or the centre of a feature.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum PointRef {
    /// A datum mark.
    Mark(MarkId),
    /// The centre of a feature.
    Feature(FeatureId),
}
