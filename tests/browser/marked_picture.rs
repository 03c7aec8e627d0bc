//! A client's marked-up picture: an outline off it by the corners of something rectangular, then the
//! cross the client drew as an amendment by four marks of the face; the face printed with a grid.

use std::fs;

use samespot_core::job::{EntityRef, FaceShape, LineSide, MarkEdit};
use samespot_core::write::job::job_file;
use samespot_tests::jobs::{Script, id};
use samespot_tests::photograph::{Camera, Sheet, pen};

use crate::browser::{Screen, Spot};
use crate::design;
use crate::page::Page;
use crate::walk::walk;

/// A phone held across, square on: a millimetre of the sheet is 2900 / 470 points of 2000.
const CAMERA: Camera = Camera {
    size: (2000, 1500),
    ..Camera::held()
};

/// A sheet with nothing of a tracing frame on it.
fn sheet(wide: usize, high: usize) -> Sheet {
    Sheet {
        wide: wide * 10,
        high: high * 10,
        points: vec![255; wide * high * 100],
        per_mm: 10.0,
    }
}

/// Taps a place of the photographed sheet, mm from its middle.
fn tap_at(page: &Page<'_>, [x, y]: [f64; 2]) {
    page.eval("document.querySelector('.marked-room').scrollIntoView({ block: 'center' })");
    let middle = page.middle(".marked-over");
    let width = page
        .eval("document.querySelector('.marked-over').getBoundingClientRect().width")
        .as_f64()
        .unwrap();
    let k = 2900.0 / 470.0 / 2000.0 * width;
    let spot = Spot {
        x: middle.x + x * k,
        y: middle.y - y * k,
    };
    page.drag(spot, spot);
}

/// A client's drawing 400 by 300 with a word that is not outlined.
const DRAWING: &[u8] = br#"<svg xmlns="http://www.w3.org/2000/svg" width="400" height="300" viewBox="0 0 400 300"><path d="M40 30H360V270H40Z" fill="none" stroke="black"/><circle cx="200" cy="150" r="60"/><text x="10" y="20">QUAY</text></svg>"#;

/// Taps a place of what is shown, by shares of its width and height from its upper left corner.
fn tap_corner(page: &Page<'_>, [x, y]: [f64; 2]) {
    page.eval("document.querySelector('.marked-room').scrollIntoView({ block: 'center' })");
    let middle = page.middle(".marked-over");
    let size = |side: &str| {
        let script =
            format!("document.querySelector('.marked-over').getBoundingClientRect().{side}");
        page.eval(&script).as_f64().unwrap()
    };
    let spot = Spot {
        x: middle.x + (x - 0.5) * size("width"),
        y: middle.y + (y - 0.5) * size("height"),
    };
    page.drag(spot, spot);
}

#[test]
fn an_outline_is_taken_off_a_picture_by_four_corners() {
    walk("marked-picture", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap("a.way.quick");
        page.tap("[data-value=file]");
        let mut drawn = sheet(200, 150);
        drawn.draw(|x, y| pen((x - 110.0).abs().max((y - 80.0).abs() * 1.5) - 30.0, 1.0));
        let picture = w.keep("client.png", &CAMERA.png(&drawn));
        let broken = w.keep("broken.png", b"\x89PNG\r\n\x1a\nnothing of the kind");
        page.choose_file("input[type=file][accept*=svg]", &broken);
        page.wait_for_text("This is no picture that can be read here");
        page.choose_file("input[type=file][accept*=svg]", &picture);
        page.wait_for_text("0 of the five targets can be made out");
        page.tap("#by-places");
        page.wait_for_text("Type both sides of the rectangle");
        page.fill("#picture-across", "200");
        page.fill("#picture-up", "150");
        page.key("Enter");
        page.wait_for_text("Tap lower left in the picture");
        page.picture("asked");
        // Two corners for each other are told.
        for corner in [
            [100.0, -75.0],
            [-100.0, -75.0],
            [100.0, 75.0],
            [-100.0, 75.0],
        ] {
            tap_at(&page, corner);
        }
        page.wait_for_text("or go round the outline");
        tap_at(&page, [10.0, 5.0]);
        page.wait_for_text("Lower left and lower right seem to be swapped");
        page.picture("swapped");
        page.tap("[data-place='0']");
        tap_at(&page, [-100.0, -75.0]);
        page.tap("[data-place='1']");
        tap_at(&page, [100.0, -75.0]);
        page.wait_for_text("One place, known to");
        page.tap("#picture-back");
        page.tap("[data-place='drawn']");
        page.tap(".marked-up [data-value=straight]");
        for place in [[-20.0, -15.0], [40.0, -15.0], [40.0, 25.0], [-20.0, 25.0]] {
            tap_at(&page, place);
        }
        page.wait_for_text("4 places round the outline");
        page.wait_for_text("mm across");
        page.wait_for_text("Nothing proves the four");
        page.picture("drawn");
        page.tap("#picture-take");
        page.wait_for_text("Taken off the picture: ");
        let width = page.eval("document.querySelector('#file-width').value");
        let width = width.as_str().unwrap_or_default().replace(" mm", "");
        let width: f64 = width.parse().expect("a width is filled in");
        assert!((width - 60.0).abs() < 1.5, "{width}");
        page.picture("taken");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("taken-upright");
    });
}

