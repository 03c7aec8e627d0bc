//! Sheets that belong to no template: two keys that print or save them.

use crate::ports::worker::{self, Line};
use crate::ports::{files, print};
use crate::state::{Session, session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::sheet::Paper;

/// Fetches the sheets and prints or saves them.
fn fetch(session: Session, ask: Ask, to_print: bool, busy: RwSignal<bool>) {
    busy.set(true);
    let what = worker::TooLarge::asked_by(&ask);
    let asked = worker::put(Line::Sheets, ask);
    spawn_local(async move {
        match worker::sentence(asked.await, what) {
            Ok((Reply::File { name, media, .. }, bytes)) => {
                if !to_print {
                    files::download(&name, &media, &bytes);
                } else if !print::print(&bytes) {
                    session.notice(
                        "The browser opened no window to print from: download the sheets and print them at 100 %",
                        true,
                    );
                }
            }
            Ok(_) => {}
            Err(why) => session.notice(why, true),
        }
        let _ = busy.try_set(false);
    });
}

/// *Print on A4* and *Download*.
#[component]
pub fn LooseSheet(
    /// What they are called in the page.
    #[prop(into)]
    id: String,
    /// What is asked for.
    #[prop(into)]
    ask: Signal<Ask>,
    /// The paper it is asked for on.
    #[prop(into)]
    paper: Signal<Paper>,
) -> impl IntoView {
    let session = session();
    let busy = RwSignal::new(false);
    view! {
        <div class="keys">
            <button type="button" class="key" id=format!("{id}-print")
                on:click=move |_| fetch(session, ask.get_untracked(), true, busy)>
                {move || if busy.get() { "Making the sheets…".to_owned() } else { format!("Print on {}", paper.get().name()) }}
            </button>
            <button type="button" class="key" id=format!("{id}-download")
                on:click=move |_| fetch(session, ask.get_untracked(), false, busy)>
                "Download"
            </button>
        </div>
    }
}
