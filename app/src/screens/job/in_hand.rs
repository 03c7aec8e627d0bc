//! The piece in hand on the Job screen: its castings together, so that what was done to all of it is said with one tap.

use super::{Run, of_job, say};
use crate::ports::clock;
use leptos::prelude::*;
use samespot_core::job::{CastingId, Payload, PieceId, StageFact};
use samespot_core::run::{CastingView, PieceView, casting_name};

/// That a casting has come to a stage today.
pub(super) fn next_stage(casting: CastingId, stage: String) -> Payload {
    Payload::Stage(StageFact {
        casting,
        stage,
        day: clock::day(),
        reason: None,
    })
}

/// The stage that all of them may go on to together, where there is one.
fn together(castings: &[CastingView]) -> Option<String> {
    let (first, others) = castings.split_first()?;
    let next = first.next.clone()?;
    let same = |c: &CastingView| c.next.as_ref() == Some(&next);
    let free = castings.iter().all(|c| c.waits.is_empty());
    (!others.is_empty() && free && others.iter().all(same)).then_some(next)
}

/// The castings of the piece in hand, each with what may be done next.
#[component]
pub(super) fn InHand(run: Run, piece: Memo<Option<PieceId>>) -> impl IntoView {
    let shown = Memo::new(move |_| {
        let piece = piece.get()?;
        run.view.with(|r| {
            let of = r.pieces.iter().find(|p| p.piece == piece)?;
            let own = of.castings.iter();
            let own = own.filter_map(|id| r.castings.iter().find(|c| c.casting == *id));
            Some((of.clone(), own.cloned().collect::<Vec<_>>()))
        })
    });
    move || {
        shown
            .get()
            .map(|(piece, castings)| view! { <Piece piece=piece castings=castings /> })
    }
}

#[component]
fn Piece(piece: PieceView, castings: Vec<CastingView>) -> impl IntoView {
    let all = together(&castings).map(|stage| {
        let ids: Vec<CastingId> = castings.iter().map(|c| c.casting.clone()).collect();
        let words = format!("All of it: {stage}");
        view! {
            <button type="button" class="key main" on:click=move |_| {
                let each = ids.iter().cloned();
                say(each.map(|id| next_stage(id, stage.clone())).collect());
            }>{words}</button>
        }
    });
    let rows = castings
        .into_iter()
        .map(|c| {
            let name = of_job(|j| casting_name(j, &c.casting)).unwrap_or_default();
            let held = !c.waits.is_empty();
            let id = c.casting.clone();
            let key = c.next.clone().map(|stage| {
                let words = crate::say::job::capital(&stage);
                view! {
                    <button type="button" class="key" aria-disabled=held.to_string() on:click=move |_| {
                        if !held {
                            say(vec![next_stage(id.clone(), stage.clone())]);
                        }
                    }>{words}</button>
                }
            });
            view! {
                <li class="job-line">
                    <span class="words">
                        <strong>{crate::say::job::capital(&name)}</strong>
                        <span class="second">{c.stage.clone()}</span>
                        {c.waits.first().cloned().map(|why| view! { <span>{why}</span> })}
                    </span>
                    {key}
                </li>
            }
        })
        .collect_view();
    view! {
        <section class="job-in-hand" aria-label=crate::say::job::capital(&piece.name)>
            <h2>{crate::say::job::capital(&piece.name)}</h2>
            <ul class="job-list">{rows}</ul>
            {all}
        </section>
    }
}
