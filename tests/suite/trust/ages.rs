//! How old a casting was when it was read, and how warm the shop.

use super::World;
use samespot_core::job::*;
use samespot_core::prepare::Source;
use samespot_core::prepare::walk::{Walk, walk};
use samespot_tests::jobs::{Script, id, point};

/// Six castings of a face with four marks 400 by 300, read so many days after they were demoulded
/// on 1 October, one of them grown by so much along.
fn run(days: [u32; 6], grown: Option<usize>) -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 6);
    for mark in ["c", "d"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    let read = |s: &mut Script, casting: &str, wide: f64| {
        let across = wide.hypot(300.0);
        for (from, to, value) in [
            ("a", "b", wide),
            ("c", "d", wide),
            ("a", "c", 300.0),
            ("b", "d", 300.0),
            ("a", "d", across),
            ("b", "c", across),
        ] {
            s.over(casting, from, to, value);
        }
    };
    s.at("2026-10-01 08:00");
    read(&mut s, "pattern", 400.0);
    s.over("pattern", "a", "spot", 250.0);
    s.over("pattern", "b", "spot", 250.0);
    for (k, day) in days.into_iter().enumerate() {
        let casting = format!("c{}", k + 1);
        s.set(
            EntityRef::Casting(id(&casting)),
            &CastingEdit {
                demoulded: Some("2026-10-01".into()),
                ..CastingEdit::default()
            },
        );
        s.at(&format!("2026-10-{:02} 10:00", 1 + day));
        read(
            &mut s,
            &casting,
            if grown == Some(k) { 406.0 } else { 399.2 },
        );
    }
    s
}

fn looked(s: &Script, casting: &str) -> Walk {
    let job = s.ledger.fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    walk(&source, &id(casting)).unwrap()
}

fn says(walk: &Walk, words: &str) -> bool {
    walk.says.iter().any(|s| s.contains(words))
}

#[test]
fn a_fresh_casting_is_told_and_compared_with_none_of_another_age() {
    // design/10 §1.8: do not compare a day-1 casting with a month-old one.
    let apart = run([1, 28, 28, 28, 28, 28], Some(0));
    let fresh = looked(&apart, "c1");
    assert!(
        says(
            &fresh,
            "was read 1 day after demoulding, its sisters about 28 days"
        ),
        "{:?}",
        fresh.says
    );
    assert!(!says(&looked(&apart, "c2"), "demoulding"));
    let over = |s: &Script| {
        let job = s.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        samespot_core::prepare::walk::pooled(&source)
            .into_iter()
            .any(|p| p.says.contains("where it is on its sisters"))
    };
    assert!(!over(&apart));
    // The same casting among sisters of its own age is the one that differs.
    assert!(over(&run([28; 6], Some(0))));
}

#[test]
fn readings_of_two_ages_and_a_day_nobody_noted_are_said() {
    let mut s = run([1, 1, 1, 1, 1, 1], None);
    s.at("2026-10-15 09:00");
    s.over("c2", "a", "b", 399.0);
    let two = looked(&s, "c2");
    assert!(
        says(
            &two,
            "was read 1 day after demoulding and again 14 days after"
        ),
        "{:?}",
        two.says
    );
    s.set(
        EntityRef::Casting(id("c7")),
        &CastingEdit {
            part: Some(id("part")),
            number: Some("7".into()),
            ..CastingEdit::default()
        },
    );
    assert!(says(&looked(&s, "c7"), "When was Part 7 demoulded?"));
}

fn long(celsius: Option<i16>) -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    let tape: InstrumentId = id("tape");
    s.set(
        EntityRef::Instrument(tape.clone()),
        &InstrumentEdit {
            name: Some("Pocket tape".into()),
            kind: Some(InstrumentKind::PocketTape),
            class: Some(ClassMark::II),
            ..InstrumentEdit::default()
        },
    );
    for casting in ["pattern", "c1"] {
        s.say(&Payload::Reading(Reading {
            casting: id(casting),
            of: Measured::Straight {
                from: point("a"),
                to: point("b"),
            },
            value: Entry::of_mm(2400.0),
            instrument: Some(tape.clone()),
            hooked: false,
            stage: None,
            within: None,
            set_aside: None,
        }));
    }
    if let Some(celsius) = celsius {
        s.say(&Payload::Measuring(MeasuringFact {
            casting: id("c1"),
            says: MeasuringSays::ShopAt { celsius },
        }));
    }
    s
}

#[test]
fn over_two_metres_the_shop_is_noted_and_allowed_for() {
    let look = |celsius| looked(&long(celsius), "c1");
    let reach = |w: &Walk| {
        let e = w.asks[0].expected.unwrap();
        e.high.mm() - e.middle.mm()
    };
    let open = look(None);
    assert_eq!(open.warm.map(|w| w.noted), Some(None));
    assert!(says(&open, "note it below"), "{:?}", open.says);
    let hot = look(Some(40));
    assert_eq!(hot.warm.map(|w| w.noted), Some(Some(40)));
    // 18·10⁻⁶ for each degree: 0.36 mm in a metre at 20 degrees more (design/10 §1.8).
    assert!(says(&hot, "0.4 mm in a metre long"), "{:?}", hot.says);
    let cool = look(Some(20));
    assert!(says(&cool, "reads as it should"), "{:?}", cool.says);
    assert!(reach(&hot) > reach(&open) && reach(&open) > reach(&cool));
    // Nothing so long, nothing said.
    assert_eq!(World::new().walk("puffin-11").warm, None);
}
