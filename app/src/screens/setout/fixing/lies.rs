//! Where a bracket lies on its face, from which mark, and how its holes lie about its middle.

use super::{Open, model};
use crate::screens::setout::model as face_model;
use crate::widgets::angle::TypedAngle;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{FixingEdit, MarkId, RuleSpec};

/// One of the marks of the face.
#[component]
pub(super) fn Mark(
    open: Open,
    id: &'static str,
    label: &'static str,
    #[prop(into)] is: Signal<Option<MarkId>>,
    take: Callback<MarkId>,
) -> impl IntoView {
    let letters = Memo::new(move |_| {
        let face = open.hand.face.get()?;
        open.hand.of_job(|j| face_model::marks(j, &face))
    });
    view! {
        <label class="job-field short">
            <span>{label}</span>
            <select
                id=id
                on:change=move |ev| {
                    if let Ok(mark) = MarkId::new(&event_target_value(&ev)) {
                        let _ = take.try_run(mark);
                    }
                }
                prop:value=move || is.get().map(|m| m.to_string()).unwrap_or_default()
            >
                {move || letters.get().unwrap_or_default().into_iter().map(|(id, letter)| {
                    let here = is.get().as_ref() == Some(&id);
                    view! { <option value=id.to_string() selected=here>{letter}</option> }
                }).collect_view()}
            </select>
        </label>
    }
}

/// Where, and in what pattern.
#[component]
pub(super) fn Lies(open: Open) -> impl IntoView {
    // A bracket made before its marks follows the first two as soon as they are there.
    Effect::new(move |_| {
        let (Some(face), Some(None)) = (open.hand.face.get(), open.of(|f| f.rule.clone())) else {
            return;
        };
        let found = open.hand.of_job(|j| {
            let first = face_model::marks(j, &face).into_iter().next()?.0;
            Some((face_model::rule(j, &face, None, "split")?, first))
        });
        if let Some(Some((rule, from))) = found {
            open.keep(FixingEdit {
                rule: Some(rule),
                from: Some(from),
                ..FixingEdit::default()
            });
        }
    });
    let end = move |first: bool| {
        Signal::derive(move || {
            open.of(|f| match &f.rule {
                Some(RuleSpec::Line { from, to, .. }) => {
                    Some(if first { from } else { to }.clone())
                }
                _ => None,
            })
            .flatten()
        })
    };
    let set_end = move |first: bool| {
        Callback::new(move |mark: MarkId| {
            let Some(Some(mut rule)) = open.now(|f| f.rule.clone()) else {
                return;
            };
            if let RuleSpec::Line { from, to, .. } = &mut rule {
                let (this, other) = if first { (from, to) } else { (to, from) };
                // Taking the other's place turns the line round.
                if *other == mark {
                    core::mem::swap(this, other);
                } else {
                    *this = mark;
                }
            }
            open.keep(FixingEdit {
                rule: Some(rule),
                ..FixingEdit::default()
            });
        })
    };
    let follows = Signal::derive(move || {
        open.of(|f| face_model::follows(f.rule.as_ref()))
            .unwrap_or_default()
            .to_owned()
    });
    let take_rule = move |how: String| {
        let Some(face) = open.hand.face.get_untracked() else {
            return;
        };
        let old = open.now(|f| f.rule.clone()).flatten();
        let made = open
            .hand
            .with_job(|j| face_model::rule(j, &face, old.as_ref(), &how))
            .flatten();
        match made {
            Some(rule) => open.keep(FixingEdit {
                rule: Some(rule),
                ..FixingEdit::default()
            }),
            None => open
                .hand
                .session
                .notice("A bracket follows two marks: add them first", true),
        }
    };
    let from = Signal::derive(move || open.of(|f| f.from.clone()).flatten());
    let line = move || end(true).get().is_some();
    let right = Typing::either_side(
        open.now(|f| f.right.clone()).flatten().as_ref(),
        "back",
        "along",
    );
    let up = Typing::either_side(open.now(|f| f.up.clone()).flatten().as_ref(), "down", "up");
    let placed = Callback::new(move |_: bool| {
        open.keep(FixingEdit {
            right: right.entry_now(),
            up: up.entry_now(),
            ..FixingEdit::default()
        });
    });
    view! {
        <p class="legend">"Where the middle of its holes is"</p>
        <Show when=line>
            <div class="job-row">
                <Mark open=open id="fixing-line-from" label="Along the line from" is=end(true) take=set_end(true) />
                <Mark open=open id="fixing-line-to" label="to" is=end(false) take=set_end(false) />
                <Mark open=open id="fixing-from" label="measured from mark" is=from
                    take=Callback::new(move |mark| open.keep(FixingEdit { from: Some(mark), ..FixingEdit::default() })) />
            </div>
        </Show>
        <div class="fields">
            <TypedLength id="fixing-right" label="Along that line" typing=right done=placed />
            <TypedLength id="fixing-up" label="Square to it, up" typing=up done=placed />
        </div>
        <Choices
            legend="When a casting is not as the pattern"
            shown=true
            choices=vec![
                Choice::words("split", "the difference is split between the two marks"),
                Choice::words("from-a", "it keeps its distance from the first"),
                Choice::words("stretch", "it moves in proportion"),
            ]
            taken=follows
            take=take_rule
        />
        <Pattern open=open />
    }
}

