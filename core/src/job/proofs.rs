//! Facts about printers: what a rule said of a proof page, and of a finished sheet.

use super::fold::{Job, Kept};
use super::{ClassMark, Entry, PrinterId};
use crate::proof::Plan;
use crate::sheet::Paper;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A proof page of a printer and a paper was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct ProofFact {
    /// The printer.
    pub printer: PrinterId,
    /// The paper.
    pub paper: Paper,
    /// What the page held.
    pub drawn: Plan,
    /// A to B.
    pub across: Entry,
    /// A to D.
    pub up: Entry,
    /// A to C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rising: Option<Entry>,
    /// B to D.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub falling: Option<Entry>,
    /// The class on the rule's blade.
    pub class: ClassMark,
    /// The least step read.
    pub step: Length,
    /// The outermost frame that was whole, from the edge of the paper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reaches: Option<Length>,
    /// The day.
    pub day: String,
}

impl Job {
    /// The latest proof of a printer on a paper.
    #[must_use]
    pub fn last_proof(&self, printer: &PrinterId, paper: Paper) -> Option<&Kept<ProofFact>> {
        let of = |p: &&Kept<ProofFact>| p.says.printer == *printer && p.says.paper == paper;
        self.proofs.iter().rev().find(of)
    }
}
