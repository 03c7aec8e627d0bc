//! What is taken for granted, shown, and changed by whoever knows better.

use super::PAPERS;
use super::cards::Length;
use super::hand::Hand;
use super::model;
use crate::ports::{fields, settings};
use crate::say::laid;
use crate::say::numbers::size;
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;
use samespot_core::job::{ClassMark, DrawnSide, FaceShape, Follow, Marker, QuickCards, TapeLay};
use samespot_core::template::Laid;
use samespot_core::units::{Typed, parse_angle, words};

/// Everything that is taken for granted, in one sentence.
fn sentence(cards: &QuickCards) -> String {
    let lay = match cards.lay {
        TapeLay::Over => "laid over the surface with a soft tape",
        TapeLay::Straight => "measured straight, tape or trammel",
    };
    let class = match cards.tape_class {
        ClassMark::I => "class I",
        ClassMark::II => "class II",
        ClassMark::III => "class III",
    };
    let along = match cards.along {
        Follow::FixedDistance => "the distance from A kept",
        Follow::DifferenceSplit => "any difference split between A and B",
        Follow::InProportion => "stretched as the piece is",
    };
    let marker = match cards.marker {
        Marker::SoftPencil => "soft pencil",
        Marker::Pounce => "pounce through pricked holes",
        Marker::FinePen => "fine pen on tape",
        Marker::Knife => "knife on a mask",
    };
    let drawn = match cards.drawn {
        DrawnSide::Inside => "inside the opening",
        DrawnSide::Outside => "round the outside",
    };
    let turn = if cards.turn.rad().abs() < 1e-9 {
        "up square to A–B".to_owned()
    } else {
        format!("up turned {:.1}° from square to A–B", cards.turn.deg())
    };
    let laid = if cards.thickness == QuickCards::default().thickness {
        String::new()
    } else {
        format!(" · {}", laid::words(cards.thickness))
    };
    format!(
        "{lay}, {class} · within {} mm · {along} · {}{laid} · {marker} {drawn} · {turn}",
        size(cards.within),
        cards.paper.name(),
    )
}

/// What is taken for granted.
#[component]
pub(super) fn Usual(hand: Hand) -> impl IntoView {
    let taken = move |key: &'static str, usual: &'static str| {
        Signal::derive(move || {
            hand.answers.with(|a| {
                let text = model::text(a, key);
                if text.is_empty() {
                    usual.to_owned()
                } else {
                    text.to_owned()
                }
            })
        })
    };
    let take = move |key: &'static str| move |v: String| hand.choose(key, &v);
    let papers: Vec<Choice> = PAPERS.iter().map(|(v, l)| Choice::words(v, l)).collect();
    view! {
        <details class="usual" on:toggle=move |_| fields::in_sight(".usual[open]")>
            <summary>
                <strong>"Taken for granted"</strong>
                <span class="second">{move || hand.cards.with(sentence)}</span>
                <span class="link">"Change…"</span>
            </summary>
            <div class="usual-body">
                <Choices legend="Paper" shown=true choices=papers taken=taken("paper", "A4")
                    take=move |v: String| {
                        settings::set("paper", &v);
                        hand.choose("paper", &v);
                    } />
                <Length hand=hand id="within" key="within" label="How far out may it be, any way? (3 mm unless you say)" />
                <Choices legend="The tape" shown=true
                    choices=vec![
                        Choice::words("over", "laid over the surface"),
                        Choice::words("straight", "straight"),
                    ]
                    taken=taken("lay", "over") take=take("lay") />
                <Choices legend="Class in the small oval on the blade" shown=true
                    choices=vec![
                        Choice::words("I", "I"),
                        Choice::words("II", "II"),
                        Choice::words("III", "III or none"),
                    ]
                    taken=taken("class", "II") take=take("class") />
                <Choices legend="When a piece is longer or shorter" shown=true
                    choices=vec![
                        Choice::words("split", "split the difference"),
                        Choice::words("from-a", "keep the distance from A"),
                        Choice::words("stretch", "stretch with it"),
                    ]
                    taken=taken("along", "split") take=take("along") />
                <Choices legend="Marked with" shown=true
                    choices=vec![
                        Choice::words("pencil", "soft pencil"),
                        Choice::words("pounce", "pounce"),
                        Choice::words("pen", "fine pen on tape"),
                        Choice::words("knife", "knife on a mask"),
                    ]
                    taken=taken("marker", "pencil") take=take("marker") />
                <Choices legend="The line runs" shown=true
                    choices=vec![
                        Choice::words("inside", "inside the opening"),
                        Choice::words("outside", "round the outside"),
                    ]
                    taken=taken("drawn", "inside") take=take("drawn") />
                <Choices legend="The template is" shown=true choices=laid::choices()
                    taken=Signal::derive(move || {
                        hand.cards.with(|c| Laid::named(c.thickness).unwrap_or_default().to_owned())
                    })
                    take=move |name: String| {
                        if let Some(thickness) = laid::thickness(&name) {
                            hand.choose("thick", &size(thickness));
                        }
                    } />
                <Length hand=hand id="thick" key="thick" label="or so thick (copier paper unless you say)" />
                // On the other kinds a level line unrolls straight.
                {move || hand.cards.with(|c| matches!(c.lies_on, Some(FaceShape::TwoRadii { .. }))).then(|| view! {
                    <Choices legend="Over the face it runs" shown=true
                        choices=vec![
                            Choice::words("straight", "straight"),
                            Choice::words("level", "along the level line"),
                        ]
                        taken=taken("runs", "straight") take=take("runs") />
                })}
                <Turn hand=hand />
                <Called hand=hand />
            </div>
        </details>
    }
}

