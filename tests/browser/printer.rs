//! Printer check: a page and a rule, what they prove, and the sheet that says so.

use std::fs;

use crate::browser::Screen;
use crate::walk::walk;

#[test]
fn a_printer_is_proved_without_a_network() {
    walk("printer", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap(".ways a.way:first-child");
        page.tap(".run a[href*='/p/p7']");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for_text("size not proved");
        page.tap(".template-actions a.to-printer");
        page.wait_for_text("Not proved yet");
        page.fill("#printer-name", "by the door");
        page.picture("empty");
        let proof = page.download(|page| page.tap("#proof-download"));
        let document = lopdf::Document::load_mem(&fs::read(&proof).unwrap()).unwrap();
        assert_eq!(document.get_pages().len(), 1);
        // Fitted to the page: every usual cause, none picked.
        page.fill("#proof-ab", "160");
        page.fill("#proof-ad", "235.2");
        page.wait_for_text("What may have done it");
        page.wait_for_text("fit to page");
        page.picture("shrunk");
        // Printed again; the diagonals of another page first.
        page.fill("#proof-ab", "170");
        page.fill("#proof-ad", "250");
        page.fill("#proof-ac", "312");
        page.fill("#proof-bd", "302.5");
        page.wait_for_text("belong to one page");
        page.fill("#proof-ac", "302.5");
        page.wait_for_text("True to size as far as this rule can tell");
        page.wait_for_text("True within 0.");
        // Enter goes from field to field, and from the last to the key.
        page.tap("#proof-ab");
        page.key("Enter");
        page.wait_for("document.activeElement.id === 'proof-ad'");
        page.tap("#proof-bd");
        page.key("Enter");
        page.wait_for("document.activeElement.id === 'proof-keep'");
        page.wait_for("document.querySelector('#proof-keep').classList.contains('main')");
        page.tap("#proof-keep");
        page.wait_for_text("What it proves");
        page.picture("proved");
        page.tap_text("Take this page’s own address");
        page.set_screen(Screen::DESK);
        page.picture("desk");
        page.tap(".run a[href*='/p/p7']");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for_text("printer proved");
        page.picture("templates");
    });
}
