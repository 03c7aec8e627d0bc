//! The app: a page that shows, and a worker that answers, from one WebAssembly file.

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

use samespot_core::answer::{Answer, Desk, Refusal, Request};
use std::cell::RefCell;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// Starts the user interface. The page's boot script calls it; the worker never does.
#[wasm_bindgen]
pub fn start() {
    console_error_panic_hook::set_once();
    leptos::mount::mount_to_body(screens::App);
}

thread_local! {
    static DESK: RefCell<Desk> = RefCell::new(Desk::default());
}

/// Answers one request in the worker: `{ json, bytes }`.
#[wasm_bindgen]
#[must_use]
pub fn answer(request: &str) -> JsValue {
    let answer = match serde_json::from_str::<Request>(request) {
        Ok(request) => DESK.with_borrow_mut(|desk| samespot_core::answer::answer(desk, request)),
        Err(e) => Answer {
            number: 0,
            says: Err(Refusal::CannotDo {
                sentence: format!("The question was not understood: {e}"),
            }),
            bytes: Vec::new(),
        },
    };
    let reply = js_sys::Object::new();
    let json = serde_json::to_string(&answer).unwrap_or_default();
    let bytes = js_sys::Uint8Array::from(answer.bytes.as_slice());
    let _ = js_sys::Reflect::set(&reply, &"json".into(), &json.into());
    let _ = js_sys::Reflect::set(&reply, &"bytes".into(), &bytes);
    reply.into()
}
