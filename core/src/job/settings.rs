//! What was set of each thing, by whom, and which of it counts.

use super::fact::{Envelope, FactId};
use super::fold::Concurrent;
use super::ids::EntityRef;
use super::ledger::Ledger;
use super::log::Log;
use super::payload::Edit;
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::sync::Arc;

#[derive(Debug, Clone)]
struct Slot {
    lamport: u64,
    id: FactId,
    value: Value,
}

impl Slot {
    const fn order(&self) -> (u64, FactId) {
        (self.lamport, self.id)
    }

    /// Whether the writer of this had seen another fact.
    fn had_seen(&self, ledger: &Ledger, other: FactId) -> bool {
        let fact = ledger.get(self.id);
        fact.is_some_and(|f| f.envelope.had_seen(other))
    }
}

/// Every value of every field, in order.
#[derive(Debug, Clone, Default)]
pub(super) struct Settings {
    things: BTreeMap<EntityRef, Arc<BTreeMap<String, Log<Slot>>>>,
    lost: BTreeMap<(EntityRef, String), Vec<Concurrent>>,
}

impl Settings {
    /// Takes an edit in where it belongs, once. Which value counts is settled afterwards.
    pub(super) fn take(&mut self, envelope: &Envelope, edit: Edit) {
        let fields = Arc::make_mut(self.things.entry(edit.on).or_default());
        for (field, value) in edit.set {
            let slot = Slot {
                lamport: envelope.lamport,
                id: envelope.id,
                value,
            };
            let slots = fields.entry(field).or_default();
            if slots.find(|s| s.order().cmp(&slot.order())).is_none() {
                slots.insert(slot, |a, b| a.order().cmp(&b.order()));
            }
        }
    }

    /// Takes an edit out. Whether anything is left of the thing.
    pub(super) fn take_out(&mut self, envelope: &Envelope, edit: &Edit) -> bool {
        let Some(fields) = self.things.get_mut(&edit.on) else {
            return false;
        };
        let fields = Arc::make_mut(fields);
        let order = (envelope.lamport, envelope.id);
        for field in edit.set.keys() {
            if let Some(slots) = fields.get_mut(field) {
                slots.take_out(|s| s.order().cmp(&order));
                if slots.is_empty() {
                    fields.remove(field);
                }
            }
        }
        !fields.is_empty()
    }

    /// Whether anything was ever set of a thing.
    pub(super) fn has(&self, on: &EntityRef) -> bool {
        self.things.contains_key(on)
    }

    /// Everything that was set up.
    pub(super) fn things(&self) -> impl Iterator<Item = &EntityRef> {
        self.things.keys()
    }

    /// The values that count of a thing.
    pub(super) fn object(&self, on: &EntityRef) -> Map<String, Value> {
        let fields = self.things.get(on).into_iter().flat_map(|f| f.iter());
        fields
            .filter_map(|(field, slots)| Some((field.clone(), slots.last()?.value.clone())))
            .collect()
    }

    pub(super) fn settle_all(&mut self, ledger: &Ledger) {
        let all: Vec<(EntityRef, Vec<String>)> = self
            .things
            .iter()
            .map(|(on, fields)| (on.clone(), fields.keys().cloned().collect()))
            .collect();
        for (on, fields) in all {
            self.settle(ledger, &on, fields.iter());
        }
    }

    /// Of these fields, every loser that neither the winner nor any other value had seen.
    pub(super) fn settle<'a>(
        &mut self,
        ledger: &Ledger,
        on: &EntityRef,
        fields: impl Iterator<Item = &'a String>,
    ) {
        for field in fields {
            let slots = self.things.get(on).and_then(|f| f.get(field));
            let lost = slots.map_or_else(Vec::new, |slots| losers(ledger, on, field, slots));
            if lost.is_empty() {
                self.lost.remove(&(on.clone(), field.clone()));
            } else {
                self.lost.insert((on.clone(), field.clone()), lost);
            }
        }
    }

    pub(super) fn concurrent(&self) -> Vec<Concurrent> {
        self.lost.values().flatten().cloned().collect()
    }
}

fn losers(ledger: &Ledger, on: &EntityRef, field: &str, slots: &Log<Slot>) -> Vec<Concurrent> {
    let Some(last) = slots.last() else {
        return Vec::new();
    };
    let Some(counts) = ledger.get(last.id).map(|f| &f.envelope) else {
        return Vec::new();
    };
    let others = || slots.iter().filter(|s| s.id != last.id);
    others()
        .filter(|loser| loser.value != last.value && !counts.had_seen(loser.id))
        .filter(|loser| !others().any(|s| s.id != loser.id && s.had_seen(ledger, loser.id)))
        .map(|loser| Concurrent {
            on: on.clone(),
            field: field.to_owned(),
            counts: last.id,
            other: loser.id,
            value: loser.value.clone(),
        })
        .collect()
}
