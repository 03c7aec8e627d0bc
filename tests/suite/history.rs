//! The history of a job as the page asks for it: every entry and what it changed, states compared,
//! two values chosen from, and copies that went their own ways made one again.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test that fails here should stop here"
)]

#[path = "history/words.rs"]
mod words;

use proptest::prelude::*;
use samespot_core::answer::{Answer, Ask, Desk, Refusal, Reply, Request, answer};
use samespot_core::check::{DecisionRule, Verdict};
use samespot_core::job::*;
use samespot_core::prepare::history::{ComparedView, GoingBack, HistoryAsk, HistoryView, Stands};
use samespot_core::read::job::{Opened, open};
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;
use samespot_tests::jobs::{Script, id};

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

/// Over the wire and back, as between page and worker.
fn ask(ledger: &Ledger, ask: Ask) -> Result<Reply, Refusal> {
    let mut desk = Desk::default();
    desk.take(Opened {
        ledger: ledger.clone(),
        attachments: Attachments::new(),
        notes: Vec::new(),
    });
    let sent = serde_json::to_string(&Request { number: 1, ask }).unwrap();
    let told = answer(&mut desk, serde_json::from_str(&sent).unwrap());
    let back: Answer = serde_json::from_str(&serde_json::to_string(&told).unwrap()).unwrap();
    back.says
}

fn history(ledger: &Ledger, find: &str, only: Option<Vec<FactId>>) -> HistoryView {
    let of = HistoryAsk {
        find: find.into(),
        only,
        most: 10_000,
    };
    let job = ledger.job_id().clone();
    match ask(ledger, Ask::History { job, of }) {
        Ok(Reply::History(view)) => *view,
        other => panic!("{other:?}"),
    }
}

fn compared(
    ledger: &Ledger,
    from: Option<FactId>,
    to: Option<FactId>,
) -> Result<ComparedView, Refusal> {
    let asked = Ask::Compared {
        job: ledger.job_id().clone(),
        from,
        to,
        most: 10_000,
    };
    match ask(ledger, asked)? {
        Reply::Compared(view) => Ok(*view),
        other => panic!("{other:?}"),
    }
}

fn by(hand: u64) -> Writer {
    Writer {
        replica: ReplicaId(500 + hand),
        who: format!("hand {hand}"),
        wall: "2026-11-26 13:00".into(),
    }
}

fn title(text: &str) -> Payload {
    let fields = JobEdit {
        title: Some(text.into()),
        ..JobEdit::default()
    };
    Payload::Edit(Edit::of(EntityRef::Job, &fields).unwrap())
}

fn example() -> Ledger {
    open(FILE).unwrap().ledger
}

fn script() -> Ledger {
    Script::one_face(FaceShape::Flat, &["a", "b", "c"], 2).ledger
}

#[test]
fn every_entry_of_the_example_is_told_once_newest_first_in_plain_words() {
    let ledger = example();
    let view = history(&ledger, "", None);
    // The generator wrote so many facts (tests/reference/quay-puffins); no two have one place.
    assert_eq!((view.all, view.found), (1193, 1193));
    let places: Vec<usize> = view.entries.iter().map(|e| e.place).collect();
    assert_eq!(places, (1..=1193).rev().collect::<Vec<_>>());
    for entry in &view.entries {
        assert!(!entry.changed.is_empty(), "{entry:?}");
        for d in &entry.changed {
            let text = format!("{} {} {:?} {:?}", d.about, d.what, d.was, d.is);
            for code in ["{", "FactId", "EntityRef", "mm mm"] {
                assert!(!text.contains(code), "{text}");
            }
        }
    }
    // The planted slip (truth.json): puffin 11, A to B, 113 typed for 103.
    let slip = history(&ledger, "P11 113", None);
    let said: Vec<&str> = slip
        .entries
        .iter()
        .flat_map(|e| &e.changed)
        .filter_map(|d| d.is.as_deref())
        .collect();
    assert!(said.contains(&"113 mm"), "{slip:?}");
    // Both heads have an A and a B: the face is said, or one would stand for the other.
    assert!(
        slip.entries
            .iter()
            .flat_map(|e| &e.changed)
            .any(|d| d.what == "A to B, over the surface, on Head, left side"),
        "{slip:?}"
    );
    let now = compared(&ledger, None, None).unwrap();
    let pieces: Vec<&str> = now
        .differences
        .iter()
        .filter(|d| d.about.starts_with("piece ") && d.what == "made of")
        .map(|d| d.about.as_str())
        .collect();
    let in_order: Vec<String> = (1..=18).map(|n| format!("piece {n}")).collect();
    assert_eq!(pieces, in_order);
    // Feet and inches stay as typed, with what was understood: 6 9/16 in is 166.7 mm.
    let inches = history(&ledger, "9/16", None);
    let said = inches.entries[0].changed[0].is.clone().unwrap();
    assert!(
        said.contains("9/16") && said.contains("= 166.7 mm"),
        "{said}"
    );
}

