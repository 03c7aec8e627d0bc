//! With what the reading in hand is taken, and one that is not on the list.

use super::hand::{Hand, Looked};
use leptos::prelude::*;
use samespot_core::job::{EdgeId, FaceId, InstrumentId, Job, MarkId, Measured, PointRef};
use samespot_core::prepare::instruments::for_reading;

/// What can be read besides the list, as it stands on the keys.
const WAYS: [(&str, &str); 6] = [
    ("straight", "straight distance"),
    ("over", "over the surface"),
    ("level", "level: how far the second stands above the first"),
    (
        "plumb",
        "plumb: how far the second lies right of the line through the first",
    ),
    ("height", "height above the board or a level line"),
    ("square", "square from an edge"),
];

/// With what; another can be taken up where the job has one that reads this.
#[component]
pub(super) fn With(hand: Hand) -> impl IntoView {
    let all = Memo::new(move |_| {
        let ask = hand.ask.get()?;
        hand.session
            .book
            .with(|b| b.as_ref().map(|b| for_reading(&b.job, &ask.of)))
    });
    let several = move || all.with(|a| a.as_ref().is_some_and(|a| a.len() > 1));
    let now = move || hand.ask.get().and_then(|ask| hand.taken_with(&ask));
    let name = move || {
        hand.ask.get().map(|ask| {
            let now = hand.taken_with(&ask);
            let known = all.get().unwrap_or_default();
            let own = known.into_iter().find(|(id, _)| Some(id) == now.as_ref());
            own.map_or(ask.with, |(_, name)| name)
        })
    };
    let take = move |ev: leptos::ev::Event| {
        if let Ok(id) = InstrumentId::new(&event_target_value(&ev)) {
            hand.take_up(id);
        }
    };
    view! {
        <Show when=several fallback=move || view! { <b class="with">{name}</b> }>
            <select class="held with" aria-label="Read with" on:change=take>
                {move || all.get().unwrap_or_default().into_iter().map(|(id, name)| {
                    let is = now().as_ref() == Some(&id);
                    view! { <option value=id.to_string() selected=is>{name}</option> }
                }).collect_view()}
            </select>
        </Show>
    }
}

/// Marks of a face by letter.
fn marks(job: &Job, face: &FaceId) -> Vec<(MarkId, String)> {
    let mut all: Vec<_> = job
        .marks
        .iter()
        .filter(|(_, m)| m.face.as_ref() == Some(face))
        .map(|(id, m)| (id.clone(), m.letter.clone().unwrap_or_default()))
        .collect();
    all.sort_by(|a, b| (&a.1, &a.0).cmp(&(&b.1, &b.0)));
    all
}

/// Edges of a face by letter.
fn edges(job: &Job, face: &FaceId) -> Vec<(EdgeId, String)> {
    let mut all: Vec<_> = job
        .edges
        .iter()
        .filter(|(_, e)| e.face.as_ref() == Some(face))
        .map(|(id, e)| (id.clone(), e.letter.clone().unwrap_or_default()))
        .collect();
    all.sort_by(|a, b| (&a.1, &a.0).cmp(&(&b.1, &b.0)));
    all
}

/// The reading that somebody wants besides the list.
fn wanted(way: &str, from: MarkId, to: MarkId, stood: u32) -> Option<Measured> {
    let (a, b) = (PointRef::Mark(from), PointRef::Mark(to));
    if way != "height" && a == b {
        return None;
    }
    Some(match way {
        "over" => Measured::Over { from: a, to: b },
        "level" => Measured::Level {
            from: a,
            to: b,
            stood,
        },
        "plumb" => Measured::Plumb {
            high: a,
            low: b,
            stood,
        },
        "height" => Measured::Height { of: b, stood },
        _ => Measured::Straight { from: a, to: b },
    })
}

