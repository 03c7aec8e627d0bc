//! All of it by the keyboard alone: no tap, no click, the cursor always somewhere that can be seen.

use std::fs;

use crate::browser::Screen;
use crate::page::Page;
use crate::walk::walk;

/// More stops than any screen has: a ring that does not come by is a trap.
const MOST_STOPS: usize = 160;

/// The cursor goes on, stop by stop, until it stands on what is meant; every stop shows that it is there.
#[track_caller]
fn tab_to(page: &Page<'_>, selector: &str) {
    tab(page, "Tab", selector);
}

#[track_caller]
fn tab(page: &Page<'_>, key: &str, selector: &str) {
    page.wait_for(&format!("document.querySelector({selector:?})"));
    for _ in 0..MOST_STOPS {
        page.key(key);
        let stands = page.eval(&format!(
            "(() => {{
                const here = document.activeElement;
                if (!here || here === document.body) return 'nowhere';
                const ringed = here.closest('.box, .big-field') ?? here;
                const style = getComputedStyle(ringed);
                const seen = style.outlineStyle !== 'none' || style.boxShadow !== 'none' ||
                    getComputedStyle(here).outlineStyle !== 'none';
                if (!seen) return `no ring on ${{here.outerHTML.slice(0, 120)}}`;
                return here.matches({selector:?}) ? 'there' : 'on the way';
            }})()"
        ));
        match stands.as_str().unwrap_or_default() {
            "there" => return,
            "on the way" | "nowhere" => {}
            wrong => panic!("{wrong}"),
        }
    }
    panic!("the cursor never comes to {selector}");
}

/// Types into the field that has the cursor.
#[track_caller]
fn types(page: &Page<'_>, field: &str, text: &str) {
    page.wait_for(&format!("document.activeElement?.matches({field:?})"));
    page.key("Control+a");
    page.insert(text);
}

#[test]
fn the_finishers_way_a_reading_and_a_check_by_keys_alone() {
    walk("by-keys", |w| {
        let page = w.open("");
        page.set_screen(Screen::DESK);
        page.wait_started();
        // The example stands for the job that a workshop has open.
        tab_to(&page, ".ways a.way:first-child");
        page.key("Enter");
        page.wait_for("document.querySelector('.run a[href*=\"/p/p7\"]')");
        tab_to(&page, ".run a[href*='/p/p7']");
        page.picture("piece-7");
        page.key("Enter");
        page.wait_for("location.hash.includes('/p/p7')");
        // The cursor is where it was: the tile of the piece.
        page.wait_for("document.activeElement?.matches('.run a[href*=\"/p/p7\"]')");
        tab_to(&page, "nav.features a[href$='/eye-left']");
        page.key("Enter");
        page.wait_for_text("Eye, left, on piece 7");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        tab_to(&page, ".template-actions .key.main");
        tab_to(&page, ".template-actions button:not(.main)");
        page.wait_for("document.activeElement.getAttribute('aria-disabled') === 'false'");
        page.picture("on-download");
        let pdf = page.download(|page| page.key("Enter"));
        assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
        // Back on the same key, as it was left.
        page.wait_for("document.activeElement?.matches('.template-actions button')");

        // A part that is folded: opened by Enter, folded by Escape, the cursor on its line again.
        tab_to(&page, "details[data-of=eye-left-shell] summary");
        page.key("Enter");
        page.wait_for("document.querySelector('details[data-of=eye-left-shell][open]')");
        page.wait_for_text("Pull it off the casting of piece");
        page.key("Tab");
        page.wait_for("document.activeElement?.closest('details[data-of=eye-left-shell]')");
        page.key("Escape");
        page.wait_for("!document.querySelector('details[data-of=eye-left-shell][open]')");
        page.wait_for("document.activeElement?.matches('details[data-of=eye-left-shell] summary')");

        // A reading: the tasks, the field, what it should come to.
        tab_to(&page, "nav.tasks a[href$='/measure']");
        page.key("Enter");
        page.wait_for("document.querySelector('.strip, .walked, #measure-field')");
        page.go(&format!("{}/measure", job_of(&page, "c/cap-9")));
        page.wait_for_text("to read");
        tab_to(&page, "#measure-field");
        types(&page, "#measure-field", "80");
        page.wait_for_text("80 mm understood");
        page.key("Enter");
        // It is kept, or asked about first: the answer to that is reached by Tab too.
        page.wait_for("document.querySelector('.ask-first .key') || !document.querySelector('#measure-field')?.value");
        if page.eval("!!document.querySelector('.ask-first .key')") == true {
            page.picture("asked-first");
            tab_to(&page, ".ask-first .actions > .key:last-child");
            page.key("Enter");
        }
        page.wait_for("!document.querySelector('#measure-field')?.value");
        page.picture("read");

        // A check: four gaps, kept, the cursor still there.
        page.go(&job_of(&page, "p/p3/checks/eye-left"));
        page.wait_for_text("Laid back, it can be told within");
        for (field, gap) in [
            ("#gap-top", "0.5"),
            ("#gap-left", "0"),
            ("#gap-right", "0"),
            ("#gap-bottom", "-0.5"),
        ] {
            tab_to(&page, field);
            types(&page, field, gap);
        }
        page.wait_for("document.querySelector('.checks-word')?.textContent === 'Within'");
        tab_to(&page, "main button.key.main.big");
        page.key("Enter");
        page.wait_for_text("Kept: ");
        page.picture("checked");
        page.wait_for("document.activeElement && document.activeElement !== document.body");
        // Backwards it goes as well as forwards.
        tab(&page, "Shift+Tab", "#gap-top");
    });
}

/// Another address of the job that is open.
fn job_of(page: &Page<'_>, rest: &str) -> String {
    let job = page.eval("location.hash.split('/')[2]");
    format!("#/j/{}/{rest}", job.as_str().unwrap())
}
