//! What the two of a pair came to together, and letting that stand.

use super::named::LetStand;
use super::{Hand, Looked, model};
use crate::say::job::capital;
use crate::say::numbers::{size, tenth};
use leptos::prelude::*;
use samespot_core::prepare::checks::verdict_words;
use samespot_core::prepare::pair_checks::{PairCheck, PairRow, pair_is_open};

/// Every pair of which something was checked.
#[component]
pub(super) fn Pairs(hand: Hand) -> impl IntoView {
    // By value: a name being typed is not lost when the piece is looked over again.
    let pairs = Memo::new(move |_| match hand.looked.get() {
        Looked::Features(_, pairs) => pairs,
        _ => Vec::new(),
    });
    move || {
        pairs
            .get()
            .into_iter()
            .map(|pair| view! { <Pair hand=hand pair=pair /> })
            .collect_view()
    }
}

#[component]
fn Pair(hand: Hand, pair: PairCheck) -> impl IntoView {
    let open = pair_is_open(&pair);
    let PairCheck {
        pair: id,
        title,
        rows,
        concession,
        note,
        over_the_run,
    } = pair;
    let field = format!("pair-{id}");
    let stand = move |(by, why): (String, String)| {
        let piece = hand.piece.get_untracked();
        let fact = piece.and_then(|p| model::pair_concession(&p, &id, &by, &why));
        hand.says(fact)
    };
    let row = |row: PairRow| {
        let limit = row
            .judged
            .map(|j| format!("± {} of {} mm", tenth(j.guard), size(j.limit)));
        let word = row
            .judged
            .map_or("nothing asked", |j| verdict_words(j.verdict));
        view! {
            <li>
                <strong>{capital(&row.asked)}</strong>
                <span class="verdict">{word}</span>
                <span>{row.says}</span>
                <span class="second">{limit}</span>
            </li>
        }
    };
    view! {
        <section class="checks-pair">
            <h2>{title}</h2>
            <ul>{rows.into_iter().map(row).collect_view()}</ul>
            {note.map(|note| view! { <p class="second">{capital(&note)}</p> })}
            {over_the_run.map(|run| view! { <p>{run}</p> })}
            {concession.map(|(by, why)| view! { <p>{format!("Let stand by {by}: {why}")}</p> })}
            {open.then(|| view! { <LetStand id=field stand=stand /> })}
        </section>
    }
}
