//! How many jigs the run needs, against how far their holes may be off.

use super::Hand;
use crate::ports::clock;
use crate::say;
use crate::state::Session;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, FewestView, FileKind, Reply};
use samespot_core::job::SheetOf;
use samespot_core::units::Length;
use std::sync::Arc;

/// One for all or how many: asked for, because it takes a while.
#[component]
pub(super) fn Shared(hand: Hand, of: SheetOf) -> impl IntoView {
    let found = RwSignal::new(None::<Arc<FewestView>>);
    let busy = RwSignal::new(false);
    let asked = of.clone();
    let look = move |_| {
        let Some(book) = hand.session.book.get_untracked() else {
            return;
        };
        let ask = Ask::Fewest {
            job: book.id().clone(),
            of: asked.clone(),
            within: None,
        };
        busy.set(true);
        spawn_local(async move {
            match Session::ask_apart(book, ask).await {
                Ok((Reply::Fewest(view), _)) => {
                    let _ = found.try_set(Some(Arc::from(view)));
                }
                Ok(_) => {}
                Err(sentence) => hand.session.notice(sentence, true),
            }
            let _ = busy.try_set(false);
        });
    };
    let rows = move || {
        let view = found.get()?;
        let keys = view
            .curve
            .iter()
            .map(|point| {
                let key = |kind: FileKind, words: &'static str| {
                    let (of, within) = (of.clone(), point.tolerance);
                    view! {
                        <button type="button" class="key"
                            aria-label=format!("{}, {words}", say::holes::shared(point))
                            on:click=move |_| save(hand, of.clone(), within, kind, busy)>
                            {words}
                        </button>
                    }
                };
                view! {
                    <li class="holes-jigs">
                        <span>{say::holes::shared(point)}</span>
                        {key(FileKind::Pdf, "PDF")}
                        {key(FileKind::Svg, "SVG")}
                        {key(FileKind::Dxf, "DXF")}
                    </li>
                }
            })
            .collect_view();
        let without = view.without.iter().map(|w| view! { <p>{w.clone()}</p> });
        Some(view! {
            <ul aria-label="Jigs for the run">{keys}</ul>
            <p class="second">{crate::say::FOR_A_CUTTER}</p>
            {without.collect_view()}
        })
    };
    view! {
        <button type="button" class="key" on:click=look>
            {move || if busy.get() { "Reckoning…" } else { "How many jigs for the run?" }}
        </button>
        {rows}
    }
}

fn save(hand: Hand, of: SheetOf, within: Length, kind: FileKind, busy: RwSignal<bool>) {
    let Some(book) = hand.session.book.get_untracked() else {
        return;
    };
    let ask = Ask::FewestFile {
        job: book.id().clone(),
        of,
        within: Some(within),
        kind,
        paper: book.job.about.paper.unwrap_or_default(),
        day: clock::day(),
    };
    spawn_local(hand.session.download(book, ask, busy));
}
