//! What an issue changes, and what a piece was built to.
//!
//! A piece keeps what its issues say: an amendment holds on the pieces its issue applies to and on
//! no other, so a run may be half of one issue and half of the next.

use super::design::*;
use super::fold::Job;
use super::ids::*;
use super::outline_spec::OutlineSpec;
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// One change of one feature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Amendment {
    /// Which feature.
    pub feature: FeatureId,
    /// What becomes of it.
    pub change: Change,
}

/// What can become of a feature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Change {
    /// Moved over the surface, seen from outside with the feature's up upwards.
    Moved {
        /// To the right; to the left is negative.
        right: Entry,
        /// Up; down is negative.
        up: Entry,
    },
    /// Turned about its middle, anticlockwise seen from outside.
    Turned {
        /// By how much.
        by: Angle,
    },
    /// Turned over, left for right, about its own middle.
    Mirrored,
    /// Another outline.
    Outline {
        /// Which.
        outline: OutlineSpec,
    },
    /// Another finish: *raised instead of painted*.
    Finish {
        /// What it is from now on.
        finish: String,
    },
    /// It may be out by something else.
    Tolerance {
        /// How far, any way.
        tolerance: Length,
    },
    /// It is no longer made.
    Dropped,
    /// It is new with this issue.
    Added,
}

/// What was decided of one piece that an amendment finds already made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct AmendedFact {
    /// The issue.
    pub issue: IssueId,
    /// The piece.
    pub piece: PieceId,
    /// The feature.
    pub feature: FeatureId,
    /// What was decided.
    pub decided: Decided,
}

/// What can be decided of a piece that was made to an older issue.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Decided {
    /// It was made again to the new issue.
    Reworked,
    /// It stays as it is.
    Concession {
        /// By whom: a name and a role.
        by: String,
        /// Why.
        reason: String,
    },
}

/// A feature as it is to be made on one piece.
#[derive(Debug, Clone, PartialEq)]
pub struct InForce<'a> {
    /// The feature with every change that holds on this piece.
    pub edit: Cow<'a, FeatureEdit>,
    /// How far it was moved altogether, to the right and up.
    pub moved: (Length, Length),
    /// It is not made on this piece: the issue that dropped it, or the one that brings it later.
    pub not_made: Option<u32>,
}

impl Job {
    /// The issues that hold on a piece, oldest first.
    #[must_use]
    pub fn issues_on(&self, piece: u32) -> Vec<(&IssueId, &IssueEdit)> {
        let mut all: Vec<_> = self
            .issues
            .iter()
            .filter(|(_, i)| i.holds_on(piece))
            .collect();
        all.sort_by_key(|(id, i)| (i.number.unwrap_or(0), (*id).clone()));
        all
    }

    /// The newest issue that says something of a feature on a piece: one that changes it, or one
    /// that is a whole design and lists no changes.
    #[must_use]
    pub fn issue_of(&self, feature: &FeatureId, piece: u32) -> Option<(&IssueId, &IssueEdit)> {
        let original = self.made_from(feature).map_or(feature, |m| m.feature);
        self.issues_on(piece).into_iter().rfind(|(_, i)| {
            i.changes(feature).next().is_some()
                || i.changes(original).next().is_some()
                || i.amends.is_none()
        })
    }

    /// The feature of which an issue speaks where it changes this one: itself, or the one that it is made
    /// from where the issue does not name it.
    #[must_use]
    pub fn spoken_of<'a>(&'a self, issue: &IssueEdit, feature: &'a FeatureId) -> &'a FeatureId {
        match self.made_from(feature) {
            Some(made) if issue.changes(feature).next().is_none() => made.feature,
            _ => feature,
        }
    }

    /// A feature as it is to be made on a piece; `None` for one that the job doesn't have.
    #[must_use]
    pub fn in_force(&self, feature: &FeatureId, piece: u32) -> Option<InForce<'_>> {
        let base = self.features.get(feature)?;
        let mut now = InForce {
            edit: Cow::Borrowed(base),
            moved: (Length::ZERO, Length::ZERO),
            not_made: None,
        };
        // What changes about the one it is made from changes about it too, the other way round.
        let made = self.made_from(feature).map(|m| m.feature);
        let original = made.unwrap_or(feature);
        // New with an issue: on pieces that issue does not reach there is none of it.
        let first = self
            .issues
            .values()
            .filter(|i| i.changes(original).next().is_some())
            .min_by_key(|i| i.number.unwrap_or(0));
        if let Some(issue) = first
            && issue.changes(original).next() == Some(&Change::Added)
            && !issue.holds_on(piece)
        {
            now.not_made = Some(issue.number.unwrap_or(0));
        }
        for (_, issue) in self.issues_on(piece) {
            let number = issue.number.unwrap_or(0);
            for change in made.iter().flat_map(|m| issue.changes(m)) {
                now.take(change, number, -1.0);
            }
            for change in issue.changes(feature) {
                now.take(change, number, 1.0);
            }
        }
        Some(now)
    }
}

impl InForce<'_> {
    fn take(&mut self, change: &Change, issue: u32, hand: f64) {
        match change {
            Change::Moved { right, up } => {
                self.moved = (self.moved.0 + right.mm * hand, self.moved.1 + up.mm);
            }
            Change::Turned { by } => {
                let edit = self.edit.to_mut();
                let before = edit.turn.unwrap_or(Angle::ZERO);
                edit.turn = Some(Angle::from_rad(before.rad() + hand * by.rad()));
            }
            Change::Mirrored => {
                let edit = self.edit.to_mut();
                edit.mirrored = Some(edit.mirrored != Some(true));
            }
            Change::Outline { outline } => self.edit.to_mut().outline = Some(outline.clone()),
            Change::Finish { finish } => self.edit.to_mut().finish = Some(finish.clone()),
            Change::Tolerance { tolerance } => self.edit.to_mut().tolerance = Some(*tolerance),
            Change::Dropped => self.not_made = Some(issue),
            Change::Added => self.not_made = None,
        }
    }
}

impl IssueEdit {
    /// It applies to a piece of this number.
    #[must_use]
    pub fn holds_on(&self, piece: u32) -> bool {
        self.from_piece.is_none_or(|from| piece >= from)
            && self.to_piece.is_none_or(|to| piece <= to)
    }

    /// What it changes about one feature, in order.
    pub fn changes<'a>(&'a self, feature: &'a FeatureId) -> impl Iterator<Item = &'a Change> {
        self.amends
            .iter()
            .flatten()
            .filter(move |a| a.feature == *feature)
            .map(|a| &a.change)
    }

    /// Somebody approved it. A first issue needs no paper of its own: the pattern is its approval.
    #[must_use]
    pub fn approved(&self) -> bool {
        self.amends.is_none()
            || self
                .approved_by
                .as_ref()
                .is_some_and(|by| !by.trim().is_empty())
    }
}
