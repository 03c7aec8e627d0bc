//! QA's way: is piece 7 right?

use std::fs;

use crate::browser::Screen;
use crate::design::example;
use crate::walk::walk;

#[test]
fn qas_way() {
    walk("qa", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        // The example stands for the job that a workshop has open.
        page.tap(".ways a.way:first-child");
        page.wait_for_text("Quay puffins");
        w.site.stop();
        page.tap("a.home");
        page.tap("a.way.check");
        page.wait_for_text("Choose a piece below");
        page.picture("empty");
        page.tap(".run a[href*='/p/p3']");
        page.tap("a.checks-feature[href$='/eye-left']");
        page.wait_for_text("Laid back, it can be told within");
        page.wait_for_text("2.0 mm out is allowed");
        // Enter goes round the clock; numbers run together are told apart, and the box stays put.
        page.tap("#gap-top");
        page.key("Enter");
        page.wait_for("document.activeElement.id === 'gap-right'");
        page.tap("#gap-left");
        page.key("Enter");
        page.wait_for("document.activeElement.id === 'check-keep'");
        page.fill("#gap-top", "0.5-0.501");
        page.wait_for_text("one number: −0.5");
        page.wait_for("(() => { const at = (id) => { const b = document.getElementById(id).getBoundingClientRect(); return (b.left + b.right) / 2; }; return Math.abs(at('gap-top') - at('gap-bottom')) < 1; })()");
        page.fill("#gap-top", "");
        // Paint 0.25 to the left and half a millimetre up: gloved, by the half-millimetre keys.
        page.tap(".gap-top .gap-key:last-child");
        page.tap(".gap-bottom .gap-key:first-child");
        page.tap(".gap-left .gap-key:last-child");
        page.fill("#gap-right", "0");
        page.wait_for_text("Keep this check");
        page.wait_for_text("0.3 left, 0.5 up");
        page.wait_for("document.querySelector('.checks-word')?.textContent === 'Within'");
        page.picture("within");
        page.tap_text("Keep this check");
        page.wait_for_text("Kept: 0.3 left, 0.5 up, within");
        // What was kept stays on show; nothing says that it was not read.
        page.wait_for_text("Type all four to check it again");
        page.wait_for("document.querySelector('#gap-top').placeholder === '0.5'");
        page.wait_for("!document.querySelector('.gap-clock').innerText.includes('not read yet')");

        // The other eye too: then the pair is judged.
        page.wait_for_text("then the pair is judged");
        page.tap("a.checks-feature[href$='/eye-right']");
        page.wait_for_text("Read all four to keep it");
        page.fill("#gap-top", "0.5");
        page.fill("#gap-right", "0");
        page.fill("#gap-bottom", "-0.5");
        page.fill("#gap-left", "0");
        page.wait_for("document.querySelector('.checks-word')?.textContent === 'Within'");
        page.tap_text("Keep this check");
        page.wait_for_text("Equal either side");
        page.picture("pair");
        page.tap("a.checks-feature[href$='/eye-left']");

        // The other way: distances from the marks. What either is good for stands there beforehand.
        page.wait_for_text("By lay-back ±");
        page.tap_text("Measure from the marks");
        page.wait_for_text("Distances from two marks make a verdict");
        page.wait_for("document.querySelectorAll('.from-mark input').length >= 2");
        page.fill("#from-head-left-a", "50");
        page.wait_for_text("as far as");
        page.fill("#from-head-left-b", "54.5");
        page.wait_for("document.querySelector('.checks-word')?.textContent.length > 3 && !document.body.innerText.includes('as far as')");
        page.picture("from-marks");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("from-marks-upright");
        page.set_screen(Screen::TABLET);
        page.tap_text("Keep this check");
        page.wait_for("!document.querySelector('#from-head-left-a').value");
        page.tap_text("Lay the template back");
        page.wait_for_text("Read all four to keep it");

        // Far out on the next piece; somebody lets it stand.
        page.tap(".run a[href*='/p/p4']");
        page.wait_for_text("Piece 4 of 18");
        page.wait_for_text("Read all four to keep it");
        page.fill("#gap-top", "-6");
        page.fill("#gap-right", "0.5");
        page.fill("#gap-bottom", "6");
        page.fill("#gap-left", "-0.5");
        page.wait_for("document.querySelector('.checks-word')?.textContent === 'Outside'");
        page.wait_for_text("0.5 right, 6.0 down");
        page.tap_text("Keep this check");
        page.wait_for_text("Let it stand all the same…");
        page.wait_for_text("The run so far");
        page.tap(".checks-verdict summary");
        page.fill("#stand-by", "A. Client, architect (invented)");
        page.fill("#stand-why", "behind the mooring post");
        page.tap_text("It may stand");
        page.wait_for_text("Let stand by A. Client, architect (invented): behind the mooring post");
        page.picture("outside");
        // The other eye is right, so the two are not level: that is let stand by itself.
        page.tap("a.checks-feature[href$='/eye-right']");
        page.wait_for_text("Read all four to keep it");
        for gap in ["#gap-top", "#gap-right", "#gap-bottom", "#gap-left"] {
            page.fill(gap, "0");
        }
        page.wait_for("document.querySelector('.checks-word')?.textContent === 'Within'");
        page.tap_text("Keep this check");
        page.wait_for(
            "[...document.querySelectorAll('.checks-pair .verdict')].some((v) => v.textContent === 'outside')",
        );
        page.tap(".checks-pair summary");
        page.fill(
            "[id^='pair-'][id$='-by']",
            "A. Client, architect (invented)",
        );
        page.fill("[id^='pair-'][id$='-why']", "seen from one side only");
        page.tap(".checks-pair .key");
        page.wait_for_text("Let stand by A. Client, architect (invented): seen from one side only");
        page.picture("pair-stands");
        page.tap("a.checks-feature[href$='/eye-left']");
        page.wait_for_text("behind the mooring post");
        page.tap(".checks-signing:not(.of-run) summary");
        page.fill("#sign-by", "CD, QA (invented)");
        page.fill("#sign-why", "checked before delivery");
        page.tap_text("Sign it off");
        page.wait_for_text("This piece’s record signed off by CD, QA (invented)");
        page.picture("signed");
        // The run as a whole: that pieces are open is said before anybody signs.
        page.tap(".checks-signing.of-run summary");
        page.wait_for_text("not settled: the signature says so too");
        page.fill("#sign-run-by", "CD, QA (invented)");
        page.fill("#sign-run-why", "as it stands half way");
        page.wait_for_text("Sign it off");
        page.tap(".checks-signing.of-run .key");
        page.wait_for_text("The run’s record signed off by CD, QA (invented)");
        page.picture("run-signed");
        let record = page.download(|page| page.tap_text("Record of this piece (PDF)"));
        let name = record.file_name().unwrap().to_string_lossy().into_owned();
        assert!(name.ends_with("record-piece-04.pdf"), "{name}");
        assert!(fs::read(&record).unwrap().starts_with(b"%PDF-"));
        page.download(|page| page.tap_text("Record of the run (PDF)"));
        let table = page.download(|page| page.tap_text("Record of the run (table)"));
        let table = fs::read_to_string(&table).unwrap();
        assert!(
            table.contains("standard uncertainty (mm)")
                && table.contains("measured from the marks"),
            "{table}"
        );
        page.set_screen(Screen::DESK);
        page.picture("desk");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("upright");
    });
}

