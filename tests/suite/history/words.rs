//! What entries are told in: the words of the screen that made them, whatever kind they are of.

use super::{by, history};
use samespot_core::job::*;
use samespot_core::prepare::history::{Difference, Stands};
use samespot_core::read::job::open;
use samespot_core::units::{Angle, Length};
use samespot_tests::jobs::{Script, id, mm};

const EXAMPLES: [&[u8]; 2] = [
    include_bytes!("../../../public/examples/quay-puffins.samespot"),
    include_bytes!("../../../public/examples/regatta-otters.samespot"),
];

fn script() -> Script {
    Script::one_face(FaceShape::Flat, &["a", "b", "c"], 3)
}

fn said(d: &Difference) -> String {
    let is = d.is.clone().unwrap_or_default();
    match &d.was {
        Some(was) => format!("{}: {is}, before: {was}", d.what),
        None => format!("{}: {is}", d.what),
    }
}

/// What the newest entry says, after what it is about.
fn newest(s: &Script) -> (String, Vec<String>) {
    let entry = history(&s.ledger, "", None).entries.remove(0);
    (
        entry.about.clone(),
        entry.changed.iter().map(said).collect(),
    )
}

fn typed(typed: &str, mm: f64) -> Entry {
    Entry {
        typed: typed.into(),
        ..Entry::of_mm(mm)
    }
}

/// As the Changes screen writes it: the number as typed, the side chosen beside it.
fn lower(s: &mut Script, issue: &str, number: u32) -> FactId {
    s.set(
        EntityRef::Issue(id(issue)),
        &IssueEdit {
            number: Some(number),
            from_piece: Some(2),
            asked_by: Some("the client".into()),
            amends: Some(vec![Amendment {
                feature: id("spot"),
                change: Change::Moved {
                    right: typed("0", 0.0),
                    up: typed("14", -14.0),
                },
            }]),
            ..IssueEdit::default()
        },
    )
}

#[test]
fn a_change_is_told_as_the_screen_said_it_and_keeps_its_number_when_taken_back() {
    let mut s = script();
    let fact = lower(&mut s, "i9cqngh24", 3);
    let (about, lines) = newest(&s);
    assert_eq!(about, "issue 3");
    assert_eq!(
        lines,
        [
            "changes: Spot: moved 14 mm down",
            "asked for by: the client",
            "from piece: 2",
            "number: 3"
        ]
    );
    s.say(&Payload::Withdraw(Withdrawal { target: fact }));
    let view = history(&s.ledger, "", None);
    for entry in &view.entries[..2] {
        assert_eq!(entry.about, "issue 3");
    }
    assert_eq!(
        said(&view.entries[0].changed[0]),
        "took back: changes: Spot: moved 14 mm down"
    );
    assert!(matches!(view.entries[1].stands, Stands::TakenBack { .. }));
    // A decision about it that came in later names it by its number too.
    s.say(&Payload::Amended(AmendedFact {
        issue: id("i9cqngh24"),
        piece: id("p2"),
        feature: id("spot"),
        decided: Decided::Reworked,
    }));
    assert_eq!(
        newest(&s),
        (
            "piece 2".into(),
            vec!["Spot by issue 3: made again".to_owned()]
        )
    );
}

/// The number alone would say the other way round; hundredths are not rounded away.
#[test]
fn a_length_is_written_once_with_its_side() {
    let mut s = script();
    for (text, value, told) in [
        ("60", -60.0, "−60 mm"),
        ("-60", -60.0, "−60 mm"),
        ("0.25", -0.25, "−0.25 mm"),
        ("0.25", 0.25, "0.25 mm"),
        ("184", 184.0, "184 mm"),
        ("1/2 in", 12.7, "1/2 in (= 12.7 mm)"),
    ] {
        s.set(
            EntityRef::Joint(id("j1")),
            &JointEdit {
                locating_dimension: Some(typed(text, value)),
                ..JointEdit::default()
            },
        );
        assert!(
            newest(&s).1[0].starts_with(&format!("locating dimension: {told}")),
            "{:?}",
            newest(&s).1
        );
    }
}

