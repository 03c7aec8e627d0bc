//! The list of stages, and what they wait for.

use super::{Run, model, of_job, say};
use leptos::prelude::*;
use samespot_core::job::{EntityRef, Hold, HoldUntil, JobEdit};

/// Stages and holds.
#[component]
pub(super) fn Stages(run: Run) -> impl IntoView {
    let draft = RwSignal::new(None::<String>);
    let text = move || {
        draft
            .get()
            .unwrap_or_else(|| run.view.with(|r| r.stages.join("\n")))
    };
    let left = move || {
        let stages = model::stages_of(&text());
        of_job(|j| model::left_standing(j, &stages)).unwrap_or_default()
    };
    let keep = move |_| {
        if let Some(text) = draft.get_untracked() {
            let fields = JobEdit {
                stages: Some(model::stages_of(&text)),
                ..JobEdit::default()
            };
            say(model::edit(EntityRef::Job, &fields));
            draft.set(None);
        }
    };
    view! {
        <section class="sheet job-part" aria-labelledby="job-stages">
            <h2 id="job-stages">"Stages"</h2>
            <p class="second">{move || run.view.with(|r| r.stages.join(" → "))}</p>
            <Holds run=run />
            <details class="job-more">
                <summary>"Change the list of stages"</summary>
                <label class="job-field"><span>"One on each line, in order"</span>
                    <textarea id="job-stage-list" rows="10" prop:value=text
                        on:input=move |ev| draft.set(Some(event_target_value(&ev)))></textarea>
                </label>
                <p class="job-why" role="status">
                    {move || {
                        let left = left();
                        if left.is_empty() {
                            String::new()
                        } else {
                            format!("{} stands at a stage that is not in this list: its stage will have to be chosen anew", left.join(", "))
                        }
                    }}
                </p>
                <Show when=move || draft.with(Option::is_some)>
                    <button type="button" class="key" on:click=keep>"Keep this list of stages"</button>
                </Show>
            </details>
        </section>
    }
}

#[component]
fn Holds(run: Run) -> impl IntoView {
    let before = RwSignal::new(String::new());
    let what = RwSignal::new("marks".to_owned());
    let sentence = RwSignal::new(String::new());
    let until = move || match what.get().as_str() {
        "marks" => Some(HoldUntil::MarksCarriedOver),
        "measured" => Some(HoldUntil::Measured),
        "married" => Some(HoldUntil::Married),
        _ => {
            let said = sentence.get().trim().to_owned();
            (!said.is_empty()).then_some(HoldUntil::Ticked(said))
        }
    };
    let ready = move || !before.get().is_empty() && until().is_some();
    let why = move || {
        if before.get().is_empty() {
            "Choose the stage that waits"
        } else if until().is_none() {
            "Say what has to be done"
        } else {
            ""
        }
    };
    let add = move |_| {
        if let (true, Some(until)) = (ready(), until()) {
            let holds = run.view.with_untracked(|r| r.holds.clone());
            let fields = model::with_hold(&holds, &before.get_untracked(), until);
            say(model::edit(EntityRef::Job, &fields));
            sentence.set(String::new());
            before.set(String::new());
        }
    };
    let drop_hold = move |hold: Hold| {
        move |_| {
            let holds = run.view.with_untracked(|r| r.holds.clone());
            say(model::edit(
                EntityRef::Job,
                &model::without_hold(&holds, &hold),
            ));
        }
    };
    view! {
        <h3>"Holds"</h3>
        <ul class="job-says">
            {move || run.view.with(|r| r.holds.clone()).into_iter().map(|hold| {
                let words = crate::say::job::capital(&hold.to_string());
                view! {
                    <li class="job-row">
                        <span>{words.clone()}</span>
                        <button type="button" class="key" aria-label=format!("Drop the hold: {words}") on:click=drop_hold(hold)>"Drop it"</button>
                    </li>
                }
            }).collect_view()}
        </ul>
        <details class="job-more">
            <summary>"Another hold"</summary>
            <div class="job-row">
                <label class="job-field short"><span>"Before"</span>
                    <select id="job-hold-before" prop:value=move || before.get() on:change=move |ev| before.set(event_target_value(&ev))>
                        <option value="">"which stage?"</option>
                        {move || run.view.with(|r| r.stages.clone()).into_iter()
                            .map(|s| view! { <option value=s.clone()>{s.clone()}</option> }).collect_view()}
                    </select>
                </label>
                <label class="job-field"><span>"Wait until"</span>
                    <select id="job-hold-until" prop:value=move || what.get() on:change=move |ev| what.set(event_target_value(&ev))>
                        <option value="marks">"marks carried over"</option>
                        <option value="measured">"everything asked for is read"</option>
                        <option value="married">"it is in a piece"</option>
                        <option value="ticked">"somebody ticks a sentence"</option>
                    </select>
                </label>
                <Show when=move || what.get() == "ticked">
                    <label class="job-field"><span>"The sentence"</span>
                        <input id="job-hold-sentence" type="text" placeholder="drain holes cleared" prop:value=move || sentence.get()
                            on:input=move |ev| sentence.set(event_target_value(&ev)) />
                    </label>
                </Show>
                <button type="button" class="key" on:click=add
                    aria-disabled=move || if ready() { "false" } else { "true" }>"Add this hold"</button>
                <span class="job-why">{why}</span>
            </div>
        </details>
    }
}
