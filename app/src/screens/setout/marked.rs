//! What marks a feature's outline, on which side, and how islands in it are held.

use super::hand::Hand;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{
    DrawnSide, EntityRef, Entry, FeatureEdit, FeatureId, Islands, Marker, OutlineSpec,
};
use samespot_core::units::Length;

/// Marker, side and allowance; bridges where the outline may have islands.
#[component]
pub(super) fn MarkedForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let of = move |read: fn(&FeatureEdit) -> Option<&'static str>| {
        Signal::derive(move || {
            hand.of_job(|j| id.with_value(|id| j.features.get(id).and_then(read)))
                .flatten()
                .unwrap_or_default()
                .to_owned()
        })
    };
    let keep = move |fields: FeatureEdit| {
        hand.say_if_new(EntityRef::Feature(id.get_value()), &fields);
    };
    let typed = move |read: fn(&FeatureEdit) -> Option<Length>| {
        let said = hand
            .with_job(|j| id.with_value(|id| j.features.get(id).and_then(read)))
            .flatten();
        Typing::new(said.map(|l| Entry::of_mm(l.mm())).as_ref())
    };
    let allowance = typed(|f| f.allowance);
    let bridge = typed(|f| f.bridge);
    let marker = of(|f| f.marker.map(marker_key).or(Some("pencil")));
    let drawn = of(|f| match f.drawn {
        Some(DrawnSide::Outside) => Some("outside"),
        _ => Some("inside"),
    });
    let islands = of(|f| match (f.islands, f.marker) {
        (Some(Islands::Film), _) | (None, Some(Marker::Knife)) => Some("film"),
        _ => Some("bridged"),
    });
    let may_have = Memo::new(move |_| {
        let outline =
            hand.of_job(|j| id.with_value(|id| j.features.get(id).and_then(|f| f.outline.clone())));
        matches!(
            outline.flatten(),
            Some(
                OutlineSpec::Ring { .. }
                    | OutlineSpec::Lettering { .. }
                    | OutlineSpec::Artwork { .. }
            )
        )
    });
    let opening = move || marker.get() != "pounce" && drawn.get() == "inside";
    view! {
        <Choices
            legend="What marks the outline"
            shown=true
            choices=vec![
                Choice::words("pencil", "soft pencil"),
                Choice::words("pen", "fine pen, on tape only"),
                Choice::words("knife", "knife, on a mask only"),
                Choice::words("pounce", "pounce through pricked holes"),
            ]
            taken=marker
            take=move |v: String| keep(FeatureEdit { marker: Some(marker_of(&v)), ..FeatureEdit::default() })
        />
        <Show when=move || marker.get() != "pounce">
            <Choices
                legend="It is drawn"
                shown=true
                choices=vec![
                    Choice::words("inside", "inside an opening"),
                    Choice::words("outside", "round the outside of a patch"),
                ]
                taken=drawn
                take=move |v: String| {
                    let drawn = if v == "outside" { DrawnSide::Outside } else { DrawnSide::Inside };
                    keep(FeatureEdit { drawn: Some(drawn), ..FeatureEdit::default() });
                }
            />
        </Show>
        <TypedLength
            id="feature-allowance"
            label="From the edge to the middle of the line, if not its usual (pencil 0.5, pen 0.3, knife 0, pounce 1.5)"
            typing=allowance
            done=move |_: bool| {
                if let Some(entry) = allowance.entry_now() {
                    keep(FeatureEdit { allowance: Some(entry.mm), ..FeatureEdit::default() });
                }
            }
        />
        <Show when=move || may_have.get() && opening()>
            <Choices
                legend="What would fall out of it, the middle of an O"
                shown=true
                choices=vec![
                    Choice::words("bridged", "is held by bridges, touched in after"),
                    Choice::words("film", "stays on transfer film"),
                ]
                taken=islands
                take=move |v: String| {
                    let islands = if v == "film" { Islands::Film } else { Islands::Bridged };
                    keep(FeatureEdit { islands: Some(islands), ..FeatureEdit::default() });
                }
            />
            <Show when=move || islands.get() == "bridged">
                <TypedLength
                    id="feature-bridge"
                    label="How wide a bridge is (in proportion, 2 to 5 mm, unless you say)"
                    typing=bridge
                    done=move |_: bool| {
                        if let Some(entry) = bridge.entry_now().filter(|e| e.mm > Length::ZERO) {
                            keep(FeatureEdit { bridge: Some(entry.mm), ..FeatureEdit::default() });
                        }
                    }
                />
            </Show>
        </Show>
    }
}

const fn marker_key(marker: Marker) -> &'static str {
    match marker {
        Marker::SoftPencil => "pencil",
        Marker::Pounce => "pounce",
        Marker::FinePen => "pen",
        Marker::Knife => "knife",
    }
}

fn marker_of(key: &str) -> Marker {
    match key {
        "pounce" => Marker::Pounce,
        "pen" => Marker::FinePen,
        "knife" => Marker::Knife,
        _ => Marker::SoftPencil,
    }
}
