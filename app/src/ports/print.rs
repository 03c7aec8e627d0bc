//! Printing a PDF.

use std::cell::RefCell;
use wasm_bindgen::JsCast;

thread_local! {
    static FRAME: RefCell<Option<(web_sys::HtmlIFrameElement, String)>> = const { RefCell::new(None) };
}

/// Opens the browser's print dialog on a PDF, or the PDF itself where that can't be.
///
/// Gives back whether anything was opened.
pub fn print(pdf: &[u8]) -> bool {
    let Some(address) = super::files::address(pdf, "application/pdf") else {
        return false;
    };
    if super::files::on_ios() {
        return open(&address);
    }
    match frame(&address) {
        Some(frame) => {
            let old = FRAME.with_borrow_mut(|f| f.replace((frame, address)));
            if let Some((frame, address)) = old {
                frame.remove();
                super::files::release(&address);
            }
            true
        }
        None => open(&address),
    }
}

fn open(address: &str) -> bool {
    web_sys::window()
        .and_then(|w| w.open_with_url_and_target(address, "_blank").ok().flatten())
        .is_some()
}

fn frame(address: &str) -> Option<web_sys::HtmlIFrameElement> {
    let document = web_sys::window()?.document()?;
    let frame: web_sys::HtmlIFrameElement =
        document.create_element("iframe").ok()?.dyn_into().ok()?;
    // Out of sight, but not `display: none`: some browsers don't load what isn't shown.
    frame.set_class_name("printing");
    frame.set_attribute("aria-hidden", "true").ok()?;
    frame.set_attribute("tabindex", "-1").ok()?;
    frame.set_src(address);
    let (inside, to_open) = (frame.clone(), address.to_owned());
    super::listen(&frame, "load", move |_| {
        let printed = inside.content_window().is_some_and(|w| {
            let _ = w.focus();
            w.print().is_ok()
        });
        if !printed {
            open(&to_open);
        }
    });
    document.body()?.append_child(&frame).ok()?;
    Some(frame)
}
