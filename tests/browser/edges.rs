//! A flat face with two edges to measure from, a badge square from both, and a turn kept level.

use std::fs;

use crate::browser::Screen;
use crate::design;
use crate::page::Page;
use crate::walk::walk;

/// A panel, from the corner of its bottom and left edge: A (100, 150), B (500, 150), C (100, 450);
/// the badge 40 in and 120 up. Distances by Pythagoras.
const READINGS: [(&str, &str); 3] = [("A to B", "400"), ("A to C", "300"), ("B to C", "500")];
const SIDE: (&str, &str) = ("B to C", "C fits on either side of the line A–B");

/// How far marks A, B, C and the badge lie square from the edge below, and from the one on the left.
const SQUARES: [(&str, [&str; 4]); 2] = [
    ("E", ["150", "150", "450", "120"]),
    ("F", ["100", "500", "100", "40"]),
];

/// A post's first face.
fn post(page: &Page<'_>) {
    design::first_face(
        page,
        "Harbour posts (invented)",
        "post",
        "front",
        "Post, front",
    );
}

/// An edge read square from each of them.
fn edge(page: &Page<'_>, (letter, squares): (&str, [&str; 4])) {
    if page.eval("document.querySelector('#setout-edges').closest('details').open") == false {
        design::unfold(page, "#setout-edges");
    }
    page.tap("#edge-add");
    page.wait_for_text(&format!("square from edge {letter}: three marks"));
    for (k, value) in squares.into_iter().enumerate() {
        page.fill(&format!("#square-{}", k + 1), value);
        page.key("Enter");
    }
}

#[test]
fn a_badge_lies_square_from_two_edges() {
    walk("edges", |w| {
        let page = w.open("");
        page.set_screen(Screen::DESK);
        page.wait_started();
        design::first_face(
            &page,
            "Pier gulls (invented)",
            "gull",
            "plate",
            "Gull, plate",
        );
        page.tap_text("Flat");
        design::marks(&page, &["A", "B", "C"]);
        design::feature(&page, "badge", "there is only one", &["40", "30"]);
        design::readings(&page, &READINGS, &[SIDE]);

        // Two edges; three marks and the badge square from each.
        for squares in SQUARES {
            edge(&page, squares);
            page.picture(&format!("edge-{}", squares.0));
        }
        // Both are drawn, and say where they are.
        page.wait_for("document.querySelectorAll('.setout-picture .edge').length === 2");
        page.wait_for_text("edge below, read square from 4 places");
        page.tap_text("it stays square from two edges");
        page.wait_for(
            "document.querySelector('#feature-edge')?.selectedOptions[0].label.trim() === 'edge E'",
        );
        page.wait_for(
            "document.querySelector('#feature-end')?.selectedOptions[0].label.trim() === 'edge F'",
        );
        page.wait_for_text("This face is set out");
        page.picture("follows");

        // Between two marks instead, and then up from an edge, or in proportion to two marks.
        page.tap_text("the difference is split between the two marks");
        page.wait_for("document.querySelector('#feature-from')");
        page.tap_text("it moves in proportion to two marks");
        page.wait_for(
            "document.querySelector('#feature-across-to')?.selectedOptions[0].label.trim() === 'C'",
        );
        page.tap_text("it keeps its distance from an edge");
        page.wait_for(
            "document.querySelector('#feature-off-edge')?.selectedOptions[0].label.trim() === 'edge E'",
        );
        page.wait_for_text("This face is set out");
        page.picture("off-edge");
        page.tap_text("it stays square from two edges");
        page.wait_for("document.querySelector('#feature-edge')");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("upright");
        page.set_screen(Screen::DESK);

        // A casting of which nothing was read: its sheet is hooked on the edges themselves.
        page.tap_text("Pieces and castings");
        design::pieces(&page, 2, 2, "Add gull 1 to 2");
        design::besides(&page, 1);
        // Both edges are asked for by themselves, after the tape.
        page.wait_for_text("A square from edge E");
        page.select("#besides-way", "square from an edge");
        page.select("#besides-edge", "F");
        page.select("#besides-to", "A");
        page.tap("#besides-add");
        page.wait_for(
            "document.querySelector('.ask-head h1')?.innerText.includes('A square from edge F')",
        );
        page.picture("square");
        page.fill("#measure-field", "100.5");
        page.key("Enter");
        page.wait_for("!document.querySelector('.ask-head h1')?.innerText.includes('square from')");
        page.tap_text("Templates");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.picture("sheet");
        let sheet = page.download(|page| page.tap_text("Download PDF"));
        assert!(fs::read(&sheet).unwrap().starts_with(b"%PDF-"));
    });
}

