//! The checks of the whole run: who is not checked, what is outside, what can't be told, what it does.

use super::{Hand, model};
use crate::route::Route;
use crate::state::Session;
use crate::widgets::looked::Looked;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{JobId, PieceId};
use samespot_core::prepare::run_checks::{FeatureStands, Mark, RunOverview};
use std::sync::Arc;

/// Every feature on every piece.
#[component]
pub(super) fn Overview(hand: Hand) -> impl IntoView {
    let seen = RwSignal::new(Looked::<RunOverview>::Working);
    let asked = StoredValue::new(0_u32);
    Effect::new(move |_| {
        let book = hand.session.book.get();
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        let Some(book) = book else {
            seen.set(Looked::Working);
            return;
        };
        spawn_local(async move {
            let ask = Ask::RunChecks {
                job: book.id().clone(),
            };
            let came = match Session::ask(book, ask).await {
                Ok((Reply::RunChecks(view), _)) => Looked::View(Arc::from(view)),
                Ok(_) => return,
                Err(sentence) => Looked::Cannot(sentence),
            };
            if asked.try_get_value() == Some(number) {
                let _ = seen.try_set(came);
            }
        });
    });
    view! {
        {move || {
            let job = hand.session.route.get().job().cloned()?;
            let says = match seen.get() {
                Looked::View(all) if all.pieces.is_empty() || all.features.is_empty() => return None,
                Looked::View(all) => return Some(view! { <Whole job=job all=RunOverview::clone(&all) /> }.into_any()),
                Looked::Working => "Looking the run over…".to_owned(),
                Looked::Cannot(why) => crate::say::job::capital(&why),
            };
            Some(view! {
                <section class="sheet checks-over" aria-labelledby="over-title">
                    <h2 id="over-title">"The run"</h2>
                    <p role="status">{says}</p>
                </section>
            }.into_any())
        }}
    }
}

#[component]
fn Whole(job: JobId, all: RunOverview) -> impl IntoView {
    let RunOverview {
        pieces,
        features,
        pairs,
        shrinkage,
    } = all;
    let count = |mark: Mark| features.iter().map(|f| f.count(mark)).sum::<usize>();
    let sum = format!(
        "{} features on {} pieces: {}",
        features.len(),
        pieces.len(),
        model::still_open(count)
    );
    let rows = features
        .into_iter()
        .map(|f| view! { <Feature job=job.clone() pieces=pieces.clone() feature=f /> })
        .collect_view();
    let about = (pairs.into_iter())
        .map(|p| (p.title, vec![p.says]))
        .chain(shrinkage.into_iter().map(|s| (s.title, s.says)))
        .map(|(title, says)| {
            view! {
                <section class="over-feature">
                    <h3>{crate::say::job::capital(&title)}</h3>
                    <ul>{says.into_iter().map(|s| view! { <li>{s}</li> }).collect_view()}</ul>
                </section>
            }
        })
        .collect_view();
    view! {
        <section class="sheet checks-over" aria-labelledby="over-title">
            <h2 id="over-title">"The run"</h2>
            <p>{sum}</p>
            <p class="second">"✓ within · (✓) let stand · ? can’t tell with this · ! make again, it is of an older issue · ✗ outside · – not made · empty: to check"</p>
            {rows}
            {about}
        </section>
    }
}

#[component]
fn Feature(job: JobId, pieces: Vec<(PieceId, u32)>, feature: FeatureStands) -> impl IntoView {
    let open = model::still_open(|mark| feature.count(mark));
    let worst = feature
        .worst
        .as_ref()
        .map(|(_, number, says)| format!("Furthest out: piece {number}, {says}"));
    let squares = pieces
        .into_iter()
        .zip(feature.marks)
        .map(|((piece, number), mark)| {
            let route = Route::Checks {
                job: job.clone(),
                piece: Some(piece),
                feature: Some(feature.feature.clone()),
            };
            let spoken = format!("{}, piece {number}: {}", feature.title, mark.word());
            let hard = matches!(mark, Mark::Outside | Mark::MakeAgain | Mark::CantTell);
            view! {
                <a class="over-square" class:hard=hard href=route.address() aria-label=spoken>
                    <span>{number}</span>
                    <strong>{model::sign(mark)}</strong>
                </a>
            }
        })
        .collect_view();
    view! {
        <section class="over-feature">
            <h3>{feature.title.clone()}<span class="second">{open}</span></h3>
            <div class="over-squares">{squares}</div>
            <p class="second">{worst}</p>
            <ul>{feature.says.into_iter().map(|s| view! { <li>{s}</li> }).collect_view()}</ul>
        </section>
    }
}
