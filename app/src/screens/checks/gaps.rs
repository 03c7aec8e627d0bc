//! One feature: what can be proved, the four gaps, the verdict, keeping it, letting it stand.

use super::marks::{Gauge, Marks, Typed};
use super::model::{self, CLOCK};
use super::{Hand, Latest, picture};
use crate::say::numbers::{size, tenth};
use crate::state::Session;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::length::Heard;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::check::Verdict;
use samespot_core::job::FeatureId;
use samespot_core::prepare::check_marks::ways_words;
use samespot_core::prepare::checks::{Judgement, method_words, verdict_words};
use std::collections::BTreeMap;

#[component]
fn Gap(id: &'static str, label: &'static str, text: RwSignal<String>) -> impl IntoView {
    let heard = move || model::heard(&text.get());
    let says = move || match heard() {
        Heard::Nothing => "not read yet".to_owned(),
        Heard::Length(l) => model::side(l.mm).to_owned(),
        Heard::Refused(why) => why,
        Heard::Ask { question, .. } => question,
        Heard::List(_) => "one gap at a time".to_owned(),
    };
    let step = move |by: i32| move |_| text.update(|t| *t = model::stepped(t, by));
    let inward = format!("{label}: half a millimetre further in");
    let outward = format!("{label}: half a millimetre further out");
    view! {
        <div class=format!("gap {id}")>
            <label for=id>{label}</label>
            <div class="gap-row">
                <button type="button" class="gap-key" aria-label=inward on:click=step(-1)>"−½"</button>
                <input
                    id=id
                    type="text"
                    inputmode="text"
                    autocomplete="off"
                    prop:value=move || text.get()
                    on:input=move |ev| text.set(event_target_value(&ev))
                />
                <button type="button" class="gap-key" aria-label=outward on:click=step(1)>"+½"</button>
            </div>
            <p class="second" aria-live="polite">{says}</p>
        </div>
    }
}

