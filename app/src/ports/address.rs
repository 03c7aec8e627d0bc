//! The address of the screen.

use crate::route::Route;

/// Where the address says we are.
#[must_use]
pub fn here() -> Route {
    let hash = web_sys::window()
        .and_then(|w| w.location().hash().ok())
        .unwrap_or_default();
    Route::read(&hash)
}

/// Goes somewhere; the *back* button comes back from it.
pub fn go(route: &Route) {
    if let Some(w) = web_sys::window() {
        let _ = w.location().set_hash(&route.address());
    }
}

/// Says where we are in better words, without a step for the *back* button.
pub fn rename(route: &Route) {
    if let Some(w) = web_sys::window()
        && let Ok(history) = w.history()
    {
        let state = wasm_bindgen::JsValue::NULL;
        let _ = history.replace_state_with_url(&state, "", Some(&route.address()));
    }
}

/// Calls back with each new address.
pub fn follow(mut callback: impl FnMut(Route) + 'static) {
    if let Some(w) = web_sys::window() {
        super::listen_here(&w, "hashchange", move |_| callback(here()));
    }
}

/// Shows a screen from its top, however far down the one before was looked at.
pub fn from_the_top() {
    if let Some(w) = web_sys::window() {
        w.scroll_to_with_x_and_y(0.0, 0.0);
    }
}

/// What the page itself is opened from, without the screen.
#[must_use]
pub fn of_page() -> String {
    let href = web_sys::window().and_then(|w| w.location().href().ok());
    let href = href.unwrap_or_default();
    href.split('#').next().unwrap_or_default().to_owned()
}

/// The title of the window.
pub fn title(text: &str) {
    if let Some(d) = web_sys::window().and_then(|w| w.document()) {
        d.set_title(text);
    }
}
