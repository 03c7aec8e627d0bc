//! The core in the worker. Built twice: without the feature `rest` it answers what the screens at
//! the start ask and is small enough to wait for; with it, everything. `public/worker.js` starts
//! with the one and goes over to the other.

#[cfg(not(feature = "rest"))]
use samespot_core::answer::answer_first;
#[cfg(feature = "rest")]
use samespot_core::answer::answer_with as answered;
use samespot_core::answer::{Answer, Desk, Refusal, Request};
#[cfg(not(feature = "rest"))]
use samespot_core::answer::{EarlyAnswer, EarlyRequest};
use std::cell::RefCell;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

thread_local! {
    static DESK: RefCell<Desk> = RefCell::new(Desk::default());
}

#[cfg(feature = "rest")]
fn read(request: &str) -> Result<Request, serde_json::Error> {
    samespot_core::json::read(request)
}

#[cfg(not(feature = "rest"))]
fn read(request: &str) -> Result<Request, serde_json::Error> {
    samespot_core::json::read::<EarlyRequest>(request).map(Request::from)
}

#[cfg(feature = "rest")]
fn written(answer: Answer) -> String {
    serde_json::to_string(&answer).unwrap_or_default()
}

/// All that the first half answers is early.
#[cfg(not(feature = "rest"))]
fn written(answer: Answer) -> String {
    let early = EarlyAnswer::of(answer).and_then(|a| serde_json::to_string(&a).ok());
    early.unwrap_or_default()
}

/// A panic throws its words at who asked. What ends the module without any is memory that was refused:
/// `public/worker.js` tells the two apart by that.
#[wasm_bindgen(start)]
pub fn begin() {
    std::panic::set_hook(Box::new(|info| {
        wasm_bindgen::throw_str(&info.to_string());
    }));
}

/// The first half has facts of a job beside its questions and nothing else.
#[cfg(not(feature = "rest"))]
fn answered(desk: &mut Desk, request: Request, beside: &[u8]) -> Answer {
    answer_first(desk, request, beside)
}

/// Whether sums with known answers come out right in this browser; the worker asks before anything else.
#[wasm_bindgen]
#[must_use]
pub fn computes_right() -> bool {
    samespot_core::num::known::computes_right()
}

/// Answers one request in the worker, with what stands beside it: `{ json, bytes }`.
#[wasm_bindgen]
#[must_use]
pub fn answer(request: &str, beside: &[u8]) -> JsValue {
    let answer = match read(request) {
        Ok(request) => DESK.with_borrow_mut(|desk| answered(desk, request, beside)),
        Err(e) => Answer {
            number: 0,
            says: Err(Refusal::CannotDo {
                sentence: format!("The question was not understood: {e}"),
            }),
            bytes: Vec::new(),
        },
    };
    let reply = js_sys::Object::new();
    let bytes = js_sys::Uint8Array::from(answer.bytes.as_slice());
    let json = written(answer);
    let _ = js_sys::Reflect::set(&reply, &"json".into(), &json.into());
    let _ = js_sys::Reflect::set(&reply, &"bytes".into(), &bytes);
    reply.into()
}
