//! The quick template's cards keep still under the finger, and say what can't be.

use crate::browser::Screen;
use crate::walk::walk;

/// How far down the page the cards begin, however it is scrolled.
const BEGINS: &str =
    "Math.round(document.querySelector('.quick-cards h1').getBoundingClientRect().top + scrollY)";

#[test]
fn nothing_moves_when_the_first_size_begins_the_job() {
    walk("quick-still", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        for screen in [Screen::TABLET, Screen::TABLET_UPRIGHT, Screen::DESK] {
            page.set_screen(screen);
            page.eval("location.hash = '#/quick'");
            page.wait_for_text("nothing entered yet");
            page.wait_for(
                "document.querySelector('.card:first-of-type.open [data-value=circle][aria-pressed=false]')",
            );
            let before = page.eval(BEGINS);
            page.tap("[data-value=circle]");
            // Nothing is 0 long, and nothing is kept of it.
            page.fill("#across", "0");
            page.wait_for_text("Nothing can be 0 long here");
            page.fill("#across", "60");
            // The first tap is on another card's head, not on Next: it must reach it.
            page.tap(".card:nth-of-type(2) h2 button");
            page.wait_for("location.hash.startsWith('#/j/')");
            page.wait_for("document.querySelector('nav.tasks a')");
            page.wait_for(
                "document.querySelector('.card:nth-of-type(2)').classList.contains('open')",
            );
            assert_eq!(page.eval(BEGINS), before, "{}", screen.width);
        }
        page.picture("begun");

        // Lengths that can't meet keep their card open.
        page.tap("[data-value=flat]");
        page.wait_for("document.activeElement?.matches('#ab')");
        page.fill("#ab", "312");
        page.fill("#ac", "50");
        page.fill("#bc", "50");
        page.tap("[data-value=above]");
        page.wait_for_text("they can’t meet");
        page.wait_for("document.querySelector('.card:nth-of-type(3)').classList.contains('open')");
        page.picture("cannot-meet");
        page.fill("#ac", "184");
        page.fill("#bc", "171");
        page.key("Enter");
        // The card that opens has its head in sight.
        page.wait_for("document.activeElement?.matches('#piece-ab')");
        page.wait_for(
            "(() => {
                const head = document.querySelector('.card.open h2').getBoundingClientRect();
                return head.top >= 0 && head.bottom <= innerHeight;
            })()",
        );
        page.wait_for_text("Not read on this piece yet");
        page.insert("309");
        page.wait_for_text("mm off at worst");
        page.picture("read");
    });
}
