//! What stands on the face: marks, and what has to land in the right place; the particulars of one.

use super::across::AcrossForm;
use super::cut_out::CutOutForm;
use super::edge_pair::EdgePair;
use super::hand::Hand;
use super::in_view::InViewForm;
use super::laid::{LaidForm, RunsForm};
use super::left_out::left_out;
use super::marked::MarkedForm;
use super::pair::{ImageForm, PairForm};
use super::sizes::OutlineForm;
use super::turned::TurnForm;
use super::{model, to_do};
use crate::ports::{fields, ids};
use crate::screens::job::model::edit;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::field::Field;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{
    EntityRef, Entry, FeatureEdit, FeatureId, Hand as Handed, LineSide, MarkEdit, MarkId, Payload,
    PointRef, Removal, RuleSpec,
};
use samespot_core::prepare::setout::Stands;

/// How a point stands, in a few words.
fn stands_words(stands: &Stands) -> String {
    match stands {
        Stands::Held { within, .. } if within.mm() >= 0.05 => {
            format!("± {} mm", crate::say::numbers::tenth(*within))
        }
        Stands::Held { .. } => "held".into(),
        Stands::Open { need, .. } => need.clone(),
        Stands::EitherSide { .. } => "on which side?".into(),
    }
}

/// The lists and the particulars of what is chosen.
#[component]
pub(super) fn Points(hand: Hand) -> impl IntoView {
    let lines = Memo::new(move |_| match hand.view() {
        Some(view) => to_do::points(&view),
        None => (hand.face.get())
            .and_then(|face| hand.of_job(|j| to_do::points_of_job(j, &face)))
            .unwrap_or_default(),
    });
    let list = move |marks: bool| {
        lines
            .get()
            .into_iter()
            .filter(|(p, ..)| matches!(p, PointRef::Mark(_)) == marks)
            .map(|(point, title, stands)| {
                let here = {
                    let point = point.clone();
                    move || hand.chosen.with(|c| c.as_ref() == Some(&point))
                };
                let title = if title.trim().is_empty() {
                    "no name yet".to_owned()
                } else {
                    title
                };
                view! {
                    <li>
                        <button type="button" class="setout-point" aria-pressed=move || if here() { "true" } else { "false" }
                            on:click=move |_| hand.choose(Some(point.clone()))>
                            <strong>{title}</strong>
                            <span class="second">{stands_words(&stands)}</span>
                        </button>
                    </li>
                }
            })
            .collect_view()
    };
    let add_mark = move |_| {
        let Some(face) = hand.face.get_untracked() else {
            return;
        };
        let made = hand
            .with_job(|j| model::add_mark(j, &face, &mut ids::thing))
            .flatten();
        if let Some((id, said)) = made {
            hand.say(&said);
            hand.choose(Some(PointRef::Mark(id)));
            fields::focus_first_empty("#mark-found");
        }
    };
    let called = RwSignal::new(String::new());
    let add_feature = move || {
        let Some(face) = hand.face.get_untracked() else {
            return;
        };
        let name = called.get_untracked();
        if name.trim().is_empty() {
            return;
        }
        let made = hand
            .with_job(|j| model::add_feature(j, &face, &name, &mut ids::thing))
            .flatten();
        if let Some((id, said)) = made {
            hand.say(&said);
            called.set(String::new());
            hand.choose(Some(PointRef::Feature(id)));
            // The cursor goes on to what is asked of it.
            fields::focus_at("#setout-features-form .choice");
        }
    };
    let named = move || !called.get().trim().is_empty();
    let chosen = Memo::new(move |_| hand.chosen.get());
    // Which of the two forms it has follows the job; what else changes there leaves the form alone.
    let images = Memo::new(move |_| {
        hand.of_job(|j| {
            j.features
                .keys()
                .filter(|f| j.made_from(f).is_some())
                .cloned()
                .collect::<Vec<_>>()
        })
        .unwrap_or_default()
    });
    let in_form = move || {
        hand.session.stepped.track();
        chosen.get()
    };
    let image = move |id: &FeatureId| images.with(|all| all.contains(id));
    view! {
        <section class="sheet job-part" aria-labelledby="setout-marks">
            <h2 id="setout-marks">"Marks"</h2>
            <p class="second">"Points that can be found again on every casting. A is left and B right, seen from outside"</p>
            <button type="button" id="mark-add" class="key" on:click=add_mark>"Add a mark"</button>
            <ul class="setout-points">{move || list(true)}</ul>
            {move || match in_form() {
                Some(PointRef::Mark(id)) => view! { <MarkForm hand=hand mark=id /> }.into_any(),
                _ => ().into_any(),
            }}
        </section>
        <section class="sheet job-part" aria-labelledby="setout-features">
            <h2 id="setout-features">"What has to land in the right place"</h2>
            <div class="job-row">
                <label class="job-field">
                    <span>"What it is"</span>
                    <input id="feature-new" type="text" autocomplete="off" placeholder="eye" prop:value=move || called.get()
                        on:input=move |ev| called.set(event_target_value(&ev))
                        on:keydown=move |ev| {
                            if ev.key() == "Enter" {
                                ev.prevent_default();
                                add_feature();
                            }
                        } />
                </label>
                <button type="button" id="feature-add" class="key" on:click=move |_| add_feature()
                    aria-disabled=move || if named() { "false" } else { "true" }>
                    {move || if named() { "Add it" } else { "Name it to add it" }}
                </button>
            </div>
            <ul class="setout-points">{move || list(false)}</ul>
            <div id="setout-features-form">
            {move || match in_form() {
                Some(PointRef::Feature(id)) if image(&id) => view! { <ImageForm hand=hand feature=id /> }.into_any(),
                Some(PointRef::Feature(id)) => view! { <FeatureForm hand=hand feature=id /> }.into_any(),
                _ => ().into_any(),
            }}
            </div>
        </section>
    }
}

