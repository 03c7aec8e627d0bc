//! How long a job of 24 pieces, 60 features and 100 000 entries takes to open, to keep one more
//! entry, to report and to merge. Run by hand: `cargo bench -p samespot-tests --bench facts --profile tool`.
//!
//! The least processor time of several runs is printed (on Linux; elsewhere time by the clock): on a
//! shared machine everything above it is somebody else's work.
#![allow(clippy::unwrap_used, reason = "a measurement that fails should stop")]

use samespot_core::answer::{Ask, Desk, Request, answer};
use samespot_core::job::*;
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;
use samespot_core::write::job::job_file;
use samespot_tests::jobs::{Script, id, mm};
use samespot_tests::large::{Large, large};
use std::hint::black_box;
use std::time::Instant;

/// Seconds this thread has worked so far.
fn worked() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanoseconds = text.split_whitespace().next();
    nanoseconds.and_then(|n| n.parse::<f64>().ok()).map_or_else(
        || {
            let epoch = std::time::UNIX_EPOCH.elapsed();
            epoch.unwrap().as_secs_f64()
        },
        |n| n * 1e-9,
    )
}

fn least<T>(what: &str, times: u32, mut work: impl FnMut() -> T) {
    let (mut clock, mut least) = (f64::INFINITY, f64::INFINITY);
    for _ in 0..times {
        let (begun, start) = (Instant::now(), worked());
        black_box(work());
        least = least.min(worked() - start);
        clock = clock.min(begun.elapsed().as_secs_f64());
    }
    // Processor time is counted in ticks: what takes less than a few is told by the clock.
    let least = if clock < 0.02 { clock } else { least };
    println!("{what}: {:.2} ms", least * 1000.0);
}

fn reading(value_mm: f64) -> Payload {
    Payload::Reading(Reading {
        casting: id("c3"),
        of: Measured::Over {
            from: PointRef::Mark(id("a0")),
            to: PointRef::Mark(id("b0")),
        },
        value: mm(value_mm),
        instrument: None,
        hooked: false,
        stage: None,
        within: None,
        set_aside: None,
    })
}

fn writer(replica: u64) -> Writer {
    Writer {
        replica: ReplicaId(replica),
        who: "bench".into(),
        wall: String::new(),
    }
}

fn main() {
    let facts = std::env::args().find_map(|a| a.parse().ok());
    let of = Large {
        pieces: 24,
        features: 60,
        facts: facts.unwrap_or(100_000),
    };
    let start = Instant::now();
    let Script { ledger, .. } = large(of);
    println!("{of:?}, written in {:.1} s", start.elapsed().as_secs_f64());
    let texts: Vec<String> = ledger.everything().map(|f| f.bytes().to_owned()).collect();
    let file = job_file(&ledger, &Default::default()).unwrap();
    println!("{} MB", file.len() / 1_000_000);
    least("entries read as kept on the device", 3, || {
        let mut ledger = Ledger::new(id("test-job"));
        for text in &texts {
            ledger.add(Fact::read(text.clone()).unwrap());
        }
        ledger
    });
    least("file opened", 3, || open(&file).unwrap());
    least("folded from nothing", 3, || Folded::of(&ledger));

    let folded = Folded::of(&ledger);
    let mut value = 100.0;
    let mut keep = |payload: &dyn Fn(f64) -> Payload| {
        value += 0.1;
        let mut ledger = ledger.clone();
        let fact = ledger.write(&writer(9), &payload(value)).unwrap();
        let mut folded = folded.clone();
        folded.and(&ledger, &[fact.envelope.id]);
        (ledger, folded)
    };
    least("one reading kept", 20, || keep(&reading));
    let last = ledger.facts().filter(|f| f.envelope.kind == "edit").last();
    let target = last.unwrap().envelope.id;
    least("one entry taken back", 20, || {
        keep(&|_| Payload::Withdraw(Withdrawal { target }))
    });
    least("what a card on the shelf says", 5, || {
        (QuickCards::of_job(&folded).is_some(), folded.pieces.len())
    });

    let (mut ours, mut theirs) = (ledger.clone(), ledger.clone());
    for n in 0..2000 {
        ours.write(&writer(10), &reading(f64::from(n))).unwrap();
        theirs.write(&writer(11), &reading(f64::from(n))).unwrap();
    }
    let folded_ours = Folded::of(&ours);
    let theirs = open(&job_file(&theirs, &Default::default()).unwrap())
        .unwrap()
        .ledger;
    least("two copies merged, 2000 entries new on each", 3, || {
        let mut all = ours.clone();
        let report = all.merge(&theirs).unwrap();
        let mut folded = folded_ours.clone();
        folded.and(&all, &report.new.into_iter().collect::<Vec<_>>());
        folded
    });

    let mut desk = Desk::default();
    let job: JobId = id("test-job");
    let mut ask = |ask: Ask| {
        let answer = answer(&mut desk, Request { number: 1, ask });
        assert!(answer.says.is_ok(), "{:?}", answer.says);
        answer
    };
    let tell = |facts: Vec<String>| Ask::Facts {
        job: id("test-job"),
        facts,
        attachments: Vec::new(),
    };
    let start = worked();
    ask(tell(texts));
    println!("worker told all: {:.0} ms", (worked() - start) * 1000.0);
    let template = Ask::Template {
        job: job.clone(),
        feature: id("f0"),
        piece: id("p3"),
        paper: Paper::A4,
        day: "2026-11-27".into(),
    };
    let start = worked();
    ask(template.clone());
    println!("its first template: {:.0} ms", (worked() - start) * 1000.0);
    let mut more = ledger;
    least("worker told one, template again", 10, || {
        let fact = more.write(&writer(12), &reading(120.0)).unwrap();
        ask(tell(vec![fact.bytes().to_owned()]));
        ask(template.clone())
    });
    least("the run at a glance", 2, || {
        ask(Ask::Survey { job: job.clone() })
    });
    let day = "2026-11-27".to_owned();
    for piece in [Some(id("p3")), None] {
        let what = if piece.is_some() { "piece" } else { "run" };
        least(&format!("record of a {what}"), 2, || {
            let (job, piece, day) = (job.clone(), piece.clone(), day.clone());
            let paper = Paper::A4;
            ask(Ask::Record {
                job,
                piece,
                paper,
                day,
            })
        });
    }
    least("checks of the run", 2, || {
        ask(Ask::RunChecks { job: job.clone() })
    });
    least("history, the newest 200", 2, || {
        let of = samespot_core::prepare::history::HistoryAsk {
            most: 200,
            ..Default::default()
        };
        let job = job.clone();
        ask(Ask::History { job, of })
    });
}
