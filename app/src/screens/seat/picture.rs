//! The side view.

use super::hand::Hand;
use super::scene::{Dimension, Scene, WIDE, scene};
use crate::say;
use leptos::prelude::*;
use samespot_core::prepare::seat::SeatView;

fn path(points: &[[f64; 2]]) -> String {
    let mut d = String::new();
    for (k, [x, y]) in points.iter().enumerate() {
        d.push_str(&format!("{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" }));
    }
    d
}

/// A broken line from side to side: cut short here.
fn zigzag(left: [f64; 2], right: [f64; 2]) -> String {
    let (x, y) = ((left[0] + right[0]) / 2.0, left[1]);
    format!(
        "M{:.1} {y:.1}H{:.1}L{:.1} {:.1}L{:.1} {:.1}L{:.1} {y:.1}H{:.1}",
        left[0] - 8.0,
        x - 12.0,
        x - 6.0,
        y - 11.0,
        x + 6.0,
        y + 11.0,
        x + 12.0,
        right[0] + 8.0
    )
}

fn arrow(at: [f64; 2], down: bool) -> String {
    let by = if down { -11.0 } else { 11.0 };
    format!("M{:.1} {:.1}l-3 {by}h6Z", at[0], at[1])
}

/// A locating dimension: the first one is the hero, on yellow.
fn dimension(d: &Dimension, hero: bool, words: String) -> impl IntoView + use<> {
    let line = format!("M{:.1} {:.1}V{:.1}", d.foot[0], d.foot[1], d.mark[1]);
    let (x, y) = (d.foot[0], (d.foot[1] + d.mark[1]) / 2.0);
    // Words stand at the left, where they can be read from below.
    let side = if hero { -18.0 } else { -16.0 };
    let cross = format!("M{:.1} {:.1}h22m-11 -11v22", x - 11.0, d.mark[1]);
    view! {
        {hero.then(|| view! { <path class="under" d=line.clone() /> })}
        <path class=if hero { "narrow on-yellow" } else { "narrow" } d=line.clone() />
        <path class=if hero { "ink on-yellow" } else { "ink" } d=arrow(d.foot, true) />
        <path class=if hero { "ink on-yellow" } else { "ink" } d=arrow(d.mark, false) />
        <path class="wide" d=cross />
        <path class="narrow" d=format!("M{:.1} {:.1}h24", x - 12.0, d.foot[1]) />
        <text
            class=if hero { "figure seat-hero" } else { "figure" }
            transform=format!("translate({:.1} {y:.1}) rotate(-90)", x + side * if hero { 1.6 } else { 1.0 })
        >
            {words}
        </text>
        <g class="letter" transform=format!("translate({:.1} {:.1})", x + if x < WIDE / 2.0 { -30.0 } else { -46.0 }, d.mark[1] - 24.0)>
            <rect x=-(4.0 + 9.0 * d.letters.len() as f64 / 2.0) y="-15" width=8.0 + 9.0 * d.letters.len() as f64 height="28" />
            <text y="6">{d.letters.clone()}</text>
        </g>
    }
}

fn drawing(view: &SeatView, scene: &Scene) -> impl IntoView + use<> {
    let locating = say::numbers::tenth(view.locating);
    let within = say::numbers::tenth(view.within);
    let first = scene.sides;
    let foot = scene.high - 26.0;
    let base_sides = format!(
        "M{:.1} {:.1}V{foot:.1}M{:.1} {:.1}V{foot:.1}",
        first[0][0], first[0][1], first[1][0], first[1][1]
    );
    let ends: Vec<[f64; 2]> = scene
        .body
        .iter()
        .filter_map(|b| b.last().copied())
        .collect();
    let cut = match ends.as_slice() {
        [left, right, ..] => zigzag(*left, *right),
        _ => String::new(),
    };
    let pads = scene
        .pads
        .iter()
        .map(|pad| {
            let shape = format!("{}Z", path(&pad.corners));
            let leader = format!(
                "M{:.1} {:.1}L{:.1} {:.1}",
                pad.at[0], pad.at[1], pad.label[0], pad.label[1] - 15.0
            );
            let half = 4.0 + 9.0 * pad.letters.len() as f64 / 2.0;
            view! {
                <path class="seat-shim" d=shape />
                <path class="narrow" d=leader />
                <g class="letter" transform=format!("translate({:.1} {:.1})", pad.label[0], pad.label[1])>
                    <rect x=-half y="-15" width=2.0 * half height="28" />
                    <text y="6">{pad.letters.clone()}</text>
                </g>
            }
        })
        .collect_view();
    let dimensions = scene
        .dimensions
        .iter()
        .enumerate()
        .map(|(i, d)| {
            let words = if i == 0 {
                format!("{locating} ± {within}")
            } else {
                locating.clone()
            };
            dimension(d, i == 0, words).into_any()
        })
        .collect_view();
    let centre = format!("M{:.1} 6V{:.1}", scene.middle, scene.high - 10.0);
    let spoken = format!(
        "Side view: the figure on its base, {locating} mm between their marks at {} stations, {} pads between",
        view.stations.len(),
        view.pads.len()
    );
    view! {
        <svg class="seat-view" viewBox=format!("0 0 {WIDE} {:.0}", scene.high) role="img" aria-label=spoken>
            <path class="centre" d=centre />
            <path class="wide" d=path(&scene.base) />
            <path class="wide" d=base_sides />
            <path class="narrow" d=zigzag([first[0][0], foot], [first[1][0], foot]) />
            <path class="wide" d=path(&scene.under) />
            {scene.body.iter().map(|b| view! { <path class="as-drawn" d=path(b) /> }).collect_view()}
            <path class="narrow" d=cut />
            {pads}
            {dimensions}
            <text class="words" x=scene.middle - 62.0 y=scene.cut + 40.0>"figure"</text>
            <text class="words" x=scene.middle + 12.0 y=scene.high - 44.0>"base"</text>
            <text class="words" x="8" y=scene.high - 8.0>"front"</text>
            <text class="words" x=WIDE - 44.0 y=scene.high - 8.0>"back"</text>
        </svg>
    }
}

/// The drawing with its words.
#[component]
pub(super) fn Picture(hand: Hand) -> impl IntoView {
    move || {
        hand.view().map(|view| {
            let castings = match (&view.figure, &view.base) {
                (Some(f), Some(b)) => format!("figure {f} on base {b}"),
                _ => "not put together yet".to_owned(),
            };
            let drawn = scene(&view);
            view! {
                <h1>
                    {if view.from.is_some() {
                        format!("Piece {} seated", view.piece)
                    } else {
                        format!("Piece {}, not seated yet", view.piece)
                    }}
                </h1>
                <p class="second">{format!("{}: {castings}", view.name)}</p>
                {match drawn {
                    Some(scene) => {
                        view! {
                            {drawing(&view, &scene)}
                            <p class="second">
                                "Seen from the figure’s left, heights and bed true to scale. The figure itself is drawn only as far as its marks say"
                            </p>
                        }
                            .into_any()
                    }
                    None => {
                        view! {
                            <p class="seat-empty">
                                "There is no picture yet: too little has been read"
                            </p>
                        }
                            .into_any()
                    }
                }}
            }
        })
    }
}
