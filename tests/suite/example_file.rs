//! Example (a), *Quay puffins* (invented): the file opens, folds without a problem and is whole.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops where something is missing"
)]

use samespot_core::job::{
    CastingId, FeatureId, Job, MarkId, Measured, PartId, PieceId, PointRef, RuleSpec,
};
use samespot_core::prepare::{Source, issue, uncut};
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;
use samespot_core::sheet::drawing::{Shape, Spot};
use samespot_core::write::job::{Attachments, job_file};
use samespot_core::write::svg::svg_page;
use std::collections::{BTreeMap, BTreeSet};

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn example() -> Job {
    Job::fold(&open(FILE).unwrap().ledger)
}

fn casting_readings<'a>(job: &'a Job, casting: &CastingId) -> impl Iterator<Item = &'a Measured> {
    let casting = casting.clone();
    job.readings
        .iter()
        .filter(move |r| r.says.casting == casting)
        .map(|r| &r.says.of)
}

fn ends(of: &Measured) -> [PointRef; 2] {
    match of {
        Measured::Straight { from, to } | Measured::Over { from, to } => [from.clone(), to.clone()],
        other => panic!("the example has only distances, not {other:?}"),
    }
}

fn marks_of_rule(rule: &RuleSpec) -> Vec<MarkId> {
    match rule {
        RuleSpec::Line { from, to, side, .. } => [from.clone(), to.clone()]
            .into_iter()
            .chain(side.clone())
            .collect(),
        RuleSpec::BestFit { marks, .. } => marks.iter().map(|m| m.mark.clone()).collect(),
        RuleSpec::Edges { .. } | RuleSpec::OffEdge { .. } => Vec::new(),
    }
}

#[test]
fn it_opens_and_folds_without_a_problem() {
    let opened = open(FILE).unwrap();
    assert_eq!(opened.notes, []);
    assert!(opened.ledger.unread().is_empty());
    let job = Job::fold(&opened.ledger);
    assert_eq!(job.problems, []);
    assert_eq!(job.concurrent, []);
    assert_eq!(job.disagreements, []);
    assert_eq!(job.id.as_str(), "quay-puffins");
    assert_eq!(job.about.invented, Some(true));
}

#[test]
fn saving_it_again_loses_nothing() {
    let opened = open(FILE).unwrap();
    let saved = job_file(&opened.ledger, &opened.attachments).unwrap();
    assert_eq!(open(&saved).unwrap().ledger, opened.ledger);
}

#[test]
fn eighteen_pieces_stand_in_batches_with_issue_1() {
    let job = example();
    let mut batches = BTreeMap::new();
    for (_, piece) in job.pieces_in_order() {
        *batches.entry(piece.batch.unwrap()).or_insert(0) += 1;
        let (_, issue) = job.issues_on(piece.number.unwrap()).pop().unwrap();
        assert_eq!(issue.number, Some(1));
        assert_eq!(issue.date.as_deref(), Some("2026-10-05"));
    }
    assert_eq!(batches.into_values().collect::<Vec<_>>(), [3, 6, 6, 3]);
}

#[test]
fn each_piece_has_its_castings_and_each_part_its_pattern() {
    let job = example();
    let parts: Vec<PartId> = job.parts.keys().cloned().collect();
    assert_eq!(parts.len(), 3);
    for (piece, about) in job.pieces_in_order() {
        for part in &parts {
            let casting = job.casting_of(piece, part).unwrap();
            let wanted = format!("{part}-{}", about.number.unwrap());
            assert_eq!(casting.as_str(), wanted);
        }
    }
    for part in &parts {
        assert_eq!(
            job.pattern_of(part).unwrap().as_str(),
            format!("{part}-pattern")
        );
    }
    assert_eq!(job.castings.len(), 18 * 3 + 3);
}

#[test]
fn stages_run_ahead_with_the_number() {
    let job = example();
    for (_, about) in job.pieces_in_order() {
        let number = about.number.unwrap();
        let wanted = match number {
            1..=6 => "painted",
            7..=9 => "primed",
            _ => "measured",
        };
        for part in job.parts.keys() {
            let casting = CastingId::new(&format!("{part}-{number}")).unwrap();
            let stage = job.stage_of(&casting).unwrap();
            assert_eq!(stage, wanted, "{casting}");
            assert!(
                job.about
                    .stages
                    .as_ref()
                    .unwrap()
                    .iter()
                    .any(|s| s == stage)
            );
        }
    }
}

