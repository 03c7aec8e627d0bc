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

/// How wide the element that listens is on the screen, and how near a finger, pen or mouse comes
/// to what it means (95 %; common practice, no source): both in the screen's points.
#[must_use]
pub fn fineness(ev: &PointerEvent) -> Option<(f64, f64)> {
    let drawing: web_sys::Element = ev.current_target()?.dyn_into().ok()?;
    let wide = drawing.get_bounding_client_rect().width();
    let near = if ev.pointer_type() == "touch" {
        8.0
    } else {
        3.0
    };
    (wide > 0.0).then_some((wide, near))
}

/// How high a picture that was just loaded is for its width.
#[must_use]
pub fn proportion(ev: &web_sys::Event) -> Option<f64> {
    let picture = ev.target()?;
    let size = |name: &str| js_sys::Reflect::get(&picture, &name.into()).ok()?.as_f64();
    let (wide, high) = (size("naturalWidth")?, size("naturalHeight")?);
    (wide > 0.0 && high > 0.0).then_some(high / wide)
}
