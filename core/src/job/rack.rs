//! Templates as things: what stands on a printed one to be measured, and what happened to it.

use super::filed::Picked;
use super::fold::Job;
use super::{ClassMark, Entry, LayBackRead, PieceId, SheetOf, TemplateId};
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
    /// A flat sheet to mark holes through.
    DrillTemplate,
    /// A stiff plate that holds a bracket while its glass cures.
    SettingPlate,
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
            Self::DrillTemplate => "drill template",
            Self::SettingPlate => "setting plate",
        }
    }

    /// What a sheet is made into, where nothing else is said.
    #[must_use]
    pub const fn of_sheet(of: &SheetOf) -> Self {
        match of {
            SheetOf::Feature(_) | SheetOf::Patches(_) | SheetOf::Gores(_) | SheetOf::Pair(_) => {
                Self::Stencil
            }
            SheetOf::Rods(_) => Self::Rod,
            SheetOf::Shell(_) => Self::Shell,
            SheetOf::Fixing(_) => Self::DrillTemplate,
            SheetOf::Jig(_) => Self::Jig,
            SheetOf::Plate(_) => Self::SettingPlate,
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
    /// Both its ends are bored holes: pins stand in them, and calipers go over the pins.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub bored: bool,
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
    /// Its line was laid back on something that is right, and four gaps were read.
    LaidBack {
        /// On what, in the words typed: a fresh print of it, the piece that was approved.
        on: String,
        /// The gaps: what was laid on reaches outside the template's line where positive.
        gaps: Box<LayBackRead>,
        /// How far out its line might be when it was judged.
        room: Length,
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
    pub fn happened_to<'a>(&'a self, template: &TemplateId) -> Picked<'a, TemplateFact> {
        self.template_events.about(template)
    }

    /// The pieces of a list as it is typed: *1 to 6, 9*.
    ///
    /// # Errors
    /// What in it is no piece of this job, in a sentence.
    pub fn pieces_listed(&self, typed: &str) -> Result<Vec<PieceId>, String> {
        let mut wanted = std::collections::BTreeSet::new();
        for part in typed.split([',', ';']).map(str::trim) {
            let ends = part
                .split_once("to")
                .or_else(|| part.split_once(['–', '-']));
            let (from, to) = ends.unwrap_or((part, part));
            let number = |s: &str| s.trim().parse::<u32>().ok();
            let (Some(from), Some(to)) = (number(from), number(to)) else {
                return Err(format!(
                    "“{part}” is no piece or run of pieces: type 1 to 6, 9"
                ));
            };
            if from > to {
                return Err(format!("“{part}” runs backwards: type {to} to {from}"));
            }
            let within = self
                .pieces
                .iter()
                .filter_map(|(id, p)| Some((p.number?, id)));
            wanted.extend(within.filter(|(n, _)| (from..=to).contains(n)));
            let ends_here = |n: u32| wanted.iter().any(|(w, _)| *w == n);
            if !ends_here(from) || !ends_here(to) {
                let missing = if ends_here(from) { to } else { from };
                return Err(format!("This job has no piece {missing}"));
            }
        }
        Ok(wanted.into_iter().map(|(_, id)| id.clone()).collect())
    }

    /// The number that the next template gets: one above the highest, retired ones counted.
    #[must_use]
    pub fn next_template_number(&self) -> u32 {
        let highest = self.templates.values().filter_map(|t| t.number).max();
        highest.unwrap_or(0).saturating_add(1)
    }
}
