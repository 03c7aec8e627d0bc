//! Title, for whom, unit, who writes on this device; the pieces in batches.

use super::{from_job, model, of_job, say};
use crate::ports::{fields, ids, settings};
use crate::widgets::field::Field;
use leptos::prelude::*;
use samespot_core::job::{EntityRef, JobEdit};

/// What the job is called, and its pieces.
#[component]
pub(super) fn About() -> impl IntoView {
    let title = Signal::derive(|| {
        of_job(|j| j.about.title.clone())
            .flatten()
            .unwrap_or_default()
    });
    let by = Signal::derive(|| {
        of_job(|j| j.about.prepared_for.clone())
            .flatten()
            .unwrap_or_default()
    });
    let who = RwSignal::new(settings::get("who").unwrap_or_default());
    let keep = |fields: JobEdit| say(model::edit(EntityRef::Job, &fields));
    let keep_title = move |text: String| {
        keep(JobEdit {
            title: Some(text),
            ..JobEdit::default()
        });
    };
    let keep_by = move |text: String| {
        keep(JobEdit {
            prepared_for: Some(text),
            ..JobEdit::default()
        });
    };
    let keep_who = move |text: String| {
        settings::set("who", &text);
        who.set(text);
    };
    let unit = move || {
        of_job(|j| j.about.unit.clone())
            .flatten()
            .unwrap_or_else(|| "mm".into())
    };
    let units = ["mm", "cm", "in"].map(|u| {
        view! {
            <button
                type="button"
                class="choice"
                aria-pressed=move || if unit() == u { "true" } else { "false" }
                on:click=move |_| keep(JobEdit { unit: Some(u.into()), ..JobEdit::default() })
            >
                {u}
            </button>
        }
    });
    view! {
        <section class="sheet job-part" aria-labelledby="job-about">
            <h2 id="job-about">"The job"</h2>
            <Field id="job-title" label="Title" value=title keep=keep_title />
            <Field id="job-for" label="For" value=by keep=keep_by />
            <Field id="job-who" label="Who writes on this device" value=who keep=keep_who />
            <div class="choices" role="group" aria-label="A bare number means">
                <p class="legend" aria-hidden="true">"A bare number means"</p>
                <div class="keys">{units.collect_view()}</div>
            </div>
            <Pieces />
        </section>
    }
}

#[component]
fn Pieces() -> impl IntoView {
    let count = move || of_job(|j| j.pieces.len()).unwrap_or(0);
    let pieces = RwSignal::new(String::new());
    let batch = RwSignal::new(String::new());
    let wanted = move || {
        let n = pieces.get().trim().parse::<u32>().ok();
        let b = batch.get().trim().parse::<u32>().ok();
        (n, b)
    };
    let trouble = move || match wanted() {
        (None, _) if !pieces.get().trim().is_empty() => {
            Some("How many pieces: a whole number, as 12".to_owned())
        }
        (Some(n), _) if n == 0 || n > model::MOST_PIECES => {
            Some(format!("From 1 to {} pieces", model::MOST_PIECES))
        }
        (_, None | Some(0)) if !batch.get().trim().is_empty() => {
            Some("How many in each batch: a whole number, as 4".to_owned())
        }
        _ => None,
    };
    let ready = move || trouble().is_none() && wanted().0.is_some();
    let set_up = move || {
        let (Some(n), b) = wanted() else { return };
        if !ready() {
            return;
        }
        if let Some(all) = from_job(|j| model::set_up_pieces(j, n, b.unwrap_or(n), &mut ids::thing))
        {
            say(all);
            pieces.set(String::new());
        }
    };
    let words = move || match wanted() {
        (Some(n), Some(b)) if ready() => format!("Set up {n} pieces in batches of {b}"),
        (Some(n), _) if ready() => format!("Set up {n} pieces"),
        _ => "Set up the pieces".into(),
    };
    view! {
        <h3>"Pieces"</h3>
        <p class="second">
            {move || match count() {
                0 => "None yet. Say how many the run has; the casting of the same number goes into each".to_owned(),
                n => format!("{} in the run; a larger number adds to them", crate::say::job::pieces(n)),
            }}
        </p>
        // Who types a number and goes elsewhere has said it.
        <div class="job-row" on:focusout=move |ev| if fields::leaves(&ev) { set_up() }
            on:keydown=move |ev| if ev.key() == "Enter" && fields::typing(&ev) { set_up() }>
            <label class="job-field short">
                <span>"Pieces"</span>
                <input id="job-pieces" inputmode="numeric" enterkeyhint="done" prop:value=move || pieces.get()
                    on:input=move |ev| pieces.set(event_target_value(&ev)) />
            </label>
            <label class="job-field short">
                <span>"In each batch"</span>
                <input id="job-batch" inputmode="numeric" prop:value=move || batch.get()
                    on:input=move |ev| batch.set(event_target_value(&ev)) />
            </label>
            <button type="button" class="key" on:click=move |_| set_up()
                aria-disabled=move || if ready() { "false" } else { "true" }>
                {words}
            </button>
        </div>
        <p class="job-why" role="status">{move || trouble().unwrap_or_default()}</p>
    }
}
