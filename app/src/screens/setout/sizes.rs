//! How big a feature is: shapes by picture, sizes as a workshop has them.

use super::hand::Hand;
use super::outlined;
use super::traced::Crosses;
use crate::screens::artwork::{ArtworkFile, Drawing};
use crate::screens::marked_picture::held_marks;
use crate::screens::quick::drawings;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{
    Edit, EntityRef, FaceShape, FeatureEdit, FeatureId, OutlineSpec, Payload, PointRef,
};
use samespot_core::write::job::{Attachments, attachment_hash};

/// What each shape is asked for, in the order of its fields.
fn asked(shape: &str) -> &'static [(&'static str, &'static str)] {
    match shape {
        "circle" => &[("across", "Across")],
        "oval" => &[("across", "Across"), ("up", "Up")],
        "box" => &[
            ("across", "Across"),
            ("up", "Up"),
            ("corner", "Corner radius (a tenth unless you say)"),
        ],
        "ring" => &[("across", "Across, outside"), ("hole", "Across the hole")],
        "star" => &[
            ("across", "Across, point to point through the middle"),
            (
                "waist",
                "Across its inner corners (straight from point to point unless you say)",
            ),
        ],
        "band" => &[
            ("width", "How wide the band is"),
            ("long", "How long, along its middle"),
            ("radius", "Radius of its middle"),
        ],
        "words" | "strokes" => &[("capitals", "Height of the capitals")],
        "file" => &[("across", "One known length: all of it, across")],
        _ => &[],
    }
}

const KEYS: [&str; 9] = [
    "across", "up", "corner", "hole", "waist", "width", "long", "radius", "capitals",
];

/// What its field is called in the page.
fn id_of(key: &str) -> &'static str {
    match key {
        "across" => "feature-across",
        "up" => "feature-up",
        "corner" => "feature-corner",
        "hole" => "feature-hole",
        "waist" => "feature-waist",
        "width" => "feature-width",
        "long" => "feature-long",
        "radius" => "feature-radius",
        _ => "feature-capitals",
    }
}

