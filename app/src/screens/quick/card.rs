//! What every card has: its number and name, and the key that goes on.

use super::hand::Hand;
use super::model;
use crate::ports::fields;
use leptos::prelude::*;

/// Puts the cursor into the first empty field of the card that was opened.
pub(super) fn focus_first() {
    fields::focus_first_empty(".card.open .card-body input[type=text]");
}
/// A card: its number and name, what it says when it is closed, what it asks when it is open.
#[component]
pub(super) fn Card(
    hand: Hand,
    at: usize,
    title: &'static str,
    #[prop(into)] says: Signal<String>,
    children: ChildrenFn,
) -> impl IntoView {
    let is_open = move || hand.open.get() == at;
    let filled = Memo::new(move |_| {
        let piece = hand.piece.get();
        hand.cards
            .with(|c| model::filled(c, piece))
            .get(at)
            .copied()
            .unwrap_or(false)
    });
    Effect::new(move |before: Option<bool>| {
        let now = is_open();
        if now && before == Some(false) {
            focus_first();
            // After the field: its card's head and what is asked must be in sight with it.
            fields::in_sight(".card.open");
        }
        now
    });
    let body = format!("card-{at}");
    view! {
        <section class="card" class:open=is_open class:filled=move || filled.get()>
            <h2>
                <button
                    type="button"
                    aria-expanded=move || if is_open() { "true" } else { "false" }
                    aria-controls=body.clone()
                    on:click=move |_| {
                        hand.commit();
                        hand.open.set(at);
                    }
                >
                    <span class="card-number">{at + 1}</span>
                    <span class="card-title">{title}</span>
                    <span class="second">{move || says.get()}</span>
                </button>
            </h2>
            <div class="card-body" id=body hidden=move || !is_open()>
                {children()}
            </div>
        </section>
    }
}

/// The key that goes on, or why it can't yet.
#[component]
pub(super) fn Next(
    hand: Hand,
    at: usize,
    missing: &'static str,
    words: &'static str,
) -> impl IntoView {
    let filled = move || {
        let piece = hand.piece.get();
        hand.cards
            .with(|c| model::filled(c, piece))
            .get(at)
            .copied()
            .unwrap_or(false)
    };
    view! {
        <div class="actions">
            <button
                type="button"
                class="key"
                class:main=filled
                aria-disabled=move || if filled() { "false" } else { "true" }
                // The field keeps the cursor until the click: losing it begins the job, the tasks
                // appear over the cards, and the key would move from under the finger.
                on:mousedown=move |ev| ev.prevent_default()
                on:click=move |_| hand.next()
            >
                {words}
            </button>
            <span class="second">{move || if filled() { "" } else { missing }}</span>
        </div>
    }
}
