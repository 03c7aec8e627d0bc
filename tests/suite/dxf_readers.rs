//! DXF of both releases as another reader has it: the `dxf` crate (MIT, not of this project), and
//! group by group. Clauses 3, 4, 6 and 7 of the exporter contract (design/10 §2.4); release 12 has
//! no `$INSUNITS`, so its unit stands in the name, the comments and beside the bars (design/04).
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops where it fails"
)]

#[path = "sheet_samples.rs"]
mod samples;

use dxf::entities::EntityType;
use dxf::enums::AcadVersion;
use samespot_core::sheet::drawing::{Contour, Drawing, Item, Meaning, Page, PaperSize};
use samespot_core::sheet::drawing::{Segment, Shape, Spot};
use samespot_core::sheet::{Paper, compose};
use samespot_core::write::dxf::{dxf_pages, dxf_r12_page, dxf_r12_pages};

fn read(text: &str) -> dxf::Drawing {
    dxf::Drawing::load(&mut std::io::Cursor::new(text.as_bytes())).unwrap()
}

fn sheets() -> Vec<Drawing> {
    let sheets = [
        samples::eye(Paper::A3),
        samples::darted(Paper::A3),
        samples::badge(Paper::A4),
        samples::panel(Paper::A4),
    ];
    sheets.iter().map(|s| compose(s).unwrap()).collect()
}

/// Corners, centres and ends of everything on a layer, sorted, in whole µm.
fn corners(file: &dxf::Drawing, layer: &str) -> Vec<(i64, i64)> {
    #[allow(clippy::cast_possible_truncation, reason = "a page is under 10 m")]
    let um = |v: f64| (v * 1000.0).round() as i64;
    let mut all = Vec::new();
    for e in file.entities() {
        if !e.common.layer.eq_ignore_ascii_case(layer) {
            continue;
        }
        let mut take = |x: f64, y: f64| all.push((um(x), um(y)));
        match &e.specific {
            EntityType::Line(l) => {
                take(l.p1.x, l.p1.y);
                take(l.p2.x, l.p2.y);
            }
            EntityType::Circle(c) => take(c.center.x, c.center.y),
            EntityType::Arc(a) => {
                for angle in [a.start_angle, a.end_angle] {
                    let (s, c) = angle.to_radians().sin_cos();
                    take(a.center.x + a.radius * c, a.center.y + a.radius * s);
                }
            }
            EntityType::LwPolyline(p) => p.vertices.iter().for_each(|v| take(v.x, v.y)),
            EntityType::Polyline(p) => {
                p.vertices().for_each(|v| take(v.location.x, v.location.y));
            }
            other => panic!("{other:?} is not among the entities promised"),
        }
    }
    all.sort_unstable();
    all
}

#[test]
fn both_releases_hold_the_same_corners_layer_by_layer() {
    for drawing in sheets() {
        let (new, old) = (dxf_pages(&drawing), dxf_r12_pages(&drawing));
        assert_eq!(new.len(), old.len());
        for (new, old) in new.iter().zip(&old) {
            let (new, old) = (read(new), read(old));
            assert_eq!(new.header.version, AcadVersion::R2000);
            assert_eq!(old.header.version, AcadVersion::R12);
            let mut some = 0;
            for meaning in Meaning::ALL {
                let (a, b) = (
                    corners(&new, meaning.layer()),
                    corners(&old, meaning.layer()),
                );
                assert_eq!(a.len(), b.len(), "{meaning:?}");
                for (p, q) in a.iter().zip(&b) {
                    assert!((p.0 - q.0).abs() <= 2 && (p.1 - q.1).abs() <= 2);
                }
                some += a.len();
            }
            assert!(some > 100);
        }
    }
}

