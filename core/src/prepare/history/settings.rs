//! What an edit sets, in the words of the screen that made it: no ids, no names of the program's own.

use super::words::thing;
use crate::job::*;
use crate::json;
use crate::prepare::amendments::amendment_words;
use crate::prepare::naming::reading_words;
use crate::prepare::words::mm;
use crate::units::Length;
use serde_json::{Map, Value};

/// A field's name as words: `from-piece` is *from piece*.
pub(super) fn field(name: &str) -> String {
    match name {
        "amends" => "changes".into(),
        "asked-by" => "asked for by".into(),
        _ => name.replace(['-', '_'], " "),
    }
}

/// An entry as typed, and what was understood where that is not the same to read.
pub(super) fn entry(e: &Entry) -> String {
    let understood = format!("{} mm", mm(e.mm));
    let typed = e.typed.trim();
    // The side was chosen beside the field: the number alone would say the other way round.
    let number: Option<f64> = typed.parse().ok();
    let same = number.is_some_and(|n| n.abs().total_cmp(&e.mm.abs().mm()).is_eq());
    let to_the_tenth = e.mm.to_um() % 100 == 0;
    if (same && to_the_tenth) || typed == mm(e.mm) || typed == understood {
        understood
    } else if same {
        let sign = if e.mm.to_um() < 0 { "−" } else { "" };
        format!("{sign}{} mm", typed.trim_start_matches(['-', '+']))
    } else {
        format!("{typed} (= {understood})")
    }
}

/// A setting by its name and its value, in words.
pub(super) fn setting(job: &Job, name: &str, value: &Value) -> (String, String) {
    let (label, text) = (field(name), self::value(job, name, value));
    // Which way it goes is in the value.
    let label = match name {
        "right" if text.contains(" mm ") => "sideways".to_owned(),
        "up" if text.contains(" mm ") => "up or down".to_owned(),
        _ => label,
    };
    // *face: Cap, front*, not *face: face Cap, front*.
    let text = text
        .strip_prefix(&format!("{label} "))
        .map_or(text.clone(), str::to_owned);
    (label, text)
}

/// A setting's value in words.
pub(super) fn value(job: &Job, name: &str, value: &Value) -> String {
    let text = plain(job, name, value);
    if text.chars().count() > MOST_LETTERS {
        let cut: String = text.chars().take(MOST_LETTERS).collect();
        format!("{cut}…")
    } else {
        text
    }
}

/// No line of the history is longer.
const MOST_LETTERS: usize = 240;

fn plain(job: &Job, name: &str, value: &Value) -> String {
    match value {
        Value::Null => "nothing".into(),
        Value::Bool(true) => "yes".into(),
        Value::Bool(false) => "no".into(),
        Value::Number(n) => number(name, n),
        Value::String(text) => reference(job, name, text).unwrap_or_else(|| said(name, text)),
        Value::Array(all) if all.is_empty() => "none".into(),
        Value::Array(all) if name == "pieces" => {
            let ids = all.iter().filter_map(|v| PieceId::new(v.as_str()?).ok());
            super::words::pieces(job, &ids.collect::<Vec<_>>())
        }
        Value::Array(all) => {
            let all: Vec<String> = all.iter().map(|v| plain(job, name, v)).collect();
            all.join("; ")
        }
        Value::Object(object) => of_object(job, name, object),
    }
}

fn number(name: &str, n: &serde_json::Number) -> String {
    let as_length = || Length::try_from_mm(n.as_f64()?).ok();
    if IN_RADIANS.contains(&name)
        && let Some(angle) = n.as_f64()
    {
        let degrees = format!("{:.1}", angle.to_degrees());
        return format!("{}°", degrees.trim_end_matches(".0"));
    }
    match as_length().filter(|_| IN_MM.contains(&name)) {
        // As on a sheet, unless that hides what was set: a film is hundredths.
        Some(l) if l.to_um() % 100 == 0 => format!("{} mm", mm(l)),
        Some(_) => format!("{n} mm"),
        None => n.to_string(),
    }
}

/// What a person typed stays as it is; what was chosen is words with hyphens between.
fn said(name: &str, text: &str) -> String {
    let chosen = text.contains('-')
        && !TYPED.contains(&name)
        && text.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    if chosen {
        text.replace('-', " ")
    } else {
        text.to_owned()
    }
}