/// The keys every point has: its side, the drawing, out of the job.
#[component]
fn Common(hand: Hand, point: PointRef) -> impl IntoView {
    let point = StoredValue::new(point);
    let side = Signal::derive(move || {
        hand.of_job(|j| {
            let told = point.with_value(|p| match p {
                PointRef::Mark(id) => j.marks.get(id).and_then(|m| m.side),
                PointRef::Feature(id) => j.features.get(id).and_then(|f| f.side),
            });
            match told {
                Some(LineSide::Above) => "above",
                Some(LineSide::Below) => "below",
                None => "",
            }
        })
        .unwrap_or_default()
        .to_owned()
    });
    // The first two marks are the line itself.
    let first_two = move || {
        let face = hand.face.get()?;
        hand.of_job(|j| {
            let all = model::marks(j, &face);
            point.with_value(|p| {
                all.iter()
                    .take(2)
                    .any(|(id, _)| *p == PointRef::Mark(id.clone()))
            })
        })
    };
    let off_line = move || first_two() == Some(false);
    let take_out = move |_| {
        let entity = point.with_value(|p| match p {
            PointRef::Mark(id) => EntityRef::Mark(id.clone()),
            PointRef::Feature(id) => EntityRef::Feature(id.clone()),
        });
        hand.say(&[Payload::Remove(Removal { entity })]);
        hand.choose(None);
    };
    view! {
        <Show when=off_line>
            <Choices
                legend="Seen from outside, with A left and B right, it lies"
                shown=true
                choices=vec![
                    Choice::words("above", "above the line A–B"),
                    Choice::words("below", "below it"),
                ]
                taken=side
                take=move |v: String| {
                    let to = if v == "below" { LineSide::Below } else { LineSide::Above };
                    hand.say(&point.with_value(|p| model::side(p, to)));
                }
            />
        </Show>
        <div class="job-row">
            <Show when=off_line>
                <button type="button" class="key" aria-pressed=move || if hand.placing.get() { "true" } else { "false" }
                    on:click=move |_| hand.placing.update(|p| *p = !*p)>
                    {move || if hand.placing.get() { "Now tap the drawing" } else { "Put it down on the drawing" }}
                </button>
            </Show>
        </div>
        // Not under a finger by mistake: what moves above must not put it there.
        <details class="job-more">
            <summary>"Take it out of the design"</summary>
            <button type="button" class="key" on:click=take_out>"Take it out (Undo brings it back)"</button>
        </details>
    }
}

