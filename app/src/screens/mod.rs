//! The screens.

pub mod absent;
pub mod quick;
pub mod start;
pub mod templates;

use crate::ports::address;
use crate::route::Route;
use crate::state::{Lookup, Session};
use crate::widgets::header::Header;
use crate::widgets::notices::Notices;
use crate::widgets::run_strip::RunStrip;
use leptos::prelude::*;

/// The page as a whole.
#[component]
pub fn App() -> impl IntoView {
    let session = Session::begin();
    provide_context(session);
    follow_keys(session);
    drop_files(session);
    Effect::new(move |_| {
        let job = session.book.with(|b| b.as_ref().map(|b| b.title()));
        let place = match session.route.get() {
            Route::Start | Route::Unknown(_) => None,
            Route::NewQuick => Some("Quick template".to_owned()),
            Route::Quick { .. } => job.map(|j| format!("{j}, cards")),
            Route::Templates { piece, .. } => job.map(|j| match piece {
                Some(p) => format!("{j}, piece {p}"),
                None => j,
            }),
        };
        address::title(&place.map_or_else(|| "Samespot".to_owned(), |p| format!("{p} · Samespot")));
    });
    let with_run =
        move || session.route.with(|r| r.job().is_some()) && session.book.with(Option::is_some);
    // Which screen it is, without what it shows: moving from piece to piece keeps the screen.
    let screen = Memo::new(move |_| {
        let route = session.route.get();
        match (
            &route,
            session.lookup.get(),
            session.book.with(Option::is_some),
        ) {
            (Route::Start, ..) => Screen::Start,
            (Route::Unknown(_), ..) => Screen::Unknown,
            (Route::NewQuick, ..) => Screen::Quick,
            (_, Lookup::Missing(job), _) if route.job() == Some(&job) => Screen::Missing,
            (_, Lookup::Fetching(_), _) | (_, _, false) => Screen::Fetching,
            (Route::Quick { .. }, ..) => Screen::Quick,
            (Route::Templates { .. }, ..) => Screen::Templates,
        }
    });
    view! {
        <Header />
        <Notices />
        <main id="work" tabindex="-1">
            {move || match screen.get() {
                Screen::Start => view! { <start::Start /> }.into_any(),
                Screen::Quick => view! { <quick::Quick /> }.into_any(),
                Screen::Templates => view! { <templates::Templates /> }.into_any(),
                Screen::Missing => view! { <absent::Missing /> }.into_any(),
                Screen::Unknown => view! { <absent::Unknown /> }.into_any(),
                Screen::Fetching => {
                    view! { <p class="waiting" role="status">"Fetching the job…"</p> }.into_any()
                }
            }}
        </main>
        <Show when=with_run>
            <RunStrip />
        </Show>
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Screen {
    Start,
    Quick,
    Templates,
    Missing,
    Unknown,
    Fetching,
}

/// Undo and redo by keyboard. In a text field the field's own undo comes first.
fn follow_keys(session: Session) {
    let Some(window) = web_sys::window() else {
        return;
    };
    crate::ports::listen(&window, "keydown", move |e| {
        use wasm_bindgen::JsCast;
        let Some(e) = e.dyn_ref::<web_sys::KeyboardEvent>() else {
            return;
        };
        if !(e.ctrl_key() || e.meta_key()) || e.alt_key() {
            return;
        }
        let typing = e
            .target()
            .and_then(|t| t.dyn_into::<web_sys::HtmlInputElement>().ok())
            .is_some_and(|input| input.type_() == "text");
        if typing {
            return;
        }
        match (e.key().to_ascii_lowercase().as_str(), e.shift_key()) {
            ("z", false) => session.undo(),
            ("z", true) | ("y", false) => session.redo(),
            _ => return,
        }
        e.prevent_default();
    });
}

/// A job file may be dropped anywhere.
fn drop_files(session: Session) {
    use wasm_bindgen::JsCast;
    let Some(window) = web_sys::window() else {
        return;
    };
    crate::ports::listen(&window, "dragover", |e| e.prevent_default());
    crate::ports::listen(&window, "drop", move |e| {
        e.prevent_default();
        let file = e
            .dyn_ref::<web_sys::DragEvent>()
            .and_then(crate::ports::files::dropped);
        if let Some(file) = file {
            session.open_file(file);
        }
    });
}
