//! Files in and out.

use serde::{Deserialize, Serialize};
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;

/// A file somebody chose or dropped, read at once: a handle to a cloud drive may be gone later.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chosen {
    /// What it is called.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Reads a file.
///
/// # Errors
/// A sentence when the browser could not read it.
pub async fn read(file: &web_sys::File) -> Result<Chosen, String> {
    let name = file.name();
    match JsFuture::from(file.array_buffer()).await {
        Ok(buffer) => match copied(&js_sys::Uint8Array::new(&buffer)) {
            Some(bytes) => Ok(Chosen { name, bytes }),
            None => Err(too_large(&name)),
        },
        // The memory for it was refused.
        Err(e) if e.is_instance_of::<js_sys::RangeError>() => Err(too_large(&name)),
        Err(e) => Err(format!(
            "‘{name}’ could not be read ({}). If it lives on a cloud drive, save it on this device first and open it from there",
            super::said(&e)
        )),
    }
}

/// Bytes in this module's memory; nothing where it gets no more of it. (Asked for otherwise, memory
/// that is refused ends the module.)
fn copied(there: &js_sys::Uint8Array) -> Option<Vec<u8>> {
    let length = usize::try_from(there.length()).ok()?;
    let mut bytes = Vec::new();
    bytes.try_reserve_exact(length).ok()?;
    bytes.resize(length, 0);
    there.copy_to(&mut bytes);
    Some(bytes)
}

fn too_large(name: &str) -> String {
    format!(
        "‘{name}’ is more than this device has memory for in one page. Nothing was changed. Close other tabs and apps and open it again; if it is a scan, save it with fewer triangles, if a picture, smaller"
    )
}

/// The first file of an input, and the input emptied so that the same file can be chosen again.
#[must_use]
pub fn chosen(event: &web_sys::Event) -> Option<web_sys::File> {
    let input: web_sys::HtmlInputElement = event.target()?.dyn_into().ok()?;
    let file = input.files()?.get(0);
    input.set_value("");
    file
}

/// The first file that was dropped.
#[must_use]
pub fn dropped(event: &web_sys::DragEvent) -> Option<web_sys::File> {
    event.data_transfer()?.files()?.get(0)
}

/// An address for bytes that only this page can open; dropped with [`release`].
#[must_use]
pub fn address(bytes: &[u8], media: &str) -> Option<String> {
    let blob = blob(bytes, media)?;
    web_sys::Url::create_object_url_with_blob(&blob).ok()
}

pub(super) fn blob(bytes: &[u8], media: &str) -> Option<web_sys::Blob> {
    let parts = js_sys::Array::of1(&js_sys::Uint8Array::from(bytes));
    let bag = web_sys::BlobPropertyBag::new();
    bag.set_type(media);
    web_sys::Blob::new_with_u8_array_sequence_and_options(&parts, &bag).ok()
}

/// Lets go of an address.
pub fn release(address: &str) {
    let _ = web_sys::Url::revoke_object_url(address);
}

/// Hands bytes to the browser to be saved. Whether they arrive is not known.
pub fn download(name: &str, media: &str, bytes: &[u8]) -> bool {
    let Some(address) = address(bytes, media) else {
        return false;
    };
    let clicked = web_sys::window()
        .and_then(|w| w.document())
        .and_then(|d| d.create_element("a").ok())
        .and_then(|a| a.dyn_into::<web_sys::HtmlAnchorElement>().ok())
        .map(|a| {
            a.set_href(&address);
            a.set_download(name);
            a.click();
        })
        .is_some();
    // The browser may still be reading: some read the blob a moment after the click.
    wasm_bindgen_futures::spawn_local(async move {
        super::clock::pause(60_000).await;
        release(&address);
    });
    clicked
}

/// The examples that came with the app.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Example {
    /// *Quay puffins*.
    Puffins,
    /// *Regatta otters*.
    Otters,
}

/// An example that came with the app; the page says under which name.
///
/// # Errors
/// A sentence when it isn't there.
pub async fn example(which: Example) -> Result<Vec<u8>, String> {
    let named = match which {
        Example::Puffins => "meta[name='samespot-example']",
        Example::Otters => "meta[name='samespot-example-otters']",
    };
    let lost = || {
        "The example is not on this device yet: load the page once with a network, then try again"
            .to_owned()
    };
    let window = web_sys::window().ok_or_else(lost)?;
    let path = window
        .document()
        .and_then(|d| d.query_selector(named).ok().flatten())
        .and_then(|m| m.get_attribute("content"))
        .ok_or_else(lost)?;
    let response = JsFuture::from(window.fetch_with_str(&path))
        .await
        .map_err(|_| lost())?;
    let response: web_sys::Response = response.dyn_into().map_err(|_| lost())?;
    if !response.ok() {
        return Err(lost());
    }
    let buffer = response.array_buffer().map_err(|_| lost())?;
    let buffer = JsFuture::from(buffer).await.map_err(|_| lost())?;
    Ok(js_sys::Uint8Array::new(&buffer).to_vec())
}

/// An iPad or iPhone: there, `accept` greys out files it has no name for, and hidden frames don't
/// print.
#[must_use]
pub fn on_ios() -> bool {
    let Some(navigator) = web_sys::window().map(|w| w.navigator()) else {
        return false;
    };
    let agent = navigator.user_agent().unwrap_or_default();
    agent.contains("iPhone")
        || agent.contains("iPad")
        || (agent.contains("Macintosh") && navigator.max_touch_points() > 1)
}

/// What a file field offers: these endings and kinds; everything on an iPad or iPhone. What a file is
/// is told by what is in it.
#[must_use]
pub fn accept(kinds: &'static str) -> Option<&'static str> {
    (!on_ios()).then_some(kinds)
}

/// A file somebody chose or dropped.
pub type Picked = web_sys::File;

/// Calls back with a file dropped anywhere on the page.
pub fn on_drop(mut callback: impl FnMut(Picked) + 'static) {
    use wasm_bindgen::JsCast;
    let Some(window) = web_sys::window() else {
        return;
    };
    super::listen(&window, "dragover", |e| e.prevent_default());
    super::listen_here(&window, "drop", move |e| {
        e.prevent_default();
        if let Some(file) = e.dyn_ref::<web_sys::DragEvent>().and_then(dropped) {
            callback(file);
        }
    });
}
