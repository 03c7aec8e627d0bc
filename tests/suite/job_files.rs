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

/// Puts a number into a field of every header of a ZIP, at its place in the headers before the
/// contents and in those of the list at the end (APPNOTE.TXT 4.3.7, 4.3.12).
fn in_every_header(zip: &[u8], places: (usize, usize), value: u16) -> Vec<u8> {
    let mut out = zip.to_vec();
    for (sign, place) in [(b"PK\x03\x04", places.0), (b"PK\x01\x02", places.1)] {
        let starts: Vec<usize> = (0..zip.len() - 4)
            .filter(|&at| &zip[at..at + 4] == sign)
            .collect();
        assert!(!starts.is_empty());
        for at in starts {
            out[at + place..at + place + 2].copy_from_slice(&value.to_le_bytes());
        }
    }
    out
}

#[test]
fn a_broken_zip_is_told_in_the_words_of_the_person_who_opens_it() {
    let s = whole();
    let zip = job_file(&s.ledger, &s.attachments).unwrap();
    let says = |bytes: &[u8]| open(bytes).expect_err("broken").to_string();
    let short = "the file stops short (the list of what is in it, which stands at its end, is missing): it was cut off while being copied. Copy it again; nothing here was changed";
    for cut in [zip.len() - 1, zip.len() / 2, 30, 5] {
        assert_eq!(says(&zip[..cut]), short, "cut at {cut}");
    }
    // The list's place (APPNOTE.TXT 4.3.16, 16 bytes into the last record) points past the file.
    let mut lost = zip.clone();
    let end = zip.len() - 22;
    lost[end + 16..end + 20].copy_from_slice(&u32::MAX.wrapping_sub(9).to_le_bytes());
    assert_eq!(
        says(&lost),
        "the file is damaged (the list of what is in it can't be read). Open an earlier copy; nothing here was changed"
    );
    // The first file is the job: one letter of it changed no longer fits its check sum.
    let mut bent = zip.clone();
    let at = zip.windows(8).position(|w| w == b"job.json").unwrap() + 40;
    bent[at] ^= 1;
    assert_eq!(
        says(&bent),
        "the file is damaged (what is in 'job.json' doesn't unpack to what was packed). Open an earlier copy; nothing here was changed"
    );
    // Flag 0 is a password (4.4.4), method 98 one that nothing here unpacks (4.4.5).
    let locked = says(&in_every_header(&zip, (6, 8), 1));
    assert!(locked.contains("locked with a password"), "{locked}");
    let other = says(&in_every_header(&zip, (8, 10), 98));
    assert!(other.contains("packed anew by another program"), "{other}");
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

#[test]
fn a_typed_place_of_a_face_in_its_part_is_refused() {
    let bytes = include_bytes!("../../public/examples/quay-puffins.samespot");
    let example = open(bytes).unwrap();
    let json = job_json(&example.ledger).unwrap();
    // The same file with one field more, in the first edit of a face and of a part.
    for (thing, typed, field) in [
        (
            "face",
            r#""pose":{"x":120,"y":-40,"z":610,"turn":90}"#,
            "pose",
        ),
        (
            "face",
            r#""in-part":[[1,0,0,120],[0,1,0,-40],[0,0,1,610]]"#,
            "in-part",
        ),
        (
            "face",
            r#""part_from_face":[0,0,0,120,-40,610]"#,
            "part_from_face",
        ),
        ("face", r#""Normal_Direction":[0,1,0]"#, "Normal_Direction"),
        ("part", r#""origin":[0,0,0]"#, "origin"),
    ] {
        let edit = json.find(&format!("\"on\":{{\"{thing}\":")).unwrap();
        let set = edit + json[edit..].find("\"set\":{").unwrap() + 7;
        let forged = format!("{}{typed},{}", &json[..set], &json[set..]);
        refused(forged.as_bytes(), &format!("lies ('{field}')"));
        refused(forged.as_bytes(), "worked out from readings");
    }
    // Words are no place, and what this program does not know yet is carried along.
    let edit = json.find("\"on\":{\"face\":").unwrap();
    let set = edit + json[edit..].find("\"set\":{").unwrap() + 7;
    for harmless in [r#""place":"by the stairs""#, r#""colour":[1,2,3]"#] {
        let file = format!("{}{harmless},{}", &json[..set], &json[set..]);
        assert!(
            job_json(&open(file.as_bytes()).unwrap().ledger)
                .unwrap()
                .contains(harmless)
        );
    }
}
