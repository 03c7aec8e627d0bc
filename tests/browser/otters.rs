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
        // Every hole of the first bracket is ticked, one after another.
        for hole in 1..=2 {
            page.tap(&format!(
                ".holes-side .holes-numbers[aria-label*='left'] button:nth-child({hole})"
            ));
            page.wait_for_text(&format!("Hole {hole} of 2"));
            page.wait_for("document.querySelectorAll('.holes-swings li').length >= 2");
            page.tap_text("Drilled as asked");
            page.wait_for_text(&format!("{hole} of 2 drilled"));
        }
        page.picture("drilled");
        // And of the second: all four of the figure.
        for hole in 1..=2 {
            page.tap(&format!(
                ".holes-side .holes-numbers[aria-label*='right'] button:nth-child({hole})"
            ));
            page.wait_for_text(&format!("Hole {hole} of 2"));
            page.wait_for("document.querySelectorAll('.holes-swings li').length >= 2");
            page.wait_for_text(&format!("{} of 2 drilled", hole - 1));
            page.tap_text("Drilled as asked");
            page.wait_for_text(&format!("{hole} of 2 drilled"));
        }
        page.picture("both-drilled");
        // The jig of this slope stands against the gunwale and the stern, which were read on its dinghy.
        page.wait_for_text("Push S1 and S2 against their edge");
        page.eval("document.querySelector('#holes-stops').scrollIntoView()");
        page.picture("stops");
        page.tap("nav.tasks a[href$='/seat']");
        page.wait_for_text("Shims");
        page.picture("seat");
        page.eval("document.querySelector('#seat-moves')?.scrollIntoView()");
        page.picture("moves");
        page.set_screen(Screen::DESK);
        page.picture("seat-desk");
    });
}