/// How the holes lie about the middle.
#[component]
fn Pattern(open: Open) -> impl IntoView {
    let stands = open.now(|f| f.pattern.clone()).flatten();
    let (kind_is, count_is, sizes_are) = model::of_pattern(stands.as_ref());
    let kind = RwSignal::new(kind_is.to_owned());
    let count = RwSignal::new(if count_is.is_empty() {
        "4".to_owned()
    } else {
        count_is
    });
    let sizes = sizes_are.each_ref().map(|e| Typing::new(e.as_ref()));
    let [first, second, third, fourth] = sizes;
    let first_hole = RwSignal::new(model::first_hole(stands.as_ref()));
    let why = RwSignal::new(None::<String>);
    let done = Callback::new(move |_: bool| {
        let typed = sizes.map(Typing::entry_now);
        let made = model::pattern(
            &kind.get_untracked(),
            &count.get_untracked(),
            typed,
            first_hole.get_untracked(),
        );
        let Some(pattern) = made else {
            return;
        };
        why.set(pattern.places().err().map(|e| e.to_string()));
        if why.with_untracked(Option::is_none) {
            open.keep(FixingEdit {
                pattern: Some(pattern),
                ..FixingEdit::default()
            });
        }
    });
    let comes_to = move || {
        let n = open.of(|f| {
            f.pattern
                .as_ref()
                .map(samespot_core::job::HolePattern::count)
        })??;
        Some(if n == 1 {
            "1 hole".to_owned()
        } else {
            format!("{n} holes")
        })
    };
    let counted = move || {
        view! {
            <label class="job-field short">
                <span>"How many"</span>
                <input id="fixing-count" type="text" inputmode="numeric" autocomplete="off"
                    prop:value=move || count.get()
                    on:input=move |ev| count.set(event_target_value(&ev))
                    on:change=move |_| done.run(false) />
            </label>
        }
    };
    view! {
        <Choices
            legend="How they lie"
            shown=true
            choices=vec![
                Choice::words("single", "one hole"),
                Choice::words("row", "in a row"),
                Choice::words("along", "evenly along an edge"),
                Choice::words("rectangle", "at four corners"),
                Choice::words("circle", "round a circle"),
            ]
            taken=kind
            take=move |v: String| {
                if kind.get_untracked() != v {
                    for size in sizes {
                        size.set("");
                    }
                }
                kind.set(v);
                done.run(false);
            }
        />
        {move || match kind.get().as_str() {
            "row" => view! {
                <div class="fields">
                    {counted()}
                    <TypedLength id="fixing-pitch" label="From one to the next" typing=first done=done />
                </div>
            }
            .into_any(),
            "circle" => view! {
                <div class="fields">
                    {counted()}
                    <TypedLength id="fixing-circle" label="Across the circle of centres" typing=first done=done />
                    <TypedAngle id="fixing-first" label="Where hole 1 lies, degrees anticlockwise from straight right (90: at the top)"
                        stands=first_hole.get_untracked() sides=("clockwise", "anticlockwise")
                        keep=Callback::new(move |angle| { first_hole.set(Some(angle)); done.run(false); }) />
                </div>
            }
            .into_any(),
            "rectangle" => view! {
                <div class="fields">
                    <TypedLength id="fixing-across" label="Across, middle to middle" typing=first done=done />
                    <TypedLength id="fixing-high" label="Up, middle to middle" typing=second done=done />
                </div>
            }
            .into_any(),
            "along" => view! {
                <p class="second">"As few holes as the greatest pitch allows, all the same distance apart. The middle is the middle of the edge"</p>
                <div class="fields">
                    <TypedLength id="fixing-edge" label="Length of the edge" typing=first done=done />
                    <TypedLength id="fixing-greatest" label="From one to the next at most" typing=fourth done=done />
                    <TypedLength id="fixing-start" label="Left end to the first" typing=second done=done />
                    <TypedLength id="fixing-end" label="Last to the right end" typing=third done=done />
                </div>
            }
            .into_any(),
            _ => ().into_any(),
        }}
        <p class="job-why" role="status">{move || why.get().map(|w| crate::say::job::capital(&w))}</p>
        <p class="second">{comes_to}</p>
    }
}
