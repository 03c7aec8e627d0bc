//! Readings as they come from a bench: contradicting, too few, on one line, nought, of a mark nobody
//! measured, twice by intent, with several tapes, at several stages. Each is said in words, and
//! nothing that was typed is lost (issue 4, *Bad input*).
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use samespot_core::job::*;
use samespot_core::prepare::walk::{Walk, walk};
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_tests::jobs::{Script, id, mm, point};

/// Marks A (0, 0), B (400, 0), C (0, 300), D (400, 300) by Pythagoras; the spot 250 from A and B.
const ALL: [(&str, &str, f64); 6] = [
    ("a", "b", 400.0),
    ("c", "d", 400.0),
    ("a", "c", 300.0),
    ("b", "d", 300.0),
    ("a", "d", 500.0),
    ("b", "c", 500.0),
];

fn pattern() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 2);
    for mark in ["c", "d"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    read_all(&mut s, "pattern", &ALL);
    s.over("pattern", "a", "spot", 250.0);
    s.over("pattern", "b", "spot", 250.0);
    s
}

fn read_all(s: &mut Script, casting: &str, all: &[(&str, &str, f64)]) {
    for (from, to, value) in all {
        s.over(casting, from, to, *value);
    }
}

fn looking<T>(s: &Script, look: impl FnOnce(&Source<'_>) -> T) -> T {
    let job = s.ledger.fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    look(&Source {
        job: &job,
        attachments: &s.attachments,
    })
}

fn made(s: &Script) -> Result<Prepared, String> {
    looking(s, |source| {
        prepare(source, &id("spot"), &id("p1")).map_err(|e| e.to_string())
    })
}

fn walked(s: &Script) -> Walk {
    looking(s, |source| walk(source, &id("c1")).unwrap())
}

#[track_caller]
fn holds(words: &[String], part: &str) {
    assert!(words.iter().any(|w| w.contains(part)), "{part}: {words:?}");
}

#[test]
fn contradicting_readings_are_named_and_where_all_are_kept_the_whole_is_doubted() {
    let mut s = pattern();
    let mut spoilt = ALL;
    spoilt[0].2 += 9.0;
    spoilt[4].2 -= 14.0;
    read_all(&mut s, "c1", &spoilt);
    // One at a time, with its own keys.
    let mut rounds = 0;
    loop {
        let walk = walked(&s);
        let facts: Vec<FactId> = match (&walk.odd, &walk.unsettled) {
            (Some(odd), _) => vec![odd.fact],
            (None, Some(two)) => two.readings.clone(),
            (None, None) => break,
        };
        assert!(rounds < 8, "it never comes to an end");
        rounds += 1;
        for reading in facts {
            s.say(&Payload::Measuring(MeasuringFact {
                casting: id("c1"),
                says: MeasuringSays::Kept {
                    reading,
                    why: "read twice, the same".into(),
                },
            }));
        }
    }
    assert!(rounds >= 1, "nothing was said");
    // Nothing was left out by itself, and nothing is trusted either.
    let all = made(&s).unwrap();
    assert_eq!(all.marks.adjusted.readings.len(), ALL.len());
    holds(&all.warnings, "disagree more than the tools allow");
}

/// A face that was tapered once and is a post now: what was read round its upper line is no girth of it.
#[test]
fn an_upper_girth_of_a_face_that_is_not_tapered_any_more_is_left_out_and_that_is_said() {
    let post = |with: bool| {
        let mut s = pattern();
        s.set(
            EntityRef::Face(id("face")),
            &FaceEdit {
                shape: Some(FaceShape::Cylinder {
                    axis: AxisChoice::Up,
                    hollow: false,
                    size: Size::Girth { girth: mm(3000.0) },
                }),
                ..FaceEdit::default()
            },
        );
        read_all(&mut s, "c1", &ALL);
        let girth = |at, value| {
            Payload::Reading(Reading {
                casting: id("c1"),
                of: Measured::Girth {
                    face: id("face"),
                    at,
                },
                value: mm(value),
                instrument: None,
                hooked: false,
                stage: None,
                within: None,
                set_aside: None,
            })
        };
        s.say(&girth(GirthLine::Lower, 2990.0));
        if with {
            s.say(&girth(GirthLine::Upper, 2600.0));
        }
        made(&s).unwrap()
    };
    let (without, with) = (post(false), post(true));
    holds(&with.warnings, "not tapered any more");
    holds(&with.warnings, "upper girth");
    assert!(!without.warnings.iter().any(|w| w.contains("tapered")));
    // It bends nothing.
    assert_eq!(with.surface, without.surface);
    assert_eq!(with.placed.marks, without.placed.marks);
}

#[test]
fn too_few_readings_say_what_the_drawing_stands_in_for() {
    let mut s = pattern();
    let why = made(&s).unwrap_err();
    assert!(why.contains("nothing has been read on"), "{why}");
    assert!(why.contains("read A to B"), "{why}");
    // One of six: the marks it is laid on are known, the others are the drawing's and say so.
    read_all(&mut s, "c1", &ALL[..1]);
    let one = made(&s).unwrap();
    let unread = one.crosses.iter().filter(|c| c.unread).count();
    assert_eq!(unread, 0, "only marks that are read or needed are there");
    assert!(
        one.crosses
            .iter()
            .all(|c| c.letter == "A" || c.letter == "B")
    );
    let advice = walked(&s);
    assert!(advice.asks.iter().any(|a| a.state.is_to_read()));
}

#[test]
fn marks_on_one_line_make_a_place_that_is_said_to_be_weak_across() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 2);
    for casting in ["pattern", "c1"] {
        read_all(
            &mut s,
            casting,
            &[("a", "b", 400.0), ("a", "c", 150.0), ("b", "c", 250.0)],
        );
    }
    s.over("pattern", "a", "spot", 250.0);
    s.over("pattern", "b", "spot", 250.0);
    // On the pattern nothing else says where it is: a distance off the line is asked for by name.
    // The sheet is made without it and says so.
    let without = made(&s).unwrap();
    assert!(without.crosses.iter().all(|c| c.letter != "C"));
    let wants = "nothing places C on the pattern yet: read it from the middle of Spot";
    let said = |w: &String| w.starts_with(wants) && w.ends_with("made without it");
    assert!(without.warnings.iter().any(said), "{:?}", without.warnings);
    s.over("pattern", "c", "spot", 50.0_f64.hypot(150.0));
    let p = made(&s).unwrap();
    // Along the line C is known; across it by what three distances leave: many times worse.
    let at = |name: &str| p.marks.at(&point(name)).unwrap();
    assert!((at("c") - at("a")).norm_mm() < 152.0);
    let k = p.marks.index(&point("c")).unwrap();
    let c = p.marks.covariance(&[k]);
    let (along, across) = (c[(0, 0)].sqrt(), c[(1, 1)].sqrt());
    assert!(across > 3.0 * along, "{along} {across}");
    assert!(across.is_finite() && p.budget.worst.mm().is_finite());
}

