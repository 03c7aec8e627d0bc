//! The published JSON Schema of a job file, made from the types themselves.

use super::fact::Envelope;
use super::payload::*;
use super::{FORMAT_VERSION, JobId};
use schemars::{SchemaGenerator, json_schema};
use serde_json::{Value, json};

/// The JSON Schema (draft 2020-12) of `job.json`.
///
/// Kinds of fact this version does not know are allowed: they are carried along.
#[must_use]
pub fn job_schema() -> Value {
    let mut generator = SchemaGenerator::default();
    let envelope = generator.subschema_for::<Envelope>();
    let job = generator.subschema_for::<JobId>();
    let kinds = [
        ("edit", generator.subschema_for::<Edit>()),
        ("reading", generator.subschema_for::<Reading>()),
        ("stage", generator.subschema_for::<StageFact>()),
        ("marriage", generator.subschema_for::<Marriage>()),
        ("done", generator.subschema_for::<DoneFact>()),
        ("mould-event", generator.subschema_for::<MouldFact>()),
        ("check", generator.subschema_for::<super::CheckFact>()),
        ("printed", generator.subschema_for::<Printed>()),
        (
            "printer-proof",
            generator.subschema_for::<super::ProofFact>(),
        ),
        ("measuring", generator.subschema_for::<MeasuringFact>()),
        (
            "concession",
            generator.subschema_for::<super::ConcessionFact>(),
        ),
        (
            "pair-concession",
            generator.subschema_for::<super::PairConcessionFact>(),
        ),
        (
            "signed-off",
            generator.subschema_for::<super::SignOffFact>(),
        ),
        ("amended", generator.subschema_for::<super::AmendedFact>()),
        (
            "seat-reading",
            generator.subschema_for::<super::SeatReading>(),
        ),
        ("drilled", generator.subschema_for::<super::DrilledFact>()),
        (
            "cured-reading",
            generator.subschema_for::<super::CuredReading>(),
        ),
        ("template", generator.subschema_for::<super::TemplateFact>()),
        ("withdraw", generator.subschema_for::<Withdrawal>()),
        ("correct", generator.subschema_for::<Correction>()),
        ("remove", generator.subschema_for::<Removal>()),
    ];
    let by_kind: Vec<Value> = kinds
        .iter()
        .map(|(kind, payload)| {
            json!({
                "if": { "properties": { "kind": { "const": kind } } },
                "then": {
                    "required": ["payload"],
                    "properties": { "payload": if *kind == "edit" {
                        json!({ "allOf": [payload, { "$ref": "#/$defs/EditOfAThing" }] })
                    } else {
                        json!(payload)
                    } }
                }
            })
        })
        .collect();
    // What an edit may set depends on what it is about.
    let fields = [
        ("issue", generator.subschema_for::<super::IssueEdit>()),
        ("mould", generator.subschema_for::<super::MouldEdit>()),
        ("part", generator.subschema_for::<super::PartEdit>()),
        ("face", generator.subschema_for::<super::FaceEdit>()),
        ("mark", generator.subschema_for::<super::MarkEdit>()),
        ("edge", generator.subschema_for::<super::EdgeEdit>()),
        ("feature", generator.subschema_for::<super::FeatureEdit>()),
        ("pair", generator.subschema_for::<super::PairEdit>()),
        (
            "measuring-list",
            generator.subschema_for::<super::MeasuringListEdit>(),
        ),
        ("joint", generator.subschema_for::<super::JointEdit>()),
        ("fixing", generator.subschema_for::<super::FixingEdit>()),
        (
            "instrument",
            generator.subschema_for::<super::InstrumentEdit>(),
        ),
        ("printer", generator.subschema_for::<super::PrinterEdit>()),
        ("template", generator.subschema_for::<super::TemplateEdit>()),
        ("casting", generator.subschema_for::<super::CastingEdit>()),
        ("piece", generator.subschema_for::<super::PieceEdit>()),
    ];
    let job_fields = generator.subschema_for::<super::JobEdit>();
    let mut by_thing: Vec<Value> = fields
        .iter()
        .map(|(thing, set)| {
            json!({
                "if": { "properties": { "on": { "type": "object", "required": [thing] } } },
                "then": { "properties": { "set": set } }
            })
        })
        .collect();
    by_thing.push(json!({
        "if": { "properties": { "on": { "const": "job" } } },
        "then": { "properties": { "set": job_fields } }
    }));
    let mut definitions = generator.take_definitions(true);
    definitions.insert("EditOfAThing".into(), json!({ "allOf": by_thing }));
    let root = json_schema!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Samespot job",
        "description": "job.json inside a .samespot file: facts, each in the bytes it was written in",
        "type": "object",
        "required": ["samespot", "job", "facts"],
        "properties": {
            "samespot": {
                "type": "object",
                "required": ["format"],
                "properties": {
                    "format": { "type": "integer", "minimum": 1, "maximum": FORMAT_VERSION },
                    "program": { "type": "string" }
                }
            },
            "job": job,
            "facts": { "type": "array", "items": { "allOf": [envelope, { "allOf": by_kind }] } }
        },
        "$defs": definitions
    });
    root.to_value()
}
