//! The face's drawing at full size on paper, with a grid.

use super::folded::Folded;
use super::hand::Hand;
use crate::ports::{clock, files};
use crate::state::{Book, Session};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::Entry;
use std::sync::Arc;

/// Saves what is printed over several sheets; gives back what is to be said of it: how many there are,
/// and `of_several`, or why there are none.
pub(super) async fn save_sheets(book: Arc<Book>, ask: Ask, of_several: &str) -> Option<String> {
    match Session::ask(book, ask).await {
        Ok((
            Reply::File {
                name, media, pages, ..
            },
            bytes,
        )) => {
            files::download(&name, &media, &bytes);
            Some(match pages {
                1 => "One sheet".to_owned(),
                n => format!("{n} sheets, joined by their crosses{of_several}"),
            })
        }
        Ok(_) => None,
        Err(why) => Some(crate::say::job::capital(&why)),
    }
}

#[component]
pub(super) fn FullSize(hand: Hand) -> impl IntoView {
    let every = Typing::of_length(Some(&Entry::of_mm(50.0)));
    let busy = RwSignal::new(false);
    let says = RwSignal::new(None::<String>);
    let download = move |_| {
        let (Some(face), Some(book), Some(every)) = (
            hand.face.get_untracked(),
            hand.session.book.get_untracked(),
            every.entry_now(),
        ) else {
            return;
        };
        busy.set(true);
        spawn_local(async move {
            let ask = Ask::GridSheet {
                job: book.id().clone(),
                face,
                every: every.mm,
                paper: book.job.about.paper.unwrap_or_default(),
                day: clock::day(),
            };
            let said = save_sheets(book, ask, "; each has a map of all").await;
            let _ = says.try_set(said);
            let _ = busy.try_set(false);
        });
    };
    view! {
        <Folded id="setout-full-size" name="Full size, with a grid" class="sheet setout-readings">
            <p class="second">"Everything on this face and its marks, true size, on as many sheets as it takes: to pounce through, or to read off square by square"</p>
            <div class="fields">
                <TypedLength id="grid-every" label="A grid line every" typing=every />
            </div>
            <button type="button" id="grid-sheet" class="key" on:click=download>
                {move || if busy.get() { "Making the sheets…" } else { "Download the drawing, full size" }}
            </button>
            {move || says.get().map(|s| view! { <p role="status">{s}</p> })}
        </Folded>
    }
}
