//! Marks for the pattern, from the job to the sheet that they are drilled by.
#![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

use samespot_core::job::*;
use samespot_core::prepare::Source;
use samespot_core::prepare::setout::{Stands, face_view, pip_sheet, pips};
use samespot_core::sheet::Paper;
use samespot_core::write::job::Attachments;
use samespot_core::write::pdf::{Part, pdf};
use samespot_tests::jobs::{Script, id};

/// A plinth 400 by 300 (3-4-5: Euclid I.48) with marks at its corners and a circle amid.
fn plinth(found: &str) -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 1);
    for (from, to, value) in [
        ("a", "b", 400.0),
        ("a", "c", 300.0),
        ("b", "c", 500.0),
        ("b", "d", 300.0),
        ("a", "d", 500.0),
        ("c", "d", 400.0),
        ("a", "spot", 250.0),
        ("b", "spot", 250.0),
        ("c", "spot", 250.0),
    ] {
        s.over("pattern", from, to, value);
    }
    for mark in ["a", "b", "c", "d"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                found: Some(found.into()),
                hidden: Some(mark == "a"),
                side: matches!(mark, "c" | "d").then_some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    s
}

/// *± 2.6* as a number.
fn after(text: &str, words: &str) -> f64 {
    let rest = text.split_once(words).unwrap().1;
    let number: String = rest
        .trim_start()
        .trim_start_matches('±')
        .trim_start()
        .chars()
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    number.parse().unwrap()
}

#[test]
fn three_pips_with_what_they_bring_against_the_formula_of_registration() {
    let s = plinth("corner of the plinth");
    let job = s.ledger.fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    let attachments = Attachments::new();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let found = pips(&source, &id("face")).unwrap();
    assert_eq!(found.pips.len(), 3, "{found:?}");
    assert!(found.pips.iter().any(|p| p.hidden));
    let gain = &found.gains[0];
    // The rule follows A and B alone, 400 mm apart, each found to 0.7 mm: at the far edge of the
    // circle, 150 + 30 off the middle of their line square to it, the shift is σ²/2 each way and the
    // turn σ²/(2·200²) (Fitzpatrick, West and Maurer 1998, in the plane), times 2.4477.
    let now = after(gain, "as they are found now");
    let wanted = 2.4477 * 0.7 * (0.5 + 180.0 * 180.0 / 80_000.0_f64).sqrt();
    assert!((now - wanted).abs() < 0.05 + 1e-9, "{gain}: {wanted}");
    let with = after(gain, "it lands within");
    assert!(with < now / 1.5, "{gain}");
    // The same formula over the three, found to 0.25 mm each, at the outline's furthest point.
    let view = face_view(&source, &id("face")).unwrap();
    let Stands::Held { at_mm: spot, .. } = view.features[0].stands else {
        unreachable!("the circle is held");
    };
    let n = found.pips.len() as f64;
    let middle = found.pips.iter().fold([0.0, 0.0], |[x, y], p| {
        [x + p.at_mm[0] / n, y + p.at_mm[1] / n]
    });
    let far = |p: [f64; 2]| (p[0] - middle[0]).hypot(p[1] - middle[1]);
    let square: f64 = found.pips.iter().map(|p| far(p.at_mm).powi(2)).sum();
    let edge = far(spot) + 30.0;
    let wanted = 2.4477 * 0.25 * (1.0 / n + edge * edge / square).sqrt();
    assert!((with - wanted).abs() < 0.06, "{gain}: {wanted}");
    // Struck from two marks, it lies where the picture has it: the arcs meet there.
    for pip in &found.pips {
        assert!(pip.strike.contains("over the surface"), "{}", pip.strike);
    }
}

#[test]
fn pips_that_are_there_already_gain_little() {
    let s = plinth("moulded-in pip");
    let job = s.ledger.fold();
    let attachments = Attachments::new();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let gain = pips(&source, &id("face")).unwrap().gains[0].clone();
    let (with, now) = (
        after(&gain, "it lands within"),
        after(&gain, "as they are found now"),
    );
    assert!(now < 2.0 * with, "{gain}");
}

#[test]
fn nothing_to_place_and_no_room_are_said() {
    let bare = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    let job = bare.ledger.fold();
    let attachments = Attachments::new();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let why = pips(&source, &id("face")).unwrap_err().to_string();
    assert!(why.contains("set out what has to land first"), "{why}");
    // A plinth of 60 by 45 with a circle of 60 on it: the face is known to be no wider.
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 1);
    for (from, to, value) in [
        ("a", "b", 60.0),
        ("a", "c", 45.0),
        ("b", "c", 75.0),
        ("a", "spot", 37.5),
        ("b", "spot", 37.5),
        ("c", "spot", 37.5),
    ] {
        s.over("pattern", from, to, value);
    }
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let why = pips(&source, &id("face")).unwrap_err().to_string();
    assert!(why.contains("no room for three pips"), "{why}");
}

#[test]
fn the_drilling_sheet_is_true_to_size_and_comes_as_pdf() {
    let s = plinth("corner of the plinth");
    let job = s.ledger.fold();
    let attachments = Attachments::new();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let drawing = pip_sheet(&source, &id("face"), Paper::A3, "2026-11-27").unwrap();
    assert!(!drawing.pages.is_empty());
    let said = drawing.readable.join("\n");
    for words in ["P1: ", "P2: ", "P3: ", "MARKS FOR THE PATTERN", "Goggles"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let part = Part {
        bookmark: &drawing.title,
        drawing: &drawing,
    };
    let bytes = pdf(&drawing.title, &[part]).unwrap();
    assert!(bytes.starts_with(b"%PDF-"));
    let out = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("out/pips");
    std::fs::create_dir_all(&out).unwrap();
    std::fs::write(out.join("pips.pdf"), &bytes).unwrap();
}
