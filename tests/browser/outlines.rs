//! Every shape a feature may have, set out by touch; what is cut hangs together.

use std::fs;

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

#[test]
fn shapes_are_set_out_and_cut_sheets_hang_together() {
    walk("outlines", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        design::first_face(
            &page,
            "Lock boats (invented)",
            "boat",
            "transom",
            "Boat, transom",
        );
        page.tap_text("Flat");
        design::marks(&page, &["A", "B"]);
        design::new_feature(&page, "name");
        page.tap_text("Lettering");
        page.fill("#feature-words", "ROBA 8");
        page.key("Enter");
        page.fill("#feature-capitals", "40");
        page.key("Enter");
        design::drawn_and_laid(&page);
        page.wait_for_text("is held by bridges, touched in after");
        page.picture("lettering");
        let held = [
            ("A to B", "300"),
            ("A to middle of name", "180"),
            ("B to middle of name", "180"),
        ];
        let side = ("B to middle of name", "fits on either side of the line A–B");
        design::readings(&page, &held, &[side]);
        page.tap_text("Pieces and castings");
        design::pieces(&page, 2, 1, "Add boat 1");
        page.tap(".run li:nth-child(1) a");
        page.tap_text("Measure");
        for (round, value) in [(1, "301"), (2, "301.2")] {
            page.wait_for(&format!(
                "document.querySelector('#measure-field') && document.body.innerText.includes('{round} / 2')"
            ));
            page.fill("#measure-field", value);
            page.key("Enter");
        }
        page.tap_text("Templates");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.wait_for_text("7 islands held by 14 bridges 5 mm wide");
        page.picture("bridged");
        // The same on a roll: one piece of it.
        page.tap_text("A roll");
        page.wait_for("document.querySelector('#paper-roll')");
        page.fill("#paper-roll", "610");
        page.key("Enter");
        page.wait_for_text("1 sheet of roll 610 mm wide");
        page.picture("roll");
        page.tap_text("A4");
        page.wait_for_text("sheets of A4");
        let sheet = page.download(|page| page.tap_text("Download PDF"));
        let bytes = fs::read(&sheet).unwrap();
        assert!(bytes.starts_with(b"%PDF-"));
        w.keep("bridged.pdf", &bytes);

        // On film nothing needs a bridge; a ring, a star and a band are drawn from their sizes.
        page.tap_text("Setting out");
        page.wait_for_text("Boat, transom");
        page.wait_for(
            "(() => { const b = [...document.querySelectorAll('.setout-point')]
                .find((b) => b.innerText.includes('name')); if (b) b.id = 'the-name'; return b; })()",
        );
        page.tap("#the-name");
        page.wait_for("document.querySelector('#feature-name')");
        design::drawn_and_laid(&page);
        page.tap_text("stays on transfer film");
        for (shape, fields) in [
            (
                "Ring",
                vec![("#feature-across", "90"), ("#feature-hole", "70")],
            ),
            (
                "Star",
                vec![("#feature-points", "6"), ("#feature-across", "80")],
            ),
            (
                "Arc band",
                vec![
                    ("#feature-width", "18"),
                    ("#feature-long", "120"),
                    ("#feature-radius", "150"),
                ],
            ),
        ] {
            page.tap_text(shape);
            for (field, value) in fields {
                page.wait_for(&format!("document.querySelector('{field}')"));
                page.fill(field, value);
                page.key("Enter");
            }
            page.picture(shape);
        }
        // And one from a file.
        page.tap_text("Tracing or file");
        let file = w.keep(
            "boat.svg",
            br#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 80 40"><path d="M0 20H80L64 40H16ZM40 0L60 18H40Z"/></svg>"#,
        );
        page.choose_file("input[type=file][accept*=svg]", &file);
        page.wait_for("document.querySelector('#feature-across')");
        page.fill("#feature-across", "96");
        page.key("Enter");
        page.wait_for_text("boat.svg");
        page.picture("file");
        page.tap_text("Templates");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.picture("file-sheet");

        // A feature of which nothing is known but its file: the size is asked for after the file was chosen, and
        // the file is there with it.
        page.tap_text("Setting out");
        page.wait_for_text("Boat, transom");
        design::new_feature(&page, "crest");
        page.tap_text("Tracing or file");
        let file = w.keep(
            "crest.svg",
            br#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60"><path d="M30 0L60 60H0Z"/></svg>"#,
        );
        page.choose_file("input[type=file][accept*=svg]", &file);
        page.wait_for("document.querySelector('#feature-across')?.value === ''");
        page.fill("#feature-across", "48");
        page.key("Enter");
        page.wait_for_text("crest.svg");
        let held = [
            ("A to middle of crest", "190"),
            ("B to middle of crest", "150"),
        ];
        let side = (
            "B to middle of crest",
            "fits on either side of the line A–B",
        );
        design::readings(&page, &held, &[side]);
        page.tap_text("Templates");
        page.wait_for("document.querySelector('nav.features a')");
        page.wait_for(
            "(() => { const a = [...document.querySelectorAll('nav.features a')]
                .find((a) => a.innerText.includes('Crest')); if (a) a.id = 'the-crest'; return a; })()",
        );
        page.tap("#the-crest");
        page.wait_for_text("Crest, on piece 1");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.wait_for("!document.body.innerText.includes('missing from this copy')");
        page.picture("file before its size");
    });
}
