//! The quick template's cards against the ordinary job they become.
//!
//! The counts (four cards, at most 8 numbers, piece 2 for one number) are those of the shared
//! design, page 05; the arithmetic that follows is checked in the suites of its own modules.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a failed unwrap fails the test"
)]

use samespot_core::job::{
    Entry, FaceShape, FeatureId, Follow, JobId, Ledger, LineSide, Measured, OutlineSpec, Payload,
    QuickCards, QuickIds, QuickPiece, ReplicaId, Size, Writer,
};
use samespot_core::prepare::{Source, issue};
use samespot_core::sheet::Paper;
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;

fn writer() -> Writer {
    Writer {
        replica: ReplicaId(7),
        who: String::new(),
        wall: String::new(),
    }
}

fn mm(mm: f64) -> Entry {
    Entry::of_mm(mm)
}

/// An oval on a dome, eight numbers in all with the straight-edge and gap.
fn cards() -> QuickCards {
    QuickCards {
        title: "Eye".into(),
        outline: Some(OutlineSpec::Oval {
            width: mm(62.0),
            height: mm(48.0),
        }),
        lies_on: Some(FaceShape::Dome {
            hollow: false,
            size: Size::StraightEdge {
                length: mm(200.0),
                gap: mm(17.0),
                read_to: None,
            },
        }),
        a_to_b: Some(mm(312.0)),
        a_to_centre: Some(mm(184.0)),
        b_to_centre: Some(mm(171.0)),
        side: Some(LineSide::Above),
        pieces: vec![QuickPiece {
            number: 1,
            a_to_b: Some(mm(309.0)),
        }],
        ..QuickCards::default()
    }
}

fn say(ledger: &mut Ledger, payloads: &[Payload]) {
    for payload in payloads {
        ledger.write(&writer(), payload).unwrap();
    }
}

fn job_of(cards: &QuickCards) -> Ledger {
    let mut ledger = Ledger::new(JobId::new("q1").unwrap());
    say(&mut ledger, &cards.payloads("2025-11-25").unwrap());
    ledger
}

fn update(ledger: &mut Ledger, cards: &QuickCards) -> usize {
    let changes = cards.changes(ledger, &ledger.fold(), "2025-11-26").unwrap();
    say(ledger, &changes);
    changes.len()
}

#[test]
fn the_cards_are_read_back_from_the_job_as_they_were_filled_in() {
    let job = job_of(&cards()).fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    assert_eq!(QuickCards::of_job(&job), Some(cards()));
    assert!(cards().ready(1) && !cards().ready(2));
}

#[test]
fn what_is_not_filled_in_yet_is_not_invented() {
    let empty = QuickCards {
        pieces: Vec::new(),
        ..QuickCards::default()
    };
    let job = job_of(&empty).fold();
    assert!(job.problems.is_empty() && job.readings.is_empty() && job.faces.is_empty());
    let spot = job.features.get(&FeatureId::new("spot").unwrap()).unwrap();
    assert_eq!((spot.outline.as_ref(), spot.side), (None, None));
    assert_eq!(QuickCards::of_job(&job), Some(empty));
}

#[test]
fn the_defaults_are_those_of_the_design() {
    let job = job_of(&cards()).fold();
    let spot = job.features.values().next().unwrap();
    assert_eq!(spot.tolerance, Some(Length::from_mm(3.0)));
    let tape = job.instruments.values().next().unwrap();
    assert_eq!(tape.class, Some(samespot_core::job::ClassMark::II));
    assert_eq!(
        tape.kind,
        Some(samespot_core::job::InstrumentKind::SoftTape)
    );
    assert!(
        job.readings
            .iter()
            .all(|r| matches!(r.says.of, Measured::Over { .. }))
    );
}

#[test]
fn saying_the_same_again_says_nothing() {
    let mut ledger = job_of(&cards());
    assert_eq!(update(&mut ledger, &cards()), 0);
}

#[test]
fn a_changed_number_corrects_its_reading_and_nothing_else() {
    let mut ledger = job_of(&cards());
    let mut changed = cards();
    changed.a_to_centre = Some(mm(185.0));
    let changes = changed.changes(&ledger, &ledger.fold(), "d").unwrap();
    assert!(
        matches!(changes.as_slice(), [Payload::Correct(_)]),
        "{changes:?}"
    );
    say(&mut ledger, &changes);
    assert_eq!(QuickCards::of_job(&ledger.fold()), Some(changed));
}

#[test]
fn an_emptied_number_is_withdrawn_and_can_come_back() {
    let mut ledger = job_of(&cards());
    let mut emptied = cards();
    emptied.b_to_centre = None;
    assert_eq!(update(&mut ledger, &emptied), 1);
    assert_eq!(QuickCards::of_job(&ledger.fold()), Some(emptied));
    assert_eq!(update(&mut ledger, &cards()), 1);
    assert_eq!(QuickCards::of_job(&ledger.fold()), Some(cards()));
}

#[test]
fn the_second_piece_costs_one_number() {
    let mut ledger = job_of(&cards());
    let mut two = cards();
    two.pieces.push(QuickPiece {
        number: 2,
        a_to_b: Some(mm(314.0)),
    });
    let changes = two.changes(&ledger, &ledger.fold(), "d").unwrap();
    let readings = changes
        .iter()
        .filter(|c| matches!(c, Payload::Reading(_)))
        .count();
    assert_eq!(readings, 1, "{changes:?}");
    say(&mut ledger, &changes);
    let job = ledger.fold();
    assert_eq!(job.marriages.len(), 2);
    assert_eq!(QuickCards::of_job(&job), Some(two.clone()));
    assert!(two.ready(2));
}

