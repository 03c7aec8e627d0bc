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
