//! The laws of facts, as properties: merging is commutative, associative and idempotent; facts
//! folded in any order of arrival give the same job; undo, corrections and removals keep their word.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

#[path = "job_laws/steps.rs"]
mod steps;

use proptest::prelude::*;
use samespot_core::job::*;
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id, mm};

/// One thing somebody does on one of three tablets; now and then two tablets meet.
#[derive(Debug, Clone)]
enum Deed {
    Rename(usize, u8),
    Tolerance(usize, u8),
    Read(usize, u16),
    Correct(usize, usize, u16),
    Undo(usize),
    Redo(usize),
    Remove(usize, u8),
    BringBack(usize),
    Meet(usize, usize),
}

fn deed() -> impl Strategy<Value = Deed> {
    let who = 0..3_usize;
    prop_oneof![
        (who.clone(), any::<u8>()).prop_map(|(w, n)| Deed::Rename(w, n)),
        (who.clone(), any::<u8>()).prop_map(|(w, n)| Deed::Tolerance(w, n)),
        (who.clone(), any::<u16>()).prop_map(|(w, n)| Deed::Read(w, n)),
        (who.clone(), any::<usize>(), any::<u16>()).prop_map(|(w, t, n)| Deed::Correct(w, t, n)),
        who.clone().prop_map(Deed::Undo),
        who.clone().prop_map(Deed::Redo),
        (who.clone(), 0..3_u8).prop_map(|(w, n)| Deed::Remove(w, n)),
        who.clone().prop_map(Deed::BringBack),
        (who.clone(), who).prop_map(|(a, b)| Deed::Meet(a, b)),
    ]
}

fn write(ledger: &mut Ledger, who: usize, payload: &Payload) {
    let writer = Writer {
        replica: ReplicaId(100 + who as u64),
        who: format!("hand {who}"),
        wall: String::new(),
    };
    ledger.write(&writer, payload).unwrap();
}

fn edit(on: EntityRef, fields: &impl serde::Serialize) -> Payload {
    Payload::Edit(Edit::of(on, fields).unwrap())
}

/// Lives through the deeds on three copies that start from the same job.
fn live(deeds: &[Deed]) -> [Ledger; 3] {
    let start = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 2).ledger;
    let mut copies = [start.clone(), start.clone(), start];
    for deed in deeds {
        match deed {
            Deed::Rename(w, n) => {
                let payload = edit(
                    EntityRef::Job,
                    &JobEdit {
                        title: Some(format!("title {n}")),
                        ..JobEdit::default()
                    },
                );
                write(&mut copies[*w], *w, &payload);
            }
            Deed::Tolerance(w, n) => {
                let fields = FeatureEdit {
                    tolerance: Some(Length::from_mm(f64::from(*n))),
                    ..FeatureEdit::default()
                };
                write(
                    &mut copies[*w],
                    *w,
                    &edit(EntityRef::Feature(id("spot")), &fields),
                );
            }
            Deed::Read(w, n) => {
                let of = Measured::Over {
                    from: PointRef::Mark(id("a")),
                    to: PointRef::Mark(id("b")),
                };
                let reading = Reading {
                    casting: id("c1"),
                    of,
                    value: mm(f64::from(*n) + 1.0),
                    instrument: None,
                    hooked: false,
                    stage: None,
                    within: None,
                    set_aside: None,
                };
                write(&mut copies[*w], *w, &Payload::Reading(reading));
            }
            Deed::Correct(w, t, n) => {
                let readings: Vec<FactId> = copies[*w]
                    .facts()
                    .filter(|f| f.envelope.kind == "reading")
                    .map(|f| f.envelope.id)
                    .collect();
                if !readings.is_empty() {
                    let target = readings[t % readings.len()];
                    let value = mm(f64::from(*n) + 2.0);
                    write(
                        &mut copies[*w],
                        *w,
                        &Payload::Correct(Correction {
                            target,
                            value,
                            reason: String::new(),
                        }),
                    );
                }
            }
            Deed::Undo(w) => {
                if let Some(undo) = copies[*w].undo(ReplicaId(100 + *w as u64)) {
                    write(&mut copies[*w], *w, &undo);
                }
            }
            Deed::Redo(w) => {
                if let Some(redo) = copies[*w].redo(ReplicaId(100 + *w as u64)) {
                    write(&mut copies[*w], *w, &redo);
                }
            }
            Deed::Remove(w, n) => {
                let mark = ["a", "b", "c"][usize::from(*n)];
                write(
                    &mut copies[*w],
                    *w,
                    &Payload::Remove(Removal {
                        entity: EntityRef::Mark(id(mark)),
                    }),
                );
            }
            Deed::BringBack(w) => {
                let removal = copies[*w]
                    .facts()
                    .find(|f| f.envelope.kind == "remove")
                    .map(|f| f.envelope.id);
                if let Some(target) = removal {
                    write(
                        &mut copies[*w],
                        *w,
                        &Payload::Withdraw(Withdrawal { target }),
                    );
                }
            }
            Deed::Meet(a, b) => {
                let other = copies[*b].clone();
                copies[*a].merge(&other).unwrap();
            }
        }
    }
    copies
}