/// What was printed is not to be scrapped because the next piece's number came in.
#[test]
fn a_piece_more_leaves_the_sheet_of_the_first_as_it_was() {
    let one = cards();
    let mut two = cards();
    two.pieces.push(QuickPiece {
        number: 2,
        a_to_b: Some(mm(314.0)),
    });
    let reference = |cards: &QuickCards| {
        let job = job_of(cards).fold();
        let source = Source {
            job: &job,
            attachments: &Attachments::new(),
        };
        let spot = QuickIds::fixed().unwrap().spot;
        let (_, piece) = QuickIds::piece(1).unwrap();
        let made = issue(&source, &spot, &piece, Paper::A4, "2025-11-26").unwrap();
        made.drawing.reference
    };
    assert_eq!(reference(&one), reference(&two));
}

#[test]
fn another_rule_or_another_way_of_taping_keeps_the_numbers() {
    let mut ledger = job_of(&cards());
    let mut changed = cards();
    changed.along = Follow::FixedDistance;
    changed.lay = samespot_core::job::TapeLay::Straight;
    update(&mut ledger, &changed);
    let job = ledger.fold();
    assert_eq!(QuickCards::of_job(&job), Some(changed));
    assert!(
        job.readings
            .iter()
            .all(|r| matches!(r.says.of, Measured::Straight { .. }))
    );
}

#[test]
fn undo_takes_back_one_thing_at_a_time() {
    let mut ledger = job_of(&cards());
    let mut changed = cards();
    changed.a_to_b = Some(mm(313.0));
    update(&mut ledger, &changed);
    let undo = ledger.undo(writer().replica).unwrap();
    say(&mut ledger, &[undo]);
    assert_eq!(QuickCards::of_job(&ledger.fold()), Some(cards()));
    let redo = ledger.redo(writer().replica).unwrap();
    say(&mut ledger, &[redo]);
    assert_eq!(QuickCards::of_job(&ledger.fold()), Some(changed));
}

#[test]
fn questions_and_answers_survive_the_way_to_the_worker_and_back() {
    use samespot_core::answer::{Answer, Ask, Desk, Reply, Request, answer};
    use samespot_core::job::PieceId;
    let ledger = job_of(&cards());
    let mut desk = Desk::default();
    let mut put = |ask: Ask| -> Reply {
        let sent = serde_json::to_string(&Request { number: 1, ask }).unwrap();
        let back = answer(&mut desk, serde_json::from_str(&sent).unwrap());
        let read: Answer = serde_json::from_str(&serde_json::to_string(&back).unwrap()).unwrap();
        read.says.unwrap()
    };
    let job = ledger.job_id().clone();
    let facts: Vec<String> = ledger.everything().map(|f| f.bytes().to_owned()).collect();
    let count = facts.len();
    let told = put(Ask::Facts {
        job: job.clone(),
        facts,
        attachments: Vec::new(),
    });
    assert_eq!(told, Reply::Known { facts: count });
    let live = put(Ask::Live {
        job,
        feature: FeatureId::new("spot").unwrap(),
        piece: PieceId::new("1").unwrap(),
    });
    let Reply::Live(live) = live else {
        panic!("{live:?}")
    };
    assert_eq!(live.crosses.len(), 2);
}

/// The picture of the cards as it is asked for at each keystroke.
fn prepared(cards: &QuickCards) -> (samespot_core::prepare::Prepared, Option<String>) {
    let job = job_of(cards).fold();
    let attachments = Attachments::new();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let (_, piece) = QuickIds::piece(1).unwrap();
    let p =
        samespot_core::prepare::prepare(&source, &QuickIds::fixed().unwrap().spot, &piece).unwrap();
    let says = samespot_core::prepare::tighter(&source, &p);
    (p, says)
}

/// Two marks 312 apart on a dome fail their default of 3.0 with a soft tape: what is said passes.
#[test]
fn cards_that_fail_say_what_would_do() {
    let failing = QuickCards {
        b_to_centre: Some(mm(150.0)),
        ..cards()
    };
    let (p, says) = prepared(&failing);
    assert!(p.budget.worst > p.allowed, "{:?}", p.budget);
    let says = says.unwrap();
    assert!(says.contains("the three lengths on the good one"), "{says}");
    // What it says would pass does.
    let (_, after) = says.split_once("llow ").unwrap();
    let allow: f64 = after.split(' ').next().unwrap().parse().unwrap();
    assert!(
        (allow * 2.0).fract() == 0.0 && allow - p.budget.worst.mm() < 0.5,
        "{says}"
    );
    let eased = QuickCards {
        within: Length::from_mm(allow),
        ..failing
    };
    let (p, says) = prepared(&eased);
    assert!(p.budget.worst <= p.allowed && says.is_none(), "{says:?}");
}

/// By the law of cosines on the flat, marks 312 apart: from 250 and 80 the lines meet at
/// cos = (250² + 80² − 312²)/(2·250·80) = −0.711, 135°; from 240 and 200 at 0.003, 90°.
#[test]
fn lines_that_meet_flat_are_said() {
    let flat = |ac: f64, bc: f64| QuickCards {
        lies_on: Some(FaceShape::Flat),
        a_to_centre: Some(mm(ac)),
        b_to_centre: Some(mm(bc)),
        within: Length::from_mm(1.0),
        ..cards()
    };
    let (_, badly) = prepared(&flat(250.0, 80.0));
    let badly = badly.unwrap();
    assert!(badly.contains("nearer a right angle, now 135°"), "{badly}");
    let (_, well) = prepared(&flat(240.0, 200.0));
    assert!(!well.unwrap().contains("right angle"));
}
