//! A bracket as somebody sets it out: even rows, keep-outs, room, the screw, and who lets a short
//! distance stand. Numbers are worked out by hand from the tables named beside them.

#![allow(
    clippy::unwrap_used,
    reason = "a test that fails here should stop here"
)]

use samespot_core::answer::{Ask, Desk, Reply, Request, answer};
use samespot_core::job::{
    Edit, EntityRef, Entry, FixingEdit, FixingId, HandReaches, HeldBy, HoleLayer, HolePattern,
    KeepOut, Payload, PieceId, ReplicaId, SpacingLet, Writer,
};
use samespot_core::prepare::holes::{FixingView, spacing_of};
use samespot_core::units::Length;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn mm(of: f64) -> Entry {
    Entry::of_mm(of)
}

/// The bracket of piece 7 of the example after these fields were said.
fn bracket(fields: &FixingEdit) -> FixingView {
    let mut desk = Desk::default();
    let mut opened = samespot_core::read::job::open(FILE).unwrap();
    let id: FixingId = {
        let job = opened.ledger.fold();
        job.fixings.keys().next().unwrap().clone()
    };
    let writer = Writer {
        replica: ReplicaId(500),
        who: "test".into(),
        wall: String::new(),
    };
    let said = Payload::Edit(Edit::of(EntityRef::Fixing(id), fields).unwrap());
    opened.ledger.write(&writer, &said).unwrap();
    let job = desk.take(opened);
    let ask = Ask::Holes {
        job,
        piece: PieceId::new("p7").unwrap(),
    };
    match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
        Reply::Holes(view) => view.fixings[0].clone(),
        other => unreachable!("{other:?}"),
    }
}

#[track_caller]
fn notes_say(view: &FixingView, words: &str) {
    assert!(
        view.notes.iter().any(|n| n.contains(words)),
        "no '{words}' in {:#?}",
        view.notes
    );
}

#[test]
fn holes_stand_evenly_along_an_edge() {
    // 160 − 2 × 20 leaves 120; at 70 at most that is two steps of 60: three holes.
    let along = HolePattern::Along {
        length: mm(160.0),
        start: mm(20.0),
        end: mm(20.0),
        greatest: mm(70.0),
    };
    let places = along.places().unwrap();
    let x: Vec<i64> = places
        .iter()
        .map(|p| Length::from_mm(p.x_mm()).to_um())
        .collect();
    assert_eq!(x, [-60_000, 0, 60_000]);
    assert_eq!(along.count(), 3);
    let fields = FixingEdit {
        pattern: Some(along),
        ..FixingEdit::default()
    };
    assert_eq!(bracket(&fields).holes.len(), 3);
    let none = HolePattern::Along {
        length: mm(30.0),
        start: mm(20.0),
        end: mm(20.0),
        greatest: mm(70.0),
    };
    assert!(none.places().is_err());
    assert_eq!(none.count(), 0);
}

#[test]
fn a_hole_in_a_keep_out_is_refused_by_its_number_and_reason() {
    let fields = |across: f64| FixingEdit {
        pattern: Some(HolePattern::Row {
            count: 3,
            pitch: mm(60.0),
        }),
        right: Some(mm(100.0)),
        up: Some(mm(10.0)),
        turn: Some(samespot_core::units::Angle::ZERO),
        // 160, 10 is where hole 3 is dimensioned; 20 to the right of it something lies.
        keep_outs: Some(vec![KeepOut {
            right: mm(180.0),
            up: mm(10.0),
            across: mm(across),
            why: "cable behind".into(),
        }]),
        ..FixingEdit::default()
    };
    // M10 coarse is drilled 12 (ISO 273): 6 and 14 just touch, 6 and 15 are 1 mm into it.
    let view = bracket(&fields(28.0));
    assert!(view.cannot.is_none_or(|why| !why.contains("keep-out")));
    let why = bracket(&fields(30.0)).cannot.unwrap();
    assert!(
        why.contains("hole 3 would come 1 mm into a keep-out (cable behind)"),
        "{why}"
    );
}

#[test]
fn room_decides_which_drill_goes_in() {
    for (room, words) in [
        (300.0, "a straight drill goes in"),
        (299.0, "an angle drill"),
        (110.0, "an angle drill"),
        (109.0, "not even an angle drill"),
    ] {
        let fields = FixingEdit {
            room: Some(mm(room)),
            ..FixingEdit::default()
        };
        notes_say(&bracket(&fields), words);
    }
}

#[test]
fn the_screw_is_the_next_standard_length() {
    let skin = vec![HoleLayer {
        name: "skin".into(),
        measured: Some(mm(7.0)),
        glass: Vec::new(),
    }];
    let fields = |held, reaches, layers: &[HoleLayer]| FixingEdit {
        thread: Some("M10".into()),
        plate: Some(mm(10.0)),
        layers: Some(layers.to_vec()),
        held_by: Some(held),
        hand_reaches: Some(reaches),
        ..FixingEdit::default()
    };
    // 7 + 10 + a large washer of 2.5 (ISO 7093-1) = 19.5: 20 (ISO 888).
    notes_say(
        &bracket(&fields(HeldBy::TappedPlate, HandReaches::No, &skin)),
        "come to 19.5 mm; the next standard length is M10 × 20",
    );
    // Two washers, a nut of 0.9 × 10 and two threads of 1.5: 7 + 10 + 5 + 9 + 3 = 34: 35.
    notes_say(
        &bracket(&fields(HeldBy::LooseNut, HandReaches::Yes, &skin)),
        "come to 34 mm; the next standard length is M10 × 35",
    );
    // Nothing is said of a screw through a skin that is only reckoned from its glass.
    let reckoned = [HoleLayer {
        measured: None,
        glass: vec!["450 g".into()],
        ..skin[0].clone()
    }];
    let view = bracket(&fields(HeldBy::TappedPlate, HandReaches::No, &reckoned));
    assert!(view.notes.iter().all(|n| !n.contains("standard length")));
}

#[test]
fn an_engineer_lets_a_short_distance_stand_until_it_changes() {
    let short = |to_edge: f64| FixingEdit {
        thread: Some("M10".into()),
        to_edge: Some(mm(to_edge)),
        pattern: Some(HolePattern::Row {
            count: 2,
            pitch: mm(60.0),
        }),
        ..FixingEdit::default()
    };
    // 3 × 10 to an edge (EUROCOMP 1996 5.2.2, shared checks G10, from memory there too).
    assert!(spacing_of(&short(30.0)).unwrap().short.is_empty());
    let said = spacing_of(&short(25.0)).unwrap();
    assert_eq!((said.short.len(), said.stands), (1, None));
    let let_stand = |to_edge: f64| FixingEdit {
        spacing_let: Some(SpacingLet {
            initials: "AB".into(),
            reason: "thickened there".into(),
            thread: "M10".into(),
            to_edge: Some(Length::from_mm(25.0)),
            pitch: Some(Length::from_mm(60.0)),
        }),
        ..short(to_edge)
    };
    let view = bracket(&let_stand(25.0));
    notes_say(&view, "25.0 mm to the edge");
    notes_say(&view, "Let stand by AB: thickened there");
    let nearer = bracket(&let_stand(20.0));
    notes_say(&nearer, "AB let another bolt or other distances stand");
    assert!(nearer.notes.iter().all(|n| !n.contains("Let stand by")));
}
