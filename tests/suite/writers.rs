//! What the writers write, read back by readers that this project did not write: roxmltree and
//! usvg, lopdf, poppler and librsvg. The clauses are those of an exporter's contract: true size,
//! nothing but geometry, the same points and the same hand in every format, the same bytes always.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops where it fails"
)]

#[path = "writers_names.rs"]
mod names;
#[path = "writers_raster.rs"]
mod raster;
#[path = "sheet_samples.rs"]
mod samples;

use lopdf::content::Content;
use lopdf::{Document, Object};
use samespot_core::sheet::drawing::{Drawing, Meaning, Page, Shape};
use samespot_core::sheet::{Paper, ScaleCorrection, compose, reference};
use samespot_core::write::dxf::{dxf_page, dxf_r12_page};
use samespot_core::write::pdf::{Part, PdfError, pdf};
use samespot_core::write::svg::{svg_page, svg_pages};
use samespot_core::write::zip::{Entry, zip_folder};
use std::io::Read;
use std::process::Command;

/// 1 in = 25.4 mm exactly; a PDF unit is 1/72 in (ISO 32000-1, 8.3.2.3).
const POINTS_PER_MM: f64 = 72.0 / 25.4;

fn drawings() -> Vec<Drawing> {
    let papers = [Paper::A4, Paper::A3, Paper::Letter, Paper::Tabloid];
    let mut out = Vec::new();
    for paper in papers {
        for sheet in [
            samples::eye(paper),
            samples::badge(paper),
            samples::panel(paper),
        ] {
            out.push(compose(&sheet).unwrap());
        }
    }
    out.push(compose(&samples::band(Paper::A4)).unwrap());
    out
}

fn written(drawing: &Drawing) -> Vec<u8> {
    pdf(
        &drawing.title,
        &[Part {
            bookmark: &drawing.title,
            drawing,
        }],
    )
    .unwrap()
}

fn mm(um: i32) -> f64 {
    f64::from(um) / 1000.0
}

/// Whether it lies across, the length printed beside it, its ends.
type Bar = (bool, f64, [(f64, f64); 2]);

/// The bars of a page: across and up, as the length printed beside each and its two ends in mm.
fn bars(page: &Page) -> Vec<Bar> {
    page.items
        .iter()
        .filter_map(|item| {
            let label = item.label.as_deref()?.strip_prefix("check bar ")?;
            let (way, length) = label.split_once(' ')?;
            let length: f64 = length.strip_suffix(" mm")?.parse().ok()?;
            let Shape::Line(contours) = &item.shape else {
                return None;
            };
            let (a, b) = (contours[0].start, contours[0].end());
            Some((
                way == "across",
                length,
                [(mm(a.x), mm(a.y)), (mm(b.x), mm(b.y))],
            ))
        })
        .collect()
}

#[test]
fn svg_is_true_size_and_nothing_but_geometry() {
    for drawing in drawings() {
        for (i, page) in drawing.pages.iter().enumerate() {
            let text = svg_page(&drawing, i).unwrap();
            let doc = roxmltree::Document::parse(&text).unwrap();
            let root = doc.root_element();
            let (w, h) = (mm(page.paper.width), mm(page.paper.height));
            let size = |name: &str| -> f64 {
                root.attribute(name)
                    .unwrap()
                    .strip_suffix("mm")
                    .unwrap()
                    .parse()
                    .unwrap()
            };
            assert!((size("width") - w).abs() < 1e-9 && (size("height") - h).abs() < 1e-9);
            let view: Vec<f64> = root
                .attribute("viewBox")
                .unwrap()
                .split(' ')
                .map(|v| v.parse().unwrap())
                .collect();
            assert_eq!(view.len(), 4);
            for (have, want) in view.iter().zip([0.0, 0.0, w, h]) {
                assert!((have - want).abs() < 1e-9, "{have} {want}");
            }
            for node in doc.descendants().filter(|n| n.is_element()) {
                let name = node.tag_name().name();
                let allowed = ["svg", "title", "desc", "metadata", "g", "path", "circle"];
                assert!(allowed.contains(&name), "<{name}>");
                for a in node.attributes() {
                    let bad = ["px", "%", "url(", "href", "http"];
                    assert!(
                        !bad.iter()
                            .any(|b| a.value().contains(b) || a.name().contains(b)),
                        "{}={}",
                        a.name(),
                        a.value()
                    );
                }
            }
            // A bar's end to end, within a thousandth, from the path as it stands in the file.
            for (across, length, _) in bars(page) {
                let title = format!(
                    "check bar {} {length} mm",
                    if across { "across" } else { "up" }
                );
                let node = doc
                    .descendants()
                    .find(|n| n.tag_name().name() == "title" && n.text() == Some(&title))
                    .unwrap_or_else(|| panic!("{title}"));
                let d = node.parent().unwrap().attribute("d").unwrap();
                let n: Vec<f64> = d
                    .split(['M', 'L', ' '])
                    .filter(|v| !v.is_empty())
                    .map(|v| v.parse().unwrap())
                    .collect();
                let [x0, y0, x1, y1] = n[..] else {
                    panic!("{d}")
                };
                assert!(((x1 - x0).hypot(y1 - y0) - length).abs() < 1e-9, "{d}");
            }
        }
    }
}

