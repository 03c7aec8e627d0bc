//! Whether a feature is cut out of the skin, and its plug kept.

use super::hand::Hand;
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;
use samespot_core::job::{CutOut, EntityRef, FeatureEdit, FeatureId};

/// The question, and what follows from a yes.
#[component]
pub(super) fn CutOutForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let kept = move || {
        let said = hand.of_job(|j| id.with_value(|id| j.features.get(id).and_then(|f| f.cut_out)));
        said.flatten() == Some(CutOut::PlugKept)
    };
    let taken = Signal::derive(move || if kept() { "kept" } else { "stays" }.to_owned());
    let take = move |v: String| {
        let cut_out = Some(if v == "kept" {
            CutOut::PlugKept
        } else {
            CutOut::Stays
        });
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                cut_out,
                ..FeatureEdit::default()
            },
        );
    };
    view! {
        <Choices
            legend="Is this cut out of the skin, and the piece kept?"
            shown=true
            choices=vec![
                Choice::words("stays", "no: painted or marked"),
                Choice::words("kept", "yes: a hatch, its plug kept"),
            ]
            taken=taken
            take=take
        />
        <Show when=kept>
            <p class="second">"Its sheet is a cut-out template: the saw line with its least corner radius, the number that goes on the plug, and ticks across the line so that the plug goes back the same way round"</p>
        </Show>
    }
}