/// One reading more.
#[component]
pub(super) fn Besides(hand: Hand) -> impl IntoView {
    let way = RwSignal::new("level".to_owned());
    let face = RwSignal::new(String::new());
    let from = RwSignal::new(String::new());
    let to = RwSignal::new(String::new());
    let moved = RwSignal::new(false);
    let faces = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => walk
            .faces
            .iter()
            .map(|f| (f.face.clone(), f.name.clone()))
            .collect(),
        _ => Vec::new(),
    });
    let here = Memo::new(move |_| {
        let all = faces.get();
        let named = face.get();
        all.iter()
            .find(|(id, _)| id.as_str() == named)
            .or_else(|| all.first())
            .map(|(id, _)| id.clone())
    });
    let letters = Memo::new(move |_| {
        let face = here.get()?;
        hand.session
            .book
            .with(|b| b.as_ref().map(|b| marks(&b.job, &face)))
    });
    let straight = Memo::new(move |_| {
        let face = here.get()?;
        hand.session
            .book
            .with(|b| b.as_ref().map(|b| edges(&b.job, &face)))
    });
    let any_edge = move || straight.with(|s| s.as_ref().is_some_and(|s| !s.is_empty()));
    let edge = RwSignal::new(String::new());
    let levelled = move || matches!(way.get().as_str(), "level" | "plumb" | "height");
    let ask = move || {
        let all = letters.get().unwrap_or_default();
        let find = |text: &str, usual: usize| {
            let named = all.iter().find(|(id, _)| id.as_str() == text);
            named.or_else(|| all.get(usual)).map(|(id, _)| id.clone())
        };
        if way.get() == "square" {
            let edges = straight.get().unwrap_or_default();
            let named = edges.iter().find(|(id, _)| id.as_str() == edge.get());
            let (edge, _) = named.or_else(|| edges.first())?;
            return Some(Measured::Square {
                edge: edge.clone(),
                to: PointRef::Mark(find(&to.get(), 1)?),
            });
        }
        let stood = hand.stood(moved.get());
        wanted(
            &way.get(),
            find(&from.get(), 0)?,
            find(&to.get(), 1)?,
            stood,
        )
    };
    let add = move |_| {
        if let Some(of) = untrack(ask) {
            hand.ask_besides(of);
            moved.set(false);
        }
    };
    let select = move |id: &'static str,
                       label: &'static str,
                       value: RwSignal<String>,
                       usual: usize| {
        view! {
            <label class="job-field short">
                <span>{label}</span>
                <select id=id on:change=move |ev| value.set(event_target_value(&ev))>
                    {move || letters.get().unwrap_or_default().into_iter().enumerate().map(|(k, (id, letter))| {
                        let named = value.get();
                        let is = if named.is_empty() { k == usual } else { id.as_str() == named };
                        view! { <option value=id.to_string() selected=is>{letter}</option> }
                    }).collect_view()}
                </select>
            </label>
        }
    };
    view! {
        <details class="proofs besides">
            <summary>"Read something that is not on the list"</summary>
            <label class="job-field">
                <span>"What"</span>
                <select id="besides-way" on:change=move |ev| way.set(event_target_value(&ev))>
                    {move || WAYS.iter().filter(|(key, _)| *key != "square" || any_edge()).map(|(key, words)| view! {
                        <option value=*key selected=move || way.get() == *key>{*words}</option>
                    }).collect_view()}
                </select>
            </label>
            <div class="job-row">
                <Show when=move || faces.with(|f| f.len() > 1)>
                    <label class="job-field">
                        <span>"On"</span>
                        <select id="besides-face" on:change=move |ev| face.set(event_target_value(&ev))>
                            {move || faces.get().into_iter().map(|(id, name)| view! {
                                <option value=id.to_string()>{name}</option>
                            }).collect_view()}
                        </select>
                    </label>
                </Show>
                <Show when=move || way.get() == "square">
                    <label class="job-field short">
                        <span>"From edge"</span>
                        <select id="besides-edge" on:change=move |ev| edge.set(event_target_value(&ev))>
                            {move || straight.get().unwrap_or_default().into_iter().map(|(id, letter)| view! {
                                <option value=id.to_string()>{letter}</option>
                            }).collect_view()}
                        </select>
                    </label>
                </Show>
                <Show when=move || !matches!(way.get().as_str(), "height" | "square")>
                    {select("besides-from", "First mark", from, 0)}
                </Show>
                {select("besides-to", "Mark", to, 1)}
            </div>
            <Show when=levelled>
                <label class="job-tick">
                    <input type="checkbox" id="besides-moved" prop:checked=move || moved.get()
                        on:change=move |ev| moved.set(event_target_checked(&ev)) />
                    <span>"The casting, or the level line, was moved since the last of these"</span>
                </label>
            </Show>
            <button type="button" id="besides-add" class="key" on:click=add
                aria-disabled=move || if ask().is_some() { "false" } else { "true" }>
                {move || if ask().is_some() { "Read it now" } else { "Choose two different marks" }}
            </button>
        </details>
    }
}
