//! Which way a face is measured, and which way a feature runs over it.

use samespot_core::job::Runs;

/// Which way a size is asked for: its fields have a name of their own each way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// The only way, or across.
    Across,
    /// Up, where that is another.
    Up,
}

impl Way {
    /// The key of a field for this way.
    #[must_use]
    pub fn key(self, field: &str) -> String {
        match self {
            Self::Across => field.to_owned(),
            Self::Up => format!("{field}-up"),
        }
    }
}

/// How a feature runs over its face, by what is chosen.
pub(super) fn runs(chosen: &str) -> Runs {
    if chosen == "level" {
        Runs::Level
    } else {
        Runs::Straight
    }
}
