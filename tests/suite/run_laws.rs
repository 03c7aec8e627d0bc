//! The run: marriages, stages with holds, lives of marks, crosses that carry others over.
//!
//! Outside values: the stages and their order are common practice, no source; where a template laid
//! on carried crosses lands is simulated here, with this file's own geometry.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

#[path = "run_laws/carried.rs"]
mod carried;
#[path = "run_laws/told.rs"]
mod told;

use proptest::prelude::*;
use samespot_core::job::*;
use samespot_core::run::{Step, look, place_in, stage_list, step_to};
use samespot_tests::jobs::{Script, id};

/// What people on two tablets say of three castings and three pieces.
#[derive(Debug, Clone)]
enum Said {
    Marry(usize, u8, Vec<u8>),
    Stage(usize, u8, u8),
    Undo(usize),
    Meet,
}

fn said() -> impl Strategy<Value = Said> {
    let who = 0..2_usize;
    prop_oneof![
        (who.clone(), 1..4_u8, prop::collection::vec(1..4_u8, 0..3))
            .prop_map(|(w, p, c)| Said::Marry(w, p, c)),
        (who.clone(), 1..4_u8, 0..17_u8).prop_map(|(w, c, s)| Said::Stage(w, c, s)),
        who.prop_map(Said::Undo),
        Just(Said::Meet),
    ]
}

fn write(ledger: &mut Ledger, who: usize, payload: &Payload) -> FactId {
    let writer = Writer {
        replica: ReplicaId(200 + who as u64),
        who: format!("hand {who}"),
        wall: String::new(),
    };
    ledger.write(&writer, payload).unwrap().envelope.id
}

fn live(all: &[Said]) -> [Ledger; 2] {
    let start = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 3).ledger;
    let mut copies = [start.clone(), start];
    for said in all {
        match said {
            Said::Marry(w, piece, castings) => {
                let marriage = Marriage {
                    piece: id(&format!("p{piece}")),
                    castings: castings.iter().map(|c| id(&format!("c{c}"))).collect(),
                    reason: None,
                };
                write(&mut copies[*w], *w, &Payload::Marriage(marriage));
            }
            Said::Stage(w, casting, stage) => {
                let list = stage_list(&copies[*w].fold());
                let fact = StageFact {
                    casting: id(&format!("c{casting}")),
                    stage: list[usize::from(*stage)].clone(),
                    day: String::new(),
                    reason: None,
                };
                write(&mut copies[*w], *w, &Payload::Stage(fact));
            }
            Said::Undo(w) => {
                if let Some(undo) = copies[*w].undo(ReplicaId(200 + *w as u64)) {
                    write(&mut copies[*w], *w, &undo);
                }
            }
            Said::Meet => {
                let other = copies[1].clone();
                copies[0].merge(&other).unwrap();
                let other = copies[0].clone();
                copies[1].merge(&other).unwrap();
            }
        }
    }
    copies
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn facts_in_any_order_of_arrival_make_the_same_run(
        all in prop::collection::vec(said(), 0..14), turn in any::<usize>(),
    ) {
        let [mut a, b] = live(&all);
        a.merge(&b).unwrap();
        let mut facts: Vec<_> = a.everything().cloned().collect();
        let n = facts.len().max(1);
        facts.rotate_left(turn % n);
        facts.reverse();
        let mut again = Ledger::new(a.job_id().clone());
        for fact in facts {
            again.add(fact);
        }
        prop_assert_eq!(look(&again.fold()), look(&a.fold()));
    }

    #[test]
    fn a_casting_is_in_one_piece_at_most_or_named_as_a_conflict(
        all in prop::collection::vec(said(), 0..14),
    ) {
        let [mut a, b] = live(&all);
        a.merge(&b).unwrap();
        let job = a.fold();
        // Straight from the facts: the latest marriage of each piece.
        let mut latest = std::collections::BTreeMap::new();
        for m in &job.married {
            latest.insert(m.says.piece.clone(), m.says.castings.clone());
        }
        for casting in job.castings.keys() {
            let holds = job.marriages.values().filter(|m| m.castings.contains(casting)).count();
            let claims: Vec<_> = latest.iter().filter(|(_, c)| c.contains(casting)).map(|(p, _)| p).collect();
            prop_assert_eq!(holds, usize::from(!claims.is_empty()));
            let view = look(&job);
            let view = view.castings.iter().find(|c| c.casting == *casting).unwrap();
            for piece in claims.iter().filter(|p| ***p != *view.piece.as_ref().unwrap()) {
                let number = job.pieces[*piece].number.unwrap();
                prop_assert!(
                    view.conflicts.iter().any(|s| s.contains(&format!("piece {number}"))),
                    "{:?} claimed by {} too: {:?}", casting, piece, view.conflicts
                );
            }
        }
    }

    #[test]
    fn a_withdrawal_brings_the_run_back(
        all in prop::collection::vec(said(), 0..10), piece in 1..4_u8, casting in 1..4_u8,
    ) {
        let [mut a, _] = live(&all);
        let before = look(&a.fold());
        let marriage = Marriage {
            piece: id(&format!("p{piece}")),
            castings: vec![id(&format!("c{casting}"))],
            reason: None,
        };
        let fact = write(&mut a, 0, &Payload::Marriage(marriage));
        write(&mut a, 0, &Payload::Withdraw(Withdrawal { target: fact }));
        prop_assert_eq!(look(&a.fold()), before);
    }

    #[test]
    fn a_step_is_next_or_asks_for_a_reason(from in 0..17_usize, to in 0..17_usize) {
        let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
        let list = stage_list(&s.ledger.fold());
        s.say(&Payload::Stage(StageFact {
            casting: id("c1"),
            stage: list[from].clone(),
            day: String::new(),
            reason: None,
        }));
        let step = step_to(&s.ledger.fold(), &id("c1"), &list[to]);
        prop_assert_eq!(place_in(&list, &list[to].to_uppercase()), Some(to));
        match to.cmp(&from) {
            std::cmp::Ordering::Less => prop_assert_eq!(step, Step::Back),
            std::cmp::Ordering::Equal => prop_assert_eq!(step, Step::Stays),
            std::cmp::Ordering::Greater if to == from + 1 => prop_assert_eq!(step, Step::Next),
            std::cmp::Ordering::Greater => {
                prop_assert_eq!(step, Step::Skips(list[from + 1..to].to_vec()));
            }
        }
    }
}
