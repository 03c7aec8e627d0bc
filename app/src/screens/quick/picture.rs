//! The picture beside the cards, true to proportion.

use super::hand::Hand;
use super::scene::{Room, Scene, Words, scene};
use super::{live, model};
use crate::say::numbers::tenth;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::LivePicture;
use samespot_core::job::{Entry, OutlineSpec};
use std::sync::Arc;

const ROOM: Room = Room {
    width: 640.0,
    height: 470.0,
    margin: 76.0,
};

/// A picture with what it is a picture of.
#[derive(Clone, PartialEq)]
struct Seen {
    live: Arc<LivePicture>,
    words: Words,
    real: bool,
    /// A to B is read on the piece in hand.
    read: bool,
}

#[derive(Clone, PartialEq)]
enum Shown {
    Nothing,
    Seen(Seen),
    Refused(String),
}

fn words(cards: &samespot_core::job::QuickCards, piece: u32) -> Words {
    let mm = |e: &Option<Entry>| {
        e.as_ref()
            .map_or_else(String::new, |e| crate::say::numbers::size(e.mm))
    };
    let here = cards
        .pieces
        .iter()
        .find(|p| p.number == piece)
        .and_then(|p| p.a_to_b.clone());
    Words {
        a_to_b: mm(&here.or_else(|| cards.a_to_b.clone())),
        a_to_centre: mm(&cards.a_to_centre),
        b_to_centre: mm(&cards.b_to_centre),
    }
}

/// The picture.
#[component]
pub(super) fn Picture(hand: Hand) -> impl IntoView {
    let shown = RwSignal::new(Shown::Nothing);
    let asked = StoredValue::new(0_u32);
    Effect::new(move |_| {
        let (cards, piece) = (hand.cards.get(), hand.piece.get());
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        let Some((full, real)) = model::for_picture(&cards, piece) else {
            shown.set(Shown::Nothing);
            return;
        };
        let attachments = hand.attachments();
        spawn_local(async move {
            let next = match live::picture(&full, piece, &attachments).await {
                Ok(live) => Shown::Seen(Seen {
                    live: Arc::new(live),
                    words: words(&cards, piece),
                    real,
                    read: model::filled(&cards, piece)[3],
                }),
                Err(sentence) => Shown::Refused(sentence),
            };
            // A late answer is of an earlier keystroke.
            if asked.try_get_value() == Some(number) {
                let _ = shown.try_set(next);
            }
        });
    });
    let caption = move || {
        hand.cards
            .with(|c| c.outline.as_ref().map(OutlineSpec::in_words))
            .unwrap_or_default()
    };
    view! {
        <section class="sheet picture" aria-label="Picture of the template">
            {move || match shown.get() {
                Shown::Nothing => view! { <Empty /> }.into_any(),
                Shown::Seen(seen) => view! { <Drawn seen=seen /> }.into_any(),
                Shown::Refused(why) => {
                    view! {
                        <div class="refusal" role="status">
                            <strong>"No picture of this yet"</strong>
                            <p>{crate::say::job::capital(&why)}</p>
                        </div>
                    }
                        .into_any()
                }
            }}
            <p class="second caption">{caption}</p>
        </section>
    }
}

#[component]
fn Empty() -> impl IntoView {
    view! {
        <div class="refusal">
            <p class="second">
                "Choose a shape and type its size: the picture grows with every number, true to proportion"
            </p>
        </div>
    }
}

#[component]
fn Drawn(seen: Seen) -> impl IntoView {
    let scene = scene(&seen.live, &seen.words, ROOM, seen.real);
    let sure = (seen.real && !seen.read).then(|| {
        view! { <p class="sure">"Not read on this piece yet: drawn as on the good one"</p> }
            .into_any()
    });
    let sure = sure.or_else(|| {
        seen.real.then(|| {
            view! {
                <p class="sure">
                    <span class="figure">{tenth(seen.live.worst)}</span>
                    " mm off at worst, of "
                    <span class="figure">{tenth(seen.live.allowed)}</span>
                    " allowed"
                </p>
            }
            .into_any()
        })
    });
    let tighter = ((seen.real && seen.read)
        .then(|| seen.live.tighter.clone())
        .flatten())
    .map(|says| view! { <p class="caution tighter" role="status">{says}</p> });
    let magnified = (scene.magnified > 1.0 && !scene.could_be.is_empty()).then(|| {
        format!(
            "ovals: each mark could be anywhere in here, drawn {} ×",
            scene.magnified
        )
    });
    let darts = match scene.tips.len() {
        0 => None,
        1 => Some("V with a hole: a dart to cut out, so that flat paper lies on it".to_owned()),
        n => Some(format!(
            "V with a hole: {n} darts to cut out, so that flat paper lies on it"
        )),
    };
    view! {
        {sure}
        {tighter}
        <svg class="drawing" viewBox="0 0 640 470" role="img" aria-label="The shape on its marks">
            <Ground scene=scene.clone() />
            <Lines scene=scene.clone() />
            <path class="paint" d=scene.outline.clone() />
            <Darts scene=scene.clone() />
            <Middle scene=scene.clone() />
            <MarksDrawn scene=scene.clone() />
            <Bar scene=scene />
        </svg>
        {magnified.map(|m| view! { <p class="second">{m}</p> })}
        {darts.map(|d| view! { <p class="second">{d}</p> })}
    }
}

