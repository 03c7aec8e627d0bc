//! Checking a drilled hole: how wide it is, and where its middle is against the template.

use super::hand::{At, Hand, checked_fact};
use crate::say::job::capital;
use crate::state::Session;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::check::{HoleTool, Verdict};
use samespot_core::prepare::holes::{HoleJudgement, HoleTyped};

/// The check of the hole in hand.
#[component]
pub(super) fn Check(hand: Hand) -> impl IntoView {
    let across = Typing::of_length(None);
    let right = Typing::either_side(None, "left of the cross", "right of the cross");
    let up = Typing::either_side(None, "below the cross", "above the cross");
    let with = RwSignal::new(HoleTool::default());
    let judged = RwSignal::new(None::<Result<HoleJudgement, String>>);
    let asked = StoredValue::new(0_u32);
    // Which question the verdict on show answers: an older one is not kept with newer figures.
    let answered = StoredValue::new(0_u32);
    let empty = move || {
        for field in [across, right, up] {
            field.set("");
        }
    };
    // Another hole or piece: other figures.
    Effect::new(move |before: Option<(Option<At>, _)>| {
        let now = (hand.at.get(), hand.piece.get());
        if before.is_some_and(|b| b != now) {
            empty();
        }
        now
    });
    Effect::new(move |_| {
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        let typed =
            across
                .entry()
                .zip(right.entry())
                .zip(up.entry())
                .map(|((across, right), up)| HoleTyped {
                    across,
                    right,
                    up,
                    with: with.get(),
                });
        let (Some(typed), Some((_, piece)), Some(at), Some(book)) = (
            typed,
            hand.piece.get(),
            hand.at.get(),
            hand.session.book.get_untracked(),
        ) else {
            judged.set(None);
            return;
        };
        spawn_local(async move {
            let ask = Ask::JudgeHole {
                job: book.id().clone(),
                piece,
                fixing: at.fixing,
                hole: at.hole,
                typed,
            };
            let came = match Session::ask(book, ask).await {
                Ok((Reply::HoleJudged(j), _)) => Some(Ok(*j)),
                Ok(_) => None,
                Err(sentence) => Some(Err(sentence)),
            };
            if asked.try_get_value() == Some(number) {
                let _ = answered.try_set_value(number);
                let _ = judged.try_set(came);
            }
        });
    });
    let ready = move || judged.with(|j| matches!(j, Some(Ok(_))));
    Effect::new(move |_| hand.checking.set(ready()));
    let can_tell = move || {
        let fixing = super::fixing_in_hand(hand)?;
        let says = fixing.can_tell.into_iter();
        Some(
            says.map(|s| view! { <p class="second">{s}</p> })
                .collect_view(),
        )
    };
    let keep = move |_| {
        if answered.get_value() != asked.get_value() {
            return;
        }
        let (Some(Ok(j)), Some((_, piece)), Some(at)) = (
            judged.get_untracked(),
            hand.piece.get_untracked(),
            hand.at.get_untracked(),
        ) else {
            return;
        };
        // What it became stays said.
        let became = hand.became_now();
        hand.session
            .say(&[checked_fact(&piece, &at, became, j.found)]);
        empty();
    };
    view! {
        <details class="job-more holes-check">
            <summary>"Check this hole…"</summary>
            <p class="second">"Lay the drill template on its crosses again and put a pin through the cross of this hole. Read how far the hole’s middle is from the pin, and how wide the hole is"</p>
            {can_tell}
            <Choices
                legend="Read with"
                shown=true
                choices=vec![Choice::words("rule", "a rule"), Choice::words("calipers", "calipers")]
                taken=Signal::derive(move || {
                    match with.get() {
                        HoleTool::Rule => "rule",
                        HoleTool::Calipers => "calipers",
                    }
                    .to_owned()
                })
                take=move |v: String| {
                    with.set(if v == "calipers" { HoleTool::Calipers } else { HoleTool::Rule });
                }
            />
            <TypedLength id="hole-across" label="How wide it is" typing=across done=Callback::new(|_: bool| ()) />
            <TypedLength id="hole-right" label="Its middle right of the pin (− is left)" typing=right done=Callback::new(|_: bool| ()) />
            <TypedLength id="hole-up" label="Its middle above the pin (− is below)" typing=up done=Callback::new(|_: bool| ()) />
            <div role="status">
                {move || match judged.get() {
                    None => ().into_any(),
                    Some(Err(why)) => view! { <p class="holes-caution">{capital(&why)}</p> }.into_any(),
                    Some(Ok(j)) => view! {
                        <p class="checks-found" class:outside=j.found.judged.place.verdict == Verdict::Outside>{j.place}</p>
                        <p>{j.room}</p>
                        <p class:holes-caution=j.found.judged.width == Verdict::Outside>{j.width}</p>
                        {j.settle.map(|s| view! { <p>{s}</p> })}
                    }.into_any(),
                }}
            </div>
            <button type="button" id="hole-keep" class="key" class:main=ready on:click=keep aria-disabled=move || (!ready()).to_string()>
                {move || if ready() { "Keep this check" } else { "Three figures make a verdict" }}
            </button>
        </details>
    }
}
