//! The planted slip of the invented run is named, with its size and the slip it was.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops where something is missing"
)]

use samespot_core::job::*;
use samespot_core::prepare::{Source, prepare};
use samespot_core::write::job::Attachments;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn warnings(feature: &str, piece: &PieceId) -> Vec<String> {
    let job = samespot_core::read::job::open(FILE).unwrap().ledger.fold();
    let source = Source {
        job: &job,
        attachments: &Attachments::default(),
    };
    prepare(&source, &FeatureId::new(feature).unwrap(), piece)
        .unwrap()
        .warnings
}

fn accused(feature: &str, piece: &PieceId) -> Vec<String> {
    let all = warnings(feature, piece);
    all.into_iter()
        .filter(|w| w.contains("odd one out"))
        .collect()
}

#[test]
fn the_planted_slip_is_named_with_its_size() {
    // The generator writes 113 for 103 on the eleventh puffin (reference/quay-puffins).
    let found = accused("eye-left", &PieceId::new("p11").unwrap());
    assert_eq!(found.len(), 1, "{found:?}");
    let said = &found[0];
    assert!(said.starts_with("A to B"), "{said}");
    assert!(said.contains("(113)"), "{said}");
    assert!(said.contains("The others say 103 mm"), "{said}");
    assert!(said.contains("misread by 10 mm?"), "{said}");
}

#[test]
fn nobody_else_is_accused() {
    let job = samespot_core::read::job::open(FILE).unwrap().ledger.fold();
    for feature in ["eye-left", "eye-right", "band", "badge"] {
        for piece in job.pieces.keys() {
            if (feature, piece.as_str()) != ("eye-left", "p11") {
                assert_eq!(accused(feature, piece), [""; 0], "{feature} on {piece}");
            }
        }
    }
}

/// A slip on the pattern goes into every piece: each sheet says so.
#[test]
fn a_slip_on_the_pattern_is_said_on_the_sheets_of_every_piece() {
    let mut ledger = samespot_core::read::job::open(FILE).unwrap().ledger;
    let job = ledger.fold();
    let mark = |m: &str| PointRef::Mark(MarkId::new(m).unwrap());
    let pattern = CastingId::new("puffin-pattern").unwrap();
    let read = (job.readings.about(&pattern))
        .find(|r| {
            r.says.of.touches(&mark("head-left-a")) && r.says.of.touches(&mark("head-left-b"))
        })
        .unwrap();
    let writer = Writer {
        replica: ReplicaId(7),
        who: String::new(),
        wall: String::new(),
    };
    let slip = Payload::Correct(Correction {
        target: read.id,
        value: Entry::of_mm(read.says.value.mm.mm() + 20.0),
        reason: String::new(),
    });
    ledger.write(&writer, &slip).unwrap();
    let job = ledger.fold();
    let source = Source {
        job: &job,
        attachments: &Attachments::default(),
    };
    for piece in ["p1", "p18"] {
        let piece = PieceId::new(piece).unwrap();
        let eye = FeatureId::new("eye-left").unwrap();
        let warnings = prepare(&source, &eye, &piece).unwrap().warnings;
        let said = |w: &String| w.starts_with("on the pattern, which every piece follows: A to B");
        assert!(warnings.iter().any(said), "{warnings:?}");
    }
}
