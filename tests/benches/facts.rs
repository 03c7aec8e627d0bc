//! A job of 24 pieces, 60 features and a hundred thousand facts: folded as a whole, and with one fact
//! more. Run by hand: `cargo bench -p samespot-tests --bench facts --profile tool`, or, without waiting
//! for an optimised build, `cargo test -p samespot-tests --bench facts`.
//!
//! The least of many runs is printed: on a shared machine everything above it is somebody else's work.
#![allow(clippy::unwrap_used, reason = "a measurement that fails should stop")]

use samespot_core::job::{
    Edit, EntityRef, Fact, FeatureEdit, Job, Ledger, Payload, Reading, ReplicaId, StageFact, Writer,
};
use samespot_core::job::{FaceShape, Measured, PointRef};
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id, mm};
use std::hint::black_box;
use std::time::{Duration, Instant};

const FACTS: usize = 100_000;

fn least(runs: usize, mut work: impl FnMut()) -> Duration {
    (0..runs)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .min()
        .unwrap()
}

fn writer(hand: u64) -> Writer {
    Writer {
        replica: ReplicaId(hand),
        who: "bench".into(),
        wall: "2026-11-27 18:00:00".into(),
    }
}

fn reading(k: usize) -> Payload {
    Payload::Reading(Reading {
        casting: id(&format!("c{}", 1 + k % 24)),
        of: Measured::Over {
            from: PointRef::Mark(id("a")),
            to: PointRef::Mark(id("b")),
        },
        value: mm(300.0 + (k % 50) as f64 / 10.0),
        instrument: None,
        hooked: false,
        stage: Some("measured".into()),
        within: None,
        set_aside: None,
    })
}

fn tolerance(k: usize) -> Payload {
    let fields = FeatureEdit {
        tolerance: Some(Length::from_mm(2.0 + (k % 7) as f64)),
        ..FeatureEdit::default()
    };
    let feature = EntityRef::Feature(id(&format!("f{}", k % 60)));
    Payload::Edit(Edit::of(feature, &fields).unwrap())
}

fn stage(k: usize) -> Payload {
    Payload::Stage(StageFact {
        casting: id(&format!("c{}", 1 + k % 24)),
        stage: "primed".into(),
        day: "2026-11-27".into(),
        reason: None,
    })
}

fn large() -> Ledger {
    let mut ledger = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 24).ledger;
    for k in 0..FACTS {
        let said = match k % 10 {
            0 => tolerance(k),
            1 => stage(k),
            _ => reading(k),
        };
        ledger.write(&writer(7), &said).unwrap();
    }
    ledger
}

/// One fact more, as the page takes it: everything else is still held by whoever shows it.
fn one_more(ledger: &Ledger, job: &Job, folding: &samespot_core::job::Folding, said: &Payload) {
    let (mut ledger, mut job, mut folding) = (ledger.clone(), job.clone(), folding.clone());
    let fact: Fact = ledger.write(&writer(8), said).unwrap();
    assert!(!folding.go_on(&mut job, &ledger, &fact), "folded anew");
    black_box((&ledger, &job, &folding));
}

fn main() {
    let ledger = large();
    let (job, folding) = Job::folded(&ledger);
    println!("{} facts", ledger.len());
    let whole = least(3, || drop(black_box(Job::folded(&ledger))));
    println!("all of them folded: {whole:?}");
    for (name, said) in [
        ("a reading", reading(3)),
        ("a stage", stage(3)),
        ("a field of a feature", tolerance(3)),
    ] {
        let one = least(20, || one_more(&ledger, &job, &folding, &said));
        println!("{name} more: {one:?}");
    }
    let mut other = ledger.clone();
    for k in 0..500 {
        other.write(&writer(9), &reading(k)).unwrap();
    }
    let merged = least(3, || {
        let mut both = ledger.clone();
        both.merge(&other).unwrap();
        black_box(both.len());
    });
    println!("two such copies merged: {merged:?}");
}