#[test]
fn what_was_taken_out_or_taken_back_keeps_its_name() {
    let mut s = script();
    s.set(
        EntityRef::Instrument(id("t8fk2m4q1")),
        &InstrumentEdit {
            name: Some("yellow tape".into()),
            kind: Some(InstrumentKind::SteelRule),
            ..InstrumentEdit::default()
        },
    );
    assert_eq!(
        newest(&s),
        (
            "instrument yellow tape".into(),
            vec!["kind: steel rule".into(), "name: yellow tape".into()]
        )
    );
    s.say(&Payload::Remove(Removal {
        entity: EntityRef::Instrument(id("t8fk2m4q1")),
    }));
    assert_eq!(newest(&s).0, "instrument yellow tape");
    // A piece that was numbered, and whose numbering was taken back.
    let numbered = s.set(
        EntityRef::Piece(id("p7gw3x9z2")),
        &PieceEdit {
            number: Some(9),
            batch: None,
        },
    );
    s.say(&Payload::Withdraw(Withdrawal { target: numbered }));
    assert_eq!(newest(&s).0, "piece 9");
    // A reading that was left out, then taken back itself.
    let read = s.over("c1", "a", "b", 310.0);
    s.say(&Payload::Measuring(MeasuringFact {
        casting: id("c1"),
        says: MeasuringSays::SetAside {
            reading: read,
            why: "tape slipped".into(),
        },
    }));
    let (_, before) = newest(&s);
    s.say(&Payload::Withdraw(Withdrawal { target: read }));
    let after = &history(&s.ledger, "", None).entries[1];
    assert_eq!(
        before,
        ["A to B, over the surface, on face, 310: left out: tape slipped"]
    );
    assert_eq!(
        said(&after.changed[0]),
        "A to B, over the surface, on face, 310 mm: left out: tape slipped"
    );
}

#[test]
fn before_is_what_the_same_reading_said() {
    let mut s = script();
    let first = s.over("c1", "a", "b", 310.0);
    let second = s.over("c1", "a", "b", 311.0);
    // The second reading replaces nothing.
    assert_eq!(newest(&s).1, ["A to B, over the surface, on face: 311 mm"]);
    let correct = |target, value: f64| {
        Payload::Correct(Correction {
            target,
            value: mm(value),
            reason: "read again".into(),
        })
    };
    s.say(&correct(first, 312.0));
    assert_eq!(
        newest(&s).1,
        ["A to B, over the surface, on face: 312 mm, corrected: read again, before: 310 mm"]
    );
    s.say(&correct(second, 311.5));
    assert!(
        newest(&s).1[0].ends_with("before: 311 mm"),
        "{s:?}",
        s = newest(&s)
    );
    // Elsewhere the same reading was put right without knowing of that: before is what was seen there.
    let mut here = s.ledger.clone();
    let mut there = s.ledger.clone();
    here.write(&by(1), &correct(first, 309.0)).unwrap();
    there.write(&by(2), &correct(first, 308.0)).unwrap();
    here.merge(&there).unwrap();
    let view = history(&here, "", None);
    for entry in &view.entries[..2] {
        let was = entry.changed[0].was.as_deref();
        assert_eq!(was, Some("312 mm, corrected: read again"), "{entry:?}");
    }
}