/// usvg measures in px of 1/96 in (CSS Values and Units, absolute lengths).
#[test]
fn svg_has_its_size_in_another_reader() {
    for drawing in drawings() {
        for (page, text) in drawing.pages.iter().zip(svg_pages(&drawing)) {
            let tree = usvg::Tree::from_str(&text, &usvg::Options::default()).unwrap();
            let px = |um: i32| mm(um) * 96.0 / 25.4;
            // usvg keeps sizes as f32.
            assert!((f64::from(tree.size().width()) - px(page.paper.width)).abs() < 1e-3);
            assert!((f64::from(tree.size().height()) - px(page.paper.height)).abs() < 1e-3);
            // Every item came through: nothing depended on what a reader may lack.
            let kept = count(tree.root());
            assert_eq!(kept, page.items.len(), "{}", page.name);
        }
    }
}

fn count(group: &usvg::Group) -> usize {
    group
        .children()
        .iter()
        .map(|node| match node {
            usvg::Node::Group(g) => count(g),
            usvg::Node::Path(_) => 1,
            _ => panic!("neither a group nor a path"),
        })
        .sum()
}

#[test]
fn pdf_has_one_box_no_scaling_and_no_fonts() {
    for drawing in drawings() {
        let bytes = written(&drawing);
        let doc = Document::load_mem(&bytes).unwrap();
        let catalog = doc.catalog().unwrap();
        let viewer = catalog
            .get(b"ViewerPreferences")
            .unwrap()
            .as_dict()
            .unwrap();
        assert_eq!(
            viewer.get(b"PrintScaling").unwrap().as_name().unwrap(),
            b"None"
        );
        let pages = doc.get_pages();
        assert_eq!(pages.len(), drawing.pages.len());
        for (page, id) in drawing.pages.iter().zip(pages.values()) {
            let dict = doc.get_dictionary(*id).unwrap();
            let media = dict.get(b"MediaBox").unwrap().as_array().unwrap();
            let have: Vec<f64> = media
                .iter()
                .map(|n| f64::from(n.as_float().unwrap()))
                .collect();
            let want = [
                0.0,
                0.0,
                mm(page.paper.width) * POINTS_PER_MM,
                mm(page.paper.height) * POINTS_PER_MM,
            ];
            for (h, w) in have.iter().zip(want) {
                assert!((h - w).abs() < 1e-3, "{have:?} {want:?}");
            }
            for absent in [&b"CropBox"[..], b"TrimBox", b"Rotate", b"UserUnit"] {
                assert!(dict.get(absent).is_err());
            }
        }
        for object in doc.objects.values() {
            if let Ok(dict) = object
                .as_dict()
                .or_else(|_| object.as_stream().map(|s| &s.dict))
            {
                assert!(dict.get(b"FontFile").is_err() && dict.get(b"Font").is_err());
            }
        }
    }
}

