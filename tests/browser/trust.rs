//! Measure says what its readings are worth: the slip, the hook, what is missing, what contradicts.

use samespot_core::job::{AxisChoice, EntityRef, FaceShape, LineSide, MarkEdit, Size};
use samespot_core::write::job::job_file;
use samespot_tests::jobs::{Script, id, mm};

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

#[test]
fn readings_say_what_they_are_worth() {
    walk("trust", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let job = design::example(&page);
        let measure = |casting: &str| page.go(&format!("#/j/{job}/c/{casting}/measure"));

        // The planted slip is named with what it was; it is kept or left out only with a reason.
        measure("puffin-11");
        page.wait_for_text("is probably 10 mm long");
        page.wait_for_text("Was it misread by 10 mm?");
        page.picture("slip");
        page.tap_text("Keep it…");
        page.wait_for_text("Keep: the casting is like that");
        page.picture("reasons");
        page.tap_text("Keep: read twice, the same");
        page.wait_for("!document.body.innerText.includes('is probably 10 mm long')");

        // The bent hook is suspected from its pattern.
        measure("puffin-14");
        page.wait_for_text("Readings 13–15 with Pocket tape, 5 m are all about");
        page.tap(".over-run summary");
        page.wait_for_text("is not chance");
        page.picture("hook");

        // Rods instead of numbers, for what lands on this casting's piece.
        page.tap(".measure-rods summary");
        let rods = page.download(|page| page.tap_text("Rods for Eye, left"));
        assert!(rods.to_string_lossy().contains("-eye-left-rods-piece-"));
        page.picture("rods");

        // The missing reading is asked for, with how the tape is held.
        measure("cap-9");
        page.wait_for_text("to read");
        page.select("select.held:not(.with)", "held by its 100, taken off");
        page.picture("missing");
        page.tap(".proofs:not(.besides) summary");
        page.wait_for_text("Badge, within 3 mm");
        page.picture("proofs");

        // What nothing checks is said, one sentence at a time.
        measure("cap-12");
        page.wait_for_text("would show, but not in which reading it is");
        page.picture("unchecked");

        // The reading in inches stands as it was typed.
        measure("bollard-4");
        page.wait_for_text("6 9/16");
        page.picture("inches");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("upright");
    });
}

/// A glove taps twice where it meant to tap once.
#[test]
fn a_double_tap_keeps_one_reading() {
    walk("double-tap", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.go(&format!("#/j/{}/c/cap-9/measure", design::example(&page)));
        page.wait_for_text("to read");
        page.wait_for("document.querySelector('[aria-label^=\"Undo: nothing\"]')");
        page.fill("#measure-field", "80");
        page.wait_for_text("80 mm understood");
        page.eval(
            "(() => {
                const next = [...document.querySelectorAll('button')].find((b) => b.innerText === 'Next');
                next.click();
                next.click();
            })()",
        );
        page.wait_for("document.querySelector('[aria-label=Undo]')");
        page.wait_for("document.querySelector('#measure-field').value === ''");
        // One step back and nothing is left of it: there was one reading.
        page.tap("[aria-label=Undo]");
        page.wait_for("document.querySelector('[aria-label^=\"Undo: nothing\"]')");
    });
}

/// A post of 400 mm radius: marks on the plane it unrolls to. On its casting the tape hung straight from
/// A to B the first time: the chord of 360 round it, 2·400·sin(360/800) = 348.0.
fn post() -> Vec<u8> {
    const AT: [(&str, f64, f64); 5] = [
        ("a", 0.0, 0.0),
        ("b", 360.0, 0.0),
        ("c", 360.0, 280.0),
        ("d", 30.0, 260.0),
        ("e", 150.0, 110.0),
    ];
    let post = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: Size::Radius { radius: mm(400.0) },
    };
    let mut s = Script::one_face(post, &AT.map(|m| m.0), 2);
    for mark in ["c", "d", "e"] {
        s.set(
            EntityRef::Mark(id(mark)),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
    }
    for casting in ["pattern", "c1"] {
        for (k, from) in AT.iter().enumerate() {
            for to in &AT[k + 1..] {
                let tenth = |mm: f64| (mm * 10.0).round() / 10.0;
                let over = (to.1 - from.1).hypot(to.2 - from.2);
                if casting == "c1" && (from.0, to.0) == ("a", "b") {
                    let chord = 800.0 * (360.0_f64 / 800.0).sin();
                    s.over(casting, "a", "b", tenth(chord));
                }
                s.over(casting, from.0, to.0, tenth(over));
            }
        }
    }
    for mark in ["a", "b", "c"] {
        s.over("pattern", mark, "spot", 200.0);
    }
    job_file(&s.ledger, &s.attachments).unwrap()
}

/// A distance that was read is read once more on purpose: both stand, and one step back leaves the first.
#[test]
fn a_distance_is_read_a_second_time() {
    walk("read-second", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.go(&format!("#/j/{}/c/cap-12/measure", design::example(&page)));
        page.wait_for("document.querySelectorAll('ol.asks li').length >= 2");
        let count = page.eval("document.querySelectorAll('ol.asks li').length");
        let count = count.as_u64().unwrap();
        page.wait_for("document.querySelector('[aria-label^=\"Undo: nothing\"]')");
        page.tap("ol.asks li:first-child button");
        page.wait_for_text("What is typed here takes the place of what stands there");
        page.picture("stands");
        page.tap("button.read-second");
        page.wait_for_text("a second reading of the same");
        page.wait_for(&format!(
            "document.querySelectorAll('ol.asks li').length === {}",
            count + 1
        ));
        page.wait_for("document.querySelector('#measure-field').value === ''");
        page.picture("asked");
        // What the first one read, typed again.
        let first = page.text("ol.asks li:first-child button");
        let value = first.lines().last().unwrap().trim().to_owned();
        page.fill("#measure-field", &value);
        page.key("Enter");
        page.wait_for("document.querySelector('[aria-label=Undo]')");
        page.wait_for("!document.querySelector('ol.asks button:not(.read):not(.odd):not(.out)')");
        page.picture("both");
        page.tap("[aria-label=Undo]");
        page.wait_for("document.querySelector('[aria-label^=\"Undo: nothing\"]')");
        page.wait_for("document.querySelector('ol.asks button:not(.read):not(.odd):not(.out)')");
        // It is offered whatever way the tablet is held.
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.tap("ol.asks li:first-child button");
        page.wait_for("document.querySelector('button.read-second')");
        page.picture("upright");
    });
}

/// The tape hung straight where it was to lie on the surface: one tap puts the reading down as it lay.
#[test]
fn a_reading_is_kept_as_the_tape_lay() {
    walk("as-it-lay", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let file = w.keep("post.samespot", &post());
        page.choose_file("input[type=file]", &file);
        page.wait_for("location.hash.startsWith('#/j/test-job')");
        page.wait_for("document.body.innerText.includes('Saved')");
        page.go("#/j/test-job/c/c1/measure");
        page.wait_for_text("A–B is probably 12 mm short");
        page.wait_for_text("Did the tape hang straight, clear of the surface?");
        page.picture("asked");
        page.tap("button.as-it-lay");
        page.wait_for("!document.querySelector('.flag')");
        page.picture("kept");
        // One step back, and it is the odd one out again.
        page.tap("[aria-label=Undo]");
        page.wait_for_text("A–B is probably 12 mm short");
        page.wait_for("document.querySelector('button.as-it-lay')");
        page.set_screen(Screen::TABLET_UPRIGHT);
        page.picture("upright");
    });
}
