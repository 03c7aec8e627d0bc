//! Signing the record of a piece, or of the run, off.

use super::Hand;
use super::model;
use super::named::Named;
use crate::state::{Book, Session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::prepare::sign_off::{SealView, Signed};
use std::sync::Arc;

/// Who signed, whether it still holds, and a new signature.
#[component]
pub(super) fn Signing(
    hand: Hand,
    /// The record of the run; otherwise of the piece in hand.
    run: bool,
) -> impl IntoView {
    let stands = RwSignal::new(None::<SealView>);
    // Nobody signs a run that has no piece yet.
    let there = Memo::new(move |_| {
        let pieces = |b: &Option<Arc<Book>>| b.as_ref().is_some_and(|b| !b.job.pieces.is_empty());
        hand.session.book.with(pieces) && (run || hand.piece.get().is_some())
    });
    let opened = RwSignal::new(false);
    let asked = StoredValue::new(0_u32);
    // Nobody signs what a record said before the last entry: the run's takes a while to look over.
    let fresh = RwSignal::new(false);
    Effect::new(move |_| {
        let (piece, book) = (hand.piece.get(), hand.session.book.get());
        asked.update_value(|n| *n += 1);
        fresh.set(false);
        let number = asked.get_value();
        let piece = piece.filter(|_| !run);
        // A seal is made of the whole record: only for somebody who is about to sign, or where it may show
        // that a signature no longer holds.
        let book = book.filter(|b| {
            there.get() && (opened.get() || b.job.signed.iter().any(|s| s.says.piece == piece))
        });
        let Some(book) = book else {
            stands.set(None);
            return;
        };
        spawn_local(async move {
            let ask = Ask::Seal {
                job: book.id().clone(),
                piece,
            };
            let came = match Session::ask(book, ask).await {
                Ok((Reply::Seal(seal), _)) => Some(seal),
                _ => None,
            };
            if asked.try_get_value() == Some(number) {
                let _ = stands.try_set(came);
                let _ = fresh.try_set(true);
            }
        });
    });
    let sign = move |(by, why): (String, String)| {
        let piece = hand.piece.get_untracked().filter(|_| !run);
        let (true, Some(seal)) = (
            fresh.get_untracked() && (run || piece.is_some()),
            stands.with_untracked(|s| s.as_ref().map(|s| s.seal.clone())),
        ) else {
            return false;
        };
        let fact = model::signed_off(piece.as_ref(), &by, &why, &seal);
        hand.says(fact)
    };
    let waits = Signal::derive(move || (!fresh.get()).then_some("Looking the record over…"));
    let what = if run {
        "The run’s record"
    } else {
        "This piece’s record"
    };
    let says = move |s: Signed| {
        let words = if s.holds {
            format!("{what} signed off by {}, {}: {}", s.by, s.when, s.reason)
        } else {
            format!(
                "{what} changed since it was signed off by {}, {}: {}",
                s.by, s.when, s.reason
            )
        };
        view! { <p class:checks-cannot=!s.holds><strong>{words}</strong></p> }
    };
    let id = if run { "sign-run" } else { "sign" };
    let open = move || {
        stands.with(|s| match s.as_ref().map_or(0, |s| s.open) {
            0 => None,
            1 => Some("1 feature or pair is not settled: the signature says so too".to_owned()),
            n => Some(format!(
                "{n} features or pairs are not settled: the signature says so too"
            )),
        })
    };
    view! {
        <Show when=move || there.get()>
            <section class="sheet checks-signing" class:of-run=run aria-label=if run { "Signing the run off" } else { "Signing the piece off" }>
            <div role="status">
                {move || stands.get().and_then(|s| s.signed).map(says)}
            </div>
            <details class="job-more">
                <summary on:click=move |_| opened.set(true)>{if run { "Sign the record of the run off…" } else { "Sign this piece’s record off…" }}</summary>
                <p class="second">{open}</p>
                <Named
                    id=id.to_owned()
                    by="Initials or name, and role"
                    why="What the signature means: made, checked, handed over"
                    missing="Initials and what they mean, please"
                    does="Sign it off"
                    waits=waits
                    keep=sign
                />
                <p class="second">"A check sum of the record is kept with it and printed on it: whatever changes later shows. It is not a signature in law"</p>
                <p class="second">{move || stands.get().map(|s| format!("Check sum of it now: {}", s.seal))}</p>
            </details>
            </section>
        </Show>
    }
}