#[test]
fn what_an_entry_changed_is_what_a_comparison_across_it_shows() {
    let mut ledger = script();
    let first = ledger.write(&by(0), &title("One")).unwrap().envelope.id;
    let second = ledger.write(&by(0), &title("Two")).unwrap().envelope.id;
    let view = history(&ledger, "", None);
    let told = &view.entries[0].changed;
    assert_eq!(told[0].was.as_deref(), Some("One"));
    assert_eq!(told[0].is.as_deref(), Some("Two"));
    let across = compared(&ledger, Some(first), Some(second)).unwrap();
    assert_eq!(&across.differences, told);
    assert_eq!(
        compared(&ledger, Some(second), None).unwrap().differences,
        []
    );
    // As it was then: the older title, and everything else that had been said.
    let then = compared(&ledger, None, Some(first)).unwrap();
    let title = then.differences.iter().find(|d| d.what == "title").unwrap();
    assert_eq!(
        (title.was.clone(), title.is.as_deref()),
        (None, Some("One"))
    );
    assert!(then.found > 5, "{then:?}");
    let unknown = FactId {
        replica: ReplicaId(1),
        seq: 99_999,
    };
    let Err(Refusal::CannotDo { sentence }) = compared(&ledger, Some(unknown), None) else {
        panic!("an entry that is not here was found");
    };
    assert_eq!(sentence, "that entry isn’t in this copy of the job");
}

#[test]
fn what_is_taken_back_stays_to_be_read_and_comes_back() {
    let mut ledger = script();
    let one = ledger.write(&by(0), &title("One")).unwrap().envelope.id;
    let two = ledger.write(&by(0), &title("Two")).unwrap().envelope.id;
    let back = |target| Payload::Withdraw(Withdrawal { target });
    let undo = ledger.write(&by(0), &back(two)).unwrap().envelope.id;
    let view = history(&ledger, "", None);
    assert_eq!(view.entries[0].changed[0].what, "took back: title");
    assert_eq!(view.entries[1].stands, Stands::TakenBack { by: vec![undo] });
    assert_eq!(view.entries[2].fact, one);
    assert_eq!(
        compared(&ledger, Some(one), None).unwrap().differences,
        [],
        "taking the second back leads to the first"
    );
    ledger.write(&by(0), &back(undo)).unwrap();
    let view = history(&ledger, "", None);
    assert_eq!(view.entries[0].changed[0].what, "brought back: title");
    assert_eq!(view.entries[2].stands, Stands::Counts);
    assert_eq!(ledger.fold().about.title.as_deref(), Some("Two"));
}

