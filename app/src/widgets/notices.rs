//! Sentences that stay until they are put away.

use crate::state::session;
use leptos::prelude::*;

/// The sentences.
#[component]
pub fn Notices() -> impl IntoView {
    let session = session();
    view! {
        <div class="notices" role="status" aria-live="polite">
            <For each=move || session.notices.get() key=|n| n.number let(notice)>
                <div class="notice" class:warns=notice.warns>
                    <p>{notice.text.clone()}</p>
                    <button
                        type="button"
                        class="key"
                        on:click=move |_| session.dismiss(notice.number)
                    >
                        "Put away"
                    </button>
                </div>
            </For>
        </div>
    }
}