/// A plinth 400 by 300 with four marks at its corners and a spot in its middle.
fn plinth() -> Vec<u8> {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 2);
    for mark in ["c", "d"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    for (from, to, value) in [
        ("a", "b", 160.0),
        ("a", "c", 120.0),
        ("b", "c", 200.0),
        ("b", "d", 120.0),
        ("a", "d", 200.0),
        ("c", "d", 160.0),
        ("a", "spot", 100.0),
        ("b", "spot", 100.0),
        ("c", "spot", 100.0),
    ] {
        s.over("pattern", from, to, value);
    }
    job_file(&s.ledger, &s.attachments).unwrap()
}

#[test]
fn a_cross_in_the_clients_picture_becomes_an_amendment() {
    walk("marked-amendment", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        let job = w.keep("plinth.samespot", &plinth());
        page.choose_file("input[type=file]", &job);
        page.wait_for("location.hash.startsWith('#/j/test-job')");
        page.wait_for("document.querySelector('.tasks')");
        page.tap_text("Changes");
        page.wait_for_text("Change the design");
        page.select("#change-feature", "Spot");
        page.tap_text("From the client’s marked-up picture");
        let picture = w.keep("client.png", &CAMERA.png(&sheet(200, 150)));
        page.choose_file("#change-picture", &picture);
        page.wait_for_text("Tap mark A in the picture");
        for mark in [[-80.0, -60.0], [80.0, -60.0], [-80.0, 60.0], [80.0, 60.0]] {
            tap_at(&page, mark);
        }
        // The client wants it 12 lower and 8 further right.
        tap_at(&page, [8.0, -12.0]);
        page.wait_for_text("The place is known to ±");
        page.picture("cross");
        page.tap("#picture-take");
        page.wait_for("document.querySelector('#change-along').value.startsWith('1')");
        for (field, want) in [("along", 12.0), ("across", 8.0)] {
            let came = page.eval(&format!("document.querySelector('#change-{field}').value"));
            let came = came.as_str().unwrap_or_default().replace(" mm", "");
            let came: f64 = came.parse().expect("a distance is filled in");
            assert!((came - want).abs() < 1.0, "{field} {came}");
        }
        let why = page.eval("document.querySelector('#change-reason').value");
        assert!(
            why.as_str()
                .unwrap_or_default()
                .contains("off the picture client.png")
        );
        page.fill("#change-asked", "the client (invented)");
        page.tap("#change-make");
        page.wait_for_text("down and");
        page.picture("issue");

        // The face with a grid, over as many sheets as it takes.
        page.eval("location.hash = '#/j/test-job/setout'");
        page.wait_for_text("Full size, with a grid");
        design::unfold(&page, "#setout-full-size");
        let drawing = page.download(|page| page.tap("#grid-sheet"));
        assert!(fs::read(&drawing).unwrap().starts_with(b"%PDF-"));
        page.wait_for_text("each has a map of all");
        page.fill("#grid-every", "1");
        page.key("Enter");
        page.tap("#grid-sheet");
        page.wait_for_text("is too close");
        page.picture("grid");

        // A picture on the same marks, at full size with a grid: by four of them, then by two of a
        // picture that is said to be taken square on.
        let whole = w.keep("whole.png", &CAMERA.png(&sheet(200, 150)));
        design::unfold(&page, "#setout-picture-sheets");
        page.choose_file("#full-size-picture", &whole);
        page.wait_for_text("Tap mark A in the picture");
        for mark in [[-80.0, -60.0], [80.0, -60.0], [-80.0, 60.0], [80.0, 60.0]] {
            tap_at(&page, mark);
        }
        page.wait_for_text("Every place that is needed is tapped");
        page.picture("whole-tapped");
        page.tap("#picture-sheets");
        page.wait_for_text("amid the known places");
        page.wait_for("document.querySelectorAll('.setout-readings .pages img').length >= 1");
        page.picture("whole-picture");
        let sheets = page.download(|page| page.tap("#sheets-pdf"));
        assert!(fs::read(&sheets).unwrap().starts_with(b"%PDF-"));

        // A drawing on two of the marks: its lines stay lines, and a rectangle typed for it has fields
        // of its own beside those of a feature's picture.
        let lines = w.keep("lettering.svg", DRAWING);
        page.choose_file("#full-size-picture", &lines);
        page.wait_for_text("Tap mark A in the drawing");
        tap_corner(&page, [0.1, 0.9]);
        page.wait_for_text("Tap mark B in the drawing");
        tap_corner(&page, [0.9, 0.9]);
        page.wait_for_text("which proves the others, or go on without");
        page.tap("#picture-sheets");
        page.wait_for_text("amid the known places");
        page.wait_for_text("texts that are not outlined");
        page.wait_for("document.querySelectorAll('.setout-readings .pages img').length >= 1");
        page.picture("whole-drawing");
        let sheets = page.download(|page| page.tap("#sheets-dxf"));
        assert!(!fs::read(&sheets).unwrap().is_empty());

        // Letters in single lines.
        page.tap_text("Spot");
        page.tap("[data-value=strokes]");
        page.fill("#feature-words", "Quay No 7");
        page.fill("#feature-capitals", "20");
        page.key("Enter");
        page.wait_for_text("single lines");
        page.picture("single-lines");
    });
}
