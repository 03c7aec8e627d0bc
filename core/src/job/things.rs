//! The things of a job, each kind in its place.

use super::fold::{Job, Problem, Trouble};
use super::ids::EntityRef;
use super::payload::PayloadError;
use crate::json;
use serde::Deserialize;
use serde_json::{Map, Value};

impl Job {
    pub(super) fn put(&mut self, on: EntityRef, object: Map<String, Value>) {
        match on {
            EntityRef::Job => self.about = read(&object),
            EntityRef::Issue(id) => drop(self.issues.insert(id, read(&object))),
            EntityRef::Part(id) => drop(self.parts.insert(id, read(&object))),
            EntityRef::Face(id) => drop(self.faces.insert(id, read(&object))),
            EntityRef::Mark(id) => drop(self.marks.insert(id, read(&object))),
            EntityRef::Feature(id) => drop(self.features.insert(id, read(&object))),
            EntityRef::Instrument(id) => drop(self.instruments.insert(id, read(&object))),
            EntityRef::Casting(id) => drop(self.castings.insert(id, read(&object))),
            EntityRef::Piece(id) => drop(self.pieces.insert(id, read(&object))),
            #[cfg(feature = "every-kind")]
            other => self.put_further(other, object),
            // None was read.
            #[cfg(not(feature = "every-kind"))]
            _ => {}
        }
    }

    #[cfg(feature = "every-kind")]
    fn put_further(&mut self, on: EntityRef, object: Map<String, Value>) {
        match on {
            EntityRef::Mould(id) => drop(self.moulds.insert(id, read(&object))),
            EntityRef::Edge(id) => drop(self.edges.insert(id, read(&object))),
            EntityRef::Pair(id) => drop(self.pairs.insert(id, read(&object))),
            EntityRef::MeasuringList(id) => drop(self.lists.insert(id, read(&object))),
            EntityRef::Joint(id) => drop(self.joints.insert(id, read(&object))),
            EntityRef::Fixing(id) => drop(self.fixings.insert(id, read(&object))),
            EntityRef::Printer(id) => drop(self.printers.insert(id, read(&object))),
            EntityRef::Template(id) => drop(self.templates.insert(id, read(&object))),
            _ => {}
        }
    }

    /// Something in it is of a kind that this build of the program doesn't read.
    #[must_use]
    pub fn has_unknown_kinds(&self) -> bool {
        let unknown = |p: &Problem| {
            matches!(
                p.trouble,
                Trouble::NotUnderstood(PayloadError::UnknownKind { .. })
            )
        };
        self.problems.iter().any(unknown)
    }

    /// Whether the job has a thing.
    #[must_use]
    pub fn has(&self, on: &EntityRef) -> bool {
        match on {
            EntityRef::Job => true,
            EntityRef::Issue(id) => self.issues.contains_key(id),
            EntityRef::Mould(id) => self.moulds.contains_key(id),
            EntityRef::Part(id) => self.parts.contains_key(id),
            EntityRef::Face(id) => self.faces.contains_key(id),
            EntityRef::Mark(id) => self.marks.contains_key(id),
            EntityRef::Edge(id) => self.edges.contains_key(id),
            EntityRef::Feature(id) => self.features.contains_key(id),
            EntityRef::Pair(id) => self.pairs.contains_key(id),
            EntityRef::MeasuringList(id) => self.lists.contains_key(id),
            EntityRef::Joint(id) => self.joints.contains_key(id),
            EntityRef::Fixing(id) => self.fixings.contains_key(id),
            EntityRef::Instrument(id) => self.instruments.contains_key(id),
            EntityRef::Printer(id) => self.printers.contains_key(id),
            EntityRef::Template(id) => self.templates.contains_key(id),
            EntityRef::Casting(id) => self.castings.contains_key(id),
            EntityRef::Piece(id) => self.pieces.contains_key(id),
        }
    }
}

/// Each edit was read on its own before, so the fields of their union read too.
fn read<T: for<'de> Deserialize<'de> + Default>(object: &Map<String, Value>) -> T {
    json::of_fields(object).unwrap_or_default()
}
