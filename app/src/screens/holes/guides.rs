//! What is made to guide the drill: the drill template and the jig of the fixing in hand, to print
//! or to cut.

use super::shared::Shared;
use super::{Hand, fixing_in_hand};
use crate::ports::clock;
use crate::say;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, FileKind};
use samespot_core::job::SheetOf;
use samespot_core::prepare::holes::GuideView;

/// What is done with a file.
#[derive(Clone, Copy)]
enum Way {
    Print,
    Save(FileKind),
}

fn make(hand: Hand, of: SheetOf, way: Way, busy: RwSignal<bool>) {
    let (Some(book), Some((_, piece))) = (
        hand.session.book.get_untracked(),
        hand.piece.get_untracked(),
    ) else {
        return;
    };
    let ask = |kind| Ask::File {
        job: book.id().clone(),
        kind,
        of: Some(of),
        pieces: vec![piece],
        paper: book.job.about.paper.unwrap_or_default(),
        day: clock::day(),
    };
    match way {
        Way::Print => {
            let ask = ask(FileKind::Pdf);
            spawn_local(hand.session.print(book, ask, busy));
        }
        Way::Save(kind) => {
            let ask = ask(kind);
            spawn_local(hand.session.download(book, ask, busy));
        }
    }
}

/// The plate that holds the bracket in hand while its glass cures.
#[component]
pub(super) fn Plate(hand: Hand) -> impl IntoView {
    move || {
        let plate = fixing_in_hand(hand)?.plate?;
        Some(view! { <Guide hand=hand guide=plate /> })
    }
}

/// The guides of the fixing in hand.
#[component]
pub(super) fn Guides(hand: Hand) -> impl IntoView {
    move || {
        fixing_in_hand(hand).map(|fixing| {
            let all = fixing.guides.into_iter();
            all.map(|guide| view! { <Guide hand=hand guide=guide /> })
                .collect_view()
        })
    }
}

#[component]
fn Guide(hand: Hand, guide: GuideView) -> impl IntoView {
    let busy = RwSignal::new(false);
    let name = say::holes::guide_name(&guide.of);
    let title = format!("holes-{}", guide.of);
    // Drilling is what the screen is for: no key of a guide is as yellow as its own.
    let key = |way: Way, words: String| {
        let of = guide.of.clone();
        view! {
            <button
                type="button"
                class="key"
                on:click=move |_| make(hand, of.clone(), way, busy)
            >
                {move || if busy.get() { "Making…".to_owned() } else { words.clone() }}
            </button>
        }
    };
    let lower = name.to_lowercase();
    let keys = guide.cannot.is_none().then(|| {
        view! {
            <div class="holes-numbers">
                {key(Way::Print, format!("Print the {lower}"))}
                {key(Way::Save(FileKind::Pdf), format!("{name} (PDF)"))}
                {key(Way::Save(FileKind::Svg), format!("{name} (SVG)"))}
                {key(Way::Save(FileKind::Dxf), format!("{name} (DXF)"))}
            </div>
            <p class="second">{crate::say::FOR_A_CUTTER}</p>
        }
    });
    let shared = (matches!(guide.of, SheetOf::Jig(_)) && guide.cannot.is_none()).then(|| {
        let of = guide.of.clone();
        view! { <Shared hand=hand of=of /> }
    });
    let says = match &guide.cannot {
        Some(why) => view! { <p>{say::job::capital(why)}</p> }.into_any(),
        None => {
            let holes = guide.holes.iter().map(|h| view! { <li>{h.clone()}</li> });
            let minded = guide
                .warnings
                .iter()
                .map(|w| view! { <p>{say::job::capital(w)}</p> });
            view! {
                <p>
                    <strong>{say::holes::guide_leaves(&guide)}</strong>
                </p>
                <p>{guide.laying.clone()}</p>
                <ul class="second">{holes.collect_view()}</ul>
                {minded.collect_view()}
            }
            .into_any()
        }
    };
    view! {
        <section class="holes-notes" aria-labelledby=title.clone()>
            <h2 id=title.clone()>{name}</h2>
            {guide
                .stale
                .clone()
                .or_else(|| guide.printed.clone().map(|p| format!("Printed {p}: it still holds")))
                .map(|p| view! { <p class="holes-caution">{p}</p> })}
            {says}
            {keys}
            {shared}
        </section>
    }
}
