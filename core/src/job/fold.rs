//! What all facts add up to.

use super::amendments::AmendedFact;
use super::checked::{CheckFact, ConcessionFact, PairConcessionFact};
use super::cured::CuredReading;
use super::design::*;
use super::fact::{Envelope, FactId};
use super::holes::{DrilledFact, HolePattern};
use super::ids::*;
use super::ledger::Ledger;
use super::marriages::ClaimedTwice;
use super::payload::*;
use super::proofs::ProofFact;
use super::rack::TemplateFact;
use super::seat::SeatReading;
use super::signed::SignOffFact;
use crate::json;
use crate::surface::{ScanFace, scan::PatchError};
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

/// A fact that counts, with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept<T> {
    /// Which fact.
    pub id: FactId,
    /// Its place in the one order all copies agree on, before its name.
    pub lamport: u64,
    /// Who said it.
    pub who: String,
    /// When, in the words of the device.
    pub wall: String,
    /// What it says.
    pub says: T,
}

impl<T> Kept<T> {
    /// Whether this was said after something else, in the order all copies agree on.
    #[must_use]
    pub fn after<U>(&self, other: &Kept<U>) -> bool {
        (self.lamport, self.id) > (other.lamport, other.id)
    }
}

/// Two people set the same field without knowing of each other; one counts, this one stays visible.
#[derive(Debug, Clone, PartialEq)]
pub struct Concurrent {
    /// The thing.
    pub on: EntityRef,
    /// The field.
    pub field: String,
    /// The fact that counts.
    pub counts: FactId,
    /// The fact that does not.
    pub other: FactId,
    /// What it said.
    pub value: Value,
}

/// A reading was corrected twice by people who did not know of each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Disagreement {
    /// The reading.
    pub reading: FactId,
    /// The corrections, each with its fact.
    pub values: Vec<(FactId, Entry)>,
}

/// Why a fact does not count as it stands.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Trouble {
    /// The payload was not understood.
    #[error(transparent)]
    NotUnderstood(PayloadError),
    /// Something it speaks of has been removed.
    #[error("it speaks of something that was removed ({0:?}); bring that back to use it")]
    Removed(EntityRef),
    /// Something it speaks of has never been set up.
    #[error("it speaks of something this job doesn't have ({0:?})")]
    Missing(EntityRef),
    /// A hole that its fixing does not have.
    #[error(
        "it speaks of hole {hole} of the fixing {fixing}, whose pattern doesn't have it ({holes} in all)"
    )]
    NoHole {
        /// The fixing.
        fixing: FixingId,
        /// The hole's number.
        hole: u32,
        /// How many it has.
        holes: u32,
    },
    /// It takes back or corrects a fact that is not here.
    #[error("it changes an earlier entry that isn't in this copy")]
    NoTarget,
    /// The same name stands over different texts on two copies.
    #[error("two different entries carry this name: neither counts until one is written again")]
    TwoTexts,
}

/// A fact that does not count, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Which fact.
    pub fact: FactId,
    /// Why.
    pub trouble: Trouble,
}

