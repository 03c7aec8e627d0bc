//! What of an edit would be news: settings that stand already are not said again.

use super::fold::Job;
use super::ids::EntityRef;
use super::payload::Edit;
use serde_json::Value;

impl Edit {
    /// The fields of an edit that the job does not say yet; nothing where it says them all.
    ///
    /// # Errors
    /// The JSON writer's error; never for finite values.
    pub fn still_to_say(self, job: &Job) -> Result<Option<Self>, serde_json::Error> {
        let stands = match &self.on {
            EntityRef::Job => serde_json::to_value(&job.about)?,
            EntityRef::Issue(id) => serde_json::to_value(job.issues.get(id))?,
            EntityRef::Part(id) => serde_json::to_value(job.parts.get(id))?,
            EntityRef::Face(id) => serde_json::to_value(job.faces.get(id))?,
            EntityRef::Mark(id) => serde_json::to_value(job.marks.get(id))?,
            EntityRef::Feature(id) => serde_json::to_value(job.features.get(id))?,
            EntityRef::Instrument(id) => serde_json::to_value(job.instruments.get(id))?,
            EntityRef::Casting(id) => serde_json::to_value(job.castings.get(id))?,
            EntityRef::Piece(id) => serde_json::to_value(job.pieces.get(id))?,
            _ => Value::Null,
        };
        let mut set = self.set;
        if let Value::Object(stands) = stands {
            set.retain(|field, value| stands.get(field) != Some(value));
        }
        Ok((!set.is_empty()).then_some(Self { on: self.on, set }))
    }
}
