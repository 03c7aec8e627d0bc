//! The rack: print, make, read two distances, hang it on a peg; worn, and retired.

use crate::browser::Screen;
use crate::walk::walk;
use std::process::Command;

#[test]
fn a_template_is_made_proved_and_hung() {
    walk("rack", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap(".ways a.way:first-child");
        page.tap(".run a[href*='/p/p7']");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for_text("size not proved");
        // The screen printed by the browser itself is no template, and says nothing else.
        let screen = page.print("by-the-browser");
        let said = Command::new("pdftotext")
            .arg(&screen)
            .arg("-")
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&said.stdout).replace('\n', " ");
        assert!(
            said.starts_with("NOT TO SCALE") && !said.contains("Worst"),
            "{said}"
        );
        // Rods: of this piece, and of the run.
        for (key, name) in [
            ("Rod for this piece", "-eye-left-rods-piece-7-a4.pdf"),
            ("Rods for the run", "-eye-left-rods-run-a4.pdf"),
        ] {
            let pdf = page.download(|page| page.tap_text(key));
            assert!(pdf.to_string_lossy().ends_with(name), "{}", pdf.display());
        }
        page.download(|page| page.tap_text("Download PDF"));
        page.wait_for_text("Printed, not made yet");
        page.picture("printed");
        page.tap("#rack-made");
        page.wait_for_text("SIZE NOT PROVED: read");
        page.tap(".rack-read");
        page.wait_for_text("flat on the bench");
        // Inches first: refused in words, and nothing can be kept.
        let drawn = |n: usize| {
            let said = page.text(&format!(
                ".rack-distances .printer-fields > :nth-child({n}) label"
            ));
            let (_, rest) = said.split_once("drawn ").unwrap();
            rest.split(' ').next().unwrap().parse::<f64>().unwrap()
        };
        let (first, second) = (drawn(1), drawn(2));
        page.fill("#rack-first", &format!("{:.1}", first * 10.0));
        page.wait_for_text("look at the unit");
        // Printed to fit the page: 3 % short.
        page.fill("#rack-first", &format!("{:.1}", first * 0.97));
        page.fill("#rack-second", &format!("{:.1}", second * 0.97));
        page.wait_for_text("Not at size: print again");
        page.picture("short");
        page.fill("#rack-first", &format!("{first:.1}"));
        page.fill("#rack-second", &format!("{second:.1}"));
        page.wait_for_text("At size");
        page.picture("read");
        page.tap("#rack-keep");
        page.wait_for_text("Size proved");
        page.fill(".rack-hangs", "peg 4");
        page.wait_for_text("1 template on the rack, proved");
        page.picture("proved");
        page.set_screen(Screen::DESK);
        page.picture("desk");
        page.tap_text("It is worn");
        page.wait_for_text("What is worn or damaged?");
        page.fill("#rack-why", "the edge at the top is frayed");
        page.tap("#rack-aside");
        page.wait_for_text("the edge at the top is frayed");
        // Its line is laid back on a fresh print: frayed 6 mm at the top, then trued.
        page.tap(".rack-back");
        page.wait_for_text("Lay it on something that is right");
        for (gap, read) in [("top", "6"), ("right", "0"), ("bottom", "0"), ("left", "0")] {
            page.fill(&format!("#back-{gap}"), read);
        }
        page.wait_for_text("Its line is off");
        page.picture("laid-back");
        page.fill("#back-top", "0");
        page.wait_for_text("all round");
        page.tap("#back-keep");
        page.wait_for_text("Laid back: on the line all round");
        page.tap_text("Retire it");
        page.wait_for_text("Why is it retired?");
        page.fill("#rack-why", "replaced by a shell");
        page.tap("#rack-aside");
        page.wait_for_text("Nothing hangs on the rack");
        page.wait_for_text("replaced by a shell");
        page.picture("retired");
        // The shell that replaces it was never printed.
        page.tap("#rack-by-hand");
        page.wait_for_text("Made without a print");
        page.fill("#rack-pieces", "1 to 600");
        page.tap("#rack-by-hand-made");
        page.wait_for_text("This job has no piece 600");
        page.fill("#rack-pieces", "1 to 6, 9");
        page.tap("#rack-by-hand-made");
        page.wait_for_text("NOT PROVED: lay it back");
        page.wait_for_text("for pieces 1 to 6, 9");
        page.picture("by-hand");
    });
}
