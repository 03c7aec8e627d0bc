//! Drawings at full size: a face with its grid over several sheets, and lettering in single lines
//! through every file.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops where it fails"
)]

use samespot_core::frames::{Flat, Point2};
use samespot_core::job::*;
use samespot_core::outline::{Contour, Outline};
use samespot_core::prepare::rod::rods_of;
use samespot_core::prepare::setout::grid_sheet;
use samespot_core::prepare::{Source, issue, issue_for_cutter, staleness};
use samespot_core::sheet::Paper;
use samespot_core::sheet::drawing::{Drawing, Meaning, Page, Shape};
use samespot_core::units::Length;
use samespot_core::write::dxf::dxf_page;
use samespot_core::write::pdf::{Part, pdf};
use samespot_core::write::svg::svg_page;
use samespot_tests::jobs::{Script, id, mm};

/// A plinth 400 by 300 (3-4-5: Euclid I.48), a spot amid.
fn plinth() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 1);
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    for (from, to, value) in [
        ("a", "b", 400.0),
        ("a", "c", 300.0),
        ("b", "c", 500.0),
        ("a", "spot", 250.0),
        ("b", "spot", 250.0),
        ("c", "spot", 250.0),
    ] {
        s.over("pattern", from, to, value);
    }
    s
}

