//! The shortest way through the whole: two marks, a centre, one reading a piece, a sheet.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

use samespot_core::job::*;
use samespot_core::prepare::{Source, issue, prepare};
use samespot_core::sheet::Paper;
use samespot_core::write::pdf::{Part, pdf};
use samespot_tests::jobs::{Script, id, mm};

/// Flat, A–B 300, the spot 180 from A and 240 from B (a 3-4-5 triangle: 108 along, 144 up).
fn flat() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 2);
    s.over("pattern", "a", "b", 300.0);
    s.over("pattern", "a", "spot", 180.0);
    s.over("pattern", "b", "spot", 240.0);
    s.over("c1", "a", "b", 297.0);
    s
}

#[test]
fn half_of_the_difference_goes_to_either_end() {
    let s = flat();
    let job = s.ledger.fold();
    assert_eq!(job.problems, []);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let p = prepare(&source, &id("spot"), &id("p1")).unwrap();
    // Along: 297/2 + (108 − 150) = 106.5 from A, 190.5 from B; 144 up either way.
    let at = |k: usize| (p.placed.marks[k].x_mm(), p.placed.marks[k].y_mm());
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    assert!(
        near(at(0).0, -106.5) && near(at(0).1, -144.0),
        "{:?}",
        at(0)
    );
    assert!(near(at(1).0, 190.5) && near(at(1).1, -144.0), "{:?}", at(1));
    // The drawing's stencil by A alone lands 1.5 to the right of the middle way: 108 against 106.5.
    assert!(near(p.nominal_lands.1.x_mm(), 1.5) && near(p.nominal_lands.1.y_mm(), 0.0));
    assert!(p.instead.contains("1.5 mm to the right"), "{}", p.instead);
    assert!(
        p.warnings
            .iter()
            .any(|w| w.contains("nothing checks these readings")),
        "{:?}",
        p.warnings
    );
    // Laid so that both are off by the same, nothing of the reading's error is left.
    assert!(
        p.laying_words.contains("off by the same"),
        "{}",
        p.laying_words
    );
    assert!(
        p.budget.terms.iter().all(|t| t.kind.name() != "measuring"),
        "{:?}",
        p.budget.terms
    );
}

#[test]
fn a_piece_without_a_reading_says_what_to_read() {
    let s = flat();
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let why = prepare(&source, &id("spot"), &id("p2"))
        .unwrap_err()
        .to_string();
    assert!(why.contains("part 2") && why.contains("A to B"), "{why}");
}

#[test]
fn the_sheet_comes_out() {
    for (k, shape) in [
        FaceShape::Flat,
        FaceShape::Cylinder {
            axis: AxisChoice::Up,
            hollow: false,
            size: Size::Girth { girth: mm(1200.0) },
        },
        FaceShape::Cone {
            lower: Size::Girth { girth: mm(1400.0) },
            upper: Size::Girth { girth: mm(1100.0) },
            slant: mm(600.0),
        },
        FaceShape::Dome {
            hollow: false,
            size: Size::GaugeCard { number: 34 },
        },
        FaceShape::TwoRadii {
            across: Curve::Bulging {
                size: Size::GaugeCard { number: 32 },
            },
            up: Curve::Bulging {
                size: Size::StraightEdge {
                    length: mm(300.0),
                    gap: mm(25.0),
                    read_to: None,
                },
            },
        },
        FaceShape::TwoRadii {
            across: Curve::Bulging {
                size: Size::GaugeCard { number: 34 },
            },
            up: Curve::Hollow {
                size: Size::Radius { radius: mm(400.0) },
            },
        },
    ]
    .into_iter()
    .enumerate()
    {
        let mut s = Script::one_face(shape, &["a", "b", "c"], 1);
        let above = MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        };
        s.set(EntityRef::Mark(id("c")), &above);
        s.over("pattern", "a", "b", 200.0);
        s.over("pattern", "a", "spot", 120.0);
        s.over("pattern", "b", "spot", 130.0);
        s.over("pattern", "a", "c", 170.0);
        s.over("pattern", "b", "c", 180.0);
        s.over("c1", "a", "b", 198.5);
        s.over("c1", "a", "c", 171.0);
        s.over("c1", "b", "c", 178.0);
        let job = s.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        let issued = issue(
            &source,
            &id::<FeatureId>("spot"),
            &id("p1"),
            Paper::A3,
            "25 November 2026",
        )
        .unwrap();
        let bytes = pdf(
            "Test job",
            &[Part {
                bookmark: "Piece 1",
                drawing: &issued.drawing,
            }],
        )
        .unwrap();
        if let Ok(folder) = std::env::var("SAMESPOT_LOOK") {
            std::fs::write(format!("{folder}/quick-{k}.pdf"), &bytes).unwrap();
        }
        assert_eq!(issued.drawing.reference.len(), 10);
    }
}

#[test]
fn a_side_is_asked_never_guessed() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 1);
    for (from, to, mm) in [("a", "b", 200.0), ("a", "c", 170.0), ("b", "c", 180.0)] {
        s.over("pattern", from, to, mm);
        s.over("c1", from, to, mm);
    }
    // Not read at all, that is what it wants first.
    let first = {
        let job = s.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        prepare(&source, &id("spot"), &id("p1")).unwrap_err()
    };
    assert!(
        first
            .to_string()
            .contains("read it on the pattern from two marks")
    );
    s.over("pattern", "a", "spot", 120.0);
    s.over("pattern", "b", "spot", 130.0);
    // C fits on either side: the sheet is made without it and asks.
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let made = prepare(&source, &id("spot"), &id("p1")).unwrap();
    assert!(made.crosses.iter().all(|c| c.letter != "C"));
    let asks = |w: &String| w.contains("say on which side") && w.ends_with("made without it");
    assert!(made.warnings.iter().any(asks), "{:?}", made.warnings);
}
