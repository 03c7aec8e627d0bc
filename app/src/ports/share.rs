//! Handing a file to another app on this device.

use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;

/// What came of sharing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shared {
    /// It was handed over.
    Handed,
    /// Somebody changed their mind: not worth a word.
    Cancelled,
    /// The permission of the tap had run out: the file took longer to make. Another tap will do.
    TooLate,
    /// It did not work; why, as the browser has it.
    Failed(String),
}

fn data(name: &str, media: &str, bytes: &[u8]) -> Option<web_sys::ShareData> {
    let parts = js_sys::Array::of1(&js_sys::Uint8Array::from(bytes));
    let bag = web_sys::FilePropertyBag::new();
    bag.set_type(media);
    let file = web_sys::File::new_with_u8_array_sequence_and_options(&parts, name, &bag).ok()?;
    let data = web_sys::ShareData::new();
    data.set_files(&js_sys::Array::of1(&file));
    data.set_title(name);
    Some(data)
}

/// Whether this browser shares files at all.
#[must_use]
pub fn possible() -> bool {
    let Some(navigator) = web_sys::window().map(|w| w.navigator()) else {
        return false;
    };
    let has = js_sys::Reflect::has(&navigator, &"canShare".into()).unwrap_or(false);
    has && data("sheet.pdf", "application/pdf", b"%PDF")
        .is_some_and(|d| navigator.can_share_with_data(&d))
}

/// Shares a file that is ready: the permission of a tap lasts only seconds.
pub async fn share(name: &str, media: &str, bytes: &[u8]) -> Shared {
    let failed = |why: &str| Shared::Failed(why.to_owned());
    let Some(navigator) = web_sys::window().map(|w| w.navigator()) else {
        return failed("no window");
    };
    let Some(data) = data(name, media, bytes) else {
        return failed("the file could not be made");
    };
    match JsFuture::from(navigator.share_with_data(&data)).await {
        Ok(_) => Shared::Handed,
        Err(e) => {
            let name = e
                .dyn_ref::<web_sys::DomException>()
                .map(web_sys::DomException::name);
            match name.as_deref() {
                Some("AbortError") => Shared::Cancelled,
                Some("NotAllowedError") => Shared::TooLate,
                _ => failed(&super::said(&JsValue::clone(&e))),
            }
        }
    }
}
