//! In which order the bolts are drawn up, and what is seen to before a hatch is closed.

use super::{Hand, fixing_in_hand};
use leptos::prelude::*;
use samespot_core::job::{DoneFact, DoneKind, EntityRef, Payload};
use samespot_core::prepare::holes::{BeforeClosing, HatchView, bolting_words};

/// The bolts of the fixing in hand.
#[component]
pub(super) fn Bolting(hand: Hand) -> impl IntoView {
    move || {
        let fixing = fixing_in_hand(hand)?;
        let words = bolting_words(fixing.bolting.as_ref()?);
        let words = words.into_iter().map(|w| view! { <p>{w}</p> });
        Some(view! {
            <section class="holes-notes" aria-labelledby="holes-bolting">
                <h2 id="holes-bolting">"In which order the bolts are drawn up"</h2>
                {words.collect_view()}
            </section>
        })
    }
}

/// The hatches of the piece.
#[component]
pub(super) fn Hatches(hand: Hand) -> impl IntoView {
    move || {
        hand.view().map(|view| {
            let all = view.hatches.iter().cloned();
            all.map(|hatch| view! { <Hatch hand=hand hatch=hatch /> })
                .collect_view()
        })
    }
}

fn done(hatch: &HatchView, what: &str, kind: DoneKind) -> Payload {
    Payload::Done(DoneFact {
        casting: hatch.casting.clone(),
        what: what.to_owned(),
        on: Some(EntityRef::Feature(hatch.feature.clone())),
        kind: Some(kind),
        near: Vec::new(),
    })
}

#[component]
fn Hatch(hand: Hand, hatch: HatchView) -> impl IntoView {
    let title = format!("hatch-{}", hatch.feature);
    let say = move |said: Payload| {
        hand.session.say(&[said]);
    };
    let item = |before: &BeforeClosing| {
        let tick = done(&hatch, &before.what, DoneKind::Ticked);
        let key = (before.by_hand && !before.done).then(|| {
            view! {
                <button type="button" class="key" on:click=move |_| say(tick.clone())>"Seen to"</button>
            }
        });
        view! {
            <li class="hatch-before" class:done=before.done>
                <span class="hatch-mark" aria-hidden="true">{if before.done { "✓" } else { "" }}</span>
                <span>
                    {before.what.clone()}
                    <span class="second">{if before.done { " – done" } else { " – open" }}</span>
                </span>
                {key}
            </li>
        }
    };
    let list = hatch.before.iter().map(item).collect_view();
    let cut = done(
        &hatch,
        &format!("hatch cut out, plug {} numbered and kept", hatch.plug),
        DoneKind::Cut,
    );
    let close = done(
        &hatch,
        &format!("plug {} back, hatch closed", hatch.plug),
        DoneKind::Closed,
    );
    let may_close = hatch.may_close();
    let keys = if hatch.open {
        view! {
            <button type="button" class="key"
                aria-disabled=(!may_close).to_string()
                on:click=move |_| {
                    if may_close {
                        say(close.clone());
                    } else {
                        hand.session.notice("Something above is still open: see to it before the hatch is closed", true);
                    }
                }>
                {format!("Plug {} is back, the hatch closed", hatch.plug)}
            </button>
        }
        .into_any()
    } else {
        view! {
            <button type="button" class="key" on:click=move |_| say(cut.clone())>
                {format!("It is cut out, plug {} numbered and kept", hatch.plug)}
            </button>
        }
        .into_any()
    };
    view! {
        <section class="holes-notes" aria-labelledby=title.clone()>
            <h2 id=title.clone()>{format!("Before {} is closed", samespot_core::prepare::lower(&hatch.name))}</h2>
            <p class="second">{hatch.stands.clone()}</p>
            <ul class="hatch-list">{list}</ul>
            {keys}
        </section>
    }
}
