//! The second example: two slopes at a ridge, four bolts through them, a figure astride.

use crate::browser::Screen;
use crate::walk::walk;

#[test]
fn an_otter_is_seated_and_its_holes_are_laid_out_without_a_server() {
    walk("otters", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.picture("start");
        page.tap_text("Regatta otters");
        page.wait_for("location.hash.startsWith('#/j/')");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.picture("template");
        page.tap("nav.tasks a[href$='/holes']");
        page.wait_for_text("Before you drill");
        page.picture("holes");
        page.tap_text("Figure strapped, second person here");
        page.wait_for("!document.body.innerText.includes('Tick this, and the first hole opens')");
        page.picture("hole");
        page.tap("nav.tasks a[href$='/seat']");
        page.wait_for_text("Shims");
        page.picture("seat");
        page.set_screen(Screen::DESK);
        page.picture("seat-desk");
    });
}
