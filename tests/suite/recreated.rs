//! Example (a) set up again as the screens would: other ids, one field at a time, in another order,
//! every reading typed as its text; no place, size or distance is copied but what was typed.
//! Its sheets are those of the file.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops where something is missing"
)]

use samespot_core::job::*;
use samespot_core::prepare::{Source, issue};
use samespot_core::sheet::Paper;
use samespot_core::units::{FieldOptions, Length, Typed, Unit, parse_length};
use samespot_core::write::job::Attachments;
use serde_json::Value;
use std::collections::BTreeMap;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");
const DAY: &str = "2026-11-27";

/// Words that are no ids, whatever they say.
const WORDS: [&str; 12] = [
    "typed", "unit", "rule", "name", "letter", "found", "title", "stage", "reason", "date", "kind",
    "number",
];

/// Other ids for all things: numbered from the last to the first, so that nothing that is ordered
/// by id keeps its order.
fn others(job: &Job) -> BTreeMap<String, String> {
    let mut all: Vec<String> = Vec::new();
    let ids = [
        job.moulds
            .keys()
            .map(ToString::to_string)
            .collect::<Vec<_>>(),
        job.parts.keys().map(ToString::to_string).collect(),
        job.faces.keys().map(ToString::to_string).collect(),
        job.marks.keys().map(ToString::to_string).collect(),
        job.features.keys().map(ToString::to_string).collect(),
        job.castings.keys().map(ToString::to_string).collect(),
        job.pieces.keys().map(ToString::to_string).collect(),
        job.instruments.keys().map(ToString::to_string).collect(),
    ];
    for kind in ids {
        all.extend(kind);
    }
    let count = all.len();
    let numbered = all.into_iter().enumerate();
    numbered
        .map(|(k, id)| (id, format!("x{:03}", count - k)))
        .collect()
}

fn renamed(value: &mut Value, ids: &BTreeMap<String, String>) {
    match value {
        Value::Object(fields) => {
            for (key, value) in fields {
                if !WORDS.contains(&key.as_str()) || value.is_object() {
                    renamed(value, ids);
                }
            }
        }
        Value::Array(all) => all.iter_mut().for_each(|v| renamed(v, ids)),
        Value::String(text) => {
            if let Some(other) = ids.get(text) {
                text.clone_from(other);
            }
        }
        _ => {}
    }
}

/// What was typed, understood again as the field on the screen does.
fn typed_again(value: &Entry) -> Entry {
    // Where two things may be meant the person was asked: the answer stands beside the text.
    let chosen = |mm: Length| (mm.mm() - value.mm.mm()).abs() < 1e-9;
    let mm = match parse_length(&value.typed, &FieldOptions::size(Unit::Mm)) {
        Typed::Understood(length) => length.mm,
        Typed::Ask(ask) => {
            let mut of = ask.readings.into_iter().map(|r| r.mm);
            of.find(|mm| chosen(*mm))
                .unwrap_or_else(|| panic!("'{}' was never offered", value.typed))
        }
        other => panic!("'{}': {other:?}", value.typed),
    };
    Entry {
        mm,
        ..value.clone()
    }
}

fn again(file: &Ledger) -> (Ledger, BTreeMap<String, String>) {
    let ids = others(&file.fold());
    let mut facts: Vec<_> = file.facts().collect();
    facts.sort_by_key(|f| f.envelope.order());
    let mut ledger = Ledger::new(JobId::new("again").unwrap());
    let say = |ledger: &mut Ledger, wall: &str, payload: &Payload| {
        let writer = Writer {
            replica: ReplicaId(0x77),
            who: "test".into(),
            wall: wall.into(),
        };
        ledger.write(&writer, payload).unwrap();
    };
    let read = |fact: &Fact| {
        let mut value: Value = serde_json::from_str(fact.payload().unwrap()).unwrap();
        renamed(&mut value, &ids);
        let (kind, v) = (&fact.envelope.kind, fact.envelope.v);
        Payload::read(kind, v, &value.to_string()).unwrap()
    };
    // What the design is and which castings there are: field by field, the last first.
    for fact in facts.iter().rev().filter(|f| f.envelope.kind == "edit") {
        let Payload::Edit(edit) = read(fact) else {
            continue;
        };
        for (field, value) in edit.set {
            let one = Edit {
                on: edit.on.clone(),
                set: [(field, value)].into_iter().collect(),
            };
            say(&mut ledger, &fact.envelope.wall, &Payload::Edit(one));
        }
    }
    for fact in facts {
        match read(fact) {
            Payload::Reading(mut reading) => {
                assert!(!matches!(reading.of, Measured::Coordinate { .. }));
                reading.value = typed_again(&reading.value);
                say(&mut ledger, &fact.envelope.wall, &Payload::Reading(reading));
            }
            other @ (Payload::Stage(_) | Payload::Marriage(_)) => {
                say(&mut ledger, &fact.envelope.wall, &other);
            }
            _ => {}
        }
    }
    (ledger, ids)
}

/// The same but for numbers that differ by no more than so many of their own units.
#[track_caller]
fn same(a: &Value, b: &Value, within: f64, at: &str) {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let off = (x.as_f64().unwrap() - y.as_f64().unwrap()).abs();
            assert!(off <= within, "{at}: {x} and {y}");
        }
        (Value::Array(x), Value::Array(y)) => {
            assert_eq!(x.len(), y.len(), "{at}");
            for (k, (x, y)) in x.iter().zip(y).enumerate() {
                same(x, y, within, &format!("{at}/{k}"));
            }
        }
        (Value::Object(x), Value::Object(y)) => {
            assert!(x.keys().eq(y.keys()), "{at}");
            for (key, x) in x {
                same(x, &y[key], within, &format!("{at}/{key}"));
            }
        }
        _ => assert_eq!(a, b, "{at}"),
    }
}

#[test]
fn example_a_set_up_again_from_what_was_typed_gives_the_sheets_of_its_file() {
    let file = samespot_core::read::job::open(FILE).unwrap().ledger;
    let (again, ids) = again(&file);
    let (of_file, anew) = (file.fold(), again.fold());
    assert!(anew.problems.is_empty(), "{:?}", anew.problems);
    assert_eq!(anew.readings.len(), of_file.readings.len());
    let none = Attachments::default();
    let sheet = |job: &Job, feature: &FeatureId, piece: &PieceId| {
        let source = Source {
            job,
            attachments: &none,
        };
        let issued = issue(&source, feature, piece, Paper::A4, DAY);
        issued.map(|i| i.drawing).map_err(|e| e.to_string())
    };
    let mut made = 0;
    for number in [1, 7, 11, 18] {
        let (piece, _) = of_file
            .pieces
            .iter()
            .find(|(_, p)| p.number == Some(number))
            .unwrap();
        let other_piece = PieceId::new(&ids[piece.as_str()]).unwrap();
        for feature in of_file.features.keys() {
            let other = FeatureId::new(&ids[feature.as_str()]).unwrap();
            match (
                sheet(&of_file, feature, piece),
                sheet(&anew, &other, &other_piece),
            ) {
                (Ok(one), Ok(two)) => {
                    made += 1;
                    let [one, two] = [one, two].map(|d| serde_json::to_value(d.pages).unwrap());
                    // Whole micrometres: ten of them are 0.01 mm.
                    same(&one, &two, 10.0, &format!("{feature} on {piece}"));
                }
                (one, two) => assert_eq!(one.err(), two.err(), "{feature} on {piece}"),
            }
        }
    }
    assert!(made >= 12, "{made} sheets");
}
