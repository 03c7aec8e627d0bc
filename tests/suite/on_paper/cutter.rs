//! DXF for a cutter: each template in one piece at true size, whatever the paper.

use super::{EXAMPLES, box_of, each_sheet};
use samespot_core::answer::{Answer, Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::job::{FeatureId, PieceId, SheetOf};
use samespot_core::prepare::issue_for_cutter;
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;
use samespot_core::sheet::drawing::{Drawing, Meaning};
use samespot_core::units::Length;
use samespot_core::write::dxf::{dxf_page, dxf_r12_page};
use samespot_core::write::svg::svg_page;

/// Lengths and places of everything that a layer of a DXF draws, by a reader this project did not write.
fn layer(text: &str, name: &str) -> (f64, [f64; 4]) {
    use dxf::entities::EntityType;
    let file = dxf::Drawing::load(&mut text.as_bytes()).unwrap();
    let mut length = 0.0;
    let mut reach = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    let mut take = |x: f64, y: f64| {
        reach = [
            reach[0].min(x),
            reach[1].min(y),
            reach[2].max(x),
            reach[3].max(y),
        ];
    };
    for e in file
        .entities()
        .filter(|e| e.common.layer.eq_ignore_ascii_case(name))
    {
        match &e.specific {
            EntityType::Line(l) => {
                take(l.p1.x, l.p1.y);
                take(l.p2.x, l.p2.y);
                length += (l.p2.x - l.p1.x).hypot(l.p2.y - l.p1.y);
            }
            EntityType::Circle(c) => {
                take(c.center.x - c.radius, c.center.y - c.radius);
                take(c.center.x + c.radius, c.center.y + c.radius);
                length += std::f64::consts::TAU * c.radius;
            }
            EntityType::LwPolyline(p) => {
                let n = p.vertices.len();
                let many = if p.flags & 1 == 1 { n } else { n - 1 };
                for k in 0..many {
                    let (a, b) = (&p.vertices[k], &p.vertices[(k + 1) % n]);
                    take(a.x, a.y);
                    take(b.x, b.y);
                    let quarter = a.bulge.atan();
                    let chord = (b.x - a.x).hypot(b.y - a.y);
                    length += if quarter.abs() < 1e-12 {
                        chord
                    } else {
                        chord * 2.0 * quarter / (2.0 * quarter).sin()
                    };
                }
            }
            other => panic!("{other:?}"),
        }
    }
    (length, reach)
}

fn whole(issued: &Drawing) -> Option<f64> {
    // Of one sheet alone the layer is as long as the template's.
    let [page] = issued.pages.as_slice() else {
        return None;
    };
    let mut one = issued.clone();
    one.pages = vec![page.clone()];
    Some(layer(&dxf_page(&one, 0)?, Meaning::Cut.layer()).0)
}

/// Whatever paper is in hand, a template is one drawing: the same lines, as long as on one large sheet,
/// no join, no frame, and bars of their length.
#[test]
fn a_cutter_gets_each_template_in_one_piece() {
    // A0 (ISO 216): one sheet for most of them.
    let large = Paper::Typed {
        width: Length::from_mm(841.0),
        height: Length::from_mm(1_189.0),
    };
    let mut compared = 0;
    let made = each_sheet(&[large], |says, source, of, piece, _, issued| {
        let (small, printed) = issue_for_cutter(source, of, piece, Paper::A4, "").unwrap();
        let (large, _) = issue_for_cutter(source, of, piece, Paper::A3, "").unwrap();
        assert_eq!((small.pages.len(), large.pages.len()), (1, 1), "{says}");
        assert_eq!(small.reference, printed.reference);
        // To be looked at.
        let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("cutter");
        std::fs::create_dir_all(&folder).unwrap();
        let name: String = says.chars().filter(|c| c.is_alphanumeric()).collect();
        std::fs::write(
            folder.join(format!("{name}.svg")),
            svg_page(&small, 0).unwrap(),
        )
        .unwrap();
        let text = dxf_page(&small, 0).unwrap();
        for absent in [Meaning::Frame, Meaning::Rule] {
            assert!(
                layer(&text, absent.layer()).0.abs() < 1e-12,
                "{says}: {absent:?}"
            );
        }
        let other = dxf_page(&large, 0).unwrap();
        for meaning in [
            Meaning::Cut,
            Meaning::Trim,
            Meaning::Register,
            Meaning::DrillPoint,
        ] {
            let (a, at) = layer(&text, meaning.layer());
            let (b, there) = layer(&other, meaning.layer());
            assert!((a - b).abs() < 1e-9, "{says}: {meaning:?} {a} {b}");
            // To the bit: a layer without anything has endless bounds, which no difference compares.
            let same = at.iter().zip(&there).all(|(p, q)| p.total_cmp(q).is_eq());
            assert!(same, "{says}: {meaning:?} {at:?} {there:?}");
        }
        // Of a template that one sheet holds, its sheet draws as much.
        if let Some(sheet) = whole(&issued.drawing) {
            let cut = layer(&text, Meaning::Cut.layer()).0;
            assert!((cut - sheet).abs() < 1e-6, "{says}: {cut} for {sheet}");
            compared += usize::from(cut > 0.0);
        }
        // Everything lies on the page, and nothing on the bars.
        let page = &small.pages[0];
        let (w, h) = (
            f64::from(page.paper.width) / 1e3,
            f64::from(page.paper.height) / 1e3,
        );
        for item in &page.items {
            let b = box_of(item).unwrap();
            assert!(
                b.x0 > 0.0 && b.y0 > 0.0 && b.x1 < w && b.y1 < h,
                "{says}: {item:?}"
            );
        }
        let bars: Vec<f64> = (page.items.iter())
            .filter_map(|i| {
                i.label
                    .as_deref()?
                    .strip_prefix("check bar ")?
                    .split(' ')
                    .nth(1)?
                    .parse()
                    .ok()
            })
            .collect();
        assert_eq!(bars.len(), 2, "{says}");
        let [x0, y0, x1, y1] = layer(&text, Meaning::Bar.layer()).1;
        assert!(x1 - x0 >= bars[0] && y1 - y0 >= bars[1], "{says}: {bars:?}");
    });
    assert!(made > 30 && compared > 20, "{made} {compared}");
}

fn file(desk: &mut Desk, ask: Ask) -> (String, Vec<u8>) {
    let Answer { says, bytes, .. } = answer(desk, Request { number: 1, ask });
    match says.unwrap() {
        Reply::File { name, .. } => (name, bytes),
        other => panic!("{other:?}"),
    }
}

/// The band of the puffins takes several sheets of A4: its DXF is one file of both releases, its SVG still
/// one a sheet; where no number of sheets would hold it, there is a DXF all the same.
#[test]
fn the_key_for_a_cutter_gives_one_file() {
    let mut desk = Desk::default();
    let job = desk.take(open(EXAMPLES[0].1).unwrap());
    let small = Paper::Typed {
        width: Length::from_mm(140.0),
        height: Length::from_mm(140.0),
    };
    let ask = |kind, paper| Ask::File {
        job: job.clone(),
        kind,
        of: Some(SheetOf::Feature(FeatureId::new("band").unwrap())),
        pieces: vec![PieceId::new("p7").unwrap()],
        paper,
        day: "2026-11-28".into(),
    };
    for (kind, tail) in [
        (FileKind::Dxf, "-mm.dxf"),
        (FileKind::DxfR12, "-mm-r12.dxf"),
    ] {
        for paper in [Paper::A4, small] {
            let (name, bytes) = file(&mut desk, ask(kind, paper));
            assert!(name.ends_with(tail), "{name}");
            let text = String::from_utf8(bytes).unwrap();
            let drawing = dxf::Drawing::load(&mut text.as_bytes()).unwrap();
            assert!(drawing.entities().count() > 100);
        }
    }
    let (name, _) = file(&mut desk, ask(FileKind::Svg, Paper::A4));
    assert!(name.ends_with(".zip"), "{name}");
}

/// How many sheets it takes is said before any is made (contract, clause 9).
#[test]
fn the_number_of_sheets_is_said_before_they_are_made() {
    let mut desk = Desk::default();
    let job = desk.take(open(EXAMPLES[0].1).unwrap());
    let (feature, piece) = (FeatureId::new("band").unwrap(), PieceId::new("p7").unwrap());
    let mut several = 0;
    for paper in [Paper::A4, Paper::A3, Paper::Letter] {
        let ask = Ask::Template {
            job: job.clone(),
            feature: feature.clone(),
            piece: piece.clone(),
            paper,
            day: "2026-11-28".into(),
        };
        let Ok(Reply::Template(view)) = answer(&mut desk, Request { number: 1, ask }).says else {
            panic!("a template");
        };
        let ask = Ask::File {
            job: job.clone(),
            kind: FileKind::Pdf,
            of: Some(SheetOf::Feature(feature.clone())),
            pieces: vec![piece.clone()],
            paper,
            day: "2026-11-28".into(),
        };
        let pages = lopdf::Document::load_mem(&file(&mut desk, ask).1)
            .unwrap()
            .get_pages()
            .len();
        let said: usize = view.paper.split(' ').next().unwrap().parse().unwrap();
        assert_eq!(said, pages, "{}", view.paper);
        several += usize::from(pages > 1);
    }
    assert!(several > 1);
}

/// A correction is for a printer's paper: a cutter takes the drawing as it is.
#[test]
fn no_correction_of_a_printer_reaches_a_cutter() {
    use samespot_core::sheet::{ScaleCorrection, compose, for_cutter};
    let mut sheet = crate::samples::eye(Paper::A3);
    let plain = for_cutter(&[sheet.clone()], "ABCDEFGHIJ").unwrap();
    sheet.correction = Some(ScaleCorrection {
        across: 1.01,
        up: 0.99,
    });
    let corrected = for_cutter(&[sheet.clone()], "ABCDEFGHIJ").unwrap();
    assert_eq!(plain, corrected);
    // While its paper is drawn larger across.
    let paper = |s: &samespot_core::sheet::TemplateSheet| {
        let drawing = compose(s).unwrap();
        let cut = drawing.pages[0]
            .items
            .iter()
            .find(|i| i.meaning == Meaning::Cut);
        box_of(cut.unwrap()).unwrap().width()
    };
    let larger = paper(&sheet);
    sheet.correction = None;
    assert!((larger / paper(&sheet) - 1.01).abs() < 1e-4);
    let r12 = dxf_r12_page(&plain, 0).unwrap();
    assert!(r12.contains("millimetres"), "the unit stands in the file");
}
