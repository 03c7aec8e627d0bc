//! The newest check of the feature in hand, and letting it stand.

use super::named::LetStand;
use super::{Hand, model};
use leptos::prelude::*;
use samespot_core::check::Verdict;
use samespot_core::job::FeatureId;
use samespot_core::prepare::checks::verdict_words;

/// The newest check, and letting it stand.
#[component]
pub(super) fn Latest(hand: Hand, feature: StoredValue<FeatureId>) -> impl IntoView {
    let stand = move |(by, why): (String, String)| {
        let piece = hand.piece.get_untracked();
        let fact = piece.and_then(|p| model::concession(&p, &feature.get_value(), &by, &why));
        hand.says(fact)
    };
    let latest = Memo::new(move |_| hand.check().and_then(|c| Some((c.latest?, c.concession))));
    let open = move || {
        latest.with(|l| {
            l.as_ref()
                .is_some_and(|(l, c)| l.found.verdict != Verdict::Within && c.is_none())
        })
    };
    view! {
        {move || latest.get().map(|(l, concession)| {
            let by = [l.who.clone(), l.when.clone()].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ");
            view! {
                <div class="checks-kept">
                    <p><strong>{format!("Kept: {}, {}", l.says, verdict_words(l.found.verdict))}</strong></p>
                    <p class="second">{by}</p>
                    {concession.map(|(by, why)| view! { <p>{format!("Let stand by {by}: {why}")}</p> })}
                </div>
            }
        })}
        <Show when=open>
            <LetStand id="stand".to_owned() stand=stand />
        </Show>
    }
}