#[component]
fn Turn(hand: Hand) -> impl IntoView {
    let text = move || hand.answers.with(|a| model::text(a, "turn").to_owned());
    let heard = move || {
        let text = text();
        match parse_angle(&text, &model::turn_options()) {
            Typed::NotMeasured => Ok("square to A–B".to_owned()),
            Typed::Understood(a) => {
                let side = if a.angle.rad() < 0.0 {
                    "clockwise"
                } else {
                    "anticlockwise"
                };
                Ok(format!(
                    "= {:.1}° {side}, seen from outside",
                    a.angle.deg().abs()
                ))
            }
            Typed::Refused(r) => Err(words::say(&r)),
            Typed::Ask(_) | Typed::List(_) => {
                Err("Type one angle in degrees, such as 14 or −14".to_owned())
            }
        }
    };
    view! {
        <div class="length" class:refused=move || heard().is_err()>
            <label for="turn">"Up is turned from square to A–B by, degrees"</label>
            <div class="box">
                <input
                    id="turn"
                    type="text"
                    inputmode="text"
                    autocomplete="off"
                    aria-describedby="turn-understood"
                    prop:value=text
                    on:input=move |e| hand.write("turn", event_target_value(&e))
                    on:blur=move |_| hand.commit()
                />
                <span class="unit" aria-hidden="true">"°"</span>
            </div>
            <div class="understood" id="turn-understood" aria-live="polite">
                {move || match heard() {
                    Ok(said) => view! { <p class="echo">{said}</p> }.into_any(),
                    Err(why) => view! { <p class="why">{why}</p> }.into_any(),
                }}
            </div>
        </div>
    }
}

#[component]
fn Called(hand: Hand) -> impl IntoView {
    view! {
        <div class="length">
            <label for="title">"What the job is called"</label>
            <div class="box">
                <input
                    id="title"
                    type="text"
                    maxlength="80"
                    autocomplete="off"
                    placeholder=move || hand.cards.with(|c| c.title.clone())
                    prop:value=move || hand.answers.with(|a| model::text(a, "title").to_owned())
                    on:input=move |e| hand.write("title", event_target_value(&e))
                    on:blur=move |_| hand.commit()
                />
            </div>
        </div>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_is_said_in_the_words_of_the_design() {
        let said = sentence(&QuickCards::default());
        assert_eq!(
            said,
            "laid over the surface with a soft tape, class II · within 3 mm · any difference split between A and B · A4 · soft pencil inside the opening · up square to A–B"
        );
    }
}
