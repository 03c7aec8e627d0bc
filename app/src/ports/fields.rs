//! Moving the cursor between the fields of a page.

use wasm_bindgen::JsCast;

fn fields(selector: &str) -> Vec<web_sys::HtmlInputElement> {
    let Some(document) = web_sys::window().and_then(|w| w.document()) else {
        return Vec::new();
    };
    let Ok(found) = document.query_selector_all(selector) else {
        return Vec::new();
    };
    (0..found.length())
        .filter_map(|n| found.item(n)?.dyn_into().ok())
        .collect()
}

/// Puts the cursor into the first empty field after one; says whether there was any.
pub fn focus_next_empty(selector: &str, id: &str) -> bool {
    let next = fields(selector)
        .into_iter()
        .skip_while(|field| field.id() != id)
        .skip(1)
        .find(|field| field.value().is_empty());
    match next {
        Some(field) => field.focus().is_ok(),
        None => false,
    }
}

/// Puts the cursor into the first empty field, once the page has been drawn.
pub fn focus_first_empty(selector: &'static str) {
    let Some(window) = web_sys::window() else {
        return;
    };
    let focus = wasm_bindgen::closure::Closure::once_into_js(move || {
        if let Some(field) = fields(selector)
            .into_iter()
            .find(|field| field.value().is_empty())
        {
            let _ = field.focus();
        }
    });
    let _ = window.request_animation_frame(focus.unchecked_ref());
}

/// Puts the cursor on something: a field, or a key to be pressed by Enter.
pub fn focus(id: &str) {
    let found = web_sys::window()
        .and_then(|w| w.document())
        .and_then(|d| d.get_element_by_id(id))
        .and_then(|found| found.dyn_into::<web_sys::HtmlElement>().ok());
    if let Some(found) = found {
        let _ = found.focus();
    }
}

/// Brings something into view, once the page has been drawn.
pub fn show(selector: &'static str) {
    let Some(window) = web_sys::window() else {
        return;
    };
    let show = wasm_bindgen::closure::Closure::once_into_js(move || {
        let found = web_sys::window()
            .and_then(|w| w.document())
            .and_then(|d| d.query_selector(selector).ok().flatten());
        if let Some(found) = found {
            found.scroll_into_view();
        }
    });
    let _ = window.request_animation_frame(show.unchecked_ref());
}