/// The state of a job: a fold over its facts.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Which job.
    pub id: JobId,
    /// Title and settings.
    pub about: JobEdit,
    /// Issues.
    pub issues: BTreeMap<IssueId, IssueEdit>,
    /// Moulds.
    pub moulds: BTreeMap<MouldId, MouldEdit>,
    /// Parts.
    pub parts: BTreeMap<PartId, PartEdit>,
    /// Faces.
    pub faces: BTreeMap<FaceId, FaceEdit>,
    /// Datum marks.
    pub marks: BTreeMap<MarkId, MarkEdit>,
    /// Datum edges.
    pub edges: BTreeMap<EdgeId, EdgeEdit>,
    /// Features.
    pub features: BTreeMap<FeatureId, FeatureEdit>,
    /// Pairs.
    pub pairs: BTreeMap<PairId, PairEdit>,
    /// Measuring lists.
    pub lists: BTreeMap<ListId, MeasuringListEdit>,
    /// Joints.
    pub joints: BTreeMap<JointId, JointEdit>,
    /// Fixings.
    pub fixings: BTreeMap<FixingId, FixingEdit>,
    /// Instruments.
    pub instruments: BTreeMap<InstrumentId, InstrumentEdit>,
    /// Printers.
    pub printers: BTreeMap<PrinterId, PrinterEdit>,
    /// Templates as things.
    pub templates: BTreeMap<TemplateId, TemplateEdit>,
    /// Castings.
    pub castings: BTreeMap<CastingId, CastingEdit>,
    /// Pieces.
    pub pieces: BTreeMap<PieceId, PieceEdit>,
    /// Readings that count, corrections applied, in order.
    pub readings: Vec<Kept<Reading>>,
    /// Stages reached, in order.
    pub stages: Vec<Kept<StageFact>>,
    /// The marriage that counts for each piece: a casting is in one of them at most.
    pub marriages: BTreeMap<PieceId, Marriage>,
    /// Every marriage said, in order; earlier ones stay to be read.
    pub married: Vec<Kept<Marriage>>,
    /// Castings that the latest marriages of several pieces claim.
    pub claimed_twice: Vec<ClaimedTwice>,
    /// Things done, in order.
    pub done: Vec<Kept<DoneFact>>,
    /// What happened to moulds, in order.
    pub mould_events: Vec<Kept<MouldFact>>,
    /// Checks, in order.
    pub checks: Vec<Kept<CheckFact>>,
    /// Features let stand, in order.
    pub concessions: Vec<Kept<ConcessionFact>>,
    /// Pairs let stand, in order.
    pub pair_concessions: Vec<Kept<PairConcessionFact>>,
    /// Records signed off, in order.
    pub signed: Vec<Kept<SignOffFact>>,
    /// Sheets printed, in order.
    pub printed: Vec<Kept<Printed>>,
    /// Patches of scanned faces by attachment, no facts.
    pub scans: BTreeMap<String, Result<ScanFace, PatchError>>,
    /// Proof pages measured, in order.
    pub proofs: Vec<Kept<ProofFact>>,
    /// What was said while measuring, in order.
    pub measuring: Vec<Kept<MeasuringFact>>,
    /// What was decided of pieces made to an older issue, in order.
    pub amended: Vec<Kept<AmendedFact>>,
    /// Readings at joints, in order.
    pub seat_readings: Vec<Kept<SeatReading>>,
    /// Holes drilled, in order.
    pub drilled: Vec<Kept<DrilledFact>>,
    /// Holes of brackets read after cure, in order.
    pub cured: Vec<Kept<CuredReading>>,
    /// What happened to templates, in order.
    pub template_events: Vec<Kept<TemplateFact>>,
    /// Settings that lost to a concurrent one.
    pub concurrent: Vec<Concurrent>,
    /// Readings corrected to two different values.
    pub disagreements: Vec<Disagreement>,
    /// Things removed.
    pub removed: BTreeSet<EntityRef>,
    /// Facts that do not count.
    pub problems: Vec<Problem>,
}

/// Names of facts that a withdrawal which itself counts has taken back.
pub(super) fn withdrawn(ledger: &Ledger) -> BTreeSet<FactId> {
    taken_back(ledger).into_keys().collect()
}

/// What counts as taken back, and by which withdrawals that count themselves.
pub(super) fn taken_back(ledger: &Ledger) -> BTreeMap<FactId, Vec<FactId>> {
    let mut undo: Vec<(&Envelope, Withdrawal)> = ledger
        .facts()
        .filter(|f| f.envelope.kind == "withdraw")
        .filter_map(|f| Some((&f.envelope, json::read(f.payload().ok()?).ok()?)))
        .collect();
    undo.sort_by_key(|(e, _)| e.order());
    let mut gone: BTreeMap<FactId, Vec<FactId>> = BTreeMap::new();
    // From last to first: whether a withdrawal counts is settled by later ones only.
    for (envelope, w) in undo.iter().rev() {
        if !gone.contains_key(&envelope.id) {
            gone.entry(w.target).or_default().push(envelope.id);
        }
    }
    gone
}

struct Slot<'a> {
    envelope: &'a Envelope,
    value: Value,
}