#[test]
fn settings_are_words_not_codes() {
    let mut s = script();
    s.set(
        EntityRef::Fixing(id("x5t7")),
        &FixingEdit {
            name: Some("Bracket bolts".into()),
            face: Some(id("face")),
            from: Some(id("a")),
            right: Some(typed("14", -14.0)),
            up: Some(typed("20", 20.0)),
            turn: Some(Angle::from_deg(90.0)),
            pattern: Some(HolePattern::BoltCircle {
                count: 4,
                diameter: mm(96.0),
                first: Some(Angle::from_deg(45.0)),
            }),
            purpose: Some(HolePurpose::Bolt),
            held_by: Some(HeldBy::TappedPlate),
            ..FixingEdit::default()
        },
    );
    let (about, lines) = newest(&s);
    assert_eq!(about, "Bracket bolts");
    for line in [
        "face: face",
        "from: mark A on face",
        "sideways: 14 mm to the left",
        "up or down: 20 mm up",
        "turn: 90°",
        "pattern: bolt circle, count 4, diameter 96 mm, first 45°",
        "held by: tapped plate",
    ] {
        assert!(lines.iter().any(|l| l == line), "{line}: {lines:?}");
    }
    s.say(&Payload::Drilled(DrilledFact {
        piece: id("p1"),
        fixing: id("x5t7"),
        hole: 4,
        became: None,
        found: None,
    }));
    assert_eq!(newest(&s).1, ["hole 4 of Bracket bolts: drilled as asked"]);
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            tolerance: Some(Length::from_mm(2.5)),
            allowance: Some(Length::from_mm(0.25)),
            outline: Some(OutlineSpec::Oval {
                width: mm(70.0),
                height: mm(42.0),
            }),
            marker: Some(Marker::SoftPencil),
            ..FeatureEdit::default()
        },
    );
    assert_eq!(
        newest(&s).1,
        [
            "allowance: 0.25 mm",
            "marker: soft pencil",
            "outline: an oval 70 × 42 mm, before: a circle 60 mm across",
            "tolerance: 2.5 mm, before: 3 mm",
        ]
    );
    s.say(&Payload::Printed(Printed {
        of: SheetOf::Jig(id("x5t7")),
        pieces: vec![id("p1"), id("p2")],
        reference: "ABCDEFGHIJ".into(),
        day: "2026-11-28".into(),
        inputs: PrintedInputs::default(),
        distances: Vec::new(),
    }));
    assert_eq!(newest(&s).1, ["jig printed for pieces 1, 2: ABCDEFGHIJ"]);
}

/// The kinds that the examples have few or none of: each says what a person did, in a person's words.
#[test]
fn kinds_that_are_seldom_are_told_in_words_too() {
    let mut s = script();
    s.set(
        EntityRef::Mould(id("m4k8")),
        &MouldEdit {
            name: Some("Cap".into()),
            sections: Some(vec![Section {
                id: id("s3q9"),
                name: "Front half".into(),
            }]),
            ..MouldEdit::default()
        },
    );
    assert!(
        newest(&s).1.contains(&"sections: Front half".to_owned()),
        "{:?}",
        newest(&s)
    );
    s.set(
        EntityRef::Casting(id("c1")),
        &CastingEdit {
            mould: Some(id("m4k8")),
            sections: Some(vec![id("s3q9")]),
            ..CastingEdit::default()
        },
    );
    assert_eq!(
        newest(&s),
        (
            "part 1".into(),
            vec!["mould: Cap".into(), "sections: Front half".into()]
        )
    );
    s.say(&Payload::Mould(MouldFact {
        mould: id("m4k8"),
        what: "flange ground back".into(),
        after_pull: Some(6),
        kind: Some(MouldEvent::Repaired),
        sections: Vec::new(),
    }));
    assert_eq!(
        newest(&s),
        (
            "mould Cap".into(),
            vec!["flange ground back: after pull 6".into()]
        )
    );
    s.say(&Payload::Concession(ConcessionFact {
        piece: id("p2"),
        feature: id("spot"),
        by: "A. Client".into(),
        reason: "behind the post".into(),
    }));
    assert_eq!(
        newest(&s),
        (
            "piece 2".into(),
            vec!["Spot let stand: by A. Client: behind the post".into()]
        )
    );
    s.say(&Payload::SignedOff(SignOffFact {
        piece: Some(id("p2")),
        by: "CD, QA".into(),
        reason: "before delivery".into(),
        seal: "ABCDE-FGHIJ".into(),
    }));
    assert_eq!(
        newest(&s).1,
        ["record signed off: by CD, QA: before delivery; check sum ABCDE-FGHIJ"]
    );
    s.set(
        EntityRef::Template(id("t9z2")),
        &TemplateEdit {
            number: Some(4),
            kind: Some(TemplateKind::SettingPlate),
            feature: Some(id("spot")),
            pieces: Some(vec![id("p1"), id("p2"), id("p3")]),
            issue: Some(id("i1")),
            ..TemplateEdit::default()
        },
    );
    assert_eq!(
        newest(&s),
        (
            "template 4".into(),
            vec![
                "feature: Spot".into(),
                "issue: 1".into(),
                "kind: setting plate".into(),
                "number: 4".into(),
                "pieces: 1, 2, 3".into(),
            ]
        )
    );
    s.say(&Payload::Template(TemplateFact {
        template: id("t9z2"),
        day: "2026-11-28".into(),
        says: TemplateSays::Worn {
            how: "edge frayed".into(),
        },
    }));
    assert_eq!(newest(&s).1, ["worn: edge frayed"]);
    s.set(
        EntityRef::Job,
        &JobEdit {
            holds: Some(vec![Hold {
                before: "painted".into(),
                until: HoldUntil::MarksCarriedOver,
            }]),
            ..JobEdit::default()
        },
    );
    assert_eq!(
        newest(&s).1,
        ["holds: before painted, until marks carried over"]
    );
    s.set(
        EntityRef::MeasuringList(id("l1")),
        &MeasuringListEdit {
            part: Some(id("part")),
            asks: Some(vec![Measured::Over {
                from: PointRef::Mark(id("a")),
                to: PointRef::Feature(id("spot")),
            }]),
        },
    );
    assert_eq!(newest(&s).0, "measuring list of part");
    assert_eq!(
        newest(&s).1,
        [
            "asks: A to the middle of Spot, over the surface",
            "part: part"
        ]
    );
}

