//! What a stage waits for.

use serde::{Deserialize, Serialize};

/// A stage waits until something is done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Hold {
    /// The stage that waits.
    pub before: String,
    /// What it waits for.
    pub until: HoldUntil,
}

/// What a stage waits for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HoldUntil {
    /// Marks that vanish with that stage have been carried over by two readings each, and every
    /// face to be painted keeps three marks that can be found.
    MarksCarriedOver,
    /// Every measuring list of its part has been read.
    Measured,
    /// It is in a piece.
    Married,
    /// Somebody ticks this sentence as done.
    Ticked(String),
}
