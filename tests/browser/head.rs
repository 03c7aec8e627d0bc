//! The head of every screen stays in order, and screens go on where one was.

use crate::browser::Screen;
use crate::design;
use crate::walk::walk;

/// What is drawn of the head: whether every task can be pressed where it stands, and the page is no wider
/// than the screen.
const IN_ORDER: &str = "(() => {
    const wide = document.documentElement.scrollWidth - innerWidth;
    const hidden = [...document.querySelectorAll('.tasks a')].filter((one) => {
        const box = one.getBoundingClientRect();
        const at = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        return !at || !one.contains(at);
    });
    return wide > 0 ? 'wider by ' + wide : hidden.map((one) => one.innerText).join();
})()";

#[test]
fn a_long_name_and_a_narrow_window_leave_every_task_in_reach() {
    walk("head", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let job = design::example(&page);
        page.go(&format!("#/j/{job}/job"));
        page.wait_for("document.querySelector('#job-title')");
        page.fill(
            "#job-title",
            "Harbour seals of the very long and windy northern breakwater, second batch, repainted after the storm",
        );
        page.key("Enter");
        page.wait_for("document.querySelector('.head .about').innerText.includes('windy')");
        for width in [700, 720, 760, 820, 1024, 1440] {
            page.set_screen(Screen {
                width,
                ..Screen::TABLET
            });
            page.go(&format!("#/j/{job}/p/p7/templates/eye-left"));
            page.wait_for("document.querySelector('.pages img')");
            page.eval("scrollTo(0, 0)");
            let said = page.eval(IN_ORDER);
            assert_eq!(said.as_str(), Some(""), "{width} px wide: {said}");
        }
    });
}

#[test]
fn screens_open_at_their_top_with_the_piece_in_hand() {
    walk("in_hand", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let job = design::example(&page);
        page.go(&format!("#/j/{job}/p/p7/templates/eye-left"));
        page.wait_for("document.querySelector('.pages img')");
        // A feature tapped moves nothing but what is shown.
        page.eval("scrollTo(0, 0)");
        page.tap("nav.features a[href$='/eye-right']");
        page.wait_for("document.querySelector('.pages img')");
        std::thread::sleep(std::time::Duration::from_millis(700));
        assert_eq!(page.eval("scrollY").as_f64(), Some(0.0));
        // A screen that is about no piece leads back to the one in hand.
        page.eval("scrollTo(0, 400)");
        page.tap_text("History");
        page.wait_for("location.hash.endsWith('/history')");
        page.wait_for("scrollY === 0");
        page.tap_text("Templates");
        page.wait_for("location.hash.includes('/p/p7/')");
    });
}