#[test]
fn of_two_values_either_can_be_chosen_and_then_nothing_disagrees() {
    for pick in 0..2 {
        let base = script();
        let (mut a, mut b) = (base.clone(), base);
        a.write(&by(1), &title("Harbour")).unwrap();
        b.write(&by(2), &title("Mole")).unwrap();
        a.merge(&b).unwrap();
        let view = history(&a, "", None);
        let [dispute] = view.disputes.as_slice() else {
            panic!("{:?}", view.disputes);
        };
        let said: Vec<(&str, bool)> = dispute
            .values
            .iter()
            .map(|v| (v.says.as_str(), v.counts))
            .collect();
        assert_eq!(said, [("Mole", true), ("Harbour", false)]);
        assert!(dispute.values[0].by.starts_with("hand 2"));
        let chosen = dispute.values[pick].chosen.clone();
        a.write(&by(1), &chosen.into()).unwrap();
        assert_eq!(history(&a, "", None).disputes, []);
        assert_eq!(a.fold().about.title.as_deref(), Some(said[pick].0));
    }
}

/// Two tablets check the same eye and come to different verdicts: neither is lost, and somebody chooses. Whoever
/// checks again having seen the other settles it.
#[test]
fn two_verdicts_on_one_feature_are_both_shown() {
    let check = |verdict| {
        Payload::Check(Box::new(CheckFact {
            piece: id("p1"),
            feature: id("spot"),
            readings: Vec::new(),
            note: String::new(),
            lay_back: None,
            found: Some(Found {
                right: Length::ZERO,
                up: Length::from_mm(3.0),
                size: Length::ZERO,
                limit: Length::from_mm(2.0),
                guard: Length::from_mm(0.5),
                verdict,
                rule: DecisionRule::TwoSigma,
                sd: None,
            }),
            stage: None,
            gauge: None,
            reference: None,
        }))
    };
    let base = script();
    let (mut a, mut b, mut c) = (base.clone(), base.clone(), base);
    a.write(&by(1), &check(Verdict::Within)).unwrap();
    b.write(&by(2), &check(Verdict::Outside)).unwrap();
    for (mut here, there) in [(a.clone(), &b), (b.clone(), &a)] {
        here.merge(there).unwrap();
        let disputes = history(&here, "", None).disputes;
        let [dispute] = disputes.as_slice() else {
            panic!("{disputes:?}");
        };
        assert!(
            dispute.about.starts_with("Spot on piece 1"),
            "{}",
            dispute.about
        );
        let said: Vec<&str> = dispute.values.iter().map(|v| v.says.as_str()).collect();
        assert!(
            said.contains(&"within, 3.0 up") && said.contains(&"outside, 3.0 up"),
            "{said:?}"
        );
        assert_eq!(dispute.values.iter().filter(|v| v.counts).count(), 1);
        let within = dispute.values.iter().find(|v| v.says.starts_with("within"));
        let chosen = within.unwrap().chosen.clone();
        here.write(&by(1), &Payload::from(chosen)).unwrap();
        assert_eq!(history(&here, "", None).disputes, []);
        let job = here.fold();
        let last = job.checks.iter().next_back().unwrap();
        assert_eq!(last.says.found.unwrap().verdict, Verdict::Within);
    }
    // The same verdict twice is no dispute; nor is a second look by somebody who knew the first.
    let mut same = a.clone();
    c.write(&by(3), &check(Verdict::Within)).unwrap();
    same.merge(&c).unwrap();
    assert_eq!(history(&same, "", None).disputes, []);
    a.write(&by(2), &check(Verdict::Outside)).unwrap();
    assert_eq!(history(&a, "", None).disputes, []);
}

#[test]
fn only_what_came_in_is_shown_when_it_is_asked_for() {
    let mut ledger = script();
    let id = ledger.write(&by(3), &title("Mole")).unwrap().envelope.id;
    let view = history(&ledger, "", Some(vec![id]));
    assert_eq!((view.found, view.entries[0].fact), (1, id));
    assert!(view.all > 1);
}

#[test]
fn another_job_and_a_cut_file_are_refused_in_words_and_change_nothing() {
    let mut ours = script();
    let before = ours.clone();
    let why = ours.merge(&example()).unwrap_err().to_string();
    assert!(why.contains("open it beside this one"), "{why}");
    assert_eq!(ours, before);
    for cut in [0, 1, 2, 100, FILE.len() / 2, FILE.len() - 1] {
        let why = open(&FILE[..cut]).unwrap_err().to_string();
        assert!(
            ["stops short", "damaged", "empty", "not a job"]
                .iter()
                .any(|w| why.contains(w)),
            "{cut}: {why}"
        );
    }
}

