//! The second way of checking: distances from marks to the painted middle, and what they are read with.

use super::gaps::Said;
use super::model::{self, FromMark};
use super::{Hand, Latest};
use crate::state::Session;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::length::Heard;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{FeatureId, InstrumentKind, MarkId};
use samespot_core::prepare::checks::Judgement;
use std::collections::BTreeMap;

/// What has been typed; it outlives a change to the other way and back.
#[derive(Clone, Copy)]
pub(super) struct Typed {
    pub(super) texts: RwSignal<BTreeMap<MarkId, String>>,
    pub(super) lay: RwSignal<String>,
    pub(super) gauge: RwSignal<String>,
}

impl Typed {
    pub(super) fn nothing() -> Self {
        Self {
            texts: RwSignal::new(BTreeMap::new()),
            lay: RwSignal::new("over".to_owned()),
            gauge: RwSignal::new(String::new()),
        }
    }
}

/// What it is read with: one of the job's, or not said.
#[component]
pub(super) fn Gauge(hand: Hand, id: &'static str, chosen: RwSignal<String>) -> impl IntoView {
    let all = Memo::new(move |_| {
        hand.session.book.with(|b| {
            let instruments = b.iter().flat_map(|b| &b.job.instruments);
            instruments
                .filter(|(_, i)| i.kind != Some(InstrumentKind::Drawing))
                .map(|(id, i)| {
                    let name = i.name.clone().unwrap_or_else(|| id.to_string());
                    (id.to_string(), name)
                })
                .collect::<Vec<_>>()
        })
    });
    view! {
        <label class="job-field checks-gauge">
            <span>"Read with"</span>
            <select id=id on:change=move |ev| chosen.set(event_target_value(&ev))>
                <option value="" selected=move || chosen.with(String::is_empty)>"not said"</option>
                {move || all.get().into_iter().map(|(id, name)| {
                    let value = id.clone();
                    view! { <option value=value selected=move || chosen.with(|c| *c == id)>{name}</option> }
                }).collect_view()}
            </select>
        </label>
    }
}

/// The distances of the feature in hand.
#[component]
pub(super) fn Marks(hand: Hand, feature: StoredValue<FeatureId>, typed: Typed) -> impl IntoView {
    let judged = RwSignal::new(None::<Judgement>);
    let asked = StoredValue::new(0_u32);
    // Which of the questions the verdict on show answers: an older one is not kept with newer distances.
    let answered = StoredValue::new(0_u32);
    let refused = RwSignal::new(None::<String>);
    let marks = Memo::new(move |_| {
        let check = hand.check()?;
        Some(check.from_marks?.marks)
    });
    let readings = Memo::new(move |_| {
        let book = hand.session.book.get()?;
        let piece = hand.piece.get()?;
        let read: Vec<FromMark> = typed.texts.with(|texts| {
            let heard = |t: &String| model::distance(t).entry();
            (texts.iter())
                .filter_map(|(mark, text)| Some((mark.clone(), heard(text)?)))
                .collect()
        });
        // What can't be understood is not left out in silence: nothing is judged until it is.
        let all = typed.texts.with(|texts| {
            texts
                .values()
                .all(|t| t.trim().is_empty() || model::distance(t).entry().is_some())
        });
        let over = typed.lay.get() == "over";
        let gauge = typed.gauge.get();
        let readings =
            model::readings(&book.job, &piece, &feature.get_value(), read, over, &gauge)?;
        (all && !readings.is_empty()).then_some(readings)
    });
    Effect::new(move |_| {
        let (readings, piece) = (readings.get(), hand.piece.get());
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        refused.set(None);
        let (Some(readings), Some(piece), Some(book)) =
            (readings, piece, hand.session.book.get_untracked())
        else {
            judged.set(None);
            return;
        };
        spawn_local(async move {
            let ask = Ask::JudgeMarks {
                job: book.id().clone(),
                piece,
                feature: feature.get_value(),
                readings,
            };
            let (came, why) = match Session::ask(book, ask).await {
                Ok((Reply::Judged(j), _)) => (Some(*j), None),
                Ok(_) => (None, None),
                Err(sentence) => (None, Some(sentence)),
            };
            if asked.try_get_value() == Some(number) {
                let _ = answered.try_set_value(number);
                let _ = judged.try_set(came);
                let _ = refused.try_set(why);
            }
        });
    });
    let keep = move |_| {
        if answered.get_value() != asked.get_value() {
            return;
        }
        let (Some(readings), Some(j), Some(piece)) = (
            readings.get_untracked(),
            judged.get_untracked(),
            hand.piece.get_untracked(),
        ) else {
            return;
        };
        let facts = hand.session.book.with_untracked(|b| {
            b.as_ref().map(|b| {
                model::check_by_marks(&b.job, &piece, &feature.get_value(), readings, j.found)
            })
        });
        if let Some(facts) = facts {
            hand.session.say(&facts);
            typed.texts.set(BTreeMap::new());
        }
    };
    let field = move |(mark, letter): (MarkId, String)| {
        let id = format!("from-{mark}");
        let (own, text_of) = (mark.clone(), mark.clone());
        let text = move || {
            typed
                .texts
                .with(|t| t.get(&text_of).cloned().unwrap_or_default())
        };
        let says = {
            let text = text.clone();
            move || match model::distance(&text()) {
                Heard::Nothing => "not read".to_owned(),
                Heard::Length(l) => format!("{} mm", crate::say::numbers::tenth(l.mm)),
                Heard::Refused(why) => why,
                Heard::Ask { question, .. } => question,
                Heard::List(_) => "one distance at a time".to_owned(),
            }
        };
        view! {
            <div class="from-mark">
                <label for=id.clone()>{format!("{letter} to its middle")}</label>
                <input
                    id=id
                    type="text"
                    inputmode="text"
                    autocomplete="off"
                    prop:value=text
                    on:input=move |ev| {
                        let new = event_target_value(&ev);
                        typed.texts.update(|t| { t.insert(own.clone(), new); });
                    }
                />
                <p class="second" aria-live="polite">{says}</p>
            </div>
        }
    };
    view! {
        <div class="checks-measure">
            <div>
                <p><strong>"Find the middle of what is painted and mark it on a strip of tape. Read from marks to it: two at least, as square to each other as there are"</strong></p>
                <Choices
                    legend="How the tape lies"
                    choices=vec![Choice::words("over", "over the surface"), Choice::words("straight", "straight")]
                    taken=typed.lay
                    take=move |v| typed.lay.set(v)
                />
                <div class="from-marks">
                    {move || marks.get().unwrap_or_default().into_iter().map(field).collect_view()}
                </div>
                <Gauge hand=hand id="marks-gauge" chosen=typed.gauge />
            </div>
            <div class="checks-verdict" role="status">
                {move || match (judged.get(), refused.get()) {
                    (Some(j), _) => view! { <Said judgement=j /> }.into_any(),
                    (None, Some(why)) => view! { <p class="checks-cannot">{why}</p> }.into_any(),
                    (None, None) => view! {
                        <p class="second">"Distances from two marks make a verdict; each further one checks the others"</p>
                    }.into_any(),
                }}
                <button type="button" class="key main big" on:click=keep
                    aria-disabled=move || if judged.with(Option::is_some) { "false" } else { "true" }>
                    {move || if judged.with(Option::is_some) { "Keep this check" } else { "Read from two marks to keep it" }}
                </button>
                <Latest hand=hand feature=feature />
            </div>
        </div>
    }
}
