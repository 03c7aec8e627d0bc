//! Brackets on the face in hand: what their holes are for, where they lie, what is behind.

mod around;
mod behind;
mod lies;
mod model;
mod roomy;
mod stops;
mod through_hatch;
mod turned;

use super::folded::Folded;
use super::hand::Hand;
use crate::ports::{fields, ids};
use crate::route::Route;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::field::Field;
use around::{KeepOuts, Spacing};
use behind::Behind;
use leptos::prelude::*;
use lies::Lies;
use roomy::Roomy;
use samespot_core::holes::fastener::Thread;
use samespot_core::job::{EntityRef, FixingEdit, FixingId, HandReaches, Payload, Removal};
use stops::Stops;
use through_hatch::ThroughHatch;
use turned::Turned;

/// The bracket whose particulars are open. A handle; copies are the same.
#[derive(Clone, Copy)]
struct Open {
    hand: Hand,
    fixing: StoredValue<FixingId>,
}

impl Open {
    fn id(self) -> FixingId {
        self.fixing.get_value()
    }

    /// As the job has it; whoever asks follows it.
    fn of<T>(self, read: impl Fn(&FixingEdit) -> T) -> Option<T> {
        let id = self.id();
        self.hand
            .of_job(|j| j.fixings.get(&id).map(&read))
            .flatten()
    }

    /// As the job has it now.
    fn now<T>(self, read: impl Fn(&FixingEdit) -> T) -> Option<T> {
        untrack(|| self.of(read))
    }

    fn keep(self, fields: FixingEdit) {
        self.hand.say_if_new(EntityRef::Fixing(self.id()), &fields);
    }
}

/// All brackets of the face, and the one in hand.
#[component]
pub(super) fn Fixings(hand: Hand) -> impl IntoView {
    let chosen = RwSignal::new(None::<FixingId>);
    let lines = Memo::new(move |_| {
        let face = hand.face.get()?;
        hand.of_job(|j| model::on_face(j, &face))
    });
    // A bracket of another face is not open here.
    let open = Memo::new(move |_| {
        let all = lines.get()?;
        chosen.get().filter(|c| all.iter().any(|(id, _)| id == c))
    });
    let called = RwSignal::new(String::new());
    let named = move || !called.get().trim().is_empty();
    let add = move || {
        let Some(face) = hand.face.get_untracked() else {
            return;
        };
        let name = called.get_untracked();
        if name.trim().is_empty() {
            return;
        }
        let made = hand
            .with_job(|j| model::add(j, &face, &name, &mut ids::thing))
            .flatten();
        if let Some((id, said)) = made {
            hand.say(&said);
            called.set(String::new());
            chosen.set(Some(id));
            fields::focus_at(".setout-form.fixing .choice");
        }
    };
    let list = move || {
        lines
            .get()
            .unwrap_or_default()
            .into_iter()
            .map(|(id, name)| {
                let here = {
                    let id = id.clone();
                    move || open.with(|o| o.as_ref() == Some(&id))
                };
                view! {
                    <li>
                        <button type="button" class="setout-point" aria-pressed=move || here().to_string()
                            on:click=move |_| chosen.set(Some(id.clone()))>
                            <strong>{name}</strong>
                        </button>
                    </li>
                }
            })
            .collect_view()
    };
    view! {
        <Folded id="setout-fixings" name="Brackets and holes drilled from this face" class="sheet job-part"
            used=Signal::derive(move || lines.with(|l| l.as_ref().is_some_and(|l| !l.is_empty())))>
            <p class="second">"Strength is not judged here: which bolts, how many and of what is for a competent person"</p>
            <div class="job-row">
                <label class="job-field">
                    <span>"What it is"</span>
                    <input id="fixing-new" type="text" autocomplete="off" placeholder="bracket bolts" prop:value=move || called.get()
                        on:input=move |ev| called.set(event_target_value(&ev))
                        on:keydown=move |ev| {
                            if ev.key() == "Enter" {
                                ev.prevent_default();
                                add();
                            }
                        } />
                </label>
                <button type="button" id="fixing-add" class="key" on:click=move |_| add()
                    aria-disabled=move || if named() { "false" } else { "true" }>
                    {move || if named() { "Add the bracket" } else { "Name it to add it" }}
                </button>
            </div>
            <ul class="setout-points">{list}</ul>
            {move || {
                hand.session.stepped.track();
                open.get().map(|id| view! { <FixingForm hand=hand fixing=id /> })
            }}
        </Folded>
    }
}

