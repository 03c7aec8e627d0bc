//! A job with more facts folded in is the job folded from nothing, whatever they say and in
//! whatever order they arrive; and states that were kept stay as they were.

use super::{edit, write};
use proptest::prelude::*;
use samespot_core::job::*;
use samespot_tests::jobs::{Script, id, mm};

/// What somebody does: who, what kind of thing, to which of several, what they choose.
type Deed = (usize, u8, u8, u16);

const MARKS: [&str; 4] = ["a", "b", "c", "late"];

fn start() -> Ledger {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 3);
    s.set(
        EntityRef::Feature(id("other")),
        &FeatureEdit {
            face: Some(id("face")),
            ..FeatureEdit::default()
        },
    );
    s.set(
        EntityRef::Pair(id("pair")),
        &PairEdit {
            left: Some(id("spot")),
            right: Some(id("other")),
            made: Some(Hand::Right),
            mirror: Some(Mirror::Halfway {
                from: id("a"),
                to: id("b"),
            }),
            ..PairEdit::default()
        },
    );
    s.set(
        EntityRef::Instrument(id("tape")),
        &InstrumentEdit::default(),
    );
    s.ledger
}

fn pattern(count: u16) -> FixingEdit {
    FixingEdit {
        pattern: Some(HolePattern::Row {
            count: u32::from(count % 4) + 1,
            pitch: mm(60.0),
        }),
        ..FixingEdit::default()
    }
}

fn one_of(ledger: &Ledger, kinds: &[&str], which: u16) -> Option<FactId> {
    let all: Vec<FactId> = ledger
        .facts()
        .filter(|f| kinds.contains(&f.envelope.kind.as_str()))
        .map(|f| f.envelope.id)
        .collect();
    all.get(usize::from(which) % all.len().max(1)).copied()
}

fn payload(ledger: &Ledger, (_, kind, a, n): Deed) -> Option<Payload> {
    let mark = MARKS[usize::from(a) % 4];
    let piece = format!("p{}", a % 4 + 1);
    let casting = format!("c{}", a % 4 + 1);
    Some(match kind % 20 {
        0 => edit(
            EntityRef::Job,
            &JobEdit {
                title: Some(format!("title {n}")),
                pieces: (n % 2 == 0).then_some(u32::from(a)),
                ..JobEdit::default()
            },
        ),
        1 => edit(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                face: Some(id("face")),
                letter: Some(format!("{n}")),
                ..MarkEdit::default()
            },
        ),
        2 => edit(
            EntityRef::Feature(id(["spot", "other", "third"][usize::from(a) % 3])),
            &FeatureEdit {
                name: Some(format!("name {n}")),
                outline: (n % 3 == 0).then(|| OutlineSpec::Circle {
                    diameter: mm(f64::from(n % 90) + 5.0),
                }),
                ..FeatureEdit::default()
            },
        ),
        3 => edit(EntityRef::Fixing(id("bracket")), &pattern(n)),
        4..=6 => Payload::Reading(Reading {
            casting: id(&casting),
            of: Measured::Over {
                from: PointRef::Mark(id("a")),
                to: PointRef::Mark(id(mark)),
            },
            value: mm(f64::from(n) + 1.0),
            instrument: (n % 2 == 0).then(|| id("tape")),
            hooked: false,
            stage: None,
            within: None,
            set_aside: (n % 9 == 0).then(|| "as it was taken".into()),
        }),
        7 => Payload::Correct(Correction {
            target: one_of(ledger, &["reading"], n)?,
            value: mm(f64::from(a) + 2.0),
            reason: String::new(),
        }),
        8 => Payload::Measuring(MeasuringFact {
            casting: id(&casting),
            says: MeasuringSays::SetAside {
                reading: one_of(ledger, &["reading"], n)?,
                why: format!("why {a}"),
            },
        }),
        9 => Payload::Marriage(Marriage {
            piece: id(&piece),
            castings: vec![id(&format!("c{}", n % 3 + 1))],
            reason: None,
        }),
        10 => Payload::Drilled(DrilledFact {
            piece: id(&piece),
            fixing: id("bracket"),
            hole: u32::from(n % 5),
            became: None,
            found: None,
        }),
        11 => Payload::Remove(Removal {
            entity: match a % 3 {
                0 => EntityRef::Mark(id("c")),
                1 => EntityRef::Piece(id("p2")),
                _ => EntityRef::Pair(id("pair")),
            },
        }),
        12 => Payload::Stage(StageFact {
            casting: id(&casting),
            stage: format!("stage {n}"),
            day: String::new(),
            reason: None,
        }),
        13 => Payload::Check(Box::new(CheckFact {
            piece: id(&piece),
            feature: id(["spot", "other"][usize::from(n) % 2]),
            readings: Vec::new(),
            note: format!("note {n}"),
            lay_back: None,
            found: None,
            stage: None,
            gauge: None,
            reference: (n % 3 == 0).then(|| format!("sheet {a}")),
        })),
        14 => Payload::Printed(Printed {
            of: SheetOf::Feature(id("spot")),
            // One of them named twice, as somebody might type it.
            pieces: vec![id(&piece), id("p1"), id("p1")],
            reference: format!("sheet {a}"),
            day: String::new(),
            inputs: PrintedInputs::default(),
            distances: Vec::new(),
        }),
        15 => Payload::Done(DoneFact {
            casting: id(&casting),
            what: format!("work {n}"),
            on: (n % 2 == 0).then(|| EntityRef::Feature(id("spot"))),
            kind: None,
            near: if n % 3 == 0 {
                vec![id(mark), id("a")]
            } else {
                Vec::new()
            },
        }),
        // Takes back anything: what was set, read, corrected, removed, taken back.
        _ => Payload::Withdraw(Withdrawal {
            target: one_of(
                ledger,
                &[
                    "edit",
                    "reading",
                    "correct",
                    "measuring",
                    "marriage",
                    "drilled",
                    "remove",
                    "stage",
                    "check",
                    "printed",
                    "done",
                    "withdraw",
                ],
                n,
            )?,
        }),
    })
}

