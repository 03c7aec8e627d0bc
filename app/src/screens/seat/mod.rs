//! Seat: how a figure sits on its base, the shims that make it so, and which figure goes on which base.

mod hand;
mod pairing;
mod picture;
mod readings;
mod scene;
mod setting;

use crate::say;
use crate::state::session;
use crate::widgets::looked::{Looked, Until};
use hand::Hand;
use leptos::prelude::*;
use pairing::Pairs;
use picture::Picture;
use readings::{Heights, Readings};
use samespot_core::prepare::seat::SeatView;
use setting::SettingOut;

/// The screen.
#[component]
pub fn Seat() -> impl IntoView {
    let hand = Hand::take(session());
    view! {
        <Until looked=hand.looked working="Working out the seat…" nothing="There is no seat to show yet" />
        <Joints hand=hand />
        <Show when=move || hand.looked.with(|l| matches!(l, Looked::View(_)))>
            <div class="seat">
                <div class="seat-side">
                    <section class="sheet seat-drawing" aria-label="The side view">
                        <Picture hand=hand />
                    </section>
                    <Moves hand=hand />
                    <Heights hand=hand />
                </div>
                <div class="seat-side">
                    <Shims hand=hand />
                    <Readings hand=hand />
                </div>
                <Pairs hand=hand />
            </div>
        </Show>
        // Below what is shown, and not above it until that is there: what is tapped must not move.
        <div class="seat-setting-place" class:held-back=move || hand.looked.with(|l| matches!(l, Looked::Working))>
            <SettingOut hand=hand />
        </div>
    }
}

/// Which joint of the job is shown, where it has several.
#[component]
fn Joints(hand: Hand) -> impl IntoView {
    move || {
        hand.view().filter(|v| v.joints.len() > 1).map(|view| {
            let here = view.joint.clone();
            let keys = view
                .joints
                .iter()
                .map(|(id, name)| {
                    let (pressed, id) = (*id == here, id.clone());
                    view! {
                        <button type="button" class="choice" aria-pressed=pressed.to_string()
                            on:click=move |_| hand.joint.set(Some(id.clone()))>
                            {name.clone()}
                        </button>
                    }
                })
                .collect_view();
            view! { <nav class="setout-faces seat-joints" aria-label="Joints">{keys}</nav> }
        })
    }
}

#[component]
fn Shims(hand: Hand) -> impl IntoView {
    move || {
        hand.view().map(|view| {
            let cells = view
                .pads
                .iter()
                .enumerate()
                .map(|(i, pad)| {
                    let flag = say::seat::flag(pad, &view);
                    let shim = pad.shim.map_or_else(|| "–".to_owned(), say::numbers::tenth);
                    view! {
                        <li>
                            <span class="letter-box">{say::seat::pad_letter(i)}</span>
                            <strong class="figure">{shim}</strong>
                            <span class="unit">"mm"</span>
                            <span class="second">{pad.name.clone()}</span>
                            {flag.map(|f| view! { <b class="seat-flag">{f}</b> })}
                        </li>
                    }
                })
                .collect_view();
            let list = |all: &[String]| {
                all.iter()
                    .map(|m| view! { <li>{say::job::capital(m)}</li> })
                    .collect_view()
            };
            view! {
                <section aria-labelledby="seat-shims">
                    <h2 id="seat-shims">"Shims, before the filler"</h2>
                    <ul class="seat-shims">{cells}</ul>
                    {say::seat::bed(&view).map(|b| view! { <p>{b}</p> })}
                    <ul class="seat-list">
                        {list(&view.missing)}
                        {list(&view.free)}
                        {list(&view.contradict)}
                    </ul>
                    <p class="second">{view.from.map(say::seat::from)}</p>
                    <p class="second">{say::job::capital(&view.layers.join("; "))}</p>
                    <p class="seat-caution">
                        <svg viewBox="0 0 32 28" width="32" height="28" aria-hidden="true">
                            <path class="wide" d="M16 3L30 26H2Z" />
                            <path class="wide" d="M16 11V19M16 21.5V23.5" />
                        </svg>
                        {say::seat::CAUTION}
                    </p>
                </section>
            }
        })
    }
}

#[component]
fn Moves(hand: Hand) -> impl IntoView {
    move || {
        hand.view().filter(|v| !v.moves.is_empty()).map(|view| {
            let heads = (0..view.stations.len())
                .map(|i| view! { <th scope="col">{say::seat::station_letter(i)}<br />"up"</th> })
                .collect_view();
            let count = view.pads.len();
            let rows = view
                .moves
                .iter()
                .enumerate()
                .map(|(i, row)| {
                    let what = if i < count {
                        format!("{}, {}", say::seat::pad_letter(i), row.what)
                    } else {
                        say::job::capital(&row.what)
                    };
                    let up = row
                        .up
                        .iter()
                        .map(|u| view! { <td class="figure">{say::seat::signed(*u)}</td> })
                        .collect_view();
                    let leans = if row.leans.mm() < 0.05 {
                        "0".to_owned()
                    } else {
                        format!("{} {}", say::numbers::tenth(row.leans), row.towards)
                    };
                    view! {
                        <tr>
                            <th scope="row">{what}</th>
                            {up}
                            <td class="figure">{leans}</td>
                        </tr>
                    }
                })
                .collect_view();
            view! {
                <section aria-labelledby="seat-moves">
                    <h2 id="seat-moves">"What moves what"</h2>
                    <p class="second">{view.held.clone()}</p>
                    <table class="seat-table">
                        <thead>
                            <tr>
                                <th scope="col">"1 mm more at"</th>
                                {heads}
                                <th scope="col">"leans, mm"<br />"per 100 up"</th>
                            </tr>
                        </thead>
                        <tbody>{rows}</tbody>
                    </table>
                    {misread(&view)}
                </section>
            }
        })
    }
}

/// What a reading on trial that is too long does; nothing where none counts.
fn misread(view: &SeatView) -> Option<impl IntoView + use<>> {
    if view.misread.is_empty() {
        return None;
    }
    let heads = (0..view.pads.len())
        .map(|i| view! { <th scope="col">{say::seat::pad_letter(i)}<br />"shim"</th> })
        .collect_view();
    let rows = view
        .misread
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let shims = row.shims.iter();
            let shims = shims.map(|s| view! { <td class="figure">{say::seat::signed(*s)}</td> });
            let leans = if row.leans.mm() < 0.05 {
                "0".to_owned()
            } else {
                format!("{} {}", say::numbers::tenth(row.leans), row.towards)
            };
            view! {
                <tr>
                    <th scope="row">{format!("{}, {}", say::seat::station_letter(i), row.station)}</th>
                    {shims.collect_view()}
                    <td class="figure">{leans}</td>
                </tr>
            }
        })
        .collect_view();
    Some(view! {
        <table class="seat-table seat-misread">
            <thead>
                <tr>
                    <th scope="col">"Dry reading 1 mm too long at"</th>
                    {heads}
                    <th scope="col">"leans, mm"<br />"per 100 up"</th>
                </tr>
            </thead>
            <tbody>{rows}</tbody>
        </table>
    })
}
