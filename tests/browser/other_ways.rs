//! Other ways of carrying a feature: both of a pair on one sheet, a shell, and an outline as it is seen.

use std::fs;

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

#[test]
fn a_pair_on_one_sheet_a_shell_and_an_outline_as_seen() {
    walk("other-ways", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap_text("Regatta otters");
        page.wait_for("location.hash.startsWith('#/j/')");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for_text("Eye, left, on piece 1");
        // Nothing is worked out before somebody asks.
        page.tap("details[data-of=eyes-pair] summary");
        page.wait_for_text("mm at worst");
        page.wait_for_text("For piece 1 alone (PDF)");
        page.picture("pair");
        let both = page.download(|page| page.tap_text("For piece 1 alone (PDF)"));
        assert!(fs::read(&both).unwrap().starts_with(b"%PDF-"));
        page.tap("details[data-of=eyes-pair] summary");
        page.tap("details[data-of=eye-left-shell] summary");
        page.wait_for_text("Pull it off the casting of piece");
        page.picture("shell");
        let marks =
            page.download(|page| page.tap(".otherwise[open] .otherwise-keys .key:last-child"));
        assert!(fs::read(&marks).unwrap().starts_with(b"%PDF-"));
        page.tap("details[data-of=eye-left-shell] summary");
        // In patches, or why none are needed.
        page.tap("details[data-of=eye-left-patches] summary");
        page.wait_for(
            "document.querySelector('details[data-of=eye-left-patches] [role=status], \
             details[data-of=eye-left-patches] .shared li')",
        );
        page.picture("patches");
        page.tap("details[data-of=eye-left-patches] summary");
        // One set for as many pieces as it serves, or why none is needed.
        page.tap("details[data-of=eye-left-patches-run] summary");
        page.wait_for(
            "document.querySelector('details[data-of=eye-left-patches-run] [role=alert], \
             details[data-of=eye-left-patches-run] .shared li')",
        );
        page.picture("patches-run");
        page.tap("details[data-of=eye-left-patches-run] summary");
        // Its outline as the drawing shows it from in front of a mark.
        page.tap("nav.tasks a[href$='/setout']");
        page.tap("nav.setout-faces a[href$='/setout/head']");
        page.tap("[aria-labelledby=setout-features] .setout-points li:first-child button");
        // Where a drawing would have its middle, as a view from the first mark.
        page.tap("details.in-view summary");
        page.tap("[aria-label='The drawing looks'] [data-value=front]");
        page.wait_for("document.querySelector('#in-view-place').disabled");
        page.picture("in-view");
        page.tap("details.in-view summary");
        design::drawn_and_laid(&page);
        page.tap("[aria-label='Its outline is drawn'] [data-value=middle]");
        page.wait_for_text("as seen straight on at its middle");
        page.picture("seen");
        page.tap("[aria-label='Its outline is drawn'] [data-value=front]");
        page.wait_for("document.querySelector('#feature-seen')");
        // From the approved viewpoint: where the eye is, without an angle.
        page.tap("[aria-label='Its outline is drawn'] [data-value=eye]");
        page.wait_for("document.querySelector('#feature-eye-away')");
        page.wait_for_text("mm in front of mark");
        page.picture("from-an-eye");
        // Along the line between two marks.
        page.tap("[aria-label='Its outline is drawn'] [data-value=along]");
        page.wait_for("document.querySelector('#feature-along-to')");
        page.wait_for_text("along the line");
        page.picture("along");
        page.tap("[aria-label='Its outline is drawn'] [data-value=front]");
        page.wait_for("document.querySelector('#feature-seen')");
        page.tap_text("Templates");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.set_screen(Screen::DESK);
        page.picture("template-desk");
    });
}
