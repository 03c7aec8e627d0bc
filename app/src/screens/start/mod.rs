//! What did you come to do? Beside it the jobs on this device and their copies.

mod drawings;
mod jobs;
pub mod new_job;

pub use jobs::OpenKey;

use crate::ports::files::Example;
use crate::ports::store::Card;
use crate::route::Route;
use crate::state::{Session, session};
use drawings::{Checking, Drilling, Printing, QuickDrawing, SettingUp};
use jobs::Jobs;
use leptos::prelude::*;
use samespot_core::job::JobId;

/// Where *print a template* leads: the job used last of those that will do.
fn last_templates(cards: &[Card], will_do: fn(&Card) -> bool) -> Option<(String, String)> {
    let card = cards.iter().find(|c| c.pieces > 0 && will_do(c))?;
    let job = JobId::new(&card.id).ok()?;
    Some((
        card.title.clone(),
        Route::Templates {
            job,
            piece: None,
            feature: None,
        }
        .address(),
    ))
}

fn last_job(session: Session, will_do: fn(&Card) -> bool) -> Memo<Option<(String, String)>> {
    Memo::new(move |_| {
        let shelf = session.shelf;
        shelf.with(|s| s.as_deref().and_then(|s| last_templates(s, will_do)))
    })
}

/// The start page.
#[component]
pub fn Start() -> impl IntoView {
    let session = session();
    let last = last_job(session, |_| true);
    let drilled = last_job(session, |card| card.drilled != Some(false));
    view! {
        <div class="start">
            <section class="sheet question">
                <h1>"What did you come to do?"</h1>
                <a class="way quick" href="#/quick">
                    <QuickDrawing />
                    <span class="words">
                        <strong>"Quick template"</strong>
                        <span>
                            "From a tape measure to a true-size sheet in four cards. Nothing to set up; the next piece costs one number"
                        </span>
                        <span class="key main">"Start with the shape"</span>
                    </span>
                </a>
                <div class="ways">
                    <PrintWay last=last />
                    <DrillWay last=drilled />
                    <CheckWay last=last />
                    <a
                        class="way"
                        href="#/"
                        on:click=move |e| {
                            e.prevent_default();
                            new_job::begin(session);
                        }
                    >
                        <SettingUp />
                        <span class="words">
                            <strong>"Set up a job"</strong>
                            <span>
                                "A run of pieces: faces, marks and what has to land on them, from the approved pattern and a tape"
                            </span>
                        </span>
                    </a>
                </div>
                {move || {
                    last.get()
                        .map(|l| {
                            view! {
                                <p class="second to-printer">
                                    <a href=format!("{}/printer", l.1)>"Printer check"</a>
                                    ": one page and a steel rule, and sheets are true on paper"
                                </p>
                            }
                        })
                }}
            </section>
            <Jobs />
        </div>
    }
}

/// Where *check a piece* leads, from where *print a template* does.
fn to_checks(templates: &str) -> String {
    format!("{templates}/checks")
}

#[component]
fn CheckWay(last: Memo<Option<(String, String)>>) -> impl IntoView {
    let words = move || match last.get() {
        Some((title, _)) => format!(
            "On {title}: lay the template back, four gaps by rule, and know whether it is within"
        ),
        None => "Nothing is here yet to be checked: print a template first".to_owned(),
    };
    let href = move || {
        last.get()
            .map_or_else(|| "#/".to_owned(), |l| to_checks(&l.1))
    };
    view! {
        <a class="way check" href=href>
            <Checking />
            <span class="words">
                <strong>"Check a piece"</strong>
                <span>{words}</span>
            </span>
        </a>
    }
}

#[component]
fn DrillWay(last: Memo<Option<(String, String)>>) -> impl IntoView {
    let session = session();
    let words = move || match last.get() {
        Some((title, _)) => {
            format!("On {title}: two swings and a check for each hole, angle, depth and drill")
        }
        None => {
            "No job here has holes yet: this opens the example, which has four bolts in each cap"
                .to_owned()
        }
    };
    let href = move || {
        last.get()
            .map_or_else(|| "#/".to_owned(), |l| format!("{}/holes", l.1))
    };
    view! {
        <a
            class="way drill"
            href=href
            on:click=move |e| {
                if last.get_untracked().is_none() {
                    e.prevent_default();
                    session.open_example(Example::Puffins);
                }
            }
        >
            <Drilling />
            <span class="words">
                <strong>"Drill a piece"</strong>
                <span>{words}</span>
            </span>
        </a>
    }
}

#[component]
fn PrintWay(last: Memo<Option<(String, String)>>) -> impl IntoView {
    let session = session();
    let words = move || match last.get() {
        Some((title, _)) => format!("For {title}, at true size"),
        None => "No job is here yet: this opens the example to print from".to_owned(),
    };
    let href = move || last.get().map_or_else(|| "#/".to_owned(), |l| l.1);
    view! {
        <a
            class="way"
            href=href
            on:click=move |e| {
                if last.get_untracked().is_none() {
                    e.prevent_default();
                    session.open_example(Example::Puffins);
                }
            }
        >
            <Printing />
            <span class="words">
                <strong>"Print a template"</strong>
                <span>{words}</span>
            </span>
        </a>
    }
}
