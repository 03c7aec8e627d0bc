//! The core in the worker. Built twice: without the feature `rest` it answers what the screens at
//! the start ask and is small enough to wait for; with it, everything. `public/worker.js` starts
//! with the one and goes over to the other.

#[cfg(feature = "rest")]
use samespot_core::answer::answer as answered;
#[cfg(not(feature = "rest"))]
use samespot_core::answer::answer_first as answered;
use samespot_core::answer::{Answer, Desk, Refusal, Request};
use std::cell::RefCell;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

thread_local! {
    static DESK: RefCell<Desk> = RefCell::new(Desk::default());
}

/// Answers one request in the worker: `{ json, bytes }`.
#[wasm_bindgen]
#[must_use]
pub fn answer(request: &str) -> JsValue {
    let answer = match serde_json::from_str::<Request>(request) {
        Ok(request) => DESK.with_borrow_mut(|desk| answered(desk, request)),
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
