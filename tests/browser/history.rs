//! History on the page: taking back what was entered here, the job as it was, two entries
//! compared; and another copy of a job opened, with both values where it disagrees.

use std::fs;

use samespot_core::job::{Edit, EntityRef, JobEdit, Ledger, Payload, ReplicaId, Writer};
use samespot_core::read::job::open;
use samespot_core::write::job::{Attachments, job_file};

use crate::browser::Screen;
use crate::walk::walk;

#[test]
fn every_entry_can_be_read_taken_back_and_compared() {
    walk("history", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        page.tap(".ways a.way:first-child");
        page.wait_for_text("Quay puffins");
        w.site.stop();
        page.tap(".tasks a[href$='/job']");
        page.fill("#job-who", "Ada (invented)");
        page.fill("#job-title", "Quay puffins, second run (invented)");
        page.key("Tab");
        page.wait_for_text("Saved");
        page.tap(".tasks a[href$='/history']");
        page.wait_for_text("1194 entries");
        page.wait_for_text(
            "title: Quay puffins, second run (invented), before: Quay puffins (invented)",
        );
        page.picture("list");
        page.tap(".history-list li:first-child button");
        page.wait_for_text("Entry 1194: the job");
        page.tap_text("As it was then");
        page.wait_for_text("things had been said");
        page.picture("then");
        page.tap_text("Take it back");
        page.wait_for_text("1195 entries");
        page.wait_for_text("took back: title");
        page.wait_for_text("Bring it back");
        page.picture("taken-back");
        page.tap_text("Bring it back");
        page.wait_for_text("brought back: title");
        // What was entered elsewhere says so, and what has changed since can be looked at.
        page.fill("#history-find", "P11 113");
        page.wait_for_text("of 1196 entries");
        page.wait_for("document.querySelectorAll('.history-row').length < 10");
        page.tap(".history-list li:first-child button");
        page.wait_for_text("only there can it be taken back");
        page.tap_text("What has changed since");
        page.wait_for_text("differences between then and now");
        page.tap(".history-state details:first-child summary");
        page.picture("since");
        page.tap_text("Compare with another entry");
        page.wait_for_text("Now tap the other entry");
        page.fill("#history-find", "second run");
        page.wait_for("document.querySelectorAll('.history-row').length === 3");
        page.tap(".history-list li:last-child button");
        page.wait_for_text("differences between the two entries");
        page.wait_for_text("Puffin P11");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("upright");
        page.set_screen(Screen::DESK);
        page.picture("desk");
        // After loading again it is still this device's own.
        page.reload();
        page.wait_for_text("1196 entries");
        page.fill("#history-find", "second run");
        page.wait_for("document.querySelectorAll('.history-row').length === 3");
        page.tap(".history-list li:last-child button");
        page.wait_for_text("Take it back");
    });
}

/// The same job with another title, written by somebody else who knew of nothing newer.
fn went_on(base: &Ledger, hand: u64, title: &str) -> Vec<u8> {
    let mut ledger = base.clone();
    let fields = JobEdit {
        title: Some(title.into()),
        ..JobEdit::default()
    };
    let writer = Writer {
        replica: ReplicaId(hand),
        who: format!("Bench {hand} (invented)"),
        wall: "2026-11-26 12:00".into(),
    };
    let edit = Edit::of(EntityRef::Job, &fields).unwrap();
    ledger.write(&writer, &Payload::Edit(edit)).unwrap();
    job_file(&ledger, &Attachments::new()).unwrap()
}

#[test]
fn another_copy_comes_in_and_where_it_disagrees_somebody_chooses() {
    walk("merge", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        page.tap(".ways a.way:first-child");
        page.wait_for_text("Quay puffins");
        w.site.stop();
        page.tap(".tasks a[href$='/history']");
        page.wait_for_text("1193 entries");
        let copy = page.download(|page| page.tap_text("Copy this job off the device"));
        let base = open(&fs::read(&copy).unwrap()).unwrap().ledger;
        let first = w.keep(
            "bench-1.samespot",
            &went_on(&base, 1, "Mole puffins (invented)"),
        );
        let second = w.keep(
            "bench-2.samespot",
            &went_on(&base, 2, "Pier puffins (invented)"),
        );
        page.choose_file("#history-file", &first);
        page.wait_for_text("1 entry came in from bench-1.samespot. Nothing was overwritten");
        page.wait_for_text("Nothing in it disagrees with what was here");
        page.choose_file("#history-file", &second);
        page.wait_for_text("1 thing was said in two ways: choose below");
        page.wait_for_text("Said in two ways");
        page.picture("two-ways");
        page.tap("button.history-choose[aria-label^='Take Mole']");
        page.wait_for("!document.querySelector('.history-dispute')");
        page.wait_for_text("Mole puffins (invented)");
        // The same file again brings nothing; it may be opened as often as one likes.
        page.tap(".tasks a[href$='/history']");
        page.choose_file("#history-file", &second);
        page.wait_for_text("the file holds nothing that this device did not have");
        page.tap(".tasks a[href$='/history']");
        // Another job, and half a file: refused in words, nothing changed.
        let other = fs::read(
            std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
                .join("../public/examples/quay-puffins.samespot"),
        )
        .unwrap();
        let other = w.keep("other.samespot", &other);
        page.choose_file("#history-file", &other);
        page.wait_for_text("open it beside this one instead");
        let whole = fs::read(&first).unwrap();
        let cut = w.keep("cut.samespot", &whole[..whole.len() / 2]);
        page.choose_file("#history-file", &cut);
        page.wait_for_text("cut.samespot: The file");
        page.picture("refused");
        page.set_screen(Screen::DESK);
        page.picture("desk");
    });
}
