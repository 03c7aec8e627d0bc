//! The fewest templates: which for which piece, and one file of all of them.

use std::fs;

use crate::browser::Screen;
use crate::walk::walk;

#[test]
fn one_file_holds_the_fewest_templates() {
    walk("fewest", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        // The example stands for the job that a workshop has open.
        page.tap(".ways a.way:first-child");
        page.tap(".run a[href*='/p/p7']");
        page.tap("nav.features a[href$='/eye-right']");
        page.wait_for_text("templates serve the 18 pieces");
        page.picture("closed");
        page.tap("details.fewest:not(.otherwise) summary");
        page.wait_for_text("If more or less were allowed");
        page.wait_for_text("Worst error on each piece");
        page.picture("open");
        let all = page.download(|page| page.tap(".fewest-foot button"));
        let all = fs::read(&all).unwrap();
        let document = lopdf::Document::load_mem(&all).unwrap();
        // Two templates of several pieces each, and a bookmark for each of them.
        assert!(document.get_pages().len() >= 2);
        assert!(document.get_pages().len() < 18);
        // Another feature meanwhile: what was being worked out is dropped, the sheet comes at once.
        page.tap("nav.features a[href$='/badge']");
        page.tap("nav.features a[href$='/band']");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.wait_for_text("Lettered band, on piece 7");
        page.set_screen(Screen::DESK);
        page.wait_for_text("templates serve the 18 pieces");
        page.picture("desk");
    });
}
