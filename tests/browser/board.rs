//! Plan and height: the grid printed, two faces placed on the board before and after it was moved,
//! and from where each is seen.

use std::fs;

use crate::browser::Screen;
use crate::design;
use crate::page::Page;
use crate::walk::walk;

/// A right-angled plan (Euclid I.48): A (0, 0), B (400, 0), C (0, 300).
const READINGS: [(&str, &str); 3] = [("A to B", "400"), ("A to C", "300"), ("B to C", "500")];

/// A flat face with three marks.
fn breast(page: &Page<'_>) {
    design::first_face(
        page,
        "Pier herons (invented)",
        "heron",
        "breast",
        "Heron, breast",
    );
    page.tap_text("Flat");
    design::marks(page, &["A", "B", "C"]);
}

/// A mark plumbed down to the board: across, back, and its height.
fn on_board(page: &Page<'_>, mark: &str, [across, back, height]: [&str; 3]) {
    page.select("#board-mark", mark);
    page.fill("#board-across", across);
    page.fill("#board-back", back);
    page.fill("#board-height", height);
    page.wait_for("document.querySelector('#board-keep').ariaDisabled === 'false'");
    page.tap("#board-keep");
    page.wait_for(&format!(
        "document.querySelector('#board-table [aria-label=\"Change {mark}\"]')"
    ));
}

#[test]
fn the_board_says_from_where_a_face_is_seen() {
    walk("board", |w| {
        let page = w.open("");
        page.set_screen(Screen::DESK);
        page.wait_started();
        breast(&page);
        let side = ("B to C", "C fits on either side of the line A–B");
        design::readings(&page, &READINGS, &[side]);

        // The grid, true size.
        design::unfold(&page, "#setout-board");
        page.tap_text("Print the grid for the board");
        page.fill("#board-width", "600");
        let sheet = page.download(|page| page.tap("#board-sheet"));
        assert!(fs::read(&sheet).unwrap().starts_with(b"%PDF-"));

        // Three marks; the next comes up by itself.
        for (mark, at) in [
            ("A", ["100", "100", "50"]),
            ("B", ["500", "100", "50"]),
            ("C", ["100", "100", "350"]),
        ] {
            on_board(&page, mark, at);
        }
        page.wait_for_text("Breast is seen from the front");
        // Their heights say which way is up on the face.
        page.wait_for_text("by heights on the board");
        page.picture("board");

        // Laid over: nothing is tied until three marks are read again.
        page.tap("#board-moved");
        page.wait_for_text("Set-up 2: read three marks again");
        page.select("#board-mark", "A");
        page.fill("#board-across", "140");
        page.fill("#board-back", "650");
        page.fill("#board-height", "115");
        page.tap("#board-keep");
        page.wait_for_text("Set-up 2 is not tied yet");
        page.set_screen(Screen::TABLET);
        page.picture("board-tablet");
        page.tap("[aria-label='Change A, set-up 2']");
        page.wait_for("document.querySelector('#board-back').value === '650'");
        page.tap("#board-out");
        page.wait_for("!document.querySelector('[aria-label=\"Change A, set-up 2\"]')");
    });
}

/// The outline of a badge is drawn as it is seen from where one mark hides another on the next face.
#[test]
fn a_drawing_is_seen_from_where_one_mark_hides_another() {
    walk("hides", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        breast(&page);
        design::feature(&page, "badge", "there is only one", &["60"]);
        design::readings(
            &page,
            &[
                ("A to B", "400"),
                ("A to C", "300"),
                ("B to C", "500"),
                ("A to middle of badge", "180.3"),
                ("B to middle of badge", "316.2"),
            ],
            &[
                ("B to C", "C fits on either side of the line A–B"),
                (
                    "B to middle of badge",
                    "Badge fits on either side of the line A–B",
                ),
            ],
        );
        page.wait_for_text("This face is set out");
        // From aside only marks of other faces can tell: there are none yet, so nothing is asked.
        page.wait_for("!document.querySelector('[aria-label=\"Its outline is drawn\"]')");

        // A mark of the next face.
        page.tap_text("Another face");
        page.fill("#face-part", "heron");
        page.fill("#face-name", "wing");
        page.tap("#face-add");
        page.wait_for("document.querySelector('#setout-title')?.innerText === 'Heron, wing'");
        page.tap_text("Flat");
        design::marks(&page, &["A"]);
        page.tap_text("Heron, breast");
        page.wait_for(
            "[...document.querySelectorAll('.setout-point strong')].some((m) => m.innerText === 'badge')",
        );
        page.eval(
            "[...document.querySelectorAll('.setout-point')].find((p) => p.innerText.includes('badge')).id = 'the-badge'",
        );
        page.tap("#the-badge");
        design::drawn_and_laid(&page);
        page.tap("[aria-label='Its outline is drawn'] [data-value=hides]");
        page.select("#feature-hides-near", "A, breast");
        page.select("#feature-hides-far", "A, wing");
        page.wait_for_text("is not known: read it under Plan and height");
        page.picture("not-known");
        design::unfold(&page, "#setout-board");

        for (mark, at) in [
            ("A, breast", ["100", "100", "50"]),
            ("B", ["500", "100", "50"]),
            ("C", ["100", "100", "350"]),
            ("A, wing", ["500", "500", "60"]),
        ] {
            on_board(&page, mark, at);
        }
        // Half-way to the side: what is 60 across there is 60·√2 on the breast.
        page.wait_for_text("as seen when mark A (breast) hides mark A (wing)");
        page.eval(
            "document.querySelector('#feature-hides-near').scrollIntoView({ block: 'center' })",
        );
        page.picture("hides");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.eval(
            "document.querySelector('#feature-hides-near').scrollIntoView({ block: 'center' })",
        );
        page.picture("upright");
    });
}
