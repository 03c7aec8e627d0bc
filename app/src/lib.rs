//! The app: the page that shows. What it asks is answered in a worker, by the crate `desk`.

#![allow(
    unreachable_pub,
    reason = "the component macro makes the properties of a part public"
)]

pub mod ports;
pub mod route;
pub mod say;
pub mod screens;
pub mod state;
pub mod widgets;

use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// Starts the user interface, with what another module handed over. The page's boot script calls it.
#[wasm_bindgen]
pub fn start(handed: JsValue) {
    use leptos::prelude::*;
    console_error_panic_hook::set_once();
    let handed = state::Handed::read(&handed);
    leptos::mount::mount_to_body(move || view! { <screens::App handed=handed /> });
}

/// Whether sums with known answers come out right in this browser; the boot script asks before anything
/// is shown.
#[wasm_bindgen]
#[must_use]
pub fn computes_right() -> bool {
    samespot_core::num::known::computes_right()
}

/// What the whole module needs to go on; nothing where it is not asked for any more.
#[cfg(not(feature = "whole"))]
#[wasm_bindgen]
#[must_use]
pub fn hand_over() -> JsValue {
    state::hand_over()
}

/// The whole module could not be loaded.
#[cfg(not(feature = "whole"))]
#[wasm_bindgen]
pub fn not_loaded(why: &str) {
    state::not_loaded(why);
}
