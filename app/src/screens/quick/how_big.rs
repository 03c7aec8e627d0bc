//! How big a round face is, one way and the other.

use super::card::focus_first;
use super::cards::{Length, onwards};
use super::hand::Hand;
use super::model::{self, Way};
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;

/// What a field of an answer holds, or what stands there until something is said.
fn answer(hand: Hand, key: String, usual: &'static str) -> Signal<String> {
    Signal::derive(move || {
        let said = hand.answers.with(|a| model::text(a, &key).to_owned());
        Some(said)
            .filter(|v| !v.is_empty())
            .unwrap_or_else(|| usual.into())
    })
}

/// How it was measured, and the numbers.
#[component]
pub(super) fn HowBig(hand: Hand, way: Way) -> impl IntoView {
    let by = answer(hand, way.key("by"), "girth");
    let legend = match way {
        Way::Across => "How big it is",
        Way::Up => "How big it is upwards",
    };
    view! {
        <Choices
            legend=legend
            shown=true
            choices=vec![
                Choice::words("girth", "tape round it"),
                Choice::words("card", "gauge card"),
                Choice::words("edge", "straight-edge and gap"),
                Choice::words("radius", "radius"),
            ]
            taken=by
            take=move |v: String| {
                hand.choose(&way.key("by"), &v);
                if way == Way::Across {
                    focus_first();
                }
            }
        />
        <Numbers hand=hand way=way by=by />
    }
}

#[component]
fn Numbers(hand: Hand, way: Way, by: Signal<String>) -> impl IntoView {
    let id = move |across: &'static str, up: &'static str| match way {
        Way::Across => across,
        Way::Up => up,
    };
    move || {
        match by.get().as_str() {
        "card" => view! { <GaugeCard hand=hand way=way /> }.into_any(),
        "edge" => view! {
            <div class="fields">
                <Length
                    hand=hand
                    id=id("edge", "edge-up")
                    key=way.key("edge")
                    label="Length of the straight-edge"
                />
                <Length hand=hand id=id("gap", "gap-up") key=way.key("gap") label="The gap" />
            </div>
            <p class="second">
                "Bulging: rock it until the gap is the same at both ends. Hollow: the gap in the middle. The longest edge that fits is the best"
            </p>
        }
        .into_any(),
        "radius" => view! {
            <Length hand=hand id=id("radius", "radius-up") key=way.key("radius") label="Radius" />
        }
        .into_any(),
        _ => view! {
            <Length
                hand=hand
                id=id("girth", "girth-up")
                key=way.key("girth")
                label="All the way round, where the template goes"
            />
        }
        .into_any(),
    }
    }
}

/// Whether a face that is round both ways is alike both ways, and how big it is the other way.
#[component]
pub(super) fn TheOtherWay(hand: Hand) -> impl IntoView {
    let other = answer(hand, "other".into(), "alike");
    view! {
        <Choices
            legend="Upwards, square to that, it is"
            shown=true
            choices=vec![
                Choice::words("alike", "the same"),
                Choice::words("bulging", "bulging"),
                Choice::words("hollow", "hollow"),
                Choice::words("flat", "flat"),
            ]
            taken=other
            take=move |v: String| hand.choose("other", &v)
        />
        {move || {
            matches!(other.get().as_str(), "bulging" | "hollow")
                .then(|| {
                    view! {
                        <HowBig hand=hand way=Way::Up />
                        <p class="second">
                            "Two gauges held at right angles to each other, one on the level and one upright. Where both show the same, choose the same"
                        </p>
                    }
                })
        }}
    }
}

#[component]
fn GaugeCard(hand: Hand, way: Way) -> impl IntoView {
    let key = way.key("card");
    let text = {
        let key = key.clone();
        move || hand.answers.with(|a| model::text(a, &key).to_owned())
    };
    let bad = {
        let text = text.clone();
        move || {
            let text = text();
            !text.trim().is_empty() && !text.trim().parse::<u32>().is_ok_and(|n| n > 0)
        }
    };
    let (id, said) = match way {
        Way::Across => ("gauge-card", "gauge-card-understood"),
        Way::Up => ("gauge-card-up", "gauge-card-up-understood"),
    };
    let refused = bad.clone();
    view! {
        <div class="length" class:refused=refused>
            <label for=id>"Number of the gauge card that shows no light"</label>
            <div class="box">
                <input
                    id=id
                    type="text"
                    inputmode="numeric"
                    autocomplete="off"
                    aria-describedby=said
                    prop:value=text
                    on:input=move |e| hand.write(&key, event_target_value(&e))
                    on:blur=move |_| hand.commit()
                    on:keydown=move |e| {
                        if e.key() == "Enter" {
                            hand.commit();
                            onwards(hand, id);
                        }
                    }
                />
            </div>
            <div class="understood" id=said aria-live="polite">
                <p class="why">
                    {move || if bad() { "A gauge card has a whole number, such as 14: type the one printed on it" } else { "" }}
                </p>
            </div>
        </div>
    }
}
