//! Readings of a run by way of a spreadsheet, as the page asks for them: the invented example's
//! own export comes back as what the job has; a pasted sheet is understood cell by cell.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that fails here should stop here"
)]

use samespot_core::answer::{Answer, Ask, Desk, Refusal, Reply, Request, answer};
use samespot_core::job::JobId;
use samespot_core::prepare::spreadsheet::SheetView;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn desk() -> (Desk, JobId) {
    let mut desk = Desk::default();
    let id = desk.take(samespot_core::read::job::open(FILE).unwrap());
    (desk, id)
}

/// Over the wire and back, as between page and worker.
fn ask(desk: &mut Desk, ask: Ask) -> Answer {
    let sent = serde_json::to_string(&Request { number: 1, ask }).unwrap();
    let told = answer(desk, serde_json::from_str(&sent).unwrap());
    let back: Answer = serde_json::from_str(&serde_json::to_string(&told).unwrap()).unwrap();
    Answer {
        bytes: told.bytes,
        ..back
    }
}

fn sheet(desk: &mut Desk, job: &JobId, text: &str) -> Result<SheetView, Refusal> {
    let read = Ask::ReadSheet {
        job: job.clone(),
        text: text.into(),
        over: true,
    };
    match ask(desk, read).says? {
        Reply::Sheet(view) => Ok(*view),
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_is_exported_comes_back_as_what_the_job_has() {
    let (mut desk, job) = desk();
    let file = ask(
        &mut desk,
        Ask::ReadingsFile {
            job: job.clone(),
            day: "2026-11-26".into(),
        },
    );
    assert!(matches!(file.says, Ok(Reply::File { .. })));
    let text = String::from_utf8(file.bytes).unwrap();
    let view = sheet(&mut desk, &job, &text).unwrap();
    // A line for each reading, the head apart (RFC 4180 ends each with CR LF).
    assert_eq!(view.readings.len(), text.matches("\r\n").count() - 1);
    assert!(view.readings.len() > 100, "{}", view.readings.len());
    assert!(view.readings.iter().all(|r| r.known));
    assert!(view.refused.is_empty() && view.asked.is_empty());
    // Read once more alike, the same distance is a reading of its own.
    let last = text.trim_end().rsplit("\r\n").next().unwrap();
    let once_more = sheet(&mut desk, &job, &format!("{text}{last}\r\n")).unwrap();
    let new: Vec<_> = once_more.readings.iter().filter(|r| !r.known).collect();
    assert_eq!(new.len(), 1, "{new:?}");
}

#[test]
fn a_pasted_sheet_is_understood_cell_by_cell() {
    let (mut desk, job) = desk();
    let text = "casting\thead-left A-B\thead-left A-C\tremarks\n\
                puffin-7\t103.4\t4 1/16\"\tgood\n\
                puffin-8\t\tabout 100\t\n\
                puffin-99\t103\t\t\n";
    let view = sheet(&mut desk, &job, text).unwrap();
    let found: Vec<(usize, i64)> = (view.readings.iter())
        .map(|r| (r.line, r.value.to_um()))
        .collect();
    // 4 1/16 in = 65/16 × 25.4 mm (the international inch of 1959) = 103.1875 mm.
    assert_eq!(found, [(2, 103_400), (2, 103_188)]);
    assert!(view.readings.iter().all(|r| !r.known));
    assert!(view.readings[0].words.contains("over the surface"));
    assert_eq!(view.blank, 2, "{view:?}");
    assert_eq!(view.unused, ["remarks"]);
    let why: Vec<(usize, &str)> = (view.refused.iter())
        .map(|r| (r.line, r.typed.as_str()))
        .collect();
    assert_eq!(why, [(3, "about 100"), (4, "103")]);
    assert!(view.refused[1].why.contains("add it first"), "{view:?}");
}

#[test]
fn a_text_that_is_no_table_of_readings_is_refused_in_words() {
    let (mut desk, job) = desk();
    let Err(Refusal::CannotDo { sentence }) = sheet(&mut desk, &job, "hello\nworld") else {
        panic!("it was read");
    };
    assert!(sentence.contains("castings"), "{sentence}");
}
