//! Any character in a name: every file stays whole for readers that this project did not write, and no
//! name of a file is one that some system can't take.

use super::{Drawing, Paper, Shape, compose, mm, samples, written};
use lopdf::{Document, Object};
use samespot_core::answer::{Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::job::{EntityRef, PieceEdit};
use samespot_core::read::job::open;
use samespot_core::write::dxf::{dxf_page, dxf_r12_page};
use samespot_core::write::job::job_file;
use samespot_core::write::svg::svg_page;
use samespot_core::write::zip::{Entry, apart, file_stem, zip_folder};
use samespot_tests::jobs::{Script, id};
use std::collections::BTreeSet;

/// Names that somebody types, pastes or is sent.
fn names() -> Vec<String> {
    let odd = (0_u32..0x20).chain([
        0x7f, 0x85, 0x9f, 0xfffe, 0xffff, 0xfeff, 0x2028, 0x2029, 0x1_ffff,
    ]);
    let odd: Vec<char> = odd.filter_map(char::from_u32).collect();
    let some = odd
        .chunks(9)
        .map(|some| some.iter().map(|c| format!("l{c}")).collect::<String>());
    let mut out: Vec<String> = some.collect();
    out.extend(
        [
            "Käthe's 1/2\" eye",
            "a<b>&amp;</title>]]><!--",
            "CON",
            "eye. ",
            "..\\..\\eye",
            "\u{202e}eye\u{200f} \u{5e2}\u{5d9}\u{5df}",
            "\u{1f441}\u{fe0f}\u{200d}\u{1f5e8}",
            "",
        ]
        .map(String::from),
    );
    out.push(
        "eye of the puffin "
            .repeat(17)
            .trim()
            .chars()
            .take(300)
            .collect(),
    );
    out.push("e".repeat(300));
    out
}

fn called(name: &str) -> Drawing {
    let mut sheet = samples::badge(Paper::A4);
    sheet.words.job = name.into();
    sheet.words.feature = name.into();
    sheet.words.face = name.into();
    sheet.words.prepared_for = name.into();
    sheet.words.warnings.push(format!("{name}: look twice"));
    compose(&sheet).unwrap_or_else(|e| panic!("{name:?}: {e}"))
}

/// XML 1.0, 2.2: a reader refuses the whole file for one character that may not stand in it.
#[test]
fn any_name_leaves_every_file_readable() {
    assert!(roxmltree::Document::parse("<a>left\u{1}eye</a>").is_err());
    for name in names() {
        let drawing = called(&name);
        for (i, page) in drawing.pages.iter().enumerate() {
            let svg = svg_page(&drawing, i).unwrap();
            let doc = roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{name:?}: {e}"));
            let title = doc.descendants().find(|n| n.has_tag_name("title"));
            // What may stand comes through as it was typed; ends of lines are one thing in XML.
            let may = |c: char| c != '\r' && c >= ' ' && !matches!(c, '\u{fffe}' | '\u{ffff}');
            if name.chars().all(may) {
                let said = title.and_then(|t| t.text()).unwrap_or_default();
                assert!(said.starts_with(name.as_str()), "{name:?}: {said:?}");
            }
            assert!(usvg::Tree::from_str(&svg, &usvg::Options::default()).is_ok());
            // Nothing a name holds takes words off the sheet.
            for item in &page.items {
                let Shape::Lettering { text, outlines } = &item.shape else {
                    continue;
                };
                let ends = outlines
                    .iter()
                    .flat_map(|c| c.segments.iter().map(|s| s.to()));
                let beside = ends
                    .map(|p| mm(p.x))
                    .find(|x| !(0.0..=mm(page.paper.width)).contains(x));
                assert_eq!(beside, None, "{name:?}: {text} runs off the sheet");
            }
            for text in [
                dxf_page(&drawing, i).unwrap(),
                dxf_r12_page(&drawing, i).unwrap(),
            ] {
                let lines: Vec<&str> = text.lines().collect();
                assert!(lines.len().is_multiple_of(2), "{name:?}");
                for two in lines.chunks(2) {
                    assert!(two[0].trim().parse::<u16>().is_ok(), "{name:?}: {two:?}");
                    assert!(two[1].len() <= 255, "{name:?}: {two:?}");
                }
                assert!(dxf::Drawing::load(&mut text.as_bytes()).is_ok(), "{name:?}");
            }
        }
        let bytes = written(&drawing);
        let doc = Document::load_mem(&bytes).unwrap();
        assert_eq!(doc.get_pages().len(), drawing.pages.len(), "{name:?}");
        let packets = doc.objects.values().filter_map(|o| o.as_stream().ok());
        let packets: Vec<_> = packets
            .filter(|s| s.dict.get(b"Subtype").and_then(Object::as_name).ok() == Some(b"XML"))
            .collect();
        assert_eq!(packets.len(), 1);
        let xml = String::from_utf8(packets[0].content.clone()).unwrap();
        roxmltree::Document::parse(&xml).unwrap_or_else(|e| panic!("{name:?}: {e}"));
    }
}

/// Microsoft, *Naming files, paths, and namespaces*: reserved names and characters, ends of names.
#[test]
fn no_name_in_a_folder_is_one_that_a_system_cant_take() {
    for bad in [
        "CON",
        "con.pdf",
        "piece-01/nul.svg",
        "com1",
        "LPT9.txt",
        "aux .x",
    ] {
        let entry = Entry {
            path: bad,
            bytes: b"",
        };
        let why = zip_folder(&[entry]).unwrap_err().to_string();
        assert!(why.contains("can't be the name"), "{why}");
    }
    for bad in [
        "eye.", "eye ", "a /b", "a?b", "a*b", "a<b", "a|b", "\"a\"", "a\nb",
    ] {
        let entry = Entry {
            path: bad,
            bytes: b"",
        };
        assert!(zip_folder(&[entry]).is_err(), "{bad:?}");
    }
    for (name, is) in [
        ("con", "con-"),
        ("nul", "nul-"),
        ("lpt1", "lpt1-"),
        ("console", "console"),
        ("com12", "com12"),
        ("eye-left", "eye-left"),
    ] {
        assert_eq!(file_stem(name), is);
        let path = format!("{}.pdf", file_stem(name));
        assert!(
            zip_folder(&[Entry {
                path: &path,
                bytes: b""
            }])
            .is_ok()
        );
    }
    let mut files = [
        "a/eye.pdf",
        "a/Eye.pdf",
        "b/eye.pdf",
        "a/eye.pdf",
        "a/eye-2.pdf",
        "c.d/e",
    ]
    .map(|p| (p.to_owned(), Vec::new()))
    .to_vec();
    apart(&mut files);
    let paths: Vec<&str> = files.iter().map(|f| f.0.as_str()).collect();
    assert_eq!(
        paths,
        [
            "a/eye.pdf",
            "a/Eye-2.pdf",
            "b/eye.pdf",
            "a/eye-3.pdf",
            "a/eye-2-2.pdf",
            "c.d/e"
        ]
    );
}

/// A job called like a device, and two pieces numbered alike on two tablets: the run is a folder all
/// the same, with every file in it.
#[test]
fn a_run_with_awkward_names_is_packed_whole() {
    let mut s = Script::one_face(samespot_core::job::FaceShape::Flat, &["a", "b"], 2);
    for casting in ["pattern", "c1", "c2"] {
        s.over(casting, "a", "b", 300.0);
    }
    s.over("pattern", "a", "spot", 180.0);
    s.over("pattern", "b", "spot", 240.0);
    s.set(
        EntityRef::Piece(id("p2")),
        &PieceEdit {
            number: Some(1),
            batch: Some(1),
        },
    );
    let mut desk = Desk::default();
    let job = desk.take(open(&job_file(&s.ledger, &s.attachments).unwrap()).unwrap());
    let request = Request {
        number: 1,
        ask: Ask::File {
            job,
            of: None,
            pieces: Vec::new(),
            kind: FileKind::Zip,
            paper: Paper::A4,
            day: "2026-11-28".into(),
        },
    };
    let came = answer(&mut desk, request);
    let Ok(Reply::File { left_out, .. }) = &came.says else {
        panic!("{:?}", came.says)
    };
    assert!(left_out.is_empty(), "{left_out:?}");
    let read = zip::ZipArchive::new(std::io::Cursor::new(&came.bytes)).unwrap();
    let names: BTreeSet<String> = read.file_names().map(|n| n.unwrap().into_owned()).collect();
    assert!(names.contains("piece-01/spot.pdf"), "{names:?}");
    assert!(names.contains("piece-01/spot-2.pdf"), "{names:?}");
}
