//! How a design begins, whichever walk goes on from there.

use crate::page::Page;

/// From the start page to the example to print from; which job it opens as.
#[track_caller]
pub(crate) fn example(page: &Page<'_>) -> String {
    page.tap(".ways a.way:first-child");
    page.wait_for("document.querySelector('.run a[href*=\"/p/p7\"]')");
    let job = page.eval("location.hash.split('/')[2]");
    job.as_str().unwrap().to_owned()
}

/// From the start page to a first face of a new job, its shape not said yet.
#[track_caller]
pub(crate) fn first_face(page: &Page<'_>, job: &str, part: &str, face: &str, title: &str) {
    page.tap(".ways a.way:last-child");
    page.wait_for_text("Say what is cast, and which side of it");
    page.fill("#setout-job", job);
    page.fill("#face-part", part);
    page.fill("#face-name", face);
    page.tap("#face-add");
    page.wait_for_text(title);
}

/// Marks added one after another, each seen in the list before the next.
#[track_caller]
pub(crate) fn marks(page: &Page<'_>, letters: &[&str]) {
    for letter in letters {
        page.tap("#mark-add");
        page.wait_for(&format!(
            "document.querySelector('#mark-letter')?.value === '{letter}' &&
             [...document.querySelectorAll('.setout-point strong')].some((m) => m.innerText === '{letter}')"
        ));
    }
}

/// What the list of readings asks for, typed as it asks; where both sides of a line fit, what that
/// says, and the upper one taken.
#[track_caller]
pub(crate) fn readings(page: &Page<'_>, all: &[(&str, &str)], sides: &[(&str, &str)]) {
    for (asked, value) in all {
        page.wait_for(&format!(
            "document.querySelector('.setout-next:not([hidden]) label')?.innerText.startsWith('{asked}')"
        ));
        page.fill("#reading-value", value);
        page.key("Enter");
        if let Some((_, says)) = sides.iter().find(|(of, _)| of == asked) {
            page.wait_for_text(says);
            page.tap_text("above the line");
        }
    }
}

/// A feature by its name, seen in the list before anything is said of it.
#[track_caller]
pub(crate) fn new_feature(page: &Page<'_>, name: &str) {
    page.settled();
    page.fill("#feature-new", name);
    page.tap("#feature-add");
    page.wait_for(&format!(
        "document.querySelector('#feature-name') &&
         [...document.querySelectorAll('.setout-point strong')].some((m) => m.innerText === '{name}')"
    ));
}

/// A feature of which there is one or, where `side` says so, one of a pair; an oval of the two
/// sizes, a circle where there is only one.
#[track_caller]
pub(crate) fn feature(page: &Page<'_>, name: &str, side: &str, sizes: &[&str]) {
    new_feature(page, name);
    page.tap_text(side);
    page.tap_text(if sizes.len() == 1 { "Circle" } else { "Oval" });
    for (field, size) in ["#feature-across", "#feature-up"].into_iter().zip(sizes) {
        page.fill(field, size);
    }
    page.key("Enter");
}

/// A part of the face that not every design wants, opened by its name.
#[track_caller]
pub(crate) fn unfold(page: &Page<'_>, name: &str) {
    page.tap(&format!("details:not([open]) > summary:has({name})"));
}

/// How the feature in hand is drawn, marked and laid.
#[track_caller]
pub(crate) fn drawn_and_laid(page: &Page<'_>) {
    page.tap(".setout-form details.setout-folded:not([open]) > summary");
}

/// Pieces of a run, and castings for the first of them, each tapped on as one more.
#[track_caller]
pub(crate) fn pieces(page: &Page<'_>, pieces: usize, castings: usize, add: &str) {
    page.fill("#job-pieces", &pieces.to_string());
    page.tap_text(&format!("Set up {pieces} pieces"));
    page.wait_for_text(&format!("{pieces} pieces in the run"));
    for _ in 1..castings {
        page.tap("button[aria-label='One casting more']");
    }
    page.tap_text(add);
    page.wait_for_text(&format!("piece {castings}"));
}

/// Measure of a piece of the run, and what stands there folded: a reading besides the list.
#[track_caller]
pub(crate) fn besides(page: &Page<'_>, piece: usize) {
    page.tap(&format!(".run li:nth-child({piece}) a"));
    page.tap_text("Measure");
    page.wait_for("document.querySelector('#measure-field')");
    page.tap(".besides summary");
    page.wait_for("document.querySelector('#besides-add')");
}
