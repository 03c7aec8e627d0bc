//! Which things of the job a fact speaks of: without them it does not count.

use super::checked::{CheckFact, ConcessionFact, PairConcessionFact};
use super::fold::{Job, Kept, Problem, Trouble};
use super::holes::DrilledFact;
use super::ids::{EntityRef, FixingId, PointRef};
use super::measured::Measured;
use super::payload::Reading;

impl PointRef {
    /// As a thing of the job.
    #[must_use]
    pub fn entity(&self) -> EntityRef {
        match self {
            Self::Mark(id) => EntityRef::Mark(id.clone()),
            Self::Feature(id) => EntityRef::Feature(id.clone()),
        }
    }
}

impl Reading {
    /// Every thing of the job it speaks of.
    #[must_use]
    pub fn speaks_of(&self) -> Vec<EntityRef> {
        let mut all = vec![EntityRef::Casting(self.casting.clone())];
        match &self.of {
            Measured::Square { edge, .. } => all.push(EntityRef::Edge(edge.clone())),
            Measured::Girth { face, .. } => all.push(EntityRef::Face(face.clone())),
            _ => {}
        }
        all.extend(self.of.points().into_iter().map(PointRef::entity));
        all.extend(self.instrument.clone().map(EntityRef::Instrument));
        all
    }
}

impl CheckFact {
    /// What it is a check of. The instruments of its readings may go: what was found stands.
    #[must_use]
    pub fn speaks_of(&self) -> Vec<EntityRef> {
        vec![
            EntityRef::Piece(self.piece.clone()),
            EntityRef::Feature(self.feature.clone()),
        ]
    }
}

impl ConcessionFact {
    /// What was let stand, and on which piece.
    #[must_use]
    pub fn speaks_of(&self) -> Vec<EntityRef> {
        vec![
            EntityRef::Piece(self.piece.clone()),
            EntityRef::Feature(self.feature.clone()),
        ]
    }
}

impl PairConcessionFact {
    /// What was let stand, and on which piece.
    #[must_use]
    pub fn speaks_of(&self) -> Vec<EntityRef> {
        vec![
            EntityRef::Piece(self.piece.clone()),
            EntityRef::Pair(self.pair.clone()),
        ]
    }
}

impl DrilledFact {
    /// What was drilled for what. Whether the fixing has that hole is its pattern's to say.
    #[must_use]
    pub fn speaks_of(&self) -> Vec<EntityRef> {
        vec![
            EntityRef::Piece(self.piece.clone()),
            EntityRef::Fixing(self.fixing.clone()),
        ]
    }
}

impl Job {
    /// What was said of holes that their fixings have; the rest is named and left out.
    pub(super) fn with_holes_there_are<T>(
        &mut self,
        facts: Vec<Kept<T>>,
        which: impl Fn(&T) -> (&FixingId, u32),
    ) -> Vec<Kept<T>> {
        let (good, bad): (Vec<_>, Vec<_>) = facts.into_iter().partition(|fact| {
            let (fixing, hole) = which(&fact.says);
            (1..=self.holes_of(fixing)).contains(&hole)
        });
        for fact in bad {
            let (fixing, hole) = which(&fact.says);
            self.problems.push(Problem {
                fact: fact.id,
                trouble: Trouble::NoHole {
                    holes: self.holes_of(fixing),
                    fixing: fixing.clone(),
                    hole,
                },
            });
        }
        good
    }
}