#[test]
fn nought_between_two_marks_is_refused_by_its_name_and_kept_as_typed() {
    let mut s = pattern();
    read_all(&mut s, "c1", &ALL[1..]);
    s.over("c1", "a", "b", 0.0);
    let why = made(&s).unwrap_err();
    assert!(why.contains("A to B"), "{why}");
    // The walk still opens, with every reading in it, and says what stops it.
    let walk = walked(&s);
    assert_eq!(walk.faces.len(), 1);
    let trouble = walk.faces[0].trouble.clone().unwrap();
    assert!(trouble.contains("A to B"), "{trouble}");
    let lines = &walk.faces[0].lines;
    assert_eq!(lines.len(), ALL.len(), "{lines:?}");
    assert!(lines.iter().any(|l| l.typed == "0"), "{lines:?}");
}

#[test]
fn a_mark_nobody_measured_carries_no_cross() {
    let mut s = pattern();
    let without_d: Vec<_> = ALL
        .iter()
        .filter(|(a, b, _)| *a != "d" && *b != "d")
        .copied()
        .collect();
    read_all(&mut s, "c1", &without_d);
    let p = made(&s).unwrap();
    assert!(p.crosses.iter().all(|c| c.letter != "D"));
    // A mark of its own rule that nobody measured: the drawing has it, and it is said.
    let mut s = pattern();
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::Line {
                from: id("a"),
                to: id("d"),
                side: None,
                along: Follow::DifferenceSplit,
                across: None,
            }),
            ..FeatureEdit::default()
        },
    );
    read_all(&mut s, "c1", &without_d);
    let p = made(&s).unwrap();
    let d = p.crosses.iter().find(|c| c.letter == "D").unwrap();
    assert!(d.unread);
    holds(&p.warnings, "D");
}

#[test]
fn the_same_reading_twice_by_intent_is_two_and_its_own_tape_is_one() {
    let twice = |with: [Option<&str>; 2]| {
        let mut s = pattern();
        for (tape, name) in [("t1", "blue"), ("t2", "yellow")] {
            s.set(
                EntityRef::Instrument(id(tape)),
                &InstrumentEdit {
                    name: Some(name.into()),
                    kind: Some(InstrumentKind::SoftTape),
                    ..InstrumentEdit::default()
                },
            );
        }
        for tape in with.into_iter().flatten() {
            s.say(&Payload::Reading(Reading {
                casting: id("c1"),
                of: Measured::Over {
                    from: point("a"),
                    to: point("b"),
                },
                value: mm(400.0),
                instrument: Some(id(tape)),
                hooked: false,
                stage: None,
                within: None,
                set_aside: None,
            }));
        }
        let p = made(&s).unwrap();
        let [a, b] = ["a", "b"].map(|m| p.marks.index(&point(m)).unwrap());
        let c = p.marks.covariance(&[a, b]);
        let sd = (c[(0, 0)] + c[(2, 2)] - 2.0 * c[(0, 2)]).sqrt();
        (p.marks.facts.len(), sd)
    };
    let (one, once) = twice([Some("t1"), None]);
    let (two, same) = twice([Some("t1"), Some("t1")]);
    let (mixed, other) = twice([Some("t1"), Some("t2")]);
    assert_eq!((one, two, mixed), (1, 2, 2));
    // A second reading helps; what the tape has wrong stays in it, so that another tape helps more,
    // and neither by more than the root of two that two independent readings would give.
    assert!(same < once && other < same, "{once} {same} {other}");
    assert!(other > once / 2.0_f64.sqrt() - 1e-9, "{once} {other}");
}

