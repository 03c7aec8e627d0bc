//! Facts folded into the job they add up to, and one more fact without folding all of them again.
//!
//! The law (`tests/suite/job_laws.rs`): whatever was folded in, in whatever order of arrival, the
//! job is the one that is folded from nothing. What can't be had by one step more (a thing taken
//! out, a fact that others had been waiting for) is folded from nothing here, too.

use super::by_fact::ByFact;
use super::design::{Entry, FeatureEdit};
use super::fact::{Envelope, Fact, FactId};
use super::fold::{Disagreement, Job, Kept, Problem, Trouble};
use super::ids::{EntityRef, FeatureId};
use super::ledger::Ledger;
use super::log::Log;
use super::payload::*;
use super::settings::Settings;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Deref;
use std::sync::Arc;

/// A fact's place in the one order all copies agree on.
type Order = (u64, FactId);

const fn order(envelope: &Envelope) -> Order {
    (envelope.lamport, envelope.id)
}

/// One more step does not do: fold from nothing.
struct Anew;

/// Up to so many facts are folded in one by one, and up to this share of all.
const FEW: usize = 64;
const SHARE: usize = 8;

#[derive(Debug, Clone)]
struct Corrected {
    order: Order,
    value: Entry,
}

#[derive(Debug, Clone, Copy)]
struct Undo {
    order: Order,
    target: FactId,
}

/// A job with all it takes to fold in one more fact. Copying it is cheap.
#[derive(Debug, Clone)]
pub struct Folded {
    job: Job,
    settings: Settings,
    /// Features as they were set, before those that are made from another take after it.
    own: BTreeMap<FeatureId, FeatureEdit>,
    corrections: ByFact<Vec<Corrected>>,
    disagreements: BTreeMap<FactId, Disagreement>,
    withdrawals: Log<Undo>,
    gone: Arc<BTreeSet<FactId>>,
    /// What is wrong with a fact in itself.
    wrong: BTreeMap<Order, Trouble>,
    /// What speaks of something that is not there, one kind of fact after the other.
    unheld: BTreeMap<(u8, Order), Trouble>,
    /// Facts spoken of that have not come in.
    awaited: BTreeSet<FactId>,
}

impl Deref for Folded {
    type Target = Job;
    fn deref(&self) -> &Job {
        &self.job
    }
}

/// What a fact takes back, if that is what it does.
pub(super) fn undone_by(fact: &Fact) -> Option<Withdrawal> {
    if fact.envelope.kind != "withdraw" {
        return None;
    }
    crate::json::read(fact.payload().ok()?).ok()
}

fn read(fact: &Fact) -> Result<Payload, PayloadError> {
    let envelope = &fact.envelope;
    let malformed = |e: serde_json::Error| PayloadError::Malformed {
        kind: envelope.kind.clone(),
        why: e.to_string(),
    };
    let text = fact.payload().map_err(malformed)?;
    Payload::read(&envelope.kind, envelope.v, text)
}

/// Does the same with the list that a kind of fact is kept in.
macro_rules! in_its_list {
    ($job:expr, $payload:expr, |$list:ident, $says:ident| $work:expr) => {
        match $payload {
            Payload::Reading($says) => in_its_list!(@ $job, readings, $list, $work),
            Payload::Stage($says) => in_its_list!(@ $job, stages, $list, $work),
            Payload::Marriage($says) => in_its_list!(@ $job, married, $list, $work),
            Payload::Done($says) => in_its_list!(@ $job, done, $list, $work),
            Payload::Mould($says) => in_its_list!(@ $job, mould_events, $list, $work),
            Payload::Check(boxed) => {
                let $says = *boxed;
                in_its_list!(@ $job, checks, $list, $work)
            }
            Payload::Concession($says) => in_its_list!(@ $job, concessions, $list, $work),
            Payload::PairConcession($says) => in_its_list!(@ $job, pair_concessions, $list, $work),
            Payload::SignedOff($says) => in_its_list!(@ $job, signed, $list, $work),
            Payload::Printed($says) => in_its_list!(@ $job, printed, $list, $work),
            Payload::Proof(boxed) => {
                let $says = *boxed;
                in_its_list!(@ $job, proofs, $list, $work)
            }
            Payload::Measuring($says) => in_its_list!(@ $job, measuring, $list, $work),
            Payload::Amended($says) => in_its_list!(@ $job, amended, $list, $work),
            Payload::Seat($says) => in_its_list!(@ $job, seat_readings, $list, $work),
            Payload::Drilled($says) => in_its_list!(@ $job, drilled, $list, $work),
            Payload::Cured($says) => in_its_list!(@ $job, cured, $list, $work),
            Payload::Template($says) => in_its_list!(@ $job, template_events, $list, $work),
            Payload::Edit(_) | Payload::Withdraw(_) | Payload::Correct(_) | Payload::Remove(_) => {}
        }
    };
    (@ $job:expr, $field:ident, $list:ident, $work:expr) => {{
        let $list = &mut $job.$field;
        $work
    }};
}

