//! The fitter drills four holes: the tick first, then one at a time, and what one became.

use crate::browser::Screen;
use crate::walk::walk;

#[test]
fn holes_are_ticked_off_without_a_server() {
    walk("holes", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        // No job is here: the way opens the example.
        page.tap("a.way.drill");
        page.tap("nav.tasks a[href$='/holes']");
        page.tap(".run a[href*='/p/p7/']");
        page.wait_for_text("Piece 7, bracket bolts");
        page.wait_for_text("Shims are not a support");
        page.wait_for("!document.querySelector('.holes-swings')");
        page.picture("before");
        // The sheet to take along is made from beside the title.
        page.wait_for_text("Print the drill sheet");
        page.wait_for(
            "document.querySelector('.holes-sheet').getBoundingClientRect().bottom < 400",
        );
        let sheet = page.download(|page| page.tap(".holes-sheet .key:last-child"));
        assert!(sheet.to_string_lossy().contains("drill-sheet-7"));
        page.tap(".holes-side .key.big");
        page.wait_for_text("Hole 1 of 4");
        page.wait_for_text("over the surface");
        page.wait_for("document.querySelectorAll('.holes-swings li').length === 3");
        // Nothing that is read while drilling lies under the keys.
        page.wait_for("document.querySelector('.holes-figures').getBoundingClientRect().bottom <= document.querySelector('.holes-actions').getBoundingClientRect().top + 1");
        page.picture("hole");
        page.tap_text("Drilled as asked");
        page.wait_for_text("1 of 4 drilled");
        page.tap_text("Hole 2");
        page.wait_for_text("Hole 2 of 4");
        page.fill("#holes-became", "slot 12 × 14, filed up");
        page.tap_text("Keep that");
        page.wait_for_text("Became: slot 12 × 14, filed up");
        page.picture("became");
        // What it became is not replaced without a question, and one key is yellow.
        let yellow = "[...document.querySelectorAll('.holes .key.main')].filter(k => k.offsetParent).length === 1";
        page.wait_for(yellow);
        page.tap_text("Drilled as asked");
        page.wait_for_text("was said to have become");
        page.wait_for(yellow);
        page.tap("#holes-leave");
        page.wait_for_text("Became: slot 12 × 14, filed up");
        page.wait_for("!document.querySelector('.holes-question')");
        // What is typed for one hole waits there while another is looked at.
        page.fill("#holes-became", "12.4");
        page.tap_text("Hole 3");
        page.wait_for("document.querySelector('#holes-became').value === ''");
        page.tap_text("Hole 2 ✓");
        page.wait_for("document.querySelector('#holes-became').value === '12.4'");
        page.fill("#holes-became", "");
        for hole in 3..=4 {
            page.tap_text(&format!("Hole {hole}"));
            page.wait_for_text(&format!("Hole {hole} of 4"));
            page.tap_text("Drilled as asked");
            page.wait_for_text(&format!("{hole} of 4 drilled"));
        }
        page.picture("drilled");
        // The bracket was set in glass on its plate; read after cure, every hole follows it.
        page.eval("document.querySelector('#holes-bracket-plate').scrollIntoView()");
        page.wait_for_text("It holds every hole of the bracket within");
        page.wait_for_text("Not read yet");
        page.picture("plate");
        let first = page.eval("document.querySelector('.holes-swings strong').innerText");
        // Each distance as it was meant to be.
        page.eval("document.querySelector('#holes-cured').scrollIntoView()");
        page.tap(".holes-cured tbody tr:nth-child(1) .seat-read");
        page.wait_for("document.activeElement.id === 'cured-field'");
        for row in 1..=6 {
            page.wait_for(&format!(
                "document.querySelector('.holes-cured tbody tr:nth-child({row}) .seat-read')?.getAttribute('aria-pressed') === 'true'"
            ));
            let meant = page.eval(&format!(
                "document.querySelector('.holes-cured tbody tr:nth-child({row}) td.figure').innerText"
            ));
            page.fill("#cured-field", meant.as_str().unwrap_or_default());
            page.key("Enter");
        }
        // As meant to a tenth, which is how the distances are shown: a tenth to one side at most.
        page.wait_for_text("where it was meant to be; known within");
        page.picture("cured");
        assert!(first.as_str().is_some_and(|f| !f.is_empty()));
        // Another piece asks for the tick again.
        page.tap(".run a[href*='/p/p8/']");
        page.wait_for_text("Piece 8, bracket bolts");
        page.wait_for("document.querySelector('.holes-cautions')");
        page.set_screen(Screen::DESK);
        page.tap(".holes-side .key.big");
        page.tap_text("Hole 3");
        page.wait_for_text("Hole 3 of 4");
        page.picture("desk");
        page.eval("document.querySelector('.holes-notes').scrollIntoView()");
        page.picture("desk-notes");
    });
}
