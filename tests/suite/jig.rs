//! The jig of a fixing: a plate read back from its own SVG, held against a ball, a standard's table
//! and pins that are brought onto the marks again.
#![allow(
    clippy::unwrap_used,
    clippy::unreachable,
    reason = "a test stops where something is missing"
)]

use samespot_core::answer::{Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::frames::{Flat, Point2};
use samespot_core::job::*;
use samespot_core::prepare::holes::CAUTIONS;
use samespot_core::prepare::{Source, fewest_templates, issue, issue_shared, prepare_sheet};
use samespot_core::sheet::Paper;
use samespot_core::template::land;
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;
use samespot_tests::jobs::{id, mm};
use std::collections::BTreeMap;

const EXAMPLE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

/// Large enough for the jig on one sheet.
const PAPER: Paper = Paper::Typed {
    width: Length::from_mm(594.0),
    height: Length::from_mm(420.0),
};

fn example() -> Job {
    samespot_core::read::job::open(EXAMPLE)
        .unwrap()
        .ledger
        .fold()
}

fn jig() -> SheetOf {
    SheetOf::Jig(id("bracket"))
}

/// Middle and radius of every named circle of the jig's SVG, y up, mm; read by roxmltree.
fn circles(piece: &str) -> BTreeMap<String, (f64, f64, f64)> {
    let mut desk = Desk::default();
    let job = desk.take(samespot_core::read::job::open(EXAMPLE).unwrap());
    let ask = Ask::File {
        job,
        kind: FileKind::Svg,
        of: Some(jig()),
        pieces: vec![id(piece)],
        paper: PAPER,
        day: "2026-11-26".into(),
    };
    let answer = answer(&mut desk, Request { number: 1, ask });
    match answer.says.unwrap() {
        Reply::File { name, printed, .. } => {
            assert!(name.ends_with("bracket-bolts-jig.svg"), "{name}");
            assert_eq!(printed[0].of, jig());
        }
        other => unreachable!("{other:?}"),
    }
    let text = String::from_utf8(answer.bytes).unwrap();
    let doc = roxmltree::Document::parse(&text).unwrap();
    doc.descendants()
        .filter(|n| n.has_tag_name("circle"))
        .filter_map(|n| {
            let number = |name| n.attribute(name)?.parse::<f64>().ok();
            let title = n.children().find(|c| c.has_tag_name("title"))?;
            let at = (number("cx")?, -number("cy")?, number("r")?);
            Some((title.text()?.to_owned(), at))
        })
        .collect()
}

fn way(all: &BTreeMap<String, (f64, f64, f64)>, from: &str, to: &str) -> f64 {
    let (a, b) = (all[from], all[to]);
    (b.0 - a.0).hypot(b.1 - a.1)
}

/// A plate is flat: its holes are the bracket's own 70 × 45, not what they are over the ball. The
/// bushes are the standard's for a drill of 12 (ISO 4247, from memory: 18 outside).
#[test]
fn bush_holes_are_the_brackets_own() {
    let all = circles("p7");
    for (from, to, apart) in [
        ("hole 1", "hole 2", 70.0),
        ("hole 2", "hole 3", 45.0),
        ("hole 3", "hole 4", 70.0),
        ("hole 1", "hole 3", 70.0_f64.hypot(45.0)),
    ] {
        assert!((way(&all, from, to) - apart).abs() < 0.002, "{from} {to}");
    }
    for n in 1..=4 {
        let bush = all[&format!("bush {n}")];
        assert!((bush.2 - 9.0).abs() < 1e-9);
        let hole = all[&format!("hole {n}")];
        assert!((hole.2 - 6.0).abs() < 1e-9);
        assert!((bush.0 - hole.0).hypot(bush.1 - hole.1) < 1e-9);
    }
}

/// A mark that lies r over a ball of radius R from the middle stands R sin(r/R) from it seen along
/// the drill, and R (1 − cos(r/R)) lower: its pin is longer by so much.
#[test]
fn pins_stand_over_the_marks_of_a_ball() {
    let (job, attachments) = (example(), Attachments::default());
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    for piece in ["p3", "p7", "p12"] {
        let holes = samespot_core::prepare::holes::holes_view(&source, &id(piece)).unwrap();
        let view = &holes.fixings[0];
        let half = 35.0_f64.hypot(22.5);
        let radius = half / view.holes[0].lean.rad().sin();
        let all = circles(piece);
        let (one, three) = (all["hole 1"], all["hole 3"]);
        let middle = ((one.0 + three.0) / 2.0, (one.1 + three.1) / 2.0);
        let jig = prepare_sheet(&source, &jig(), &id(piece)).unwrap();
        let lengths = jig
            .warnings
            .iter()
            .find(|w| w.starts_with("pins stand out"))
            .unwrap();
        let mut low = Vec::new();
        for mark in &view.marks {
            let over = mark.at.0.mm().hypot(mark.at.1.mm());
            let pin = all[&mark.letter];
            let off = (pin.0 - middle.0).hypot(pin.1 - middle.1);
            let by_hand = radius * (over / radius).sin();
            assert!(
                (off - by_hand).abs() < 0.003,
                "{piece} {}: {off} {by_hand}",
                mark.letter
            );
            low.push((mark.letter.clone(), radius * (1.0 - (over / radius).cos())));
        }
        let said = |letter: &str| -> f64 {
            let after = lengths.split(&format!("{letter} ")).nth(1).unwrap();
            after.split(',').next().unwrap().parse().unwrap()
        };
        for (letter, lower) in &low {
            let (first, least) = &low[0];
            let more = said(letter) - said(first);
            // Said in tenths, both of them.
            assert!(
                (more - (lower - least)).abs() < 0.11,
                "{piece} {letter}: {lengths}"
            );
        }
    }
}

/// A jig that several pieces share, stood on the marks of each, lands no hole further off than
/// what is said to be left there; and no fewer serve where less is asked.
#[test]
fn a_shared_jig_comes_to_rest_within_what_it_says() {
    let (job, attachments) = (example(), Attachments::default());
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let of = jig();
    let mut counts = Vec::new();
    for within in [2.0, 3.0] {
        let found = fewest_templates(&source, &of, Some(Length::from_mm(within))).unwrap();
        counts.push(found.templates.len());
        let mut served = 0;
        for jig in &found.templates {
            served += jig.serves.len();
            for (piece, left) in &jig.serves {
                let own = prepare_sheet(&source, &of, piece).unwrap();
                let pins: Vec<Point2<Flat>> = jig.crosses.iter().map(|c| c.at).collect();
                let rests = land(&jig.laying, &pins, &own.placed.marks, None).unwrap();
                for hole in &own.holes {
                    let off = rests.at(hole.at).norm_mm();
                    assert!(off <= left.worst.mm() + 0.002, "{piece}: {off}");
                }
                assert!(
                    left.worst.mm() <= within + 0.002,
                    "{piece}: {:?}",
                    left.worst
                );
            }
        }
        assert_eq!(served, job.pieces.len());
    }
    assert!(
        counts[1] < counts[0] && counts[0] < job.pieces.len(),
        "{counts:?}"
    );
}

#[test]
fn the_plate_says_how_it_stands_and_what_to_mind() {
    let (job, attachments) = (example(), Attachments::default());
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let made = issue(&source, jig(), &id("p7"), Paper::A4, "2026-11-26").unwrap();
    let said = made.drawing.readable.join("\n");
    for caution in CAUTIONS {
        assert!(said.contains(caution), "{caution}");
    }
    for words in [
        "Stand pin ",
        "THIS SIDE OUT",
        "bushes 12 in 18 outside, 18 long at least",
        "it lifts off square, nothing hooks under",
        "Pins stand out of the plate's underside, mm: A ",
        "the farthest hole",
        "The drawing's own jig laid on piece 7",
        "SIZE NOT PROVED: MEASURE BOTH BARS",
    ] {
        assert!(said.contains(words), "{words}:\n{said}");
    }
    // It is there to be better than paper: nothing is flattened, the bush holds the drill.
    let paper = prepare_sheet(&source, &SheetOf::Fixing(id("bracket")), &id("p7")).unwrap();
    assert!(made.prepared.budget.worst < paper.budget.worst);
    let terms = &made.prepared.budget.terms;
    assert!(terms.iter().all(|t| t.kind.name() != "flattening"));
}

#[test]
fn bushes_that_run_into_each_other_are_refused_in_words() {
    let mut job = example();
    let attachments = Attachments::default();
    let fixing: FixingId = id("bracket");
    job.fixings.get_mut(&fixing).unwrap().pattern = Some(HolePattern::Row {
        count: 3,
        pitch: mm(19.0),
    });
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let why = prepare_sheet(&source, &jig(), &id("p7"))
        .unwrap_err()
        .to_string();
    assert!(
        why.contains("holes 1 and 2 would leave 1.0 mm of plate"),
        "{why}"
    );
    // Paper has no bushes.
    assert!(prepare_sheet(&source, &SheetOf::Fixing(fixing), &id("p7")).is_ok());
}

/// A jig that several pieces share says of each what its pins want: more words than a small sheet
/// holds. They go on as many as they take, and none is left out.
#[test]
fn a_shared_jig_is_issued_on_small_paper() {
    let (job, attachments) = (example(), Attachments::default());
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let found = fewest_templates(&source, jig(), Some(Length::from_mm(12.0))).unwrap();
    let small = Paper::Typed {
        width: Length::from_mm(160.0),
        height: Length::from_mm(220.0),
    };
    let mut many = 0;
    for template in &found.templates {
        for paper in [Paper::A4, Paper::Letter, small] {
            let (drawing, printed) = issue_shared(&source, template, (1, 1), paper, "").unwrap();
            assert_eq!(printed.pieces.len(), template.serves.len());
            let drawn: Vec<String> = drawing.pages.iter().map(page_words).collect();
            let all = drawn.join(" ");
            for caution in CAUTIONS {
                let first = caution.split(' ').take(3).collect::<Vec<_>>().join(" ");
                assert!(all.contains(&first), "{first}");
            }
            // Every page is numbered out of all of them; sheets of words say what they are.
            let of = drawing.pages.len();
            for (n, words) in (1..).zip(&drawn) {
                assert!(
                    words.contains(&format!("{n} of {of}")) || of == 1,
                    "{n} of {of}: {words}"
                );
            }
            let words_only = drawn
                .iter()
                .filter(|w| w.contains("nothing to cut"))
                .count();
            many = many.max(words_only);
            if let Ok(to) = std::env::var("SAMESPOT_LOOK_SHARED") {
                let part = samespot_core::write::pdf::Part {
                    bookmark: "jig",
                    drawing: &drawing,
                };
                let bytes = samespot_core::write::pdf::pdf("jig", &[part]).unwrap();
                std::fs::write(format!("{to}-{words_only}.pdf"), bytes).unwrap();
            }
        }
    }
    assert!(many > 1, "{many}");
}

/// The words drawn on a page, in order, as a reader of its SVG finds them.
fn page_words(page: &samespot_core::sheet::drawing::Page) -> String {
    let drawing = samespot_core::sheet::Drawing {
        title: String::new(),
        reference: String::new(),
        readable: Vec::new(),
        pages: vec![page.clone()],
    };
    let svg = samespot_core::write::svg::svg_pages(&drawing).remove(0);
    let doc = roxmltree::Document::parse(&svg).unwrap();
    let texts = doc.descendants().filter(|n| n.is_text());
    let trimmed = texts.filter_map(|n| n.text()).map(str::trim);
    trimmed.collect::<Vec<_>>().join(" ")
}
