//! Tools with how sure they are, up of a face from a level, a rod that goes and doesn't, readings
//! besides the list, two of which one is wrong, and marks for the pattern.

use std::fs;

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

/// A right-angled plan (Euclid I.48): A (0, 0), B (400, 0), C (0, 300), the eye (200, 120); each
/// distance by Pythagoras, to a tenth.
const READINGS: [(&str, &str); 6] = [
    ("A to B", "400"),
    ("A to C", "300"),
    ("B to C", "500"),
    ("A to middle of eye", "233.2"),
    ("B to middle of eye", "233.2"),
    ("C to middle of eye", "269.1"),
];

#[test]
fn every_tool_says_what_it_is_good_for() {
    walk("gauges", |w| {
        let page = w.open("");
        page.set_screen(Screen::DESK);
        page.wait_started();
        design::first_face(
            &page,
            "Pier herons (invented)",
            "heron",
            "front",
            "Heron, front",
        );
        page.tap_text("Flat");
        design::marks(&page, &["A", "B", "C"]);
        page.fill("#mark-found", "corner of the plinth");
        design::feature(&page, "eye", "there is only one", &["62", "48"]);
        page.tap_text("2 mm, pair or lettering");
        let sides = [
            ("B to C", "C fits on either side of the line A–B"),
            ("B to middle of eye", "fits on either side of the line A–B"),
        ];
        design::readings(&page, &READINGS, &sides);
        page.wait_for_text("This face is set out");

        // Up comes from two marks and a level: B stands 14 lower, which is 2° over 400.
        page.tap_text("level: says where up is");
        page.select("#reading-from", "A");
        page.select("#reading-to", "B");
        page.wait_for_text("B stands above A by");
        page.fill("#reading-beside", "-14");
        page.key("Enter");
        page.wait_for_text("A–B falls 2.0° towards B");
        page.picture("up");
        page.tap("#feature-upright");
        page.wait_for("document.querySelector('#feature-turn').value === '2'");
        // What turns with all its marks can't be kept level, and says why.
        page.tap_text("best fit to all marks");
        page.wait_for_text("Its turn comes from all its marks together");
        page.wait_for("!document.querySelector('#feature-turn')");
        page.tap_text("the difference is split between the two marks");
        page.wait_for("document.querySelector('#feature-turn')?.value === '2'");

        // A rod that goes at one length and doesn't at another.
        page.tap_text("rod: goes and doesn’t");
        page.select("#reading-from", "A");
        page.select("#reading-to", "B");
        page.fill("#reading-value", "399.5");
        page.fill("#reading-doesnt", "400.5");
        page.tap("#reading-keep");
        page.wait_for_text("goes 399.5, doesn't 400.5");
        page.picture("rod");

        // Marks for the pattern, with what they bring, and the sheet to drill them by.
        design::unfold(&page, "#setout-pips");
        page.tap("#pips-look");
        page.wait_for_text("laid on these it lands within");
        page.wait_for_text("as they are found now");
        page.picture("pips");
        let sheet = page.download(|page| page.tap("#pips-sheet"));
        assert!(fs::read(&sheet).unwrap().starts_with(b"%PDF-"));
        page.set_screen(Screen::TABLET);
        page.picture("pips-tablet");

        // Tools: what each is good for, and ten readings.
        page.tap_text("Pieces and castings");
        design::pieces(&page, 2, 2, "Add heron 1 to 2");
        page.select("#tool-kind", "water level");
        page.fill("#tool-name", "Hose, 6 m");
        page.tap("#tool-add");
        page.wait_for_text("Hose, 6 m");
        page.tap("details.tool:nth-of-type(3) summary");
        page.wait_for_text("In the small oval on its blade");
        page.picture("tools");
        page.fill(
            "details.tool[open] textarea",
            "500\n501\n499\n500\n502\n500\n499\n501\n500\n499",
        );
        page.wait_for_text("Ten readings");
        page.tap_text("Use what they say");
        page.wait_for_text("They scatter by 1.0 mm");
        page.picture("ten");

        // Besides the list: how level the casting stands, with the hose or the level.
        design::besides(&page, 1);
        page.picture("besides");
        page.tap("#besides-add");
        page.wait_for_text("B above A, by level");
        page.select("select.with", "Hose, 6 m");
        page.fill("#measure-field", "-13");
        page.picture("level");
        page.key("Enter");
        page.wait_for("!document.querySelector('.ask-head h1')?.innerText.includes('by level')");

        // Two readings of one length that do not go together: nothing says which is wrong.
        for value in ["400.6", "431"] {
            page.wait_for("document.querySelector('#measure-field')?.value === ''");
            page.fill("#measure-field", value);
            page.key("Enter");
            if value == "431" {
                page.wait_for("document.querySelector('.ask-first[role=alert]')");
                page.tap_text("Keep 431");
            }
        }
        page.wait_for_text("nothing says which");
        page.picture("unsettled");
        page.tap_text("Keep them: all read again");
        page.wait_for("!document.body.innerText.includes('nothing says which')");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("upright");
    });
}
