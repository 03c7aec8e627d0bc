//! A run made in parts by several workers is the run made by one, byte for byte.

#![allow(
    clippy::unwrap_used,
    clippy::unreachable,
    reason = "a test stops where something is missing"
)]

use samespot_core::answer::{Answer, Ask, Desk, FileKind, Refusal, Reply, Request, answer_with};
use samespot_core::job::{JobId, PieceId};
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;

const DAY: &str = "2026-11-28";

/// A worker that knows the smaller example.
fn desk() -> (Desk, JobId, Vec<PieceId>) {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../public/examples/regatta-otters.samespot"
    );
    let opened = open(&std::fs::read(path).unwrap()).unwrap();
    let job = opened.ledger.fold();
    let pieces = job.pieces_in_order();
    let pieces = pieces.into_iter().map(|(id, _)| id.clone()).collect();
    let mut desk = Desk::default();
    let id = desk.take(opened);
    (desk, id, pieces)
}

fn asked(desk: &mut Desk, ask: Ask, beside: &[u8]) -> Answer {
    answer_with(desk, Request { number: 1, ask }, beside)
}

fn alone(desk: &mut Desk, job: &JobId, kind: FileKind) -> Answer {
    let ask = Ask::File {
        job: job.clone(),
        kind,
        of: None,
        pieces: Vec::new(),
        paper: Paper::A4,
        day: DAY.into(),
    };
    asked(desk, ask, &[])
}

fn part(desk: &mut Desk, job: &JobId, kind: FileKind, pieces: &[PieceId]) -> (usize, Vec<u8>) {
    let ask = Ask::RunPart {
        job: job.clone(),
        kind,
        pieces: pieces.to_vec(),
        paper: Paper::A4,
        day: DAY.into(),
    };
    let answer = asked(desk, ask, &[]);
    let Ok(Reply::RunPart { facts }) = answer.says else {
        unreachable!("{:?}", answer.says);
    };
    (facts, answer.bytes)
}

fn together(desk: &mut Desk, job: &JobId, kind: FileKind, facts: usize, all: &[u8]) -> Answer {
    let ask = Ask::RunTogether {
        job: job.clone(),
        kind,
        paper: Paper::A4,
        day: DAY.into(),
        facts,
    };
    asked(desk, ask, all)
}

#[test]
fn parts_of_two_workers_come_together_as_one_alone_makes_it() {
    let (mut one, job, pieces) = desk();
    let (mut other, ..) = desk();
    for (kind, ways) in [(FileKind::Zip, &[1, 5][..]), (FileKind::Pdf, &[5][..])] {
        let whole = alone(&mut one, &job, kind);
        assert!(
            matches!(whole.says, Ok(Reply::File { .. })),
            "{:?}",
            whole.says
        );
        // What is said of a part has been text once, and numbers lose their last digit there.
        let said = serde_json::to_string(&whole.says).unwrap();
        let said: Result<Reply, Refusal> = samespot_core::json::read(&said).unwrap();
        for &many in ways {
            let mut all = Vec::new();
            let mut facts = 0;
            for (k, some) in pieces.chunks(many).enumerate() {
                let by = if k % 2 == 0 { &mut one } else { &mut other };
                let (of, bytes) = part(by, &job, kind, some);
                facts = of;
                all.extend(bytes);
            }
            let made = together(&mut one, &job, kind, facts, &all);
            assert!(made.says.is_ok(), "{kind:?} by {many}: {:?}", made.says);
            assert!(made.says == said, "{kind:?} by {many}: says another");
            assert!(made.bytes == whole.bytes, "{kind:?} by {many}: other bytes");
        }
    }
}

#[test]
fn parts_that_are_cut_short_or_of_another_state_are_refused() {
    let (mut desk, job, pieces) = desk();
    let kind = FileKind::Pdf;
    let (facts, bytes) = part(&mut desk, &job, kind, &pieces[..1]);
    let refused = |answer: Answer| matches!(answer.says, Err(Refusal::CannotDo { .. }));
    assert!(together(&mut desk, &job, kind, facts, &bytes).says.is_ok());
    let third = bytes.len() / 3;
    for short in [0, 3, 8, 20, third, bytes.len() - 1] {
        let cut = together(&mut desk, &job, kind, facts, &bytes[..short]);
        assert!(refused(cut), "cut to {short}");
    }
    let mut endless = bytes.clone();
    endless[..8].fill(0xff);
    assert!(refused(together(&mut desk, &job, kind, facts, &endless)));
    let later = together(&mut desk, &job, kind, facts + 1, &bytes);
    assert!(refused(later));
}
