//! What is said of readings beside their places: what to read next, what is proved, what nothing
//! checks.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

#[path = "trust/advice.rs"]
mod advice;
#[path = "trust/ages.rs"]
mod ages;
#[path = "trust/run.rs"]
mod run;

use samespot_core::job::*;
use samespot_core::prepare::Source;
use samespot_core::prepare::walk::{Walk, walk};
use samespot_core::write::job::Attachments;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

struct World {
    ledger: Ledger,
}

impl World {
    fn new() -> Self {
        Self {
            ledger: samespot_core::read::job::open(FILE).unwrap().ledger,
        }
    }

    fn say(&mut self, payload: &Payload) -> FactId {
        let writer = Writer {
            replica: ReplicaId(0x77),
            who: "test".into(),
            wall: String::new(),
        };
        self.ledger.write(&writer, payload).unwrap().envelope.id
    }

    fn walk(&self, casting: &str) -> Walk {
        let job = self.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &Attachments::default(),
        };
        walk(&source, &CastingId::new(casting).unwrap()).unwrap()
    }

    /// Takes back all readings of a casting but those at these places in its order.
    fn leave_only(&mut self, casting: &str, kept: &[usize]) {
        let id = CastingId::new(casting).unwrap();
        let all: Vec<FactId> = self
            .ledger
            .fold()
            .readings
            .iter()
            .filter(|r| r.says.casting == id)
            .map(|r| r.id)
            .collect();
        for (k, target) in all.into_iter().enumerate() {
            if !kept.contains(&k) {
                self.say(&Payload::Withdraw(Withdrawal { target }));
            }
        }
    }
}