fn merged(a: &Ledger, b: &Ledger) -> Ledger {
    let mut a = a.clone();
    a.merge(b).unwrap();
    a
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn merging_is_commutative_associative_idempotent(deeds in prop::collection::vec(deed(), 1..40)) {
        let [a, b, c] = live(&deeds);
        prop_assert_eq!(merged(&a, &b), merged(&b, &a));
        prop_assert_eq!(merged(&merged(&a, &b), &c), merged(&a, &merged(&b, &c)));
        prop_assert_eq!(merged(&a, &a), a.clone());
        let all = merged(&merged(&a, &b), &c);
        prop_assert_eq!(merged(&all, &b), all.clone());
        prop_assert_eq!(merged(&merged(&c, &a), &b).fold(), all.fold());
    }

    #[test]
    fn facts_in_any_order_of_arrival_give_the_same_job(
        deeds in prop::collection::vec(deed(), 1..40),
        shuffle in any::<u64>(),
    ) {
        let [a, b, c] = live(&deeds);
        let all = merged(&merged(&a, &b), &c);
        let mut facts: Vec<Fact> = all.everything().cloned().collect();
        // A fixed shuffle by multiplication: every order is as good as any.
        let n = facts.len() as u64;
        facts.sort_by_key(|f| (f.envelope.id.seq.wrapping_mul(shuffle | 1).wrapping_add(f.envelope.id.replica.0)) % (7 * n + 1));
        let mut arrived = Ledger::new(all.job_id().clone());
        for fact in facts {
            arrived.add(fact);
        }
        prop_assert_eq!(arrived.fold(), all.fold());
    }

    #[test]
    fn a_saved_job_opens_as_it_was(deeds in prop::collection::vec(deed(), 1..30)) {
        let [a, ..] = live(&deeds);
        let attachments = [("0".repeat(64), Vec::new())].into_iter().take(0).collect();
        let bytes = samespot_core::write::job::job_file(&a, &attachments).unwrap();
        let opened = samespot_core::read::job::open(&bytes).unwrap();
        prop_assert_eq!(&opened.ledger, &a);
        prop_assert_eq!(opened.notes.len(), 0);
        // The same job gives the same bytes.
        prop_assert_eq!(samespot_core::write::job::job_file(&opened.ledger, &attachments).unwrap(), bytes);
    }

    #[test]
    fn undoing_and_redoing_leads_back(deeds in prop::collection::vec(deed(), 1..20), n in any::<u8>()) {
        let [mut a, ..] = live(&deeds);
        let me = ReplicaId(100);
        let before = a.fold();
        let title = edit(EntityRef::Job, &JobEdit { title: Some(format!("new {n}")), ..JobEdit::default() });
        write(&mut a, 0, &title);
        let after = a.fold();
        let undo = a.undo(me).unwrap();
        write(&mut a, 0, &undo);
        prop_assert_eq!(&a.fold().about, &before.about);
        let redo = a.redo(me).unwrap();
        write(&mut a, 0, &redo);
        prop_assert_eq!(&a.fold().about, &after.about);
    }
}

