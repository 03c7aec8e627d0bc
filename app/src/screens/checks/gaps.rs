//! One feature: what can be proved, and the first way of checking it: the template laid back, four gaps.

use super::asking::{Asking, Beforehand, KEEP, Read, Said};
use super::marks::{Gauge, Marks, Typed};
use super::model::{self, CLOCK};
use super::run_so_far::RunSoFar;
use super::{Hand, picture};
use crate::ports::fields;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::length::Heard;
use leptos::prelude::*;
use samespot_core::answer::Ask;
use samespot_core::job::{Entry, FeatureId};
use samespot_core::prepare::check_marks::ways_words;
use samespot_core::prepare::checks::method_words;
use std::collections::BTreeMap;

#[component]
fn Gap(
    id: &'static str,
    label: &'static str,
    text: RwSignal<String>,
    /// What was kept of it.
    #[prop(into)]
    kept: Signal<Option<Entry>>,
) -> impl IntoView {
    let says = Signal::derive(move || match (model::heard(&text.get()), kept.get()) {
        (Heard::Nothing, None) => "not read yet".to_owned(),
        (Heard::Nothing, Some(kept)) => model::side(kept.mm).to_owned(),
        (Heard::Length(l), _) => model::side(l.mm).to_owned(),
        (Heard::Refused(why), _) => model::gap_refused(&text.get(), why),
        (Heard::Ask { question, .. }, _) => question,
        (Heard::List(_), _) => model::ONE_GAP.to_owned(),
    });
    // What isn’t understood is put right first.
    let on_enter = move |()| {
        let heard = model::heard(&text.get_untracked());
        if matches!(heard, Heard::Nothing | Heard::Length(_)) {
            fields::go_on_to(model::gap_after(id).unwrap_or(KEEP));
        }
    };
    view! {
        <Read
            id=id.to_owned()
            label=label.to_owned()
            class=format!("read gap {id}")
            text=text
            typed=move |new| text.set(new)
            says=says
            kept=Signal::derive(move || kept.get().map(|e| e.typed).unwrap_or_default())
            on_enter=on_enter
            steps=true
        />
    }
}