fn kept<T>(envelope: &Envelope, says: T) -> Kept<T> {
    Kept {
        id: envelope.id,
        lamport: envelope.lamport,
        who: envelope.who.clone(),
        wall: envelope.wall.clone(),
        says,
    }
}

impl Folded {
    /// Folds all facts, in their one order.
    #[must_use]
    pub fn of(ledger: &Ledger) -> Self {
        let mut new = Self {
            job: Job::empty(ledger.job_id().clone()),
            settings: Settings::default(),
            own: BTreeMap::new(),
            corrections: ByFact::new(),
            disagreements: BTreeMap::new(),
            withdrawals: Log::new(),
            gone: Arc::default(),
            wrong: BTreeMap::new(),
            unheld: BTreeMap::new(),
            awaited: BTreeSet::new(),
        };
        let mut facts: Vec<&Fact> = ledger.facts().collect();
        facts.sort_by_key(|f| order(&f.envelope));
        new.withdrawals = facts
            .iter()
            .filter_map(|f| {
                let order = order(&f.envelope);
                undone_by(f).map(|Withdrawal { target }| Undo { order, target })
            })
            .collect();
        new.gone = Arc::new(gone(&new.withdrawals));
        for fact in facts {
            if !new.gone.contains(&fact.envelope.id) {
                new.note(ledger, fact);
            }
        }
        new.settle_all(ledger);
        new
    }

    /// Folds facts in that the ledger has taken in since.
    pub fn and(&mut self, ledger: &Ledger, new: &[FactId]) {
        let mut new = new.to_vec();
        new.sort_by_key(|id| ledger.get(*id).map(|f| order(&f.envelope)));
        let many = new.len() > FEW.max(ledger.len() / SHARE);
        if many || new.iter().any(|id| self.step(ledger, *id).is_err()) {
            *self = Self::of(ledger);
        } else {
            self.tell(ledger);
        }
    }

    /// The job alone.
    #[must_use]
    pub fn into_job(self) -> Job {
        self.job
    }

    /// The job, to be told what lies beside its facts.
    pub(crate) const fn job_mut(&mut self) -> &mut Job {
        &mut self.job
    }

    /// Puts a fact where it belongs; what follows from it is settled with all others.
    fn note(&mut self, ledger: &Ledger, fact: &Fact) {
        let envelope = &fact.envelope;
        match read(fact) {
            Err(e) => drop(
                self.wrong
                    .insert(order(envelope), Trouble::NotUnderstood(e)),
            ),
            Ok(Payload::Edit(edit)) => self.settings.take(envelope, edit),
            Ok(Payload::Correct(c)) => self.note_correction(ledger, envelope, c),
            Ok(Payload::Withdraw(w)) => self.speaks_of_fact(ledger, envelope, w.target),
            Ok(Payload::Remove(r)) => drop(self.job.removed.insert(r.entity)),
            Ok(payload) => {
                self.await_reading(ledger, &payload);
                in_its_list!(self.job, payload, |list, says| list
                    .keep(kept(envelope, says)));
            }
        }
    }

    fn note_correction(&mut self, ledger: &Ledger, envelope: &Envelope, says: Correction) {
        self.speaks_of_fact(ledger, envelope, says.target);
        let all = self.corrections.entry(says.target);
        let corrected = Corrected {
            order: order(envelope),
            value: says.value,
        };
        if let Err(at) = all.binary_search_by(|c| c.order.cmp(&corrected.order)) {
            all.insert(at, corrected);
        }
    }

