//! A face from a scan, as somebody with a scan file makes one: open it, say its unit, turn it, pick
//! the marks, make the face, measure a casting, print.

use crate::design;
use samespot_core::read::mesh::{read, view::View};
use samespot_tests::meshes::head;
use std::fs;

use crate::browser::{Screen, Spot};
use crate::page::Page;
use crate::walk::walk;

/// Directions of the marks and of the eye on the invented head, radians across and up.
const POINTS: [(&str, [f64; 2]); 4] = [
    ("A", [0.0, 0.1]),
    ("B", [0.62, 0.12]),
    ("C", [0.3, 0.62]),
    ("eye", [0.32, 0.32]),
];

/// Taps a place of the scan's picture, in its own 720 by 480.
fn tap_picture(page: &Page<'_>, [x, y]: [f64; 2]) {
    let middle = page.middle(".setout-scan");
    let width = page
        .eval("document.querySelector('.setout-scan').getBoundingClientRect().width")
        .as_f64()
        .unwrap();
    let k = width / 720.0;
    let spot = Spot {
        x: middle.x + (x - 360.0) * k,
        y: middle.y + (y - 240.0) * k,
    };
    page.drag(spot, spot);
}

#[test]
fn a_face_is_made_of_a_scan_and_a_stencil_of_the_face() {
    walk("scan", |w| {
        let made = head((120, 100), 0.1);
        let file = w.keep("invented-head.stl", &made.stl());
        let wrong = w.keep("not-a-scan.stl", b"<!doctype html><p>gone");
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        design::first_face(
            &page,
            "Pier gulls (invented)",
            "gull",
            "left of the head",
            "Gull, left of the head",
        );
        page.tap_text("From a scan");
        page.wait_for_text("A scan of the approved pattern");
        page.choose_file("input[type=file]", &wrong);
        page.wait_for_text("This is a web page, not a scan");
        page.picture("refused");
        // What is said while it is read.
        page.eval(
            "(() => { globalThis.far = [];
              new MutationObserver(() => {
                const says = document.querySelector('#scan-stop')?.parentElement?.innerText;
                if (says) far.push(says);
              }).observe(document.body, { subtree: true, childList: true, characterData: true });
            })()",
        );
        page.choose_file("input[type=file]", &file);
        page.wait_for_text("24000 triangles");
        page.wait_for("far.some((says) => says.includes('of 4'))");
        page.wait_for_text("Which of these is its true size?");
        page.wait_for_text("Say which unit it is in");
        // Marks and the eye are added as on any face.
        for _ in 0..3 {
            page.tap("#mark-add");
        }
        page.wait_for("document.body.innerText.includes('Tap the place of A')");
        page.fill("#feature-new", "eye");
        page.tap("#feature-add");
        page.wait_for_text("middle of the eye");
        page.tap("[aria-label='Which unit it is in'] button:first-of-type");
        page.wait_for_text("Pick at least three places on it");
        page.picture("opened");
        for _ in 0..3 {
            page.tap_text("Turn left");
        }
        page.picture("turned");
        let scan = read(&made.stl()).unwrap();
        let up = [0.0, 0.0, 1.0];
        let view = View::of(
            &scan.look,
            up,
            (90_f64.to_radians(), 0.0),
            (1.0, None),
            [720, 480],
        );
        for (k, (_, [a, b])) in POINTS.iter().enumerate() {
            let r = 150.0;
            let at = [r * b.cos() * a.cos(), r * b.cos() * a.sin(), r * b.sin()];
            let [x, y, _] = view.seen(at);
            tap_picture(&page, [x, y]);
            page.wait_for(&format!(
                "document.querySelectorAll('.setout-scan circle').length === {}",
                k + 1
            ));
        }
        page.wait_for_text("A to B: ");
        page.wait_for_text("Make the face");
        page.picture("picked");
        page.tap("#scan-make");
        page.wait_for_text("The face is made");
        page.wait_for_text("Smoothed over");
        page.wait_for_text("This face is from ‘invented-head.stl’, in mm");
        page.picture("made");
        // What it is: its shape and size, and how far out it may be.
        page.wait_for("[...document.querySelectorAll('.setout-point strong')].some((m) => m.innerText === 'eye')");
        page.eval("[...document.querySelectorAll('.setout-point')].find((m) => m.innerText.startsWith('eye')).click()");
        page.wait_for("document.querySelector('#feature-name')");
        page.tap_text("Oval");
        page.fill("#feature-across", "46");
        page.fill("#feature-up", "36");
        page.key("Enter");
        page.tap_text("3 mm, painted feature");
        page.wait_for_text("This face is set out");
        page.picture("set-out");
        // Dragged on the drawing the eye is picked anew: nothing then contradicts the scan.
        page.eval("document.querySelector('.setout-picture').scrollIntoView({ block: 'center' })");
        let eye = "(() => { const r = document.querySelector('.setout-picture path.centre')
             .getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; })()";
        let before = page.eval(eye);
        let [x, y] = [0, 1].map(|k| before[k].as_f64().unwrap());
        page.drag(
            Spot { x, y },
            Spot {
                x: x + 24.0,
                y: y - 14.0,
            },
        );
        page.wait_for(&format!("Math.hypot({eye}[0] - {x}, {eye}[1] - {y}) > 8"));
        page.wait_for_text("This face is set out");
        page.picture("dragged");
        page.tap_text("Turn it");
        page.wait_for_text("Drag to turn it");
        page.wait_for("document.querySelectorAll('.solid-name').length === 4");
        page.eval("document.querySelector('.solid-board').scrollIntoView({ block: 'center' })");
        page.picture("in-the-hand");
        page.tap_text("Put the turned view away");
        page.tap_text("Pieces and castings");
        design::pieces(&page, 2, 2, "Add gull 1 to 2");
        page.tap(".run li:nth-child(1) a");
        page.tap_text("Measure");
        page.wait_for("document.querySelector('#measure-field')");
        page.picture("measure");
        page.wait_for_text("A to B, over the surface");
        page.fill("#measure-field", "94.5");
        page.key("Enter");
        page.tap_text("Templates");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.wait_for_text("the face is from a scan, smoothed over");
        page.picture("template");
        let sheet = page.download(|page| page.tap_text("Download PDF"));
        assert!(fs::read(&sheet).unwrap().starts_with(b"%PDF-"));
    });
}
