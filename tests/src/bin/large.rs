//! Writes a job as large as any as two files, to be opened in a browser: the job, and a copy of it in which
//! 2000 entries more were made.
//!
//! ```text
//! cargo run -p samespot-tests --bin large -- FOLDER [ENTRIES]
//! ```

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool for those who build this"
)]

use samespot_core::job::{CastingId, DoneFact, DoneKind, Payload, ReplicaId, Writer};
use samespot_core::write::job::{Attachments, job_file};
use samespot_tests::jobs::id;
use samespot_tests::large::{Large, large};

const MORE: u32 = 2000;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let folder = std::path::Path::new(args.first().expect("a folder"));
    let facts = args.get(1).and_then(|n| n.parse().ok()).unwrap_or(100_000);
    let mut ledger = large(Large {
        pieces: 24,
        features: 60,
        facts,
    })
    .ledger;
    let write = |name: &str, ledger: &_| {
        let file = job_file(ledger, &Attachments::new()).unwrap();
        std::fs::write(folder.join(name), &file).unwrap();
        println!("{name}: {} bytes", file.len());
    };
    write("large.samespot", &ledger);
    let writer = Writer {
        replica: ReplicaId(99),
        who: "copy".into(),
        wall: String::new(),
    };
    for n in 0..MORE {
        let casting: CastingId = id(&format!("c{}", n % 24 + 1));
        let done = Payload::Done(DoneFact {
            casting,
            what: "sanded again".into(),
            on: None,
            kind: Some(DoneKind::Sanded),
            near: Vec::new(),
        });
        ledger.write(&writer, &done).unwrap();
    }
    write("large-copy.samespot", &ledger);
}
