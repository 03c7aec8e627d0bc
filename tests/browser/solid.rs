//! The face that can be turned: on Setting out and on Templates, by finger, mouse and key; and what is
//! said where the browser can't draw it or takes it away.

use crate::browser::{Screen, Spot};
use crate::page::Page;
use crate::walk::walk;
use std::path::Path;

const CANVAS: &str = "document.querySelector('.solid-board canvas')";

/// How many different greys stand inside the canvas on a picture: a blank one has two or three.
fn greys(page: &Page<'_>, picture: &Path) -> usize {
    let image = image::open(picture).unwrap().to_luma8();
    let r = page.eval(&format!(
        "(() => {{ const r = {CANVAS}.getBoundingClientRect();
           const k = {} / innerWidth;
           return [r.left, r.top, r.right, r.bottom].map((x) => x * k); }})()",
        image.width()
    ));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "pixels of a picture"
    )]
    let [left, top, right, bottom] =
        [0, 1, 2, 3].map(|k| r[k].as_f64().unwrap().max(0.0) as u32 + 4 - 8 * (k as u32 / 2));
    let mut seen = [false; 256];
    for y in top..bottom.min(image.height()) {
        for x in left..right.min(image.width()) {
            seen[usize::from(image.get_pixel(x, y).0[0])] = true;
        }
    }
    seen.iter().filter(|s| **s).count()
}

/// Two fingers on the canvas, which a mouse can't be.
fn pinch(page: &Page<'_>, apart: [f64; 2]) {
    page.eval(&format!(
        "(() => {{ const c = {CANVAS}; const r = c.getBoundingClientRect();
           const at = (type, id, dx) => c.dispatchEvent(new PointerEvent(type, {{ pointerId: id,
             clientX: r.left + r.width / 2 + dx, clientY: r.top + r.height / 2, bubbles: true }}));
           at('pointerdown', 71, -{0}); at('pointerdown', 72, {0});
           at('pointermove', 71, -{1}); at('pointermove', 72, {1});
           at('pointerup', 71, -{1}); at('pointerup', 72, {1}); }})()",
        apart[0], apart[1]
    ));
}

/// Where a name stands.
fn name(page: &Page<'_>, words: &str) -> Spot {
    let find = format!(
        "[...document.querySelectorAll('.solid-name')].find((n) => n.innerText === '{words}')"
    );
    page.wait_for(&find);
    let r = page.eval(&format!(
        "(() => {{ const r = {find}.getBoundingClientRect(); return [r.left, r.bottom]; }})()"
    ));
    // A name stands to the right of its place and above it.
    Spot {
        x: r[0].as_f64().unwrap() - 10.0,
        y: r[1].as_f64().unwrap() + 4.0,
    }
}

fn far(a: Spot, b: Spot) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

