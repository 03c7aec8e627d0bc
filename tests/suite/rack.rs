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
    rack_of(s, Some(id("spot")))
}

fn rack_of(s: &Script, feature: Option<FeatureId>) -> RackView {
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
            feature: feature.clone(),
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
    let by_hand = view.by_hand.into_iter().next().unwrap();
    s.set(
        EntityRef::Template(id("t1")),
        &TemplateEdit {
            number: Some(by_hand.number),
            kind: Some(TemplateKind::Shell),
            feature: by_hand.of.feature().cloned(),
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
        bored: false,
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

const EXAMPLE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

/// Drill template, jig and setting plate of piece 7: printed, made, read, used, due, stale.
#[test]
fn what_is_drilled_through_hangs_like_a_stencil() {
    let opened = samespot_core::read::job::open(EXAMPLE).unwrap();
    let mut ledger = opened.ledger;
    let attachments = opened.attachments;
    let writer = Writer {
        replica: ReplicaId(500),
        who: "test".into(),
        wall: String::new(),
    };
    let of = |which: fn(FixingId) -> SheetOf| which(id("bracket"));
    let all = [of(SheetOf::Plate), of(SheetOf::Fixing), of(SheetOf::Jig)];
    for of in &all {
        let printed = {
            let job = ledger.fold();
            let source = samespot_core::prepare::Source {
                job: &job,
                attachments: &attachments,
            };
            let paper = samespot_core::sheet::Paper::A4;
            let made = samespot_core::prepare::issue(&source, of, &id("p7"), paper, "2026-11-20");
            made.unwrap().printed("2026-11-20")
        };
        // A plate is read on itself, from hole to hole or pin, not by bars on its paper.
        if !matches!(of, SheetOf::Fixing(_)) {
            assert_eq!(printed.distances.len(), 2, "{of}");
            let bars = printed.distances.iter().any(|d| d.between.contains("bar"));
            assert!(!bars, "{:?}", printed.distances);
        }
        ledger.write(&writer, &Payload::Printed(printed)).unwrap();
    }
    let look = |ledger: &Ledger| -> RackView {
        let mut desk = Desk::default();
        let job: JobId = id("quay-puffins");
        let facts = Ask::Facts {
            job: job.clone(),
            facts: ledger.facts().map(|f| f.bytes().to_owned()).collect(),
            attachments: Vec::new(),
        };
        answer(
            &mut desk,
            Request {
                number: 0,
                ask: facts,
            },
        )
        .says
        .unwrap();
        let ask = Ask::Rack {
            job,
            feature: None,
            piece: id("p7"),
        };
        match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
            Reply::Rack(view) => *view,
            other => panic!("{other:?}"),
        }
    };
    let view = look(&ledger);
    let kinds: Vec<&str> = view.to_make.iter().map(|p| p.kind.name()).collect();
    assert_eq!(kinds, ["setting plate", "drill template", "jig"]);
    assert!(view.hanging.is_empty());
    assert!(view.by_hand.iter().all(|b| b.of.fixing().is_some()));
    for (n, print) in (1..).zip(&view.to_make) {
        let fields = TemplateEdit {
            number: Some(n),
            kind: Some(print.kind),
            reference: Some(print.reference.clone()),
            check_every: Some(1),
            ..TemplateEdit::default()
        };
        let on = EntityRef::Template(id(&format!("t{n}")));
        let edit = Edit::of(on, &fields).unwrap();
        ledger.write(&writer, &Payload::Edit(edit)).unwrap();
    }
    let view = look(&ledger);
    assert!(view.to_make.is_empty());
    let titles: Vec<&str> = view.hanging.iter().map(|h| h.title.as_str()).collect();
    assert_eq!(
        titles,
        [
            "setting plate, Bracket bolts",
            "drill template, Bracket bolts",
            "jig, Bracket bolts"
        ]
    );
    for h in &view.hanging {
        assert_eq!(h.state, RackState::NotProved);
        assert!(h.says.contains("SIZE NOT PROVED"), "{}", h.says);
        // A line laid back is for what has a line.
        assert_eq!(h.room, None);
        let read = h.distances.iter().map(|d| DistanceRead {
            between: d.between.clone(),
            read: mm(d.drawn.mm()),
        });
        let fact = TemplateFact {
            template: h.id.clone(),
            day: "2026-11-21".into(),
            says: TemplateSays::Measured {
                read: read.collect(),
                class: ClassMark::I,
                // Calipers over pins, where holes are bored.
                step: Length::from_mm(if h.distances[0].bored { 0.1 } else { 0.5 }),
            },
        };
        ledger.write(&writer, &Payload::Template(fact)).unwrap();
    }
    let states = |ledger: &Ledger| -> Vec<RackState> {
        look(ledger).hanging.iter().map(|h| h.state).collect()
    };
    let before = states(&ledger);
    assert_eq!(
        before[1],
        RackState::Proved,
        "{:?}",
        look(&ledger).hanging[1]
    );
    let drilled = Payload::Drilled(DrilledFact {
        piece: id("p7"),
        fixing: id("bracket"),
        hole: 1,
        became: None,
        found: None,
    });
    ledger.write(&writer, &drilled).unwrap();
    // One piece drilled is what one check was good for; the plate has set nothing yet.
    let view = look(&ledger);
    assert_eq!(view.hanging[0].state, RackState::Proved);
    assert_eq!(view.hanging[1].state, RackState::Due);
    assert_eq!(view.hanging[2].state, RackState::Due);
    assert!(view.hanging[1].says.contains("1 piece drilled with it"));
    assert!(view.hanging.iter().all(|h| h.stale.is_none()));
    // The bracket is dimensioned to somewhere else: all three are stale.
    let fields = FixingEdit {
        right: Some(mm(3.0)),
        ..FixingEdit::default()
    };
    let edit = Edit::of(EntityRef::Fixing(id("bracket")), &fields).unwrap();
    ledger.write(&writer, &Payload::Edit(edit)).unwrap();
    let view = look(&ledger);
    for h in &view.hanging {
        let stale = h.stale.clone().unwrap();
        assert!(stale.contains("the design changed"), "{stale}");
    }
}

/// A jig that was drilled through the bracket itself: no print, and a number, a peg and a life all the
/// same. Its distances are the pattern's own: four holes 100 by 60 have diagonals of 116.6 (Pythagoras).
#[test]
fn a_jig_without_a_print_hangs_and_is_proved_from_hole_to_hole() {
    let mut s = run();
    let pattern = |across: f64| HolePattern::Rectangle {
        across: mm(across),
        up: mm(60.0),
    };
    let bracket = |pattern| FixingEdit {
        name: Some("Bracket bolts".into()),
        face: Some(id("face")),
        thread: Some("M10".into()),
        pattern: Some(pattern),
        ..FixingEdit::default()
    };
    s.set(EntityRef::Fixing(id("x")), &bracket(pattern(100.0)));
    let look = |s: &Script| rack_of(s, None);
    let offered = look(&s).by_hand.remove(0);
    assert_eq!(offered.title, "Bracket bolts");
    let drawn: Vec<(&str, f64)> = (offered.distances.iter())
        .map(|d| (d.between.as_str(), d.drawn.mm()))
        .collect();
    assert_eq!(
        drawn,
        [("hole 1 to hole 3", 116.6), ("hole 2 to hole 4", 116.6)]
    );
    s.set(
        EntityRef::Template(id("t9")),
        &TemplateEdit {
            number: Some(offered.number),
            kind: Some(TemplateKind::Jig),
            fixing: Some(id("x")),
            pieces: Some(vec![id("p1"), id("p2")]),
            distances: Some(offered.distances),
            check_every: Some(1),
            hangs: Some("peg 2".into()),
            ..TemplateEdit::default()
        },
    );
    let one = |s: &Script| look(s).hanging.remove(0);
    let h = one(&s);
    assert_eq!((h.title.as_str(), h.serves), ("jig, Bracket bolts", 2));
    assert_eq!((h.hangs.as_str(), h.state), ("peg 2", RackState::NotProved));
    assert!(h.says.contains("read hole 1 to hole 3"), "{}", h.says);
    assert_eq!(h.room, None);
    let read = h.distances.iter().map(|d| DistanceRead {
        between: d.between.clone(),
        read: mm(116.6),
    });
    let says = TemplateSays::Measured {
        read: read.collect(),
        class: ClassMark::I,
        step: Length::from_mm(0.1),
    };
    s.say(&Payload::Template(TemplateFact {
        template: id("t9"),
        day: "2026-11-20".into(),
        says,
    }));
    assert_eq!(one(&s).state, RackState::Proved);
    // A piece it does not serve is no use of it; one that it serves is.
    for (piece, state) in [("p5", RackState::Proved), ("p2", RackState::Due)] {
        s.say(&Payload::Drilled(DrilledFact {
            piece: id(piece),
            fixing: id("x"),
            hole: 1,
            became: None,
            found: None,
        }));
        assert_eq!(one(&s).state, state, "{piece}");
    }
    assert_eq!(one(&s).stale, None);
    // The bracket is made wider: 110 by 60 is 125.3 across.
    s.set(EntityRef::Fixing(id("x")), &bracket(pattern(110.0)));
    let stale = one(&s).stale.unwrap();
    assert!(
        stale.contains("hole 1 to hole 3 is 125.3 mm now, this one was made to 116.6"),
        "{stale}"
    );
}
