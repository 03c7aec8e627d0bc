//! Changing the design: what, how, on which pieces, why.

use super::from_picture::{FromPictureForm, Move};
use super::left_standing::{Part, stands_again};
use super::model::{self, Draft};
use super::{from_job, go, of_job, say};
use crate::ports::{clock, ids};
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{FeatureId, IssueId};
use samespot_core::prepare::amendments::titles;

#[component]
fn Text(
    id: &'static str,
    label: &'static str,
    hint: &'static str,
    value: RwSignal<String>,
) -> impl IntoView {
    view! {
        <label class="job-field">
            <span>{label}</span>
            <input
                id=id
                type="text"
                autocomplete="off"
                placeholder=hint
                prop:value=move || value.get()
                on:input=move |ev| value.set(event_target_value(&ev))
            />
        </label>
    }
}

/// The form.
#[component]
pub(super) fn Form() -> impl IntoView {
    let feature = RwSignal::new(String::new());
    let how = RwSignal::new("move".to_owned());
    let (along, across, tolerance) = (
        Typing::new(None),
        Typing::new(None),
        Typing::of_length(None),
    );
    let (vertical, sideways) = (
        RwSignal::new("down".to_owned()),
        RwSignal::new("left".to_owned()),
    );
    let text = || RwSignal::new(String::new());
    let (finish, from, to, reason, asked_by) = (text(), text(), text(), text(), text());
    stands_again(
        from_job(|j| j.id.clone()),
        [
            feature, how, vertical, sideways, finish, from, to, reason, asked_by,
        ]
        .map(Part::Text)
        .into_iter()
        .chain([along, across, tolerance].map(Part::Length))
        .collect(),
    );
    let draft = move || Draft {
        feature: FeatureId::new(&feature.get()).ok(),
        how: how.get(),
        across: across.entry(),
        left: sideways.get() == "left",
        along: along.entry(),
        down: vertical.get() == "down",
        finish: finish.get(),
        tolerance: tolerance.entry(),
        from: from.get(),
        to: to.get(),
        reason: reason.get(),
        asked_by: asked_by.get(),
    };
    let missing = move || of_job(|j| draft().missing(j)).flatten();
    let next = move || of_job(model::next_number).unwrap_or(1);
    let open = move || of_job(model::open_issue).flatten();
    let clear = move || {
        along.set("");
        across.set("");
        tolerance.set("");
        finish.set(String::new());
        feature.set(String::new());
    };
    let make = move |_| {
        if missing().is_some() {
            return;
        }
        let (draft, day) = (draft(), clock::day());
        let Some(id) = IssueId::new(&format!("i{}", ids::thing())).ok() else {
            return;
        };
        let made = from_job(|j| (j.id.clone(), model::new_issue(j, id.clone(), &draft, &day)));
        if let Some((job, facts)) = made {
            say(&facts);
            clear();
            go(job, Some(id));
        }
    };
    let add = move |_| {
        let Some((id, _)) = open() else { return };
        if missing().is_some() {
            return;
        }
        let draft = draft();
        let made = from_job(|j| (j.id.clone(), model::add_to(j, &id, &draft)));
        if let Some((job, facts)) = made {
            say(&facts);
            clear();
            go(job, Some(id));
        }
    };
    let moved = move |to: Move| {
        let typed = |mm: f64| format!("{:.1} mm", mm.abs());
        along.set(&typed(to.up));
        across.set(&typed(to.right));
        vertical.set(if to.up < 0.0 { "down" } else { "up" }.to_owned());
        sideways.set(if to.right < 0.0 { "left" } else { "right" }.to_owned());
        // How well it is known goes with the issue to everybody who reads it.
        let from = format!("off the picture {}, ± {:.1} mm", to.picture, to.within);
        reason.update(|r| {
            *r = if r.trim().is_empty() {
                from
            } else {
                format!("{}; {from}", r.trim())
            };
        });
    };
    view! {
        <section class="sheet job-part" aria-labelledby="changes-new">
            <h2 id="changes-new">"Change the design"</h2>
            <label class="job-field">
                <span>"What changes"</span>
                <select id="change-feature" prop:value=move || feature.get() on:change=move |ev| feature.set(event_target_value(&ev))>
                    <option value="">"which feature?"</option>
                    {move || {
                        of_job(titles)
                            .unwrap_or_default()
                            .into_iter()
                            .map(|(id, title)| view! { <option value=id.to_string()>{title}</option> })
                            .collect_view()
                    }}
                </select>
            </label>
            <Choices
                legend="What becomes of it"
                choices=vec![
                    Choice::words("move", "It moves"),
                    Choice::words("mirror", "Turned over"),
                    Choice::words("finish", "Another finish"),
                    Choice::words("tolerance", "How far out"),
                    Choice::words("drop", "No longer made"),
                    Choice::words("add", "New with this issue"),
                ]
                taken=how
                take=move |v| how.set(v)
            />
            <div class="change-how" hidden=move || how.get() != "move">
                <Choices
                    legend="Up or down"
                    choices=vec![Choice::words("down", "Down"), Choice::words("up", "Up")]
                    taken=vertical
                    take=move |v| vertical.set(v)
                />
                <TypedLength id="change-along" label="by, up or down" typing=along />
                <Choices
                    legend="Left or right"
                    choices=vec![Choice::words("left", "Left"), Choice::words("right", "Right")]
                    taken=sideways
                    take=move |v| sideways.set(v)
                />
                <TypedLength id="change-across" label="by, left or right" typing=across />
                <p class="second">"Over the surface, seen from outside, the feature the right way up"</p>
                <FromPictureForm
                    feature=Signal::derive(move || FeatureId::new(&feature.get()).ok())
                    take=Callback::new(moved)
                />
            </div>
            <p class="second" hidden=move || how.get() != "mirror">"Left for right about its own middle: what looked left looks right. Its place stays"</p>
            <p class="second" hidden=move || how.get() != "add">"On the pieces below it is made, on those before them it is not. Set it out first: then it stands in the list above"</p>
            <div hidden=move || how.get() != "finish">
                <Text id="change-finish" label="The finish from now on" hint="raised, not painted" value=finish />
            </div>
            <div hidden=move || how.get() != "tolerance">
                <TypedLength id="change-tolerance" label="How far out may it be, any way?" typing=tolerance />
            </div>
            <div class="job-row">
                <label class="job-field short">
                    <span>"From piece"</span>
                    <input id="change-from" inputmode="numeric" placeholder="first" prop:value=move || from.get() on:input=move |ev| from.set(event_target_value(&ev)) />
                </label>
                <label class="job-field short">
                    <span>"to piece"</span>
                    <input id="change-to" inputmode="numeric" placeholder="last" prop:value=move || to.get() on:input=move |ev| to.set(event_target_value(&ev)) />
                </label>
            </div>
            <Text id="change-asked" label="Who asked for it" hint="the client" value=asked_by />
            <Text id="change-reason" label="Why" hint="looks startled" value=reason />
            <p class="job-why" role="status">{move || missing().unwrap_or_default()}</p>
            <div class="job-row">
                <button type="button" id="change-make" class="key" class:main=move || missing().is_none() on:click=make aria-disabled=move || if missing().is_none() { "false" } else { "true" }>
                    {move || format!("Make issue {}", next())}
                </button>
                {move || {
                    open()
                        .map(|(_, number)| {
                            view! {
                                <button type="button" class="key" on:click=add aria-disabled=move || if missing().is_none() { "false" } else { "true" }>
                                    {format!("Add it to issue {number}, not approved yet")}
                                </button>
                            }
                        })
                }}
            </div>
        </section>
    }
}