/// What one of ten people does on a copy.
fn does(ledger: &mut Ledger, who: u64, what: (u8, u8)) {
    let payload = match what.0 % 3 {
        0 => title(&format!("title {}", what.1)),
        1 => {
            let fields = PieceEdit {
                number: Some(u32::from(what.1)),
                ..PieceEdit::default()
            };
            let on = EntityRef::Piece(PieceId::new(&format!("p{}", what.1 % 4)).unwrap());
            Payload::Edit(Edit::of(on, &fields).unwrap())
        }
        _ => match ledger.undo(by(who).replica) {
            Some(undo) => undo,
            None => title("nothing to undo"),
        },
    };
    ledger.write(&by(who), &payload).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn ten_copies_edited_at_random_and_merged_in_any_order_end_equal(
        deeds in prop::collection::vec((0..10_usize, any::<(u8, u8)>()), 10..80),
        meetings in prop::collection::vec((0..10_usize, 0..10_usize), 0..20),
        last in Just((0..10_usize).collect::<Vec<_>>()).prop_shuffle(),
    ) {
        let mut copies = vec![script(); 10];
        let mut meetings = meetings.into_iter();
        for (who, what) in deeds {
            does(&mut copies[who], who as u64, what);
            if let Some((a, b)) = meetings.next() {
                let b = copies[b].clone();
                copies[a].merge(&b).unwrap();
            }
        }
        // Each takes in all the others, each in another order, some of them twice.
        let apart = copies.clone();
        for (at, copy) in copies.iter_mut().enumerate() {
            for k in 0..12 {
                copy.merge(&apart[last[(k + at) % 10]]).unwrap();
            }
        }
        let first = history(&copies[0], "", None);
        for copy in &copies[1..] {
            prop_assert_eq!(copy, &copies[0]);
            prop_assert_eq!(copy.fold(), copies[0].fold());
            prop_assert_eq!(&history(copy, "", None), &first);
        }
        for own in &apart {
            for fact in own.everything() {
                prop_assert!(copies[0].get(fact.envelope.id).is_some(), "lost");
            }
        }
    }
}

#[test]
fn a_hole_or_a_check_of_what_is_not_there_says_so_in_words() {
    let mut ledger = example();
    let mut why = |says: Payload| {
        let fact = ledger.write(&by(1), &says).unwrap().envelope.id;
        let view = history(&ledger, "", Some(vec![fact]));
        match view.entries.into_iter().next().unwrap().stands {
            Stands::Not { why } => why,
            other => panic!("{other:?}"),
        }
    };
    let fixing = open(FILE).unwrap().ledger.fold();
    let (fixing, name) = fixing
        .fixings
        .iter()
        .find_map(|(id, f)| f.pattern.as_ref().and(Some((id.clone(), f.name.clone()?))))
        .unwrap();
    let said = why(Payload::Drilled(DrilledFact {
        piece: PieceId::new("p1").unwrap(),
        fixing,
        hole: 9,
        became: None,
        found: None,
    }));
    assert_eq!(
        said,
        format!(
            "it speaks of hole 9 of {name}, which has 4 holes; change its pattern of holes, or say anew which hole was drilled"
        )
    );
    let said = why(Payload::Check(Box::new(CheckFact {
        piece: PieceId::new("p99").unwrap(),
        feature: FeatureId::new("band").unwrap(),
        readings: Vec::new(),
        note: String::new(),
        lay_back: None,
        found: None,
        stage: None,
        gauge: None,
        reference: None,
    })));
    assert_eq!(said, "it speaks of piece p99, which this job doesn’t have");
}

fn going_back(ledger: &Ledger, to: FactId, own: &[ReplicaId]) -> GoingBack {
    let asked = Ask::GoingBack {
        job: ledger.job_id().clone(),
        to,
        own: own.to_vec(),
        most: 3,
    };
    match ask(ledger, asked) {
        Ok(Reply::GoingBack(view)) => *view,
        other => panic!("{other:?}"),
    }
}