/// The feature in hand.
#[component]
pub(super) fn Gaps(hand: Hand, feature: FeatureId) -> impl IntoView {
    let feature = StoredValue::new(feature);
    let texts: [RwSignal<String>; 4] = core::array::from_fn(|_| RwSignal::new(String::new()));
    let (gauge, typed) = (RwSignal::new(String::new()), Typed::nothing());
    let way = RwSignal::new("lay-back".to_owned());
    let by_marks = move || way.with(|w| w == "marks");
    let judged = RwSignal::new(None::<Judgement>);
    let asked = StoredValue::new(0_u32);
    // Which of the questions the verdict on show answers: an older one is not kept with newer gaps.
    let answered = StoredValue::new(0_u32);
    let entries = Memo::new(move |_| model::entries(&texts.map(|t| t.get())));
    // Another piece: other gaps.
    Effect::new(move |before: Option<Option<samespot_core::job::PieceId>>| {
        let piece = hand.piece.get();
        if before.is_some_and(|b| b != piece) {
            texts.iter().for_each(|t| t.set(String::new()));
            typed.texts.set(BTreeMap::new());
        }
        piece
    });
    Effect::new(move |_| {
        let (entries, piece) = (entries.get(), hand.piece.get());
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        let (Some(entries), Some(piece), Some(book)) =
            (entries, piece, hand.session.book.get_untracked())
        else {
            judged.set(None);
            return;
        };
        spawn_local(async move {
            let ask = Ask::Judge {
                job: book.id().clone(),
                piece,
                feature: feature.get_value(),
                gaps: model::gaps(&entries),
            };
            let came = match Session::ask(book, ask).await {
                Ok((Reply::Judged(j), _)) => Some(*j),
                Ok(_) => None,
                Err(sentence) => {
                    hand.session.notice(sentence, true);
                    None
                }
            };
            if asked.try_get_value() == Some(number) {
                let _ = answered.try_set_value(number);
                let _ = judged.try_set(came);
            }
        });
    });
    let check = Memo::new(move |_| hand.check());
    // The rule and the tape of the job, until somebody says otherwise.
    Effect::new(move |done: Option<bool>| {
        let tape = check.with(|c| Some(c.as_ref()?.from_marks.as_ref()?.instrument.clone()));
        let known = done.unwrap_or(false);
        if !known && let Some(tape) = &tape {
            typed
                .gauge
                .set(tape.as_ref().map(ToString::to_string).unwrap_or_default());
            let rule = hand
                .session
                .book
                .with_untracked(|b| b.as_ref().and_then(|b| model::rule_in(&b.job)));
            gauge.set(rule.unwrap_or_default());
        }
        known || tape.is_some()
    });
    let cannot = move || check.with(|c| c.as_ref().and_then(|c| c.cannot.clone()));
    let keep = move |_| {
        if answered.get_value() != asked.get_value() {
            return;
        }
        let (Some(entries), Some(j), Some(piece)) = (
            entries.get_untracked(),
            judged.get_untracked(),
            hand.piece.get_untracked(),
        ) else {
            return;
        };
        let facts = hand.session.book.with_untracked(|b| {
            b.as_ref().map(|b| {
                let gauge = gauge.get_untracked();
                model::check(
                    &b.job,
                    &piece,
                    &feature.get_value(),
                    entries,
                    j.found,
                    &gauge,
                )
            })
        });
        if let Some(facts) = facts {
            hand.session.say(&facts);
            texts.iter().for_each(|t| t.set(String::new()));
        }
    };
    view! {
        <section class="sheet checks-feature-sheet">
            <header class="checks-head">
                <h2>{move || check.with(|c| c.as_ref().map(|c| c.title.clone()))}</h2>
                <p>{move || check.with(|c| c.as_ref().filter(|c| c.cannot.is_none()).map(method_words))}</p>
                <ul class="second">
                    {move || check.with(|c| c.as_ref().map(|c| c.before.clone()).unwrap_or_default())
                        .into_iter().map(|b| view! { <li>{b}</li> }).collect_view()}
                </ul>
            </header>
            <Show when=move || check.with(|c| c.as_ref().is_some_and(|c| c.from_marks.is_some()))>
                <p><strong>{move || check.with(|c| c.as_ref().and_then(|c| Some(ways_words(c.lay_back_sd, c.from_marks.as_ref()?))))}</strong></p>
                <Choices
                    legend="How it is checked"
                    choices=vec![
                        Choice::words("lay-back", "Lay the template back"),
                        Choice::words("marks", "Measure from the marks"),
                    ]
                    taken=way
                    take=move |v| way.set(v)
                />
            </Show>
            <Show when=move || by_marks() && cannot().is_none()>
                <Marks hand=hand feature=feature typed=typed />
            </Show>
            {move || cannot().map(|why| view! { <p class="checks-cannot">{why}</p> })}
            <Show when=move || !by_marks() && cannot().is_none()><div class="checks-measure">
                <div>
                    <p><strong>"Lay the template back on its crosses. Read the gap between its line and the paint’s edge"</strong></p>
                    <div class="gap-clock">
                        {CLOCK.iter().zip(texts).map(|(&(id, label), text)| view! { <Gap id=id label=label text=text /> }).collect_view()}
                        <div class="gap-middle">
                            {move || picture::target(judged.get().as_ref(), check.get().as_ref())}
                        </div>
                    </div>
                    <Gauge hand=hand id="gap-gauge" chosen=gauge />
                </div>
                <div class="checks-verdict" role="status">
                    {move || match judged.get() {
                        None => view! {
                            <p class="second">"Four gaps make a verdict: + is paint outside the line, − inside"</p>
                        }.into_any(),
                        Some(j) => view! { <Said judgement=j /> }.into_any(),
                    }}
                    <button type="button" class="key main big" on:click=keep
                        aria-disabled=move || if judged.with(Option::is_some) { "false" } else { "true" }>
                        {move || if judged.with(Option::is_some) { "Keep this check" } else { "Read all four to keep it" }}
                    </button>
                    <Latest hand=hand feature=feature />
                </div>
            </div></Show>
            <Run hand=hand />
        </section>
    }
}

#[component]
pub(super) fn Said(judgement: Judgement) -> impl IntoView {
    let f = judgement.found;
    let word = verdict_words(f.verdict);
    view! {
        <p class="checks-word" class:outside=f.verdict == Verdict::Outside>{crate::say::job::capital(word)}</p>
        <p class="checks-found">{judgement.says}</p>
        {judgement.size_says.map(|s| view! { <p>{s}</p> })}
        <p class="second">{format!("± {} of {} mm asked for", tenth(f.guard), size(f.limit))}</p>
        {judgement.doubt.map(|d| view! { <p class="checks-cannot">{d}</p> })}
        {judgement.settle.map(|s| view! { <p>{s}</p> })}
    }
}

/// The run so far.
#[component]
fn Run(hand: Hand) -> impl IntoView {
    let check = Memo::new(move |_| hand.check().filter(|c| c.run.len() > 1));
    view! {
        {move || check.get().map(|c| view! {
            <div class="checks-run">
                <h3>"The run so far"</h3>
                {c.drift.clone().map(|d| view! { <p class="checks-cannot">{d}</p> })}
                {picture::run(&c)}
                <p class="second">"How far out each piece is. Solid: the limit. Dashed: within for certain below, outside for certain above"</p>
            </div>
        })}
    }
}
