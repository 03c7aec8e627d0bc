//! What a feature's template is made of, and which way it runs over the face.

use super::hand::Hand;
use crate::say::laid;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{EntityRef, Entry, FaceShape, FeatureEdit, FeatureId, Runs};
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

/// Straight over the face or along its level line, where that is not the same.
#[component]
pub(super) fn RunsForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let bends = Memo::new(move |_| {
        let of = |j: &samespot_core::job::Job| {
            let face = id.with_value(|id| j.features.get(id)?.face.clone())?;
            j.faces.get(&face)?.shape.clone()
        };
        matches!(
            hand.of_job(of).flatten(),
            Some(FaceShape::Cone { .. } | FaceShape::TwoRadii { .. } | FaceShape::Scan { .. })
        )
    });
    let said = Signal::derive(move || {
        let runs = hand
            .of_job(|j| id.with_value(|id| j.features.get(id).and_then(|f| f.runs)))
            .flatten();
        if runs == Some(Runs::Level) {
            "level"
        } else {
            "straight"
        }
        .to_owned()
    });
    let take = move |v: String| {
        let runs = Some(if v == "level" {
            Runs::Level
        } else {
            Runs::Straight
        });
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                runs,
                ..FeatureEdit::default()
            },
        );
    };
    move || {
        bends.get().then(|| {
            view! {
                <Choices
                    legend="Over the face it runs"
                    shown=true
                    choices=vec![
                        Choice::words("straight", "straight"),
                        Choice::words("level", "along the level line"),
                    ]
                    taken=said
                    take=take
                />
            }
        })
    }
}
