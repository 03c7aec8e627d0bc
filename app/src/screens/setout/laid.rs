//! What a feature's template is made of.

use super::hand::Hand;
use crate::say::laid;
use crate::widgets::choice::Choices;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{EntityRef, Entry, FeatureEdit, FeatureId};
use samespot_core::template::{LAID, Laid};
use samespot_core::units::Length;

/// Paper, film, card, board, or how thick it is.
#[component]
pub(super) fn LaidForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let said = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id).and_then(|f| f.thickness)))
            .flatten()
            .unwrap_or(LAID[0].thickness)
    });
    let thick = Typing::new(Some(&Entry::of_mm(said.get_untracked().mm())));
    let keep = move |thickness: Length| {
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                thickness: Some(thickness),
                ..FeatureEdit::default()
            },
        );
    };
    let done = move |_: bool| {
        if let Some(entry) = thick.entry_now().filter(|e| e.mm > Length::ZERO) {
            keep(entry.mm);
        }
    };
    view! {
        <Choices
            legend="The template is"
            shown=true
            choices=laid::choices()
            taken=Signal::derive(move || Laid::named(said.get()).unwrap_or_default().to_owned())
            take=move |name: String| {
                if let Some(thickness) = laid::thickness(&name) {
                    thick.set(&crate::say::numbers::size(thickness));
                    keep(thickness);
                }
            }
        />
        <TypedLength id="feature-thick" label="or so thick" typing=thick done=done />
    }
}
