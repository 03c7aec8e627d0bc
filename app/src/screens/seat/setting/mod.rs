//! How a figure sits, said: the two parts, the locating dimension, where it rests and where that
//! is read, how it is bedded, and what is held and what is not.

mod layers;
mod model;
mod spots;

use super::hand::Hand;
use crate::ports::ids;
use crate::route::Route;
use crate::screens::setout::model::parts;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::field::Field;
use crate::widgets::looked::Looked;
use crate::widgets::typing::{TypedLength, Typing};
use layers::Layers;
use leptos::prelude::*;
use model::Spots;
use samespot_core::job::{Edit, EntityRef, Entry, Job, JointEdit, JointId, PartId, Payload};
use spots::SpotList;

/// The joint being set out. A handle; copies are the same.
#[derive(Clone, Copy)]
struct Open {
    hand: Hand,
    joint: StoredValue<JointId>,
}

impl Open {
    /// As the job has it; whoever asks follows it.
    fn of<T>(self, read: impl Fn(&JointEdit) -> T) -> Option<T> {
        let id = self.joint.get_value();
        of_job(self.hand, |j| j.joints.get(&id).map(&read)).flatten()
    }

    fn now<T>(self, read: impl Fn(&JointEdit) -> T) -> Option<T> {
        untrack(|| self.of(read))
    }

    fn keep(self, fields: &JointEdit) {
        let on = EntityRef::Joint(self.joint.get_value());
        let said = self.hand.session.book.with_untracked(|b| {
            b.as_ref()
                .map(|b| Edit::of(on, fields)?.still_to_say(&b.job))
        });
        if let Some(Ok(Some(edit))) = said {
            self.hand.session.say(&[Payload::Edit(edit)]);
        }
    }
}

fn of_job<T>(hand: Hand, read: impl Fn(&Job) -> T) -> Option<T> {
    hand.session.book.with(|b| b.as_ref().map(|b| read(&b.job)))
}

/// The joints of the job, and the one in hand to be set out.
#[component]
pub(super) fn SettingOut(hand: Hand) -> impl IntoView {
    let all = Memo::new(move |_| of_job(hand, model::joints).unwrap_or_default());
    let open = Memo::new(move |_| {
        let all = all.get();
        let chosen = hand.joint.get();
        chosen
            .filter(|c| all.iter().any(|(id, _)| id == c))
            .or_else(|| all.first().map(|(id, _)| id.clone()))
    });
    // Nothing to show yet: the form stands open.
    let empty = Memo::new(move |_| hand.looked.with(|l| !matches!(l, Looked::View(_))));
    view! {
        <details class="sheet job-part seat-setting" open=move || empty.get()>
            <summary>"How the figure sits: set it out or change it"</summary>
            <nav class="setout-faces" aria-label="Joints">
                {move || all.get().into_iter().map(|(id, name)| {
                    let here = open.get().as_ref() == Some(&id);
                    view! {
                        <button type="button" class="choice" aria-pressed=here.to_string()
                            on:click=move |_| hand.joint.set(Some(id.clone()))>
                            {name}
                        </button>
                    }
                }).collect_view()}
            </nav>
            {move || open.get().map(|joint| view! { <JointForm hand=hand joint=joint /> })}
            <AddJoint hand=hand />
        </details>
    }
}

#[component]
fn AddJoint(hand: Hand) -> impl IntoView {
    let all = Memo::new(move |_| of_job(hand, parts).unwrap_or_default());
    let base = RwSignal::new(String::new());
    let figure = RwSignal::new(String::new());
    let part = |text: &str| PartId::new(text).ok();
    let missing = move || match (part(&base.get()), part(&figure.get())) {
        (Some(b), Some(f)) if b == f => Some("Two parts, not one"),
        (Some(_), Some(_)) => None,
        _ => Some("Choose both parts"),
    };
    let add = move |_| {
        let (Some(b), Some(f)) = (part(&base.get_untracked()), part(&figure.get_untracked()))
        else {
            return;
        };
        let made = hand.session.book.with_untracked(|book| {
            let job = &book.as_ref()?.job;
            model::add(job, &b, &f, &mut ids::thing)
        });
        if let Some((id, said)) = made {
            hand.session.say(&said);
            hand.joint.set(Some(id));
            base.set(String::new());
            figure.set(String::new());
        }
    };
    let select = move |id: &'static str, label: &'static str, is: RwSignal<String>| {
        view! {
            <label class="job-field">
                <span>{label}</span>
                <select id=id on:change=move |ev| is.set(event_target_value(&ev)) prop:value=move || is.get()>
                    <option value="">"choose"</option>
                    {move || all.get().into_iter().map(|(id, name)| view! { <option value=id.to_string()>{name}</option> }).collect_view()}
                </select>
            </label>
        }
    };
    let setout = move || {
        hand.session
            .route
            .with(|r| r.job().cloned())
            .map(|job| Route::SetOut { job, face: None }.address())
    };
    view! {
        <Show
            when=move || all.with(|a| a.len() >= 2)
            fallback=move || view! {
                <p>"A seat is between two parts, and this job has fewer: set out a face of each first"</p>
                <a class="key main" href=setout>"Setting out"</a>
            }
        >
            <div class="job-row">
                {select("seat-base", "The part below", base)}
                {select("seat-figure", "The part that sits on it", figure)}
                <button type="button" id="seat-add" class="key" on:click=add aria-disabled=move || missing().is_some().to_string()>
                    {move || missing().unwrap_or("Add this seat")}
                </button>
            </div>
        </Show>
    }
}

