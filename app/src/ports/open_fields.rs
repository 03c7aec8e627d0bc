//! What stands in the fields of the page, whichever screen they are on.

use wasm_bindgen::{JsCast, JsValue};

/// A field somebody typed into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touched {
    /// Its name in the page.
    pub id: String,
    /// What it is called for people.
    pub label: String,
    /// What stands in it.
    pub text: String,
}

fn document() -> Option<web_sys::Document> {
    web_sys::window()?.document()
}

/// A text field with a name of its own whose screen does not look after what is being typed.
fn is_ours(field: &web_sys::Element) -> bool {
    let text = match field.tag_name().as_str() {
        "TEXTAREA" => true,
        "INPUT" => matches!(
            field.get_attribute("type").as_deref(),
            None | Some("text" | "search")
        ),
        _ => false,
    };
    text && !field.id().is_empty() && !field.has_attribute("data-own-draft")
}

fn value(field: &web_sys::Element) -> String {
    let value = js_sys::Reflect::get(field, &"value".into()).ok();
    value.and_then(|v| v.as_string()).unwrap_or_default()
}

fn label(field: &web_sys::Element) -> String {
    if let Some(said) = field.get_attribute("aria-label") {
        return said;
    }
    let of_id = document().and_then(|d| {
        d.query_selector(&format!("label[for='{}']", field.id()))
            .ok()
            .flatten()
    });
    let label = of_id.or_else(|| field.closest("label").ok().flatten());
    label.and_then(|l| l.text_content()).unwrap_or_default()
}

fn touched(field: &web_sys::Element) -> Touched {
    Touched {
        id: field.id(),
        label: label(field).trim().to_owned(),
        text: value(field),
    }
}

/// The field of that name as it stands now.
#[must_use]
pub fn now(id: &str) -> Option<Touched> {
    let field = document()?.get_element_by_id(id)?;
    is_ours(&field).then(|| touched(&field))
}

fn tell(field: &web_sys::Element, kind: &str) {
    let init = web_sys::EventInit::new();
    init.set_bubbles(true);
    if let Ok(event) = web_sys::Event::new_with_event_init_dict(kind, &init) {
        let _ = field.dispatch_event(&event);
    }
}

/// Puts a text into a field as if it were typed.
pub fn type_again(id: &str, text: &str) {
    let Some(field) = document().and_then(|d| d.get_element_by_id(id)) else {
        return;
    };
    let _ = js_sys::Reflect::set(&field, &"value".into(), &JsValue::from_str(text));
    tell(&field, "input");
}

/// Tells a field that was typed into by [`type_again`] that it is left: a browser says so only of what
/// it saw typed.
pub fn say_changed(id: &str) {
    if let Some(field) = document().and_then(|d| d.get_element_by_id(id)) {
        tell(&field, "change");
    }
}

/// Puts the cursor into a field.
pub fn focus(id: &str) {
    let field = document().and_then(|d| d.get_element_by_id(id));
    if let Some(field) = field.and_then(|f| f.dyn_into::<web_sys::HtmlElement>().ok()) {
        let _ = field.focus();
    }
}

/// What happens to fields.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Happened {
    /// The cursor came into one.
    Entered(Touched),
    /// Somebody typed into one.
    Typed(Touched),
    /// What was typed was taken in, as the browser has it.
    Changed(String),
    /// The cursor left one.
    Left(String),
    /// Something was tapped or a key was pressed that may have kept or emptied fields.
    Done,
}

/// Calls back with whatever happens to fields.
pub fn follow(callback: impl Fn(Happened) + Clone + 'static) {
    let Some(document) = document() else {
        return;
    };
    let on = |kind: &str, what: fn(web_sys::Element) -> Happened| {
        let callback = callback.clone();
        super::listen_here(&document, kind, move |event| {
            // What is put in by `type_again` comes by here too, and is known already.
            let field = event.target().and_then(|t| t.dyn_into().ok());
            if let Some(field) = field.filter(is_ours).filter(|_| event.is_trusted()) {
                callback(what(field));
            }
        });
    };
    on("focusin", |field| Happened::Entered(touched(&field)));
    on("input", |field| Happened::Typed(touched(&field)));
    on("change", |field| Happened::Changed(field.id()));
    on("focusout", |field| Happened::Left(field.id()));
    let taps = callback.clone();
    super::listen_here(&document, "click", move |_| taps(Happened::Done));
    super::listen_here(&document, "keydown", move |event| {
        let enter = event
            .dyn_ref::<web_sys::KeyboardEvent>()
            .is_some_and(|key| key.key() == "Enter");
        if enter {
            callback(Happened::Done);
        }
    });
}
