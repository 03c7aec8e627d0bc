//! The browser: the only place, with the widgets, that touches it.

pub mod address;
pub mod clock;
pub mod fields;
pub mod files;
pub mod ids;
pub mod keys;
pub mod offline;
#[cfg(feature = "whole")]
pub mod open_fields;
pub mod pointer;
pub mod print;
#[cfg(feature = "whole")]
pub mod processors;
pub mod settings;
pub mod share;
pub mod store;
pub mod tabs;
pub mod whole;
pub mod worker;

use wasm_bindgen::{JsCast, JsValue};

/// What the browser said when it refused, for the log and for the end of a sentence.
pub(crate) fn said(error: &JsValue) -> String {
    if let Some(e) = error.dyn_ref::<web_sys::DomException>() {
        return format!("{}: {}", e.name(), e.message());
    }
    if let Some(e) = error.dyn_ref::<js_sys::Error>() {
        return String::from(e.message());
    }
    error
        .as_string()
        .unwrap_or_else(|| "no reason given".into())
}

/// Leaves a word for whoever looks into the browser's log.
pub(crate) fn warn(why: &str) {
    web_sys::console::warn_1(&why.into());
}

/// Runs a callback until this module has handed the page over to another.
pub(crate) fn listen_here(
    target: &web_sys::EventTarget,
    event: &str,
    mut callback: impl FnMut(web_sys::Event) + 'static,
) {
    listen(target, event, move |event| {
        if !whole::handed_over() {
            callback(event);
        }
    });
}

/// Runs a callback for as long as the page lives.
///
/// The few listeners of the page as a whole (address, keys, other tabs) are never taken off, so
/// their closures are given to the browser for good.
pub(crate) fn listen(
    target: &web_sys::EventTarget,
    event: &str,
    callback: impl FnMut(web_sys::Event) + 'static,
) {
    let closure = wasm_bindgen::closure::Closure::<dyn FnMut(web_sys::Event)>::new(callback);
    if target
        .add_event_listener_with_callback(event, closure.as_ref().unchecked_ref())
        .is_ok()
    {
        closure.forget();
    }
}