    fn speaks_of_fact(&mut self, ledger: &Ledger, envelope: &Envelope, target: FactId) {
        if ledger.get(target).is_none() {
            self.wrong.insert(order(envelope), Trouble::NoTarget);
            self.awaited.insert(target);
        }
    }

    fn await_reading(&mut self, ledger: &Ledger, payload: &Payload) {
        if let Payload::Measuring(m) = payload
            && let MeasuringSays::SetAside { reading, .. } = &m.says
            && ledger.get(*reading).is_none()
        {
            self.awaited.insert(*reading);
        }
    }

    fn settle_all(&mut self, ledger: &Ledger) {
        let corrected: Vec<FactId> = self.corrections.iter().map(|(id, _)| id).collect();
        for target in corrected {
            if let Some(value) = self.corrected(ledger, target) {
                self.set_value(ledger, target, &value);
            }
        }
        self.settle_marriages();
        // Readings left out after they were taken: the reason stands with the reading.
        let aside = self
            .job
            .measuring
            .iter()
            .filter_map(|fact| set_aside(&fact.says));
        let aside: Vec<(FactId, String)> = aside.map(|(id, why)| (id, why.to_owned())).collect();
        for (reading, why) in aside {
            self.set_reading(ledger, reading, |found| found.set_aside = Some(why));
        }
        self.settings.settle_all(ledger);
        let things: Vec<EntityRef> = self.settings.things().cloned().collect();
        for on in things {
            if !self.job.removed.contains(&on) {
                let object = self.settings.object(&on);
                self.job.put(on, object);
            }
        }
        self.own = self.job.features.clone();
        self.job.make_images();
        self.unheld = self.job.leave_out_unheld();
        self.tell(ledger);
    }

    fn settle_marriages(&mut self) {
        (self.job.marriages, self.job.claimed_twice) =
            super::marriages::settle(&self.job.married, &self.job.removed);
    }

    /// What doesn't count and what isn't agreed on, as the job lists it.
    fn tell(&mut self, ledger: &Ledger) {
        let twice = ledger.refused().into_iter();
        let twice = twice.map(|fact| (fact, Trouble::TwoTexts));
        let wrong = self.wrong.iter().map(|(order, t)| (order.1, t.clone()));
        let unheld = self.unheld.iter().map(|(k, t)| (k.1.1, t.clone()));
        self.job.problems = twice
            .chain(wrong)
            .chain(unheld)
            .map(|(fact, trouble)| Problem { fact, trouble })
            .collect();
        self.job.concurrent = self.settings.concurrent();
        self.job.disagreements = self.disagreements.values().cloned().collect();
    }

    /// What a reading was corrected to, if it was; and whether that is agreed on.
    fn corrected(&mut self, ledger: &Ledger, target: FactId) -> Option<Entry> {
        let none = Vec::new();
        let values = self.corrections.get(target).unwrap_or(&none);
        let seen_by = |c: &Corrected, by: &Corrected| {
            let later = ledger.get(by.order.1);
            later.is_some_and(|f| f.envelope.had_seen(c.order.1))
        };
        // The last has seen all others where nobody wrote without knowing of it: looked at first.
        let live: Vec<&Corrected> = values
            .iter()
            .filter(|c| !values.iter().rev().any(|later| seen_by(c, later)))
            .collect();
        let last = live.last().map(|c| c.value.clone());
        let apart = |c: &&Corrected| last.as_ref().is_some_and(|last| c.value.mm != last.mm);
        if live.iter().any(apart) {
            let values = live.iter().map(|c| (c.order.1, c.value.clone())).collect();
            let reading = target;
            self.disagreements
                .insert(target, Disagreement { reading, values });
        } else {
            self.disagreements.remove(&target);
        }
        last
    }

    fn set_reading(&mut self, ledger: &Ledger, id: FactId, set: impl FnOnce(&mut Reading)) -> bool {
        let Some(fact) = ledger.get(id) else {
            return false;
        };
        self.job.readings.change(order(&fact.envelope), set)
    }

