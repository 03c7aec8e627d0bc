//! The jobs on this device, opening a file, and copies.

use crate::ports::files::Example;
use crate::ports::store::Card;
use crate::ports::{clock, files};
use crate::route::Route;
use crate::say;
use crate::state::session;
use crate::widgets::marks::Sheets;
use leptos::prelude::*;
use samespot_core::job::JobId;

/// The job whose copy is furthest behind.
fn most_behind(cards: &[Card]) -> Option<(Card, usize)> {
    cards
        .iter()
        .map(|c| {
            let copied = if c.copied.is_some() {
                c.copied_facts
            } else {
                0
            };
            (c.clone(), c.facts.saturating_sub(copied))
        })
        .max_by_key(|(_, newer)| *newer)
}

/// Second words of a job: `18 pieces · issue 2 · used 20 minutes ago`.
fn second(card: &Card, now_ms: f64) -> String {
    let mut words = vec![match card.pieces {
        0 => "no piece yet".to_owned(),
        n => say::job::pieces(n),
    }];
    if card.issue > 0 && !card.quick {
        words.push(format!("issue {}", card.issue));
    }
    // A title that says so already is not repeated.
    if card.invented && !card.title.contains("invented") {
        words.push("invented".into());
    }
    words.push(format!("used {}", say::storage::ago(card.used, now_ms)));
    words.join(" · ")
}

fn address(card: &Card) -> String {
    match JobId::new(&card.id) {
        Ok(job) if card.quick => Route::Quick { job }.address(),
        Ok(job) => Route::Templates {
            job,
            piece: None,
            feature: None,
        }
        .address(),
        Err(_) => "#/".into(),
    }
}

/// Where the next casting of a job is measured; a quick template has its own card for that.
fn measure_address(card: &Card) -> Option<String> {
    let job = JobId::new(&card.id).ok().filter(|_| !card.quick)?;
    Some(
        Route::Measure {
            job,
            piece: None,
            casting: None,
        }
        .address(),
    )
}

/// The right-hand side of the start page.
#[component]
pub fn Jobs() -> impl IntoView {
    let session = session();
    let cards = move || session.shelf.get();
    view! {
        <aside class="jobs">
            <h2>"Jobs on this device"</h2>
            {move || match cards() {
                None => view! { <p class="second">"Looking…"</p> }.into_any(),
                Some(cards) if cards.is_empty() => {
                    view! {
                        <p class="second">
                            "None yet. A quick template begins one; so does a job file (it ends in .samespot), opened or dropped here"
                        </p>
                    }
                        .into_any()
                }
                Some(cards) => {
                    cards
                        .into_iter()
                        .map(|card| view! { <JobRow card=card /> })
                        .collect_view()
                        .into_any()
                }
            }}
            <div class="actions">
                <OpenKey />
                <a class="key" href="#/quick">"New quick template"</a>
            </div>
            <h2>"Try an example"</h2>
            <div class="row example">
                <button type="button" class="link" on:click=move |_| session.open_example(Example::Puffins)>
                    "Quay puffins"
                </button>
                <p class="second">
                    "18 pieces on tapered bollards, two eyes, a lettered band, a badge. All invented; opens as a copy of your own"
                </p>
            </div>
            <div class="row example">
                <button type="button" class="link" on:click=move |_| session.open_example(Example::Otters)>
                    "Regatta otters"
                </button>
                <p class="second">
                    "12 otters astride upturned dinghies: eyes on the head, a name panel on the transom, two pairs of bolts through the slopes, a seat at a ridge. All invented; opens as a copy of your own"
                </p>
            </div>
            <CopyState />
        </aside>
    }
}

#[component]
fn JobRow(card: Card) -> impl IntoView {
    let session = session();
    let now = clock::millis();
    let progress = if card.pieces > 0 {
        format!("{} of {} printed", card.printed, card.pieces)
    } else {
        "not printed".to_owned()
    };
    let boxes = (0..card.pieces.min(36))
        .map(|n| view! { <i class:done=n < card.printed></i> })
        .collect_view();
    let sure = RwSignal::new(false);
    let id = card.id.clone();
    view! {
        <div class="row">
            <div class="row-words">
                <a class="title" href=address(&card)>{card.title.clone()}</a>
                <p class="second">{second(&card, now)}</p>
                {measure_address(&card)
                    .map(|href| view! { <a class="link way-in" href=href>"Measure a casting"</a> })}
                <span class="boxes" aria-hidden="true">{boxes}</span>
            </div>
            <div class="row-side">
                <span class="second">{progress}</span>
                {move || {
                    let id = id.clone();
                    if sure.get() {
                        view! {
                            <button
                                type="button"
                                class="link"
                                on:click=move |_| session.remove_job(id.clone())
                            >
                                "Really remove"
                            </button>
                            <button type="button" class="link" on:click=move |_| sure.set(false)>
                                "Keep it"
                            </button>
                        }
                            .into_any()
                    } else {
                        view! {
                            <button type="button" class="link" on:click=move |_| sure.set(true)>
                                "Remove…"
                            </button>
                        }
                            .into_any()
                    }
                }}
            </div>
        </div>
    }
}

/// Opens a job file.
#[component]
pub fn OpenKey(
    /// It is the next thing to do.
    #[prop(optional)]
    main: bool,
) -> impl IntoView {
    let session = session();
    let accept = files::accept(".samespot,.json");
    view! {
        <label class="key file" class:main=main>
            "Open a job file"
            <input
                type="file"
                accept=accept
                on:change=move |e| {
                    if let Some(file) = files::chosen(&e) {
                        session.open_file(file);
                    }
                }
            />
        </label>
    }
}

#[component]
fn CopyState() -> impl IntoView {
    let session = session();
    let behind = Memo::new(move |_| session.shelf.with(|s| s.as_deref().and_then(most_behind)));
    view! {
        {move || {
            behind
                .get()
                .map(|(card, newer)| {
                    let (first, then) = say::storage::copy_state(card.copied, newer, clock::millis());
                    let id = card.id.clone();
                    view! {
                        <div class="sheet copy">
                            <Sheets />
                            <div>
                                <strong>{first}</strong>
                                <p class="second">{card.title.clone()} ". " {then}</p>
                            </div>
                            <button
                                type="button"
                                class="key"
                                on:click=move |_| session.copy_off(id.clone())
                            >
                                {format!("Copy {} off this device", card.title)}
                            </button>
                        </div>
                    }
                })
        }}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn card(id: &str, facts: usize, copied: Option<usize>) -> Card {
        Card {
            id: id.into(),
            facts,
            copied: copied.map(|_| 0.0),
            copied_facts: copied.unwrap_or(0),
            ..Card::default()
        }
    }

    #[test]
    fn the_job_furthest_from_its_copy_is_offered() {
        let cards = [
            card("a", 50, Some(49)),
            card("b", 30, None),
            card("c", 90, Some(80)),
        ];
        let found = most_behind(&cards).map(|(c, n)| (c.id, n));
        assert_eq!(found, Some(("b".into(), 30)));
        assert_eq!(most_behind(&[]), None);
    }

    #[test]
    fn second_words_leave_out_what_there_is_not() {
        let mut card = card("a", 1, None);
        assert_eq!(second(&card, 0.0), "no piece yet · used just now");
        card.pieces = 18;
        card.issue = 2;
        card.invented = true;
        assert_eq!(
            second(&card, 0.0),
            "18 pieces · issue 2 · invented · used just now"
        );
    }
}
