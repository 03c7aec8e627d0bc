//! Templates as things: what stands on a printed one to be measured, and what happened to it.

use super::fold::{Job, Kept};
use super::{ClassMark, Entry, TemplateId};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// What a template is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum TemplateKind {
    /// Paper, card or film to mark or paint through.
    Stencil,
    /// A thin skin taken off a good casting, with the opening cut in it.
    Shell,
    /// A stiff plate to drill through.
    Jig,
    /// A strip with full-size positions.
    Rod,
}

impl TemplateKind {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Stencil => "stencil",
            Self::Shell => "shell",
            Self::Jig => "jig",
            Self::Rod => "rod",
        }
    }
}

/// A long distance that a tape should find on the finished template.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CheckDistance {
    /// From where to where: *A–C*.
    pub between: String,
    /// How long it was meant to be.
    pub drawn: Length,
    /// How far out it may be.
    pub within: Length,
}

/// What was read of one of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DistanceRead {
    /// Which.
    pub between: String,
    /// What the rule or tape said.
    pub read: Entry,
}

/// Something happened to a template.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TemplateFact {
    /// To which.
    pub template: TemplateId,
    /// The day.
    pub day: String,
    /// What.
    #[serde(flatten)]
    pub says: TemplateSays,
}

/// What can happen to a template.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "says", rename_all = "kebab-case")]
pub enum TemplateSays {
    /// Its long distances were read on the thing itself: the first time proves it, later ones check it.
    Measured {
        /// Each distance.
        read: Vec<DistanceRead>,
        /// The class on the blade.
        class: ClassMark,
        /// The least step read.
        step: Length,
    },
    /// It is worn or damaged: not to be used until it has been measured again.
    Worn {
        /// How, in the words typed.
        how: String,
    },
    /// It is not used any more.
    Retired {
        /// Why, in the words typed.
        why: String,
    },
}

impl Job {
    /// What happened to a template, in order.
    pub fn happened_to<'a>(
        &'a self,
        template: &'a TemplateId,
    ) -> impl DoubleEndedIterator<Item = &'a Kept<TemplateFact>> {
        self.template_events
            .iter()
            .filter(move |e| e.says.template == *template)
    }

    /// The number that the next template gets: one above the highest, retired ones counted.
    #[must_use]
    pub fn next_template_number(&self) -> u32 {
        let highest = self.templates.values().filter_map(|t| t.number).max();
        highest.unwrap_or(0).saturating_add(1)
    }
}
