//! A face round both ways, from an empty page: gauge cards first, then a stencil that lies on it.

use std::fs;

use crate::browser::Screen;
use crate::design;
use crate::page::Page;
use crate::walk::walk;

/// The last step of a quick template: A, B and the middle, then what the first piece reads.
fn two_marks(page: &Page<'_>) {
    page.tap_text("Next: two marks");
    page.fill("#ab", "178");
    page.fill("#ac", "112");
    page.fill("#bc", "108");
    page.tap("[data-value=above]");
    page.fill("#piece-ab", "179");
    page.wait_for_text("Download PDF");
}

#[test]
fn a_head_round_both_ways_from_gauge_cards_to_its_stencil() {
    walk("round", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap("a.way.quick");
        page.tap("[data-value=oval]");
        page.fill("#across", "62");
        page.fill("#up", "48");
        page.tap_text("Next: what it lies on");
        page.tap("[data-value=dome]");
        page.tap_text("gauge card");
        // The cards are printed before anything is known of the face.
        page.tap(".gauge-print summary");
        page.wait_for_text("every fourth card");
        page.picture("no-cards-yet");
        let coarse = page.download(|page| page.tap("#gauge-card-sheets-download"));
        assert!(fs::read(&coarse).unwrap().starts_with(b"%PDF-"));
        page.fill("#gauge-card", "99");
        page.wait_for_text("There is no gauge card 99: they are numbered 1 to 61");
        page.fill("#gauge-card", "25");
        page.wait_for_text("Radius 126 mm, within about 4.9 mm");
        page.wait_for_text("the cards next to 25");
        let fine = page.download(|page| page.tap("#gauge-card-sheets-download"));
        let name = fine.file_name().unwrap().to_string_lossy().into_owned();
        assert!(name.contains("round-25"), "{name}");
        // The other way it is rounder: a card of its own.
        page.tap("[aria-label='Upwards, square to that, it is'] [data-value=bulging]");
        page.wait_for_text("How big it is upwards");
        page.tap("[aria-label='How big it is upwards'] [data-value=card]");
        page.fill("#gauge-card-up", "22");
        page.wait_for_text("Radius 100 mm, within about 3.9 mm");
        page.picture("two-radii-tablet");
        page.set_screen(Screen::DESK);
        page.picture("two-radii-desk");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("two-radii-upright");
        page.set_screen(Screen::TABLET);
        two_marks(&page);
        // The picture has the darts that the sheet has.
        page.wait_for_text("to cut out, so that flat paper lies on it");
        page.wait_for(
            "document.querySelector('.picture path.dart').getAttribute('d').startsWith('M')",
        );
        page.picture("to-print");
        // It will be cut from card: said once, and on the sheet.
        page.tap(".usual summary");
        page.tap("[aria-label='The template is'] [data-value=card]");
        page.wait_for_text("card 0.5 mm");
        page.tap("[aria-label='Over the face it runs'] [data-value=level]");
        page.wait_for(
            "document.querySelector('[aria-label=\"Over the face it runs\"] [data-value=level]').ariaPressed === 'true'",
        );
        page.picture("card");
        page.tap("[aria-label='Over the face it runs'] [data-value=straight]");
        let pdf = page.download(|page| page.tap_text("Download PDF"));
        let bytes = fs::read(&pdf).unwrap();
        assert!(bytes.starts_with(b"%PDF-"));
        page.picture("downloaded");
        // So round a face wants a dart; the sheet says what to do with it.
        page.tap(".run li:first-child a");
        page.wait_for_text("Cut out the dart with its hole");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.picture("darted");
        page.set_screen(Screen::DESK);
        page.picture("darted-desk");
    });
}

#[test]
fn two_radii_are_set_and_changed_on_setting_out() {
    walk("round-setout", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        design::first_face(
            &page,
            "Harbour seals (invented)",
            "seal",
            "crown",
            "Seal, crown",
        );
        page.tap_text("Round both ways");
        page.settled();
        page.wait_for_text("gauge card");
        page.tap_text("gauge card");
        page.fill("#face-card", "30");
        page.key("Enter");
        page.tap("[aria-label='Upwards, square to that, it is'] [data-value=hollow]");
        page.wait_for("document.querySelector('#face-girth-up')");
        page.fill("#face-girth-up", "1.2 m");
        page.key("Enter");
        page.picture("tablet");
        page.set_screen(Screen::DESK);
        page.picture("desk");
        // What was said stands there again.
        page.wait_for("document.body.innerText.includes('Saved')");
        page.reload();
        page.wait_started();
        page.wait_for(
            "document.querySelector('#face-card')?.value === '30' &&
             document.querySelector('#face-girth-up')?.value === '1.2 m'",
        );
        page.fill("#face-girth-up", "1300");
        page.key("Enter");
        page.tap("[aria-label='Upwards, square to that, it is'] [data-value=bulging]");
        page.wait_for("document.body.innerText.includes('Saved')");
        page.picture("changed");
    });
}

#[test]
fn a_circle_on_a_dome_as_gores_edge_to_edge() {
    walk("gores", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.tap("a.way.quick");
        page.tap("[data-value=circle]");
        page.fill("#across", "150");
        page.tap_text("Next: what it lies on");
        page.tap("[data-value=dome]");
        page.tap_text("gauge card");
        page.fill("#gauge-card", "25");
        page.wait_for_text("Radius 126 mm, within about 4.9 mm");
        two_marks(&page);
        page.tap(".run li:first-child a");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        // Nothing is worked out before somebody asks.
        page.tap("details[data-of=spot-gores] summary");
        page.wait_for("document.querySelector('details[data-of=spot-gores] .shared li')");
        page.wait_for_text("alike");
        page.wait_for_text("on gore 1");
        page.picture("gores-tablet");
        let gore = page.download(|page| page.tap_text("Download the gore (PDF)"));
        assert!(fs::read(&gore).unwrap().starts_with(b"%PDF-"));
        page.set_screen(Screen::DESK);
        page.picture("gores-desk");
    });
}
