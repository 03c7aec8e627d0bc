//! The entry that is open: what it changed, taking it back, the job as it was then.

use super::go_back::GoBack;
use super::hand::{Beside, Hand};
use super::{by, line};
use crate::widgets::looked::Looked;
use leptos::prelude::*;
use samespot_core::job::FactId;
use samespot_core::prepare::history::{Difference, HistoryEntry, Stands};

/// The entry that is open.
#[component]
pub(super) fn Opened(hand: Hand) -> impl IntoView {
    // It stays open while something else is looked for: that may be what it is compared with.
    let entry = Memo::new(move |before: Option<&Option<HistoryEntry>>| {
        let open = hand.open.get()?;
        let view = hand.looked.get().view();
        let listed = view.and_then(|v| v.entries.iter().find(|e| e.fact == open).cloned());
        listed.or_else(|| before.cloned().flatten().filter(|e| e.fact == open))
    });
    move || {
        match entry.get() {
        None => view! {
            <section class="sheet job-part">
                <p class="second">
                    "Tap an entry: what it changed, taking it back, the job as it was then, and what has changed since"
                </p>
            </section>
        }
        .into_any(),
        Some(entry) => view! { <Entry hand=hand entry=entry /> }.into_any(),
    }
    }
}

#[component]
fn Entry(hand: Hand, entry: HistoryEntry) -> impl IntoView {
    let own = hand.session.is_own(entry.fact);
    let changed = entry.changed.iter().map(|d| view! { <li>{line(d)}</li> });
    view! {
        <section class="sheet job-part history-opened" aria-labelledby="history-opened">
            <h2 id="history-opened">
                {format!("Entry {}: {}", entry.place, entry.about)}
            </h2>
            <p class="second">{by(&entry, own)}</p>
            <ul class="history-changed">{changed.collect_view()}</ul>
            <Back hand=hand entry=entry.clone() own=own />
            <h3>"The job at this entry"</h3>
            <div class="history-ways">
                <Way hand=hand to=Beside::Then says="As it was then" />
                <Way hand=hand to=Beside::Now says="What has changed since" />
                <Way hand=hand to=Beside::Choosing says="Compare with another entry" />
            </div>
            <Compared hand=hand />
            <GoBack hand=hand to=entry.fact />
        </section>
    }
}

/// A sheet is no step of Undo: it exists, unless somebody says that nothing was printed.
fn is_print(hand: Hand, fact: FactId) -> bool {
    kind(hand, fact).as_deref() == Some("printed")
}

fn kind(hand: Hand, fact: FactId) -> Option<String> {
    hand.session.book.with_untracked(|b| {
        let found = b.as_ref()?.ledger.get(fact)?;
        Some(found.envelope.kind.clone())
    })
}

#[component]
fn Back(hand: Hand, entry: HistoryEntry, own: bool) -> impl IntoView {
    let fact = entry.fact;
    let undo = kind(hand, fact).as_deref() == Some("withdraw");
    let key = |says: &'static str, facts: Vec<FactId>| {
        view! {
            <button
                type="button"
                class="key main"
                on:click=move |_| hand.session.take_back(&facts)
            >
                {says}
            </button>
        }
        .into_any()
    };
    let word = |says: String| view! { <p class="second">{says}</p> }.into_any();
    match entry.stands {
        Stands::Not { why } => word(format!("It doesn’t count: {why}")),
        Stands::TakenBack { by } if by.iter().all(|b| hand.session.is_own(*b)) => {
            key("Bring it back", by)
        }
        Stands::TakenBack { .. } => {
            word("It was taken back on another device; only there can it be brought back".into())
        }
        Stands::Counts if !own => word(
            "It was entered elsewhere: only there can it be taken back. A newer entry of yours goes over it, and both stay here".into(),
        ),
        Stands::Counts if is_print(hand, fact) => view! {
            {word("A sheet that exists stays here: scrap it if it is wrong. A file that was downloaded counts as printed too; take that back only if no sheet came of it".into())}
            {key("Nothing was printed: take it back", vec![fact])}
        }
        .into_any(),
        Stands::Counts if undo => key("Undo this", vec![fact]),
        Stands::Counts => key("Take it back", vec![fact]),
    }
}

#[component]
fn Way(hand: Hand, to: Beside, says: &'static str) -> impl IntoView {
    let on = move || {
        hand.beside.get() == to
            || (to == Beside::Choosing && matches!(hand.beside.get(), Beside::Entry(_)))
    };
    view! {
        <button
            type="button"
            class="key"
            aria-pressed=move || if on() { "true" } else { "false" }
            on:click=move |_| hand.put_beside(to)
        >
            {says}
        </button>
    }
}

#[component]
fn Compared(hand: Hand) -> impl IntoView {
    move || {
        let beside = hand.beside.get();
        match (beside, hand.compared.get()) {
            (Beside::Nothing, _) => ().into_any(),
            (Beside::Choosing, _) => {
                view! { <p role="status">"Now tap the other entry in the list"</p> }.into_any()
            }
            (_, Looked::Working) => {
                view! { <p class="waiting" role="status">"Going back…"</p> }.into_any()
            }
            (_, Looked::Cannot(why)) => view! { <p role="status">{why}</p> }.into_any(),
            (_, Looked::View(view)) => {
                let head = match (beside, view.found) {
                    (Beside::Then, n) => format!("As it was then: {n} things had been said"),
                    (_, 0) => "Nothing differs between the two".to_owned(),
                    (Beside::Now, n) => format!("{n} differences between then and now"),
                    (_, n) => format!("{n} differences between the two entries"),
                };
                let rest = view.found - view.differences.len();
                let groups = grouped(&view.differences);
                view! {
                    <p role="status">{head}</p>
                    <div class="history-state">
                        {groups
                            .into_iter()
                            .map(|(about, lines)| {
                                view! {
                                    <details>
                                        <summary>
                                            {crate::say::job::capital(&about)}
                                            <span class="second">{format!(" · {}", lines.len())}</span>
                                        </summary>
                                        <ul>
                                            {lines
                                                .into_iter()
                                                .map(|l| view! { <li>{l}</li> })
                                                .collect_view()}
                                        </ul>
                                    </details>
                                }
                            })
                            .collect_view()}
                    </div>
                    {(rest > 0).then(|| view! { <p class="second">{format!("and {rest} more")}</p> })}
                }
                .into_any()
            }
        }
    }
}

/// Lines by the thing they are about; those of one thing stand together already.
fn grouped(all: &[Difference]) -> Vec<(String, Vec<String>)> {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for d in all {
        match groups.last_mut() {
            Some((about, lines)) if *about == d.about => lines.push(line(d)),
            _ => groups.push((d.about.clone(), vec![line(d)])),
        }
    }
    groups
}
