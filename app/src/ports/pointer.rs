//! Where a finger or a mouse is on a drawing.

use leptos::ev::PointerEvent;
use wasm_bindgen::JsCast;

/// The pointer's place on the element that listens, which is `wide` by `tall` of its own units.
#[must_use]
pub fn place(ev: &PointerEvent, wide: f64, tall: f64) -> Option<[f64; 2]> {
    let drawing: web_sys::Element = ev.current_target()?.dyn_into().ok()?;
    let r = drawing.get_bounding_client_rect();
    (r.width() > 0.0 && r.height() > 0.0).then(|| {
        [
            (f64::from(ev.client_x()) - r.left()) / r.width() * wide,
            (f64::from(ev.client_y()) - r.top()) / r.height() * tall,
        ]
    })
}
