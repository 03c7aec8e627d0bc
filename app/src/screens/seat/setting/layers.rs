//! Paint, release film and felt in the joint: what is thin, but counts.

use super::{Open, model};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::JointEdit;
use samespot_core::prepare::mm;

/// The list and the form for one more.
#[component]
pub(super) fn Layers(open: Open) -> impl IntoView {
    let called = RwSignal::new(String::new());
    let thick = Typing::of_length(None);
    let when = RwSignal::new("after".to_owned());
    let missing = move || {
        if called.get().trim().is_empty() {
            Some("Name it: paint on both faces")
        } else if thick.entry().is_none() {
            Some("Type how thick it is")
        } else {
            None
        }
    };
    let add = move |_| {
        let Some(thickness) = thick.entry_now() else {
            return;
        };
        let (name, when) = (called.get_untracked(), when.get_untracked());
        if name.trim().is_empty() {
            return;
        }
        if let Some(fields) = open.now(|j| model::with_layer(j, &name, thickness.mm, &when)) {
            open.keep(&fields);
            called.set(String::new());
            thick.set("");
        }
    };
    let list = move || {
        open.of(|j| j.layers.clone())
            .flatten()
            .unwrap_or_default()
            .into_iter()
            .enumerate()
            .map(|(at, layer)| {
                let out = move |_| {
                    let mut all = open.now(|j| j.layers.clone()).flatten().unwrap_or_default();
                    if at < all.len() {
                        all.remove(at);
                        open.keep(&JointEdit { layers: Some(all), ..JointEdit::default() });
                    }
                };
                let there = match (layer.while_bedding, layer.finished) {
                    (true, true) => "from before bedding on",
                    (true, false) => "only while bedding",
                    _ => "comes after bedding",
                };
                view! {
                    <li class="job-row">
                        <span>{format!("{}: {} mm, {there}", layer.name, mm(layer.thickness))}</span>
                        <button type="button" class="key" aria-label=format!("Take out {}", layer.name) on:click=out>"Take out"</button>
                    </li>
                }
            })
            .collect_view()
    };
    view! {
        <h3>"Thin things in the joint"</h3>
        <ul class="fixing-list">{list}</ul>
        <div class="job-row">
            <label class="job-field">
                <span>"Paint, release film, felt"</span>
                <input id="thin-name" type="text" autocomplete="off" maxlength="60"
                    prop:value=move || called.get() on:input=move |ev| called.set(event_target_value(&ev)) />
            </label>
            <label class="job-field">
                <span>"It is there"</span>
                <select id="thin-when" on:change=move |ev| when.set(event_target_value(&ev)) prop:value=move || when.get()>
                    <option value="after">"after bedding"</option>
                    <option value="only">"only while bedding"</option>
                    <option value="always">"from before bedding on"</option>
                </select>
            </label>
        </div>
        <TypedLength id="thin-thick" label="How thick, as painted or laid" typing=thick />
        <button type="button" id="thin-add" class="key" on:click=add aria-disabled=move || missing().is_some().to_string()>
            {move || missing().unwrap_or("Add it")}
        </button>
    }
}
