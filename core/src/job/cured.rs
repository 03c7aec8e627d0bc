//! Where a bracket's holes are once the glass that holds it has cured.

use super::design::Entry;
use super::fold::Job;
use super::ids::*;
use serde::{Deserialize, Serialize};

/// A distance from a mark of the face to a hole of the bracket, read after cure. The latest for a
/// hole and a mark counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct CuredReading {
    /// The piece.
    pub piece: PieceId,
    /// The bracket, by its fixing.
    pub fixing: FixingId,
    /// The hole's number in its fixing, from 1.
    pub hole: u32,
    /// From which mark.
    pub from: MarkId,
    /// With the tape laid on the face; else pulled straight.
    #[serde(default)]
    pub over: bool,
    /// What it said.
    pub value: Entry,
}

impl CuredReading {
    /// Every thing of the job it speaks of.
    #[must_use]
    pub fn speaks_of(&self) -> Vec<EntityRef> {
        vec![
            EntityRef::Piece(self.piece.clone()),
            EntityRef::Fixing(self.fixing.clone()),
            EntityRef::Mark(self.from.clone()),
        ]
    }
}

impl Job {
    /// What counts of a bracket on a piece, in the order it was first read.
    #[must_use]
    pub fn cured_of(&self, piece: &PieceId, fixing: &FixingId) -> Vec<&CuredReading> {
        let mut all: Vec<&CuredReading> = Vec::new();
        let by = EntityRef::Fixing(fixing.clone());
        for read in self.cured.about_part(piece, &by).map(|k| &k.says) {
            let same = |r: &&mut &CuredReading| r.hole == read.hole && r.from == read.from;
            match all.iter_mut().find(same) {
                Some(older) => *older = read,
                None => all.push(read),
            }
        }
        all
    }
}
