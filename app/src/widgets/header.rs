//! The head of every screen: what it is about, the tasks, undo, what is saved.

use super::marks::Sign;
use crate::ports::offline::Offline;
use crate::route::Route;
use crate::say;
use crate::state::{Keeping, Session, session};
use leptos::prelude::*;
use samespot_core::job::JobId;

/// The head.
#[component]
pub fn Header() -> impl IntoView {
    let session = session();
    // A quick template has its line of tasks from the start: were it to come with the first thing said, all
    // below would move from under the finger.
    let in_job = move || {
        let quick = session
            .route
            .with(|r| matches!(r, Route::NewQuick | Route::Quick { .. }));
        quick || job_here(session).is_some()
    };
    view! {
        <header class="head" class:in-job=in_job>
            <a class="home" href="#/" aria-label="Samespot: back to the start">
                <Sign />
                <span class="name">"Samespot"</span>
            </a>
            <About />
            <Tasks />
            <Steps />
            <Kept />
        </header>
    }
}

/// The job and the piece.
#[component]
fn About() -> impl IntoView {
    let session = session();
    let about = Memo::new(move |_| {
        let route = session.route.get();
        let book = session.book.get();
        match (route.job(), book) {
            (Some(_), Some(book)) => {
                let piece = route.piece().map(|id| {
                    let number = say::run::piece_number(id, book.job.pieces.get(id));
                    let of = book.job.pieces.len();
                    if of > 1 {
                        format!("Piece {number} of {of}")
                    } else {
                        format!("Piece {number}")
                    }
                });
                let issue = book.job.issues.values().filter_map(|i| i.number).max();
                let mut second = book.title();
                if let Some(issue) = issue {
                    second.push_str(&format!(" · issue {issue}"));
                }
                if book.job.about.invented == Some(true) && !second.contains("invented") {
                    second.push_str(" · invented");
                }
                match piece {
                    Some(piece) => (piece, second),
                    None => (
                        book.title(),
                        second
                            .split_once(" · ")
                            .map_or(String::new(), |s| s.1.to_owned()),
                    ),
                }
            }
            (_, _) if route == Route::NewQuick => (
                "Quick template".to_owned(),
                "nothing entered yet".to_owned(),
            ),
            _ => (String::new(), "the same spot on every piece".to_owned()),
        }
    });
    view! {
        <div class="about">
            <strong>{move || about.get().0}</strong>
            <span class="second">{move || about.get().1}</span>
        </div>
    }
}

/// The job on the screen, once it is open: tasks of a job that is not here would lead nowhere.
fn job_here(session: Session) -> Option<JobId> {
    let open = session.book.with(|b| b.as_ref().map(|b| b.id().clone()));
    let route = session.route.get();
    route.job().filter(|j| open.as_ref() == Some(j)).cloned()
}

/// The tasks of a job: those there are.
#[component]
fn Tasks() -> impl IntoView {
    let session = session();
    // Each kept as long as it stays the same: a reading changes none, and the tasks stay as they stand.
    let quick = Memo::new(move |_| {
        session.book.with(|b| {
            b.as_ref()
                .is_some_and(|b| samespot_core::job::QuickCards::of_job(&b.job).is_some())
        })
    });
    let seats = Memo::new(move |_| {
        session
            .book
            .with(|b| b.as_ref().is_some_and(|b| !b.job.joints.is_empty()))
    });
    // A bracket without its holes leads there too: the screen says what is still to be said of it.
    let drilled = Memo::new(move |_| {
        let here = session.route.with(|r| matches!(r, Route::Holes { .. }));
        here || session
            .book
            .with(|b| b.as_ref().is_some_and(|b| b.job.is_drilled()))
    });
    let job = Memo::new(move |_| job_here(session));
    view! {
        <nav class="tasks" aria-label="Tasks">
            <Show when=move || session.route.with(|r| *r == Route::NewQuick)>
                <p class="second tasks-later">"The tasks of this job stand here as soon as its shape has a size"</p>
            </Show>
            {move || {
                job.get()
                    .map(|job| {
                        let route = session.route.get();
                        let piece = session.piece_in_hand(&route);
                        let at_quick = matches!(route, Route::Quick { .. });
                        let at_measure = matches!(route, Route::Measure { .. });
                        let to_measure = Route::Measure {
                            job: job.clone(),
                            piece: piece.clone(),
                            casting: None,
                        };
                        let at_templates = matches!(route, Route::Templates { .. });
                        let current = |here: bool| if here { Some("page") } else { None };
                        let at_job = matches!(route, Route::Job { .. });
                        let to_job = Route::Job {
                            job: job.clone(),
                            piece: piece.clone(),
                        };
                        let at_checks = matches!(route, Route::Checks { .. });
                        let to_checks = Route::Checks {
                            job: job.clone(),
                            piece: piece.clone(),
                            feature: None,
                        };
                        let at_changes = matches!(route, Route::Changes { .. });
                        let to_changes = Route::Changes {
                            job: job.clone(),
                            issue: None,
                        };
                        let to_templates = Route::Templates {
                            job: job.clone(),
                            piece: piece.clone(),
                            feature: None,
                        };
                        view! {
                            {quick.get()
                                .then(|| {
                                    view! {
                                        <a
                                            href=Route::Quick { job: job.clone() }.address()
                                            aria-current=current(at_quick)
                                        >
                                            "Cards"
                                        </a>
                                    }
                                })}
                            {(!quick.get())
                                .then(|| {
                                    let to_setout = Route::SetOut {
                                        job: job.clone(),
                                        face: None,
                                    };
                                    view! {
                                        <a
                                            href=to_setout.address()
                                            aria-current=current(matches!(route, Route::SetOut { .. }))
                                        >
                                            "Setting out"
                                        </a>
                                    }
                                })}
                            {(!quick.get())
                                .then(|| {
                                    view! {
                                        <a
                                            href=to_measure.address()
                                            aria-current=current(at_measure)
                                        >
                                            "Measure"
                                        </a>
                                    }
                                })}
                            <a href=to_templates.address() aria-current=current(at_templates)>
                                "Templates"
                            </a>
                            {seats.get()
                                .then(|| {
                                    let to_seat = Route::Seat {
                                        job: job.clone(),
                                        piece: piece.clone(),
                                    };
                                    view! {
                                        <a
                                            href=to_seat.address()
                                            aria-current=current(matches!(route, Route::Seat { .. }))
                                        >
                                            "Seat"
                                        </a>
                                    }
                                })}
                            {drilled.get()
                                .then(|| {
                                    let to_holes = Route::Holes {
                                        job: job.clone(),
                                        piece: piece.clone(),
                                    };
                                    view! {
                                        <a
                                            href=to_holes.address()
                                            aria-current=current(
                                                matches!(route, Route::Holes { .. }),
                                            )
                                        >
                                            "Holes"
                                        </a>
                                    }
                                })}
                            <a href=to_job.address() aria-current=current(at_job)>
                                "Job"
                            </a>
                            <a href=to_checks.address() aria-current=current(at_checks)>
                                "Checks"
                            </a>
                            <a href=to_changes.address() aria-current=current(at_changes)>
                                "Changes"
                            </a>
                            <a
                                href=Route::Printer { job: job.clone() }.address()
                                aria-current=current(matches!(route, Route::Printer { .. }))
                            >
                                "Printer"
                            </a>
                            <a
                                href=Route::History { job: job.clone() }.address()
                                aria-current=current(matches!(route, Route::History { .. }))
                            >
                                "History"
                            </a>
                        }
                    })
            }}
        </nav>
    }
}