/// The lines of one layer of a PDF page: polylines of (x, y) in mm, as the content says them.
fn pdf_lines(doc: &Document, id: lopdf::ObjectId, layer: &str) -> Vec<Vec<(f64, f64)>> {
    let bytes = doc.get_page_content(id);
    let content = Content::decode(&bytes).unwrap();
    let mut out: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut scale = 0.0;
    let mut nest: Vec<bool> = Vec::new();
    let number = |o: &Object| match o {
        Object::Integer(i) => f64::from(i32::try_from(*i).unwrap()),
        other => f64::from(other.as_float().unwrap()),
    };
    for op in content.operations {
        let n = |i: usize| number(&op.operands[i]);
        match op.operator.as_str() {
            // The first is the page's own; those that follow place letters.
            "cm" if scale == 0.0 => scale = n(0),
            "BDC" => {
                let own = op.operands[1]
                    .as_name()
                    .is_ok_and(|name| name == layer.as_bytes());
                nest.push(own || nest.last() == Some(&true));
            }
            "EMC" => {
                nest.pop();
            }
            "m" | "l" if nest.last() == Some(&true) => {
                if op.operator == "m" {
                    out.push(Vec::new());
                }
                out.last_mut().unwrap().push((n(0), n(1)));
            }
            _ => {}
        }
    }
    // What a point of the content means on paper: its matrix over the size of a point.
    let to_mm = scale / POINTS_PER_MM;
    out.iter_mut()
        .flatten()
        .for_each(|p| *p = (p.0 * to_mm, p.1 * to_mm));
    out
}

/// The same of an SVG page, turned the right way up.
fn svg_lines(text: &str, layer: &str, height: f64) -> Vec<Vec<(f64, f64)>> {
    let doc = roxmltree::Document::parse(text).unwrap();
    let Some(group) = doc.descendants().find(|n| n.attribute("id") == Some(layer)) else {
        return Vec::new();
    };
    let mut out = Vec::new();
    for d in group.children().filter_map(|n| n.attribute("d")) {
        for part in d.split('M').filter(|p| !p.is_empty()) {
            let mut line = Vec::new();
            for command in part.trim_end_matches('Z').split_inclusive(['L']) {
                let v: Vec<f64> = command
                    .trim_end_matches('L')
                    .split(' ')
                    .map(|v| v.parse().unwrap_or(f64::NAN))
                    .collect();
                line.push((v[0], height - v[1]));
            }
            out.push(line);
        }
    }
    out
}

/// The straight lines of one layer of a DXF, in the order of the file, by a reader not of this project.
fn dxf_lines(text: &str, layer: &str) -> Vec<Vec<(f64, f64)>> {
    let file = dxf::Drawing::load(&mut text.as_bytes()).unwrap();
    file.entities()
        .filter(|e| e.common.layer.eq_ignore_ascii_case(layer))
        .filter_map(|e| match &e.specific {
            dxf::entities::EntityType::Line(l) => Some(vec![(l.p1.x, l.p1.y), (l.p2.x, l.p2.y)]),
            _ => None,
        })
        .collect()
}

#[test]
fn both_formats_have_the_same_points() {
    for drawing in drawings() {
        let bytes = written(&drawing);
        let doc = Document::load_mem(&bytes).unwrap();
        for (i, (page, id)) in drawing
            .pages
            .iter()
            .zip(doc.get_pages().values())
            .enumerate()
        {
            let text = svg_page(&drawing, i).unwrap();
            for meaning in [
                Meaning::Bar,
                Meaning::CentreLine,
                Meaning::Frame,
                Meaning::Rule,
            ] {
                let a = pdf_lines(&doc, *id, meaning.layer());
                let b = svg_lines(&text, meaning.layer(), mm(page.paper.height));
                assert_eq!(a.len(), b.len(), "{meaning:?} on {}", page.name);
                for (p, q) in a.iter().flatten().zip(b.iter().flatten()) {
                    // Coordinates are printed to 0.001 mm; the contract asks for 0.01.
                    assert!(
                        (p.0 - q.0).abs() < 0.002 && (p.1 - q.1).abs() < 0.002,
                        "{p:?} {q:?}"
                    );
                }
            }
            for (_, length, _) in bars(page) {
                let lines = pdf_lines(&doc, *id, Meaning::Bar.layer());
                let found = lines.iter().any(|l| {
                    l.len() == 2
                        && ((l[1].0 - l[0].0).hypot(l[1].1 - l[0].1) - length).abs() < 3.5e-4
                });
                // 0.001 pt is 3.5e-4 mm.
                assert!(found, "bar of {length}");
            }
        }
    }
}

