//! The amendment's way: the client moves the eye after half the run is painted.

use std::fs;

use crate::browser::Screen;
use crate::walk::walk;

#[test]
fn the_amendments_way() {
    walk("amendment", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        // The example stands for the job that a workshop has open.
        page.tap(".ways a.way:first-child");
        page.tap(".run a[href*='/p/p10']");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.download(|page| page.tap_text("Download PDF"));

        // Piece 7 is painted: that is said of its three castings with one tap.
        page.tap(".run a[href*='/p/p7']");
        page.tap("nav.tasks a[href$='/job']");
        page.wait_for_text("All of it: painted");
        page.picture("piece in hand");
        page.tap(".job-in-hand .key.main");
        page.wait_for(
            "document.querySelector('.run a[href*=\"/p/p7\"]')?.textContent.includes('check')",
        );

        page.tap_text("Changes");
        page.wait_for_text("Change the design");
        page.picture("empty");
        page.select("#change-feature", "Eye, left");
        page.fill("#change-along", "14");
        page.fill("#change-across", "6");
        page.fill("#change-asked", "the harbour master (invented)");
        page.fill("#change-reason", "looks startled");
        page.tap("#change-make");
        page.wait_for_text("moved 14 mm down and 6 mm left");
        page.wait_for_text("It touches 18 pieces");
        page.wait_for_text("1 printed template to scrap");
        // One eye of a pair: what is asked of the two is said before anybody approves it.
        page.wait_for_text("Eye, left is moved, Eye, right stays");
        page.wait_for_text("level would be 14.0 mm out, 2 asked");
        page.wait_for_text("Move Eye, right too: 14 mm down and 6 mm right");
        page.wait_for_text("Scrap template");
        page.picture("issue");
        let paper = page.download(|page| page.tap_text("Page for the client (PDF)"));
        assert!(fs::read(&paper).unwrap().starts_with(b"%PDF-"));
        let slip = page.download(|page| page.tap_text("Slip for the workshop (PDF)"));
        let name = slip.file_name().unwrap().to_string_lossy().into_owned();
        assert!(name.contains("issue-2-change-slip"), "{name}");

        // What is on the piece already is made again, or stays by somebody's word.
        page.wait_for_text("to the older issue: make it again");
        // Seven pieces of which the same is to be done stand in one row; one of them is told by itself.
        page.wait_for_text("Scrap ");
        page.wait_for_text("All 7 were made again");
        page.tap("li.changes-row.acts details.changes-each summary");
        page.settled();
        page.tap("li.changes-row.acts details.changes-each li.changes-row:first-child button:nth-of-type(1)");
        page.wait_for_text("Made again");
        page.wait_for_text("All 6 were made again");
        // Until somebody has said what becomes of it, no check of before makes a painted eye right.
        page.tap(".run a[href*='/p/p2']");
        page.tap(".tasks a[href*='/checks']");
        page.tap("a.checks-feature[href$='/eye-left']");
        page.wait_for_text("Issue 2 has it moved 14 mm down and 6 mm left; here it is as before");
        page.wait_for("document.querySelector('.checks-word')?.textContent === 'Make again'");
        page.picture("of an older issue");
        page.tap_text("To the changes");
        page.wait_for_text("Issue 2");
        page.tap("a.changes-line");

        page.fill("#change-approved", "the client");
        page.tap_text("Approved");
        page.wait_for_text("Approved by the client");
        page.picture("approved");

        // The sheet of piece 10 says why it is stale, and the new one is printed from there.
        page.tap(".run a[href*='/p/p10']");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for_text("issue 2 has it moved 14 mm down and 6 mm left");
        page.picture("stale");
        let sheet = page.download(|page| page.tap_text("Download PDF"));
        assert!(fs::read(&sheet).unwrap().starts_with(b"%PDF-"));
        page.wait_for("!document.body.innerText.includes('no longer holds')");
        page.set_screen(Screen::DESK);
        page.tap_text("Changes");
        page.wait_for_text("Issue 2");
        page.tap("a.changes-line");
        page.wait_for_text("New template printed");
        page.picture("desk");
        // History tells it as it was said here.
        page.tap(".tasks a[href$='/history']");
        page.fill("#history-find", "moved 14 mm down");
        page.wait_for_text("changes: Eye, left: moved 14 mm down and 6 mm left");
        page.wait_for("!document.querySelector('.history-list').innerText.includes('(= ')");
    });
}
