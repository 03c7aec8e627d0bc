//! Other tabs with the same jobs: each is a replica and follows the others.

use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::cell::RefCell;
use wasm_bindgen::{JsCast, JsValue};

/// What one tab tells the others.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Heard {
    /// The job.
    pub job: String,
    /// Its new facts, as written.
    pub facts: Vec<Box<RawValue>>,
    /// Attachments changed too: look in the store.
    #[serde(default)]
    pub attachments: bool,
}

thread_local! {
    static CHANNEL: RefCell<Option<web_sys::BroadcastChannel>> = const { RefCell::new(None) };
}

/// Starts listening; without the means for it, tabs simply don't follow each other.
pub fn follow(mut callback: impl FnMut(Heard) + 'static) {
    let Ok(channel) = web_sys::BroadcastChannel::new("samespot") else {
        return;
    };
    super::listen_here(&channel, "message", move |e| {
        let Some(e) = e.dyn_ref::<web_sys::MessageEvent>() else {
            return;
        };
        let Some(text) = e.data().as_string() else {
            return;
        };
        if let Ok(heard) = serde_json::from_str::<Heard>(&text) {
            callback(heard);
        }
    });
    CHANNEL.with_borrow_mut(|c| *c = Some(channel));
}

/// Tells the other tabs.
pub fn tell(heard: &Heard) {
    let Ok(text) = serde_json::to_string(heard) else {
        return;
    };
    CHANNEL.with_borrow(|c| {
        if let Some(channel) = c {
            let _ = channel.post_message(&JsValue::from_str(&text));
        }
    });
}
