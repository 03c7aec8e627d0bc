//! Setting out: the faces of the design, what stands on them and what has to land there, from
//! readings on the pattern. The drawing and the table always say the same.

mod across;
mod board;
mod cut_out;
mod edge_made;
mod edge_model;
mod edge_pair;
mod edges;
mod face_like;
mod faces;
mod fixing;
mod folded;
mod full_size;
mod hand;
mod in_view;
mod laid;
mod left_out;
mod mark_select;
mod marked;
pub mod model;
mod outlined;
mod pair;
mod pair_model;
mod picture;
mod picture_sheet;
mod pips;
mod points;
mod readings;
#[cfg(test)]
mod recreated;
mod rod;
mod scan;
mod scan_model;
mod size_one_way;
mod sizes;
mod to_do;
mod traced;
mod turned;

use crate::route::Route;
use crate::state::session;
use crate::widgets::solid::TurnIt;
use hand::{Hand, Looked};
use leptos::prelude::*;
use samespot_core::job::{CastingId, FaceShape, Job};
use samespot_core::prepare::setout::{MarkView, Stands};
use samespot_core::prepare::solid::SolidOf;

/// The screen.
#[component]
pub fn SetOut() -> impl IntoView {
    let session = session();
    let hand = Hand::take(session);
    let any_face = Memo::new(move |_| hand.face.get().is_some());
    // Edges are lines of a face that unrolls; of another, those that are there already are shown.
    let has_edges = Memo::new(move |_| {
        let Some(face) = hand.face.get() else {
            return false;
        };
        hand.of_job(|j| {
            let shape = j.faces.get(&face).and_then(|f| f.shape.clone());
            let unrolls = matches!(
                shape,
                Some(FaceShape::Flat | FaceShape::Cylinder { .. } | FaceShape::Cone { .. })
            );
            unrolls || !edge_model::edges(j, &face).is_empty()
        }) == Some(true)
    });
    view! {
        <div class="setout">
            <div class="setout-side">
                <Show when=move || any_face.get() fallback=move || view! { <Welcome /> }>
                    <section class="sheet setout-drawing" aria-labelledby="setout-title"
                        class:waits=move || hand.looked.with(|l| matches!(l, Looked::Looking))>
                        <Title hand=hand />
                        <picture::Picture hand=hand />
                        <Turn hand=hand />
                        <ToDo hand=hand />
                    </section>
                    <readings::Readings hand=hand />
                </Show>
            </div>
            <div class="setout-side">
                <faces::Faces hand=hand />
                <Show when=move || any_face.get()>
                    <points::Points hand=hand />
                    <Show when=move || has_edges.get()>
                        <edges::Edges hand=hand />
                    </Show>
                    <fixing::Fixings hand=hand />
                    <board::OnBoard hand=hand />
                    <full_size::FullSize hand=hand />
                    <picture_sheet::PictureSheets hand=hand />
                    <pips::Pips hand=hand />
                </Show>
            </div>
        </div>
    }
}

/// The face in space, as far as readings hold it.
#[component]
fn Turn(hand: Hand) -> impl IntoView {
    let of = Memo::new(move |_| {
        let view = hand.view()?;
        let held = |m: &MarkView| matches!(m.stands, Stands::Held { .. });
        let enough = view.marks.iter().filter(|m| held(m)).count() >= 2;
        enough.then(|| SolidOf::Face(view.face.clone()))
    });
    view! { <TurnIt of=of on_pick=move |point| hand.choose(Some(point)) /> }
}

#[component]
fn Welcome() -> impl IntoView {
    view! {
        <section class="sheet setout-drawing">
            <h1>"Set up a job"</h1>
            <ol class="setout-steps">
                <li>"Say what is cast, and which side of it carries something"</li>
                <li>"Name the marks on it that can be found again on every casting"</li>
                <li>"Say what has to land in the right place, and how big it is"</li>
                <li>"Take the tape to the approved pattern: the tool asks for each distance"</li>
                <li>"Then the castings as they are pulled, and their templates"</li>
            </ol>
            <p class="second">"No drawing, no coordinates and no scan are needed. Everything can be changed afterwards"</p>
        </section>
    }
}

#[component]
fn Title(hand: Hand) -> impl IntoView {
    let words = move || {
        hand.face
            .get()
            .and_then(|f| {
                hand.of_job(|j| {
                    model::faces(j)
                        .into_iter()
                        .find(|(id, _)| *id == f)
                        .map(|(_, words)| words)
                })
            })
            .flatten()
            .unwrap_or_default()
    };
    view! { <h1 id="setout-title">{move || crate::say::job::capital(&words())}</h1> }
}

/// Castings that still want measuring, or none at all.
fn after(job: &Job) -> &'static str {
    if job.castings.values().all(|c| c.pattern == Some(true)) {
        "This face is set out. Next: the pieces of the run and their castings"
    } else {
        "This face is set out. Next: measure the castings, then print"
    }
}

#[component]
fn ToDo(hand: Hand) -> impl IntoView {
    let list = move || {
        let (face, view) = (hand.face.get()?, hand.view()?);
        let mut all = hand.of_job(|j| to_do::to_do(j, &face, &view))?;
        all.extend(
            view.notes
                .iter()
                .filter(|n| !n.starts_with("A face needs two"))
                .cloned(),
        );
        Some(all)
    };
    let job = move || hand.session.route.with(|r| r.job().cloned());
    let cannot = move || match hand.looked.get() {
        Looked::Cannot(why) => Some(crate::say::job::capital(&why)),
        _ => None,
    };
    // Once castings are read nobody asks where to begin.
    let step = move || {
        if let Some(words) = hand.scanning.get() {
            return Some(words);
        }
        let face = hand.face.get()?;
        let left = list().map_or(0, |all| all.len());
        hand.of_job(|j| {
            let pattern =
                |c: &CastingId| j.castings.get(c).is_some_and(|c| c.pattern == Some(true));
            let begun = j.readings.iter().any(|r| !pattern(&r.says.casting));
            (!begun).then(|| to_do::step(j, &face, left))
        })
        .flatten()
    };
    let up = move || {
        hand.view()
            .and_then(|v| v.up.as_ref().map(|u| u.sentence.clone()))
    };
    view! {
        <div class="setout-todo" role="status">
            <p class="second setout-step">{step}</p>
            {move || up().map(|words| view! { <p class="second">{words}</p> })}
            {move || {
                // What does not go with the shape before says nothing of the one that was tapped.
                let reshaping = hand.reshaping.get();
                let why = cannot().filter(|_| !reshaping);
                let words = reshaping.then(|| {
                    "Say how big it is in its new shape; until then the face counts as it was".to_owned()
                });
                words.or(why).map(|why| view! { <p>{why}</p> })
            }}
            {move || match list() {
                None => ().into_any(),
                Some(all) if !all.is_empty() => {
                    view! { <ul>{all.into_iter().map(|t| view! { <li>{t}</li> }).collect_view()}</ul> }.into_any()
                }
                Some(_) => {
                    let words = hand.of_job(after);
                    let to_job = job().map(|job| Route::Job { job, piece: None }.address());
                    let to_measure = job()
                        .map(|job| Route::Measure { job, piece: None, casting: None }.address());
                    view! {
                        <p class="setout-done">{words}</p>
                        <div class="job-row">
                            <a class="key" href=to_job>"Pieces and castings"</a>
                            <a class="key" href=to_measure>"Measure"</a>
                        </div>
                    }
                    .into_any()
                }
            }}
        </div>
    }
}