fn takes_back(ledger: &mut Ledger, writer: &Writer, all: &[FactId]) {
    for target in all {
        let said = Payload::Withdraw(Withdrawal { target: *target });
        ledger.write(writer, &said).unwrap();
    }
}

#[test]
fn going_back_says_what_it_takes_back_and_what_stays() {
    let mut ledger = example();
    let there = ledger.write(&by(1), &title("first")).unwrap();
    let own = ledger.write(&by(1), &title("second")).unwrap();
    let theirs = ledger.write(&by(2), &title("theirs")).unwrap();
    let newest = ledger.write(&by(1), &title("third")).unwrap();
    let view = going_back(&ledger, there.envelope.id, &[by(1).replica]);
    assert_eq!(view.take_back, [newest.envelope.id, own.envelope.id]);
    assert_eq!(view.others, [("hand 2".to_owned(), 1)]);
    assert_eq!((view.printed, view.told.len()), (0, 2));
    takes_back(&mut ledger, &by(1), &view.take_back);
    // What somebody else said goes over what was there: it stays until they take it back.
    assert_eq!(ledger.fold().about.title.as_deref(), Some("theirs"));
    takes_back(&mut ledger, &by(2), &[theirs.envelope.id]);
    assert_eq!(ledger.fold().about.title.as_deref(), Some("first"));
    // Twice is the same as once.
    let again = going_back(&ledger, there.envelope.id, &[by(1).replica, by(2).replica]);
    assert!(again.take_back.is_empty());
    let nowhere = FactId {
        replica: ReplicaId(9),
        seq: 9,
    };
    let refused = ask(
        &ledger,
        Ask::GoingBack {
            job: ledger.job_id().clone(),
            to: nowhere,
            own: Vec::new(),
            most: 3,
        },
    );
    assert!(
        matches!(refused, Err(Refusal::CannotDo { sentence }) if sentence.contains("isn’t in this copy"))
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Whatever one writer said, took back and brought back: going back to any entry leaves the job
    /// as it was just after it, and taking that back leaves it as it was before.
    #[test]
    fn going_back_to_any_entry_is_the_state_after_it(
        steps in proptest::collection::vec((0_u8..4, 0_usize..30), 2..30),
        to in 0_usize..30,
    ) {
        let mut ledger = Ledger::new(JobId::new("any").unwrap());
        let mut said: Vec<FactId> = Vec::new();
        for (what, which) in steps {
            let payload = match what {
                // Undo, or redo where it hits an undo.
                0 if !said.is_empty() => Payload::Withdraw(Withdrawal { target: said[which % said.len()] }),
                1 => title(&format!("title {which}")),
                2 => Payload::Edit(Edit::of(
                    EntityRef::Piece(PieceId::new(&format!("p{}", which % 5)).unwrap()),
                    &PieceEdit { number: u32::try_from(which).ok(), batch: None },
                ).unwrap()),
                _ => Payload::Stage(StageFact {
                    casting: CastingId::new(&format!("c{}", which % 4)).unwrap(),
                    stage: format!("stage {which}"),
                    day: String::new(),
                    reason: None,
                }),
            };
            said.push(ledger.write(&by(1), &payload).unwrap().envelope.id);
        }
        let to = said[to % said.len()];
        let was = ledger.as_of(&ledger.get(to).unwrap().envelope).fold();
        let now = ledger.fold();
        let view = going_back(&ledger, to, &[by(1).replica]);
        let before = ledger.len();
        takes_back(&mut ledger, &by(1), &view.take_back);
        prop_assert_eq!(ledger.fold(), was);
        // Nothing is lost by it: what took it back can be taken back.
        let undo: Vec<FactId> = ledger.facts().map(|f| f.envelope.id).filter(|id| id.seq > before as u64).collect();
        takes_back(&mut ledger, &by(1), &undo.into_iter().rev().collect::<Vec<_>>());
        prop_assert_eq!(ledger.fold(), now);
    }
}
