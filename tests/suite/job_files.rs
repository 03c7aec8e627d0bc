//! Files that are no job, or no longer one: each refused or repaired in a sentence, nothing lost.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test may stop"
)]

use samespot_core::job::*;
use samespot_core::prepare::{Source, prepare};
use samespot_core::read::job::{Note, OpenError, open};
use samespot_core::write::job::{attachment_hash, job_file, job_json};
use samespot_tests::jobs::{Script, id, mm};

fn whole() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    s.over("pattern", "a", "b", 300.0);
    s.over("pattern", "a", "spot", 180.0);
    s.over("pattern", "b", "spot", 240.0);
    s.over("c1", "a", "b", 297.0);
    let picture = b"a picture".to_vec();
    s.attachments.insert(attachment_hash(&picture), picture);
    s
}

#[track_caller]
fn refused(bytes: &[u8], words: &str) {
    let why = open(bytes).expect_err("should be refused").to_string();
    assert!(why.contains(words), "'{why}' should say '{words}'");
}

#[test]
fn what_is_no_job_says_what_it_looks_like() {
    refused(b"", "empty");
    refused(b"  \n ", "empty");
    refused(b"%PDF-1.7", "a PDF");
    refused(b"\x89PNG\r\n", "a picture");
    refused(b"<?xml version=\"1.0\"?><svg/>", "a drawing");
    refused(b"<!DOCTYPE html><html></html>", "a saved web page");
    refused(b"solid cube", "a scan");
    refused(b"hello there", "plain text");
    let zip = samespot_core::write::zip::zip_folder(&[samespot_core::write::zip::Entry {
        path: "x.txt",
        bytes: b"x",
    }]);
    refused(&zip.unwrap(), "a ZIP without a job");
}

#[test]
fn a_job_cut_short_anywhere_is_refused_whole() {
    let s = whole();
    let zip = job_file(&s.ledger, &s.attachments).unwrap();
    for cut in [zip.len() - 1, zip.len() / 2, 30, 5] {
        let why = open(&zip[..cut]).expect_err("cut short").to_string();
        assert!(
            why.contains("stops short") || why.contains("damaged"),
            "{why}"
        );
    }
    let json = job_json(&s.ledger).unwrap();
    refused(&json.as_bytes()[..json.len() / 2], "stops short");
    refused(&json.as_bytes()[..json.len() / 2], "line 1");
}

#[test]
fn a_newer_file_is_refused_before_anything_else_is_read() {
    refused(
        br#"{"samespot":{"format":2},"something":"else"}"#,
        "newer Samespot",
    );
    refused(
        br#"{"samespot":{"format":99,"program":"9.9"},"facts":"moved"}"#,
        "file version 99",
    );
}

#[test]
fn one_entry_that_does_not_read_leaves_the_rest_and_stays_in_the_file() {
    let s = whole();
    let json = job_json(&s.ledger).unwrap().replacen(
        r#"{"id":"#,
        r#"{"id":{"replica":"no","seq":0}},{"id":"#,
        1,
    );
    let opened = open(json.as_bytes()).unwrap();
    assert!(
        matches!(opened.notes.as_slice(), [Note::Entry { index: 1, .. }]),
        "{:?}",
        opened.notes
    );
    assert_eq!(opened.ledger.len(), s.ledger.len());
    assert!(
        job_json(&opened.ledger)
            .unwrap()
            .contains(r#""replica":"no""#)
    );
}

#[test]
fn numbers_that_are_none_are_refused_with_their_place() {
    let s = whole();
    let json = job_json(&s.ledger).unwrap();
    refused(json.replacen("297", "NaN", 1).as_bytes(), "column");
    refused(json.replacen(":297", ":1e999", 1).as_bytes(), "");
    let typed = json.replacen("\"mm\":297.0", "\"mm\":\"NaN\"", 1);
    assert_ne!(typed, json);
    let job = open(typed.as_bytes()).unwrap().ledger.fold();
    // The reading does not count and says so; everything else does.
    assert_eq!(job.problems.len(), 1);
    assert_eq!(job.readings.len(), 3);
}

#[test]
fn a_damaged_or_missing_attachment_leaves_the_job() {
    let mut s = whole();
    let zip = job_file(&s.ledger, &s.attachments).unwrap();
    let at = zip.windows(9).position(|w| w == b"a picture").unwrap();
    let mut broken = zip;
    broken[at] = b'A';
    match open(&broken) {
        Ok(opened) => assert!(matches!(opened.notes.as_slice(), [Note::Damaged { .. }])),
        Err(why) => assert!(matches!(why, OpenError::Damaged { .. }), "{why}"),
    }
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Artwork {
                attachment: "00".repeat(32),
                file: "eye.svg".into(),
                width: mm(40.0),
                ignored: Vec::new(),
            }),
            ..FeatureEdit::default()
        },
    );
    let job = s.ledger.fold();
    let why = prepare(
        &Source {
            job: &job,
            attachments: &s.attachments,
        },
        &id("spot"),
        &id("p1"),
    )
    .unwrap_err();
    assert!(
        why.to_string().contains("eye.svg") && why.to_string().contains("bring the file in again"),
        "{why}"
    );
}

#[test]
fn sizes_that_cannot_be_name_the_face_and_what_to_do() {
    #[track_caller]
    fn check(shape: FaceShape, words: &str) {
        let mut s = whole();
        s.set(
            EntityRef::Face(id("face")),
            &FaceEdit {
                shape: Some(shape),
                ..FaceEdit::default()
            },
        );
        let job = s.ledger.fold();
        let why = prepare(
            &Source {
                job: &job,
                attachments: &s.attachments,
            },
            &id("spot"),
            &id("p1"),
        )
        .unwrap_err()
        .to_string();
        assert!(
            why.contains("face") && why.contains(words),
            "'{why}' should say '{words}'"
        );
    }
    let dome = |size| FaceShape::Dome {
        hollow: false,
        size,
    };
    check(dome(Size::Radius { radius: mm(-80.0) }), "more than zero");
    check(dome(Size::Girth { girth: mm(0.0) }), "more than zero");
    check(
        dome(Size::StraightEdge {
            length: mm(100.0),
            gap: mm(0.0),
            read_to: None,
        }),
        "flat",
    );
    check(dome(Size::GaugeCard { number: 900 }), "900");
}

#[test]
fn readings_that_contradict_or_are_too_few_say_which() {
    #[track_caller]
    fn check(change: impl Fn(&mut Script), words: &[&str]) {
        let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
        change(&mut s);
        let job = s.ledger.fold();
        let why = prepare(
            &Source {
                job: &job,
                attachments: &s.attachments,
            },
            &id("spot"),
            &id("p1"),
        )
        .unwrap_err()
        .to_string();
        for word in words {
            assert!(why.contains(word), "'{why}' should say '{word}'");
        }
    }
    check(|_| (), &["pattern", "read"]);
    check(
        |s| {
            s.over("pattern", "a", "b", 300.0);
            s.over("pattern", "a", "spot", 180.0);
        },
        &["Spot", "two marks"],
    );
    check(
        |s| {
            s.over("pattern", "a", "b", 300.0);
            s.over("pattern", "a", "spot", 80.0);
            s.over("pattern", "b", "spot", 90.0);
        },
        &["miss each other", "again"],
    );
    check(
        |s| {
            s.over("pattern", "a", "b", -300.0);
        },
        &["more than zero"],
    );
}