#[test]
fn qa_says_which_of_two_templates_was_laid_back() {
    walk("qa-template", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let job = example(&page);
        page.tap(".run a[href*='/p/p3']");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for_text("Download PDF");
        page.download(|page| page.tap_text("Download PDF"));
        page.wait_for_text("Printed, not made yet");
        // Another paper is another sheet, with a reference of its own.
        page.tap(".title-row [data-value='A3']");
        page.wait_for(
            "document.querySelector(\".title-row [data-value='A3']\").getAttribute('aria-pressed') === 'true'",
        );
        page.download(|page| page.tap_text("Download PDF"));
        page.go(&format!("#/j/{job}/p/p3/checks/eye-left"));
        page.wait_for("document.querySelectorAll('#gap-template option').length >= 2");
        let option = |field: &str| {
            let said = page.eval(&format!(
                "document.querySelector('#gap-template').options[1].{field}"
            ));
            said.as_str().unwrap().to_owned()
        };
        // The latest is taken until somebody says otherwise.
        assert_eq!(
            page.eval("document.querySelector('#gap-template').selectedIndex"),
            0
        );
        page.picture("which");
        let (older, name) = (option("value"), option("text"));
        page.select("#gap-template", &name);
        for gap in ["#gap-top", "#gap-right", "#gap-bottom", "#gap-left"] {
            page.fill(gap, "0");
        }
        page.wait_for("document.querySelector('.checks-word')?.textContent === 'Within'");
        page.tap_text("Keep this check");
        page.wait_for_text("Kept:");
        let table = page.download(|page| page.tap_text("Record of the run (table)"));
        let table = fs::read_to_string(&table).unwrap();
        assert!(table.contains(&older), "{older}: {table}");
    });
}
