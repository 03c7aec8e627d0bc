//! How big a feature is: shapes by picture, sizes as a workshop has them.

use super::hand::Hand;
use super::model;
use crate::screens::quick::drawings;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{EntityRef, FeatureEdit, FeatureId, OutlineSpec};

/// Shape and size of a feature.
#[component]
pub(super) fn OutlineForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let spec = hand
        .with_job(|j| j.features.get(&feature).and_then(|f| f.outline.clone()))
        .flatten();
    let mut words_is = String::new();
    let (shape_is, [across_is, up_is, corner_is, capitals_is]) = match &spec {
        None => ("", [None; 4]),
        Some(OutlineSpec::Circle { diameter }) => ("circle", [Some(diameter), None, None, None]),
        Some(OutlineSpec::Oval { width, height }) => {
            ("oval", [Some(width), Some(height), None, None])
        }
        Some(OutlineSpec::RoundedBox {
            width,
            height,
            corner,
        }) => ("box", [Some(width), Some(height), Some(corner), None]),
        Some(OutlineSpec::Lettering { text, capitals }) => {
            words_is.clone_from(text);
            ("words", [None, None, None, Some(capitals)])
        }
        Some(OutlineSpec::Artwork { width, .. }) => ("file", [Some(width), None, None, None]),
    };
    let sizes = [across_is, up_is, corner_is, capitals_is].map(Typing::new);
    let [across, up, corner, capitals] = sizes;
    let shape = RwSignal::new(shape_is.to_owned());
    let words = RwSignal::new(words_is);
    let done = Callback::new(move |_: bool| {
        let typed = sizes.map(Typing::entry_now);
        let Some(spec) = model::outline(&shape.get_untracked(), typed, &words.get_untracked())
        else {
            return;
        };
        hand.say_if_new(
            EntityRef::Feature(feature.clone()),
            &FeatureEdit {
                outline: Some(spec),
                ..FeatureEdit::default()
            },
        );
    });
    view! {
        <Choices
            legend="Its shape"
            shown=true
            choices=vec![
                Choice::drawn("circle", "Circle", drawings::circle),
                Choice::drawn("oval", "Oval", drawings::oval),
                Choice::drawn("box", "Rounded box", drawings::rounded_box),
                Choice::drawn("words", "Lettering", drawings::words),
            ]
            taken=shape
            take=move |v: String| {
                shape.set(v);
                done.run(false);
            }
        />
        {move || match shape.get().as_str() {
            "circle" => view! { <TypedLength id="feature-across" label="Across" typing=across done=done /> }.into_any(),
            "oval" => view! {
                <div class="fields">
                    <TypedLength id="feature-across" label="Across" typing=across done=done />
                    <TypedLength id="feature-up" label="Up" typing=up done=done />
                </div>
            }
            .into_any(),
            "box" => view! {
                <div class="fields">
                    <TypedLength id="feature-across" label="Across" typing=across done=done />
                    <TypedLength id="feature-up" label="Up" typing=up done=done />
                    <TypedLength id="feature-corner" label="Corner radius (a tenth unless you say)" typing=corner done=done />
                </div>
            }
            .into_any(),
            "words" => view! {
                <label class="job-field">
                    <span>"What it says"</span>
                    <input id="feature-words" type="text" maxlength="200" autocomplete="off"
                        prop:value=move || words.get()
                        on:input=move |ev| words.set(event_target_value(&ev))
                        on:change=move |_| done.run(false) />
                </label>
                <TypedLength id="feature-capitals" label="Height of the capitals" typing=capitals done=done />
            }
            .into_any(),
            "file" => view! { <p class="second">"Its outline came from a file. Choose a shape to replace it"</p> }.into_any(),
            _ => view! { <p class="second">"Tap what it looks like"</p> }.into_any(),
        }}
    }
}