    fn set_value(&mut self, ledger: &Ledger, id: FactId, value: &Entry) {
        if self.set_reading(ledger, id, |reading| reading.value = value.clone()) {
            return;
        }
        let Some(fact) = ledger.get(id) else { return };
        let at = order(&fact.envelope);
        self.job
            .seat_readings
            .change(at, |reading| reading.value = value.clone());
    }

    /// One more fact.
    fn step(&mut self, ledger: &Ledger, id: FactId) -> Result<(), Anew> {
        // Two texts under its name, or somebody spoke of it before it came.
        let fact = ledger.get(id).ok_or(Anew)?;
        if self.awaited.contains(&id) {
            return Err(Anew);
        }
        if let Some(Withdrawal { target }) = undone_by(fact) {
            let undo = Undo {
                order: order(&fact.envelope),
                target,
            };
            self.withdrawals.insert(undo, |a, b| a.order.cmp(&b.order));
            let before = std::mem::replace(&mut self.gone, Arc::new(gone(&self.withdrawals)));
            let now = Arc::clone(&self.gone);
            for fact in now.difference(&before).filter_map(|id| ledger.get(*id)) {
                self.take_out(ledger, fact)?;
            }
            for fact in before.difference(&now).filter_map(|id| ledger.get(*id)) {
                self.put_in(ledger, fact)?;
            }
        }
        if self.gone.contains(&id) {
            return Ok(());
        }
        self.put_in(ledger, fact)
    }

    /// A fact that counts from now on.
    fn put_in(&mut self, ledger: &Ledger, fact: &Fact) -> Result<(), Anew> {
        let envelope = &fact.envelope;
        match read(fact) {
            Err(e) => drop(
                self.wrong
                    .insert(order(envelope), Trouble::NotUnderstood(e)),
            ),
            Ok(Payload::Edit(edit)) => {
                let new = !self.settings.has(&edit.on);
                let (on, fields): (_, Vec<String>) =
                    (edit.on.clone(), edit.set.keys().cloned().collect());
                self.settings.take(envelope, edit);
                self.settings.settle(ledger, &on, fields.iter());
                let missing = Trouble::Missing(on.clone());
                if new && self.unheld.values().any(|t| *t == missing) {
                    return Err(Anew);
                }
                return self.set_up(on);
            }
            Ok(Payload::Correct(c)) => {
                let target = c.target;
                self.note_correction(ledger, envelope, c);
                return self.correct(ledger, target);
            }
            Ok(Payload::Withdraw(w)) => self.speaks_of_fact(ledger, envelope, w.target),
            Ok(Payload::Remove(r)) => {
                return if self.job.removed.contains(&r.entity) {
                    Ok(())
                } else {
                    Err(Anew)
                };
            }
            Ok(payload) => self.observe(ledger, envelope, payload),
        }
        Ok(())
    }

    fn observe(&mut self, ledger: &Ledger, envelope: &Envelope, mut payload: Payload) {
        if let Some((kind, trouble)) = self.job.unheld(&payload) {
            self.unheld.insert((kind, order(envelope)), trouble);
            return;
        }
        match &mut payload {
            Payload::Reading(r) => {
                if let Some(why) = self.why_aside(envelope.id) {
                    r.set_aside = Some(why);
                }
                if let Some(value) = self.corrected(ledger, envelope.id) {
                    r.value = value;
                }
            }
            Payload::Seat(r) => {
                if let Some(value) = self.corrected(ledger, envelope.id) {
                    r.value = value;
                }
            }
            _ => self.await_reading(ledger, &payload),
        }
        let married = matches!(payload, Payload::Marriage(_));
        let aside = match &payload {
            Payload::Measuring(m) => set_aside(m).map(|(id, _)| id),
            _ => None,
        };
        in_its_list!(self.job, payload, |list, says| list
            .keep(kept(envelope, says)));
        if married {
            self.settle_marriages();
        }
        if let Some(reading) = aside {
            // Not the one that came in, where it came late: the last of them gives the reason.
            let why = self.why_aside(reading);
            self.set_reading(ledger, reading, |found| found.set_aside = why);
        }
    }

