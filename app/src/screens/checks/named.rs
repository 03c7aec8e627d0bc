//! Who says so, and why: asked wherever somebody answers for something.

use leptos::prelude::*;

/// Asks for a name with a role and for a reason; says both once there are both, and empties its fields.
#[component]
pub(super) fn Named(
    /// Where its two fields are found in the page.
    id: String,
    /// What is asked first.
    by: &'static str,
    /// What is asked then.
    why: &'static str,
    /// What the key says while one is missing.
    missing: &'static str,
    /// What the key does.
    does: &'static str,
    /// Why it has to wait, while it has to.
    #[prop(optional, into)]
    waits: Option<Signal<Option<&'static str>>>,
    /// Keeps who and why; false where it could not.
    #[prop(into)]
    keep: Callback<(String, String), bool>,
) -> impl IntoView {
    let (who, reason) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let ready = move || !who.get().trim().is_empty() && !reason.get().trim().is_empty();
    let waiting = move || waits.and_then(|w| w.get());
    let press = move |_| {
        if !ready() || waiting().is_some() {
            return;
        }
        let said = (who.get_untracked(), reason.get_untracked());
        if keep.try_run(said) == Some(true) {
            let _ = who.try_set(String::new());
            let _ = reason.try_set(String::new());
        }
    };
    view! {
        <label class="job-field"><span>{by}</span>
            <input id=format!("{id}-by") type="text" autocomplete="off" prop:value=move || who.get() on:input=move |ev| who.set(event_target_value(&ev)) />
        </label>
        <label class="job-field"><span>{why}</span>
            <input id=format!("{id}-why") type="text" autocomplete="off" prop:value=move || reason.get() on:input=move |ev| reason.set(event_target_value(&ev)) />
        </label>
        <button type="button" class="key" on:click=press aria-disabled=move || if ready() && waiting().is_none() { "false" } else { "true" }>
            {move || match (ready(), waiting()) {
                (false, _) => missing,
                (true, Some(wait)) => wait,
                (true, None) => does,
            }}
        </button>
    }
}

/// Letting something stand although it is not within.
#[component]
pub(super) fn LetStand(
    /// Where its two fields are found in the page.
    id: String,
    /// Keeps who and why.
    #[prop(into)]
    stand: Callback<(String, String), bool>,
) -> impl IntoView {
    view! {
        <details class="job-more">
            <summary>"Let it stand all the same…"</summary>
            <Named
                id=id
                by="Who allows it (name and role)"
                why="Why"
                missing="A name and a reason, please"
                does="It may stand"
                keep=stand
            />
        </details>
    }
}
