//! The fitter seats a figure: shims, a wet reading, what is asked where nothing was read.

use crate::browser::Screen;
use crate::walk::walk;

#[test]
fn a_figure_is_seated_without_a_server() {
    walk("seat", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap(".ways a.way:first-child");
        page.tap("nav.tasks a[href$='/seat']");
        page.tap(".run a[href*='/p/p7/']");
        page.wait_for_text("Piece 7 seated");
        page.wait_for_text("Any fits any, ");
        page.wait_for_text("Shims are not a support");
        page.picture("tablet");
        // The wet reading at the front station, in centimetres; kept, and judged against its aim.
        page.tap("[aria-labelledby=seat-readings] tbody tr:first-child td:nth-of-type(2) button");
        page.wait_for_text("Locating dimension at S1, front, wet");
        page.fill("#seat-field", "9.55cm");
        page.picture("typing");
        page.key("Enter");
        page.wait_for_text("9.55cm");
        page.wait_for_text("within, aim");
        page.wait_for_text("Locating dimension at S2, back left, wet");
        page.picture("kept");
        // A slip of a digit is asked about before it is kept.
        page.fill("#seat-field", "4");
        page.key("Enter");
        page.wait_for_text("is far from what was to be expected here");
        page.wait_for("document.querySelector('#seat-field').value === '4'");
        // Nonsense stays in the field and says why.
        page.fill("#seat-field", "about ten");
        page.key("Enter");
        page.wait_for("document.querySelector('#seat-field').value === 'about ten'");
        page.wait_for("document.querySelector('.seat-field .why')");
        page.tap(".run a[href*='/p/p18/']");
        page.wait_for_text("read the height over the board at");
        page.tap("[aria-labelledby=seat-heights] tbody tr:first-child td:nth-of-type(1) button");
        page.wait_for_text("Height of base C18 over the board at P1, front left");
        page.fill("#seat-field", "60.3");
        page.key("Enter");
        page.wait_for_text("Height of base C18 over the board at P2, front right");
        page.eval("window.scrollTo(0, 0)");
        page.picture("nothing-read");
        page.eval("document.querySelector('#seat-field').scrollIntoView({ block: 'center' })");
        page.picture("heights");
        page.set_screen(Screen::DESK);
        page.tap(".run a[href*='/p/p3/']");
        page.wait_for_text("By the cured readings");
        page.picture("desk");
        page.eval("document.querySelector('.seat-pairs').scrollIntoView()");
        page.picture("desk-pairs");
    });
}