fn on<T>(s: &Script, work: impl FnOnce(&Source<'_>) -> T) -> T {
    let job = s.ledger.fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    work(&Source {
        job: &job,
        attachments: &s.attachments,
    })
}

fn written(drawing: &Drawing) -> Vec<u8> {
    let part = Part {
        bookmark: &drawing.title,
        drawing,
    };
    pdf(&drawing.title, &[part]).unwrap()
}

/// Where upright and level lines of a grid stand on a page, µm.
fn grid(page: &Page) -> [Vec<i32>; 2] {
    let (mut upright, mut level) = (Vec::new(), Vec::new());
    for item in page
        .items
        .iter()
        .filter(|i| i.meaning == Meaning::CentreLine)
    {
        let Shape::Line(all) = &item.shape else {
            continue;
        };
        for c in all {
            let (a, b) = (c.start, c.end());
            if a.x == b.x {
                upright.push(a.x);
            } else if a.y == b.y {
                level.push(a.y);
            }
        }
    }
    for all in [&mut upright, &mut level] {
        all.sort_unstable();
        all.dedup();
    }
    [upright, level]
}

#[test]
fn a_face_is_drawn_full_size_with_a_grid_over_as_many_sheets_as_it_takes() {
    let s = plinth();
    let every = Length::from_mm(50.0);
    on(&s, |source| {
        let drawing = grid_sheet(source, &id("face"), every, Paper::A4, "2026-11-27").unwrap();
        assert!(drawing.pages.len() >= 4, "{} sheets", drawing.pages.len());
        let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
        std::fs::write(folder.join("grid.pdf"), written(&drawing)).unwrap();
        let mut lines = 0;
        for page in &drawing.pages {
            for all in grid(page) {
                lines += all.len();
                for two in all.windows(2) {
                    // Whole micrometres: a line may be one off.
                    assert!(
                        (two[1] - two[0] - 50_000).abs() <= 1,
                        "{}: {two:?}",
                        page.name
                    );
                }
            }
        }
        // 400 by 300: nine upright and seven level at least once.
        assert!(lines >= 14, "{lines}");
        for letter in ["A", "B", "C"] {
            let there = drawing.pages.iter().flat_map(|p| &p.items);
            let mut there = there.filter(|i| i.meaning == Meaning::Register);
            assert!(
                there.any(|i| i.label.as_deref() == Some(letter)),
                "{letter}"
            );
        }
        let said = drawing.readable.join("\n");
        assert!(said.contains("A grid line every 50 mm"), "{said}");
        let file = lopdf::Document::load_mem(&written(&drawing)).unwrap();
        assert_eq!(file.get_pages().len(), drawing.pages.len());
        // One sheet where the paper is large enough.
        let roll = Paper::Roll {
            width: Length::from_mm(914.0),
        };
        let one = grid_sheet(source, &id("face"), every, roll, "2026-11-27").unwrap();
        assert_eq!(one.pages.len(), 1);
        let fine = grid_sheet(source, &id("face"), Length::from_mm(1.0), Paper::A4, "");
        assert!(fine.unwrap_err().to_string().contains("too close"));
    });
    let bare = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    let why = on(&bare, |source| {
        grid_sheet(source, &id("face"), every, Paper::A4, "")
            .unwrap_err()
            .to_string()
    });
    assert!(why.contains("no mark of it"), "{why}");
}

/// The length of everything a layer of a DXF draws, by another reader.
fn dxf_length(text: &str, layer: &str) -> f64 {
    use dxf::entities::EntityType;
    let file = dxf::Drawing::load(&mut text.as_bytes()).unwrap();
    file.entities()
        .filter(|e| e.common.layer.eq_ignore_ascii_case(layer))
        .map(|e| match &e.specific {
            EntityType::Line(l) => (l.p2.x - l.p1.x).hypot(l.p2.y - l.p1.y),
            EntityType::Circle(c) => std::f64::consts::TAU * c.radius,
            EntityType::Arc(a) => {
                (a.end_angle - a.start_angle).rem_euclid(360.0).to_radians() * a.radius
            }
            EntityType::LwPolyline(p) => {
                let closed = p.flags & 1 == 1;
                let n = p.vertices.len();
                let pairs = (0..if closed { n } else { n - 1 }).map(|k| (k, (k + 1) % n));
                pairs
                    .map(|(i, j)| {
                        let (a, b) = (&p.vertices[i], &p.vertices[j]);
                        let chord = (b.x - a.x).hypot(b.y - a.y);
                        let quarter = a.bulge.atan();
                        if quarter.abs() < 1e-12 {
                            chord
                        } else {
                            chord * 2.0 * quarter / (2.0 * quarter).sin()
                        }
                    })
                    .sum()
            }
            other => panic!("{other:?}"),
        })
        .sum()
}

#[test]
fn letters_in_single_lines_come_through_every_file_once_and_as_long_as_they_are() {
    // Two stadiums and two crossing lines: 2·(2π·5 + 2·4) + 2·√(9² + 14²) of 14 high.
    let of_14 = 2.0 * (std::f64::consts::TAU * 5.0 + 8.0) + 2.0 * 9.0_f64.hypot(14.0);
    let (outline, missing) = Outline::<Flat>::strokes("OXO", Length::from_mm(28.0)).unwrap();
    assert!(missing.is_empty());
    let drawn: f64 = outline
        .polylines(Length::from_mm(0.001))
        .iter()
        .zip(outline.contours())
        .map(|(l, c)| {
            let round = c.is_closed().then(|| l[l.len() - 1].distance(l[0]).mm());
            let along: f64 = l.windows(2).map(|w| w[0].distance(w[1]).mm()).sum();
            along + round.unwrap_or(0.0)
        })
        .sum();
    assert!((drawn - 2.0 * of_14).abs() < 0.1, "{drawn}");
    let mut s = plinth();
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Strokes {
                text: "OXO".into(),
                capitals: mm(28.0),
            }),
            ..FeatureEdit::default()
        },
    );
    for (from, to, value) in [("a", "b", 400.0), ("a", "c", 300.0), ("b", "c", 500.0)] {
        s.over("c1", from, to, value);
    }
    on(&s, |source| {
        let spot: FeatureId = id("spot");
        let made = issue(source, &spot, &id("p1"), Paper::A3, "2026-11-27").unwrap();
        let drawing = &made.drawing;
        let cut = drawing.pages.iter().flat_map(|p| &p.items);
        assert_eq!(
            cut.filter(|i| i.meaning == Meaning::Cut).count(),
            0,
            "nothing is cut out"
        );
        let page = drawing
            .pages
            .iter()
            .position(|p| p.items.iter().any(|i| i.meaning == Meaning::PaintEdge))
            .unwrap();
        let layer = Meaning::PaintEdge.layer();
        let in_dxf = dxf_length(&dxf_page(drawing, page).unwrap(), layer);
        assert!(
            (in_dxf - 2.0 * of_14).abs() < 0.3,
            "{in_dxf} for {}",
            2.0 * of_14
        );
        let svg = svg_page(drawing, page).unwrap();
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let group = doc
            .descendants()
            .find(|n| n.attribute("id") == Some(layer))
            .unwrap();
        let in_svg: f64 = group
            .descendants()
            .filter_map(|n| n.attribute("d"))
            .map(|d| kurbo::BezPath::from_svg(d).unwrap())
            .flat_map(|p| p.segments().collect::<Vec<_>>())
            .map(|s| kurbo::ParamCurveArclen::arclen(&s, 1e-4))
            .sum();
        assert!((in_svg - 2.0 * of_14).abs() < 0.3, "{in_svg}");
        let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
        std::fs::write(folder.join("strokes.pdf"), written(drawing)).unwrap();
        let said = drawing.readable.join("\n").to_lowercase();
        assert!(said.contains("single lines"), "{said}");
    });
}

