//! The whole module, which takes the page over from the small one (`public/boot.js`).

use std::cell::Cell;

thread_local! {
    static HANDED_OVER: Cell<bool> = const { Cell::new(false) };
}

/// Asks the page for it.
pub fn ask() {
    if let Some(w) = web_sys::window()
        && let Ok(event) = web_sys::Event::new("samespot-whole")
    {
        let _ = w.dispatch_event(&event);
    }
}

/// The page is another module's from now on: address, keys, drops and other tabs no longer concern
/// this one. What is still being written or computed comes to its end, and the other module hears of
/// it as it would from another tab.
pub fn hand_over() {
    HANDED_OVER.set(true);
}

/// It is.
#[must_use]
pub fn handed_over() -> bool {
    HANDED_OVER.get()
}