#[test]
fn the_bar_is_as_long_in_both_as_its_figure_says() {
    for drawing in sheets() {
        for text in dxf_pages(&drawing).iter().chain(&dxf_r12_pages(&drawing)) {
            let bar = corners(&read(text), "check-bar");
            let (low, high) = (bar.first().unwrap().0, bar.last().unwrap().0);
            // The bar across ends at its tick; the bar up is left of it or begins in its corner.
            let across = bar.iter().map(|p| p.1).min().unwrap();
            let foot: Vec<_> = bar.iter().filter(|p| p.1 == across).collect();
            let length = foot.last().unwrap().0 - foot.first().unwrap().0;
            assert_eq!(length % 50_000, 0, "{length} of {low}..{high}");
            assert!(length >= 100_000);
        }
    }
}

fn page_of(contours: Vec<Contour>) -> Drawing {
    Drawing {
        title: "Käthe’s 1/2\" eye\nsecond line · ±".into(),
        reference: "ABCDEFGHIJ".into(),
        readable: Vec::new(),
        pages: vec![Page {
            paper: PaperSize {
                width: 210_000,
                height: 297_000,
            },
            name: "sheet 1".into(),
            items: vec![Item {
                meaning: Meaning::Fold,
                shape: Shape::Line(contours),
                label: None,
                stamp: false,
            }],
        }],
    }
}

#[test]
fn a_name_with_any_character_leaves_every_group_with_its_value() {
    let drawing = page_of(Vec::new());
    for text in [
        dxf_r12_page(&drawing, 0).unwrap(),
        dxf_pages(&drawing).swap_remove(0),
    ] {
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len() % 2, 0);
        for two in lines.chunks(2) {
            assert!(two[0].trim().parse::<u16>().is_ok(), "{two:?}");
        }
        assert!(text.ends_with("  0\nEOF\n"));
        read(&text);
    }
    assert!(dxf_r12_page(&drawing, 0).unwrap().is_ascii());
}

#[test]
fn numbers_have_a_point_and_the_unit_stands_in_the_file() {
    for drawing in sheets() {
        for text in dxf_r12_pages(&drawing) {
            assert!(text.contains("millimetres, 1 unit is 1 mm"));
            let lines: Vec<&str> = text.lines().collect();
            for two in lines.chunks(2) {
                let code: u16 = two[0].trim().parse().unwrap();
                if matches!(code, 10..=59) {
                    let number = two[1];
                    assert!(number.parse::<f64>().is_ok(), "{number}");
                    assert!(!number.contains(','), "{number}");
                }
            }
            // Nothing that release 12 does not know.
            for word in ["LWPOLYLINE", "SPLINE", "AcDb", "$INSUNITS"] {
                assert!(!text.contains(word), "{word}");
            }
        }
        assert_eq!(dxf_r12_pages(&drawing), dxf_r12_pages(&drawing));
    }
}

#[test]
fn an_arc_of_two_ends_comes_back_through_its_middle_both_ways() {
    for (via, to) in [
        (Spot::new(20_000, 30_000), Spot::new(10_000, 20_000)),
        (Spot::new(20_000, 10_000), Spot::new(10_000, 20_000)),
    ] {
        let start = Spot::new(30_000, 20_000);
        let contour = Contour {
            start,
            segments: vec![Segment::Arc { via, to }],
            closed: false,
        };
        let text = dxf_r12_page(&page_of(vec![contour]), 0).unwrap();
        let file = read(&text);
        let arcs: Vec<_> = file
            .entities()
            .map(|e| match &e.specific {
                EntityType::Arc(a) => a.clone(),
                other => panic!("{other:?}"),
            })
            .collect();
        let [arc] = arcs.as_slice() else {
            panic!("{} arcs", arcs.len());
        };
        let sweep = (arc.end_angle - arc.start_angle).rem_euclid(360.0);
        let (s, c) = (arc.start_angle + sweep / 2.0).to_radians().sin_cos();
        let (x, y) = (arc.center.x + arc.radius * c, arc.center.y + arc.radius * s);
        assert!((x - f64::from(via.x) / 1000.0).abs() < 0.002, "{x}");
        assert!((y - f64::from(via.y) / 1000.0).abs() < 0.002, "{y}");
    }
}
