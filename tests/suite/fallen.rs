//! What falls out with an opening, and what pounced letters do that stand close: as a person sees it on
//! the sheet, from readings on a flat face.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops where it fails"
)]

use samespot_core::frames::{Flat, Point2};
use samespot_core::job::*;
use samespot_core::outline::Outline;
use samespot_core::prepare::{Prepared, Source, prepare_sheet};
use samespot_core::template::Laying;
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id, mm, point};

/// Four marks about the middle and a spot, by their places on the pattern, mm.
fn job(spot: [f64; 2], change: FeatureEdit) -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 1);
    s.set(EntityRef::Feature(id("spot")), &change);
    let places = [
        ("a", [-80.0, -60.0]),
        ("b", [80.0, -60.0]),
        ("c", [-80.0, 60.0]),
        ("d", [80.0, 60.0]),
        ("spot", spot),
    ];
    for (name, at) in places {
        for (axis, value) in [(FaceAxis::U, at[0]), (FaceAxis::V, at[1])] {
            let of = point(name);
            s.read("pattern", Measured::Coordinate { of, axis }, value);
        }
    }
    for (from, to, value) in [
        ("a", "b", 160.0),
        ("a", "c", 120.0),
        ("b", "c", 200.0),
        ("b", "d", 120.0),
        ("a", "d", 200.0),
        ("c", "d", 160.0),
    ] {
        s.over("c1", from, to, value);
    }
    s
}

fn made(s: &Script, of: impl Into<SheetOf>) -> Prepared {
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    prepare_sheet(&source, &of.into(), &id("p1")).unwrap()
}

fn circle(across: f64) -> FeatureEdit {
    FeatureEdit {
        outline: Some(OutlineSpec::Circle {
            diameter: mm(across),
        }),
        ..FeatureEdit::default()
    }
}

fn spot() -> FeatureId {
    id("spot")
}

fn said<'p>(p: &'p Prepared, words: &str) -> Option<&'p String> {
    p.warnings.iter().find(|w| w.contains(words))
}

/// A ring of eight crossings by a ray: inside or not, by no code of the project.
fn inside(outline: &Outline<Flat>, p: Point2<Flat>) -> bool {
    let crossings = outline
        .polylines(Length::from_mm(0.05))
        .iter()
        .map(|ring| {
            (0..ring.len())
                .filter(|&i| {
                    let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                    let up = (a.y_mm() > p.y_mm()) != (b.y_mm() > p.y_mm());
                    up && p.x_mm()
                        < a.x_mm()
                            + (b.x_mm() - a.x_mm()) * (p.y_mm() - a.y_mm()) / (b.y_mm() - a.y_mm())
                })
                .count()
        })
        .sum::<usize>();
    crossings % 2 == 1
}

#[test]
fn a_cross_inside_the_opening_is_named_and_the_sheet_laid_on_the_others() {
    let s = job([-60.0, -45.0], circle(100.0));
    let p = made(&s, &spot());
    let words = said(&p, "falls out").unwrap_or_else(|| panic!("{:?}", p.warnings));
    assert_eq!(
        words,
        "cross A lies inside the opening and falls out when it is cut: the sheet is laid on B, C, D"
    );
    // What is said is so: A's cross lies in what is cut, the others do not.
    let cut = p.cut.as_ref().unwrap();
    for cross in &p.crosses {
        assert_eq!(
            inside(cut, cross.at),
            cross.letter == "A",
            "{}",
            cross.letter
        );
    }
    let a = p.crosses.iter().position(|c| c.letter == "A").unwrap();
    match &p.laying {
        Laying::FirstThenAlong { first, then } | Laying::SplitAlong { first, then } => {
            assert!(*first != a && *then != a, "{:?}", p.laying);
        }
        Laying::BestFit { weights } => assert!(weights[a] == 0.0, "{weights:?}"),
        other => panic!("{other:?}"),
    }
    for named in ["A on A", "(A", "A and", "A,"] {
        assert!(!p.laying_words.contains(named), "{}", p.laying_words);
    }
    // A smaller one lets every cross stay, and nothing is said.
    let small = made(&job([0.0, 0.0], circle(100.0)), &spot());
    assert_eq!(said(&small, "inside the opening"), None);
}