/// A job whose spot is a drawing with these contours, so wide.
fn drawn(contours: Vec<Contour<Flat>>, width: f64) -> Script {
    let mut s = plinth();
    let outline: Outline<Flat> = contours.into_iter().collect();
    let hash = "0".repeat(64);
    let text = serde_json::to_string(&outline).unwrap();
    s.attachments.insert(hash.clone(), text.into_bytes());
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Artwork {
                attachment: hash,
                file: "sign.svg".into(),
                width: mm(width),
                ignored: Vec::new(),
            }),
            ..FeatureEdit::default()
        },
    );
    for (from, to, value) in [("a", "b", 400.0), ("a", "c", 300.0), ("b", "c", 500.0)] {
        s.over("c1", from, to, value);
    }
    s
}

fn line(points: &[(f64, f64)]) -> Contour<Flat> {
    let all: Vec<_> = points
        .iter()
        .map(|(x, y)| Point2::from_mm(*x, *y))
        .collect();
    Contour::open_through(&all).unwrap()
}

/// What is cut and what is drawn of the spot on the first piece (lengths by another reader of DXF), and what
/// its sheet says.
fn cut_and_drawn(s: &Script) -> (f64, f64, String) {
    on(s, |source| {
        let spot: FeatureId = id("spot");
        let made = issue(source, &spot, &id("p1"), Paper::A3, "2026-11-28").unwrap();
        let of = SheetOf::from(&spot);
        let whole = issue_for_cutter(source, &of, &id("p1"), Paper::A3, "2026-11-28");
        let text = dxf_page(&whole.unwrap().0, 0).unwrap();
        (
            dxf_length(&text, Meaning::Cut.layer()),
            dxf_length(&text, Meaning::PaintEdge.layer()),
            made.drawing.readable.join("\n"),
        )
    })
}

/// Plane geometry: a square of 40 cut half a millimetre outside has its sides and a circle of that radius round
/// its corners, 160 + π; a line of 50 beside it is a line of 50, and no allowance moves it.
#[test]
fn an_open_line_beside_closed_ones_is_drawn_and_the_rest_is_cut() {
    let square = [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)];
    let square = square.map(|(x, y)| Point2::from_mm(x, y));
    let closed = || Contour::closed_through(&square).unwrap();
    let stroke = || line(&[(60.0, -5.0), (60.0, 45.0)]);
    let (cut, edge, said) = cut_and_drawn(&drawn(vec![closed(), stroke()], 60.0));
    assert!((cut - 160.0 - std::f64::consts::PI).abs() < 0.02, "{cut}");
    assert!((edge - 210.0).abs() < 0.02, "{edge}");
    assert!(said.contains("1 line of the outline is open"), "{said}");
    assert!(said.contains("without an allowance"), "{said}");
    assert!(!said.contains("gap of"), "{said}");

    // All lines: as letters of single lines, nothing is cut.
    let (cut, edge, said) = cut_and_drawn(&drawn(
        vec![stroke(), line(&[(0.0, 0.0), (30.0, 0.0)])],
        60.0,
    ));
    assert!(cut.abs() < 1e-12);
    assert!((edge - 80.0).abs() < 0.02, "{edge}");
    assert!(said.contains("No line of the outline is closed"), "{said}");
}

