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
        page.tap(".holes-side .key.big");
        page.wait_for_text("Hole 1 of 4");
        page.wait_for_text("over the surface");
        page.wait_for("document.querySelectorAll('.holes-swings li').length === 3");
        page.picture("hole");
        page.tap_text("Drilled as asked");
        page.wait_for_text("1 of 4 drilled");
        page.tap_text("Hole 2");
        page.wait_for_text("Hole 2 of 4");
        page.fill("#holes-became", "slot 12 × 14, filed up");
        page.tap_text("Keep that");
        page.wait_for_text("Became: slot 12 × 14, filed up");
        page.picture("became");
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
