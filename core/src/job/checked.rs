//! What was checked on a piece, and what was let stand there although it is not within.

use super::design::Entry;
use super::ids::{FeatureId, InstrumentId, PairId, PieceId};
use super::payload::Reading;
use crate::check::{DecisionRule, Verdict};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A feature was checked on a piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CheckFact {
    /// The piece.
    pub piece: PieceId,
    /// The feature.
    pub feature: FeatureId,
    /// What was read.
    pub readings: Vec<Reading>,
    /// In whose words.
    #[serde(default)]
    pub note: String,
    /// The gaps of a lay-back, each as typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lay_back: Option<LayBackRead>,
    /// What was found with what was known then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<Found>,
    /// The stage of the casting at the time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stage: Option<String>,
    /// What the gaps of a lay-back were read with; distances name their own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<InstrumentId>,
    /// What stands on the template that was laid back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
}

/// Gaps between the template's line and the paint's edge, as typed; paint outside is positive.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct LayBackRead {
    /// At 12 o'clock.
    pub top: Entry,
    /// At 3 o'clock.
    pub right: Entry,
    /// At 6 o'clock.
    pub bottom: Entry,
    /// At 9 o'clock.
    pub left: Entry,
}

/// What a check found, as it was judged when it was made.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Found {
    /// To the right of where it should be, seen from outside.
    pub right: Length,
    /// Up from where it should be.
    pub up: Length,
    /// How far the paint lies outside its line all round.
    pub size: Length,
    /// How far out it may be.
    pub limit: Length,
    /// What the method could tell: the guard of the decision rule.
    pub guard: Length,
    /// What it came to.
    pub verdict: Verdict,
    /// By which rule.
    pub rule: DecisionRule,
    /// One standard deviation of what was measured, the worse way: the guard of the measured value
    /// alone is nought, its uncertainty is not. Older programs did not keep it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sd: Option<Length>,
}

/// A feature that is not within is let stand by somebody who may say so.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ConcessionFact {
    /// The piece.
    pub piece: PieceId,
    /// The feature.
    pub feature: FeatureId,
    /// By whom: a name and a role.
    pub by: String,
    /// Why.
    pub reason: String,
}

/// What was asked of a pair and is not met is let stand by somebody who may say so.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PairConcessionFact {
    /// The piece.
    pub piece: PieceId,
    /// The pair.
    pub pair: PairId,
    /// By whom: a name and a role.
    pub by: String,
    /// Why.
    pub reason: String,
}
