//! Going on with a fold: a fact that comes after all others is added to what they add up to, without
//! folding them anew.
//!
//! Whatever a fact may reach further than its own thing (an undo, a removal, something that an earlier
//! fact had waited for) is left to the whole fold: [`Folding::go_on`] always leaves what
//! [`Ledger::fold`] would.

use super::fact::{Envelope, Fact, FactId, ReplicaId};
use super::fold::{Disagreement, Job, Trouble};
use super::ids::EntityRef;
use super::ledger::Ledger;
use super::payload::{Edit, MeasuringSays, Payload};
use super::settings::Settings;
use super::{CuredReading, DrilledFact, Entry, FixingId, Kept};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Corrections of one reading, in order.
pub(super) type Corrections = BTreeMap<FactId, Vec<(Arc<Envelope>, Entry)>>;

/// What a fold keeps to go on from, beside the job itself.
#[derive(Debug, Clone, Default)]
pub struct Folding {
    pub(super) settings: Settings,
    pub(super) corrections: Corrections,
    pub(super) withdrawn: BTreeSet<FactId>,
    pub(super) last: Option<(u64, ReplicaId, u64)>,
}

impl Folding {
    /// Adds a fact that has just been taken into the ledger to what all others add up to.
    ///
    /// Gives back whether the whole had to be folded anew.
    pub fn go_on(&mut self, job: &mut Job, ledger: &Ledger, fact: &Fact) -> bool {
        if self.adds(job, ledger, fact).is_some() {
            self.last = Some(fact.envelope.order());
            return false;
        }
        (*job, *self) = Job::folded(ledger);
        true
    }

    /// Adds it, where that is all there is to do; nothing is changed otherwise.
    fn adds(&mut self, job: &mut Job, ledger: &Ledger, fact: &Fact) -> Option<()> {
        let envelope = &fact.envelope;
        let id = envelope.id;
        let after_all = self.last.is_none_or(|last| envelope.order() > last);
        let waited_for = self.withdrawn.contains(&id)
            || self.corrections.contains_key(&id)
            || job.problems.iter().any(|p| p.trouble == Trouble::NoTarget);
        // Two texts under one name are none.
        let one = ledger.get(id).is_some_and(|known| known == fact);
        if !after_all || waited_for || !one {
            return None;
        }
        let text = fact.payload().ok()?;
        match Payload::read(&envelope.kind, envelope.v, text).ok()? {
            Payload::Withdraw(_) | Payload::Remove(_) => None,
            Payload::Edit(edit) => self.edit(job, envelope, edit),
            Payload::Correct(c) => {
                ledger.get(c.target)?;
                let all = self.corrections.entry(c.target).or_default();
                all.push((Arc::clone(envelope), c.value));
                job.disagreements.retain(|d| d.reading != c.target);
                job.correct_one(c.target, all);
                job.disagreements.sort_by_key(|d: &Disagreement| d.reading);
                Some(())
            }
            said => {
                let there = |all: Vec<EntityRef>| all.iter().all(|on| job.has(on)).then_some(());
                match &said {
                    Payload::Reading(r) => {
                        there(r.speaks_of())?;
                        let set_aside = |m: &Kept<super::MeasuringFact>| {
                            matches!(&m.says.says, MeasuringSays::SetAside { reading, .. } if *reading == id)
                        };
                        if job.measuring.iter().any(set_aside) {
                            return None;
                        }
                    }
                    Payload::Seat(s) => there(s.speaks_of())?,
                    Payload::Check(c) => there(c.speaks_of())?,
                    Payload::Concession(c) => there(c.speaks_of())?,
                    Payload::PairConcession(c) => there(c.speaks_of())?,
                    Payload::Drilled(d) => {
                        there(DrilledFact::speaks_of(d))?;
                        has_hole(job, &d.fixing, d.hole)?;
                    }
                    Payload::Cured(c) => {
                        there(CuredReading::speaks_of(c))?;
                        has_hole(job, &c.fixing, c.hole)?;
                    }
                    _ => {}
                }
                job.observe(envelope, said.clone());
                match said {
                    Payload::Marriage(_) => job.marry(),
                    Payload::Measuring(m) => job.set_aside_one(&m),
                    _ => {}
                }
                Some(())
            }
        }
    }

    /// Fields of a thing.
    fn edit(&mut self, job: &mut Job, envelope: &Arc<Envelope>, edit: Edit) -> Option<()> {
        let on = edit.on.clone();
        // Something was said of it before it was there, or of holes it may now have.
        let waits = |trouble: &Trouble| match trouble {
            Trouble::Missing(thing) => *thing == on,
            Trouble::NoHole { .. } => matches!(on, EntityRef::Fixing(_)),
            _ => false,
        };
        if job.problems.iter().any(|p| waits(&p.trouble)) {
            return None;
        }
        if let EntityRef::Fixing(fixing) = &on {
            let drilled = job.drilled.iter().any(|d| d.says.fixing == *fixing);
            let cured = job.cured.iter().any(|c| c.says.fixing == *fixing);
            if (drilled || cured) && edit.set.contains_key("pattern") {
                return None;
            }
        }
        self.settings.take(envelope, edit);
        let (object, concurrent) = self.settings.settle(&on);
        if !concurrent.is_empty() || job.concurrent.iter().any(|c| c.on == on) {
            job.concurrent.retain(|c| c.on != on);
            job.concurrent.extend(concurrent);
            // As a whole fold tells them: by thing, and within one as they come.
            job.concurrent.sort_by(|a, b| a.on.cmp(&b.on));
        }
        if job.removed.contains(&on) {
            return Some(());
        }
        let images = matches!(on, EntityRef::Feature(_) | EntityRef::Pair(_));
        job.put(on, object);
        if images {
            // What is made from another takes after it as it is now; what no longer is, after itself.
            let features: Vec<EntityRef> = self
                .settings
                .things()
                .filter(|on| matches!(on, EntityRef::Feature(_)) && !job.removed.contains(on))
                .cloned()
                .collect();
            for feature in features {
                let (object, _) = self.settings.settle(&feature);
                job.put(feature, object);
            }
            job.make_images();
        }
        Some(())
    }
}

fn has_hole(job: &Job, fixing: &FixingId, hole: u32) -> Option<()> {
    (1..=job.holes_of(fixing)).contains(&hole).then_some(())
}
