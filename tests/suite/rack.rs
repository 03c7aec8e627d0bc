//! Templates as things: made without a print, laid back on what is right, worn, due, on another issue.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use samespot_core::answer::{Ask, Desk, Hanging, RackState, RackView, Reply, Request, answer};
use samespot_core::job::*;
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id, mm};

fn run() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 8);
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            tolerance: Some(Length::from_mm(6.0)),
            ..FeatureEdit::default()
        },
    );
    s
}

fn rack(s: &Script) -> RackView {
    let mut desk = Desk::default();
    let job: JobId = id("test-job");
    let asks = [
        Ask::Facts {
            job: job.clone(),
            facts: s.ledger.facts().map(|f| f.bytes().to_owned()).collect(),
            attachments: Vec::new(),
        },
        Ask::Rack {
            job,
            feature: Some(id("spot")),
            piece: id("p3"),
        },
    ];
    for (number, ask) in (0..).zip(asks) {
        if let Ok(Reply::Rack(view)) = answer(&mut desk, Request { number, ask }).says {
            return *view;
        }
    }
    panic!("no rack");
}

fn made(s: &mut Script, distances: Vec<CheckDistance>) {
    let view = rack(s);
    let by_hand = view.by_hand.unwrap();
    s.set(
        EntityRef::Template(id("t1")),
        &TemplateEdit {
            number: Some(by_hand.number),
            kind: Some(TemplateKind::Shell),
            feature: Some(by_hand.feature),
            pieces: Some(vec![id("p1"), id("p2"), id("p3")]),
            issue: by_hand.issue,
            distances: Some(distances),
            check_every: Some(2),
            ..TemplateEdit::default()
        },
    );
}

fn happened(s: &mut Script, says: TemplateSays) {
    s.say(&Payload::Template(TemplateFact {
        template: id("t1"),
        day: "2026-11-20".into(),
        says,
    }));
}

fn back(s: &mut Script, top: f64) {
    let room = one(s).room.unwrap();
    happened(
        s,
        TemplateSays::LaidBack {
            on: "the pattern".into(),
            gaps: Box::new(LayBackRead {
                top: mm(top),
                right: mm(0.0),
                bottom: mm(0.0),
                left: mm(0.0),
            }),
            room,
        },
    );
}

fn checked(s: &mut Script, piece: &str) {
    s.say(&Payload::Check(Box::new(CheckFact {
        piece: id(piece),
        feature: id("spot"),
        readings: Vec::new(),
        note: String::new(),
        lay_back: None,
        found: None,
        stage: None,
        gauge: None,
        reference: None,
    })));
}

fn one(s: &Script) -> Hanging {
    rack(s).hanging.remove(0)
}

#[test]
fn a_shell_without_a_print_lives_by_its_lay_back() {
    let mut s = run();
    made(&mut s, Vec::new());
    let h = one(&s);
    assert_eq!((h.state, h.serves), (RackState::NotProved, 3));
    assert!(h.says.contains("lay it back"), "{}", h.says);
    // A third of what the feature may be out (design/10 §7.2: a gauge takes a third at the most).
    assert!((h.room.unwrap().mm() - 2.0).abs() < 1e-9);
    back(&mut s, 3.0);
    assert_eq!(one(&s).state, RackState::Wrong);
    back(&mut s, 1.8);
    assert_eq!(one(&s).state, RackState::NotProved);
    back(&mut s, -0.5);
    assert_eq!(one(&s).state, RackState::Proved);
    // A piece it does not serve is no use of it; two that it serves are.
    checked(&mut s, "p8");
    checked(&mut s, "p1");
    assert_eq!(one(&s).state, RackState::Proved);
    checked(&mut s, "p2");
    assert_eq!(one(&s).state, RackState::Due);
    back(&mut s, 0.0);
    assert_eq!(one(&s).state, RackState::Proved);
    happened(
        &mut s,
        TemplateSays::Worn {
            how: "the lip is split".into(),
        },
    );
    let h = one(&s);
    assert_eq!(h.state, RackState::Worn);
    assert!(h.says.contains("the lip is split"), "{}", h.says);
    back(&mut s, 0.0);
    assert_eq!(one(&s).state, RackState::Proved);
    happened(
        &mut s,
        TemplateSays::Retired {
            why: "number 2 replaces it".into(),
        },
    );
    assert!(one(&s).says.contains("number 2 replaces it"));
}

#[test]
fn a_distance_given_by_hand_is_read_like_a_printed_one_and_the_line_still_counts() {
    let mut s = run();
    let distance = CheckDistance {
        between: "pin A to pin C".into(),
        drawn: Length::from_mm(400.0),
        within: Length::from_mm(1.0),
    };
    made(&mut s, vec![distance]);
    assert!(one(&s).says.contains("read pin A to pin C"));
    let read = |s: &mut Script, value: f64| {
        happened(
            s,
            TemplateSays::Measured {
                read: vec![DistanceRead {
                    between: "pin A to pin C".into(),
                    read: mm(value),
                }],
                class: ClassMark::I,
                step: Length::from_mm(0.5),
            },
        );
    };
    read(&mut s, 400.0);
    assert_eq!(one(&s).state, RackState::Proved);
    // The distance is right and the knife slipped.
    back(&mut s, 4.0);
    let h = one(&s);
    assert_eq!((h.state, h.lines.len()), (RackState::Wrong, 2));
    assert!(h.says.contains("Its line is off"), "{}", h.says);
    // Reading the distance again does not mend the line.
    read(&mut s, 400.0);
    assert_eq!(one(&s).state, RackState::Wrong);
}

#[test]
fn one_made_to_an_older_issue_says_so() {
    let mut s = run();
    s.set(
        EntityRef::Issue(id("i1")),
        &IssueEdit {
            number: Some(1),
            ..IssueEdit::default()
        },
    );
    made(&mut s, Vec::new());
    assert_eq!(one(&s).stale, None);
    s.set(
        EntityRef::Issue(id("i2")),
        &IssueEdit {
            number: Some(2),
            from_piece: Some(3),
            ..IssueEdit::default()
        },
    );
    let stale = one(&s).stale.unwrap();
    assert!(stale.contains("Piece 3 is made to issue 2"), "{stale}");
}

#[test]
fn a_list_of_pieces_is_read_as_it_is_written() {
    let job = run().ledger.fold();
    let read = |typed: &str| {
        let pieces = job.pieces_listed(typed)?;
        Ok::<_, String>(pieces.iter().map(|p| job.number_of(p)).collect::<Vec<_>>())
    };
    assert_eq!(read("1 to 3, 7").unwrap(), [1, 2, 3, 7]);
    assert_eq!(read("7; 2–4, 3").unwrap(), [2, 3, 4, 7]);
    assert_eq!(read(" 5 ").unwrap(), [5]);
    for (typed, says) in [
        ("", "no piece or run"),
        ("a", "no piece or run"),
        ("1 to", "no piece or run"),
        ("4 to 2", "runs backwards: type 2 to 4"),
        ("7 to 12", "no piece 12"),
        ("99", "no piece 99"),
        ("4294967296", "no piece or run"),
    ] {
        let why = read(typed).unwrap_err();
        assert!(why.contains(says), "{typed}: {why}");
    }
}