#[component]
fn MarkForm(hand: Hand, mark: MarkId) -> impl IntoView {
    let id = StoredValue::new(mark.clone());
    let of = move |read: fn(&MarkEdit) -> Option<String>| {
        Signal::derive(move || {
            hand.of_job(|j| id.with_value(|id| j.marks.get(id).and_then(read)))
                .flatten()
                .unwrap_or_default()
        })
    };
    let keep = move |fields: MarkEdit| hand.say(&edit(EntityRef::Mark(id.get_value()), &fields));
    let keep_letter = move |letter: String| {
        let taken = hand.face.get_untracked().and_then(|face| {
            hand.with_job(|j| {
                model::marks(j, &face)
                    .into_iter()
                    .any(|(other, l)| l == letter && id.with_value(|id| *id != other))
            })
        });
        let count = letter.chars().count();
        if count == 0 || count > 3 {
            hand.session.notice(
                "One letter, or three at most: it is printed beside the cross",
                true,
            );
        } else if taken == Some(true) {
            hand.session.notice(
                format!("There is a mark {letter} on this face already: take another letter"),
                true,
            );
        } else {
            keep(MarkEdit {
                letter: Some(letter),
                ..MarkEdit::default()
            });
        }
    };
    let hidden = Signal::derive(move || {
        hand.of_job(|j| id.with_value(|id| j.marks.get(id).and_then(|m| m.hidden)))
            .flatten()
            .map_or(String::new(), |h| {
                if h { "hidden" } else { "show" }.to_owned()
            })
    });
    view! {
        <div class="setout-form">
            <Field id="mark-letter" label="Letter on the sheet" value=of(|m| m.letter.clone()) keep=keep_letter />
            <Field id="mark-found" label="How it is found" hint="moulded-in pip under the brow" value=of(|m| m.found.clone())
                keep=move |found: String| keep(MarkEdit { found: Some(found), ..MarkEdit::default() }) />
            <Choices
                legend="In the finished piece it is"
                shown=true
                choices=vec![Choice::words("hidden", "hidden"), Choice::words("show", "on show, painted over")]
                taken=hidden
                take=move |v: String| keep(MarkEdit { hidden: Some(v == "hidden"), ..MarkEdit::default() })
            />
            <Common hand=hand point=PointRef::Mark(mark) />
        </div>
    }
}

/// What a feature may be out, by what it is.
const PRESETS: [(&str, f64); 3] = [("pavement", 5.0), ("painted", 3.0), ("pair", 2.0)];

