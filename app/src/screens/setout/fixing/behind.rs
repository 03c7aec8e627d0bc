//! What is drilled through and what is behind it: layers of the skin, the bracket's plate, room.

use super::{Open, model};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use model::Glass;
use samespot_core::job::{FixingEdit, HoleLayer};
use samespot_core::prepare::mm;

fn layer_words(layer: &HoleLayer) -> String {
    match &layer.measured {
        Some(read) => format!("{}: {} mm, measured", layer.name, mm(read.mm)),
        None => format!(
            "{}: {}, reckoned ±30 % until a pilot hole is measured",
            layer.name,
            layer.glass.join(" + ")
        ),
    }
}

/// Layers, plate and room.
#[component]
pub(super) fn Behind(open: Open) -> impl IntoView {
    let plate = Typing::new(open.now(|f| f.plate.clone()).flatten().as_ref());
    let room = Typing::of_length(open.now(|f| f.room.clone()).flatten().as_ref());
    let typed = Callback::new(move |_: bool| {
        open.keep(FixingEdit {
            plate: plate.entry_now(),
            room: room.entry_now(),
            ..FixingEdit::default()
        });
    });
    let list = move || {
        let all = open.of(|f| f.layers.clone()).flatten().unwrap_or_default();
        all.iter()
            .enumerate()
            .map(|(at, layer)| {
                let out = move |_| {
                    let said = open
                        .hand
                        .with_job(|j| model::without_layer(j, &open.id(), at));
                    open.hand.say(&said.unwrap_or_default());
                };
                view! {
                    <li class="job-row">
                        <span>{layer_words(layer)}</span>
                        <button type="button" class="key" aria-label=format!("Take out layer {}", at + 1) on:click=out>"Take out"</button>
                    </li>
                }
            })
            .collect_view()
    };
    view! {
        <p class="legend">"What is drilled through, from outside in"</p>
        <ul class="fixing-list">{list}</ul>
        <AddLayer open=open />
        <div class="fields">
            <TypedLength id="fixing-plate" label="The bracket's plate, thickness" typing=plate done=typed />
            <TypedLength id="fixing-room" label="Room for the drill (straight about 300, angle 110)" typing=room done=typed />
        </div>
    }
}

#[component]
fn AddLayer(open: Open) -> impl IntoView {
    let called = RwSignal::new(String::new());
    let measured = Typing::of_length(None);
    let glass = RwSignal::new(String::new());
    let asked = RwSignal::new(None::<Glass>);
    let add = move || {
        let thick = measured.entry_now();
        let texts: Vec<String> = glass
            .get_untracked()
            .split([';', '+'])
            .map(|t| t.trim().to_owned())
            .filter(|t| !t.is_empty())
            .collect();
        let mut weights = Vec::new();
        for text in &texts {
            match model::glass(text) {
                Glass::Weight(words) => weights.push(words),
                other => {
                    asked.set(Some(other));
                    return;
                }
            }
        }
        if thick.is_none() && weights.is_empty() {
            asked.set(Some(Glass::Refused(
                "type how thick it is, or its layers of glass".into(),
            )));
            return;
        }
        asked.set(None);
        let name = called.get_untracked();
        let said = open
            .hand
            .with_job(|j| model::with_layer(j, &open.id(), &name, thick.clone(), weights.clone()));
        open.hand.say(&said.unwrap_or_default());
        called.set(String::new());
        measured.set("");
        glass.set(String::new());
    };
    // The ounces that were asked about, in the words of the answer.
    let answer = move |which: &'static str| {
        move |_| {
            let Some(Glass::WhichOunce(ounces)) = asked.get_untracked() else {
                return;
            };
            glass.update(|text| {
                let all: Vec<String> = text
                    .split([';', '+'])
                    .map(|t| match model::glass(t) {
                        Glass::WhichOunce(same) if same == ounces => format!("{ounces} oz {which}"),
                        _ => t.trim().to_owned(),
                    })
                    .collect();
                *text = all.join(" + ");
            });
            asked.set(None);
        }
    };
    view! {
        <div class="fixing-layer">
            <div class="job-row">
                <label class="job-field">
                    <span>"What it is"</span>
                    <input id="layer-name" type="text" autocomplete="off" placeholder="skin"
                        prop:value=move || called.get() on:input=move |ev| called.set(event_target_value(&ev)) />
                </label>
            </div>
            <TypedLength id="layer-thick" label="Thickness, measured through a pilot hole" typing=measured />
            <label class="job-field">
                <span>"or its layers of glass, with + between them"</span>
                <input id="layer-glass" type="text" autocomplete="off" placeholder="450 g + 450 g + 1.5 oz mat"
                    prop:value=move || glass.get()
                    on:input=move |ev| { glass.set(event_target_value(&ev)); asked.set(None); } />
            </label>
            <div role="status">
                {move || match asked.get() {
                    Some(Glass::WhichOunce(ounces)) => view! {
                        <p class="job-why">{format!("{ounces} oz of what?")}</p>
                        <div class="keys job-row">
                            <button type="button" class="key" on:click=answer("mat")>"mat, per square foot"</button>
                            <button type="button" class="key" on:click=answer("cloth")>"cloth, per square yard"</button>
                        </div>
                    }
                    .into_any(),
                    Some(Glass::Refused(why)) => view! { <p class="job-why">{crate::say::job::capital(&why)}</p> }.into_any(),
                    _ => ().into_any(),
                }}
            </div>
            <button type="button" id="layer-add" class="key" on:click=move |_| add()>"Add this layer"</button>
        </div>
    }
}
