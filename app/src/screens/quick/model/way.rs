//! Which way a face is measured.

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
