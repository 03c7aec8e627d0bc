//! How a feature is turned on its line, and what that turn is kept to on a casting.

use super::hand::Hand;
use crate::widgets::angle::TypedAngle;
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;
use samespot_core::job::{EntityRef, FeatureEdit, FeatureId, RuleSpec, TurnKept};
use samespot_core::units::Angle;

/// Its turn; where a level was taken to the pattern, upright by a key.
#[component]
pub(super) fn TurnForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let edit = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id).cloned()))
            .flatten()
            .unwrap_or_default()
    });
    let keep = move |set: FeatureEdit| {
        hand.say_if_new(EntityRef::Feature(id.get_value()), &set);
    };
    let upright = Memo::new(move |_| {
        hand.view().and_then(|v| {
            let f = v
                .features
                .iter()
                .find(|f| id.with_value(|id| f.feature == *id))?;
            f.upright
        })
    });
    let on_a_line = move || edit.with(|e| e.rule.as_ref().and_then(RuleSpec::line).is_some());
    // The field is written anew when the key or Undo turns it.
    let turn = Memo::new(move |_| edit.with(|e| e.turn));
    let stand_up = move |_| {
        if let Some(angle) = upright.get_untracked() {
            // To a tenth of a degree, as it is shown: no level tells it better.
            let tenths = (angle.deg() * 10.0).round() / 10.0;
            keep(FeatureEdit {
                turn: Some(Angle::from_deg(tenths)),
                ..FeatureEdit::default()
            });
        }
    };
    view! {
        <Show when=on_a_line>
            <div class="job-row">
                {move || view! {
                    <TypedAngle id="feature-turn" label="Turned from square to that line, degrees"
                        stands=turn.get() sides=("clockwise", "anticlockwise")
                        keep=Callback::new(move |turn| keep(FeatureEdit { turn: Some(turn), ..FeatureEdit::default() })) />
                }}
            </div>
        </Show>
        <Show when=move || on_a_line() && upright.with(Option::is_some)>
            <button type="button" id="feature-upright" class="key" on:click=stand_up>
                "Stand it upright, by the level"
            </button>
        </Show>
        <KeptForm
            hand=hand
            rule=Signal::derive(move || edit.with(|e| e.rule.clone()))
            kept=Signal::derive(move || edit.with(|e| e.turn_kept))
            levelled=Signal::derive(move || upright.with(Option::is_some))
            keep=Callback::new(move |to| keep(FeatureEdit { turn_kept: Some(to), ..FeatureEdit::default() }))
        />
    }
}

/// What a turn is kept to on a casting; where that can only be its rule, why.
#[component]
pub(super) fn KeptForm(
    hand: Hand,
    rule: Signal<Option<RuleSpec>>,
    kept: Signal<Option<TurnKept>>,
    /// A level was taken to its line on the pattern.
    levelled: Signal<bool>,
    keep: Callback<TurnKept>,
) -> impl IntoView {
    let taken = Signal::derive(move || {
        match kept.get() {
            Some(TurnKept::ToLevel) => "level",
            _ => "line",
        }
        .to_owned()
    });
    let line = move || {
        rule.with(|r| {
            let ends = r.as_ref().and_then(RuleSpec::line);
            ends.map(|ends| ends.map(Clone::clone))
        })
    };
    let on_a_line = move || line().is_some();
    let only = move || {
        rule.with(|r| match r {
            Some(RuleSpec::BestFit { .. }) => Some(
                "Its turn comes from all its marks together. To be kept level by a spirit level it follows two marks",
            ),
            Some(RuleSpec::Edges { .. }) => Some(
                "Its turn is kept to the first edge. To be kept level by a spirit level it follows two marks",
            ),
            Some(RuleSpec::Line { .. } | RuleSpec::OffEdge { .. }) | None => None,
        })
    };
    let letters = move || {
        let [from, to] = line()?;
        hand.of_job(|j| {
            let letter = |m| j.marks.get(m).and_then(|m| m.letter.clone());
            Some((letter(&from)?, letter(&to)?))
        })
        .flatten()
    };
    let by_level = move || {
        letters().map(|(a, b)| match levelled.get() {
            true => format!(
                "Measure asks for a level on {a}–{b} of every casting, standing as it will stand"
            ),
            false => format!(
                "Take a level to {a}–{b} of the pattern first: below, how far {b} stands above {a}"
            ),
        })
    };
    view! {
        <Show when=on_a_line>
            <Choices
                legend="On a casting its turn is kept"
                shown=true
                choices=vec![
                    Choice::words("line", "to that line"),
                    Choice::words("level", "level, by a spirit level"),
                ]
                taken=taken
                take=move |v: String| {
                    let to = if v == "level" { TurnKept::ToLevel } else { TurnKept::ToLine };
                    let _ = keep.try_run(to);
                }
            />
            <Show when=move || taken.with(|k| k == "level")>
                <p class="second" role="status">{by_level}</p>
            </Show>
        </Show>
        <Show when=move || only().is_some()>
            <p class="second kept-why">{only}</p>
        </Show>
    }
}
