//! Whether the app would start without a network.

use wasm_bindgen::JsCast;

/// As far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Offline {
    /// Not known yet.
    #[default]
    Unknown,
    /// This browser or address can't.
    Unavailable,
    /// Files are being kept.
    Saving,
    /// Every file is here and was verified.
    Ready,
    /// Some file is missing or damaged.
    Incomplete,
}

fn root() -> Option<web_sys::Element> {
    web_sys::window()?.document()?.document_element()
}

fn now() -> (Offline, bool) {
    let Some(root) = root() else {
        return (Offline::Unknown, false);
    };
    let state = match root.get_attribute("data-offline").as_deref() {
        Some("unavailable") => Offline::Unavailable,
        Some("saving") => Offline::Saving,
        Some("ready") => Offline::Ready,
        Some("incomplete") => Offline::Incomplete,
        _ => Offline::Unknown,
    };
    (
        state,
        root.get_attribute("data-new-version")
            .is_some_and(|v| !v.is_empty()),
    )
}

/// Calls back with the state now and whenever it changes, and whether a new version waits.
pub fn follow(mut callback: impl FnMut(Offline, bool) + 'static) {
    let (state, newer) = now();
    callback(state, newer);
    if let Some(w) = web_sys::window() {
        super::listen_here(w.unchecked_ref(), "samespot-offline", move |_| {
            let (state, newer) = now();
            callback(state, newer);
        });
    }
}
