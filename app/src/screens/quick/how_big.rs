//! How big a round face is, one way and the other.

use super::card::focus_first;
use super::cards::{Length, onwards};
use super::hand::Hand;
use super::model::{self, Way};
use crate::widgets::choice::Choices;
use crate::widgets::gauge_card::GaugeCardField;
use crate::widgets::how_round;
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
            choices=how_round::measured_by()
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
    move || match by.get().as_str() {
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
                {how_round::STRAIGHT_EDGE}
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

/// Whether a face that is round both ways is alike both ways, and how big it is the other way.
#[component]
pub(super) fn TheOtherWay(hand: Hand) -> impl IntoView {
    let other = answer(hand, "other".into(), "alike");
    view! {
        <Choices
            legend="Upwards, square to that, it is"
            shown=true
            choices=how_round::the_other_way()
            taken=other
            take=move |v: String| hand.choose("other", &v)
        />
        {move || {
            matches!(other.get().as_str(), "bulging" | "hollow")
                .then(|| {
                    view! {
                        <p class="second">
                            "Hold one gauge on the level and one upright, square to it. Where both show the same, choose the same"
                        </p>
                        <HowBig hand=hand way=Way::Up />
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
        Signal::derive(move || hand.answers.with(|a| model::text(a, &key).to_owned()))
    };
    let id = match way {
        Way::Across => "gauge-card",
        Way::Up => "gauge-card-up",
    };
    view! {
        <GaugeCardField
            id=id
            text=text
            paper=Signal::derive(move || hand.cards.with(|c| c.paper))
            on_text=move |text: String| hand.write(&key, text)
            on_done=move |by_key: bool| {
                hand.commit();
                if by_key {
                    onwards(hand, id);
                }
            }
        />
    }
}
