//! A line of text with its name above it, said when it is left.

use leptos::prelude::*;

/// The field.
#[component]
pub fn Field(
    /// Its name in the page.
    id: &'static str,
    /// What it holds.
    #[prop(into)]
    label: Signal<String>,
    /// What stands in it.
    #[prop(into)]
    value: Signal<String>,
    /// Keeps what was typed.
    #[prop(into)]
    keep: Callback<String>,
    /// What may stand there, shown while nothing does.
    #[prop(optional)]
    hint: &'static str,
) -> impl IntoView {
    view! {
        <label class="job-field">
            <span>{move || label.get()}</span>
            <input
                id=id
                type="text"
                autocomplete="off"
                placeholder=hint
                prop:value=move || value.get()
                on:change=move |ev| { let _ = keep.try_run(event_target_value(&ev).trim().to_owned()); }
            />
        </label>
    }
}