#[test]
fn readings_of_two_stages_are_not_mixed_and_it_is_said() {
    let mut s = pattern();
    s.set(
        EntityRef::Job,
        &JobEdit {
            stages: Some(vec!["trimmed".into(), "filled".into()]),
            ..JobEdit::default()
        },
    );
    let at = |s: &mut Script, from: &str, to: &str, value: f64, stage: &str| {
        s.say(&Payload::Reading(Reading {
            casting: id("c1"),
            of: Measured::Over {
                from: point(from),
                to: point(to),
            },
            value: mm(value),
            instrument: None,
            hooked: false,
            stage: Some(stage.into()),
            within: None,
            set_aside: None,
        }));
    };
    let reach = |s: &mut Script, stage: &str| {
        s.say(&Payload::Stage(StageFact {
            casting: id("c1"),
            stage: stage.into(),
            day: String::new(),
            reason: None,
        }));
    };
    reach(&mut s, "trimmed");
    for (from, to, value) in ALL {
        at(&mut s, from, to, value + 5.0, "trimmed");
    }
    reach(&mut s, "filled");
    let said = walked(&s).says;
    holds(&said, "was read when it was trimmed; now it is filled");
    holds(&said, "then read all of them");
    for (from, to, value) in ALL {
        at(&mut s, from, to, value, "filled");
    }
    let p = made(&s).unwrap();
    assert_eq!(p.marks.facts.len(), ALL.len(), "the new set alone");
    let wide = (p.marks.at(&point("b")).unwrap() - p.marks.at(&point("a")).unwrap()).norm_mm();
    assert!((wide - 400.0).abs() < 0.5, "{wide}");
    // All twelve are in the job.
    let kept = s.ledger.fold();
    let of_casting = kept.readings.iter().filter(|r| r.says.casting == id("c1"));
    assert_eq!(of_casting.count(), 12);
}

/// A post of 400 mm radius: over its surface distances are those of the plane it unrolls to, and a tape
/// pulled straight over 360 mm of it reads the chord, 2·400·sin(360/800) = 348.0 (elementary).
#[test]
fn how_the_tape_lay_is_offered_where_that_explains_a_misfit() {
    const AT: [(&str, f64, f64); 5] = [
        ("a", 0.0, 0.0),
        ("b", 360.0, 0.0),
        ("c", 360.0, 280.0),
        ("d", 30.0, 260.0),
        ("e", 150.0, 110.0),
    ];
    let chord = 800.0 * (360.0_f64 / 800.0).sin();
    assert!((chord - 348.0).abs() < 0.05);
    let post = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: Size::Radius { radius: mm(400.0) },
    };
    let letters: Vec<&str> = AT.iter().map(|m| m.0).collect();
    let mut s = Script::one_face(post, &letters, 2);
    for mark in ["c", "d", "e"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    let mut first = None;
    for casting in ["pattern", "c1"] {
        for (k, from) in AT.iter().enumerate() {
            for to in &AT[k + 1..] {
                let plane = (to.1 - from.1).hypot(to.2 - from.2);
                let hung = casting == "c1" && (from.0, to.0) == ("a", "b");
                let fact = s.over(casting, from.0, to.0, if hung { chord } else { plane });
                if hung {
                    first = Some(fact);
                    // Once more, as it should lie: without it four sides could equally be it.
                    s.over(casting, "a", "b", plane);
                }
            }
        }
    }
    for mark in ["a", "b", "c"] {
        s.over("pattern", mark, "spot", 200.0);
    }
    let fact = first.unwrap();
    let odd = walked(&s).odd.unwrap();
    assert_eq!(odd.fact, fact, "{}", odd.says);
    assert!(odd.slip.unwrap().contains("hang straight"));
    let straight = Measured::Straight {
        from: point("a"),
        to: point("b"),
    };
    assert_eq!(odd.lay, Some(straight.clone()));
    // What the key does: left out as it was put down, put down as it lay; both stay in the job.
    s.say(&Payload::Measuring(MeasuringFact {
        casting: id("c1"),
        says: MeasuringSays::SetAside {
            reading: fact,
            why: "the tape hung straight".into(),
        },
    }));
    s.read("c1", straight, chord);
    let after = walked(&s);
    assert!(after.odd.is_none() && after.unsettled.is_none());
    assert!(after.asks.iter().any(|a| a.short == "A–B"));
}
