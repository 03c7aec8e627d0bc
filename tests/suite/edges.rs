//! Edges as datums: square from two of them, on the pattern, on castings and on the sheet.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a failed unwrap fails the test"
)]

#[path = "edges/asked.rs"]
mod asked;

use samespot_core::frames::{Flat, Point2};
use samespot_core::job::{
    AxisChoice, EdgeEdit, EdgeLies, EdgeMade, EntityRef, FaceShape, FeatureEdit, FeatureId, Follow,
    Hand, LineSide, MarkEdit, Measured, Mirror, PairEdit, RuleSpec, Size,
};
use samespot_core::prepare::{Prepared, Source, issue, prepare};
use samespot_core::sheet::drawing::Meaning;
use samespot_core::sheet::{FlatSegment, Paper, RegisterEdge};
use samespot_tests::jobs::{Script, id, mm, point};

/// A panel with its bottom edge E and its left edge F, which meet in a corner; marks A (100, 150),
/// B (500, 150) and C (100, 1150) from there; the spot 120 up and 40 in. Two marks in a row along an
/// edge would leave it open how the other leans.
fn panel(shape: FaceShape) -> Script {
    let mut s = panel_of(shape);
    squares(&mut s, "pattern", 0.0);
    square(&mut s, "pattern", "e", "spot", 120.0);
    square(&mut s, "pattern", "f", "spot", 40.0);
    s
}

/// The same with nothing read yet.
fn panel_of(shape: FaceShape) -> Script {
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

fn girth(radius: f64) -> Size {
    Size::Girth {
        girth: mm(radius * core::f64::consts::TAU),
    }
}

fn post() -> FaceShape {
    FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: girth(450.0),
    }
}

/// A cylinder unrolls: the same numbers as on the flat panel, by the same hand. Only the sheet's own
/// middle lies half its thickness further out.
#[test]
fn round_one_way_it_is_as_on_the_unrolled_face() {
    let mut s = panel(post());
    squares(&mut s, "c1", 1.0);
    let p = made(&s).unwrap();
    let [bottom, left] = p.edges.as_slice() else {
        unreachable!("{:?}", p.edges)
    };
    assert!((off(bottom) - 120.0).abs() < 0.02, "{}", off(bottom));
    assert!((off(left) - 40.0).abs() < 0.02, "{}", off(left));
    let [corner, _] = ends(bottom);
    assert!((corner.x_mm() + 37.911).abs() < 0.03, "{}", corner.x_mm());
    // The end of a post goes round: no fold goes over it.
    assert_eq!(bottom.label, "cut here, flush with edge E");
    assert!(
        p.laying_words
            .starts_with("Cut the sheet off on the line of edge E"),
        "{}",
        p.laying_words
    );
    // Hooked on the edge that runs up the post it is folded there.
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::Edges {
                edge: id("f"),
                end: id("e"),
            }),
            ..FeatureEdit::default()
        },
    );
    let hooked = made(&s).unwrap();
    assert_eq!(hooked.edges[0].label, "fold here, hook on edge F");
    assert!((off(&hooked.edges[0]) - 40.0).abs() < 0.02);
}

/// Where marks lie on an unrolled cone, from its tip: so far from the tip, so far square from the
/// edge F that runs up to it.
fn unrolled(from_tip: f64, square: f64) -> [f64; 2] {
    [square, (from_tip * from_tip - square * square).sqrt()]
}

/// A cone of radius 300 at its foot, 220 after 800 up the slant: its tip lies 300/0.1 = 3000 up. The
/// foot is edge E. A, B and C lie 150, 450 and 650 up from it and 100, 500 and 100 from F: the line of
/// A and B does not go round.
fn cone_panel() -> Script {
    let mut s = panel_of(FaceShape::Cone {
        lower: girth(300.0),
        upper: girth(220.0),
        slant: mm(800.0),
    });
    cone_squares(&mut s, "pattern");
    square(&mut s, "pattern", "e", "spot", 120.0);
    square(&mut s, "pattern", "f", "spot", 40.0);
    s
}

fn cone_squares(s: &mut Script, casting: &str) {
    let marks = [
        ("a", 150.0, 100.0),
        ("b", 450.0, 500.0),
        ("c", 650.0, 100.0),
    ];
    let at = |k: usize| unrolled(3000.0 - marks[k].1, marks[k].2);
    for (i, j) in [(0, 1), (0, 2), (1, 2)] {
        let (p, q) = (at(i), at(j));
        s.over(
            casting,
            marks[i].0,
            marks[j].0,
            (q[0] - p[0]).hypot(q[1] - p[1]),
        );
    }
    for (mark, up, off) in marks {
        square(s, casting, "e", mark, up);
        square(s, casting, "f", mark, off);
    }
}

