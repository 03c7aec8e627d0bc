//! A shape traced off the pattern: the frame printed from the page, traced, photographed and read.

use crate::browser::Screen;
use crate::walk::walk;
use samespot_tests::photograph::{Camera, Sheet, pen};

#[test]
fn a_shape_is_traced_in_a_printed_frame_and_photographed() {
    walk("tracing", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        page.tap("a.way.quick");
        page.tap("[data-value=file]");
        page.tap_text("No drawing? Trace it off the pattern");
        page.picture("frame-offered");
        let frame = page.download(|page| page.tap("#tracing-frame-download"));
        let Some(mut sheet) = Sheet::of_pdf(&frame) else {
            return;
        };
        // A blunt oval, 70 mm across and 46 mm up, with a pen of 2 mm.
        let oval = |x: f64, y: f64| {
            let (u, v) = ((x - 100.0) / 35.0, (y - 140.0) / 23.0);
            let h = u.hypot(v).max(1e-6);
            (h - 1.0) * h / (u / 35.0).hypot(v / 23.0).max(1e-6)
        };
        sheet.draw(|x, y| pen(oval(x, y), 2.0));
        let camera = Camera {
            turned: [14.0, -9.0, 4.0],
            away: 540.0,
            shade: 0.3,
            ..Camera::held()
        };
        let behind = Camera {
            behind: true,
            ..camera
        };
        let wrong = w.keep("eye-from-behind.png", &behind.png(&sheet));
        page.choose_file("input[type=file][accept*=svg]", &wrong);
        page.wait_for_text("seen from behind");
        page.picture("from-behind");
        let right = w.keep("eye.png", &camera.png(&sheet));
        page.choose_file("input[type=file][accept*=svg]", &right);
        page.wait_for_text("Traced on A4: ");
        page.wait_for_text("The fifth target is 0.");
        let width = page.eval("document.querySelector('#file-width').value");
        let width = width.as_str().unwrap_or_default().replace(" mm", "");
        let width: f64 = width.parse().expect("a width is filled in");
        assert!((width - 70.0).abs() < 0.5, "{width}");
        page.picture("traced");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("traced-upright");
    });
}
