//! Edges as datums: square from two of them, on the pattern, on castings and on the sheet.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a failed unwrap fails the test"
)]

use samespot_core::frames::{Flat, Point2};
use samespot_core::job::{
    AxisChoice, EdgeEdit, EdgeLies, EdgeMade, EntityRef, FaceShape, FeatureEdit, FeatureId,
    LineSide, MarkEdit, Measured, RuleSpec, Size,
};
use samespot_core::prepare::{Prepared, Source, issue, prepare};
use samespot_core::sheet::drawing::Meaning;
use samespot_core::sheet::{FlatSegment, Paper, RegisterEdge};
use samespot_tests::jobs::{Script, id, mm, point};

/// A panel with its bottom edge E and its left edge F, which meet in a corner; marks A (100, 150),
/// B (500, 150) and C (100, 1150) from there; the spot 120 up and 40 in. Two marks in a row along an
/// edge would leave it open how the other leans.
fn panel(shape: FaceShape) -> Script {
    let mut s = Script::one_face(shape, &["a", "b", "c"], 1);
    for (edge, letter, lies, made) in [
        ("e", "E", EdgeLies::Below, EdgeMade::Moulded),
        ("f", "F", EdgeLies::Left, EdgeMade::Moulded),
    ] {
        s.set(
            EntityRef::Edge(id(edge)),
            &EdgeEdit {
                face: Some(id("face")),
                letter: Some(letter.into()),
                lies: Some(lies),
                made: Some(made),
                reason: None,
            },
        );
    }
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::Edges {
                edge: id("e"),
                end: id("f"),
            }),
            ..FeatureEdit::default()
        },
    );
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    squares(&mut s, "pattern", 0.0);
    square(&mut s, "pattern", "e", "spot", 120.0);
    square(&mut s, "pattern", "f", "spot", 40.0);
    s
}

fn square(s: &mut Script, casting: &str, edge: &str, to: &str, value: f64) {
    let of = Measured::Square {
        edge: id(edge),
        to: point(to),
    };
    s.read(casting, of, value);
}

/// Both marks square from both edges, the left one leaning so much from square to the bottom.
fn squares(s: &mut Script, casting: &str, leans_deg: f64) {
    let (sin, cos) = leans_deg.to_radians().sin_cos();
    s.over(casting, "a", "b", 400.0);
    s.over(casting, "a", "c", 1000.0);
    s.over(casting, "b", "c", 400.0_f64.hypot(1000.0));
    for (mark, x, y) in [
        ("a", 100.0, 150.0),
        ("b", 500.0, 150.0),
        ("c", 100.0, 1150.0),
    ] {
        square(s, casting, "e", mark, y);
        square(s, casting, "f", mark, x * cos + y * sin);
    }
}

fn made(s: &Script) -> Result<Prepared, String> {
    let job = s.ledger.fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    prepare(&source, &id("spot"), &id("p1")).map_err(|e| e.to_string())
}

/// Both ends of an edge on the sheet, whose middle is the spot's.
fn ends(edge: &RegisterEdge) -> [Point2<Flat>; 2] {
    match edge.path.segments.as_slice() {
        [FlatSegment::Line(to)] => [edge.path.start, *to],
        other => unreachable!("{other:?}"),
    }
}

/// How far the middle of the sheet lies from the line of an edge.
fn off(edge: &RegisterEdge) -> f64 {
    let [a, b] = ends(edge);
    let (dx, dy) = (b.x_mm() - a.x_mm(), b.y_mm() - a.y_mm());
    (a.x_mm() * dy - a.y_mm() * dx).abs() / dx.hypot(dy)
}

#[test]
fn square_from_two_edges_stays_square_from_them_where_they_lean() {
    let mut s = panel(FaceShape::Flat);
    squares(&mut s, "c1", 1.0);
    let p = made(&s).unwrap();
    let [bottom, left] = p.edges.as_slice() else {
        unreachable!("{:?}", p.edges)
    };
    assert_eq!(bottom.label, "fold here, hook on edge E");
    assert_eq!(left.label, "up to edge F");
    // Readings that go together leave no more than what the search for a start rounds.
    assert!((off(bottom) - 120.0).abs() < 1e-3, "{}", off(bottom));
    assert!((off(left) - 40.0).abs() < 1e-3, "{}", off(left));
    // The spot stands square to the bottom edge, whatever the left one does.
    let [corner, along] = ends(bottom);
    assert!((corner.y_mm() - along.y_mm()).abs() < 1e-3);
    // Its foot from the corner: (40 − 120·sin 1°)/cos 1° = 37.911 (by hand).
    assert!((corner.x_mm() + 37.911).abs() < 0.01, "{}", corner.x_mm());
    assert!(
        p.laying_words
            .starts_with("Fold the sheet on the line of edge E"),
        "{}",
        p.laying_words
    );
    // The marks are crosses still; a corner is none.
    let letters: Vec<&str> = p.crosses.iter().map(|c| c.letter.as_str()).collect();
    assert_eq!(letters, ["A", "B", "C"]);
    // A moulded edge runs within 0.3 mm of straight, a trimmed one within 1.0 (common practice, no
    // source): that is how well the sheet comes onto it, with what a pencil line leaves.
    let pointing = |p: &Prepared| p.basis.shares.pointing.mm();
    assert!((pointing(&p) - 0.3_f64.hypot(0.3)).abs() < 1e-12);
    s.set(
        EntityRef::Edge(id("f")),
        &EdgeEdit {
            made: Some(EdgeMade::Trimmed),
            ..EdgeEdit::default()
        },
    );
    let trimmed = made(&s).unwrap();
    assert!((pointing(&trimmed) - 1.0_f64.hypot(0.3)).abs() < 1e-12);
    assert!(trimmed.budget.worst > p.budget.worst);
}