#[component]
fn FeatureForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature.clone());
    let point = PointRef::Feature(feature.clone());
    let fields = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id).cloned()))
            .flatten()
            .unwrap_or_default()
    });
    let keep = move |set: FeatureEdit| hand.say(&edit(EntityRef::Feature(id.get_value()), &set));
    let name = Signal::derive(move || fields.with(|f| f.name.clone()).unwrap_or_default());
    let finish = Signal::derive(move || fields.with(|f| f.finish.clone()).unwrap_or_default());
    let handed = Signal::derive(move || {
        match fields.with(|f| f.hand) {
            Some(Handed::Left) => "left",
            Some(Handed::Right) => "right",
            None => "one",
        }
        .to_owned()
    });
    let follows =
        Signal::derive(move || fields.with(|f| model::follows(f.rule.as_ref())).to_owned());
    let within = Typing::of_length(
        fields
            .with_untracked(|f| f.tolerance.map(|t| Entry::of_mm(t.mm())))
            .as_ref(),
    );
    let preset = Signal::derive(move || {
        let mm = fields
            .with(|f| f.tolerance)
            .map_or(0.0, samespot_core::units::Length::mm);
        PRESETS
            .iter()
            .find(|(_, p)| (p - mm).abs() < 1e-6)
            .map_or("", |(n, _)| n)
            .to_owned()
    });
    let take_rule = move |how: String| {
        let Some(face) = hand.face.get_untracked() else {
            return;
        };
        let made = hand
            .with_job(|j| {
                let old = id.with_value(|id| j.features.get(id).and_then(|f| f.rule.clone()));
                model::rule(j, &face, old.as_ref(), &how)
            })
            .flatten();
        match made {
            Some(rule) => keep(FeatureEdit {
                rule: Some(rule),
                ..FeatureEdit::default()
            }),
            None if how == "edges" => hand
                .session
                .notice("That needs two edges: add them below first", true),
            None => hand
                .session
                .notice("A rule needs two marks: add them first", true),
        }
    };
    let ends = move || {
        fields.with(|f| {
            let [from, to] = f.rule.as_ref().and_then(RuleSpec::line)?;
            Some((from.clone(), to.clone()))
        })
    };
    let set_end = move |first: bool| {
        move |ev: leptos::ev::Event| {
            let Ok(mark) = MarkId::new(&event_target_value(&ev)) else {
                return;
            };
            let Some(mut rule) = fields.get_untracked().rule else {
                return;
            };
            if let RuleSpec::Line { from, to, .. } | RuleSpec::OffEdge { from, to, .. } = &mut rule
            {
                let (this, other) = if first { (from, to) } else { (to, from) };
                // Taking the other's place turns the line round.
                if *other == mark {
                    core::mem::swap(this, other);
                } else {
                    *this = mark;
                }
            }
            keep(FeatureEdit {
                rule: Some(rule),
                ..FeatureEdit::default()
            });
        }
    };
    let letters = Memo::new(move |_| {
        let face = hand.face.get()?;
        hand.of_job(|j| model::marks(j, &face))
    });
    let select = move |id: &'static str, label: &'static str, first: bool| {
        view! {
            <label class="job-field short">
                <span>{label}</span>
                <select id=id on:change=set_end(first)
                    prop:value=move || ends().map(|(a, b)| if first { a } else { b }.to_string()).unwrap_or_default()>
                    {move || letters.get().unwrap_or_default().into_iter().map(|(id, letter)| {
                        let is = ends().is_some_and(|(a, b)| id == if first { a } else { b });
                        view! { <option value=id.to_string() selected=is>{letter}</option> }
                    }).collect_view()}
                </select>
            </label>
        }
    };
    // A third mark that is set out and then neither asked for nor used is a surprise later on.
    let leaves_out = move || {
        let face = hand.face.get()?;
        hand.of_job(|j| fields.with(|f| left_out(j, &face, f.rule.as_ref())))
            .flatten()
    };
    let sentence = move || {
        hand.view().and_then(|v| {
            let f = v
                .features
                .iter()
                .find(|f| id.with_value(|id| f.feature == *id))?;
            Some(f.sentence.clone()).filter(|s| !s.is_empty())
        })
    };
    let done = move |_: bool| {
        if let Some(entry) = within.entry_now() {
            let tolerance = Some(entry.mm);
            hand.say_if_new(
                EntityRef::Feature(id.get_value()),
                &FeatureEdit {
                    tolerance,
                    ..FeatureEdit::default()
                },
            );
        }
    };
    view! {
        <div class="setout-form">
            <Field id="feature-name" label="What it is" value=name
                keep=move |n: String| keep(FeatureEdit { name: Some(n), ..FeatureEdit::default() }) />
            <Choices
                legend="One of a pair? The figure's own left or right"
                shown=true
                choices=vec![
                    Choice::words("left", "left"),
                    Choice::words("right", "right"),
                    Choice::words("one", "there is only one"),
                ]
                taken=handed
                take=move |v: String| {
                    let hand = match v.as_str() {
                        "left" => Some(Handed::Left),
                        "right" => Some(Handed::Right),
                        _ => None,
                    };
                    keep(FeatureEdit { hand, ..FeatureEdit::default() });
                }
            />
            <PairForm hand=hand feature=feature.clone() />
            <OutlineForm hand=hand feature=feature.clone() />
            <CutOutForm hand=hand feature=feature.clone() />
            <Choices
                legend="How far out may it be, any way?"
                shown=true
                choices=vec![
                    Choice::words("pavement", "5 mm, seen from the pavement"),
                    Choice::words("painted", "3 mm, painted feature"),
                    Choice::words("pair", "2 mm, pair or lettering"),
                ]
                taken=preset
                take=move |v: String| {
                    if let Some((_, mm)) = PRESETS.iter().find(|(n, _)| *n == v) {
                        within.set(&format!("{mm}"));
                        keep(FeatureEdit {
                            tolerance: Some(samespot_core::units::Length::from_mm(*mm)),
                            ..FeatureEdit::default()
                        });
                    }
                }
            />
            <TypedLength id="feature-within" label="or within" typing=within done=done />
            <Choices
                legend="When a casting is not as the pattern"
                shown=true
                choices=vec![
                    Choice::words("split", "the difference is split between the two marks"),
                    Choice::words("from-a", "it keeps its distance from the first"),
                    Choice::words("stretch", "it moves in proportion"),
                    Choice::words("best", "best fit to all marks"),
                    Choice::words("edges", "it stays square from two edges"),
                ]
                taken=follows
                take=take_rule
            />
            <p class="second feature-left-out" role="status" hidden=move || leaves_out().is_none()>{leaves_out}</p>
            <Show when=move || ends().is_some()>
                <div class="job-row">
                    {select("feature-from", "First mark", true)}
                    {select("feature-to", "Second mark", false)}
                </div>
                <AcrossForm hand=hand feature=id.get_value() />
            </Show>
            <Show when=move || follows.with(|f| f == "edges")>
                <EdgePair hand=hand feature=id.get_value() />
            </Show>
            <TurnForm hand=hand feature=id.get_value() />
            <InViewForm hand=hand feature=feature.clone() />
            <details class="setout-folded">
                <summary>"How it is drawn, marked and laid"</summary>
                <RunsForm hand=hand feature=feature.clone() />
                <MarkedForm hand=hand feature=feature.clone() />
                <LaidForm hand=hand feature=feature />
            </details>
            <Field id="feature-finish" label="Finish" hint="colour, gloss, coats" value=finish
                keep=move |t: String| keep(FeatureEdit { finish: Some(t), ..FeatureEdit::default() }) />
            <p class="second">{move || sentence()}</p>
            <Common hand=hand point=point />
        </div>
    }
}
