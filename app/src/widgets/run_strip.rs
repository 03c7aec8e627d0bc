//! The run along the lower edge of every screen of a job.

use super::marks::Fits;
use crate::ports::clock;
use crate::route::Route;
use crate::say::numbers::tenth;
use crate::say::run::{Tile, as_drawn_sentence, step_names, tiles};
use crate::state::{Book, Session, session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::PieceId;
use std::sync::Arc;

/// How long nothing must be said while a casting is measured before the strip follows, ms: looking the
/// run over takes longer than the picture of a reading may.
const QUIET_MS: i32 = 250;

/// The job as the strip shows it.
fn followed(session: Session) -> RwSignal<Option<Arc<Book>>> {
    let shown = RwSignal::new(session.book.get_untracked());
    let times = StoredValue::new(0_u32);
    Effect::new(move |_| {
        let book = session.book.get();
        times.update_value(|n| *n = n.wrapping_add(1));
        let number = times.get_value();
        let measuring = session
            .route
            .with_untracked(|r| matches!(r, Route::Measure { .. }));
        let same = shown.with_untracked(|s| {
            let ids = s.as_ref().zip(book.as_ref());
            ids.is_some_and(|(shown, book)| shown.id() == book.id())
        });
        if !(measuring && same) {
            shown.set(book);
            return;
        }
        spawn_local(async move {
            clock::pause(QUIET_MS).await;
            if times.try_get_value() == Some(number) {
                let _ = shown.try_set(book);
            }
        });
    });
    shown
}

/// The strip.
#[component]
pub fn RunStrip() -> impl IntoView {
    let session = session();
    let shown = followed(session);
    let all = Memo::new(move |_| {
        let survey = session.survey.get();
        shown.with(|b| {
            b.as_ref().map_or_else(Vec::new, |b| {
                tiles(&b.job, survey.as_deref(), session.as_drawn.get())
            })
        })
    });
    let title = move || {
        session
            .book
            .with(|b| b.as_ref().map_or_else(String::new, |b| b.title()))
    };
    let under = move || {
        let all = all.get();
        if all.is_empty() {
            "no pieces yet: say under Job how many the run has".to_owned()
        } else if session.survey.with(Option::is_none) {
            "looking the run over…".to_owned()
        } else if session.as_drawn.get() {
            as_drawn_sentence(&all)
        } else {
            let boxes = all.first().map_or(0, |t| t.steps.len());
            format!("worst feature of each; boxes: {}", step_names(boxes))
        }
    };
    view! {
        <section class="run" aria-label="The run">
            <div class="run-head">
                <strong>{title}</strong>
                <span class="second">{under}</span>
            </div>
            <Switch />
            // Where there is no room for the words beside the tiles they open above them.
            <Show when=move || all.with(|a| !a.is_empty())>
                <details class="run-legend">
                    <summary aria-label="What the strip shows" title="What the strip shows">"?"</summary>
                    <p>
                        "A box for each piece: its number, its worst feature in mm, and what it waits for. "
                        {move || crate::say::job::capital(&under())}
                    </p>
                </details>
            </Show>
            <ol class="tiles">
                <For
                    each=move || all.get()
                    key=|t| (t.number.clone(), t.spoken.clone(), t.steps.clone(), t.parts_batch)
                    let(tile)
                >
                    <TileView tile=tile />
                </For>
            </ol>
        </section>
    }
}

#[component]
fn Switch() -> impl IntoView {
    let session = session();
    let key = move |drawn: bool, words: &'static str| {
        view! {
            <button
                type="button"
                aria-pressed=move || if session.as_drawn.get() == drawn { "true" } else { "false" }
                on:click=move |_| session.as_drawn.set(drawn)
            >
                {words}
            </button>
        }
    };
    view! {
        <div class="switch" role="group" aria-label="What the run shows">
            {key(false, "as measured")} {key(true, "as drawn")}
        </div>
    }
}

