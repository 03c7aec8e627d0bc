//! Measure says what its readings are worth: the slip, the hook, what is missing, what contradicts.

use crate::browser::Screen;
use crate::walk::walk;

#[test]
fn readings_say_what_they_are_worth() {
    walk("trust", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.tap(".ways a.way:first-child");
        page.wait_for_text("Quay puffins");
        page.wait_for("location.hash.startsWith('#/j/')");
        let job = page.eval("location.hash.split('/')[2]");
        let job = job.as_str().unwrap().to_owned();
        let measure = |casting: &str| page.go(&format!("#/j/{job}/c/{casting}/measure"));

        // The planted slip is named with what it was; it is kept or left out only with a reason.
        measure("puffin-11");
        page.wait_for_text("is probably 10 mm long");
        page.wait_for_text("Was it misread by 10 mm?");
        page.picture("slip");
        page.tap_text("Keep it…");
        page.wait_for_text("Keep: the casting is like that");
        page.picture("reasons");
        page.tap_text("Keep: read twice, the same");
        page.wait_for("!document.body.innerText.includes('is probably 10 mm long')");

        // The bent hook is suspected from its pattern.
        measure("puffin-14");
        page.wait_for_text("Readings 13–15 with Pocket tape, 5 m are all about");
        page.tap(".over-run summary");
        page.wait_for_text("is not chance");
        page.picture("hook");

        // Rods instead of numbers, for what lands on this casting's piece.
        page.tap(".measure-rods summary");
        let rods = page.download(|page| page.tap_text("Rods for Eye, left"));
        assert!(rods.to_string_lossy().contains("-eye-left-rods-piece-"));
        page.picture("rods");

        // The missing reading is asked for, with how the tape is held.
        measure("cap-9");
        page.wait_for_text("to read");
        page.select("select.held:not(.with)", "held by its 100, taken off");
        page.picture("missing");
        page.tap(".proofs:not(.besides) summary");
        page.wait_for_text("Badge, within 3 mm");
        page.picture("proofs");

        // What nothing checks is said, one sentence at a time.
        measure("cap-12");
        page.wait_for_text("would show, but not in which reading it is");
        page.picture("unchecked");

        // The reading in inches stands as it was typed.
        measure("bollard-4");
        page.wait_for_text("6 9/16");
        page.picture("inches");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("upright");
    });
}

/// A glove taps twice where it meant to tap once.
#[test]
fn a_double_tap_keeps_one_reading() {
    walk("double-tap", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.tap(".ways a.way:first-child");
        page.wait_for_text("Quay puffins");
        page.wait_for("location.hash.startsWith('#/j/')");
        let job = page.eval("location.hash.split('/')[2]");
        page.go(&format!("#/j/{}/c/cap-9/measure", job.as_str().unwrap()));
        page.wait_for_text("to read");
        page.wait_for("document.querySelector('[aria-label^=\"Undo: nothing\"]')");
        page.fill("#measure-field", "80");
        page.wait_for_text("80 mm understood");
        page.eval(
            "(() => {
                const next = [...document.querySelectorAll('button')].find((b) => b.innerText === 'Next');
                next.click();
                next.click();
            })()",
        );
        page.wait_for("document.querySelector('[aria-label=Undo]')");
        page.wait_for("document.querySelector('#measure-field').value === ''");
        // One step back and nothing is left of it: there was one reading.
        page.tap("[aria-label=Undo]");
        page.wait_for("document.querySelector('[aria-label^=\"Undo: nothing\"]')");
    });
}
