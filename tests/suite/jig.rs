//! The jig of a fixing: a plate read back from its own SVG, held against a ball, a standard's table
//! and pins that are brought onto the marks again.
#![allow(
    clippy::unwrap_used,
    clippy::unreachable,
    reason = "a test stops where something is missing"
)]

use samespot_core::job::*;
use samespot_core::prepare::{Prepared, Source, fewest_templates, issue, prepare_sheet};
use samespot_core::sheet::Paper;
use samespot_core::write::job::Attachments;
use samespot_tests::jobs::id;

const EXAMPLE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn example() -> Job {
    samespot_core::read::job::open(EXAMPLE)
        .unwrap()
        .ledger
        .fold()
}

fn jig() -> SheetOf {
    SheetOf::Jig(id("bracket"))
}

#[test]
fn scratch() {
    let (job, attachments) = (example(), Attachments::default());
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let made = issue(&source, &jig(), &id("p7"), Paper::A4, "2026-11-26").unwrap();
    println!("{}", made.drawing.readable.join("\n"));
    let t = std::time::Instant::now();
    let found = fewest_templates(&source, &jig()).unwrap();
    println!(
        "{} of at least {} {:?}",
        found.templates.len(),
        found.at_least,
        t.elapsed()
    );
    for t in &found.templates {
        println!(
            "{:?} {}",
            t.serves
                .iter()
                .map(|(p, b)| format!("{p} {:.2}", b.worst.mm()))
                .collect::<Vec<_>>(),
            t.laying_words
        );
    }
    panic!("x");
}
