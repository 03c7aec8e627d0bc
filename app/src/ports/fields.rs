//! Moving the cursor between the fields of a page.

use wasm_bindgen::JsCast;

fn document() -> Option<web_sys::Document> {
    web_sys::window()?.document()
}

fn fields(selector: &str) -> Vec<web_sys::HtmlInputElement> {
    let Some(Ok(found)) = document().map(|d| d.query_selector_all(selector)) else {
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
    drawn(move || {
        let empty = |field: &web_sys::HtmlInputElement| field.value().is_empty();
        if let Some(field) = fields(selector).into_iter().find(empty) {
            let _ = field.focus();
        }
    });
}

/// The same where a screen is opened: it stays at its top, however low the field lies.
pub fn focus_first_empty_at_top(selector: &'static str) {
    focus_first_empty(selector);
    drawn(|| {
        if let Some(window) = web_sys::window() {
            window.scroll_to_with_x_and_y(0.0, 0.0);
        }
    });
}

/// Puts the cursor into the one of these fields that is there, all of it taken, so that typing takes its place;
/// once the page has been drawn.
pub fn focus_whole(selector: &'static str) {
    drawn(move || {
        if let Some(field) = fields(selector).into_iter().next() {
            let _ = field.focus();
            field.select();
        }
    });
}

/// Puts the cursor on something by its name in the page, once the page has been drawn.
pub fn focus(id: String) {
    drawn(move || go_on_to(&id));
}

/// The cursor goes out of everything that listens, not to another field or key of it.
#[must_use]
pub fn leaves(ev: &web_sys::FocusEvent) -> bool {
    let node = |t: Option<web_sys::EventTarget>| t.and_then(|t| t.dyn_into::<web_sys::Node>().ok());
    let (here, to) = (node(ev.current_target()), node(ev.related_target()));
    !here.is_some_and(|here| to.is_some_and(|to| here.contains(Some(&to))))
}

/// Puts the cursor on the first thing of the page that answers to a selector, once the page has been drawn.
pub fn focus_at(selector: &'static str) {
    drawn(move || {
        let found = document().and_then(|d| d.query_selector(selector).ok().flatten());
        if let Some(found) = found.and_then(|f| f.dyn_into::<web_sys::HtmlElement>().ok()) {
            let _ = found.focus();
        }
    });
}

/// How far below the upper edge of the window something stands.
#[must_use]
pub fn top_of(selector: &str) -> Option<f64> {
    let found = document()?.query_selector(selector).ok().flatten()?;
    Some(found.get_bounding_client_rect().top())
}

/// Brings something back to where it stood in the window, once the page has been drawn: what came or
/// went above it has moved it.
pub fn stay_at(selector: &'static str, top: f64) {
    drawn(move || {
        if let (Some(now), Some(window)) = (top_of(selector), web_sys::window()) {
            window.scroll_by_with_x_and_y(0.0, now - top);
        }
    });
}

/// A key was pressed in a field, not on a key of the screen.
#[must_use]
pub fn typing(ev: &web_sys::KeyboardEvent) -> bool {
    ev.target()
        .is_some_and(|t| t.has_type::<web_sys::HtmlInputElement>())
}

/// Does this once the page has been drawn.
fn drawn(what: impl FnOnce() + 'static) {
    if let Some(window) = web_sys::window() {
        let what = wasm_bindgen::closure::Closure::once_into_js(what);
        let _ = window.request_animation_frame(what.unchecked_ref());
    }
}

/// Moves the page as little as brings all of something into view, once the page has been drawn.
pub fn in_sight(selector: &'static str) {
    drawn(move || {
        if let Some(found) = document().and_then(|d| d.query_selector(selector).ok().flatten()) {
            let options = web_sys::ScrollIntoViewOptions::new();
            options.set_block(web_sys::ScrollLogicalPosition::Nearest);
            found.scroll_into_view_with_scroll_into_view_options(&options);
        }
    });
}

/// Puts the cursor at once on something that is drawn: a field, or a key to be pressed by Enter.
pub fn go_on_to(id: &str) {
    let found = document()
        .and_then(|d| d.get_element_by_id(id))
        .and_then(|found| found.dyn_into::<web_sys::HtmlElement>().ok());
    if let Some(found) = found {
        let _ = found.focus();
    }
}

/// Brings something into view, once the page has been drawn.
pub fn show(selector: &'static str) {
    drawn(move || {
        if let Some(found) = document().and_then(|d| d.query_selector(selector).ok().flatten()) {
            found.scroll_into_view();
        }
    });
}