#[test]
fn where_every_cross_falls_out_it_is_said_how_to_lay_the_sheet_all_the_same() {
    let s = job([0.0, 0.0], circle(260.0));
    let stencil = made(&s, &spot());
    let words = said(&stencil, "fall out").unwrap();
    assert!(
        words.starts_with("crosses A, B, C, D lie inside the opening"),
        "{words}"
    );
    assert!(words.contains("leave two bridges of 5 mm uncut"), "{words}");
    let shell = made(&s, SheetOf::Shell(spot()));
    let words = said(&shell, "fall out").unwrap();
    assert!(words.contains("a shell can’t be held on it"), "{words}");
    // Of a patch that is drawn round, and of a pounced sheet, nothing is cut out.
    let outside = FeatureEdit {
        drawn: Some(DrawnSide::Outside),
        ..circle(260.0)
    };
    let pounced = FeatureEdit {
        marker: Some(Marker::Pounce),
        ..circle(260.0)
    };
    for edit in [outside, pounced] {
        let p = made(&job([0.0, 0.0], edit), &spot());
        assert_eq!(said(&p, "inside the opening"), None);
    }
}

/// Where lines 1.5 mm outside letters closer than 3 mm would run into each other there is one round both
/// (the boundary of the union of both areas grown by 1.5: every point of it is 1.5 mm from the nearest
/// letter and no nearer).
#[test]
fn pounced_lines_of_letters_that_stand_close_are_one_line_round_both() {
    let letters = FeatureEdit {
        outline: Some(OutlineSpec::Lettering {
            text: "LINE".into(),
            capitals: mm(24.0),
        }),
        marker: Some(Marker::Pounce),
        ..FeatureEdit::default()
    };
    let p = made(&job([0.0, 0.0], letters), &spot());
    let line = p.cut.as_ref().unwrap();
    let edges: Vec<Vec<Point2<Flat>>> = p.paint_edge.polylines(Length::from_mm(0.01));
    let from_letters = |q: Point2<Flat>| {
        let mut least = f64::INFINITY;
        for ring in &edges {
            for i in 0..ring.len() {
                let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                let ab = b - a;
                let t = ((q - a).dot(ab) / ab.dot(ab).max(1e-12)).clamp(0.0, 1.0);
                least = least.min(q.distance(a + ab * t).mm());
            }
        }
        least
    };
    for q in line.polylines(Length::from_mm(0.05)).into_iter().flatten() {
        let off = from_letters(q);
        assert!(
            (off - 1.5).abs() < 0.05,
            "{off} at {} {}",
            q.x_mm(),
            q.y_mm()
        );
    }
    // No line of it crosses another.
    assert!(line.meetings(Length::from_mm(0.02), 1).is_empty());
    let outer = line
        .contours()
        .iter()
        .filter(|c| c.is_anticlockwise())
        .count();
    assert!(
        outer < 4,
        "{outer} lines round four letters that stand closer than 3 mm"
    );
    let words = said(&p, "pounced as one").unwrap_or_else(|| panic!("{:?}", p.warnings));
    assert!(words.contains("nearer to each other than 3 mm"), "{words}");
}

/// An outline drawn round from outside is cut smaller by the marker: one that is no larger leaves no
/// hole to cut, and that is said before anything is printed; one that loses a part says how many.
#[test]
fn an_allowance_that_eats_the_outline_is_refused_in_words() {
    let outside = |outline: OutlineSpec| FeatureEdit {
        outline: Some(outline),
        drawn: Some(DrawnSide::Outside),
        ..FeatureEdit::default()
    };
    let s = job(
        [10.0, 0.0],
        outside(OutlineSpec::Circle { diameter: mm(0.9) }),
    );
    let job_now = s.ledger.fold();
    let source = Source {
        job: &job_now,
        attachments: &s.attachments,
    };
    let why = prepare_sheet(&source, &SheetOf::Feature(spot()), &id("p1"))
        .err()
        .unwrap();
    let why = why.to_string();
    assert!(
        why.contains("the soft pencil allowance of 0.5 mm leaves nothing of it to cut"),
        "{why}"
    );
    // A ring 0.8 mm wide would leave nothing either; 1.4 mm leaves 0.4.
    let ring = |inner: f64| OutlineSpec::Ring {
        outside: mm(60.0),
        hole: mm(inner),
    };
    let s = job([10.0, 0.0], outside(ring(57.2)));
    let p = made(&s, &spot());
    assert_eq!(p.cut.as_ref().unwrap().contours().len(), 2);
    assert_eq!(said(&p, "leaves nothing"), None);
}
