//! What needed more memory than the device gives, and what somebody can do about it.

use samespot_core::answer::Ask;

/// What was too large, in the user's words, and what may be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooLarge {
    what: &'static str,
    smaller: &'static str,
}

impl TooLarge {
    /// Artwork that was brought.
    pub const DRAWING: Self = Self::new(
        "This drawing",
        "save it with fewer points or as a smaller picture",
    );
    /// A photograph or a screenshot.
    pub const PICTURE: Self =
        Self::new("This picture", "save it smaller, 3000 pixels wide or less");
    /// A scan.
    #[cfg(feature = "whole")]
    pub const SCAN: Self = Self::new(
        "This scan",
        "save it with fewer triangles, half as many at first",
    );

    const fn new(what: &'static str, smaller: &'static str) -> Self {
        Self { what, smaller }
    }

    /// What a question is about, should there be no room to answer it.
    #[must_use]
    pub fn asked_by(ask: &Ask) -> Self {
        match ask {
            Ask::ReadSheet { .. } => Self::new("This table", "bring it a few pieces at a time"),
            Ask::Record { piece: None, .. } | Ask::RecordTable { piece: None, .. } => {
                Self::new("The record of the whole run", "take it piece by piece")
            }
            Ask::File { .. } | Ask::FewestFile { .. } => {
                Self::new("This file", "take fewer pieces or fewer features at once")
            }
            Ask::Template { .. } | Ask::Patches { .. } | Ask::Live { .. } => Self::new(
                "This template",
                "make its outline simpler, or take larger paper so that it has fewer pages",
            ),
            Ask::Solid { .. } => Self::new(
                "The picture to be turned",
                "go on without it: nothing needs it",
            ),
            Ask::History { .. } | Ask::Compared { .. } => Self::new(
                "The history",
                "look for something in it, so that less is shown",
            ),
            _ => Self::new("This job", "open it on a larger device"),
        }
    }

    /// The sentence in the answer's place.
    #[must_use]
    pub fn says(self) -> String {
        let Self { what, smaller } = self;
        format!(
            "{what} needs more memory than this device gives. Nothing is lost, and what computes was started anew: close other tabs and apps and try again; if it stays so, {smaller}"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use samespot_core::job::JobId;

    #[test]
    fn it_says_what_was_too_large_and_what_to_do() {
        let Ok(job) = JobId::new("j") else {
            unreachable!("a name")
        };
        let says = TooLarge::asked_by(&Ask::Survey { job }).says();
        assert!(says.starts_with("This job needs more memory"), "{says}");
        assert!(says.contains("Nothing is lost") && says.ends_with("larger device"));
    }
}
