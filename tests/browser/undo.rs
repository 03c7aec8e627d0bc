//! Undo while setting out: what stands in a form is what the job has again.

use crate::browser::Screen;
use crate::design::{first_face, marks};
use crate::walk::walk;

#[test]
fn what_stands_in_a_form_follows_an_undo() {
    walk("undo", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        first_face(
            &page,
            "Harbour seals (invented)",
            "seal",
            "brow",
            "Seal, brow",
        );

        // A job without a feature, then without a piece, is led on to where it is said.
        page.tap_text("Templates");
        page.wait_for_text("there is no shape to make a template of");
        page.tap_text("To setting out");

        page.tap_text("Round both ways");
        page.fill("#face-girth", "942");
        page.key("Tab");
        marks(&page, &["A", "B"]);
        page.fill("#feature-new", "eye");
        page.tap("#feature-add");
        page.wait_for("document.querySelector('#feature-name')?.value === 'eye'");
        page.tap_text("Circle");
        page.fill("#feature-across", "0.5");
        page.wait_for_text("0.5 mm = about 1/64\"");
        page.fill("#feature-across", "62");
        page.key("Enter");
        page.fill("#feature-across", "55");
        page.key("Enter");
        let shows = |size: &str| {
            page.wait_for(&format!(
                "document.querySelector('#feature-across').value === '{size}'"
            ));
        };
        shows("55");
        // Up to the head of the page first, as a person has to.
        page.eval("document.activeElement.blur(); scrollTo(0, 0)");
        page.wait_for("scrollY === 0");
        page.tap("[aria-label=Undo]");
        shows("62");
        page.picture("undone");
        page.tap("[aria-label=Redo]");
        shows("55");

        page.tap_text("Templates");
        page.tap_text("Pieces and castings");
        page.wait_for("location.hash.endsWith('/job')");
    });
}
