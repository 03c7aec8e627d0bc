//! How a design begins, whichever walk goes on from there.

use crate::page::Page;

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
