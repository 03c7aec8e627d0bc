//! What a face is like and how big a feature is: shapes by picture, sizes as a workshop has them.

use super::hand::Hand;
use super::model;
use crate::screens::quick::drawings;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{
    AxisChoice, EntityRef, Entry, FaceEdit, FaceId, FaceShape, FeatureEdit, FeatureId, OutlineSpec,
    Size,
};

fn size_entries(size: Option<&Size>) -> (&'static str, [Option<&Entry>; 4], Option<u32>) {
    match size {
        Some(Size::Radius { radius }) => ("radius", [None, None, None, Some(radius)], None),
        Some(Size::StraightEdge { length, gap, .. }) => {
            ("edge", [None, Some(length), Some(gap), None], None)
        }
        Some(Size::GaugeCard { number }) => ("card", [None; 4], Some(*number)),
        Some(Size::Girth { girth }) => ("girth", [Some(girth), None, None, None], None),
        None => ("girth", [None; 4], None),
    }
}

/// What the face in hand is like.
#[component]
pub(super) fn FaceShapeForm(hand: Hand, face: FaceId) -> impl IntoView {
    let shape = hand
        .with_job(|j| j.faces.get(&face).and_then(|f| f.shape.clone()))
        .flatten();
    let mut axis_is = "up";
    let mut hollow_is = false;
    let mut size_is = None;
    let mut cone_is: [Option<Entry>; 3] = [None, None, None];
    let lies_is = match &shape {
        None => "",
        Some(FaceShape::Flat) => "flat",
        Some(FaceShape::Cylinder { axis, hollow, size }) => {
            axis_is = if *axis == AxisChoice::Across {
                "across"
            } else {
                "up"
            };
            (hollow_is, size_is) = (*hollow, Some(size));
            "round"
        }
        Some(FaceShape::Dome { hollow, size }) => {
            (hollow_is, size_is) = (*hollow, Some(size));
            "dome"
        }
        Some(FaceShape::TwoRadii { .. }) => "two",
        Some(FaceShape::Cone {
            lower,
            upper,
            slant,
        }) => {
            let girth = |s: &Size| match s {
                Size::Girth { girth } => Some(girth.clone()),
                _ => None,
            };
            cone_is = [girth(lower), girth(upper), Some(slant.clone())];
            "cone"
        }
    };
    let (by_is, [girth_is, edge_is, gap_is, radius_is], card_is) = size_entries(size_is);
    let (girth, edge, gap, radius) = (
        Typing::new(girth_is),
        Typing::new(edge_is),
        Typing::new(gap_is),
        Typing::new(radius_is),
    );
    let [lower, upper, slant] = cone_is.map(|e| Typing::new(e.as_ref()));
    let card = RwSignal::new(card_is.map(|n| n.to_string()).unwrap_or_default());
    let words = |t: &str| RwSignal::new(t.to_owned());
    let (lies, by, axis) = (words(lies_is), words(by_is), words(axis_is));
    let hollow = words(if hollow_is { "hollow" } else { "bulging" });
    let size = move || {
        Some(match by.get_untracked().as_str() {
            "card" => Size::GaugeCard {
                number: card
                    .get_untracked()
                    .trim()
                    .parse()
                    .ok()
                    .filter(|n| *n > 0)?,
            },
            "edge" => Size::StraightEdge {
                length: edge.entry_now()?,
                gap: gap.entry_now()?,
                read_to: None,
            },
            "radius" => Size::Radius {
                radius: radius.entry_now()?,
            },
            _ => Size::Girth {
                girth: girth.entry_now()?,
            },
        })
    };
    let done = Callback::new(move |_: bool| {
        let hollow = hollow.get_untracked() == "hollow";
        let shape = match lies.get_untracked().as_str() {
            "flat" => Some(FaceShape::Flat),
            "round" => size().map(|size| FaceShape::Cylinder {
                axis: if axis.get_untracked() == "across" {
                    AxisChoice::Across
                } else {
                    AxisChoice::Up
                },
                hollow,
                size,
            }),
            "dome" => size().map(|size| FaceShape::Dome { hollow, size }),
            "cone" => lower
                .entry_now()
                .zip(upper.entry_now())
                .zip(slant.entry_now())
                .map(|((lower, upper), slant)| FaceShape::Cone {
                    lower: Size::Girth { girth: lower },
                    upper: Size::Girth { girth: upper },
                    slant,
                }),
            _ => None,
        };
        let Some(shape) = shape else { return };
        hand.say_if_new(
            EntityRef::Face(face.clone()),
            &FaceEdit {
                shape: Some(shape),
                ..FaceEdit::default()
            },
        );
    });
    let take = move |signal: RwSignal<String>| {
        move |v: String| {
            signal.set(v);
            done.run(false);
        }
    };
    view! {
        <Choices
            legend="What it is like"
            shown=true
            choices=vec![
                Choice::drawn("flat", "Flat", drawings::flat),
                Choice::drawn("round", "Round one way", drawings::round),
                Choice::drawn("cone", "Tapered", drawings::tapered),
                Choice::drawn("dome", "Round both ways", drawings::dome),
            ]
            taken=lies
            take=take(lies)
        />
        {move || match lies.get().as_str() {
            "two" => view! {
                <p class="second">
                    "Round both ways, with a radius of its own each way, as said on the quick template. Choosing another shape here replaces both"
                </p>
            }
            .into_any(),
            "cone" => view! {
                <div class="fields three">
                    <TypedLength id="face-lower" label="Girth low down" typing=lower done=done />
                    <TypedLength id="face-upper" label="Girth higher up" typing=upper done=done />
                    <TypedLength id="face-slant" label="Between them, up the surface" typing=slant done=done />
                </div>
            }
            .into_any(),
            "round" | "dome" => {
                let round = lies.get_untracked() == "round";
                view! {
                    {round.then(|| view! {
                        <Choices
                            legend="It stands"
                            shown=true
                            choices=vec![
                                Choice::words("up", "upright, like a post"),
                                Choice::words("across", "lying, like a pipe"),
                            ]
                            taken=axis
                            take=take(axis)
                        />
                    })}
                    <Choices
                        legend="How big it is, on the pattern"
                        shown=true
                        choices=vec![
                            Choice::words("girth", "tape round it"),
                            Choice::words("card", "gauge card"),
                            Choice::words("edge", "straight-edge and gap"),
                            Choice::words("radius", "radius"),
                        ]
                        taken=by
                        take=take(by)
                    />
                    {move || match by.get().as_str() {
                        "card" => view! {
                            <label class="job-field">
                                <span>"Number of the gauge card that shows no light"</span>
                                <input id="face-card" inputmode="numeric" prop:value=move || card.get()
                                    on:input=move |ev| card.set(event_target_value(&ev))
                                    on:change=move |_| done.run(false) />
                            </label>
                        }
                        .into_any(),
                        "edge" => view! {
                            <div class="fields">
                                <TypedLength id="face-edge" label="Length of the straight-edge" typing=edge done=done />
                                <TypedLength id="face-gap" label="The gap" typing=gap done=done />
                            </div>
                            <p class="second">"Bulging: rock it until the gap is the same at both ends. Hollow: the gap in the middle. The longest edge that fits is the best"</p>
                        }
                        .into_any(),
                        "radius" => view! { <TypedLength id="face-radius" label="Radius" typing=radius done=done /> }.into_any(),
                        _ => view! { <TypedLength id="face-girth" label="All the way round, where the template goes" typing=girth done=done /> }.into_any(),
                    }}
                    <Choices
                        legend="Seen from outside it is"
                        shown=true
                        choices=vec![Choice::words("bulging", "bulging"), Choice::words("hollow", "hollow")]
                        taken=hollow
                        take=take(hollow)
                    />
                }
                .into_any()
            }
            _ => ().into_any(),
        }}
    }
}

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
