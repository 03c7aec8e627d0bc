//! A hatch from setting out to closing: cut out, reached through, seen to; then the locating stick.

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

#[test]
fn a_hatch_is_set_out_reached_through_and_closed() {
    walk("hatch", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap("a.way.drill");
        page.tap("nav.tasks a[href$='/holes']");
        page.tap(".run a[href*='/p/p7/']");
        page.wait_for_text("Piece 7, bracket bolts");
        // On the face that the bracket is drilled from.
        page.eval("location.hash = location.hash.replace(/\\/p\\/.*/, '/setout/cap-front')");
        page.wait_for_text("What has to land in the right place");
        design::new_feature(&page, "access hatch");
        page.wait_for_text("Is this cut out of the skin, and the piece kept?");
        page.tap_text("Rounded box");
        page.fill("#feature-across", "150");
        page.fill("#feature-up", "120");
        page.fill("#feature-corner", "25");
        page.key("Enter");
        page.tap_text("yes: a hatch, its plug kept");
        page.wait_for_text("ticks across the line");
        page.eval("document.querySelector('#feature-across').scrollIntoView({ block: 'center' })");
        page.picture("cut-out");
        // Where it is on the pattern.
        for (from, value) in [("A", "92"), ("B", "94")] {
            page.wait_for(&format!(
                "document.querySelector('.setout-next:not([hidden]) label')?.innerText.startsWith('{from} to middle of access hatch')"
            ));
            page.fill("#reading-value", value);
            page.key("Enter");
        }
        page.wait_for_text("on which side?");
        page.tap_text("above the line");
        page.tap("[aria-labelledby=setout-fixings] .setout-point");
        page.wait_for("document.querySelector('#fixing-hatch')");
        page.eval(
            "{ const s = document.querySelector('#fixing-hatch'); s.value = s.options[1].value; s.dispatchEvent(new Event('change', { bubbles: true })); }",
        );
        page.fill("#fixing-arm", "400");
        page.key("Enter");
        page.fill("#fixing-looks-up", "12");
        page.key("Enter");
        page.fill("#layer-thick", "6");
        page.fill("#fixing-plate", "8");
        page.key("Enter");
        page.eval("document.querySelector('#fixing-hatch').scrollIntoView({ block: 'center' })");
        page.picture("through-hatch");
        page.eval("document.querySelector('#fixing-turn').scrollIntoView({ block: 'center' })");
        page.picture("turned");
        page.tap(".run a[href*='/p/p7/']");
        page.tap("nav.tasks a[href$='/holes']");
        page.wait_for_text("In which order the bolts are drawn up");
        page.wait_for_text("a hand comes to every hole");
        page.tap(".holes-side .key.big");
        page.wait_for_text("two tilts from square");
        page.picture("hole");
        page.eval("document.querySelector('#holes-bolting').scrollIntoView()");
        page.picture("bolting");
        page.tap_text("It is cut out, plug 7 numbered and kept");
        page.wait_for_text("Open: plug 7 kept");
        for hole in 1..=4 {
            page.tap_text(&format!("Hole {hole}"));
            page.wait_for_text(&format!("Hole {hole} of 4"));
            page.tap_text("Drilled as asked");
            page.wait_for_text(&format!("{hole} of 4 drilled"));
        }
        for left in (0..3).rev() {
            page.tap(":nth-child(1 of .hatch-before:has(.key)) .key");
            page.wait_for(&format!(
                "document.querySelectorAll('.hatch-before .key').length === {left}"
            ));
        }
        page.eval("document.querySelector('.hatch-list').scrollIntoView({ block: 'center' })");
        page.picture("seen-to");
        page.tap_text("Plug 7 is back, the hatch closed");
        page.wait_for_text("Closed (");
        page.set_screen(Screen::DESK);
        page.eval("document.querySelector('#holes-bolting').scrollIntoView()");
        page.picture("desk");
        page.set_screen(Screen::TABLET);
        // Jigs for the run, as pages for a cutter.
        page.tap_text("How many jigs for the run?");
        page.wait_for("document.querySelector('.holes-jigs .key')");
        page.eval("document.querySelector('.holes-jigs').scrollIntoView({ block: 'center' })");
        page.picture("jigs");
        // What the files hold is read in the suite: here the keys are there for each number of jigs.
        page.wait_for("document.querySelectorAll('.holes-jigs:last-child .key').length === 3");
        // The locating stick: what it gains first, its sheet, a step typed.
        page.tap("nav.tasks a[href$='/seat']");
        page.wait_for_text("with the stick and its shim gauge");
        page.tap_text("the locating stick");
        page.eval("document.querySelector('#seat-readings').scrollIntoView()");
        let pdf = page.download(|page| page.tap_text("Locating stick and shim gauge (PDF)"));
        assert!(pdf.to_string_lossy().contains("locating-stick"));
        page.tap(".seat-readings tbody tr:nth-child(1) td:nth-child(4) .seat-read");
        page.wait_for_text("Last step of the shim gauge that goes");
        page.fill("#seat-field", "1.5");
        page.key("Enter");
        page.wait_for_text("stick, step 1.5");
        page.picture("stick");
        page.set_screen(Screen::DESK);
        page.picture("stick-desk");
        // Without its bracket the hatch is cut and closed all the same.
        page.set_screen(Screen::TABLET);
        page.eval("location.hash = location.hash.replace(/\\/p\\/.*/, '/setout/cap-front')");
        page.wait_for("document.querySelector('[aria-labelledby=setout-fixings] .setout-point')");
        page.tap("[aria-labelledby=setout-fixings] .setout-point");
        page.wait_for("document.querySelector('#fixing-thread')");
        page.eval(
            "document.querySelectorAll('.fixing details').forEach((d) => { d.open = true; })",
        );
        page.tap_text("Take it out (Undo brings it back)");
        page.wait_for("!document.querySelector('.fixing')");
        page.tap(".run a[href*='/p/p8/']");
        page.tap("nav.tasks a[href$='/holes']");
        page.wait_for_text("It is cut out, plug 8 numbered and kept");
        page.tap_text("It is cut out, plug 8 numbered and kept");
        page.wait_for_text("Open: plug 8 kept");
        page.picture("no-bracket");
    });
}
