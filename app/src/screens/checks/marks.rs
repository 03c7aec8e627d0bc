//! The second way of checking: distances from marks to the painted middle, and what they are read with.

use super::Hand;
use super::asking::{Asking, KEEP, Read, Said};
use super::model::{self, FromMark};
use crate::ports::fields;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::length::Heard;
use leptos::prelude::*;
use samespot_core::answer::Ask;
use samespot_core::job::{FeatureId, InstrumentKind, MarkId};
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
    let asking = Asking::follow(hand, move |piece, job| {
        Some(Ask::JudgeMarks {
            job: job.clone(),
            piece: piece.clone(),
            feature: feature.get_value(),
            readings: readings.get()?,
        })
    });
    let keep = move |()| {
        let kept = asking.keep(hand, |job, piece, found| {
            let readings = readings.get_untracked()?;
            let feature = feature.get_value();
            Some(model::check_by_marks(job, piece, &feature, readings, found))
        });
        if kept {
            typed.texts.set(BTreeMap::new());
        }
    };
    let field = move |(mark, letter): (MarkId, String)| {
        let own = mark.clone();
        let of = mark.clone();
        let text = Signal::derive(move || {
            typed
                .texts
                .with(|t| t.get(&of).cloned().unwrap_or_default())
        });
        let says = Signal::derive(move || match model::distance(&text.get()) {
            Heard::Nothing => "not read".to_owned(),
            Heard::Length(l) => format!("{} mm", crate::say::numbers::tenth(l.mm)),
            Heard::Refused(why) => model::distance_refused(&text.get(), why),
            Heard::Ask { question, .. } => question,
            Heard::List(_) => "one distance at a time".to_owned(),
        });
        let id = format!("from-{mark}");
        let here = id.clone();
        let on_enter = move |()| {
            let heard = model::distance(&text.get_untracked());
            let goes_on = matches!(heard, Heard::Nothing | Heard::Length(_));
            if goes_on && !fields::focus_next_empty(".from-mark input", &here) {
                fields::go_on_to(KEEP);
            }
        };
        view! {
            <Read
                id=id
                label=format!("{letter} to its middle")
                class="read from-mark".to_owned()
                text=text
                typed=move |new| typed.texts.update(|t| { t.insert(own.clone(), new); })
                says=says
                on_enter=on_enter
            />
        }
    };
    view! {
        <div class="checks-measure">
            <div>
                <p>"Find the middle of what is painted and mark it on a strip of tape. Read from marks to it: two at least, as square to each other as there are"</p>
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
            <Said
                hand=hand
                feature=feature
                asking=asking
                before="Distances from two marks make a verdict; each further one checks the others"
                wants="Read from two marks to keep it"
                keep=keep
            />
        </div>
    }
}
