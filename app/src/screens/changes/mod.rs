//! Changes: the design is amended while the run is under way. What changes, on which pieces, what
//! to scrap and to print, which pieces to make again; the client's page and the workshop's slip.

mod form;
mod from_picture;
mod issue;
mod left_standing;
pub mod model;
mod piece_by_piece;

use crate::route::Route;
use crate::state::{Session, session};
use leptos::prelude::*;
use samespot_core::job::{IssueId, Job, JobId, Payload};
use std::cell::Cell;

thread_local! {
    /// The page's session, for handlers: they run outside the tree in which it could be looked up.
    static HERE: Cell<Option<Session>> = const { Cell::new(None) };
}

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

fn say(payloads: &[Payload]) {
    if let Some(session) = here() {
        session.say(payloads);
    }
}

fn go(job: JobId, issue: Option<IssueId>) {
    if let Some(session) = here() {
        session.go(&Route::Changes { job, issue });
    }
}

/// The screen.
#[component]
pub fn Changes() -> impl IntoView {
    let session = session();
    HERE.set(Some(session));
    let open = Memo::new(move |_| match session.route.get() {
        Route::Changes { issue, .. } => issue,
        _ => None,
    });
    view! {
        <div class="job-screen changes-screen">
            <div class="job-side">
                <List open=open />
                <form::Form />
            </div>
            <issue::Opened open=open />
        </div>
    }
}

#[component]
fn List(open: Memo<Option<IssueId>>) -> impl IntoView {
    let lines = Memo::new(move |_| of_job(model::issues).unwrap_or_default());
    let job = move || of_job(|j| j.id.clone());
    view! {
        <section class="sheet job-part" aria-labelledby="changes-issues">
            <h1 id="changes-issues">"Changes"</h1>
            <p class="second">
                "An issue is a dated change of the design. Pieces it does not apply to stay as they were built"
            </p>
            <ul class="job-list">
                {move || {
                    let Some(job) = job() else { return Vec::new() };
                    lines
                        .get()
                        .into_iter()
                        .map(|line| {
                            let route = Route::Changes {
                                job: job.clone(),
                                issue: Some(line.issue.clone()),
                            };
                            let current = open.get().as_ref() == Some(&line.issue);
                            let state = match (line.whole, line.approved) {
                                (true, _) => "",
                                (_, true) => "approved",
                                (_, false) => "not approved",
                            };
                            let second: Vec<String> = [line.says.clone(), line.date.clone(), state.to_owned()]
                                .into_iter()
                                .filter(|t| !t.is_empty())
                                .collect();
                            let words = view! {
                                <strong>{format!("Issue {}", line.number)}</strong>
                                <span class="second">{second.join(" · ")}</span>
                            };
                            if line.whole {
                                view! { <li class="changes-line">{words}</li> }.into_any()
                            } else {
                                view! {
                                    <li>
                                        <a class="changes-line" href=route.address() aria-current=current.then_some("true")>
                                            {words}
                                        </a>
                                    </li>
                                }
                                .into_any()
                            }
                        })
                        .collect::<Vec<_>>()
                }}
            </ul>
        </section>
    }
}
