//! A field for an angle.

use leptos::prelude::*;
use samespot_core::units::{Angle, AngleOptions, Sides, Typed, parse_angle};

/// An angle in degrees with words for its two sides.
#[component]
pub fn TypedAngle(
    /// Its name in the page.
    id: &'static str,
    /// What is turned.
    label: &'static str,
    /// What stands there already.
    stands: Option<Angle>,
    /// The words of its sides: less, more.
    sides: (&'static str, &'static str),
    /// Keeps it.
    keep: Callback<Angle>,
) -> impl IntoView {
    let shown = stands.filter(|t| t.rad() != 0.0);
    let text = RwSignal::new(shown.map_or_else(String::new, |t| {
        format!("{}", (t.deg() * 10.0).round() / 10.0)
    }));
    let options = move || AngleOptions {
        sides: Some(Sides {
            minus: sides.0.into(),
            plus: sides.1.into(),
        }),
        ..AngleOptions::default()
    };
    let why = move || match parse_angle(&text.get(), &options()) {
        Typed::Understood(_) | Typed::NotMeasured => String::new(),
        _ => "An angle in degrees, as 15 or -15".to_owned(),
    };
    let done = move |_| {
        let angle = match parse_angle(&text.get_untracked(), &options()) {
            Typed::Understood(angle) => angle.angle,
            Typed::NotMeasured => Angle::ZERO,
            _ => return,
        };
        let _ = keep.try_run(angle);
    };
    view! {
        <label class="job-field">
            <span>{label}</span>
            <input id=id inputmode="text" placeholder="0" autocomplete="off" prop:value=move || text.get()
                on:input=move |ev| text.set(event_target_value(&ev)) on:change=done />
        </label>
        <p class="job-why" role="status">{why}</p>
    }
}
