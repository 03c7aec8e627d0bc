//! In the place of a screen that the whole module has: it is asked for, and takes over when it is here.

use crate::ports::whole;
use crate::state::session;
use leptos::prelude::*;

/// What is shown until then.
#[component]
pub fn Later() -> impl IntoView {
    let session = session();
    let lacking = session.whole_lacking;
    // Again for each address: a first try may have failed.
    Effect::new(move |_| {
        session.route.track();
        lacking.set(false);
        whole::ask();
    });
    view! {
        <Show
            when=move || lacking.get()
            fallback=|| view! { <p class="waiting" role="status">"Fetching the rest of Samespot…"</p> }
        >
            <section class="absent sheet">
                <h1>"This part of Samespot did not load"</h1>
                <p>
                    "It is fetched once, and then kept on this device for use without a network. Nothing that was entered is lost"
                </p>
                <div class="actions">
                    <button
                        type="button"
                        class="key main"
                        on:click=move |_| {
                            lacking.set(false);
                            whole::ask();
                        }
                    >
                        "Try again"
                    </button>
                    <a class="key" href="#/" on:click=move |_| session.leaving.set(false)>
                        "To the start page"
                    </a>
                </div>
            </section>
        </Show>
    }
}
