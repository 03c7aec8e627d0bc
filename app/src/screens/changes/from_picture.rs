//! Where a feature is to go, off the client's marked-up picture: by four marks of its face.

use super::{here, of_job};
use crate::ports::{files, worker};
use crate::say;
use crate::screens::marked_picture::{MarkedUp, Picture, Place, Taken, held_marks};
use crate::state::Session;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, DrawnFile, Reply};
use samespot_core::job::{FaceShape, FeatureId, Job};
use samespot_core::prepare::setout::{FaceView, Stands};
use samespot_core::read::marked_picture::FromPicture;
use std::sync::Arc;

/// How far a feature is to move, in its own directions, mm.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Move {
    /// To the right; to the left is less than nothing.
    pub(super) right: f64,
    /// Up; down is less than nothing.
    pub(super) up: f64,
    /// Within this (95 %).
    pub(super) within: f64,
    /// What the picture's file was called.
    pub(super) picture: String,
}

#[derive(Debug, Clone, PartialEq)]
enum Step {
    Nothing,
    Reading,
    Refused(String),
    Open(Picture, Arc<FaceView>),
}

/// How far it is from where a feature is now to a place in the picture of its face; nothing where
/// readings do not hold the feature.
pub(super) fn to_move(
    job: &Job,
    view: &FaceView,
    feature: &FeatureId,
    to_mm: [f64; 2],
) -> Option<[f64; 2]> {
    let found = view.features.iter().find(|f| f.feature == *feature)?;
    let Stands::Held { at_mm, .. } = &found.stands else {
        return None;
    };
    let (x, y) = (to_mm[0] - at_mm[0], to_mm[1] - at_mm[1]);
    let (s, c) = found.turned.rad().sin_cos();
    let (right, up) = (x * c + y * s, y * c - x * s);
    // What earlier issues moved it by, it has moved already.
    let last = job.pieces.values().filter_map(|p| p.number).max()?;
    let before = job.in_force(feature, last)?.moved;
    Some([right - before.0.mm(), up - before.1.mm()])
}

fn round(job: &Job, feature: &FeatureId) -> bool {
    let shape = job
        .features
        .get(feature)
        .and_then(|f| job.faces.get(f.face.as_ref()?)?.shape.as_ref());
    !matches!(shape, Some(FaceShape::Flat))
}

fn words(from: &FromPicture) -> String {
    let what = if from.across > 0.0 {
        "The middle of what was drawn"
    } else {
        "The place"
    };
    format!("{what} is known to ± {:.1} mm", from.middle_within)
}

/// Chooses a picture, taps it, says how far the feature moves.
#[component]
pub(super) fn FromPictureForm(
    #[prop(into)] feature: Signal<Option<FeatureId>>,
    take: Callback<Move>,
) -> impl IntoView {
    let step = RwSignal::new(Step::Nothing);
    let open = move |file: files::Picked| {
        let (Some(feature), Some(book)) = (
            feature.get_untracked(),
            here().and_then(|s| s.book.get_untracked()),
        ) else {
            step.set(Step::Refused("say first what changes".into()));
            return;
        };
        let Some(face) = book.job.features.get(&feature).and_then(|f| f.face.clone()) else {
            return;
        };
        step.set(Step::Reading);
        spawn_local(async move {
            let next = match files::read(&file).await {
                Err(why) => Step::Refused(why),
                Ok(file) => {
                    // What is no picture, or too large a one, is refused before it is shown.
                    let told = r#"{"strokes":"ask","without-words":false}"#;
                    let came =
                        worker::on_demand(worker::Module::Artwork, told, Some(&file.bytes)).await;
                    let came = came.map(|(json, _)| samespot_core::json::read::<DrawnFile>(&json));
                    match came {
                        Err(why) => Step::Refused(why.of("picture reader", worker::TooLarge::PICTURE)),
                        Ok(Ok(DrawnFile::Refused { sentence })) => Step::Refused(sentence),
                        Ok(Ok(DrawnFile::NoFrame { .. } | DrawnFile::Outline { traced: Some(_), .. })) => {
                            let ask = Ask::Face { job: book.id().clone(), face };
                            match Session::ask(book, ask).await {
                                Ok((Reply::Face(view), _)) => Step::Open(
                                    Picture { name: file.name, bytes: Arc::new(file.bytes) },
                                    Arc::from(view),
                                ),
                                Ok(_) => Step::Nothing,
                                Err(why) => Step::Refused(why),
                            }
                        }
                        Ok(_) => Step::Refused("that is a drawing: a photograph or a screenshot of it, as JPEG or PNG, can be tapped".into()),
                    }
                }
            };
            let _ = step.try_set(next);
        });
    };
    let taken = move |view: &FaceView, picture: &str, taken: &Taken| {
        let Some(feature) = feature.get_untracked() else {
            return;
        };
        if !taken.by_marks {
            step.set(Step::Refused("a rectangle says how large something is, not where it is on the face: take four marks".into()));
            return;
        }
        let moved = super::from_job(|j| to_move(j, view, &feature, taken.from.middle_mm)).flatten();
        match moved {
            Some([right, up]) => {
                take.run(Move {
                    right,
                    up,
                    within: taken.from.middle_within,
                    picture: picture.to_owned(),
                });
                step.set(Step::Nothing);
            }
            None => step.set(Step::Refused(
                "where the feature is now is not held by readings yet: set it out first".into(),
            )),
        }
    };
    let accept = files::accept("image/jpeg,image/png");
    view! {
        <details class="from-picture">
            <summary>"From the client’s marked-up picture"</summary>
            <p class="second">"A photograph of the piece, or a drawing of it, with a cross where the middle should be, and four marks of the face in sight"</p>
            <label class="key file">
                "Choose the picture"
                <input id="change-picture" type="file" accept=accept
                    on:change=move |e| {
                        if let Some(file) = files::chosen(&e) {
                            open(file);
                        }
                    } />
            </label>
            {move || match step.get() {
                Step::Nothing => ().into_any(),
                Step::Reading => view! { <p class="second" role="status">"Reading the picture…"</p> }.into_any(),
                Step::Refused(why) => view! { <p class="why" role="alert">{say::job::capital(&why)}</p> }.into_any(),
                Step::Open(picture, view) => {
                    let marks: Vec<Place> = held_marks(&view);
                    let is_round = move || {
                        of_job(|j| feature.get().is_some_and(|f| round(j, &f))).unwrap_or(true)
                    };
                    let name = picture.name.clone();
                    view! {
                        <MarkedUp
                            picture=picture
                            marks=Signal::stored(marks)
                            round=Signal::derive(is_round)
                            words=words
                            take_label="Move it there"
                            take=Callback::new(move |t: Taken| taken(&view, &name, &t))
                        />
                    }
                    .into_any()
                }
            }}
        </details>
    }
}