/// Centres of the register crosses A, B, C: strokes that lie level, in drawing order.
fn hand(lines: &[Vec<(f64, f64)>]) -> f64 {
    let mid = |l: &Vec<(f64, f64)>| ((l[0].0 + l[1].0) / 2.0, (l[0].1 + l[1].1) / 2.0);
    let level: Vec<_> = lines
        .iter()
        // A cross's stroke is 18 mm long; boxes round letters are shorter.
        .filter(|l| {
            l.len() == 2 && (l[0].1 - l[1].1).abs() < 1e-6 && (l[0].0 - l[1].0).abs() > 17.0
        })
        .map(mid)
        .collect();
    let [a, b, c] = level[..3] else {
        panic!("three crosses")
    };
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

#[test]
fn the_hand_is_the_same_in_words_and_in_every_file() {
    let mut sheet = samples::eye(Paper::A3);
    for turned_over in [false, true] {
        if turned_over {
            for cross in &mut sheet.crosses {
                cross.place = samples::at(-cross.place.x_mm(), cross.place.y_mm());
            }
        }
        let drawing = compose(&sheet).unwrap();
        let bytes = written(&drawing);
        let doc = Document::load_mem(&bytes).unwrap();
        let id = *doc.get_pages().values().next().unwrap();
        let layer = Meaning::Register.layer();
        let height = mm(drawing.pages[0].paper.height);
        let in_pdf = hand(&pdf_lines(&doc, id, layer));
        let in_svg = hand(&svg_lines(&svg_page(&drawing, 0).unwrap(), layer, height));
        let in_dxf = hand(&dxf_lines(&dxf_page(&drawing, 0).unwrap(), layer));
        let in_r12 = hand(&dxf_lines(&dxf_r12_page(&drawing, 0).unwrap(), layer));
        let said = drawing
            .readable
            .iter()
            .find(|l| l.starts_with("A to B to C"))
            .unwrap();
        let words = said.contains("anticlockwise");
        for (file, turns) in [
            ("PDF", in_pdf),
            ("SVG", in_svg),
            ("DXF", in_dxf),
            ("R12", in_r12),
        ] {
            assert_eq!(turns > 0.0, words, "{file}: {said}");
        }
        assert_eq!(said.contains("anticlockwise"), turned_over);
    }
}

#[test]
fn the_same_template_gives_the_same_bytes_and_another_day_the_same_reference() {
    let sheet = samples::panel(Paper::A4);
    let (a, b) = (compose(&sheet).unwrap(), compose(&sheet).unwrap());
    assert_eq!(a, b);
    assert!(written(&a) == written(&b));
    assert_eq!(svg_pages(&a), svg_pages(&b));

    let mut later = sheet.clone();
    later.words.date = "3 Feb 2026".into();
    later.words.supersedes = "ABCDE FGHIJ".into();
    later.words.program = "Samespot 0.9.0".into();
    let c = compose(&later).unwrap();
    assert_eq!(a.reference, c.reference);
    for (p, q) in a.pages.iter().zip(&c.pages) {
        let bare = |page: &Page| {
            page.items
                .iter()
                .filter(|i| !i.stamp)
                .cloned()
                .collect::<Vec<_>>()
        };
        assert_eq!(bare(p), bare(q), "only stamps differ");
    }
    // The reference on the sheet is the reference of the sheet.
    assert_eq!(
        reference(&a, sheet.correction, sheet.words.issue),
        a.reference
    );
    assert_eq!(a.reference.len(), 10);
    let grouped = format!("{} {}", &a.reference[..5], &a.reference[5..]);
    for page in &a.pages {
        let printed = page.items.iter().any(|i| {
            i.stamp && matches!(&i.shape, Shape::Lettering { text, .. } if *text == grouped)
        });
        assert!(printed, "{}", page.name);
    }
    // A hair's breadth, another issue, another correction: another reference.
    let mut moved = sheet.clone();
    moved.crosses[0].place = samples::at(-126.001, 172.0);
    assert_ne!(compose(&moved).unwrap().reference, a.reference);
    assert_ne!(reference(&a, sheet.correction, 3), a.reference);
    let scale = Some(ScaleCorrection {
        across: 1.0014,
        up: 0.9991,
    });
    assert_ne!(reference(&a, scale, sheet.words.issue), a.reference);
}

#[test]
fn bytes_do_not_hang_on_the_locale() {
    // The test below, run on its own under other places' customs, prints a digest.
    let here = std::env::current_exe().unwrap();
    let mut seen = Vec::new();
    for place in ["C", "de_DE.UTF-8", "fr_FR.UTF-8", "ar_EG.UTF-8"] {
        let run = Command::new(&here)
            .args(["--exact", "prints_a_digest", "--nocapture"])
            .env("LC_ALL", place)
            .env("LANG", place)
            .output()
            .unwrap();
        let said = String::from_utf8(run.stdout).unwrap();
        seen.push(
            said.lines()
                .find(|l| l.contains("digest "))
                .map(String::from)
                .unwrap(),
        );
    }
    assert!(seen.windows(2).all(|p| p[0] == p[1]), "{seen:?}");
}

#[test]
fn prints_a_digest() {
    let drawing = compose(&samples::badge(Paper::A4)).unwrap();
    let mut sum: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in written(&drawing)
        .iter()
        .chain(svg_page(&drawing, 0).unwrap().as_bytes())
        .chain(dxf_page(&drawing, 0).unwrap().as_bytes())
        .chain(dxf_r12_page(&drawing, 0).unwrap().as_bytes())
    {
        // FNV-1a: enough to tell two runs apart.
        sum = (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
    }
    println!("\ndigest {sum:016x}");
}

#[test]
fn a_run_is_one_file_with_a_bookmark_a_piece() {
    let (a, b) = (
        compose(&samples::badge(Paper::A4)).unwrap(),
        compose(&samples::panel(Paper::A4)).unwrap(),
    );
    let parts = [
        Part {
            bookmark: "Piece 1 · badge",
            drawing: &a,
        },
        Part {
            bookmark: "Piece 7 · panel",
            drawing: &b,
        },
    ];
    let bytes = pdf("Quay puffins, run", &parts).unwrap();
    let doc = Document::load_mem(&bytes).unwrap();
    assert_eq!(doc.get_pages().len(), a.pages.len() + b.pages.len());
    let said = String::from_utf8_lossy(&bytes);
    assert!(
        said.contains("INVENTED EXAMPLE")
            && said.contains(&a.reference)
            && said.contains(&b.reference)
    );

    let large = compose(&samples::eye(Paper::A3)).unwrap();
    let mixed = pdf(
        "mixed",
        &[
            parts[0],
            Part {
                bookmark: "Piece 7 · eye",
                drawing: &large,
            },
        ],
    );
    let Err(fault @ PdfError::MixedPaper { .. }) = mixed else {
        panic!("two papers in one file")
    };
    assert!(
        fault.to_string().contains("one paper size per file"),
        "{fault}"
    );
    assert_eq!(pdf("nothing", &[]), Err(PdfError::NoPages));
}

#[test]
fn a_folder_is_packed_the_same_every_day() {
    let entries = [
        Entry {
            path: "piece-07/eye-left.pdf",
            bytes: b"one",
        },
        Entry {
            path: "shared/badge.svg",
            bytes: b"two",
        },
    ];
    let packed = zip_folder(&entries).unwrap();
    assert_eq!(packed, zip_folder(&entries).unwrap());
    let mut read = zip::ZipArchive::new(std::io::Cursor::new(&packed)).unwrap();
    assert_eq!(read.len(), 2);
    for entry in entries {
        let mut file = read.by_name(entry.path).unwrap();
        assert_eq!(file.compression(), zip::CompressionMethod::Stored);
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        assert_eq!(bytes, entry.bytes);
    }
    for bad in ["../out", "/root", "a//b", "c:\\d", ""] {
        let fault = zip_folder(&[Entry {
            path: bad,
            bytes: b"",
        }])
        .unwrap_err();
        assert!(fault.to_string().contains("can't be the name"), "{fault}");
    }
    let twice = [
        Entry {
            path: "A.svg",
            bytes: b"",
        },
        Entry {
            path: "a.svg",
            bytes: b"",
        },
    ];
    assert!(
        zip_folder(&twice)
            .unwrap_err()
            .to_string()
            .contains("a.svg")
    );
}
