//! One mark out of a list, by its letter.

use leptos::prelude::*;
use samespot_core::job::MarkId;

/// A field that says which mark.
#[component]
pub(super) fn MarkSelect(
    /// Its name in the page.
    id: &'static str,
    label: &'static str,
    /// Marks with what each is called.
    #[prop(into)]
    marks: Signal<Vec<(MarkId, String)>>,
    #[prop(into)] is: Signal<Option<MarkId>>,
    #[prop(into)] set: Callback<MarkId>,
) -> impl IntoView {
    let change = move |ev: leptos::ev::Event| {
        if let Ok(mark) = MarkId::new(&event_target_value(&ev)) {
            set.run(mark);
        }
    };
    view! {
        <label class="job-field short">
            <span>{label}</span>
            <select id=id on:change=change>
                {move || marks.get().into_iter().map(|(mark, letter)| {
                    let chosen = is.with(|i| i.as_ref() == Some(&mark));
                    view! { <option value=mark.to_string() selected=chosen>{letter}</option> }
                }).collect_view()}
            </select>
        </label>
    }
}
