//! Each thing that can be wrong with a run is said, with names and what to do; nothing is lost.

use samespot_core::job::*;
use samespot_core::run::{look, next_to_paint, painting_stage, to_read_again, why_not};
use samespot_tests::jobs::{Script, id, point};

fn stage(s: &mut Script, casting: &str, stage: &str, reason: Option<&str>) {
    s.say(&Payload::Stage(StageFact {
        casting: id(casting),
        stage: stage.into(),
        day: String::new(),
        reason: reason.map(Into::into),
    }));
}

fn marry(s: &mut Script, piece: &str, castings: &[&str]) {
    s.say(&Payload::Marriage(Marriage {
        piece: id(piece),
        castings: castings.iter().map(|c| id(c)).collect(),
        reason: None,
    }));
}

fn read_at(s: &mut Script, from: &str, to: &str, at: &str) -> FactId {
    s.say(&Payload::Reading(Reading {
        casting: id("c1"),
        of: Measured::Over {
            from: point(from),
            to: point(to),
        },
        value: Entry::of_mm(200.0),
        instrument: None,
        hooked: false,
        stage: Some(at.into()),
        within: None,
        set_aside: None,
    }))
}

fn mark(s: &mut Script, mark: &str, fields: &MarkEdit) {
    s.set(EntityRef::Mark(id(mark)), fields);
}

/// The conflicts of casting c1 hold all of these words.
#[track_caller]
fn conflict(s: &Script, words: &[&str]) {
    let view = look(&s.ledger.fold());
    let c1 = view
        .castings
        .iter()
        .find(|c| c.casting == id("c1"))
        .unwrap();
    let said = c1.conflicts.join("\n");
    for word in words {
        assert!(said.contains(word), "“{word}” is not in: {said}");
    }
}

fn job() -> Script {
    Script::one_face(FaceShape::Flat, &["a", "b", "c", "k"], 2)
}

#[test]
fn a_sound_run_has_no_conflict() {
    let mut s = job();
    stage(&mut s, "c1", "pulled", None);
    stage(&mut s, "c1", "trimmed", None);
    let view = look(&s.ledger.fold());
    for c in &view.castings {
        assert_eq!(c.conflicts, Vec::<String>::new(), "{}", c.name);
    }
    let c1 = view
        .castings
        .iter()
        .find(|c| c.casting == id("c1"))
        .unwrap();
    assert_eq!(c1.sentence(), "may go on to: numbered");
    assert_eq!(view.pieces[0].waits, "part 1 may go on to: numbered");
}

#[test]
fn two_castings_with_one_number_are_named_by_their_pulls() {
    let mut s = job();
    for (casting, number, pull) in [("c1", "7", 3), ("c2", " 7", 5)] {
        s.set(
            EntityRef::Casting(id(casting)),
            &CastingEdit {
                number: Some(number.into()),
                pull: Some(pull),
                ..CastingEdit::default()
            },
        );
    }
    conflict(
        &s,
        &["part 7", "2 castings", "pull 3 and pull 5", "hidden face"],
    );
    assert_eq!(s.ledger.fold().castings.len(), 3);
}

#[test]
fn a_casting_in_two_pieces_names_both() {
    let mut s = job();
    marry(&mut s, "p2", &["c1"]);
    conflict(
        &s,
        &[
            "piece 1",
            "piece 2",
            "The later counts, piece 2",
            "Say again",
        ],
    );
    let job = s.ledger.fold();
    assert_eq!(job.casting_of(&id("p1"), &id("part")), None);
    assert_eq!(job.casting_of(&id("p2"), &id("part")), Some(&id("c1")));
    // Saying what piece 1 is made of settles it.
    marry(&mut s, "p1", &["c2"]);
    let view = look(&s.ledger.fold());
    assert!(view.castings.iter().all(|c| c.conflicts.is_empty()));
    assert_eq!(s.ledger.fold().married.len(), 4);
}

#[test]
fn two_castings_of_one_part_in_a_piece_are_named() {
    let mut s = job();
    marry(&mut s, "p2", &[]);
    marry(&mut s, "p1", &["c1", "c2"]);
    conflict(&s, &["piece 1 has part 1 and part 2"]);
}