/// Moves the strip, and nothing but the strip, so that a tile is seen: the browser's own way moves the page too.
fn bring_into_strip(tile: &web_sys::Element) {
    let Some(strip) = tile.parent_element() else {
        return;
    };
    let (of, within) = (
        tile.get_bounding_client_rect(),
        strip.get_bounding_client_rect(),
    );
    let past = (of.right() - within.right()).max(0.0);
    let before = (of.left() - within.left()).min(0.0);
    // Whole px: what is left of one is not seen.
    #[expect(clippy::cast_possible_truncation, reason = "a screen is not that wide")]
    strip.set_scroll_left(strip.scroll_left() + (past + before).round() as i32);
}

/// Where a tap on a piece goes: the same task, that piece.
fn there(route: &Route, piece: &PieceId) -> Option<Route> {
    let job = route.job()?.clone();
    if matches!(route, Route::Measure { .. }) {
        return Some(Route::Measure {
            job,
            piece: Some(piece.clone()),
            casting: None,
        });
    }
    if matches!(route, Route::Job { .. }) {
        return Some(Route::Job {
            job,
            piece: Some(piece.clone()),
        });
    }
    if matches!(route, Route::Seat { .. }) {
        return Some(Route::Seat {
            job,
            piece: Some(piece.clone()),
        });
    }
    if matches!(route, Route::Holes { .. }) {
        return Some(Route::Holes {
            job,
            piece: Some(piece.clone()),
        });
    }
    if let Route::Checks { feature, .. } = route {
        return Some(Route::Checks {
            job,
            piece: Some(piece.clone()),
            feature: feature.clone(),
        });
    }
    let feature = match route {
        Route::Templates { feature, .. } => feature.clone(),
        _ => None,
    };
    Some(Route::Templates {
        job,
        piece: Some(piece.clone()),
        feature,
    })
}

#[component]
fn TileView(tile: Tile) -> impl IntoView {
    let session = session();
    let node = NodeRef::<leptos::html::Li>::new();
    let piece = tile.piece.clone();
    let here = {
        let piece = piece.clone();
        Memo::new(move |_| session.route.with(|r| r.piece() == Some(&piece)))
    };
    let address = move || {
        session
            .route
            .with(|r| there(r, &piece).map_or_else(|| "#/".to_owned(), |r| r.address()))
    };
    Effect::new(move |_| {
        if here.get()
            && let Some(node) = node.get()
        {
            bring_into_strip(&node);
        }
    });
    let error = tile.worst.as_ref().map(|w| tenth(w.1));
    let step = |done: bool| view! { <i class:done=done></i> };
    let title = tile.hint.clone();
    view! {
        <li class="tile" class:parts=tile.parts_batch class:here=move || here.get() node_ref=node title=title>
            <a
                href=address
                aria-label=tile.spoken.clone()
                aria-current=move || here.get().then_some("true")
            >
                <span class="number">{tile.number.clone()}</span>
                <span class="worst">
                    <Fits fits=tile.worst.as_ref().map(|w| w.2) />
                    {error}
                </span>
                <span class="waits">{tile.word}</span>
                <span class="boxes" aria-hidden="true">{tile.steps.into_iter().map(step).collect_view()}</span>
            </a>
        </li>
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn a_tap_keeps_the_task_and_the_feature() {
        let piece = PieceId::new("8").unwrap();
        let route = Route::read("#/j/q7/p/7/templates/eye-left");
        assert_eq!(
            there(&route, &piece).unwrap().address(),
            "#/j/q7/p/8/templates/eye-left"
        );
        let route = Route::read("#/j/q7/quick");
        assert_eq!(
            there(&route, &piece).unwrap().address(),
            "#/j/q7/p/8/templates"
        );
        let route = Route::read("#/j/q7/c/cap-7/measure");
        assert_eq!(
            there(&route, &piece).unwrap().address(),
            "#/j/q7/p/8/measure"
        );
        let route = Route::read("#/j/q7/p/7/checks/eye-left");
        assert_eq!(
            there(&route, &piece).unwrap().address(),
            "#/j/q7/p/8/checks/eye-left"
        );
        let route = Route::read("#/j/q7/job");
        assert_eq!(there(&route, &piece).unwrap().address(), "#/j/q7/p/8/job");
        assert_eq!(there(&Route::Start, &piece), None);
    }
}
