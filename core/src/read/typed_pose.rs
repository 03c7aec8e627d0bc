//! Where a face lies in its part is worked out from readings. A file that types it is refused:
//! what this program does not know is otherwise carried along, and somebody could believe it.

use crate::job::Fact;
use serde::Deserialize;
use serde_json::{Map, Value};

/// Names under which a place or a direction would be typed.
const NAMES: [&str; 16] = [
    "angles",
    "axes",
    "axis",
    "direction",
    "frame",
    "in-part",
    "matrix",
    "normal",
    "orientation",
    "origin",
    "part-from",
    "place",
    "pose",
    "position",
    "rotation",
    "transform",
];

/// What was typed.
pub(super) struct TypedPose {
    pub(super) thing: &'static str,
    pub(super) id: String,
    pub(super) field: String,
}

#[derive(Deserialize)]
struct EditOnly {
    on: Value,
    set: Map<String, Value>,
}

/// The place typed by an edit of a face or a part, if it types one.
pub(super) fn typed_pose(fact: &Fact) -> Option<TypedPose> {
    if fact.envelope.kind != "edit" {
        return None;
    }
    let text = fact.payload().ok()?;
    // Most edits are of neither, whose name would stand in them as it is, or in disguise.
    if !["\"face\"", "\"part\"", "\\"]
        .iter()
        .any(|s| text.contains(s))
    {
        return None;
    }
    let edit: EditOnly = serde_json::from_str(text).ok()?;
    let (thing, id) = ["face", "part"]
        .into_iter()
        .find_map(|thing| Some((thing, edit.on.get(thing)?.as_str()?)))?;
    let (field, _) = edit.set.iter().find(|(name, value)| {
        // Written by hand, a name comes in any dress: inPart, in_part, IN-PART.
        let plain = |name: &str| -> String {
            let letters = name.chars().filter(|c| c.is_ascii_alphabetic());
            letters.map(|c| c.to_ascii_lowercase()).collect()
        };
        let name = plain(name);
        NAMES.iter().any(|n| name.starts_with(&plain(n))) && holds_a_number(value)
    })?;
    Some(TypedPose {
        thing,
        id: id.chars().take(80).collect(),
        field: field.chars().take(80).collect(),
    })
}

/// A number stands in it at any depth; words, as *from the front*, are no place.
fn holds_a_number(value: &Value) -> bool {
    match value {
        Value::Number(_) => true,
        Value::Array(list) => list.iter().any(holds_a_number),
        Value::Object(fields) => fields.values().any(holds_a_number),
        Value::Null | Value::Bool(_) | Value::String(_) => false,
    }
}