#[component]
fn JointForm(hand: Hand, joint: JointId) -> impl IntoView {
    let open = Open {
        hand,
        joint: StoredValue::new(joint),
    };
    let name = Signal::derive(move || open.of(|j| j.name.clone()).flatten().unwrap_or_default());
    let length = |read: fn(&JointEdit) -> Option<samespot_core::units::Length>| {
        Typing::new(
            open.now(read)
                .flatten()
                .map(|l| Entry::of_mm(l.mm()))
                .as_ref(),
        )
    };
    let locating = Typing::of_length(
        open.now(|j| j.locating_dimension.clone())
            .flatten()
            .as_ref(),
    );
    let (within, least, greatest, edge) = (
        length(|j| j.within),
        length(|j| j.bed_least),
        length(|j| j.bed_greatest),
        length(|j| j.edge),
    );
    let done = Callback::new(move |_: bool| {
        let mm = |t: Typing| t.entry_now().map(|e| e.mm);
        let (thin, thick) = (mm(least), mm(greatest));
        if let (Some(thin), Some(thick)) = (thin, thick)
            && thin.mm() >= thick.mm()
        {
            hand.session.notice(
                "The least bed must be less than the greatest: type one of them again",
                true,
            );
            return;
        }
        open.keep(&JointEdit {
            locating_dimension: locating.entry_now(),
            within: mm(within),
            bed_least: thin,
            bed_greatest: thick,
            edge: mm(edge),
            ..JointEdit::default()
        });
    });
    let bedded = Signal::derive(move || {
        open.of(|j| j.bedded)
            .flatten()
            .map(model::bedded_key)
            .unwrap_or_default()
            .to_owned()
    });
    let bedded_words = move || {
        open.of(|j| j.bedded)
            .flatten()
            .map(samespot_core::prepare::seat::bedding_words)
    };
    let list = |all: Vec<String>| {
        all.into_iter()
            .map(|w| view! { <li>{w}</li> })
            .collect_view()
    };
    view! {
        <div class="setout-form">
            <Field id="joint-name" label="What it is called" value=name
                keep=move |n: String| open.keep(&JointEdit { name: Some(n), ..JointEdit::default() }) />
            <div class="fields">
                <TypedLength id="joint-locating" label="Locating dimension" typing=locating done=done />
                <TypedLength id="joint-within" label="It may be out by (2 unless you say)" typing=within done=done />
                <TypedLength id="joint-least" label="Least bed (2 unless you say)" typing=least done=done />
                <TypedLength id="joint-greatest" label="Greatest bed (6 unless you say)" typing=greatest done=done />
                <TypedLength id="joint-edge" label="From the middle to the edge of the joint" typing=edge done=done />
            </div>
            <Choices
                legend="How it is bedded"
                shown=true
                choices=vec![
                    Choice::words("own", "in filler, on its own base"),
                    Choice::words("master", "in filler, on the master seat"),
                    Choice::words("pads", "on hard pads, no filler"),
                ]
                taken=bedded
                take=move |v: String| open.keep(&JointEdit { bedded: Some(model::bedded(&v)), ..JointEdit::default() })
            />
            <p class="second">{bedded_words}</p>
            <SpotList open=open spots=Spots::Pads />
            <SpotList open=open spots=Spots::Stations />
            <Layers open=open />
            <h3>"What is held"</h3>
            <ul class="seat-list">{move || list(open.of(model::held).unwrap_or_default())}</ul>
            <div class="setout-todo" role="status">
                {move || {
                    let all = open.of(model::to_do).unwrap_or_default();
                    if all.is_empty() {
                        view! { <p class="setout-done">"This seat is set out. Heights and gaps are read piece by piece"</p> }.into_any()
                    } else {
                        view! {
                            <p>"Still to be said:"</p>
                            <ul>{all.into_iter().map(|t| view! { <li>{t}</li> }).collect_view()}</ul>
                        }
                        .into_any()
                    }
                }}
            </div>
        </div>
    }
}
