//! Rods in place of numbers: for what lands on the casting in hand, on the piece it is of.

use super::hand::Hand;
use crate::ports::clock;
use crate::route::Route;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::Ask;
use samespot_core::job::{FeatureId, PieceId};
use samespot_core::prepare::amendments::titles;

#[component]
pub(super) fn Rods(hand: Hand) -> impl IntoView {
    let piece = move || match hand.session.route.get() {
        Route::Measure { piece, .. } => piece,
        _ => None,
    };
    // What lands on the part this casting is of.
    let features = Memo::new(move |_| {
        let (_, casting) = hand.casting.get()?;
        hand.session.book.with(|b| {
            let job = &b.as_ref()?.job;
            let part = job.castings.get(&casting)?.part.clone();
            let on_it = |id: &FeatureId| {
                let face = job.features.get(id)?.face.as_ref()?;
                Some(job.faces.get(face)?.part == part)
            };
            let all = titles(job);
            Some(
                all.into_iter()
                    .filter(|(id, _)| on_it(id) == Some(true))
                    .collect::<Vec<_>>(),
            )
        })
    });
    let make = move |feature: FeatureId, piece: PieceId| {
        let Some(book) = hand.session.book.get_untracked() else {
            return;
        };
        let ask = Ask::Rods {
            job: book.id().clone(),
            feature,
            pieces: vec![piece],
            paper: book.job.about.paper.unwrap_or_default(),
            day: clock::day(),
        };
        let busy = RwSignal::new(false);
        spawn_local(async move { hand.session.download(book, ask, busy).await });
    };
    view! {
        {move || {
            let (piece, features) = piece().zip(features.get()).filter(|(_, f)| !f.is_empty())?;
            let keys = features
                .into_iter()
                .map(|(id, title)| {
                    let piece = piece.clone();
                    view! {
                        <button type="button" class="key" on:click=move |_| make(id.clone(), piece.clone())>
                            {format!("Rods for {title}")}
                        </button>
                    }
                })
                .collect_view();
            Some(view! {
                <details class="measure-rods">
                    <summary>"Rods instead of numbers"</summary>
                    <p class="second">"Strips with a marked stop that carry each distance from a mark to the middle: print, cut out, nothing to read or to add up"</p>
                    <div class="keys">{keys}</div>
                </details>
            })
        }}
    }
}