#[derive(Default)]
struct Settings<'a> {
    slots: BTreeMap<EntityRef, BTreeMap<String, Vec<Slot<'a>>>>,
}

impl<'a> Settings<'a> {
    fn take(&mut self, envelope: &'a Envelope, edit: Edit) {
        let fields = self.slots.entry(edit.on).or_default();
        for (field, value) in edit.set {
            fields
                .entry(field)
                .or_default()
                .push(Slot { envelope, value });
        }
    }

    /// The winner of each field, and every loser that neither the winner nor any other value had seen.
    fn settle(self, concurrent: &mut Vec<Concurrent>) -> BTreeMap<EntityRef, Map<String, Value>> {
        let mut settled = BTreeMap::new();
        for (on, fields) in self.slots {
            let mut object = Map::new();
            for (field, mut slots) in fields {
                slots.sort_by_key(|s| s.envelope.order());
                let Some(last) = slots.pop() else { continue };
                for (i, loser) in slots.iter().enumerate() {
                    let overwritten = slots
                        .iter()
                        .enumerate()
                        .any(|(j, s)| j != i && s.envelope.had_seen(loser.envelope.id))
                        || last.envelope.had_seen(loser.envelope.id);
                    if !overwritten && loser.value != last.value {
                        concurrent.push(Concurrent {
                            on: on.clone(),
                            field: field.clone(),
                            counts: last.envelope.id,
                            other: loser.envelope.id,
                            value: loser.value.clone(),
                        });
                    }
                }
                object.insert(field, last.value);
            }
            settled.insert(on, object);
        }
        settled
    }
}

impl Job {
    fn empty(id: JobId) -> Self {
        Self {
            id,
            about: JobEdit::default(),
            issues: BTreeMap::new(),
            moulds: BTreeMap::new(),
            parts: BTreeMap::new(),
            faces: BTreeMap::new(),
            marks: BTreeMap::new(),
            edges: BTreeMap::new(),
            features: BTreeMap::new(),
            pairs: BTreeMap::new(),
            lists: BTreeMap::new(),
            joints: BTreeMap::new(),
            fixings: BTreeMap::new(),
            instruments: BTreeMap::new(),
            printers: BTreeMap::new(),
            templates: BTreeMap::new(),
            castings: BTreeMap::new(),
            pieces: BTreeMap::new(),
            readings: Vec::new(),
            stages: Vec::new(),
            marriages: BTreeMap::new(),
            married: Vec::new(),
            claimed_twice: Vec::new(),
            done: Vec::new(),
            mould_events: Vec::new(),
            checks: Vec::new(),
            concessions: Vec::new(),
            pair_concessions: Vec::new(),
            signed: Vec::new(),
            printed: Vec::new(),
            scans: BTreeMap::new(),
            proofs: Vec::new(),
            measuring: Vec::new(),
            amended: Vec::new(),
            seat_readings: Vec::new(),
            drilled: Vec::new(),
            cured: Vec::new(),
            template_events: Vec::new(),
            concurrent: Vec::new(),
            disagreements: Vec::new(),
            removed: BTreeSet::new(),
            problems: Vec::new(),
        }
    }

