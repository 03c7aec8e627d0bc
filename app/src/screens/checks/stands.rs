//! Letting something stand although it is not within: who allows it, and why.

use leptos::prelude::*;

/// Asks for a name with a role and for a reason; says both once there are both.
#[component]
pub(super) fn LetStand(
    /// Where its two fields are found in the page.
    id: String,
    /// Keeps who and why.
    #[prop(into)]
    stand: Callback<(String, String)>,
) -> impl IntoView {
    let (by, why) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let ready = move || !by.get().trim().is_empty() && !why.get().trim().is_empty();
    let keep = move |_| {
        let said = (by.get_untracked(), why.get_untracked());
        if !said.0.trim().is_empty() && !said.1.trim().is_empty() {
            let _ = stand.try_run(said);
        }
    };
    view! {
        <details class="job-more">
            <summary>"Let it stand all the same…"</summary>
            <label class="job-field"><span>"Who allows it (name and role)"</span>
                <input id=format!("{id}-by") type="text" autocomplete="off" prop:value=move || by.get() on:input=move |ev| by.set(event_target_value(&ev)) />
            </label>
            <label class="job-field"><span>"Why"</span>
                <input id=format!("{id}-why") type="text" autocomplete="off" prop:value=move || why.get() on:input=move |ev| why.set(event_target_value(&ev)) />
            </label>
            <button type="button" class="key" on:click=keep aria-disabled=move || if ready() { "false" } else { "true" }>
                {move || if ready() { "It may stand" } else { "A name and a reason, please" }}
            </button>
        </details>
    }
}
