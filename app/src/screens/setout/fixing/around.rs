//! What lies about a bracket's holes: the edge, one another, and where no hole may come.

use super::{Open, model};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{FixingEdit, KeepOut};
use samespot_core::prepare::holes::spacing_of;
use samespot_core::prepare::mm;

/// Edge and pitch by the rule of thumb, and the engineer who lets less stand.
#[component]
pub(super) fn Spacing(open: Open) -> impl IntoView {
    let to_edge = Typing::of_length(open.now(|f| f.to_edge.clone()).flatten().as_ref());
    let typed = Callback::new(move |_: bool| {
        open.keep(FixingEdit {
            to_edge: to_edge.entry_now(),
            ..FixingEdit::default()
        });
    });
    let said = Memo::new(move |_| open.of(spacing_of).flatten());
    let short = move || said.with(|s| s.as_ref().map(|s| s.short.clone()).unwrap_or_default());
    let initials = RwSignal::new(String::new());
    let reason = RwSignal::new(String::new());
    let missing = move || {
        if initials.get().trim().is_empty() {
            Some("Initials first")
        } else if reason.get().trim().is_empty() {
            Some("Say why")
        } else {
            None
        }
    };
    let keep = move |_| {
        let Some(said) = said.get_untracked() else {
            return;
        };
        let all = model::let_stand(
            &open.id(),
            &said,
            &initials.get_untracked(),
            &reason.get_untracked(),
        );
        if !all.is_empty() {
            open.hand.say(&all);
            initials.set(String::new());
            reason.set(String::new());
        }
    };
    let asks = move || {
        said.with(|s| {
            s.as_ref()
                .is_some_and(|s| !s.short.is_empty() && s.stands.is_none())
        })
    };
    view! {
        <TypedLength id="fixing-to-edge" label="From the hole nearest to an edge to that edge" typing=to_edge done=typed />
        <div role="status">
            {move || short().into_iter().map(|w| view! { <p class="fixing-short">{crate::say::job::capital(&w)}</p> }).collect_view()}
            {move || said.get().and_then(|s| s.stands.or(s.lapsed)).map(|w| view! { <p>{w}</p> })}
        </div>
        <Show when=asks>
            <div class="job-row">
                <label class="job-field short">
                    <span>"Engineer's initials"</span>
                    <input id="let-initials" type="text" autocomplete="off" maxlength="12"
                        prop:value=move || initials.get() on:input=move |ev| initials.set(event_target_value(&ev)) />
                </label>
                <label class="job-field">
                    <span>"Why it may stand"</span>
                    <input id="let-reason" type="text" autocomplete="off" maxlength="200"
                        prop:value=move || reason.get() on:input=move |ev| reason.set(event_target_value(&ev)) />
                </label>
                <button type="button" id="let-stand" class="key" on:click=keep
                    aria-disabled=move || missing().is_some().to_string()>
                    {move || missing().unwrap_or("Let it stand")}
                </button>
            </div>
        </Show>
    }
}

/// Where no hole may come, and why.
#[component]
pub(super) fn KeepOuts(open: Open) -> impl IntoView {
    let [right, up, across] = [
        Typing::either_side(None, "back", "along"),
        Typing::either_side(None, "down", "up"),
        Typing::of_length(None),
    ];
    let why = RwSignal::new(String::new());
    let missing = move || {
        if why.get().trim().is_empty() {
            Some("Say what is there")
        } else if [right, up, across].iter().any(|t| t.entry().is_none()) {
            Some("Type where, and how far across")
        } else {
            None
        }
    };
    let add = move |_| {
        let (Some(right_is), Some(up_is), Some(across_is)) =
            (right.entry_now(), up.entry_now(), across.entry_now())
        else {
            return;
        };
        let what = why.get_untracked().trim().to_owned();
        if what.is_empty() {
            return;
        }
        let said = open.hand.with_job(|j| {
            let mut all = model::keep_outs(j, &open.id());
            all.push(KeepOut {
                right: right_is,
                up: up_is,
                across: across_is,
                why: what,
            });
            model::set_keep_outs(&open.id(), all)
        });
        open.hand.say(&said.unwrap_or_default());
        for typing in [right, up, across] {
            typing.set("");
        }
        why.set(String::new());
    };
    let list = move || {
        let all = open
            .of(|f| f.keep_outs.clone())
            .flatten()
            .unwrap_or_default();
        all.into_iter()
            .enumerate()
            .map(|(at, out)| {
                let remove = move |_| {
                    let said = open.hand.with_job(|j| {
                        let mut all = model::keep_outs(j, &open.id());
                        if at < all.len() {
                            all.remove(at);
                        }
                        model::set_keep_outs(&open.id(), all)
                    });
                    open.hand.say(&said.unwrap_or_default());
                };
                view! {
                    <li class="job-row">
                        <span>
                            {format!("{}: {} mm across, {} along and {} up", out.why, mm(out.across.mm), mm(out.right.mm), mm(out.up.mm))}
                        </span>
                        <button type="button" class="key" aria-label=format!("Take away keep-out {}", at + 1) on:click=remove>"Take away"</button>
                    </li>
                }
            })
            .collect_view()
    };
    view! {
        <details class="job-more" open=move || open.now(|f| f.keep_outs.as_ref().is_some_and(|k| !k.is_empty())).unwrap_or(false)>
            <summary>"Where no hole may come"</summary>
            <p class="second">"A round place, measured like the bracket from the same mark along the same line. A hole that would enter it is refused"</p>
            <ul class="fixing-list">{list}</ul>
            <label class="job-field">
                <span>"What is there"</span>
                <input id="out-why" type="text" autocomplete="off" maxlength="120" placeholder="cable behind"
                    prop:value=move || why.get() on:input=move |ev| why.set(event_target_value(&ev)) />
            </label>
            <div class="fields">
                <TypedLength id="out-right" label="Along the line" typing=right />
                <TypedLength id="out-up" label="Square to it, up" typing=up />
                <TypedLength id="out-across" label="Across" typing=across />
            </div>
            <button type="button" id="out-add" class="key" on:click=add
                aria-disabled=move || missing().is_some().to_string()>
                {move || missing().unwrap_or("Keep holes out of there")}
            </button>
        </details>
    }
}
