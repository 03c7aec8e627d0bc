//! One of a pair made from the other by mirroring, proved with one reading, and printed.

use std::fs;

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

/// On a plan: A (0, 0), B (400, 0), the left eye (120, 90): from A 150, from B √(280² + 90²) = 294.1.
const READINGS: [(&str, &str); 3] = [
    ("A to B", "400"),
    ("A to middle of eye, left", "150"),
    ("B to middle of eye, left", "294.1"),
];

#[test]
fn the_other_eye_is_made_by_mirroring() {
    walk("pairs", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        design::first_face(
            &page,
            "Harbour seals (invented)",
            "seal",
            "front of the head",
            "Seal, front of the head",
        );
        page.tap_text("Flat");
        design::marks(&page, &["A", "B"]);
        design::feature(&page, "eye", "left", &["62", "40"]);
        page.wait_for_text("Make the other one by mirroring this one");
        page.fill("#feature-turn", "20");
        page.key("Enter");
        page.tap_text("2 mm, pair or lettering");
        let side = (
            "B to middle of eye, left",
            "Eye, left fits on either side of the line A–B",
        );
        design::readings(&page, &READINGS, &[side]);
        page.wait_for_text("This face is set out");
        // Nothing is proposed: a side is never guessed.
        page.wait_for("!document.querySelector('#mirror-make')");
        page.tap_text("across the line halfway between two marks");
        page.wait_for_text(
            "eye, right will lie as far from B as eye, left is from A, on the same side of the line A–B",
        );
        page.picture("chosen");
        page.tap("#mirror-make");
        page.wait_for_text("eye, left, mirrored across the line halfway between A and B");
        page.wait_for_text(
            "From A the tape must read 294.1. If it reads 150.0, the mirror is the wrong way round",
        );
        page.wait_for_text("This face is set out");
        page.picture("made");
        page.set_screen(Screen::DESK);
        page.picture("made-desk");
        page.set_screen(Screen::TABLET);

        // What changes on the one changes on the other.
        page.tap_text("Open eye, left, which it follows");
        page.wait_for_text("eye, right is made from this one");
        page.fill("#feature-across", "80");
        page.key("Enter");
        page.wait_for(
            "[...document.querySelectorAll('.setout-picture .outline')].every((p) => p.getBBox().width > 100)",
        );
        page.picture("linked");
        page.tap("#setout-title");
        page.picture("drawing");

        page.tap_text("Pieces and castings");
        design::pieces(&page, 2, 2, "Add seal 1 to 2");
        page.tap(".run li:nth-child(1) a");
        page.tap_text("Measure");
        for (round, again) in [(1, 0.0), (2, 0.3)] {
            page.wait_for(&format!(
                "document.querySelector('#measure-field') && document.body.innerText.includes('{round} / 2')"
            ));
            page.fill("#measure-field", &format!("{:.1}", 400.6 + again));
            page.key("Enter");
        }
        page.tap_text("Templates");
        // Which of the two is shown first goes by their ids, which are made up anew each time.
        page.wait_for(
            "(() => { const key = [...document.querySelectorAll('nav.features a')]
                .find((a) => a.innerText.startsWith('Eye, right'));
                if (key) key.id = 'the-right-one'; return key; })()",
        );
        page.tap("#the-right-one");
        page.wait_for_text("Eye, right, on piece 1");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.picture("template");
        let sheet = page.download(|page| page.tap_text("Download PDF"));
        assert!(fs::read(&sheet).unwrap().starts_with(b"%PDF-"));
    });
}
