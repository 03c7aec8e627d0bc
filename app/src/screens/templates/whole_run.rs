//! The whole run as a ZIP: how far it has come, and stopping it.

use crate::ports::clock;
use crate::state::{RunWanted, session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::FileKind;
use samespot_core::sheet::Paper;

/// Its key; while it is made, how many pieces are done, and a key that stops it.
#[component]
pub fn WholeRun(paper: Memo<Paper>) -> impl IntoView {
    let session = session();
    // How many pieces are made and how many there are.
    let far = RwSignal::new(None::<(usize, usize)>);
    let stopped = StoredValue::new(false);
    let begin = move |_| {
        let Some(book) = session.book.get_untracked() else {
            return;
        };
        if far.with_untracked(Option::is_some) {
            return;
        }
        let of = book.job.pieces.len();
        far.set(Some((0, of)));
        stopped.set_value(false);
        let wanted = RunWanted {
            kind: FileKind::Zip,
            paper: paper.get_untracked(),
            day: clock::day(),
        };
        let goes_on = move |made| {
            let _ = far.try_set(Some((made, of)));
            stopped.try_get_value() != Some(true)
        };
        spawn_local(async move {
            let job = book.id().clone();
            let made = crate::state::Session::run_file(book, wanted, goes_on).await;
            if let Some(made) = made.transpose() {
                session.save_made(job, made, Some("Left out of the file"));
            }
            let _ = far.try_set(None);
        });
    };
    let stop = move |_| stopped.set_value(true);
    let says = move || match far.get() {
        None => "Download the whole run (ZIP)".to_owned(),
        Some((made, of)) if made < of => format!("Making… {made} of {of} pieces"),
        Some(_) => "Packing…".to_owned(),
    };
    view! {
        <button type="button" class="key whole-run" on:click=begin>
            {says}
        </button>
        <Show when=move || far.with(Option::is_some)>
            <button type="button" class="key stop-run" on:click=stop>
                "Stop making the run"
            </button>
        </Show>
    }
}