#[test]
fn the_same_name_over_different_bytes_counts_on_neither_copy() {
    let start = Script::one_face(FaceShape::Flat, &["a", "b"], 1).ledger;
    let (mut a, mut b) = (start.clone(), start);
    // The same tablet's copy restored twice and gone on separately: both write fact number 1.
    write(
        &mut a,
        0,
        &edit(
            EntityRef::Job,
            &JobEdit {
                title: Some("one".into()),
                ..JobEdit::default()
            },
        ),
    );
    write(
        &mut b,
        0,
        &edit(
            EntityRef::Job,
            &JobEdit {
                title: Some("other".into()),
                ..JobEdit::default()
            },
        ),
    );
    let both = merged(&a, &b);
    assert_eq!(both, merged(&b, &a));
    let job = both.fold();
    assert_eq!(job.about.title.as_deref(), Some("Test job"));
    assert!(
        job.problems
            .iter()
            .any(|p| p.trouble == Trouble::TwoTexts && p.fact.replica == ReplicaId(100))
    );
    // Saving loses neither.
    let bytes = samespot_core::write::job::job_file(&both, &Default::default()).unwrap();
    assert_eq!(samespot_core::read::job::open(&bytes).unwrap().ledger, both);
}

#[test]
fn of_two_settings_that_did_not_know_of_each_other_the_loser_stays_visible() {
    let start = Script::one_face(FaceShape::Flat, &["a", "b"], 1).ledger;
    let (mut a, mut b) = (start.clone(), start);
    let say = |n: f64| {
        edit(
            EntityRef::Feature(id("spot")),
            &FeatureEdit {
                tolerance: Some(Length::from_mm(n)),
                ..FeatureEdit::default()
            },
        )
    };
    write(&mut a, 0, &say(2.0));
    write(&mut b, 1, &say(5.0));
    let mut both = merged(&a, &b);
    let job = both.fold();
    assert_eq!(job.concurrent.len(), 1);
    assert_eq!(
        job.features[&id("spot")].tolerance,
        Some(Length::from_mm(5.0))
    );
    assert_eq!(job.concurrent[0].value, serde_json::json!(2.0));
    // Whoever has seen both and chooses ends it.
    write(&mut both, 0, &say(2.0));
    let job = both.fold();
    assert_eq!(
        (job.concurrent.len(), job.features[&id("spot")].tolerance),
        (0, Some(Length::from_mm(2.0)))
    );
}

#[test]
fn two_corrections_that_did_not_know_of_each_other_are_a_disagreement() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    let target = s.over("c1", "a", "b", 300.0);
    let (mut a, mut b) = (s.ledger.clone(), s.ledger);
    let say = |v: f64| {
        Payload::Correct(Correction {
            target,
            value: mm(v),
            reason: "misread".into(),
        })
    };
    write(&mut a, 0, &say(310.0));
    write(&mut b, 1, &say(290.0));
    let mut both = merged(&a, &b);
    let job = both.fold();
    assert_eq!(job.disagreements.len(), 1);
    assert_eq!(job.disagreements[0].values.len(), 2);
    write(&mut both, 0, &say(310.0));
    let job = both.fold();
    assert_eq!(job.disagreements.len(), 0);
    assert_eq!(job.readings[0].says.value.mm, Length::from_mm(310.0));
}

#[test]
fn what_speaks_of_something_removed_is_kept_named_and_can_come_back() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 1);
    s.over("c1", "a", "c", 300.0);
    let removal = s.say(&Payload::Remove(Removal {
        entity: EntityRef::Mark(id("c")),
    }));
    let job = s.ledger.fold();
    assert!(job.readings.is_empty() && job.removed.contains(&EntityRef::Mark(id("c"))));
    assert!(
        job.problems
            .iter()
            .any(|p| p.trouble == Trouble::Removed(EntityRef::Mark(id("c"))))
    );
    s.say(&Payload::Withdraw(Withdrawal { target: removal }));
    let job = s.ledger.fold();
    assert_eq!((job.readings.len(), job.problems.len()), (1, 0));
}