/// Lives through the deeds on two copies that meet now and then; everything they said.
fn live(deeds: &[Deed]) -> Ledger {
    let mut copies = [start(), start()];
    for deed in deeds {
        let who = deed.0 % 2;
        if deed.1 == 255 {
            let other = copies[1 - who].clone();
            copies[who].merge(&other).unwrap();
        } else if let Some(payload) = payload(&copies[who], *deed) {
            write(&mut copies[who], who, &payload);
        }
    }
    let [mut all, other] = copies;
    all.merge(&other).unwrap();
    all
}

/// What is found by what it is about is what is found by looking through all.
fn is_filed<T: About + PartialEq + std::fmt::Debug>(list: &Filed<T>) {
    for fact in list {
        assert_eq!(list.named(fact.id), Some(fact));
        for (subject, part) in fact.says.about() {
            let part_too = |f: &&Kept<T>| f.says.about().contains(&(subject.clone(), part.clone()));
            let wanted = |known: Option<&EntityRef>| known == part.as_ref();
            let found = || list.about_parts(subject.clone(), &wanted);
            assert!(list.iter().filter(part_too).eq(found()));
            assert!(list.iter().rev().filter(part_too).eq(found().rev()));
            let of_all = |f: &&Kept<T>| f.says.about().iter().any(|(s, _)| *s == subject);
            assert!(list.iter().filter(of_all).eq(list.about(subject.clone())));
        }
    }
}

fn all_is_filed(job: &Job) {
    is_filed(&job.readings);
    is_filed(&job.stages);
    is_filed(&job.measuring);
    is_filed(&job.drilled);
    is_filed(&job.checks);
    is_filed(&job.printed);
    is_filed(&job.done);
}

