//! Somebody signs off what a record says.

use super::ids::PieceId;
use serde::{Deserialize, Serialize};

/// A record signed off: whose initials, why, and the seal of what it said then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SignOffFact {
    /// The piece; the whole run where none is named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub piece: Option<PieceId>,
    /// By whom: initials or a name, and a role.
    pub by: String,
    /// What it is signed off as, or why.
    pub reason: String,
    /// The seal of the content that was signed off.
    pub seal: String,
}