#[test]
fn holes_and_checks_of_what_is_not_there_are_kept_named_and_do_not_count() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    s.set(
        EntityRef::Fixing(id("bracket")),
        &FixingEdit {
            pattern: Some(HolePattern::Row {
                count: 3,
                pitch: mm(60.0),
            }),
            ..FixingEdit::default()
        },
    );
    let hole = |piece: &str, fixing: &str, hole| {
        Payload::Drilled(DrilledFact {
            piece: id(piece),
            fixing: id(fixing),
            hole,
            became: None,
            found: None,
        })
    };
    let check = |piece: &str, feature: &str| {
        Payload::Check(Box::new(CheckFact {
            piece: id(piece),
            feature: id(feature),
            readings: Vec::new(),
            note: String::new(),
            lay_back: None,
            found: None,
            stage: None,
            gauge: None,
            reference: None,
        }))
    };
    let stands = |piece: &str, feature: &str| {
        Payload::Concession(ConcessionFact {
            piece: id(piece),
            feature: id(feature),
            by: "QA".into(),
            reason: "not seen from below".into(),
        })
    };
    for good in [
        hole("p1", "bracket", 1),
        hole("p1", "bracket", 3),
        check("p1", "spot"),
        stands("p1", "spot"),
    ] {
        s.say(&good);
    }
    let job = s.ledger.fold();
    assert_eq!(job.problems, []);
    assert_eq!(
        (job.drilled.len(), job.checks.len(), job.concessions.len()),
        (2, 1, 1)
    );
    let no_piece = Trouble::Missing(EntityRef::Piece(id("p99")));
    let no_feature = Trouble::Missing(EntityRef::Feature(id("nose")));
    let no_hole = |hole| Trouble::NoHole {
        fixing: id("bracket"),
        hole,
        holes: 3,
    };
    let wanted: Vec<(FactId, Trouble)> = [
        (check("p99", "spot"), no_piece.clone()),
        (check("p1", "nose"), no_feature.clone()),
        (stands("p99", "spot"), no_piece.clone()),
        (stands("p1", "nose"), no_feature),
        (hole("p99", "bracket", 1), no_piece),
        (
            hole("p1", "strap", 1),
            Trouble::Missing(EntityRef::Fixing(id("strap"))),
        ),
        (hole("p1", "bracket", 0), no_hole(0)),
        (hole("p1", "bracket", 4), no_hole(4)),
    ]
    .into_iter()
    .map(|(says, trouble)| (s.say(&says), trouble))
    .collect();
    let job = s.ledger.fold();
    let found: Vec<_> = job
        .problems
        .iter()
        .map(|p| (p.fact, p.trouble.clone()))
        .collect();
    assert_eq!(found, wanted);
    assert_eq!(
        (job.drilled.len(), job.checks.len(), job.concessions.len()),
        (2, 1, 1)
    );
    // A fixing taken out takes its holes along, and gives them back.
    let removal = s.say(&Payload::Remove(Removal {
        entity: EntityRef::Fixing(id("bracket")),
    }));
    let job = s.ledger.fold();
    assert!(job.drilled.is_empty());
    let gone = Trouble::Removed(EntityRef::Fixing(id("bracket")));
    assert_eq!(job.problems.iter().filter(|p| p.trouble == gone).count(), 4);
    s.say(&Payload::Withdraw(Withdrawal { target: removal }));
    assert_eq!(s.ledger.fold().drilled.len(), 2);
}

#[test]
fn an_unknown_kind_and_a_newer_version_are_carried_along() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    let head = s.ledger.facts().map(|f| f.envelope.lamport).max().unwrap();
    let odd = format!(
        r#"{{"id":{{"replica":"00000000000000ff","seq":1}},"lamport":{},"kind":"moon-phase","v":1,"payload":{{"full":true}}}}"#,
        head + 1
    );
    s.ledger.add(Fact::read(odd.clone()).unwrap());
    let job = s.ledger.fold();
    assert_eq!(job.problems.len(), 1);
    let json = samespot_core::write::job::job_json(&s.ledger).unwrap();
    assert!(json.contains(&odd), "the bytes stay as they were written");
}
