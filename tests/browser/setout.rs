//! A new design from nothing: the pattern's readings alone, no coordinate anywhere.

use std::fs;

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

/// The plan on which the distances below were reckoned, mm: A (0, 0), B (400, 0), C (180, 300),
/// the eye (200, 120); each distance by Pythagoras, to a tenth.
const READINGS: [(&str, &str); 6] = [
    ("A to B", "400"),
    ("A to C", "349.9"),
    ("B to C", "372.0"),
    ("A to middle of eye, left", "233.2"),
    ("B to middle of eye, left", "233.2"),
    ("C to middle of eye, left", "181.1"),
];

#[test]
fn a_design_is_set_out_from_nothing() {
    walk("setout", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap(".ways a.way:last-child");
        page.wait_for_text("Say what is cast, and which side of it");
        page.picture("welcome");
        page.fill("#setout-job", "Harbour seals (invented)");
        page.fill("#face-part", "seal");
        page.fill("#face-name", "front of the head");
        page.tap("#face-add");
        page.wait_for_text("Seal, front of the head");
        page.tap_text("Flat");
        design::marks(&page, &["A", "B", "C"]);
        page.fill("#mark-found", "moulded-in pip on the brow");
        design::feature(&page, "eye", "left", &["62", "48"]);
        page.tap_text("2 mm, pair or lettering");
        page.picture("asked");

        for (asked, value) in READINGS {
            page.wait_for(&format!(
                "document.querySelector('.setout-next:not([hidden]) label')?.innerText.startsWith('{asked}')"
            ));
            page.fill("#reading-value", value);
            page.key("Enter");
            if asked == "B to C" {
                page.wait_for_text("C fits on either side of the line A–B");
                page.picture("side");
                page.tap_text("above the line");
            }
            if asked == "B to middle of eye, left" {
                page.wait_for_text("Eye, left fits on either side of the line A–B");
                page.tap_text("above the line");
                page.wait_for_text("Nothing checks these readings");
            }
        }
        page.wait_for_text("This face is set out");
        page.wait_for_text("Every point is held");
        page.picture("held");
        page.set_screen(Screen::DESK);
        page.picture("desk");
        page.set_screen(Screen::TABLET);

        // Three pieces, their castings, and the tape: each casting a little larger than the last.
        page.tap_text("Pieces and castings");
        design::pieces(&page, 3, 3, "Add seal 1 to 3");
        page.picture("castings");
        // What is in a spreadsheet already is not typed again: casting 3 comes that way.
        page.tap_text("Paste or open readings of the run");
        page.fill(
            "#sheet-cells",
            "casting,A-B,A-C\n3,39.92cm,about 350\n4,400,",
        );
        page.wait_for_text("1 new readings understood");
        page.wait_for_text("add it first");
        page.picture("spreadsheet");
        page.tap("#sheet-keep");
        page.wait_for_text("1 are here already");
        for (piece, add) in [(1, 0.6), (2, 1.1)] {
            page.tap(&format!(".run li:nth-child({piece}) a"));
            page.tap_text("Measure");
            // What the eye follows is the line A–B: that is asked for, then once more as a check.
            for (round, again) in [(1, 0.0), (2, 0.3)] {
                page.wait_for(&format!(
                    "document.querySelector('#measure-field') && document.body.innerText.includes('{round} / 2')"
                ));
                page.fill("#measure-field", &format!("{:.1}", 400.0 + add + again));
                page.key("Enter");
            }
            page.picture(&format!("measure-{piece}"));
            page.tap_text("Templates");
            page.wait_for("document.querySelector('.pages svg, .pages img')");
            let sheet = page.download(|page| page.tap_text("Download PDF"));
            assert!(fs::read(&sheet).unwrap().starts_with(b"%PDF-"));
        }
        page.tap(".run li:nth-child(3) a");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.picture("template");
    });
}

/// On an upright tablet what not every design wants is a line to tap; where there is room it stands open.
#[test]
fn an_upright_tablet_folds_what_not_every_design_wants() {
    walk("setout-upright", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.wait_started();
        design::first_face(
            &page,
            "Harbour seals (invented)",
            "seal",
            "brow",
            "Seal, brow",
        );
        page.tap_text("Flat");
        design::marks(&page, &["A", "B", "C"]);
        page.wait_for(
            "document.querySelectorAll('.setout-folded').length >= 4 &&
             [...document.querySelectorAll('.setout-folded')].every((part) => !part.open)",
        );
        // Each line takes a finger, and nothing runs off to the side.
        page.wait_for(
            "[...document.querySelectorAll('.setout-folded > summary')]
                .every((line) => line.getBoundingClientRect().height >= 44)",
        );
        assert_eq!(
            page.eval("document.documentElement.scrollWidth <= innerWidth"),
            true
        );
        page.eval("document.querySelector('#setout-edges').scrollIntoView({ block: 'center' })");
        page.picture("folded");
        page.tap("#setout-edges");
        page.tap("#edge-add");
        page.wait_for_text("square from edge E: three marks");
        page.fill("#square-1", "150");
        page.key("Enter");
        // What was opened stays open while it is worked in, and what was not stays a line.
        page.wait_for("document.querySelector('#square-1')?.value === '150'");
        page.wait_for("document.querySelector('#setout-edges').closest('details').open");
        page.wait_for("!document.querySelector('#setout-board').closest('details').open");
        page.picture("opened");
        page.tap("#setout-fixings");
        page.fill("#fixing-new", "bracket bolts");
        page.tap("#fixing-add");
        page.wait_for("document.querySelector('#fixing-thread')");
        page.picture("bracket");
    });
}