/// A post of girth 2827.4: marks as on the panel, over the surface; edges at its foot and up its side.
#[test]
fn a_badge_lies_square_from_two_edges_of_a_post() {
    walk("edges-round", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        post(&page);
        page.tap_text("Round one way");
        page.wait_for("document.querySelector('#face-girth')");
        page.fill("#face-girth", "2827.4");
        page.key("Enter");
        design::marks(&page, &["A", "B", "C"]);
        design::feature(&page, "badge", "there is only one", &["40"]);
        design::readings(&page, &READINGS, &[SIDE]);
        for squares in SQUARES {
            edge(&page, squares);
        }
        page.tap_text("it stays square from two edges");
        page.wait_for("document.querySelector('#feature-end')");
        page.wait_for_text("This face is set out");
        page.picture("set-out");
    });
}

/// A tapered post of radius 300 at its foot, 220 after 800 up its side: unrolled, its tip lies
/// 300/0.1 = 3000 up. A, B and C lie 150, 450 and 650 up from the foot and 100, 500 and 100 from the
/// seam: distances by Pythagoras on the unrolled face, to a tenth.
#[test]
fn a_badge_lies_square_from_the_foot_of_a_tapered_post() {
    walk("edges-tapered", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        post(&page);
        page.tap_text("Tapered");
        page.settled();
        page.wait_for("document.querySelector('#face-lower')");
        for (field, value) in [
            ("#face-lower", "1885"),
            ("#face-upper", "1382.3"),
            ("#face-slant", "800"),
        ] {
            page.fill(field, value);
            page.key("Enter");
        }
        design::marks(&page, &["A", "B", "C"]);
        design::feature(&page, "badge", "there is only one", &["40"]);
        design::readings(
            &page,
            &[
                ("A to B", "530.0"),
                ("A to C", "500.4"),
                ("B to C", "428.1"),
            ],
            &[SIDE],
        );
        for squares in [
            ("E", ["150", "450", "650", "120"]),
            ("F", ["100", "500", "100", "40"]),
        ] {
            edge(&page, squares);
        }
        page.tap_text("it stays square from two edges");
        page.wait_for("document.querySelector('#feature-end')");
        page.wait_for_text("This face is set out");
        page.picture("set-out");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("upright");
        page.set_screen(Screen::TABLET);

        // Paper that lies round the post is cut on the line of its foot, not folded there.
        page.tap_text("Pieces and castings");
        page.fill("#job-pieces", "2");
        page.tap_text("Set up 2 pieces");
        page.wait_for_text("2 pieces in the run");
        page.tap("button[aria-label='One casting more']");
        page.tap_text("Add post 1 to 2");
        page.wait_for_text("piece 2");
        page.tap(".run li:nth-child(1) a");
        page.tap_text("Templates");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.wait_for_text("Cut the sheet off on the line of edge E");
        page.picture("sheet");
    });
}

#[test]
fn what_is_kept_level_is_levelled_on_every_casting() {
    walk("kept-level", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        design::first_face(
            &page,
            "Pier gulls (invented)",
            "gull",
            "front",
            "Gull, front",
        );
        page.tap_text("Flat");
        design::marks(&page, &["A", "B"]);
        design::feature(&page, "eye", "there is only one", &["62", "48"]);
        let held = [
            ("A to B", "400"),
            ("A to middle of eye", "233.2"),
            ("B to middle of eye", "233.2"),
        ];
        let side = ("B to middle of eye", "fits on either side of the line A–B");
        design::readings(&page, &held, &[side]);
        page.wait_for_text("This face is set out");
        page.tap_text("level, by a spirit level");
        page.wait_for_text("Take a level to A–B of the pattern first");
        page.picture("asked");
        page.tap_text("level: says where up is");
        page.select("#reading-from", "A");
        page.select("#reading-to", "B");
        page.wait_for_text("B stands above A by");
        page.fill("#reading-beside", "0");
        page.key("Enter");
        page.wait_for_text("Measure asks for a level on A–B of every casting");
        page.picture("levelled");

        // The level is asked for with the others, with what it should come to.
        page.tap_text("Pieces and castings");
        design::pieces(&page, 2, 2, "Add gull 1 to 2");
        page.tap(".run li:nth-child(1) a");
        page.tap_text("Measure");
        for value in ["400.4", "400.6"] {
            page.wait_for("document.querySelector('#measure-field')?.value === ''");
            page.fill("#measure-field", value);
            page.key("Enter");
        }
        page.wait_for_text("B above A, by level");
        page.wait_for_text("expect -");
        page.wait_for_text("stand the casting as it will stand");
        page.picture("level");
        page.fill("#measure-field", "4");
        page.key("Enter");
        page.wait_for_text("is measured");
        page.picture("measured");
    });
}
