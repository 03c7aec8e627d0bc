//! Through which hatch a hand comes to a bracket's far side, how far that is, and how the drill runs
//! against plumb.

use super::Open;
use crate::widgets::angle::TypedAngle;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{FeatureId, FixingEdit};
use samespot_core::prepare::feature_title;

/// The hatch, the way from it and the arm.
#[component]
pub(super) fn ThroughHatch(open: Open) -> impl IntoView {
    let hatches = Memo::new(move |_| {
        open.hand
            .of_job(|j| {
                let named =
                    |id: &&FeatureId| Some(((*id).clone(), feature_title(j.features.get(*id)?)));
                j.hatches().iter().filter_map(named).collect::<Vec<_>>()
            })
            .unwrap_or_default()
    });
    let chosen = move || open.of(|f| f.hatch.clone()).flatten();
    let take = move |ev: leptos::ev::Event| {
        if let Ok(hatch) = FeatureId::new(&event_target_value(&ev)) {
            open.keep(FixingEdit {
                hatch: Some(hatch),
                ..FixingEdit::default()
            });
        }
    };
    let elsewhere = move || {
        let face = open.hand.face.get();
        chosen().is_some_and(|h| {
            open.hand
                .of_job(|j| j.features.get(&h).and_then(|f| f.face.clone()))
                .flatten()
                != face
        })
    };
    let to_hatch = Typing::new(open.now(|f| f.to_hatch.clone()).flatten().as_ref());
    let arm = Typing::of_length(open.now(|f| f.arm.clone()).flatten().as_ref());
    let typed = Callback::new(move |_: bool| {
        open.keep(FixingEdit {
            to_hatch: to_hatch.entry_now(),
            arm: arm.entry_now(),
            ..FixingEdit::default()
        });
    });
    view! {
        <p class="legend">"Before everything is closed"</p>
        <Show
            when=move || hatches.with(|h| !h.is_empty())
            fallback=|| view! { <p class="second">"No hatch is set out. Where a hand goes in through one, add it under “What has to land in the right place” and say that it is cut out" </p> }
        >
            <label class="job-field">
                <span>"A hand comes to its far side through"</span>
                <select id="fixing-hatch" on:change=take
                    prop:value=move || chosen().map(|h| h.to_string()).unwrap_or_default()>
                    <option value="" selected=move || chosen().is_none()>"no hatch named"</option>
                    {move || hatches.get().into_iter().map(|(id, name)| {
                        let here = chosen().as_ref() == Some(&id);
                        view! { <option value=id.to_string() selected=here>{name}</option> }
                    }).collect_view()}
                </select>
            </label>
            <Show when=move || chosen().is_some()>
                <div class="fields">
                    <Show when=elsewhere>
                        <TypedLength id="fixing-to-hatch" label="From the hatch's middle along the inside to the farthest hole, with a string" typing=to_hatch done=typed />
                    </Show>
                    <TypedLength id="fixing-arm" label="How far your arm goes in, shoulder at the hatch (550 unless you say; common practice)" typing=arm done=typed />
                </div>
            </Show>
        </Show>
        <div class="job-row">
            <TypedAngle id="fixing-looks-up" label="How far the face looks up at the middle of the holes, degrees, by bevel and level (0: it stands plumb)"
                stands=open.now(|f| f.looks_up).flatten() sides=("down", "up")
                keep=Callback::new(move |looks_up| open.keep(FixingEdit { looks_up: Some(looks_up), ..FixingEdit::default() })) />
        </div>
    }
}
