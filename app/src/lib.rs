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

use wasm_bindgen::prelude::wasm_bindgen;

/// Starts the user interface. The page's boot script calls it.
#[wasm_bindgen]
pub fn start() {
    console_error_panic_hook::set_once();
    leptos::mount::mount_to_body(screens::App);
}
