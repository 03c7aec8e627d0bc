//! A bracket set out from nothing: an own job, three marks, four holes, one casting, and its holes.

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

/// The plan on which the distances below were reckoned, mm: A (0, 0), B (400, 0), C (180, 300);
/// each distance by Pythagoras, to a tenth.
const READINGS: [(&str, &str); 3] = [("A to B", "400"), ("A to C", "349.9"), ("B to C", "372.0")];

#[test]
fn a_bracket_is_set_out_and_its_holes_are_listed() {
    walk("fixings", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        design::first_face(
            &page,
            "Harbour seals (invented)",
            "seal",
            "underside",
            "Seal, underside",
        );
        page.tap_text("Flat");
        design::marks(&page, &["A", "B", "C"]);
        let side = ("B to C", "C fits on either side of the line A–B");
        design::readings(&page, &READINGS, &[side]);
        page.wait_for_text("Every point is held");

        // The pieces come first here, so that the empty Holes screen has the bracket to ask for.
        page.tap_text("Job");
        design::pieces(&page, 2, 1, "Add seal 1");
        page.tap(".run li:nth-child(1) a");
        // From the start a job without holes is not led to; its own address still says what to do.
        page.eval("location.hash = location.hash.match(/^#\\/j\\/[^/]+/)[0] + '/holes'");
        page.wait_for_text("There are no holes to show yet");
        page.picture("empty");
        page.tap_text("Set out a bracket and its holes");
        page.wait_for_text("Brackets and holes drilled from this face");

        design::unfold(&page, "#setout-fixings");
        page.fill("#fixing-new", "bracket bolts");
        page.tap("#fixing-add");
        page.wait_for("document.querySelector('#fixing-thread')");
        page.wait_for_text("Still to be said");
        page.fill("#fixing-thread", "M1O");
        page.key("Enter");
        page.wait_for("document.querySelector('.fixing .job-why')?.innerText.includes('M1O')");
        page.fill("#fixing-thread", "M10");
        page.key("Enter");
        page.fill("#fixing-right", "200 along");
        page.fill("#fixing-up", "110");
        page.key("Enter");
        page.tap_text("at four corners");
        page.fill("#fixing-across", "60");
        page.fill("#fixing-high", "80");
        page.key("Enter");
        page.wait_for_text("4 holes");
        page.picture("lies");
        // Kept level, it wants a level on the pattern first; here it keeps to its line.
        page.tap(".fixing .choice[data-value='level']");
        page.wait_for_text("of the pattern first");
        page.picture("level");
        page.tap(".fixing .choice[data-value='line']");
        page.wait_for(
            "!document.querySelector('.fixing').innerText.includes('of the pattern first')",
        );
        page.tap_text("no: the plate is tapped");
        page.wait_for_text("Only the drilled hole gives room");
        // A bare ounce is asked about before anything is kept.
        page.fill("#layer-glass", "450 g + 1.5 oz");
        page.tap("#layer-add");
        page.wait_for_text("1.5 oz of what?");
        page.picture("ounces");
        page.tap_text("mat, per square foot");
        page.tap("#layer-add");
        page.wait_for_text("skin: 450 g + 1.5 oz mat");
        page.fill("#fixing-plate", "8");
        page.fill("#fixing-room", "150");
        page.key("Enter");
        page.fill("#fixing-to-edge", "25");
        page.key("Enter");
        page.wait_for_text("25.0 mm to the edge");
        page.fill("#let-initials", "AB");
        page.fill("#let-reason", "thickened to 12 there");
        page.tap("#let-stand");
        page.wait_for_text("Let stand by AB: thickened to 12 there");
        page.picture("spacing");
        page.tap_text("Where no hole may come");
        page.fill("#out-why", "cable behind");
        page.fill("#out-right", "320");
        page.fill("#out-up", "110");
        page.fill("#out-across", "60");
        page.tap("#out-add");
        page.wait_for_text("cable behind: 60 mm across");
        // Its jig stands by edges: two stops below, one on the left.
        page.tap_text("two stops on the edge below");
        page.wait_for("document.querySelector('#stop-mark-3')");
        page.wait_for_text("The edge of S1 and S2 is");
        page.eval("document.querySelector('#stop-mark-1').scrollIntoView({ block: 'center' })");
        page.picture("stops");
        page.wait_for_text("This bracket is set out");
        page.eval("document.querySelector('.fixing').scrollIntoView()");
        page.picture("set-out");
        page.set_screen(Screen::DESK);
        page.picture("set-out-desk");
        page.set_screen(Screen::TABLET);

        // The casting is measured between the marks that the bracket follows.
        page.tap(".run li:nth-child(1) a");
        page.tap_text("Measure");
        for (round, value) in [(1, "400.6"), (2, "400.9")] {
            page.wait_for(&format!(
                "document.querySelector('#measure-field') && document.body.innerText.includes('{round} / 2')"
            ));
            page.fill("#measure-field", value);
            page.key("Enter");
        }
        page.picture("measured");
        page.tap("nav.tasks a[href$='/holes']");
        page.wait_for_text("Piece 1, bracket bolts");
        page.wait_for_text("0 of 4 drilled");
        page.wait_for_text("Let stand by AB");
        page.picture("holes");
        // The edges that its stops touch are read on this casting.
        page.wait_for_text("were not read on this casting");
        for (field, value) in [("#stop-1", "52"), ("#stop-2", "51.5"), ("#stop-3", "40")] {
            page.fill(field, value);
            page.key("Enter");
        }
        page.wait_for_text("Push S1 and S2 against their edge");
        page.eval("document.querySelector('#holes-stops').scrollIntoView()");
        page.picture("stops-read");
        page.eval("window.scrollTo(0, 0)");
        page.tap(".holes-side .key.big");
        page.wait_for_text("Hole 1 of 4");
        page.wait_for("document.querySelectorAll('.holes-swings li').length >= 2");
        page.picture("hole");
        page.set_screen(Screen::DESK);
        page.picture("holes-desk");
        page.set_screen(Screen::TABLET);
    });
}
