//! Pads and stations by plan: across and back from the middle, and how the base slopes there.

use super::Open;
use super::model::{self, Spots, WAYS};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::SeatSpot;
use samespot_core::prepare::mm;
use samespot_core::units::{Angle, AngleOptions, Typed, parse_angle};

fn spot_words(spot: &SeatSpot) -> String {
    let side = |l: samespot_core::units::Length, less: &str, more: &str| {
        format!("{} {}", mm(l.abs()), if l.mm() < 0.0 { less } else { more })
    };
    let mut words = format!(
        "{}: {}, {}",
        spot.name,
        side(spot.across.mm, "left", "right"),
        side(spot.back.mm, "in front", "behind")
    );
    if let (Some(slope), Some(falls)) = (spot.slope, spot.falls) {
        let way = WAYS
            .iter()
            .find(|(_, deg)| (falls.deg().rem_euclid(360.0) - deg).abs() < 0.5)
            .map_or("its own way", |(name, _)| name);
        words.push_str(&format!(", sloping {:.0}° to the {way}", slope.deg()));
    }
    words
}

/// The list and the form for one more.
#[component]
pub(super) fn SpotList(open: Open, spots: Spots) -> impl IntoView {
    let pads = spots == Spots::Pads;
    let (title, why, ids) = if pads {
        (
            "Pads: the hard points it rests on",
            "Three. Seen from above with the front towards you, from the middle of the joint",
            [
                "pad-name",
                "pad-across",
                "pad-back",
                "pad-slope",
                "pad-falls",
                "pad-add",
            ],
        )
    } else {
        (
            "Stations: where the locating dimension is read",
            "Three, far apart: one number does not fix a lean",
            [
                "station-name",
                "station-across",
                "station-back",
                "",
                "",
                "station-add",
            ],
        )
    };
    let called = RwSignal::new(String::new());
    let across = Typing::either_side(None, "left", "right");
    let back = Typing::either_side(None, "in front", "behind");
    let slope = RwSignal::new(String::new());
    let falls = RwSignal::new(String::new());
    let sloped = move || -> Result<Option<(Angle, Angle)>, &'static str> {
        let steep = match parse_angle(&slope.get(), &AngleOptions::default()) {
            Typed::NotMeasured => return Ok(None),
            Typed::Understood(angle) => angle.angle,
            _ => return Err("A slope in degrees off level, as 30"),
        };
        if !(0.0..=85.0).contains(&steep.deg()) {
            return Err("A slope of 0 to 85 degrees");
        }
        let way = falls.get();
        let (_, deg) = WAYS
            .iter()
            .find(|(name, _)| *name == way)
            .ok_or("Say which way it falls")?;
        Ok(Some((steep, Angle::from_deg(*deg))))
    };
    let missing = move || {
        if called.get().trim().is_empty() {
            Some("Name it: front left")
        } else if across.entry().is_none() || back.entry().is_none() {
            Some("Type where it is")
        } else {
            sloped().err()
        }
    };
    let add = move |_| {
        if untrack(missing).is_some() {
            return;
        }
        let (Some(x), Some(y), Ok(slopes)) =
            (across.entry_now(), back.entry_now(), untrack(sloped))
        else {
            return;
        };
        let name = called.get_untracked();
        let fields = open.hand.session.book.with_untracked(|b| {
            let job = &b.as_ref()?.job;
            let joint = job.joints.get(&open.joint.get_value())?;
            model::with_spot(job, joint, spots, (&name, x, y), slopes)
        });
        if let Some(fields) = fields {
            open.keep(&fields);
            called.set(String::new());
            across.set("");
            back.set("");
        }
    };
    let list = move || {
        open.of(|j| spots.of(j))
            .unwrap_or_default()
            .iter()
            .enumerate()
            .map(|(at, spot)| {
                let out = move |_| {
                    let mut all = open.now(|j| spots.of(j)).unwrap_or_default();
                    if at < all.len() {
                        all.remove(at);
                        open.keep(&spots.fields(all));
                    }
                };
                view! {
                    <li class="job-row">
                        <span>{spot_words(spot)}</span>
                        <button type="button" class="key" aria-label=format!("Take out {}", spot.name) on:click=out>"Take out"</button>
                    </li>
                }
            })
            .collect_view()
    };
    view! {
        <h3>{title}</h3>
        <p class="second">{why}</p>
        <ul class="fixing-list">{list}</ul>
        <label class="job-field">
            <span>"Where, in words"</span>
            <input id=ids[0] type="text" autocomplete="off" maxlength="40" placeholder="front left"
                prop:value=move || called.get() on:input=move |ev| called.set(event_target_value(&ev)) />
        </label>
        <div class="fields">
            <TypedLength id=ids[1] label="Left or right of the middle" typing=across />
            <TypedLength id=ids[2] label="In front of it or behind" typing=back />
        </div>
        {pads.then(|| view! {
            <div class="job-row">
                <label class="job-field">
                    <span>"How steep the base is there, degrees (nothing: level)"</span>
                    <input id=ids[3] type="text" autocomplete="off" prop:value=move || slope.get()
                        on:input=move |ev| slope.set(event_target_value(&ev)) />
                </label>
                <label class="job-field">
                    <span>"It falls to the"</span>
                    <select id=ids[4] on:change=move |ev| falls.set(event_target_value(&ev)) prop:value=move || falls.get()>
                        <option value="">"–"</option>
                        {WAYS.map(|(name, _)| view! { <option value=name>{name}</option> }).collect_view()}
                    </select>
                </label>
            </div>
        })}
        <button type="button" id=ids[5] class="key" on:click=add aria-disabled=move || missing().is_some().to_string()>
            {move || missing().unwrap_or(if pads { "Add this pad" } else { "Add this station" })}
        </button>
    }
}