/// Every entry of both examples, of all kinds there are in them: no word twice running, no id of the
/// program's own, no name of a choice with its hyphens.
#[test]
fn no_entry_of_the_examples_has_doubled_or_raw_words() {
    for file in EXAMPLES {
        let ledger = open(file).unwrap().ledger;
        let job = ledger.fold();
        // Ids that nobody would take for a word or a number.
        let mut ids: Vec<String> = Vec::new();
        ids.extend(job.marks.keys().map(ToString::to_string));
        ids.extend(job.features.keys().map(ToString::to_string));
        ids.extend(job.faces.keys().map(ToString::to_string));
        ids.extend(job.fixings.keys().map(ToString::to_string));
        ids.retain(|id| id.contains('-'));
        assert!(!ids.is_empty());
        for entry in history(&ledger, "", None).entries {
            for d in &entry.changed {
                let text = format!("{}: {}", entry.about, said(d));
                let words: Vec<String> = text
                    .split([' ', ',', ';', ':', '(', ')'])
                    .filter(|w| !w.is_empty())
                    .map(str::to_lowercase)
                    .collect();
                // Within a phrase; *Head, right side, side mark C* names two things.
                for phrase in text.to_lowercase().split([',', ';', ':', '(', ')']) {
                    let words: Vec<&str> = phrase.split_whitespace().collect();
                    for pair in words.windows(2) {
                        let word = pair[0].chars().all(char::is_alphabetic);
                        assert!(!word || pair[0] != pair[1], "{text}");
                    }
                }
                let is = d.is.clone().unwrap_or_default();
                assert!(!is.starts_with(&format!("{} ", d.what)), "{text}");
                for id in &ids {
                    assert!(!words.contains(id), "{id}: {text}");
                }
                // Understood as less than nothing only where less than nothing was typed.
                for (at, _) in text.match_indices("(= −") {
                    let typed = text[..at]
                        .rsplit([',', ':', ';'])
                        .next()
                        .unwrap_or_default();
                    let same = text[at..]
                        .starts_with(&format!("(= −{} mm", typed.trim().trim_start_matches('-')));
                    assert!(typed.contains('-') && !same, "{text}");
                }
                assert!(!text.contains('_'), "{text}");
            }
        }
    }
}