#[test]
fn a_stage_skipped_or_gone_back_wants_its_reason() {
    let mut s = job();
    stage(&mut s, "c1", "pulled", None);
    stage(&mut s, "c1", "numbered", None);
    conflict(
        &s,
        &[
            "from pulled to numbered, leaving out trimmed",
            "no reason was said",
        ],
    );
    stage(&mut s, "c1", "pulled", Some("number read wrong"));
    let view = look(&s.ledger.fold());
    let c1 = view
        .castings
        .iter()
        .find(|c| c.casting == id("c1"))
        .unwrap();
    assert_eq!(
        c1.history,
        ["back from numbered to pulled: number read wrong"]
    );
}

#[test]
fn a_mark_measured_after_its_life_is_kept_and_set_aside() {
    let mut s = job();
    mark(
        &mut s,
        "a",
        &MarkEdit {
            to_stage: Some("measured".into()),
            ..MarkEdit::default()
        },
    );
    mark(
        &mut s,
        "k",
        &MarkEdit {
            carries: Some(id("a")),
            ..MarkEdit::default()
        },
    );
    read_at(&mut s, "a", "b", "measured");
    read_at(&mut s, "a", "c", "primed");
    conflict(
        &s,
        &[
            "200 to A",
            "“primed”",
            "after “measured”",
            "set aside",
            "Was it K",
        ],
    );
    assert_eq!(s.ledger.fold().readings.len(), 2);
    assert_eq!(samespot_core::run::out_of_life(&s.ledger.fold()).len(), 1);
}

#[test]
fn filler_says_which_readings_to_take_again() {
    let mut s = job();
    read_at(&mut s, "a", "b", "measured");
    read_at(&mut s, "b", "c", "measured");
    s.say(&Payload::Done(DoneFact {
        casting: id("c1"),
        what: "dent under the brow".into(),
        on: None,
        kind: Some(DoneKind::Filled),
        near: vec![id("a")],
    }));
    let again = to_read_again(&s.ledger.fold(), &id("c1"));
    assert_eq!(again.len(), 1);
    assert_eq!(again[0].sentence, "Read A to B again: filled near A since");
    read_at(&mut s, "a", "b", "measured");
    assert!(to_read_again(&s.ledger.fold(), &id("c1")).is_empty());
}

#[test]
fn a_hold_says_why_not_and_goes_when_it_is_done() {
    let mut s = job();
    s.set(
        EntityRef::Job,
        &JobEdit {
            stages: Some(["measured", "primed", "painted"].map(String::from).to_vec()),
            holds: Some(vec![
                Hold {
                    before: "primed".into(),
                    until: HoldUntil::MarksCarriedOver,
                },
                Hold {
                    before: "primed".into(),
                    until: HoldUntil::Ticked("drain holes cleared".into()),
                },
            ]),
            ..JobEdit::default()
        },
    );
    for (name, fields) in [
        (
            "a",
            MarkEdit {
                to_stage: Some("measured".into()),
                ..MarkEdit::default()
            },
        ),
        (
            "b",
            MarkEdit {
                hidden: Some(true),
                ..MarkEdit::default()
            },
        ),
        (
            "c",
            MarkEdit {
                hidden: Some(true),
                ..MarkEdit::default()
            },
        ),
        (
            "k",
            MarkEdit {
                carries: Some(id("a")),
                ..MarkEdit::default()
            },
        ),
    ] {
        mark(&mut s, name, &fields);
    }
    stage(&mut s, "c1", "measured", None);
    let why = why_not(&s.ledger.fold(), &id("c1"), "primed");
    assert_eq!(
        why,
        [
            "Before primed: A vanishes. Read K, which stands in for it, from two marks",
            "Before primed: three marks of face must still be found afterwards, and only 2 would. Scribe a cross that lasts and say which mark it stands in for, or say of a mark that it is hidden",
            "Before primed: drain holes cleared",
        ]
    );
    // Skipping the held stage is held too.
    assert_eq!(why_not(&s.ledger.fold(), &id("c1"), "painted").len(), 3);
    read_at(&mut s, "k", "a", "measured");
    read_at(&mut s, "k", "b", "measured");
    assert_eq!(
        why_not(&s.ledger.fold(), &id("c1"), "primed"),
        ["Before primed: drain holes cleared"]
    );
    s.say(&Payload::Done(DoneFact {
        casting: id("c1"),
        what: "drain holes cleared".into(),
        on: None,
        kind: Some(DoneKind::Ticked),
        near: Vec::new(),
    }));
    assert!(why_not(&s.ledger.fold(), &id("c1"), "primed").is_empty());
}