    /// Why a reading is left out, as it was said last.
    fn why_aside(&self, reading: FactId) -> Option<String> {
        let said = self.job.measuring.about(reading);
        let mut why = said.rev().filter_map(|fact| set_aside(&fact.says));
        why.next().map(|(_, why)| why.to_owned())
    }

    /// A thing as it is set now.
    fn set_up(&mut self, on: EntityRef) -> Result<(), Anew> {
        if self.job.removed.contains(&on) {
            return Ok(());
        }
        let holes = |job: &Job| match &on {
            EntityRef::Fixing(id) => job.holes_of(id),
            _ => 0,
        };
        let before = holes(&self.job);
        let object = self.settings.object(&on);
        self.job.put(on.clone(), object);
        if before != holes(&self.job) && self.speaks_of_holes(&on) {
            return Err(Anew);
        }
        if let EntityRef::Feature(id) = &on
            && let Some(feature) = self.job.features.get(id)
        {
            self.own.insert(id.clone(), feature.clone());
        }
        if matches!(on, EntityRef::Feature(_) | EntityRef::Pair(_)) {
            self.job.features.clone_from(&self.own);
            self.job.make_images();
        }
        Ok(())
    }

    fn speaks_of_holes(&self, on: &EntityRef) -> bool {
        let EntityRef::Fixing(of) = on else {
            return false;
        };
        let no_hole = |t: &Trouble| matches!(t, Trouble::NoHole { fixing, .. } if fixing == of);
        self.job.drilled.iter().any(|d| d.says.fixing == *of)
            || self.job.cured.iter().any(|c| c.says.fixing == *of)
            || self.unheld.values().any(no_hole)
    }

    fn correct(&mut self, ledger: &Ledger, target: FactId) -> Result<(), Anew> {
        let value = match self.corrected(ledger, target) {
            Some(value) => value,
            // As it was read.
            None => match ledger.get(target).map(read) {
                Some(Ok(Payload::Reading(r))) => r.value,
                Some(Ok(Payload::Seat(r))) => r.value,
                _ => return Ok(()),
            },
        };
        self.set_value(ledger, target, &value);
        Ok(())
    }

    /// A fact that counts no longer.
    fn take_out(&mut self, ledger: &Ledger, fact: &Fact) -> Result<(), Anew> {
        let envelope = &fact.envelope;
        let order = order(envelope);
        self.wrong.remove(&order);
        self.unheld.retain(|(_, at), _| *at != order);
        let Ok(payload) = read(fact) else {
            return Ok(());
        };
        match payload {
            Payload::Edit(edit) => {
                if edit.set.is_empty() || !self.settings.take_out(envelope, &edit) {
                    return Err(Anew);
                }
                self.settings.settle(ledger, &edit.on, edit.set.keys());
                return self.set_up(edit.on);
            }
            Payload::Correct(c) => {
                self.corrections
                    .entry(c.target)
                    .retain(|known| known.order != order);
                return self.correct(ledger, c.target);
            }
            Payload::Remove(_) => return Err(Anew),
            Payload::Measuring(m) if set_aside(&m).is_some() => return Err(Anew),
            payload => {
                let married = matches!(payload, Payload::Marriage(_));
                in_its_list!(self.job, payload, |list, _says| list.let_go(order));
                if married {
                    self.settle_marriages();
                }
            }
        }
        Ok(())
    }
}

fn set_aside(fact: &MeasuringFact) -> Option<(FactId, &str)> {
    match &fact.says {
        MeasuringSays::SetAside { reading, why } => Some((*reading, why)),
        MeasuringSays::CannotReach { .. }
        | MeasuringSays::Kept { .. }
        | MeasuringSays::ShopAt { .. } => None,
    }
}

/// What is taken back. From last to first: whether a withdrawal counts is settled by later ones only.
fn gone(withdrawals: &Log<Undo>) -> BTreeSet<FactId> {
    let mut gone = BTreeSet::new();
    for undo in withdrawals.iter().rev() {
        if !gone.contains(&undo.order.1) {
            gone.insert(undo.target);
        }
    }
    gone
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests;
