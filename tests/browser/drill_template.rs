//! The fitter takes a drill template with him: from the start page to a PDF, with the server stopped.

use crate::browser::Screen;
use crate::walk::walk;
use std::fs;
use std::process::Command;

#[test]
fn a_drill_template_is_downloaded_without_a_server() {
    walk("drill_template", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap("a.way.drill");
        page.tap("nav.tasks a[href$='/holes']");
        page.tap(".run a[href*='/p/p7/']");
        page.wait_for_text("Piece 7, bracket bolts");
        page.wait_for_text("Drill template");
        page.wait_for_text("How the holes are made");
        page.eval("document.querySelector('#holes-bracket-drill').scrollIntoView()");
        page.picture("offered");
        let pdf = page.download(|page| page.tap_text("Drill template (PDF)"));
        assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
        let name = pdf.file_name().unwrap().to_string_lossy().into_owned();
        assert!(name.contains("piece-07-bracket-bolts-drill"), "{name}");
        // Read by poppler: the words are in the file, not only in its picture.
        let shown = Command::new("pdfinfo").arg(&pdf).output().unwrap();
        let shown = String::from_utf8_lossy(&shown.stdout).into_owned();
        assert!(shown.contains("Bracket bolts"), "{shown}");
        page.wait_for_text("it still holds");
        let svg = page.download(|page| page.tap_text("Drill template (SVG)"));
        assert!(svg.to_string_lossy().contains("bracket-bolts-drill"));
        let dxf = page.download(|page| page.tap_text("Drill template (DXF)"));
        assert!(dxf.to_string_lossy().contains("bracket-bolts-drill-mm"));
        page.picture("printed");
        // The jig of the same holes, and how many the run takes.
        let jig = page.download(|page| page.tap_text("Jig (PDF)"));
        assert!(fs::read(&jig).unwrap().starts_with(b"%PDF-"));
        let name = jig.file_name().unwrap().to_string_lossy().into_owned();
        assert!(name.contains("jig"), "{name}");
        // What was printed hangs on the rack like a stencil: made, read on the plate itself, kept.
        page.wait_for("document.querySelector('#rack-made-bracket-drill')");
        page.wait_for("document.querySelector('#rack-made-bracket-jig')");
        page.tap("#rack-made-bracket-jig");
        page.wait_for_text("SIZE NOT PROVED: read");
        page.eval("document.querySelector('#rack-title').scrollIntoView()");
        page.picture("rack");
        page.tap(".rack-read");
        page.wait_for_text("on the plate itself, from hole to hole");
        for (n, field) in [(1, "#rack-first"), (2, "#rack-second")] {
            let said = page.text(&format!(
                ".rack-distances .printer-fields > :nth-child({n}) label"
            ));
            let (_, rest) = said.split_once("drawn ").unwrap();
            let drawn = rest.split(' ').next().unwrap().to_owned();
            page.fill(field, &drawn);
        }
        page.wait_for_text("this rule can’t tell");
        page.tap_text("a tenth: calipers");
        page.wait_for_text("At size");
        page.tap("#rack-keep");
        page.wait_for("!document.querySelector('.rack-distances')");
        page.fill(".rack-hangs", "peg 2");
        page.picture("rack-read");
        // A second jig was drilled through the bracket itself: no print, a number all the same.
        page.tap("#rack-by-hand-bracket");
        page.wait_for_text("Made without a print");
        page.wait_for_text("Proved by hole 1 to hole 3");
        page.picture("by-hand");
        page.tap("#rack-by-hand-made");
        page.wait_for_text("SIZE NOT PROVED: read hole 1 to hole 3");
        page.picture("by-hand-made");
        page.tap_text("How many jigs for the run?");
        page.wait_for("document.querySelector('.holes-numbers button')");
        page.eval("document.querySelector('.holes-numbers').scrollIntoView({ block: 'center' })");
        page.picture("jigs");
        page.set_screen(Screen::DESK);
        page.eval("document.querySelector('#holes-bracket-drill').scrollIntoView()");
        page.picture("desk");
    });
}
