//! The faces of the design: what is cast, which side of it, and what it is like.

use super::face_like::FaceShapeForm;
use super::hand::Hand;
use super::model;
use crate::ports::{fields, ids};
use crate::route::Route;
use crate::screens::job::model::edit;
use crate::widgets::field::Field;
use leptos::prelude::*;
use samespot_core::job::{EntityRef, JobEdit, PartId};

/// All faces, and the shape of the one in hand.
#[component]
pub(super) fn Faces(hand: Hand) -> impl IntoView {
    let all = Memo::new(move |_| hand.of_job(model::faces).unwrap_or_default());
    let job = move || hand.session.route.with(|r| r.job().cloned());
    let title = Signal::derive(move || {
        hand.of_job(|j| j.about.title.clone())
            .flatten()
            .unwrap_or_default()
    });
    let keep_title = move |text: String| {
        hand.say(&edit(
            EntityRef::Job,
            &JobEdit {
                title: Some(text),
                ..JobEdit::default()
            },
        ));
    };
    view! {
        <section class="sheet job-part" aria-labelledby="setout-faces">
            <h2 id="setout-faces">"The job and its faces"</h2>
            <Field id="setout-job" label="What the job is called" value=title keep=keep_title hint="Quay puffins" />
            <nav class="setout-faces" aria-label="Faces">
                {move || {
                    let Some(job) = job() else { return Vec::new() };
                    let here = hand.face.get();
                    all.get()
                        .into_iter()
                        .map(|(face, words)| {
                            let current = here.as_ref() == Some(&face);
                            let route = Route::SetOut { job: job.clone(), face: Some(face) };
                            view! {
                                <a class="choice" href=route.address() aria-current=current.then_some("true")>
                                    {crate::say::job::capital(&words)}
                                </a>
                            }
                        })
                        .collect::<Vec<_>>()
                }}
            </nav>
            {move || {
                hand.session.stepped.track();
                hand.face.get().map(|face| view! {
                    <div class="setout-like"><FaceShapeForm hand=hand face=face /></div>
                })
            }}
            <AddFace hand=hand empty=Memo::new(move |_| all.with(Vec::is_empty)) />
        </section>
    }
}

#[component]
fn AddFace(hand: Hand, empty: Memo<bool>) -> impl IntoView {
    let part = RwSignal::new(String::new());
    let called = RwSignal::new(String::new());
    let parts = Memo::new(move |_| hand.of_job(model::parts).unwrap_or_default());
    let missing = move || {
        if part.get().trim().is_empty() {
            Some("Say what is cast")
        } else if called.get().trim().is_empty() {
            Some("Say which side of it")
        } else {
            None
        }
    };
    let add = move || {
        if missing().is_some() {
            return;
        }
        let typed = part.get_untracked().trim().to_owned();
        let known: Option<PartId> = parts.with_untracked(|all| {
            all.iter()
                .find(|(_, n)| n.to_lowercase() == typed.to_lowercase())
                .map(|(id, _)| id.clone())
        });
        let made = hand
            .with_job(|j| {
                model::add_face(
                    j,
                    known.ok_or(typed.as_str()),
                    &called.get_untracked(),
                    &mut ids::thing,
                )
                .map(|(face, said)| (j.id.clone(), face, said))
            })
            .flatten();
        if let Some((job, face, said)) = made {
            hand.say(&said);
            called.set(String::new());
            hand.session.go(&Route::SetOut {
                job,
                face: Some(face),
            });
            // What it is like comes next.
            fields::focus_at(".setout-like .choice");
        }
    };
    let form = move || {
        view! {
            <div class="job-row">
                <label class="job-field">
                    <span>"What is cast"</span>
                    <input id="face-part" type="text" autocomplete="off" list="face-parts" placeholder="figure"
                        prop:value=move || part.get() on:input=move |ev| part.set(event_target_value(&ev))
                        on:keydown=move |ev| {
                            if ev.key() == "Enter" {
                                ev.prevent_default();
                                fields::focus("face-name".into());
                            }
                        } />
                    <datalist id="face-parts">
                        {move || parts.get().into_iter().map(|(_, n)| view! { <option value=n></option> }).collect_view()}
                    </datalist>
                </label>
                <label class="job-field">
                    <span>"Which side of it"</span>
                    <input id="face-name" type="text" autocomplete="off" placeholder="left side of the head"
                        prop:value=move || called.get() on:input=move |ev| called.set(event_target_value(&ev))
                        on:keydown=move |ev| {
                            if ev.key() == "Enter" {
                                ev.prevent_default();
                                add();
                            }
                        } />
                </label>
                <button type="button" id="face-add" class="key" class:main=move || empty.get() && missing().is_none() on:click=move |_| add()
                    aria-disabled=move || if missing().is_none() { "false" } else { "true" }>
                    {move || missing().unwrap_or("Add this face")}
                </button>
            </div>
        }
    };
    view! {
        <details class="job-more" open=move || empty.get()>
            <summary>{move || if empty.get() { "The first face" } else { "Another face" }}</summary>
            {form()}
        </details>
    }
}
