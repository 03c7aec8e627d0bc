//! Which things of the job a fact speaks of: without them it does not count.

use super::checked::{CheckFact, ConcessionFact, PairConcessionFact};
use super::cured::CuredReading;
use super::fact::FactId;
use super::filed::{About, Filed};
use super::fold::{Job, Trouble};
use super::holes::DrilledFact;
use super::ids::{EntityRef, FixingId, PointRef};
use super::measured::Measured;
use super::payload::{Payload, Reading};
use super::seat::SeatReading;
use std::collections::BTreeMap;

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

/// Kinds of facts that must speak of what is there, in the order in which their troubles are told.
const READING: u8 = 0;
const SEAT: u8 = 1;
const CHECK: u8 = 2;
const CONCESSION: u8 = 3;
const PAIR_CONCESSION: u8 = 4;
const DRILLED: u8 = 5;
const DRILLED_HOLE: u8 = 6;
const CURED: u8 = 7;
const CURED_HOLE: u8 = 8;

impl Job {
    /// What a fact speaks of that is not there: its kind, and what to say of it.
    pub(super) fn unheld(&self, payload: &Payload) -> Option<(u8, Trouble)> {
        let of = |kind, all| self.missing(all).map(|trouble| (kind, trouble));
        match payload {
            Payload::Reading(r) => of(READING, r.speaks_of()),
            Payload::Seat(r) => of(SEAT, r.speaks_of()),
            Payload::Check(c) => of(CHECK, c.speaks_of()),
            Payload::Concession(c) => of(CONCESSION, c.speaks_of()),
            Payload::PairConcession(c) => of(PAIR_CONCESSION, c.speaks_of()),
            Payload::Drilled(d) => of(DRILLED, d.speaks_of())
                .or_else(|| Some((DRILLED_HOLE, self.no_hole(&d.fixing, d.hole)?))),
            Payload::Cured(c) => of(CURED, c.speaks_of())
                .or_else(|| Some((CURED_HOLE, self.no_hole(&c.fixing, c.hole)?))),
            _ => None,
        }
    }

    fn missing(&self, all: Vec<EntityRef>) -> Option<Trouble> {
        let on = all.into_iter().find(|on| !self.has(on))?;
        Some(if self.removed.contains(&on) {
            Trouble::Removed(on)
        } else {
            Trouble::Missing(on)
        })
    }

    fn no_hole(&self, fixing: &FixingId, hole: u32) -> Option<Trouble> {
        let holes = self.holes_of(fixing);
        (!(1..=holes).contains(&hole)).then(|| Trouble::NoHole {
            fixing: fixing.clone(),
            hole,
            holes,
        })
    }

    /// What speaks of something removed or never set up, or of a hole its fixing does not have, is
    /// named and left out.
    pub(super) fn leave_out_unheld(&mut self) -> Troubles {
        let mut troubles = BTreeMap::new();
        let mut readings = std::mem::take(&mut self.readings);
        self.leave_out(&mut readings, READING, Reading::speaks_of, &mut troubles);
        self.readings = readings;
        let mut readings = std::mem::take(&mut self.seat_readings);
        self.leave_out(&mut readings, SEAT, SeatReading::speaks_of, &mut troubles);
        self.seat_readings = readings;
        let mut checks = std::mem::take(&mut self.checks);
        self.leave_out(&mut checks, CHECK, CheckFact::speaks_of, &mut troubles);
        self.checks = checks;
        let mut all = std::mem::take(&mut self.concessions);
        self.leave_out(
            &mut all,
            CONCESSION,
            ConcessionFact::speaks_of,
            &mut troubles,
        );
        self.concessions = all;
        let mut all = std::mem::take(&mut self.pair_concessions);
        let speaks_of = PairConcessionFact::speaks_of;
        self.leave_out(&mut all, PAIR_CONCESSION, speaks_of, &mut troubles);
        self.pair_concessions = all;
        let mut all = std::mem::take(&mut self.drilled);
        self.leave_out(&mut all, DRILLED, DrilledFact::speaks_of, &mut troubles);
        self.without_hole(
            &mut all,
            DRILLED_HOLE,
            |d| (&d.fixing, d.hole),
            &mut troubles,
        );
        self.drilled = all;
        let mut all = std::mem::take(&mut self.cured);
        self.leave_out(&mut all, CURED, CuredReading::speaks_of, &mut troubles);
        self.without_hole(&mut all, CURED_HOLE, |c| (&c.fixing, c.hole), &mut troubles);
        self.cured = all;
        troubles
    }

    fn leave_out<T: About + Clone>(
        &self,
        facts: &mut Filed<T>,
        kind: u8,
        speaks_of: impl Fn(&T) -> Vec<EntityRef>,
        troubles: &mut Troubles,
    ) {
        leave_out(facts, kind, |says| self.missing(speaks_of(says)), troubles);
    }

    fn without_hole<T: About + Clone>(
        &self,
        facts: &mut Filed<T>,
        kind: u8,
        which: impl Fn(&T) -> (&FixingId, u32),
        troubles: &mut Troubles,
    ) {
        let no_hole = |says: &T| {
            let (fixing, hole) = which(says);
            self.no_hole(fixing, hole)
        };
        leave_out(facts, kind, no_hole, troubles);
    }
}

type Troubles = BTreeMap<(u8, (u64, FactId)), Trouble>;

fn leave_out<T: About + Clone>(
    facts: &mut Filed<T>,
    kind: u8,
    trouble: impl Fn(&T) -> Option<Trouble>,
    troubles: &mut Troubles,
) {
    let before = troubles.len();
    for fact in facts.iter() {
        if let Some(trouble) = trouble(&fact.says) {
            troubles.insert((kind, fact.order()), trouble);
        }
    }
    if troubles.len() > before {
        let kept = facts
            .iter()
            .filter(|f| !troubles.contains_key(&(kind, f.order())));
        *facts = kept.cloned().collect();
    }
}
