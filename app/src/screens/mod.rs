//! The screens.

pub mod absent;
mod artwork;
#[cfg(not(feature = "whole"))]
mod later;
mod marked_picture;
pub mod press;
pub mod quick;
pub mod start;

#[cfg(feature = "whole")]
pub mod changes;
#[cfg(feature = "whole")]
pub mod checks;
#[cfg(feature = "whole")]
pub mod history;
#[cfg(feature = "whole")]
pub mod holes;
#[cfg(feature = "whole")]
pub mod job;
#[cfg(feature = "whole")]
pub mod measure;
#[cfg(feature = "whole")]
mod paper;
#[cfg(feature = "whole")]
pub mod printer;
#[cfg(feature = "whole")]
pub mod seat;
#[cfg(feature = "whole")]
pub mod setout;
#[cfg(feature = "whole")]
pub mod templates;

use crate::ports::address;
use crate::ports::files;
use crate::ports::keys::{Asked, fold_by_escape, on_undo_keys};
use crate::route::Route;
use crate::state::{Handed, Lookup, Session};
use crate::widgets::header::Header;
use crate::widgets::notices::Notices;
use crate::widgets::run_strip::RunStrip;
use leptos::prelude::*;

/// The page as a whole, beginning with what another module handed over.
#[component]
pub fn App(handed: Option<Handed>) -> impl IntoView {
    let session = Session::begin(handed);
    provide_context(session);
    follow_keys(session);
    drop_files(session);
    Effect::new(move |_| {
        let job = session.book.with(|b| b.as_ref().map(|b| b.title()));
        let place = match session.route.get() {
            Route::Start | Route::Unknown(_) => None,
            Route::NewQuick => Some("Quick template".to_owned()),
            Route::Quick { .. } => job.map(|j| format!("{j}, cards")),
            Route::Measure { .. } => job.map(|j| format!("{j}, measuring")),
            Route::Job { .. } => job.map(|j| format!("{j}, the job")),
            Route::Checks { .. } => job.map(|j| format!("{j}, checks")),
            Route::Changes { .. } => job.map(|j| format!("{j}, changes")),
            Route::Holes { .. } => job.map(|j| format!("{j}, holes")),
            Route::History { .. } => job.map(|j| format!("{j}, history")),
            Route::Printer { .. } => job.map(|j| format!("{j}, printer check")),
            Route::Seat { .. } => job.map(|j| format!("{j}, the seat")),
            Route::SetOut { .. } => job.map(|j| format!("{j}, setting out")),
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
        if session.is_elsewhere() {
            return Screen::Later;
        }
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
            (Route::Measure { .. }, ..) => Screen::Measure,
            (Route::Job { .. }, ..) => Screen::Job,
            (Route::Changes { .. }, ..) => Screen::Changes,
            (Route::Holes { .. }, ..) => Screen::Holes,
            (Route::History { .. }, ..) => Screen::History,
            (Route::Printer { .. }, ..) => Screen::Printer,
            (Route::Seat { .. }, ..) => Screen::Seat,
            (Route::SetOut { .. }, ..) => Screen::SetOut,
            (Route::Checks { .. }, ..) => Screen::Checks,
        }
    });
    view! {
        <Header />
        <Notices />
        <main id="work" tabindex="-1">
            {move || match screen.get() {
                Screen::Start => view! { <start::Start /> }.into_any(),
                Screen::Quick => view! { <quick::Quick /> }.into_any(),
                Screen::Missing => view! { <absent::Missing /> }.into_any(),
                Screen::Unknown => view! { <absent::Unknown /> }.into_any(),
                Screen::Fetching => {
                    view! { <p class="waiting" role="status">"Fetching the job…"</p> }.into_any()
                }
                other => further(other),
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
    Measure,
    Job,
    Changes,
    Printer,
    History,
    Seat,
    SetOut,
    Holes,
    Checks,
    Missing,
    Unknown,
    Fetching,
    /// In the module that is loaded later.
    Later,
}

/// A screen that not every module has.
#[cfg(feature = "whole")]
fn further(screen: Screen) -> AnyView {
    match screen {
        Screen::Templates => view! { <templates::Templates /> }.into_any(),
        Screen::Measure => view! { <measure::Measure /> }.into_any(),
        Screen::Job => view! { <job::JobScreen /> }.into_any(),
        Screen::Checks => view! { <checks::Checks /> }.into_any(),
        Screen::Changes => view! { <changes::Changes /> }.into_any(),
        Screen::Holes => view! { <holes::Holes /> }.into_any(),
        Screen::History => view! { <history::History /> }.into_any(),
        Screen::Printer => view! { <printer::PrinterCheck /> }.into_any(),
        Screen::Seat => view! { <seat::Seat /> }.into_any(),
        Screen::SetOut => view! { <setout::SetOut /> }.into_any(),
        _ => ().into_any(),
    }
}

#[cfg(not(feature = "whole"))]
fn further(_: Screen) -> AnyView {
    view! { <later::Later /> }.into_any()
}

/// Undo, redo and folding by keyboard.
fn follow_keys(session: Session) {
    on_undo_keys(move |asked| match asked {
        Asked::Undo => session.undo(),
        Asked::Redo => session.redo(),
    });
    fold_by_escape();
}

/// A job file may be dropped anywhere.
fn drop_files(session: Session) {
    files::on_drop(move |file| session.open_file(file));
}