/// By hand on the unrolled cone: the spot lies 2880 from the tip and sin φ = 40/2880 from F, the corner
/// 3000 from the tip on F. So from the spot, up being to the tip, the corner lies 3000·sin φ = 41.667 to
/// the left and 3000·cos φ − 2880 = 119.711 below; the edge bends by 150²/(8·3000) = 0.94 in 150.
#[test]
fn on_a_cone_the_foot_goes_round_the_tip() {
    for read in [false, true] {
        let mut s = cone_panel();
        if read {
            cone_squares(&mut s, "c1");
        }
        let p = made(&s).unwrap();
        let [bottom, left] = p.edges.as_slice() else {
            unreachable!("{:?}", p.edges)
        };
        let (corner, [(via, to)]) = (
            bottom.path.start,
            match bottom.path.segments.as_slice() {
                [FlatSegment::Arc { via, to }] => [(*via, *to)],
                other => unreachable!("{other:?}"),
            },
        );
        // How far up the cone the marks lie nobody read: it is known to a hand's breadth of the 3000 to
        // the tip, which turns F by 100/3000 of the 0.13 rad that the foot bends between A and B, and
        // moves the corner, 120 from the spot, by 0.5 at most. Here it is 20 mm, and 0.1.
        assert!((corner.x_mm() + 41.667).abs() < 0.2, "{read}: {corner:?}");
        assert!((corner.y_mm() + 119.711).abs() < 0.05, "{read}: {corner:?}");
        let bend = 0.5 * (corner.y_mm() + to.y_mm()) - via.y_mm();
        assert!((bend - 0.94).abs() < 0.06, "{read}: {bend}");
        // Straight below the spot the arc lies its 120 off; F runs to the tip and lies 40 off.
        let across = corner.x_mm() + 75.0;
        assert!((via.x_mm() - across).abs() < 2.5, "{via:?}");
        assert!((off(left) - 40.0).abs() < 0.05, "{read}: {}", off(left));
        assert_eq!(bottom.label, "cut here, flush with edge E");
        assert!(!p.letters_of_no_mark());
    }
}

fn half_way(s: &mut Script) {
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::OffEdge {
                from: id("a"),
                to: id("b"),
                along: Follow::DifferenceSplit,
                edge: id("e"),
            }),
            ..FeatureEdit::default()
        },
    );
}

/// *Between the seams, 120 up from the bottom*: on a casting whose bottom was trimmed 7 lower and 1° off,
/// with A and B 4 further apart. From A the spot goes 60 along the line of A and B less 2 (by hand:
/// on the pattern it lies at −60; the difference of 4 is halved), and 120 square from where the bottom is.
#[test]
fn along_between_two_marks_and_up_from_an_edge() {
    for shape in [FaceShape::Flat, post()] {
        let mut s = panel(shape);
        half_way(&mut s);
        s.over("c1", "a", "b", 404.0);
        s.over("c1", "a", "c", 1000.0);
        s.over("c1", "b", "c", 404.0_f64.hypot(1000.0));
        let (sin, cos) = 1.0_f64.to_radians().sin_cos();
        // Square from the bottom: A 157 up; along it B comes nearer by 404·sin 1°.
        for (mark, x, y) in [("a", 0.0, 0.0), ("b", 404.0, 0.0), ("c", 0.0, 1000.0)] {
            square(&mut s, "c1", "e", mark, 157.0 - x * sin + y * cos);
        }
        let p = made(&s).unwrap();
        let [bottom] = p.edges.as_slice() else {
            unreachable!("{:?}", p.edges)
        };
        assert_eq!(bottom.label, "lies along edge E");
        assert!((off(bottom) - 120.0).abs() < 0.05, "{}", off(bottom));
        let a = p.crosses.iter().find(|c| c.letter == "A").unwrap();
        // The spot is upright on the line of A and B: A lies 58 to its right, having −60 + 2.
        assert!((a.at.x_mm() - 58.0).abs() < 0.05, "{:?}", a.at);
        // 157 − 58·… on a bottom that leans: its height under A's own line is (157 − 120 + 58·sin 1°)/cos 1°.
        let below = (157.0 - 120.0 + 58.0 * sin) / cos;
        assert!((a.at.y_mm() - below).abs() < 0.05, "{:?} {below}", a.at);
        let letters: Vec<&str> = p.crosses.iter().map(|c| c.letter.as_str()).collect();
        assert_eq!(letters, ["A", "B", "C"]);
        assert!(p.laying_words.contains("A"), "{}", p.laying_words);
        assert!(!p.letters_of_no_mark());
    }
}

/// The spot mirrored across the middle of A and B: 40 and 120 become 560 and 120 (by hand, 2·300 − 40).
#[test]
fn the_image_of_what_follows_edges_follows_them_too() {
    let mut s = panel(FaceShape::Flat);
    squares(&mut s, "c1", 0.0);
    s.set(
        EntityRef::Feature(id("image")),
        &FeatureEdit {
            face: Some(id("face")),
            name: Some("Image".into()),
            ..FeatureEdit::default()
        },
    );
    s.set(
        EntityRef::Pair(id("pair")),
        &PairEdit {
            left: Some(id("spot")),
            right: Some(id("image")),
            mirror: Some(Mirror::Halfway {
                from: id("a"),
                to: id("b"),
            }),
            made: Some(Hand::Right),
            ..PairEdit::default()
        },
    );
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let p = prepare(&source, &id("image"), &id("p1")).unwrap();
    let [bottom, left] = p.edges.as_slice() else {
        unreachable!("{:?}", p.edges)
    };
    assert!((off(bottom) - 120.0).abs() < 0.01, "{}", off(bottom));
    assert!((off(left) - 560.0).abs() < 0.01, "{}", off(left));
}

#[test]
fn on_a_face_round_both_ways_it_says_why_not() {
    let why = made(&panel(FaceShape::Dome {
        hollow: false,
        size: girth(1000.0),
    }))
    .unwrap_err();
    assert!(why.contains("an edge bends"), "{why}");
    assert!(why.contains("let it follow marks here"), "{why}");
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
