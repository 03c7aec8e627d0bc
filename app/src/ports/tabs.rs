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

/// Calls back when the browser shows this page again as it had laid it aside: what other tabs said
/// meanwhile was not heard.
pub fn follow_return(callback: impl Fn() + 'static) {
    let Some(window) = web_sys::window() else {
        return;
    };
    super::listen_here(&window, "pageshow", move |e| {
        let laid_aside = js_sys::Reflect::get(&e, &"persisted".into());
        if laid_aside.is_ok_and(|p| p.is_truthy()) {
            callback();
        }
    });
}

/// Has the browser ask before this window is closed or left, while `held` says that it alone holds
/// something.
pub fn ask_before_leaving(held: impl Fn() -> bool + 'static) {
    let Some(window) = web_sys::window() else {
        return;
    };
    super::listen_here(&window, "beforeunload", move |e| {
        if held() {
            e.prevent_default();
            // Safari and older browsers go by this alone.
            let _ = js_sys::Reflect::set(&e, &"returnValue".into(), &"kept nowhere else".into());
        }
    });
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