#[test]
fn a_pull_after_its_mould_was_retired_is_named() {
    let mut s = job();
    s.set(
        EntityRef::Mould(id("m")),
        &MouldEdit {
            name: Some("mould 1".into()),
            ..MouldEdit::default()
        },
    );
    s.set(
        EntityRef::Casting(id("c1")),
        &CastingEdit {
            mould: Some(id("m")),
            pull: Some(9),
            ..CastingEdit::default()
        },
    );
    s.say(&Payload::Mould(MouldFact {
        mould: id("m"),
        what: "flange cracked".into(),
        after_pull: Some(8),
        kind: Some(MouldEvent::Retired),
        sections: Vec::new(),
    }));
    conflict(&s, &["pull 9", "retired after pull 8"]);
    assert_eq!(
        look(&s.ledger.fold()).moulds[0].events,
        ["retired after pull 8: flange cracked"]
    );
}

#[test]
fn the_piece_to_paint_next_is_the_first_that_is_read_and_not_painted() {
    let mut s = job();
    marry(&mut s, "p1", &["c1"]);
    marry(&mut s, "p2", &["c2"]);
    // Nothing is read yet: no piece is due.
    assert_eq!(next_to_paint(&s.ledger.fold()), None);
    read_at(&mut s, "a", "b", "measured");
    assert_eq!(next_to_paint(&s.ledger.fold()), Some(id("p1")));
    stage(&mut s, "c1", "painted", Some("in a hurry"));
    assert_eq!(next_to_paint(&s.ledger.fold()), None);
    stage(&mut s, "c1", "primed", Some("sanded back"));
    assert_eq!(next_to_paint(&s.ledger.fold()), Some(id("p1")));
}

/// By what a stage means: its name says paint, or marks that are followed are found no longer after it.
#[test]
fn the_stage_of_painting_is_told_by_what_the_job_says_of_it() {
    let mut s = job();
    let stages = |s: &mut Script, list: &[&str]| {
        s.set(
            EntityRef::Job,
            &JobEdit {
                stages: Some(list.iter().map(|n| (*n).to_owned()).collect()),
                ..JobEdit::default()
            },
        );
        painting_stage(&s.ledger.fold())
    };
    assert_eq!(stages(&mut s, &["measured", "Painted ", "gone"]), Some(1));
    assert_eq!(
        stages(&mut s, &["ready for paint", "eyes painted on", "gone"]),
        Some(1)
    );
    // A stage of no such name: nothing tells, until marks are said to be found no longer after one.
    assert_eq!(stages(&mut s, &["measured", "gilded", "gone"]), None);
    s.set(
        EntityRef::Mark(id("a")),
        &MarkEdit {
            to_stage: Some("gilded".into()),
            ..MarkEdit::default()
        },
    );
    assert_eq!(painting_stage(&s.ledger.fold()), Some(1));
    marry(&mut s, "p1", &["c1"]);
    marry(&mut s, "p2", &["c2"]);
    read_at(&mut s, "a", "b", "measured");
    assert_eq!(next_to_paint(&s.ledger.fold()), Some(id("p1")));
    stage(&mut s, "c1", "gilded", None);
    assert_eq!(next_to_paint(&s.ledger.fold()), None);
}

/// Until the job says its holds, the stage that hides marks first waits for them to be carried over, whatever
/// it is called.
#[test]
fn what_hides_a_mark_waits_for_it_to_be_carried_over() {
    let mut s = job();
    let held = |s: &Script| -> Vec<String> {
        let held = samespot_core::run::holds(&s.ledger.fold()).into_iter();
        held.map(|h| h.before).collect()
    };
    let gone_after = |s: &mut Script, letter: &str, stage: &str| {
        s.set(
            EntityRef::Mark(id(letter)),
            &MarkEdit {
                to_stage: Some(stage.into()),
                ..MarkEdit::default()
            },
        );
    };
    assert!(held(&s).is_empty());
    gone_after(&mut s, "a", "measured");
    assert_eq!(held(&s), ["primed"]);
    let own = ["pulled", "measured", "sealed", "gilded", "gone"];
    s.set(
        EntityRef::Job,
        &JobEdit {
            stages: Some(own.map(String::from).to_vec()),
            ..JobEdit::default()
        },
    );
    assert_eq!(held(&s), ["sealed"]);
    gone_after(&mut s, "a", "sealed");
    gone_after(&mut s, "b", "sealed");
    assert_eq!(held(&s), ["gilded"]);
    gone_after(&mut s, "a", "gone");
    gone_after(&mut s, "b", "gone");
    assert!(held(&s).is_empty(), "nothing comes after the last stage");
}
