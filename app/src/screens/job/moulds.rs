//! Moulds with their sections and what happened to them; a new part with its mould.

use super::{Run, model, say};
use crate::ports::ids;
use leptos::prelude::*;
use samespot_core::job::{MouldEvent, MouldFact, MouldId, Payload};
use samespot_core::run::MouldView;

/// All moulds.
#[component]
pub(super) fn Moulds(run: Run) -> impl IntoView {
    let part = RwSignal::new(String::new());
    let sections = RwSignal::new(String::new());
    let named = move || !part.get().trim().is_empty();
    let add = move |_| {
        if !named() {
            return;
        }
        say(model::add_part(
            &part.get_untracked(),
            &sections.get_untracked(),
            &mut ids::thing,
        ));
        part.set(String::new());
        sections.set(String::new());
    };
    view! {
        <section class="sheet job-part" aria-labelledby="job-moulds">
            <h2 id="job-moulds">"Moulds"</h2>
            <For each=move || run.view.with(|r| r.moulds.clone()) key=|m| m.mould.clone() let(mould)>
                <Mould run=run id=mould.mould />
            </For>
            <div class="job-row">
                <label class="job-field"><span>"Another part"</span>
                    <input id="job-part-name" type="text" placeholder="base" prop:value=move || part.get()
                        on:input=move |ev| part.set(event_target_value(&ev)) />
                </label>
                <label class="job-field"><span>"Sections of its mould"</span>
                    <input id="job-part-sections" type="text" placeholder="left half, right half" prop:value=move || sections.get()
                        on:input=move |ev| sections.set(event_target_value(&ev)) />
                </label>
                <button type="button" class="key" on:click=add
                    aria-disabled=move || if named() { "false" } else { "true" }>
                    {move || if named() { format!("Add {}", part.get().trim()) } else { "Name the part to add it".into() }}
                </button>
            </div>
        </section>
    }
}

#[component]
fn Mould(run: Run, id: MouldId) -> impl IntoView {
    let id = StoredValue::new(id);
    let view = Memo::new(move |_| {
        run.view
            .with(|r| id.with_value(|id| r.moulds.iter().find(|m| m.mould == *id).cloned()))
    });
    let note = RwSignal::new(String::new());
    let about = |m: &MouldView| {
        let mut said = vec![match m.pulls {
            0 => "no pulls yet".to_owned(),
            1 => "1 pull".to_owned(),
            n => format!("{n} pulls"),
        }];
        if !m.sections.is_empty() {
            said.push(m.sections.join(", "));
        }
        if let Some(pull) = m.retired_after {
            said.push(format!("retired after pull {pull}"));
        }
        said.join(" · ")
    };
    let event = move |kind: MouldEvent| {
        move |_| {
            let last = view.with_untracked(|v| v.as_ref().and_then(|v| v.last_pull));
            say(vec![Payload::Mould(MouldFact {
                mould: id.get_value(),
                what: note.get_untracked().trim().to_owned(),
                after_pull: last,
                kind: Some(kind),
                sections: Vec::new(),
            })]);
            note.set(String::new());
        }
    };
    let after = move || {
        view.with(|v| {
            v.as_ref().and_then(|v| v.last_pull).map_or_else(
                || "before any pull".to_owned(),
                |p| format!("after pull {p}"),
            )
        })
    };
    view! {
        <div class="job-mould">
            <strong>{move || view.with(|v| v.as_ref().map(|v| crate::say::job::capital(&v.name)))}</strong>
            <span class="second">{move || view.with(|v| v.as_ref().map(about))}</span>
            <ul class="job-says">
                {move || view.with(|v| v.as_ref().map(|v| v.events.clone()).unwrap_or_default())
                    .into_iter()
                    .map(|e| view! { <li class="second">{crate::say::job::capital(&e)}</li> })
                    .collect_view()}
            </ul>
            <details class="job-more">
                <summary>"Repaired or retired"</summary>
                <div class="job-row">
                    <label class="job-field"><span>"What and where"</span>
                        <input type="text" prop:value=move || note.get() on:input=move |ev| note.set(event_target_value(&ev)) />
                    </label>
                    <button type="button" class="key" on:click=event(MouldEvent::Repaired)>{move || format!("Repaired {}", after())}</button>
                    <button type="button" class="key" on:click=event(MouldEvent::Retired)>{move || format!("Retired {}", after())}</button>
                </div>
            </details>
        </div>
    }
}
