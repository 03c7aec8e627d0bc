//! What came of opening a file.

use samespot_core::job::{FactId, JobId};
use serde::{Deserialize, Serialize};

/// What came of opening a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Came {
    /// A job this device did not have.
    New,
    /// A copy of one it has; so many entries were new.
    Merged {
        /// New here.
        came_in: usize,
        /// Under whose name two texts are known now.
        refused: usize,
    },
}

/// What came in with a copy, to be looked at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CameIn {
    /// Into which job.
    pub job: JobId,
    /// From which file.
    pub file: String,
    /// The entries.
    pub facts: Vec<FactId>,
}