    /// Folds facts in their one order.
    #[must_use]
    pub fn fold(ledger: &Ledger) -> Self {
        let mut job = Self::empty(ledger.job_id().clone());
        for fact in ledger.refused() {
            job.problems.push(Problem {
                fact,
                trouble: Trouble::TwoTexts,
            });
        }
        let withdrawn = withdrawn(ledger);
        let mut facts: Vec<_> = ledger.facts().collect();
        facts.sort_by_key(|f| f.envelope.order());
        let mut settings = Settings::default();
        let mut corrections: BTreeMap<FactId, Vec<(&Envelope, Entry)>> = BTreeMap::new();
        for fact in facts {
            let envelope = &fact.envelope;
            if withdrawn.contains(&envelope.id) {
                continue;
            }
            let payload = fact
                .payload()
                .map_err(|e| PayloadError::Malformed {
                    kind: envelope.kind.clone(),
                    why: e.to_string(),
                })
                .and_then(|text| Payload::read(&envelope.kind, envelope.v, text));
            match payload {
                Err(e) => job.problems.push(Problem {
                    fact: envelope.id,
                    trouble: Trouble::NotUnderstood(e),
                }),
                Ok(Payload::Edit(edit)) => settings.take(envelope, edit),
                Ok(Payload::Correct(c)) => {
                    if ledger.get(c.target).is_none() {
                        job.problems.push(Problem {
                            fact: envelope.id,
                            trouble: Trouble::NoTarget,
                        });
                    }
                    corrections
                        .entry(c.target)
                        .or_default()
                        .push((envelope, c.value));
                }
                Ok(Payload::Withdraw(w)) => {
                    if ledger.get(w.target).is_none() {
                        job.problems.push(Problem {
                            fact: envelope.id,
                            trouble: Trouble::NoTarget,
                        });
                    }
                }
                Ok(Payload::Remove(r)) => {
                    job.removed.insert(r.entity);
                }
                Ok(observed) => job.observe(envelope, observed),
            }
        }
        job.correct(corrections);
        (job.marriages, job.claimed_twice) = super::marriages::settle(&job.married, &job.removed);
        job.set_aside();
        let mut concurrent = Vec::new();
        for (on, object) in settings.settle(&mut concurrent) {
            if !job.removed.contains(&on) {
                job.put(on, object);
            }
        }
        job.concurrent = concurrent;
        job.make_images();
        job.check_references();
        job
    }

    fn observe(&mut self, envelope: &Envelope, payload: Payload) {
        fn kept<T>(e: &Envelope, says: T) -> Kept<T> {
            Kept {
                id: e.id,
                lamport: e.lamport,
                who: e.who.clone(),
                wall: e.wall.clone(),
                says,
            }
        }
        match payload {
            Payload::Reading(r) => self.readings.push(kept(envelope, r)),
            Payload::Stage(s) => self.stages.push(kept(envelope, s)),
            Payload::Marriage(m) => self.married.push(kept(envelope, m)),
            Payload::Done(d) => self.done.push(kept(envelope, d)),
            Payload::Mould(m) => self.mould_events.push(kept(envelope, m)),
            Payload::Check(c) => self.checks.push(kept(envelope, *c)),
            Payload::Concession(c) => self.concessions.push(kept(envelope, c)),
            Payload::PairConcession(c) => self.pair_concessions.push(kept(envelope, c)),
            Payload::SignedOff(s) => self.signed.push(kept(envelope, s)),
            Payload::Printed(p) => self.printed.push(kept(envelope, p)),
            Payload::Proof(p) => self.proofs.push(kept(envelope, *p)),
            Payload::Measuring(m) => self.measuring.push(kept(envelope, m)),
            Payload::Amended(a) => self.amended.push(kept(envelope, a)),
            Payload::Seat(s) => self.seat_readings.push(kept(envelope, s)),
            Payload::Drilled(d) => self.drilled.push(kept(envelope, d)),
            Payload::Cured(c) => self.cured.push(kept(envelope, c)),
            Payload::Template(t) => self.template_events.push(kept(envelope, t)),
            Payload::Edit(_) | Payload::Withdraw(_) | Payload::Correct(_) | Payload::Remove(_) => {}
        }
    }

    fn correct(&mut self, corrections: BTreeMap<FactId, Vec<(&Envelope, Entry)>>) {
        for (target, values) in corrections {
            let live: Vec<_> = values
                .iter()
                .filter(|(e, _)| !values.iter().any(|(later, _)| later.had_seen(e.id)))
                .collect();
            let Some((_, last)) = live.iter().max_by_key(|(e, _)| e.order()) else {
                continue;
            };
            if let Some(reading) = self.readings.iter_mut().find(|r| r.id == target) {
                reading.says.value = last.clone();
            }
            if let Some(reading) = self.seat_readings.iter_mut().find(|r| r.id == target) {
                reading.says.value = last.clone();
            }
            if live.iter().any(|(_, v)| v.mm != last.mm) {
                self.disagreements.push(Disagreement {
                    reading: target,
                    values: live.iter().map(|(e, v)| (e.id, v.clone())).collect(),
                });
            }
        }
    }