#[test]
fn every_feature_has_its_marks_read_on_every_casting() {
    let job = example();
    let names: Vec<&str> = job.features.keys().map(FeatureId::as_str).collect();
    assert_eq!(names, ["badge", "band", "eye-left", "eye-right"]);
    let pair = job.pairs.values().next().unwrap();
    assert_eq!(pair.left.as_ref().unwrap().as_str(), "eye-left");
    assert_eq!(pair.right.as_ref().unwrap().as_str(), "eye-right");
    for (feature, about) in &job.features {
        let face = about.face.as_ref().unwrap();
        let part = job.faces[face].part.as_ref().unwrap();
        let marks = marks_of_rule(about.rule.as_ref().unwrap());
        assert!(
            marks
                .iter()
                .all(|m| job.marks[m].face.as_ref() == Some(face))
        );
        let castings = job
            .castings
            .iter()
            .filter(|(_, c)| c.part.as_ref() == Some(part));
        for (casting, c) in castings {
            let read: Vec<[PointRef; 2]> = casting_readings(&job, casting)
                .map(ends)
                .filter(|ends| {
                    ends.iter().any(|p| match p {
                        PointRef::Mark(m) => job.marks[m].face.as_ref() == Some(face),
                        PointRef::Feature(f) => f == feature,
                    })
                })
                .collect();
            for mark in &marks {
                let times = read
                    .iter()
                    .filter(|ends| ends.contains(&PointRef::Mark(mark.clone())))
                    .count();
                assert!(times >= 2, "{casting}: {mark} is read {times} times");
            }
            if c.pattern == Some(true) {
                // No coordinate is typed: the centre is measured on the pattern.
                let centre = PointRef::Feature(feature.clone());
                let to_centre = read.iter().filter(|ends| ends.contains(&centre)).count();
                assert!(to_centre >= 2 * marks.len(), "{casting}");
            } else {
                assert!((5..=6).contains(&read.len()), "{casting}: {}", read.len());
            }
        }
    }
}

#[test]
fn letters_are_unique_on_each_face() {
    let job = example();
    let mut seen = BTreeSet::new();
    for mark in job.marks.values() {
        let key = (mark.face.clone().unwrap(), mark.letter.clone().unwrap());
        assert!(seen.insert(key.clone()), "{key:?}");
    }
    assert_eq!(seen.len(), 13);
}

#[test]
fn the_planted_entries_are_as_typed() {
    let job = example();
    let inches: Vec<_> = job
        .readings
        .iter()
        .filter(|r| r.says.value.typed.contains('"'))
        .collect();
    let [only] = inches.as_slice() else {
        panic!("one reading is in inches, not {}", inches.len())
    };
    assert_eq!(only.says.casting.as_str(), "bollard-4");
    // An inch is 25.4 mm exactly (international yard and pound agreement, 1959): whole sixteenths.
    let sixteenths = only.says.value.mm.mm() / 25.4 * 16.0;
    assert!((sixteenths - sixteenths.round()).abs() < 1e-9);
    let short: Vec<_> = job
        .castings
        .iter()
        .filter(|(_, c)| c.pattern != Some(true))
        .filter(|(id, c)| {
            let faces = job.faces.values().filter(|f| f.part == c.part).count();
            casting_readings(&job, id).count() != 6 * faces
        })
        .map(|(id, _)| id.as_str())
        .collect();
    assert_eq!(short, ["cap-9"]);
}

/// Width and height of an SVG, mm, as a reader of XML finds them.
fn size_mm(svg: &str) -> [f64; 2] {
    let read = roxmltree::Document::parse(svg).unwrap();
    ["width", "height"].map(|side| {
        let said = read.root_element().attribute(side).unwrap();
        said.strip_suffix("mm").unwrap().parse().unwrap()
    })
}

#[test]
fn what_takes_several_sheets_is_shown_in_one_piece_with_nothing_left_out() {
    let job = example();
    let attachments = Attachments::new();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let piece = PieceId::new("p7").unwrap();
    let made = |feature: &str, paper| {
        let of = FeatureId::new(feature).unwrap();
        let issued = issue(&source, &of, &piece, paper, "2026-11-26").unwrap();
        let whole = uncut(&source, &issued, paper, "2026-11-26");
        (issued, whole)
    };
    let (band, whole) = made("band", Paper::A4);
    assert!(band.drawing.pages.len() > 2, "else nothing is to be joined");
    let whole = whole.unwrap();
    let [wide, high] = size_mm(&svg_page(&whole, 0).unwrap());
    // At true size: as large as its lines reach, and its trim and a white edge round it.
    let (across, up) = band.size_mm;
    assert!(wide > across && wide < across + 80.0, "{wide} for {across}");
    assert!(high > up && high < up + 120.0, "{high} for {up}");
    // Every cross and the whole outline are in it.
    let [page] = whole.pages.as_slice() else {
        panic!("in one piece")
    };
    let inside = |spot: Spot| {
        (0..=page.paper.width).contains(&spot.x) && (0..=page.paper.height).contains(&spot.y)
    };
    let mut lines = 0;
    for item in &page.items {
        if let Shape::Line(contours) = &item.shape {
            lines += 1;
            assert!(contours.iter().all(|c| inside(c.start) && inside(c.end())));
        }
    }
    assert!(lines > 5);
    // What is on one sheet is seen there.
    let (eye, whole) = made("eye-left", Paper::A3);
    assert_eq!((eye.drawing.pages.len(), whole), (1, None));
    // A sheet of words beside the one that is laid joins nothing.
    let (eye, whole) = made("eye-left", Paper::Letter);
    assert_eq!((eye.drawing.pages.len(), whole), (2, None));
}