#[test]
fn a_face_is_turned_on_setting_out_and_a_template_in_its_place() {
    walk("solid", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_offline_ready();
        w.site.stop();
        // The example stands for the job that a workshop has open.
        page.tap(".ways a.way:first-child");
        page.wait_for("document.querySelector('.run a[href*=\"/p/p7\"]')");
        let job = page.eval("location.hash.split('/')[2]");
        let job = job.as_str().unwrap();
        page.eval(&format!("location.hash = '#/j/{job}/setout/head-left'"));
        page.wait_for("document.querySelector('.setout-picture text.mark')");
        // Put away until it is asked for.
        assert_eq!(page.eval(&format!("{CANVAS} === null")), true);
        page.tap_text("Turn it");
        page.wait_for_text("Drag to turn it");
        name(&page, "A");
        page.eval(&format!("{CANVAS}.scrollIntoView({{ block: 'center' }})"));
        let first = page.picture("setout-tablet");
        assert!(greys(&page, &first) > 40, "{}", greys(&page, &first));

        // Turned by a finger: what is in front follows it, and the names with it.
        let before = name(&page, "A");
        let from = page.middle(".solid-board canvas");
        page.drag(
            from,
            Spot {
                x: from.x + 60.0,
                y: from.y + 20.0,
            },
        );
        page.wait_for_text("Drag to turn it");
        let after = name(&page, "A");
        assert!(after.x > before.x + 5.0, "{before:?} {after:?}");
        page.picture("dragged");
        // Nearer by two fingers.
        page.tap_text("Straight on");
        page.picture("straight");
        let apart = far(name(&page, "A"), name(&page, "B"));
        pinch(&page, [60.0, 90.0]);
        page.picture("nearer");
        let nearer = far(name(&page, "A"), name(&page, "B"));
        assert!((nearer / apart - 1.5).abs() < 0.1, "{apart} {nearer}");
        // And by keys.
        page.key("Home");
        page.tap_text("Straight on");
        page.picture("straight-again");
        let apart = far(name(&page, "A"), name(&page, "B"));
        page.eval(&format!("{CANVAS}.focus()"));
        page.eval(&format!(
            "{CANVAS}.dispatchEvent(new KeyboardEvent('keydown', {{ key: '+', bubbles: true, cancelable: true }}))"
        ));
        page.picture("nearer-by-key");
        let by_key = far(name(&page, "A"), name(&page, "B"));
        assert!((by_key / apart - 1.25).abs() < 0.1, "{apart} {by_key}");
        page.key("Home");
        // A tap on a mark says what it is, and takes it in hand on the flat drawing too.
        let mark = name(&page, "B");
        page.drag(mark, mark);
        page.wait_for_text("Mark B");
        page.wait_for("document.querySelector('.setout-picture circle.narrow')");
        page.picture("picked");

        // The browser takes it away, and gives it back.
        page.eval(&format!(
            "globalThis.lose = {CANVAS}.getContext('webgl2').getExtension('WEBGL_lose_context'); lose.loseContext()"
        ));
        page.wait_for_text("took this picture’s memory away");
        page.picture("lost");
        page.eval("lose.restoreContext()");
        page.wait_for("!document.body.innerText.includes('took this picture’s memory away')");
        name(&page, "A");
        let back = page.picture("back");
        assert!(greys(&page, &back) > 40, "{}", greys(&page, &back));

        page.set_screen(Screen::DESK);
        page.tap_text("From above");
        page.picture("setout-desk");
        page.tap_text("Put the turned view away");
        assert_eq!(page.eval(&format!("{CANVAS} === null")), true);

        // A template in its place.
        page.eval(&format!(
            "location.hash = '#/j/{job}/p/p7/templates/eye-left'"
        ));
        page.wait_for("document.querySelector('.pages img')");
        page.tap_text("Turn it");
        page.wait_for_text("where the paint is to go");
        page.wait_for_text("mm, the most");
        page.eval("document.querySelector('.solid').scrollIntoView({ block: 'start' })");
        let desk = page.picture("template-desk");
        assert!(greys(&page, &desk) > 40, "{}", greys(&page, &desk));
        page.tap("button[aria-label='Dark for the shed']");
        page.picture("template-shed");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.eval("document.querySelector('.solid').scrollIntoView({ block: 'start' })");
        page.picture("template-upright");
    });
}

#[test]
fn where_the_browser_cannot_draw_it_a_sentence_says_so() {
    walk("solid-without", |w| {
        let page = w.empty_tab();
        page.before_load("HTMLCanvasElement.prototype.getContext = () => null;");
        page.go("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.tap(".ways a.way:first-child");
        page.wait_for("document.querySelector('.run a[href*=\"/p/p7\"]')");
        page.tap(".run a[href*='/p/p7']");
        page.wait_for("document.querySelector('.pages img')");
        page.tap_text("Turn it");
        page.wait_for_text("This browser can’t draw a face to be turned");
        page.picture("without");
        // Nothing else is missing.
        let pdf = page.download(|page| page.tap_text("Download PDF"));
        assert!(std::fs::read(pdf).unwrap().starts_with(b"%PDF-"));
    });
}