    /// Readings left out after they were taken: the reason stands with the reading.
    fn set_aside(&mut self) {
        for fact in &self.measuring {
            if let MeasuringSays::SetAside { reading, why } = &fact.says.says
                && let Some(found) = self.readings.iter_mut().find(|r| r.id == *reading)
            {
                found.says.set_aside = Some(why.clone());
            }
        }
    }

    /// What speaks of something removed or never set up is kept, named, and left out.
    fn check_references(&mut self) {
        let readings = std::mem::take(&mut self.readings);
        self.readings = self.with_all_they_speak_of(readings, Reading::speaks_of);
        let readings = std::mem::take(&mut self.seat_readings);
        self.seat_readings = self.with_all_they_speak_of(readings, SeatReading::speaks_of);
        let checks = std::mem::take(&mut self.checks);
        self.checks = self.with_all_they_speak_of(checks, CheckFact::speaks_of);
        let concessions = std::mem::take(&mut self.concessions);
        self.concessions = self.with_all_they_speak_of(concessions, ConcessionFact::speaks_of);
        let concessions = std::mem::take(&mut self.pair_concessions);
        self.pair_concessions =
            self.with_all_they_speak_of(concessions, PairConcessionFact::speaks_of);
        let drilled = std::mem::take(&mut self.drilled);
        let drilled = self.with_all_they_speak_of(drilled, DrilledFact::speaks_of);
        self.drilled = self.with_holes_there_are(drilled, |d| (&d.fixing, d.hole));
        let cured = std::mem::take(&mut self.cured);
        let cured = self.with_all_they_speak_of(cured, CuredReading::speaks_of);
        self.cured = self.with_holes_there_are(cured, |c| (&c.fixing, c.hole));
    }

    pub(super) fn holes_of(&self, fixing: &FixingId) -> u32 {
        let pattern = self.fixings.get(fixing).and_then(|f| f.pattern.as_ref());
        pattern.map_or(0, HolePattern::count)
    }

    fn with_all_they_speak_of<T>(
        &mut self,
        facts: Vec<Kept<T>>,
        speaks_of: impl Fn(&T) -> Vec<EntityRef>,
    ) -> Vec<Kept<T>> {
        let mut good = Vec::new();
        for fact in facts {
            let missing = speaks_of(&fact.says).into_iter().find(|on| !self.has(on));
            let trouble = match missing {
                None => {
                    good.push(fact);
                    continue;
                }
                Some(on) if self.removed.contains(&on) => Trouble::Removed(on),
                Some(on) => Trouble::Missing(on),
            };
            self.problems.push(Problem {
                fact: fact.id,
                trouble,
            });
        }
        good
    }

    /// The casting of a piece that belongs to a part, by the marriage that counts.
    #[must_use]
    pub fn casting_of(&self, piece: &PieceId, part: &PartId) -> Option<&CastingId> {
        self.marriages.get(piece)?.castings.iter().find(|id| {
            self.castings
                .get(id)
                .is_some_and(|c| c.part.as_ref() == Some(part))
        })
    }

    /// The pattern casting of a part.
    #[must_use]
    pub fn pattern_of(&self, part: &PartId) -> Option<&CastingId> {
        self.castings
            .iter()
            .find(|(_, c)| c.part.as_ref() == Some(part) && c.pattern == Some(true))
            .map(|(id, _)| id)
    }

    /// Where a casting is now.
    #[must_use]
    pub fn stage_of(&self, casting: &CastingId) -> Option<&str> {
        self.stages
            .iter()
            .rev()
            .find(|s| &s.says.casting == casting)
            .map(|s| s.says.stage.as_str())
    }

    /// Pieces in the order of their numbers.
    #[must_use]
    pub fn pieces_in_order(&self) -> Vec<(&PieceId, &PieceEdit)> {
        let mut pieces: Vec<_> = self.pieces.iter().collect();
        pieces.sort_by_key(|(id, p)| (p.number.unwrap_or(u32::MAX), (*id).clone()));
        pieces
    }
}
