//! What the jig of a bracket stands by: pins over marks, or stops against edges of the casting.

use super::Open;
use super::lies::Mark;
use crate::screens::setout::edge_made::MadeForm;
use crate::screens::setout::edge_model::{key, lies};
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;
use samespot_core::job::{
    EdgeEdit, EdgeId, EdgeLies, Edit, EntityRef, FaceId, FixingEdit, JigStop, MarkId, Payload,
};

/// Every face has one edge on each side.
fn edge_of(face: &FaceId, lies: EdgeLies) -> Option<EdgeId> {
    EdgeId::new(&format!("{face}-{}", key(lies))).ok()
}

/// The edges of two stops and of the third, and the three marks.
#[derive(Debug, Clone, PartialEq)]
struct By {
    edges: [EdgeLies; 2],
    marks: [MarkId; 3],
}

/// What the stops of a bracket say now.
fn by(open: Open) -> Option<By> {
    let stops = open.of(|f| f.stops.clone()).flatten()?;
    let [a, b, c] = <[JigStop; 3]>::try_from(stops).ok()?;
    let lies = |edge: &EdgeId| open.hand.of_job(|j| j.edges.get(edge)?.lies).flatten();
    Some(By {
        edges: [lies(&a.edge)?, lies(&c.edge)?],
        marks: [a.at, b.at, c.at],
    })
}

fn keep(open: Open, by: &By) {
    let Some(face) = open.hand.face.get_untracked() else {
        return;
    };
    let ids = by.edges.map(|lies| edge_of(&face, lies));
    let [Some(long), Some(short)] = ids else {
        return;
    };
    for (id, lies) in [&long, &short].into_iter().zip(by.edges) {
        let there = open.hand.with_job(|j| j.edges.contains_key(id)) == Some(true);
        let fields = EdgeEdit {
            face: Some(face.clone()),
            letter: Some(key(lies).to_owned()),
            lies: Some(lies),
            ..EdgeEdit::default()
        };
        if !there && let Ok(edit) = Edit::of(EntityRef::Edge(id.clone()), &fields) {
            open.hand.say(&[Payload::Edit(edit)]);
        }
    }
    let [a, b, c] = by.marks.clone();
    let stop = |edge: &EdgeId, at: MarkId| JigStop {
        edge: edge.clone(),
        at,
    };
    open.keep(FixingEdit {
        stops: Some(vec![stop(&long, a), stop(&long, b), stop(&short, c)]),
        ..FixingEdit::default()
    });
}

/// Pins or edges, which edges, opposite which marks.
#[component]
pub(super) fn Stops(open: Open) -> impl IntoView {
    let now = Memo::new(move |_| by(open));
    let taken = Signal::derive(move || now.get().map_or("pins", |b| key(b.edges[0])).to_owned());
    let take = move |side: String| {
        let Some(long) = lies(&side) else {
            open.keep(FixingEdit {
                stops: Some(Vec::new()),
                ..FixingEdit::default()
            });
            return;
        };
        let meets = if long.faces() {
            EdgeLies::Left
        } else {
            EdgeLies::Below
        };
        let marks = open.hand.face.get_untracked().and_then(|face| {
            open.hand
                .with_job(|j| crate::screens::setout::model::marks(j, &face))
        });
        let first: Vec<MarkId> = marks.into_iter().flatten().map(|m| m.0).collect();
        let was = now.get_untracked().map(|b| b.marks);
        let fresh = || match first.as_slice() {
            [a, b, ..] => Some([a.clone(), b.clone(), a.clone()]),
            _ => None,
        };
        match was.or_else(fresh) {
            Some(marks) => keep(
                open,
                &By {
                    edges: [long, meets],
                    marks,
                },
            ),
            None => open
                .hand
                .session
                .notice("Stops are read from marks: add two first", true),
        }
    };
    let shown = move || now.with(Option::is_some);
    view! {
        <Choices
            legend="What its jig and setting plate stand by"
            shown=true
            choices=vec![
                Choice::words("pins", "pins over the marks"),
                Choice::words("below", "two stops on the edge below"),
                Choice::words("above", "two on the edge above"),
                Choice::words("left", "two on the edge on the left"),
                Choice::words("right", "two on the edge on the right"),
            ]
            taken=taken
            take=take
        />
        <Show when=shown>
            <Edges open=open now=now />
        </Show>
    }
}

#[component]
fn Edges(open: Open, now: Memo<Option<By>>) -> impl IntoView {
    let change = move |with: &dyn Fn(&mut By)| {
        if let Some(mut by) = now.get_untracked() {
            with(&mut by);
            keep(open, &by);
        }
    };
    let level = move || now.with(|b| b.as_ref().is_some_and(|b| b.edges[0].faces()));
    let third = Signal::derive(move || now.get().map_or("", |b| key(b.edges[1])).to_owned());
    let thirds = move || {
        let sides = if level() {
            [("left", "on the left"), ("right", "on the right")]
        } else {
            [("below", "below"), ("above", "above")]
        };
        sides.map(|(key, words)| Choice::words(key, words)).to_vec()
    };
    let at = move |k: usize| Signal::derive(move || now.get().map(|b| b.marks[k].clone()));
    let set = move |k: usize| {
        Callback::new(move |mark: MarkId| change(&|by: &mut By| by.marks[k] = mark.clone()))
    };
    view! {
        {move || {
            view! {
                <Choices
                    legend="The third stop, on the edge that meets it"
                    shown=true
                    choices=thirds()
                    taken=third
                    take=move |side: String| change(&|by: &mut By| {
                        if let Some(lies) = lies(&side) {
                            by.edges[1] = lies;
                        }
                    })
                />
            }
        }}
        <div class="job-row">
            <Mark open=open id="stop-mark-1" label="S1 opposite" is=at(0) take=set(0) />
            <Mark open=open id="stop-mark-2" label="S2 opposite" is=at(1) take=set(1) />
            <Mark open=open id="stop-mark-3" label="S3 opposite" is=at(2) take=set(2) />
        </div>
        <Made open=open now=now which=0 />
        <Made open=open now=now which=1 />
        <p class="second">"Each casting’s edges are read on the Holes screen, square from these marks"</p>
    }
}

/// How one of the two edges came about: a trimmed one is on no two castings in the same place.
#[component]
fn Made(open: Open, now: Memo<Option<By>>, which: usize) -> impl IntoView {
    let edge = Memo::new(move |_| {
        let lies = now.get()?.edges[which];
        edge_of(&open.hand.face.get()?, lies)
    });
    let of = move || {
        let id = edge.get()?;
        open.hand.of_job(|j| j.edges.get(&id).cloned()).flatten()
    };
    let set = move |fields: EdgeEdit| {
        if let Some(id) = edge.get_untracked() {
            open.hand.say_if_new(EntityRef::Edge(id), &fields);
        }
    };
    let (legend, field) = if which == 0 {
        ("The edge of S1 and S2 is", "edge-reason-1")
    } else {
        ("The edge of S3 is", "edge-reason-2")
    };
    let now = Signal::derive(move || of().unwrap_or_default());
    view! { <MadeForm legend=legend field=field edge=now keep=set /> }
}