fn of_object(job: &Job, name: &str, object: &Map<String, Value>) -> String {
    let whole = || Value::Object(object.clone());
    if let Ok(e) = json::of::<Entry>(whole()) {
        return way(name, e.mm).unwrap_or_else(|| entry(&e));
    }
    if name == "amends"
        && let Ok(amendment) = json::of::<Amendment>(whole())
    {
        return amendment_words(job, &amendment);
    }
    if object.contains_key("shape")
        && let Ok(outline) = json::of::<OutlineSpec>(whole())
    {
        return outline.in_words();
    }
    if object.contains_key("read")
        && let Ok(measured) = json::of::<Measured>(whole())
    {
        return reading_words(job, &measured);
    }
    // What a thing is of stands before what it has.
    let (of, has): (Vec<_>, Vec<_>) = object
        .iter()
        .filter(|(name, v)| !left_out(name, v, object))
        .partition(|(name, _)| FIRST.contains(&name.as_str()));
    let of = of.into_iter().map(|(name, v)| plain(job, name, v));
    let has = has.into_iter().map(|(name, v)| match v {
        Value::Bool(true) => field(name),
        v => {
            let (label, text) = setting(job, name, v);
            if WAYS.contains(&name.as_str()) && text.contains("mm ") {
                text
            } else {
                format!("{label} {text}")
            }
        }
    });
    of.chain(has).collect::<Vec<_>>().join(", ")
}

/// What says nothing to a person: no answer, an id beside its name, the digest of a file.
fn left_out(name: &str, value: &Value, object: &Map<String, Value>) -> bool {
    matches!(value, Value::Null | Value::Bool(false))
        || name == "attachment"
        || (name == "id" && object.contains_key("name"))
}

/// Fields that say what a thing is of.
const FIRST: [&str; 9] = [
    "kind", "shape", "rule", "read", "holes", "by", "curve", "laying", "name",
];

/// Lengths to one side or the other, chosen beside the field.
const WAYS: [&str; 2] = ["right", "up"];

/// *14 mm down*.
fn way(name: &str, length: Length) -> Option<String> {
    let way = match (name, length.to_um() < 0) {
        ("right", false) => "to the right",
        ("right", true) => "to the left",
        ("up", false) => "up",
        ("up", true) => "down",
        _ => return None,
    };
    Some(format!("{} mm {way}", mm(length.abs())))
}

/// Numbers that are lengths.
const IN_MM: [&str; 24] = [
    "tolerance",
    "within",
    "level",
    "apart",
    "equal",
    "bed-least",
    "bed-greatest",
    "edge",
    "resolution",
    "repeatability",
    "repeats",
    "thickness",
    "mm",
    "cap",
    "diameter",
    "width",
    "height",
    "allowance",
    "bridge",
    "skin",
    "drawn",
    "to-edge",
    "pitch",
    "step",
];

/// Numbers that are angles.
const IN_RADIANS: [&str; 5] = ["turn", "first", "slope", "falls", "looks-up"];

/// What a person typed, hyphens and all.
const TYPED: [&str; 33] = [
    "title",
    "prepared-for",
    "name",
    "letter",
    "found",
    "reason",
    "number",
    "thread",
    "finish",
    "text",
    "file",
    "unit",
    "asked-by",
    "approved-by",
    "approved-on",
    "date",
    "why",
    "initials",
    "address",
    "reference",
    "hangs",
    "glass",
    "typed",
    "from-stage",
    "to-stage",
    "stages",
    "before",
    "ticked",
    "money",
    "between",
    "seen-from",
    "demoulded",
    "laid-up",
];

/// The name of a thing where a setting holds its id.
fn reference(job: &Job, name: &str, id: &str) -> Option<String> {
    let mark = || MarkId::new(id).ok().map(EntityRef::Mark);
    let feature = || FeatureId::new(id).ok().map(EntityRef::Feature);
    let on = match name {
        "face" => FaceId::new(id).ok().map(EntityRef::Face),
        "part" | "base" | "figure" => PartId::new(id).ok().map(EntityRef::Part),
        "mould" => MouldId::new(id).ok().map(EntityRef::Mould),
        "mark" | "from" | "to" | "from-twin" | "to-twin" | "first" | "then" | "side" | "at"
        | "carries" | "nearer" | "hidden" => mark(),
        "feature" | "left" | "right" | "hatch" => feature(),
        "edge" | "end" => EdgeId::new(id).ok().map(EntityRef::Edge),
        "joint" => JointId::new(id).ok().map(EntityRef::Joint),
        "fixing" => FixingId::new(id).ok().map(EntityRef::Fixing),
        "issue" => IssueId::new(id).ok().map(EntityRef::Issue),
        "instrument" => InstrumentId::new(id).ok().map(EntityRef::Instrument),
        "printer" => PrinterId::new(id).ok().map(EntityRef::Printer),
        "piece" => PieceId::new(id).ok().map(EntityRef::Piece),
        "section" | "sections" => return section(job, id),
        _ => return None,
    };
    on.filter(|on| job.has(on)).map(|on| thing(job, &on))
}

/// A section of a mould by its name.
fn section(job: &Job, id: &str) -> Option<String> {
    let all = job
        .moulds
        .values()
        .flat_map(|m| m.sections.iter().flatten());
    let found = all.into_iter().find(|s| s.id.as_str() == id)?;
    Some(found.name.clone())
}