/// A page is 297 mm long (ISO 216). Marks 400 apart, and a third 300 off their line or 30.
#[test]
fn what_is_larger_than_a_page_wants_three_marks_that_are_not_in_line() {
    let said = |s: &Script| {
        on(s, |source| {
            let spot: FeatureId = id("spot");
            let made = issue(source, &spot, &id("p1"), Paper::A3, "2026-11-28").unwrap();
            made.drawing.readable.join("\n")
        })
    };
    let apart = |far: f64| {
        let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
        for casting in ["pattern", "c1"] {
            s.over(casting, "a", "b", far);
        }
        for end in ["a", "b"] {
            s.over("pattern", end, "spot", 40.0_f64.hypot(far / 2.0));
        }
        s
    };
    let two = said(&apart(400.0));
    assert!(two.contains("arger than a page, on A and B alone"), "{two}");
    let near = said(&apart(200.0));
    assert!(!near.contains("arger than a page"), "{near}");
    let mut held = plinth();
    for (from, to, value) in [("a", "b", 400.0), ("a", "c", 300.0), ("b", "c", 500.0)] {
        held.over("c1", from, to, value);
    }
    let held = said(&held);
    assert!(!held.contains("arger than a page"), "{held}");
}

/// A knife turns at a point in paper; board wants a bend (common practice, no source).
#[test]
fn corners_that_board_does_not_give_are_named() {
    let square = [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)];
    let square = square.map(|(x, y)| Point2::from_mm(x, y));
    let mut s = drawn(vec![Contour::closed_through(&square).unwrap()], 40.0);
    let (_, _, said) = cut_and_drawn(&s);
    assert!(!said.contains("has bends"), "{said}");
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            thickness: Some(Length::from_mm(3.0)),
            ..FeatureEdit::default()
        },
    );
    let (_, _, said) = cut_and_drawn(&s);
    assert!(
        said.contains("has bends of R 0.5: in 3 mm thick sheet"),
        "{said}"
    );
}

#[test]
fn a_gap_that_nobody_meant_is_named_with_its_place_and_left_open() {
    // A square whose last side stops 0.8 mm short of its first corner, beside a whole one.
    let short = line(&[
        (0.0, 0.8),
        (0.0, 40.0),
        (40.0, 40.0),
        (40.0, 0.0),
        (0.0, 0.0),
    ]);
    let whole = [(60.0, 0.0), (100.0, 0.0), (100.0, 40.0), (60.0, 40.0)];
    let whole = whole.map(|(x, y)| Point2::from_mm(x, y));
    let contours = vec![Contour::closed_through(&whole).unwrap(), short];
    let (cut, edge, said) = cut_and_drawn(&drawn(contours, 100.0));
    assert!((cut - 160.0 - std::f64::consts::PI).abs() < 0.02, "{cut}");
    assert!((edge - (160.0 + 159.2)).abs() < 0.02, "{edge}");
    assert!(
        said.contains("gap of 0.8 mm, 50 mm left and 20 mm below of the middle"),
        "{said}"
    );
    assert!(said.contains("not closed here"), "{said}");
}

#[test]
fn rods_are_recorded_and_a_reading_makes_them_stale() {
    let mut s = plinth();
    for (from, to, value) in [("a", "b", 400.0), ("a", "c", 300.0), ("b", "c", 500.0)] {
        s.over("c1", from, to, value);
    }
    let (spot, piece): (FeatureId, PieceId) = (id("spot"), id("p1"));
    let of = SheetOf::Rods(spot.clone());
    let printed = on(&s, |source| {
        rods_of(source, &spot, &[], Paper::A4, "2026-11-27")
            .unwrap()
            .printed
    });
    assert_eq!((&printed.of, &printed.pieces), (&of, &vec![piece.clone()]));
    let line = serde_json::to_string(&printed).unwrap();
    assert!(line.starts_with(r#"{"rods":"spot","#), "{line}");
    assert_eq!(serde_json::from_str::<Printed>(&line).unwrap(), printed);
    s.say(&Payload::Printed(printed.clone()));
    on(&s, |source| {
        assert_eq!(staleness(source, of.clone(), &piece), None);
        assert!(
            source.job.last_print(&spot, &piece).is_none(),
            "a rod is no stencil"
        );
    });
    s.over("c1", "a", "b", 401.5);
    on(&s, |source| {
        let why = staleness(source, of.clone(), &piece).unwrap();
        assert!(
            why.contains("rods printed on 2026-11-27") && why.contains("readings changed"),
            "{why}"
        );
        assert!(why.contains("Scrap them"), "{why}");
    });
}