#[test]
fn on_the_pattern_and_where_nothing_was_read_it_is_the_drawing() {
    for read in [false, true] {
        let mut s = panel(FaceShape::Flat);
        if read {
            squares(&mut s, "c1", 0.0);
        }
        let p = made(&s).unwrap();
        assert!((off(&p.edges[0]) - 120.0).abs() < 1e-3, "{read}");
        assert!((off(&p.edges[1]) - 40.0).abs() < 1e-3, "{read}");
        let [corner, _] = ends(&p.edges[0]);
        assert!((corner.x_mm() + 40.0).abs() < 0.01, "{read}: {corner:?}");
        assert!(!p.letters_of_no_mark());
    }
}

trait NoMark {
    fn letters_of_no_mark(&self) -> bool;
}

impl NoMark for Prepared {
    fn letters_of_no_mark(&self) -> bool {
        let said = self.warnings.iter().chain([&self.laying_words]);
        said.into_iter().any(|w| w.contains("--"))
    }
}

#[test]
fn the_sheet_draws_the_edges_and_the_trim_reaches_them() {
    let mut s = panel(FaceShape::Flat);
    squares(&mut s, "c1", 0.0);
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let feature: FeatureId = id("spot");
    let issued = issue(&source, &feature, &id("p1"), Paper::A4, "2026-11-27").unwrap();
    let drawn = issued.drawing.pages.iter().flat_map(|p| &p.items);
    let drawn = drawn.filter(|item| item.meaning == Meaning::RegisterEdge);
    assert!(drawn.count() >= 2);
    // Up to the corner and 30 past its own middle each way, it takes so much paper at least.
    assert!(
        issued.size_mm.0 > 150.0 && issued.size_mm.1 > 150.0,
        "{:?}",
        issued.size_mm
    );
}

#[test]
fn on_a_face_that_is_round_it_says_why_not() {
    let girth = |d: f64| Size::Girth {
        girth: mm(d * core::f64::consts::PI),
    };
    let shapes = [
        FaceShape::Cylinder {
            axis: AxisChoice::Up,
            hollow: false,
            size: girth(900.0),
        },
        FaceShape::Dome {
            hollow: false,
            size: girth(2000.0),
        },
    ];
    for shape in shapes {
        let why = made(&panel(shape)).unwrap_err();
        assert!(why.contains("let it follow marks here"), "{why}");
    }
}

#[test]
fn marks_in_a_row_leave_an_edge_open_and_that_is_what_is_said() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    for (edge, lies) in [("e", EdgeLies::Below), ("f", EdgeLies::Left)] {
        s.set(
            EntityRef::Edge(id(edge)),
            &EdgeEdit {
                face: Some(id("face")),
                lies: Some(lies),
                ..EdgeEdit::default()
            },
        );
    }
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::Edges {
                edge: id("e"),
                end: id("f"),
            }),
            ..FeatureEdit::default()
        },
    );
    s.over("pattern", "a", "b", 400.0);
    for (edge, to, value) in [
        ("e", "a", 150.0),
        ("e", "b", 150.0),
        ("f", "a", 100.0),
        ("f", "b", 500.0),
        ("e", "spot", 120.0),
        ("f", "spot", 40.0),
    ] {
        square(&mut s, "pattern", edge, to, value);
    }
    let why = made(&s).unwrap_err();
    assert!(why.contains("three marks that are not in a row"), "{why}");
}

#[test]
fn what_is_wanting_is_said() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::Edges {
                edge: id("e"),
                end: id("e"),
            }),
            ..FeatureEdit::default()
        },
    );
    s.over("pattern", "a", "b", 400.0);
    let why = made(&s).unwrap_err();
    assert!(why.contains("two different edges"), "{why}");
}
