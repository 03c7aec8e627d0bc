//! What a gloved finger has to hit is large enough on a tablet.

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

/// What can be pressed and is smaller than 44 px one way or the other (W3C WCAG 2.2, 2.5.5). What lies
/// inside a label is as large as its label; a link inside a sentence counts by its line.
const TOO_SMALL: &str = "(() => {
    const found = [];
    for (const one of document.querySelectorAll('button, a[href], summary, select, input, textarea, [role=button]')) {
        if (!one.checkVisibility({ visibilityProperty: true, opacityProperty: true })) continue;
        const label = one.closest('label');
        const box = (label && one.matches('input[type=file], input[type=radio], input[type=checkbox]') ? label : one)
            .getBoundingClientRect();
        if (box.width === 0 || box.height === 0) continue;
        const inSentence = one.matches('p a, p button');
        if (inSentence || (box.width >= 43.5 && box.height >= 43.5)) continue;
        const words = (one.ariaLabel || one.innerText || one.id || one.outerHTML).slice(0, 40).replace(/\\s+/g, ' ');
        found.push(`${one.tagName} ${one.className || one.id} \u{2018}${words}\u{2019} ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`);
    }
    return [...new Set(found)];
})()";

#[test]
fn what_can_be_pressed_is_large_enough_for_a_glove() {
    walk("reach", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let job = design::example(&page);
        let screens = [
            ("#/".to_owned(), "a.way.quick"),
            ("#/quick".to_owned(), "[data-value=oval]"),
            (format!("#/j/{job}/p/p7/templates/eye-left"), ".pages img"),
            (format!("#/j/{job}/p/p8/measure"), "main h1, main h2"),
            (
                format!("#/j/{job}/setout/head-left"),
                ".setout-picture text.mark",
            ),
            (format!("#/j/{job}/job"), "#job-title"),
            (format!("#/j/{job}/p/p3/checks/eye-left"), "#gap-top"),
            (format!("#/j/{job}/changes"), "main h1, main h2"),
            (format!("#/j/{job}/history"), "main h1, main h2"),
            (format!("#/j/{job}/printer"), "main h1, main h2"),
            (format!("#/j/{job}/p/p7/seat"), "main h1, main h2"),
            (format!("#/j/{job}/p/p7/holes"), "main h1, main h2"),
        ];
        let mut small = Vec::new();
        for screen in [Screen::TABLET, Screen::TABLET_UPRIGHT] {
            page.set_screen(screen);
            for (address, ready) in &screens {
                page.eval(&format!("location.hash = '{address}'"));
                page.wait_for(&format!("document.querySelector('{ready}')"));
                std::thread::sleep(std::time::Duration::from_millis(700));
                for one in page.eval(TOO_SMALL).as_array().unwrap() {
                    small.push(format!(
                        "{} {address}: {}",
                        screen.width,
                        one.as_str().unwrap()
                    ));
                }
            }
        }
        assert!(small.is_empty(), "{small:#?}");
    });
}