/// Undo, redo, light.
#[component]
fn Steps() -> impl IntoView {
    let session = session();
    let job = Memo::new(move |_| session.book.with(|b| b.as_ref().map(|b| b.id().clone())));
    let can_undo = Memo::new(move |_| {
        job.get()
            .is_some_and(|job| session.steps.with(|s| s.can_undo(&job)))
    });
    let can_redo = Memo::new(move |_| {
        job.get()
            .is_some_and(|job| session.steps.with(|s| s.can_redo(&job)))
    });
    let has_job = move || session.route.with(|r| r.job().is_some());
    let shed = move || session.shed.get();
    view! {
        <div class="steps">
            <Show when=has_job>
                <button
                    type="button"
                    class="step"
                    aria-label=move || if can_undo.get() { "Undo" } else { "Undo: nothing was entered in this window yet" }
                    title=move || if can_undo.get() { "Undo" } else { "Nothing was entered in this window yet" }
                    aria-disabled=move || if can_undo.get() { "false" } else { "true" }
                    on:click=move |_| session.undo()
                >
                    <svg viewBox="0 0 24 24" width="24" height="24" aria-hidden="true">
                        <path class="wide" d="M9 5L4 10L9 15M4 10H14A6 6 0 0 1 14 22H10" />
                    </svg>
                </button>
                <button
                    type="button"
                    class="step"
                    aria-label=move || if can_redo.get() { "Redo" } else { "Redo: nothing was undone" }
                    title=move || if can_redo.get() { "Redo" } else { "Nothing was undone" }
                    aria-disabled=move || if can_redo.get() { "false" } else { "true" }
                    on:click=move |_| session.redo()
                >
                    <svg viewBox="0 0 24 24" width="24" height="24" aria-hidden="true">
                        <path class="wide" d="M15 5L20 10L15 15M20 10H10A6 6 0 0 0 10 22H14" />
                    </svg>
                </button>
            </Show>
            <button
                type="button"
                class="step"
                aria-label=move || if shed() { "Light for the office" } else { "Dark for the shed" }
                title=move || if shed() { "Light for the office" } else { "Dark for the shed" }
                on:click=move |_| session.change_theme()
            >
                <svg viewBox="0 0 24 24" width="24" height="24" aria-hidden="true">
                    <circle class="wide" cx="12" cy="12" r="8" />
                    <path class="ink" d="M12 4A8 8 0 0 1 12 20Z" />
                </svg>
            </button>
        </div>
    }
}

/// What is saved, and whether it works offline.
#[component]
fn Kept() -> impl IntoView {
    let session = session();
    let warns = move || matches!(session.keeping.get(), Keeping::NotKept(_));
    let in_job = move || {
        session
            .route
            .with(|r| r.job().is_some() || *r == Route::NewQuick)
    };
    view! {
        <div class="kept" class:warns=warns role="status">
            <span class="saved">
                {move || {
                    if in_job() || warns() {
                        say::storage::kept(&session.keeping.get())
                    } else {
                        "Nothing leaves this device".to_owned()
                    }
                }}
            </span>
            <span class="second">
                {move || {
                    let (offline, newer) = session.offline.get();
                    if newer && offline == Offline::Ready {
                        "a new version waits: close every window"
                    } else {
                        say::storage::offline(offline)
                    }
                }}
            </span>
        </div>
    }
}
