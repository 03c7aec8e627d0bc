//! The locating stick: its sheet read back, and what a reading with it counts.

#![allow(
    clippy::unwrap_used,
    reason = "a test that fails here should stop here"
)]

use samespot_core::answer::{Ask, Desk, Reply, Request, answer};
use samespot_core::job::*;
use samespot_core::prepare::Source;
use samespot_core::prepare::seat::{SeatVerdict, SeatView, seat_view, stick_sheet};
use samespot_core::seat::{ReadWith, STEPS};
use samespot_core::sheet::Paper;
use samespot_core::units::Length;
use samespot_core::write::svg::svg_pages;
use samespot_tests::jobs::{id, mm};

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

/// The example with one station of piece 7 read so, cured.
fn read(value: f64, tool: Option<SeatTool>) -> (Job, SeatView) {
    let mut opened = samespot_core::read::job::open(FILE).unwrap();
    let job = opened.ledger.fold();
    let before = seat_view(&job, &id("p7"), None).unwrap();
    let writer = Writer {
        replica: ReplicaId(502),
        who: "test".into(),
        wall: String::new(),
    };
    let reading = SeatReading {
        joint: before.joint.clone(),
        of: SeatRead::Locating {
            piece: id("p7"),
            station: before.stations[0].id.clone(),
            when: SeatWhen::Cured,
        },
        value: mm(before.stations[0].cured.aim.unwrap().mm() + value),
        instrument: None,
        tool,
    };
    opened
        .ledger
        .write(&writer, &Payload::Seat(reading))
        .unwrap();
    let job = opened.ledger.fold();
    let view = seat_view(&job, &id("p7"), None).unwrap();
    (job, view)
}

#[test]
fn a_reading_counts_what_it_was_read_with() {
    let (_, view) = read(0.0, None);
    let t = view.within.mm();
    let aim = view.stations[0].cured.aim.unwrap();
    let u = |with: ReadWith| 2.0 * with.standard_uncertainty(aim).mm();
    let says = |off: f64, tool| read(off, tool).1.stations[0].cured.verdict;
    // Guarded by its own U (ISO 14253-1): just inside T − U, just past it.
    for (tool, with) in [
        (None, ReadWith::Rule),
        (Some(SeatTool::Tape), ReadWith::Tape),
        (Some(SeatTool::Stick), ReadWith::Stick),
    ] {
        let edge = t - u(with);
        assert_eq!(
            says(edge - 0.01, tool),
            Some(SeatVerdict::Within),
            "{tool:?}"
        );
        assert_eq!(
            says(edge + 0.01, tool),
            Some(SeatVerdict::CannotTell),
            "{tool:?}"
        );
        assert_eq!(says(t + u(with) + 0.01, tool), Some(SeatVerdict::Outside));
    }
    assert!(u(ReadWith::Stick) < u(ReadWith::Tape));
    // The gain is said before anything is made.
    assert!(
        view.gain.contains("hooked tape") && view.gain.contains("stick"),
        "{}",
        view.gain
    );
}

/// Every cross of the sheet by its name, mm from the stop of its strip, from the SVG by another reader.
fn crosses(pages: &[String]) -> Vec<(String, f64)> {
    let mut all: Vec<(String, f64)> = Vec::new();
    for page in pages {
        let read = roxmltree::Document::parse(page).unwrap();
        for node in read.descendants().filter(|n| n.has_tag_name("title")) {
            let text = node.text().unwrap_or_default();
            if let Some((name, at)) = text.rsplit_once(" at ")
                && let Ok(at) = at.parse()
                && !all.contains(&(name.to_owned(), at))
            {
                all.push((name.to_owned(), at));
            }
        }
    }
    all
}

#[test]
fn the_sheet_carries_both_ends_for_every_station_and_the_gauge() {
    let (job, view) = read(0.0, None);
    let attachments = samespot_core::write::job::Attachments::new();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let piece: PieceId = id("p7");
    let drawing = stick_sheet(&source, (&piece, None), Paper::A4, "2026-11-27").unwrap();
    let pages = svg_pages(&drawing);
    let all = crosses(&pages);
    for station in &view.stations {
        let (goes, doesnt) = station.stick.unwrap();
        let near = |name: &str, at: Length| {
            all.iter()
                .any(|(n, x)| n == name && (x - at.mm()).abs() <= 0.051)
        };
        assert!(near("GOES", goes) && near("DOESN’T", doesnt), "{all:?}");
        // Inside the limits by the stick's U, either way of what it should read.
        let aim = station.cured.aim.unwrap().mm();
        let sure = 2.0
            * ReadWith::Stick
                .standard_uncertainty(Length::from_mm(aim))
                .mm();
        assert!((aim - goes.mm() - (view.within.mm() - sure)).abs() < 1e-9);
        assert!((doesnt.mm() - aim - (view.within.mm() - sure)).abs() < 1e-9);
    }
    for k in 1..=STEPS {
        let name = format!("{}", f64::from(k) / 2.0);
        assert!(all.iter().any(|(n, _)| *n == name), "step {name}: {all:?}");
    }
    let words = drawing.readable.join("\n");
    assert!(words.contains("Shims are not a support"), "{words}");
}

#[test]
fn the_stick_is_a_pdf_and_a_tolerance_too_fine_for_it_is_said() {
    let mut opened = samespot_core::read::job::open(FILE).unwrap();
    let ask = |opened: &samespot_core::read::job::Opened| {
        let mut desk = Desk::default();
        let mut again = samespot_core::read::job::open(FILE).unwrap();
        again.ledger = opened.ledger.clone();
        let job = desk.take(again);
        let ask = Ask::LocatingStick {
            job,
            piece: id("p7"),
            joint: None,
            paper: Paper::A3,
            day: "2026-11-27".into(),
        };
        answer(&mut desk, Request { number: 1, ask })
    };
    let made = ask(&opened);
    let Reply::File { name, .. } = made.says.unwrap() else {
        unreachable!("a file")
    };
    assert!(name.contains("locating-stick-piece-07"), "{name}");
    assert!(
        !lopdf::Document::load_mem(&made.bytes)
            .unwrap()
            .get_pages()
            .is_empty()
    );
    let fields = JointEdit {
        within: Some(Length::from_mm(0.5)),
        ..JointEdit::default()
    };
    let writer = Writer {
        replica: ReplicaId(503),
        who: "test".into(),
        wall: String::new(),
    };
    // Of whichever of its joints the piece sits on.
    for joint in opened.ledger.fold().joints.keys() {
        let edit = Edit::of(EntityRef::Joint(joint.clone()), &fields).unwrap();
        opened.ledger.write(&writer, &Payload::Edit(edit)).unwrap();
    }
    let why = format!("{:?}", ask(&opened).says.unwrap_err());
    assert!(why.contains("no stick can pass that"), "{why}");
}
