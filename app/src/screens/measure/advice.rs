//! What to read next, what is proved and what nothing checks: one sentence at a time.

use super::hand::{Hand, Looked};
use crate::say::numbers;
use leptos::prelude::*;
use samespot_core::prepare::mm;
use samespot_core::prepare::walk::{Differs, HeldAt};

/// One piece of advice; the next by a tap.
#[component]
pub(super) fn Advice(hand: Hand) -> impl IntoView {
    let advice = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => walk.advice.clone(),
        _ => Vec::new(),
    });
    let shown = RwSignal::new(0_usize);
    Effect::new(move |_| {
        advice.track();
        shown.set(0);
    });
    move || {
        let all = advice.get();
        let count = all.len();
        let here = shown.get().min(count.saturating_sub(1));
        all.get(here).cloned().map(|sentence| {
            let more = (count > 1).then(|| {
                view! {
                    <button
                        type="button"
                        class="key"
                        aria-label="Next advice"
                        on:click=move |_| shown.set((here + 1) % count)
                    >
                        {format!("{} of {count} ›", here + 1)}
                    </button>
                }
            });
            view! {
                <div class="advice">
                    <p role="status">{sentence}</p>
                    {more}
                </div>
            }
        })
    }
}

/// Whether each instrument can prove each feature.
#[component]
pub(super) fn Proofs(hand: Hand) -> impl IntoView {
    let proofs = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => walk.proofs.clone(),
        _ => Vec::new(),
    });
    move || {
        let all = proofs.get();
        (!all.is_empty()).then(|| {
            let lines = all
                .into_iter()
                .map(|p| {
                    let asked = p.asked;
                    let by =
                        p.by.into_iter()
                            .map(|(tool, within)| {
                                let can = if within <= asked { "can" } else { "can’t" };
                                format!("{tool} {can}: ±{} mm", numbers::tenth(within))
                            })
                            .collect::<Vec<_>>()
                            .join(" · ");
                    view! {
                        <dt>{format!("{}, within {} mm", p.feature, mm(asked))}</dt>
                        <dd>
                            {by}
                            {p.instead.map(|i| view! { <br /> {i} })}
                        </dd>
                    }
                })
                .collect_view();
            view! {
                <details class="proofs">
                    <summary>"Can these tapes prove it?"</summary>
                    <dl>{lines}</dl>
                </details>
            }
        })
    }
}

/// What shows only over the run, where this casting has part in it.
#[component]
pub(super) fn OverRun(hand: Hand) -> impl IntoView {
    let here = Memo::new(move |_| {
        let casting = match hand.looked.get() {
            Looked::Walk(walk) => walk.casting.clone(),
            _ => return Vec::new(),
        };
        let mut all = hand.pooled.get();
        // What a section does at its seam stands among what the walk says.
        all.retain(|p| p.castings.contains(&casting) && p.differs != Differs::Section);
        all
    });
    move || {
        here.get()
            .into_iter()
            .map(|p| {
                view! {
                    <details class="over-run">
                        <summary>{p.says}</summary>
                        <p class="second">{p.how}</p>
                    </details>
                }
            })
            .collect_view()
    }
}

/// By what the tape is held at the first mark.
#[component]
pub(super) fn HeldBy(hand: Hand, usual: Option<HeldAt>) -> impl IntoView {
    const WAYS: [(HeldAt, &str); 3] = [
        (HeldAt::Hook, "held by its hook or end"),
        (HeldAt::Zero, "held by its zero mark"),
        (HeldAt::Hundred, "held by its 100, taken off"),
    ];
    usual.map(|usual| {
        let now = move || hand.held.get().unwrap_or(usual);
        let options = WAYS
            .iter()
            .enumerate()
            .map(|(k, (way, words))| {
                view! {
                    <option value=k.to_string() selected=move || now() == *way>
                        {*words}
                    </option>
                }
            })
            .collect_view();
        view! {
            <select
                class="held"
                aria-label="How the tape is held"
                on:change=move |e| {
                    let k = event_target_value(&e).parse::<usize>().ok();
                    hand.held.set(k.and_then(|k| WAYS.get(k)).map(|w| w.0));
                }
            >
                {options}
            </select>
        }
    })
}
