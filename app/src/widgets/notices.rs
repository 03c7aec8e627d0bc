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
                    {(!notice.prints.is_empty())
                        .then(|| {
                            let (prints, number) = (notice.prints.clone(), notice.number);
                            let take_back = move |_| {
                                session.take_back(&prints);
                                session.dismiss(number);
                            };
                            view! {
                                <button type="button" class="key not-printed" on:click=take_back>
                                    "Nothing was printed: take it back"
                                </button>
                            }
                        })}
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
