//! Which two edges a feature follows.

use super::edge_model;
use super::hand::Hand;
use leptos::prelude::*;
use samespot_core::job::{EdgeId, EntityRef, FeatureEdit, FeatureId, RuleSpec};

/// The edge its sheet is hooked on, and the one it is slid up to.
#[component]
pub(super) fn EdgePair(hand: Hand, feature: FeatureId) -> impl IntoView {
    let id = StoredValue::new(feature);
    let pair = Memo::new(move |_| {
        hand.of_job(|j| {
            id.with_value(|id| match j.features.get(id)?.rule.clone()? {
                RuleSpec::Edges { edge, end } => Some([edge, end]),
                _ => None,
            })
        })
        .flatten()
    });
    let all = Memo::new(move |_| {
        let face = hand.face.get()?;
        hand.of_job(|j| edge_model::edges(j, &face))
    });
    let set = move |k: usize| {
        move |ev: leptos::ev::Event| {
            let (Ok(chosen), Some([edge, end])) =
                (EdgeId::new(&event_target_value(&ev)), pair.get_untracked())
            else {
                return;
            };
            // Taking the other's place changes them over.
            let (edge, end) = match k {
                0 if chosen == end => (end, edge),
                0 => (chosen, end),
                _ if chosen == edge => (end, edge),
                _ => (edge, chosen),
            };
            let rule = Some(RuleSpec::Edges { edge, end });
            hand.say_if_new(
                EntityRef::Feature(id.get_value()),
                &FeatureEdit {
                    rule,
                    ..FeatureEdit::default()
                },
            );
        }
    };
    let select = move |name: &'static str, label: &'static str, k: usize| {
        view! {
            <label class="job-field short">
                <span>{label}</span>
                <select id=name on:change=set(k)>
                    {move || all.get().unwrap_or_default().into_iter().map(|(edge, letter)| {
                        let is = pair.with(|p| p.as_ref().is_some_and(|p| p[k] == edge));
                        view! { <option value=edge.to_string() selected=is>{format!("edge {letter}")}</option> }
                    }).collect_view()}
                </select>
            </label>
        }
    };
    view! {
        <div class="job-row">
            {select("feature-edge", "Its sheet is hooked on", 0)}
            {select("feature-end", "and slid up to", 1)}
        </div>
        <p class="second">"Read its middle square from both, under Edges. Its turn is kept to the first"</p>
    }
}
