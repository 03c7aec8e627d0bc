//! What a feature keeps square to the line of its rule: the pattern's distance, or its share of the
//! distance between two other marks.

use super::hand::Hand;
use super::mark_select::MarkSelect;
use super::model;
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;
use samespot_core::job::{AcrossPair, EntityRef, FeatureEdit, FeatureId, MarkId, RuleSpec};

/// Shown where it follows the line between two marks.
#[component]
pub(super) fn AcrossForm(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let rule = Memo::new(move |_| {
        hand.of_job(|j| id.with_value(|id| j.features.get(id)?.rule.clone()))
            .flatten()
    });
    let own = Memo::new(move |_| match rule.get() {
        Some(RuleSpec::Line { across, .. }) => across,
        _ => None,
    });
    let marks = Signal::derive(move || {
        let face = hand.face.get();
        let all = face.and_then(|face| hand.of_job(|j| model::marks(j, &face)));
        all.unwrap_or_default()
    });
    let keep = move |own: Option<AcrossPair>| {
        let Some(rule) = rule.get_untracked().and_then(|r| model::across(&r, own)) else {
            return;
        };
        hand.say_if_new(
            EntityRef::Feature(id.get_value()),
            &FeatureEdit {
                rule: Some(rule),
                ..FeatureEdit::default()
            },
        );
    };
    let taken = Signal::derive(move || {
        let stretches = own.with(Option::is_some);
        if stretches { "stretch" } else { "kept" }.to_owned()
    });
    let take = move |how: String| {
        if how != "stretch" {
            keep(None);
            return;
        }
        let usual = rule
            .get_untracked()
            .and_then(|r| model::usual_across(&r, &marks.get_untracked()));
        match usual {
            Some(pair) => keep(Some(pair)),
            None => hand.session.notice(
                "That needs a third mark, off the line of the first two: add it first",
                true,
            ),
        }
    };
    let set = move |first: bool| {
        move |mark: MarkId| {
            let Some(mut pair) = own.get_untracked() else {
                return;
            };
            let (this, other) = if first {
                (&mut pair.from, &mut pair.to)
            } else {
                (&mut pair.to, &mut pair.from)
            };
            // Taking the other's place changes them over.
            if *other == mark {
                core::mem::swap(this, other);
            } else {
                *this = mark;
            }
            keep(Some(pair));
        }
    };
    let end = move |first: bool| {
        Signal::derive(move || {
            let pair = own.get()?;
            Some(if first { pair.from } else { pair.to })
        })
    };
    view! {
        <Choices
            legend="Square to that line"
            shown=true
            choices=vec![
                Choice::words("kept", "it keeps its distance"),
                Choice::words("stretch", "it moves in proportion to two marks"),
            ]
            taken=taken
            take=take
        />
        <Show when=move || own.with(Option::is_some)>
            <div class="job-row">
                <MarkSelect id="feature-across-from" label="In proportion to" marks=marks is=end(true) set=set(true) />
                <MarkSelect id="feature-across-to" label="and" marks=marks is=end(false) set=set(false) />
            </div>
        </Show>
    }
}
