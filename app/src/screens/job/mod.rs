//! The job: what it is called, its pieces, castings and moulds, the stages and what they wait for.

mod about;
mod by_number;
mod castings;
mod differ;
mod in_hand;
pub mod model;
mod moulds;
mod spreadsheet;
mod stages;
mod tools;

use crate::route::Route;
use crate::state::{Session, session};
use leptos::prelude::*;
use samespot_core::job::{Job, Payload};
use samespot_core::run::{RunView, look};
use std::cell::Cell;

/// The run as it stands, for every part of the screen.
#[derive(Clone, Copy)]
struct Run {
    view: Memo<RunView>,
}

impl Run {
    fn begin() -> Self {
        let session = session();
        let view = Memo::new(move |_| {
            session.book.with(|b| {
                b.as_ref().map_or_else(
                    || RunView {
                        stages: Vec::new(),
                        holds: Vec::new(),
                        castings: Vec::new(),
                        moulds: Vec::new(),
                        pieces: Vec::new(),
                    },
                    |b| look(&b.job),
                )
            })
        });
        Self { view }
    }
}

thread_local! {
    /// The page's session, for handlers: they run outside the tree in which it could be looked up.
    static HERE: Cell<Option<Session>> = const { Cell::new(None) };
}

/// The session of this screen.
fn here() -> Option<Session> {
    HERE.get()
}

/// Something of the job as it stands.
fn of_job<T>(read: impl Fn(&Job) -> T) -> Option<T> {
    here()?.book.with(|b| b.as_ref().map(|b| read(&b.job)))
}

/// Something of the job, for what is done with it now.
fn from_job<T>(read: impl FnOnce(&Job) -> T) -> Option<T> {
    here()?
        .book
        .with_untracked(|b| b.as_ref().map(|b| read(&b.job)))
}

fn notice(sentence: impl Into<String>) {
    if let Some(session) = here() {
        session.notice(sentence, true);
    }
}

fn say(payloads: Vec<Payload>) {
    if let Some(session) = here() {
        session.say(&payloads);
    }
}

/// The screen.
#[component]
pub fn JobScreen() -> impl IntoView {
    let session = session();
    HERE.set(Some(session));
    let run = Run::begin();
    let piece = Memo::new(move |_| match session.route.get() {
        Route::Job { piece, .. } => piece,
        _ => None,
    });
    view! {
        <div class="job-screen">
            <castings::Castings run=run piece=piece />
            <div class="job-side">
                <differ::Differ />
                <about::About />
                <moulds::Moulds run=run />
                <stages::Stages run=run />
                <tools::Tools />
                <spreadsheet::Spreadsheet />
            </div>
        </div>
    }
}