#[component]
fn FixingForm(hand: Hand, fixing: FixingId) -> impl IntoView {
    let open = Open {
        hand,
        fixing: StoredValue::new(fixing),
    };
    let name = Signal::derive(move || open.of(|f| f.name.clone()).flatten().unwrap_or_default());
    let thread =
        Signal::derive(move || open.of(|f| f.thread.clone()).flatten().unwrap_or_default());
    let no_thread = RwSignal::new(None::<String>);
    let keep_thread = move |text: String| match Thread::named(&text) {
        Ok(found) => {
            no_thread.set(None);
            open.keep(FixingEdit {
                thread: Some(found.name().to_owned()),
                ..FixingEdit::default()
            });
        }
        Err(why) => no_thread.set((!text.is_empty()).then(|| why.to_string())),
    };
    let purpose = Signal::derive(move || {
        open.of(|f| f.purpose)
            .flatten()
            .map(model::purpose_key)
            .unwrap_or_default()
            .to_owned()
    });
    let width = Signal::derive(move || {
        open.of(|f| f.width)
            .flatten()
            .map(model::width_key)
            .unwrap_or_default()
            .to_owned()
    });
    let held = Signal::derive(move || open.of(model::held_key).unwrap_or_default().to_owned());
    let held_words = move || match open.of(|f| f.hand_reaches).flatten() {
        Some(HandReaches::Yes) => {
            "Clearance holes in both: each gives room, so the holes may be further out"
        }
        Some(HandReaches::No) => {
            "Only the drilled hole gives room: the far side is fixed, so the holes must be nearer to true"
        }
        None => "Until it is said, it is reckoned as if no hand reached it",
    };
    let take_out = move |_| {
        let entity = EntityRef::Fixing(open.id());
        hand.say(&[Payload::Remove(Removal { entity })]);
    };
    view! {
        <div class="setout-form fixing">
            <Field id="fixing-name" label="What it is" value=name
                keep=move |n: String| open.keep(FixingEdit { name: Some(n), ..FixingEdit::default() }) />
            <Choices
                legend="What the holes are for"
                shown=true
                choices=vec![
                    Choice::words("bolt", "bolts"),
                    Choice::words("dowel", "dowels"),
                    Choice::words("lifting", "lifting by"),
                    Choice::words("drain", "drain"),
                    Choice::words("vent", "vent"),
                    Choice::words("cable", "cable"),
                    Choice::words("pilot", "pilot holes"),
                ]
                taken=purpose
                take=move |v: String| open.keep(FixingEdit { purpose: Some(model::purpose(&v)), ..FixingEdit::default() })
            />
            <div class="job-row">
                <Field id="fixing-thread" label="Bolt, or the size it would clear" hint="M10" value=thread keep=keep_thread />
            </div>
            <p class="job-why" role="status">{move || no_thread.get().map(|w| crate::say::job::capital(&w))}</p>
            <Choices
                legend="How wide the holes are"
                shown=true
                choices=vec![
                    Choice::words("fine", "close"),
                    Choice::words("medium", "usual"),
                    Choice::words("coarse", "loose"),
                ]
                taken=width
                take=move |v: String| open.keep(FixingEdit { width: Some(model::width(&v)), ..FixingEdit::default() })
            />
            <Lies open=open />
            <Turned open=open />
            <Choices
                legend="Can a hand reach the far side after closing?"
                shown=true
                choices=vec![
                    Choice::words("nut", "yes: a loose nut and washer"),
                    Choice::words("tapped", "no: the plate is tapped"),
                    Choice::words("captive", "no: captive nuts"),
                ]
                taken=held
                take=move |v: String| {
                    let (reaches, by) = model::held(&v);
                    open.keep(FixingEdit { hand_reaches: Some(reaches), held_by: Some(by), ..FixingEdit::default() });
                }
            />
            <p class="second">{held_words}</p>
            <Behind open=open />
            <ThroughHatch open=open />
            <Spacing open=open />
            <Roomy open=open />
            <KeepOuts open=open />
            <Stops open=open />
            <Next open=open />
            <details class="job-more">
                <summary>"Take it out of the design"</summary>
                <button type="button" class="key" on:click=take_out>"Take it out (Undo brings it back)"</button>
            </details>
        </div>
    }
}

/// What is still to be said, or the way to the holes.
#[component]
fn Next(open: Open) -> impl IntoView {
    let wants = move || {
        let face = open.hand.face.get()?;
        let marks = open.hand.of_job(|j| super::model::marks(j, &face))?;
        open.of(|f| model::to_do(f, &marks))
    };
    let job = move || open.hand.session.route.with(|r| r.job().cloned());
    view! {
        <div class="setout-todo" role="status">
            {move || match wants() {
                None => ().into_any(),
                Some(all) if all.is_empty() => {
                    let holes = job().map(|job| Route::Holes { job, piece: None }.address());
                    view! {
                        <p class="setout-done">"This bracket is set out: its holes are worked out for every piece whose casting is measured"</p>
                        <a class="key" href=holes>"Holes, piece by piece"</a>
                    }
                    .into_any()
                }
                Some(all) => view! {
                    <p>"Still to be said:"</p>
                    <ul>{all.into_iter().map(|t| view! { <li>{t}</li> }).collect_view()}</ul>
                }
                .into_any(),
            }}
        </div>
    }
}