/// Which template is laid back, by the reference printed on it: asked where more than one may be in hand.
#[component]
fn LaidBack(
    hand: Hand,
    feature: StoredValue<FeatureId>,
    /// The reference chosen; the latest where it is empty.
    chosen: RwSignal<String>,
) -> impl IntoView {
    let all = Memo::new(move |_| {
        let piece = hand.piece.get();
        let book = hand.session.book.get();
        book.zip(piece)
            .map(|(b, piece)| model::templates(&b.job, &piece, &feature.get_value()))
            .unwrap_or_default()
    });
    view! {
        <Show when=move || all.with(|a| a.len() > 1)>
            <label class="job-field checks-gauge">
                <span>"Template laid back, by the reference on it"</span>
                <select id="gap-template" on:change=move |ev| chosen.set(event_target_value(&ev))>
                    {move || all.get().into_iter().enumerate().map(|(n, (reference, name))| {
                        let (value, own) = (reference.clone(), reference);
                        let name = if n == 0 { format!("{name} (the latest)") } else { name };
                        let taken = move || chosen.with(|c| *c == own || n == 0 && c.is_empty());
                        view! { <option value=value selected=taken>{name}</option> }
                    }).collect_view()}
                </select>
            </label>
        </Show>
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
    let entries = Memo::new(move |_| model::entries(&texts.map(|t| t.get())));
    let laid_back = RwSignal::new(String::new());
    // Another piece: other gaps.
    Effect::new(move |before: Option<Option<samespot_core::job::PieceId>>| {
        let piece = hand.piece.get();
        if before.is_some_and(|b| b != piece) {
            texts.iter().for_each(|t| t.set(String::new()));
            typed.texts.set(BTreeMap::new());
            laid_back.set(String::new());
        }
        piece
    });
    let asking = Asking::follow(hand, move |piece, job| {
        Some(Ask::Judge {
            job: job.clone(),
            piece: piece.clone(),
            feature: feature.get_value(),
            gaps: model::gaps(entries.get().as_ref()?),
        })
    });
    let check = Memo::new(move |_| hand.check());
    let nothing_typed = move || texts.iter().all(|t| t.with(|t| t.trim().is_empty()));
    // What was kept stays on show until the next is typed.
    let kept = Memo::new(move |_| {
        let piece = hand.piece.get()?;
        let book = hand.session.book.get()?;
        let kept = model::kept_gaps(&book.job, &piece, &feature.get_value());
        kept.filter(|_| nothing_typed())
    });
    let found = move || match asking.judged() {
        Some(judged) => Some(judged.found),
        None => kept
            .with(Option::is_some)
            .then(|| check.with(|c| Some(c.as_ref()?.latest.as_ref()?.found)))
            .flatten(),
    };
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
    let keep = move |()| {
        let kept = asking.keep(hand, |job, piece, found| {
            let entries = entries.get_untracked()?;
            let gauge = gauge.get_untracked();
            let feature = feature.get_value();
            let template = laid_back.get_untracked();
            Some(model::check(
                job,
                piece,
                &feature,
                entries,
                found,
                &gauge,
                Some(&template),
            ))
        });
        if kept {
            texts.iter().for_each(|t| t.set(String::new()));
        }
    };
    view! {
        <section class="sheet checks-feature-sheet">
            <header class="checks-head">
                <h2>{move || check.with(|c| c.as_ref().map(|c| c.title.clone()))}</h2>
                <p>{move || check.with(|c| c.as_ref().filter(|c| c.cannot.is_none()).map(method_words))}</p>
            </header>
            <Show when=move || check.with(|c| c.as_ref().is_some_and(|c| c.from_marks.is_some()))>
                <div class="checks-ways"><Choices
                    legend="How it is checked"
                    choices=vec![
                        Choice::words("lay-back", "Lay the template back"),
                        Choice::words("marks", "Measure from the marks"),
                    ]
                    taken=way
                    take=move |v| way.set(v)
                />
                <p class="second">{move || check.with(|c| c.as_ref().and_then(|c| Some(ways_words(c.lay_back_sd, c.from_marks.as_ref()?))))}</p></div>
            </Show>
            <Show when=move || by_marks() && cannot().is_none()>
                <Marks hand=hand feature=feature typed=typed />
            </Show>
            {move || cannot().map(|why| view! { <p class="checks-cannot">{why}</p><Beforehand hand=hand /> })}
            <Show when=move || !by_marks() && cannot().is_none()><div class="checks-measure">
                <div>
                    <p>"Lay the template back on its crosses. Read the gap between its line and the paint’s edge, in mm"</p>
                    <div class="gap-clock">
                        {CLOCK.iter().zip(texts).enumerate().map(|(n, (&(id, label), text))| {
                            let kept = Signal::derive(move || kept.with(|k| k.as_ref()?.get(n).cloned()));
                            view! { <Gap id=id label=label text=text kept=kept /> }
                        }).collect_view()}
                        <div class="gap-middle">
                            {move || picture::target(found(), check.get().as_ref())}
                        </div>
                    </div>
                    <LaidBack hand=hand feature=feature chosen=laid_back />
                    <Gauge hand=hand id="gap-gauge" chosen=gauge />
                </div>
                <Said
                    hand=hand
                    feature=feature
                    asking=asking
                    before=Signal::derive(move || if kept.with(Option::is_some) {
                        "The four gaps are kept as they were read"
                    } else {
                        "Four gaps make a verdict: + is paint outside the line, − inside"
                    })
                    wants=Signal::derive(move || if kept.with(Option::is_some) {
                        "Type all four to check it again"
                    } else {
                        "Read all four to keep it"
                    })
                    keep=keep
                />
            </div></Show>
            <RunSoFar hand=hand />
        </section>
    }
}