/// Facts in an order in which they might arrive: each up to so many places out of its own.
fn arriving(all: &Ledger, out_by: u64, salt: u64) -> Vec<Fact> {
    let mut facts: Vec<Fact> = all.everything().cloned().collect();
    facts.sort_by_key(|f| f.envelope.order());
    let mut keyed: Vec<(u64, Fact)> = (0..)
        .zip(facts)
        .map(|(at, fact): (u64, Fact)| {
            let off = at.wrapping_mul(0x9e37_79b9_7f4a_7c15 ^ salt) >> 40;
            (at + off % (out_by + 1), fact)
        })
        .collect();
    keyed.sort_by_key(|(at, _)| *at);
    keyed.into_iter().map(|(_, fact)| fact).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn facts_folded_in_as_they_arrive_make_the_job_folded_from_nothing(
        deeds in prop::collection::vec((0..2_usize, any::<u8>(), any::<u8>(), any::<u16>()), 1..50),
        out_by in prop_oneof![Just(0_u64), 1..12_u64],
        salt in any::<u64>(),
        together in 1..4_usize,
    ) {
        let all = live(&deeds);
        let first = start();
        let mut ledger = first.clone();
        let mut folded = Folded::of(&ledger);
        let mut kept: Vec<(Folded, Job)> = Vec::new();
        let new: Vec<Fact> = arriving(&all, out_by, salt)
            .into_iter()
            .filter(|f| first.get(f.envelope.id).is_none())
            .collect();
        for some in new.chunks(together) {
            kept.push((folded.clone(), Job::fold(&ledger)));
            let ids: Vec<FactId> = some.iter().map(|f| f.envelope.id).collect();
            let before = ledger.clone();
            for fact in some {
                prop_assert!(ledger.add(fact.clone()));
            }
            let beyond: Vec<FactId> = ledger.beyond(&before).map(|f| f.envelope.id).collect();
            prop_assert_eq!(beyond.len(), ids.len());
            folded.and(&ledger, &ids);
            prop_assert_eq!(&*folded, &Job::fold(&ledger));
        }
        prop_assert_eq!(&*folded, &Job::fold(&all));
        all_is_filed(&folded);
        for (folded, job) in &kept {
            prop_assert_eq!(&**folded, job);
        }
    }
}

/// Every writer's head and the last place in the order are known without counting.
#[test]
fn the_heads_of_a_ledger_are_those_of_its_facts() {
    let all = live(&[
        (0, 0, 1, 2),
        (1, 4, 1, 7),
        (1, 12, 0, 1),
        (0, 255, 0, 0),
        (0, 5, 1, 9),
    ]);
    let mut heads = Heads::new();
    for fact in all.everything() {
        let id = fact.envelope.id;
        let head = heads.entry(id.replica).or_default();
        *head = (*head).max(id.seq);
    }
    assert_eq!(all.heads(), heads);
    let top = all.facts().map(|f| f.envelope.lamport).max().unwrap();
    let mut more = all.clone();
    write(&mut more, 0, &edit(EntityRef::Job, &JobEdit::default()));
    let last = more.beyond(&all).next().unwrap();
    assert_eq!(last.envelope.lamport, top + 1);
}

/// The same name over another text, on a copy that had folded the first.
#[test]
fn a_second_text_under_a_name_takes_the_first_out_of_the_job() {
    let mut ledger = start();
    write(
        &mut ledger,
        0,
        &edit(
            EntityRef::Job,
            &JobEdit {
                title: Some("one".into()),
                ..JobEdit::default()
            },
        ),
    );
    let mut folded = Folded::of(&ledger);
    let mut other = start();
    write(
        &mut other,
        0,
        &edit(
            EntityRef::Job,
            &JobEdit {
                title: Some("two".into()),
                ..JobEdit::default()
            },
        ),
    );
    let report = ledger.merge(&other).unwrap();
    assert_eq!((report.came_in, report.refused.len()), (1, 1));
    let new: Vec<FactId> = report.new.into_iter().collect();
    folded.and(&ledger, &new);
    assert_eq!(&*folded, &ledger.fold());
    assert_eq!(folded.about.title.as_deref(), Some("Test job"));
}
