//! What of edges is asked for on castings, and how many readings a face takes.

use super::*;
use samespot_core::job::WeightedMark;
use samespot_core::prepare::walk::{AskState, AskedReading, Walk, walk};

fn walked(s: &Script) -> Walk {
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    walk(&source, &id("c1")).unwrap()
}

/// What follows an edge has it read square on every casting: from the two marks furthest apart along
/// it, near what the pattern says less the mould's 2 in 1000, and nearer once it was read.
#[test]
fn an_edge_that_is_followed_is_asked_for() {
    let mut s = panel(FaceShape::Flat);
    half_way(&mut s);
    let squares = |s: &Script| -> Vec<AskedReading> {
        let all = walked(s).asks.into_iter();
        all.filter(|a| matches!(a.of, Measured::Square { .. }))
            .collect()
    };
    let asked = squares(&s);
    let of = |to: &str| Measured::Square {
        edge: id("e"),
        to: point(to),
    };
    let all: Vec<_> = asked.iter().map(|a| a.of.clone()).collect();
    assert_eq!(all, [of("a"), of("b")]);
    for ask in &asked {
        assert!(ask.state.is_to_read());
        assert!(ask.why.as_ref().unwrap().contains("follows edge E"));
        let e = ask.expected.unwrap();
        // 150 on the pattern: 149.7.
        assert!((e.middle.mm() - 149.7).abs() < 0.05, "{e:?}");
        assert!(e.low.mm() > 135.0 && e.high.mm() < 165.0, "{e:?}");
    }
    // The square lies in hand for both, after the tapes.
    assert!(walked(&s).asks.len() <= 6);
    s.over("c1", "a", "b", 399.2);
    s.over("c1", "a", "b", 399.2);
    square(&mut s, "c1", "e", "a", 152.0);
    square(&mut s, "c1", "e", "b", 152.0);
    let read = squares(&s);
    assert_eq!(read.len(), 2);
    for (now, before) in read.iter().zip(&asked) {
        assert!(matches!(now.state, AskState::Read { .. }));
        let (e, was) = (now.expected.unwrap(), before.expected.unwrap());
        assert!((e.middle.mm() - 152.0).abs() < 0.2, "{e:?}");
        assert!((e.high - e.low) < (was.high - was.low) * 0.5, "{e:?}");
    }
    // What follows two edges asks for both of them; what follows marks alone for none.
    let mut both = panel(FaceShape::Flat);
    assert_eq!(squares(&both).len(), 3);
    both.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::Line {
                from: id("a"),
                to: id("b"),
                side: None,
                along: Follow::DifferenceSplit,
                across: None,
            }),
            ..FeatureEdit::default()
        },
    );
    assert!(squares(&both).is_empty());
}

/// Six readings a face at most by default (design/02). Three marks take three distances, the edge that the
/// sheet lies along two, the one it is pushed up to one: from A, which lies 30 along it from the spot (C lies
/// 1030). How that edge leans is the drawing's then: 2 in 500 as marks stray, 0.12 mm in 30 (by hand).
#[test]
fn two_edges_and_three_marks_take_six_readings_and_lose_next_to_nothing() {
    let mut s = panel(FaceShape::Flat);
    let first = walked(&s);
    assert_eq!(first.asks.len(), 6, "{:?}", first.asks);
    let of_end: Vec<&AskedReading> = (first.asks.iter())
        .filter(|a| matches!(&a.of, Measured::Square { edge, .. } if *edge == id("f")))
        .collect();
    let [one] = of_end.as_slice() else {
        unreachable!("{of_end:?}")
    };
    assert!(one.of.touches(&point("a")), "{:?}", one.of);
    assert!(
        one.why.as_ref().unwrap().contains("from the drawing"),
        "{:?}",
        one.why
    );
    // All six read on a casting whose left edge leans half a degree from the drawing: by 30 mm that is
    // 30·sin 0.5° = 0.26, which is all that the reading left out could have told.
    let lean = 0.5_f64.to_radians();
    for (from, to, apart) in [
        ("a", "b", 400.0),
        ("a", "c", 1000.0),
        ("b", "c", 400.0_f64.hypot(1000.0)),
    ] {
        let of = Measured::Straight {
            from: point(from),
            to: point(to),
        };
        s.read("c1", of, apart);
    }
    square(&mut s, "c1", "e", "a", 150.0);
    square(&mut s, "c1", "e", "b", 150.0);
    square(
        &mut s,
        "c1",
        "f",
        "a",
        100.0 * lean.cos() + 150.0 * lean.sin(),
    );
    let done = walked(&s);
    assert!(done.asks.iter().all(|a| !a.state.is_to_read()));
    let p = made(&s).unwrap();
    assert!((off(&p.edges[0]) - 120.0).abs() < 0.01);
    assert!(
        (off(&p.edges[1]) - 40.0).abs() < 0.3,
        "{}",
        off(&p.edges[1])
    );
}

/// Four marks that one feature follows take five distances, an edge beside them two: seven are asked, and
/// why is said.
#[test]
fn where_more_than_six_are_asked_it_is_said_why() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 1);
    s.set(
        EntityRef::Edge(id("e")),
        &EdgeEdit {
            face: Some(id("face")),
            letter: Some("E".into()),
            lies: Some(EdgeLies::Below),
            ..EdgeEdit::default()
        },
    );
    for mark in ["c", "d"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    let places: [(&str, f64, f64); 4] = [
        ("a", 100.0, 150.0),
        ("b", 500.0, 150.0),
        ("c", 100.0, 950.0),
        ("d", 500.0, 850.0),
    ];
    for (k, (from, x, y)) in places.iter().enumerate() {
        for (to, u, v) in &places[k + 1..] {
            s.over("pattern", from, to, (x - u).hypot(y - v));
        }
        square(&mut s, "pattern", "e", from, *y);
    }
    s.over("pattern", "a", "spot", 100.0);
    s.over("pattern", "b", "spot", 200.0_f64.hypot(400.0));
    half_way(&mut s);
    let says = |s: &Script| {
        let job = s.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        let walk = walk(&source, &id("c1")).unwrap();
        (walk.asks.len(), walk.says.join(" | "))
    };
    // Only A and B are followed: a distance, once more as a check, and two squares.
    let (few, said) = says(&s);
    assert!(few <= 6 && !said.contains("readings,"), "{few}: {said}");
    // A second feature takes all four marks.
    s.set(
        EntityRef::Feature(id("other")),
        &FeatureEdit {
            face: Some(id("face")),
            name: Some("Other".into()),
            rule: Some(RuleSpec::BestFit {
                marks: ["a", "b", "c", "d"]
                    .map(|m| WeightedMark {
                        mark: id(m),
                        weight: 1.0,
                    })
                    .into(),
                scale: false,
            }),
            ..FeatureEdit::default()
        },
    );
    let (many, said) = says(&s);
    assert_eq!(many, 7, "{said}");
    assert!(
        said.contains("7 readings, 5 for its marks and 2 for its edges"),
        "{said}"
    );
}
