//! Keys of the page as a whole.

use wasm_bindgen::JsCast;

/// What the undo keys ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Undo.
    Undo,
    /// Redo.
    Redo,
}

/// Calls back on the undo and redo keys. In a text field the field's own undo comes first.
pub fn on_undo_keys(mut callback: impl FnMut(Asked) + 'static) {
    let Some(window) = web_sys::window() else {
        return;
    };
    super::listen_here(&window, "keydown", move |e| {
        let Some(e) = e.dyn_ref::<web_sys::KeyboardEvent>() else {
            return;
        };
        if !(e.ctrl_key() || e.meta_key()) || e.alt_key() {
            return;
        }
        let typing = e
            .target()
            .and_then(|t| t.dyn_into::<web_sys::HtmlInputElement>().ok())
            .is_some_and(|input| input.type_() == "text");
        if typing {
            return;
        }
        match (e.key().to_ascii_lowercase().as_str(), e.shift_key()) {
            ("z", false) => callback(Asked::Undo),
            ("z", true) | ("y", false) => callback(Asked::Redo),
            _ => return,
        }
        e.prevent_default();
    });
}

/// Escape folds the innermost part that is open round the cursor, and puts the cursor on its line, from which
/// it was opened. What somebody else made of the key stands.
pub fn fold_by_escape() {
    let Some(window) = web_sys::window() else {
        return;
    };
    super::listen_here(&window, "keydown", |e| {
        let Some(e) = e.dyn_ref::<web_sys::KeyboardEvent>() else {
            return;
        };
        if e.key() != "Escape" || e.default_prevented() {
            return;
        }
        let Some(here) = e
            .target()
            .and_then(|t| t.dyn_into::<web_sys::Element>().ok())
        else {
            return;
        };
        let Ok(Some(open)) = here.closest("details[open]") else {
            return;
        };
        let line = open.query_selector("summary").ok().flatten();
        if let Some(line) = line.and_then(|l| l.dyn_into::<web_sys::HtmlElement>().ok()) {
            e.prevent_default();
            let _ = open.remove_attribute("open");
            let _ = line.focus();
        }
    });
}