#[component]
fn Darts(scene: Scene) -> impl IntoView {
    let holes = scene.tips.into_iter().map(|[x, y]| {
        view! { <circle class="dart-hole" cx=x cy=y r="3" /> }
    });
    view! {
        <path class="dart" d=scene.darts />
        {holes.collect_view()}
    }
}

#[component]
fn Ground(scene: Scene) -> impl IntoView {
    scene
        .could_be
        .into_iter()
        .map(|(at, half, turn)| {
            view! {
                <ellipse
                    class="could-be"
                    cx=at[0]
                    cy=at[1]
                    rx=half[0]
                    ry=half[1]
                    transform=format!("rotate({turn:.1} {:.1} {:.1})", at[0], at[1])
                />
            }
        })
        .collect_view()
}

#[component]
fn Lines(scene: Scene) -> impl IntoView {
    scene
        .dimensions
        .into_iter()
        .enumerate()
        .map(|(n, d)| {
            let at = d.words_at;
            view! {
                <line class="dots" x1=d.from[0] y1=d.from[1] x2=d.to[0] y2=d.to[1] />
                <text
                    class="figure"
                    class:first=n == 0
                    x=at[0]
                    y=at[1]
                    transform=format!("rotate({:.1} {:.1} {:.1})", d.turned, at[0], at[1])
                >
                    {d.words}
                </text>
            }
        })
        .collect_view()
}

#[component]
fn Middle(scene: Scene) -> impl IntoView {
    let [x, y] = scene.spot;
    let [hx, hy] = scene.half.map(|h| h + 16.0);
    view! {
        <path
            class="centre"
            d=format!("M{:.1} {y:.1}H{:.1}M{x:.1} {:.1}V{:.1}", x - hx, x + hx, y - hy, y + hy)
        />
        <circle class="spot" cx=x cy=y r="6.5" />
        <g class="up">
            <path
                class="narrow"
                d=format!("M{:.1} {:.1}V{:.1}", x, y - hy - 4.0, y - hy - 26.0)
            />
            <path
                class="ink"
                d=format!("M{:.1} {:.1}l-4 11h8z", x, y - hy - 30.0)
            />
            <text class="words" x=x + 10.0 y=y - hy - 14.0>"UP"</text>
        </g>
    }
}

#[component]
fn MarksDrawn(scene: Scene) -> impl IntoView {
    let drawn = scene
        .as_drawn
        .into_iter()
        .map(|[x, y]| {
            let d = format!(
                "M{:.1} {y:.1}H{:.1}M{x:.1} {:.1}V{:.1}",
                x - 8.0,
                x + 8.0,
                y - 8.0,
                y + 8.0
            );
            view! { <path class="as-drawn" d=d /> }
        })
        .collect_view();
    let marks = scene
        .marks
        .into_iter()
        .map(|mark| {
            let [x, y] = mark.at;
            let [lx, ly] = mark.letter_at;
            let d = format!(
                "M{:.1} {y:.1}H{:.1}M{x:.1} {:.1}V{:.1}",
                x - 10.0,
                x + 10.0,
                y - 10.0,
                y + 10.0
            );
            view! {
                <path class="wide" d=d />
                <g class="letter">
                    <rect x=lx - 13.0 y=ly - 13.0 width="26" height="26" />
                    <text x=lx y=ly + 7.0>{mark.letter}</text>
                </g>
            }
        })
        .collect_view();
    (drawn, marks)
}

#[component]
fn Bar(scene: Scene) -> impl IntoView {
    scene.bar.map(|(long, words)| {
        let (x, y) = (24.0, 446.0);
        view! {
            <path
                class="wide"
                d=format!("M{x:.1} {:.1}V{:.1}M{x:.1} {y:.1}H{:.1}M{:.1} {:.1}V{:.1}", y - 5.0, y + 5.0, x + long, x + long, y - 5.0, y + 5.0)
            />
            <text class="figure bar" x=x + long + 10.0 y=y + 5.0>{words}</text>
        }
    })
}
