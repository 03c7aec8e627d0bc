//! Straight edges of the face that are measured from.

use super::edge_made::MadeForm;
use super::edge_model as model;
use super::folded::Folded;
use super::hand::Hand;
use super::to_do;
use crate::ports::ids;
use crate::screens::job::model::edit;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{EdgeEdit, EdgeId, EntityRef, Payload, PointRef, Removal};

/// The edges, and the particulars of the one in hand.
#[component]
pub(super) fn Edges(hand: Hand) -> impl IntoView {
    let all = Memo::new(move |_| {
        let face = hand.face.get()?;
        hand.of_job(|j| model::edges(j, &face))
    });
    let open = RwSignal::new(None::<EdgeId>);
    let here = Memo::new(move |_| {
        open.get()
            .filter(|id| all.with(|a| a.iter().flatten().any(|(e, _)| e == id)))
    });
    let add = move |_| {
        let Some(face) = hand.face.get_untracked() else {
            return;
        };
        let made = hand
            .with_job(|j| model::add(j, &face, &mut ids::thing))
            .flatten();
        if let Some((id, said)) = made {
            hand.say(&said);
            open.set(Some(id));
        }
    };
    let list = move || {
        all.get()
            .unwrap_or_default()
            .into_iter()
            .map(|(id, letter)| {
                let words = hand
                    .of_job(|j| {
                        let lies = j.edges.get(&id).and_then(|e| e.lies).unwrap_or_default();
                        let read = model::squares(j, &id);
                        match read {
                            0 => format!("{}, nothing read from it yet", lies.words()),
                            1 => format!("{}, read square from one place", lies.words()),
                            n => format!("{}, read square from {n} places", lies.words()),
                        }
                    })
                    .unwrap_or_default();
                let is = {
                    let id = id.clone();
                    move || here.with(|h| h.as_ref() == Some(&id))
                };
                view! {
                    <li>
                        <button type="button" class="setout-point" aria-pressed=move || if is() { "true" } else { "false" }
                            on:click=move |_| open.set(Some(id.clone()))>
                            <strong>{format!("Edge {letter}")}</strong>
                            <span class="second">{words.clone()}</span>
                        </button>
                    </li>
                }
            })
            .collect_view()
    };
    view! {
        <Folded id="setout-edges" name="Edges" class="sheet job-part"
            used=Signal::derive(move || all.with(|a| a.as_ref().is_some_and(|a| !a.is_empty())))>
            <p class="second">"Edges that a square, or a tape laid up from them, can be held to: ends, sides, seams. On a round face distances are over the surface. What lies square from two of them can follow them"</p>
            <button type="button" id="edge-add" class="key" on:click=add>"Add an edge"</button>
            <ul class="setout-points">{list}</ul>
            {move || here.get().map(|edge| view! { <EdgeForm hand=hand edge=edge /> })}
        </Folded>
    }
}

#[component]
fn EdgeForm(hand: Hand, edge: EdgeId) -> impl IntoView {
    let id = StoredValue::new(edge);
    let fields = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.edges.get(id).cloned()))
            .flatten()
            .unwrap_or_default()
    });
    let keep = move |set: EdgeEdit| hand.say(&edit(EntityRef::Edge(id.get_value()), &set));
    let where_it_is =
        Signal::derive(move || model::key(fields.with(|f| f.lies).unwrap_or_default()).to_owned());
    let points = Memo::new(move |_| {
        hand.view()
            .map(|v| {
                to_do::points(&v)
                    .into_iter()
                    .map(|(p, title, _)| match p {
                        PointRef::Mark(_) => (p, title),
                        PointRef::Feature(_) => (p, format!("middle of {title}")),
                    })
                    .collect::<Vec<_>>()
            })
            .unwrap_or_default()
    });
    let letter = move || fields.with(|f| f.letter.clone()).unwrap_or_default();
    let take_out = move |_| {
        let entity = EntityRef::Edge(id.get_value());
        hand.say(&[Payload::Remove(Removal { entity })]);
    };
    view! {
        <div class="setout-form">
            <Choices
                legend="Seen from outside it runs along"
                shown=true
                choices=vec![
                    Choice::words("below", "the bottom"),
                    Choice::words("left", "the left side"),
                    Choice::words("above", "the top"),
                    Choice::words("right", "the right side"),
                ]
                taken=where_it_is
                take=move |v: String| keep(EdgeEdit { lies: model::lies(&v), ..EdgeEdit::default() })
            />
            <MadeForm legend="It is" field="edge-reason" edge=fields keep=keep />
            <p class="second">
                {move || format!("On the pattern, square from edge {}: three marks that are not in a row, and what follows it", letter())}
            </p>
            <div class="job-row">
                <For each=move || points.get().into_iter().enumerate() key=|(_, p)| p.clone()
                    children=move |(k, (point, title))| view! {
                        <SquareFrom hand=hand edge=id.get_value() point=point title=title place=k />
                    } />
            </div>
            <details class="job-more">
                <summary>"Take it out of the design"</summary>
                <button type="button" class="key" on:click=take_out>"Take it out (Undo brings it back)"</button>
            </details>
        </div>
    }
}

/// Names of the fields in the page; more points than this have none, and work all the same.
const FIELDS: [&str; 8] = [
    "square-1", "square-2", "square-3", "square-4", "square-5", "square-6", "square-7", "square-8",
];

#[component]
fn SquareFrom(
    hand: Hand,
    edge: EdgeId,
    point: PointRef,
    title: String,
    place: usize,
) -> impl IntoView {
    let there = hand
        .pattern()
        .and_then(|c| hand.with_job(|j| model::read(j, &c, &edge, &point)))
        .flatten();
    let typing = Typing::new(there.as_ref());
    let both = StoredValue::new((edge, point));
    let done = move |_: bool| {
        let Some((entry, casting)) = typing.entry_now().zip(hand.pattern()) else {
            return;
        };
        let said = hand.with_job(|j| {
            both.with_value(|(edge, point)| {
                let before = model::read(j, &casting, edge, point);
                let same = before.is_some_and(|b| b.mm == entry.mm);
                if same {
                    Vec::new()
                } else {
                    model::square(j, &casting, (edge, point), entry)
                }
            })
        });
        hand.say(&said.unwrap_or_default());
    };
    let label = Signal::derive(move || title.clone());
    view! { <TypedLength id=FIELDS.get(place).copied().unwrap_or("square-more") label=label typing=typing done=done /> }
}