/// Shape and size of a feature.
#[component]
pub(super) fn OutlineForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let spec = hand
        .with_job(|j| id.with_value(|id| j.features.get(id).and_then(|f| f.outline.clone())))
        .flatten();
    let stands = outlined::sizes(spec.as_ref());
    let typing = StoredValue::new(KEYS.map(|key| {
        let there = stands.sizes.get(key).copied();
        // A corner may be sharp; nothing else of a shape is nothing long.
        let typing = match key {
            "corner" => Typing::new(there),
            _ => Typing::of_length(there),
        };
        (key, typing)
    }));
    let of = move |key: &str| {
        typing.with_value(|all| all.iter().find(|(k, _)| *k == key).map(|(_, t)| *t))
    };
    let shape = RwSignal::new(stands.shape.to_owned());
    let words = RwSignal::new(stands.words);
    let points = RwSignal::new(stands.points);
    let file = RwSignal::new(stands.file);
    let attached = StoredValue::new(Attachments::new());
    let say = move || {
        let size = |key: &str| of(key).and_then(Typing::entry_now);
        let spec = match shape.get_untracked().as_str() {
            "file" => file
                .get_untracked()
                .zip(size("across"))
                .map(|(file, width)| file.outline(width)),
            shape => outlined::outline(
                shape,
                &size,
                &points.get_untracked(),
                &words.get_untracked(),
            ),
        };
        let fields = FeatureEdit {
            outline: spec,
            ..FeatureEdit::default()
        };
        let on = EntityRef::Feature(id.get_value());
        // A file goes with the first that is said of it: it may have been chosen long before its size was typed.
        let speaks_of = match &fields.outline {
            Some(OutlineSpec::Artwork { attachment, .. }) => Some(attachment.clone()),
            _ => None,
        };
        let said = hand.with_job(|j| Edit::of(on, &fields)?.still_to_say(j));
        if let Some(Ok(Some(edit))) = said {
            let mut with = attached.get_value();
            with.retain(|hash, _| speaks_of.as_ref() == Some(hash));
            hand.session.say_with(&[Payload::Edit(edit)], with);
            attached.update_value(|all| all.retain(|hash, _| speaks_of.as_ref() != Some(hash)));
        }
    };
    let done = Callback::new(move |_: bool| say());
    let field = move |key: &'static str, label: &'static str| {
        of(key).map(
            |typing| view! { <TypedLength id=id_of(key) label=label typing=typing done=done /> },
        )
    };
    let crosses = RwSignal::new((Vec::new(), 0.0));
    let take_file = Callback::new(move |drawing: Drawing| {
        if let Some((across, typing)) = drawing.across.as_deref().zip(of("across")) {
            typing.set(across);
        }
        let hash = attachment_hash(&drawing.stored);
        file.set(Some(outlined::FileOutline {
            attachment: hash.clone(),
            name: drawing.name,
            ignored: drawing.ignored,
        }));
        attached.set_value([(hash, drawing.stored)].into());
        say();
        crosses.set(drawing.crosses);
        if let Some((at_mm, within)) = drawing.place {
            hand.put_down_within(PointRef::Feature(id.get_value()), at_mm, Some(within));
        }
    });
    let marks = Signal::derive(move || hand.view().map(|v| held_marks(&v)).unwrap_or_default());
    let round = Signal::derive(move || {
        let face = hand.face.get();
        let shape = hand.of_job(|j| j.faces.get(face.as_ref()?)?.shape.clone());
        !matches!(shape.flatten(), None | Some(FaceShape::Flat))
    });
    view! {
        <Choices
            legend="Its shape"
            shown=true
            choices=vec![
                Choice::drawn("circle", "Circle", drawings::circle),
                Choice::drawn("oval", "Oval", drawings::oval),
                Choice::drawn("box", "Rounded box", drawings::rounded_box),
                Choice::drawn("ring", "Ring", drawings::ring),
                Choice::drawn("star", "Star", drawings::star),
                Choice::drawn("band", "Arc band", drawings::band),
                Choice::drawn("words", "Lettering", drawings::words),
                Choice::drawn("strokes", "Lettering in single lines", drawings::strokes),
                Choice::drawn("file", "Tracing or file", drawings::file),
            ]
            taken=shape
            take=move |v: String| {
                shape.set(v);
                done.run(false);
            }
        />
        {move || {
            let shape = shape.get();
            let fields = asked(&shape);
            let sizes = move || {
                let all = fields.iter().map(|(key, label)| field(key, label));
                view! { <div class="fields">{all.collect_view()}</div> }
            };
            match shape_of(&shape) {
                Asks::Nothing => view! { <p class="second">"Tap what it looks like"</p> }.into_any(),
                Asks::Sizes => sizes().into_any(),
                Asks::Points => view! {
                    <label class="job-field">
                        <span>"How many points"</span>
                        <input id="feature-points" inputmode="numeric" maxlength="2" autocomplete="off"
                            prop:value=move || points.get()
                            on:input=move |ev| points.set(event_target_value(&ev))
                            on:change=move |_| done.run(false) />
                    </label>
                    {sizes()}
                }
                .into_any(),
                Asks::Words => view! {
                    <label class="job-field">
                        <span>"What it says"</span>
                        <input id="feature-words" type="text" maxlength="200" autocomplete="off"
                            prop:value=move || words.get()
                            on:input=move |ev| words.set(event_target_value(&ev))
                            on:change=move |_| done.run(false) />
                    </label>
                    {sizes()}
                }
                .into_any(),
                Asks::File => {
                    let of_file = move |read: fn(&outlined::FileOutline) -> String| {
                        Signal::derive(move || file.with(|f| f.as_ref().map(read).unwrap_or_default()))
                    };
                    view! {
                        <ArtworkFile
                            name=of_file(|f| f.name.clone())
                            ignored=of_file(|f| f.ignored.join("\n"))
                            paper=Signal::derive(move || {
                                hand.session.book.with(|b| b.as_ref().and_then(|b| b.job.about.paper)).unwrap_or_default()
                            })
                            marks=marks
                            round=round
                            take=take_file
                        >
                            {sizes()}
                            <Crosses hand=hand feature=id.get_value() crosses=crosses />
                        </ArtworkFile>
                    }
                    .into_any()
                }
            }
        }}
    }
}

/// What beside sizes a shape asks.
enum Asks {
    Nothing,
    Sizes,
    Points,
    Words,
    File,
}

fn shape_of(shape: &str) -> Asks {
    match shape {
        "star" => Asks::Points,
        "words" | "strokes" => Asks::Words,
        "file" => Asks::File,
        known if asked(known).is_empty() => Asks::Nothing,
        _ => Asks::Sizes,
    }
}
