//! The seats of the invented example: what the program says against what is true
//! (`reference/quay-puffins/seat-truth.json`, made by `seat.py`, which shares no code with the core).
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that fails here should stop here"
)]

use samespot_core::answer::{Ask, Desk, Refusal, Reply, Request, answer};
use samespot_core::job::{
    Entry, JobId, Payload, PieceId, ReplicaId, SeatRead, SeatReading, SeatWhen, Writer,
};
use samespot_core::prepare::seat::{PadFlag, SeatFrom, SeatVerdict, SeatView};
use serde_json::Value;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn desk() -> (Desk, JobId) {
    let mut desk = Desk::default();
    let id = desk.take(samespot_core::read::job::open(FILE).unwrap());
    (desk, id)
}

fn ask(desk: &mut Desk, job: &JobId, piece: &str) -> Result<SeatView, Refusal> {
    let ask = Ask::Seat {
        job: job.clone(),
        piece: PieceId::new(piece).unwrap(),
        joint: None,
    };
    match answer(desk, Request { number: 1, ask }).says? {
        Reply::Seat(view) => Ok(*view),
        other => panic!("{other:?}"),
    }
}

fn truth() -> Value {
    serde_json::from_str(include_str!("../reference/quay-puffins/seat-truth.json")).unwrap()
}

#[test]
fn shims_and_aims_are_near_the_truth() {
    let (mut desk, job) = desk();
    let truth = truth();
    let (mut worst, mut inside, mut count) = (0.0_f64, 0, 0);
    for n in 1..=17 {
        let piece = format!("p{n}");
        let view = ask(&mut desk, &job, &piece).unwrap();
        let from = if n <= 9 {
            SeatFrom::Trial
        } else {
            SeatFrom::Heights
        };
        assert_eq!(view.from, Some(from), "{piece}");
        assert!(view.free.is_empty() && view.missing.is_empty(), "{view:?}");
        let sure = view.sure.unwrap().mm();
        for (i, pad) in view.pads.iter().enumerate() {
            let off = (pad.shim.unwrap().mm() - truth["shims"][&piece][i].as_f64().unwrap()).abs();
            worst = worst.max(off);
            inside += usize::from(off <= sure);
            count += 1;
            assert_eq!(pad.flag, Some(PadFlag::Fits), "{piece} {}", pad.name);
        }
        for (i, station) in view.stations.iter().enumerate() {
            // What it should read does not depend on the readings much: the layers are thin.
            for (state, key) in [(&station.wet, "wet"), (&station.cured, "cured")] {
                let want = truth[key][&piece][i].as_f64().unwrap();
                assert!(
                    (state.aim.unwrap().mm() - want).abs() < 0.02,
                    "{piece} {key}: {state:?} {want}"
                );
            }
        }
    }
    assert!(worst < 1.2, "{worst}");
    assert!(
        inside * 100 >= count * 90,
        "{inside} of {count} within what was promised"
    );
}

#[test]
fn any_fits_any_and_the_cured_readings_count() {
    let (mut desk, job) = desk();
    let view = ask(&mut desk, &job, "p3").unwrap();
    let pairing = view.pairing.as_ref().unwrap();
    assert!(
        pairing.verdict.starts_with("Any fits any, "),
        "{}",
        pairing.verdict
    );
    assert_eq!((pairing.figures.len(), pairing.bases.len()), (17, 17));
    for station in &view.stations {
        assert_eq!(
            station.at(SeatWhen::Cured).verdict,
            Some(SeatVerdict::Within)
        );
    }
    let lean = view.lean.as_ref().unwrap();
    assert_eq!(lean.when, SeatWhen::Cured);
    assert!(lean.step.mm() < 2.0, "{lean:?}");
    // Three pads alike round the middle: all three up by 1 mm lift everything straight up, by more
    // than 1 because they stand on a slope (1 / cos of 18.2 degrees).
    let all = view.moves.last().unwrap();
    for up in &all.up {
        assert!(
            (up.mm() - 1.0 / (75.0_f64 / 240.0).asin().cos()).abs() < 0.02,
            "{all:?}"
        );
    }
    assert!(all.leans.mm() < 0.05, "{all:?}");
    assert_eq!(view.moves[2].towards, "front", "{:?}", view.moves[2]);
}

#[test]
fn what_was_not_read_is_asked_for_by_name() {
    let (mut desk, job) = desk();
    let view = ask(&mut desk, &job, "p18").unwrap();
    assert_eq!(view.from, None);
    assert!(view.pads.iter().all(|p| p.shim.is_none()));
    assert!(
        view.missing
            .iter()
            .any(|m| m.starts_with("Cap C18: read the height over the board at P1 front left")),
        "{:?}",
        view.missing
    );
    assert!(matches!(
        ask(&mut desk, &job, "p99"),
        Err(Refusal::CannotDo { .. })
    ));
}

/// What a dry reading that is 1 mm too long is said to do is what it does when it is read again so.
#[test]
fn a_misread_locating_dimension_moves_the_shims_as_said() {
    let before = {
        let (mut desk, job) = desk();
        ask(&mut desk, &job, "p7").unwrap()
    };
    assert_eq!(before.misread.len(), before.stations.len());
    for (station, said) in before.stations.iter().zip(&before.misread) {
        let mut opened = samespot_core::read::job::open(FILE).unwrap();
        let writer = Writer {
            replica: ReplicaId(503),
            who: "test".into(),
            wall: String::new(),
        };
        let longer = station.dry.read.as_ref().unwrap().mm.mm() + 1.0;
        let reading = SeatReading {
            joint: before.joint.clone(),
            of: SeatRead::Locating {
                piece: PieceId::new("p7").unwrap(),
                station: station.id.clone(),
                when: SeatWhen::Dry,
            },
            value: Entry::of_mm(longer),
            instrument: None,
            tool: None,
        };
        opened
            .ledger
            .write(&writer, &Payload::Seat(reading))
            .unwrap();
        let mut desk = Desk::default();
        let job = desk.take(opened);
        let after = ask(&mut desk, &job, "p7").unwrap();
        assert_eq!(said.station, station.name);
        for (k, shim) in said.shims.iter().enumerate() {
            let (was, is) = (before.pads[k].shim.unwrap(), after.pads[k].shim.unwrap());
            let moved = is.mm() - was.mm();
            assert!(
                (moved - shim.mm()).abs() < 0.01,
                "{} pad {k}: {moved} {shim:?}",
                station.name
            );
        }
    }
    // All three too long by 1: straight down by 1, so less under every pad (18.2° off level).
    for k in 0..before.pads.len() {
        let sum: f64 = before.misread.iter().map(|r| r.shims[k].mm()).sum();
        let level = (75.0_f64 / 240.0).asin().cos();
        assert!((sum + level).abs() < 0.02, "{k}: {sum}");
    }
    // Nothing is misread on trial where nothing was read on trial.
    let (mut desk, job) = desk();
    assert!(ask(&mut desk, &job, "p12").unwrap().misread.is_empty());
}
