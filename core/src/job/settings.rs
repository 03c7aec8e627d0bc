//! Fields of things, as edits set them: who set what after whom.

use super::fact::Envelope;
use super::fold::Concurrent;
use super::ids::EntityRef;
use super::payload::Edit;
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::sync::Arc;

/// One value of one field, with the fact that set it.
#[derive(Debug, Clone)]
struct Slot {
    envelope: Arc<Envelope>,
    value: Value,
}

type Fields = BTreeMap<String, Vec<Slot>>;

/// Every value of every field, in the order in which they were set.
#[derive(Debug, Clone, Default)]
pub(super) struct Settings {
    // Copies share the fields of whatever was not touched since.
    slots: BTreeMap<EntityRef, Arc<Fields>>,
}

impl Settings {
    /// Takes an edit in; later in the one order than all before it.
    pub(super) fn take(&mut self, envelope: &Arc<Envelope>, edit: Edit) {
        let fields = Arc::make_mut(self.slots.entry(edit.on).or_default());
        for (field, value) in edit.set {
            fields.entry(field).or_default().push(Slot {
                envelope: Arc::clone(envelope),
                value,
            });
        }
    }

    /// Everything that was ever set up.
    pub(super) fn things(&self) -> impl Iterator<Item = &EntityRef> {
        self.slots.keys()
    }

    /// The winner of each field of a thing, and every loser that neither the winner nor any other
    /// value had seen.
    pub(super) fn settle(&self, on: &EntityRef) -> (Map<String, Value>, Vec<Concurrent>) {
        let (mut object, mut concurrent) = (Map::new(), Vec::new());
        for (field, slots) in self.slots.get(on).map(AsRef::as_ref).into_iter().flatten() {
            let Some((last, losers)) = slots.split_last() else {
                continue;
            };
            for (i, loser) in losers.iter().enumerate() {
                // Whoever wrote next had mostly seen it: looked for there first.
                let later = slots.iter().skip(i + 1);
                let others = later.chain(losers.iter().take(i));
                let overwritten = others
                    .into_iter()
                    .any(|s| s.envelope.had_seen(loser.envelope.id));
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
            object.insert(field.clone(), last.value.clone());
        }
        (object, concurrent)
    }
}
