//! The edges that stops of a jig touch: three distances, square from marks.

use super::{Hand, fixing_in_hand};
use crate::say;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{Entry, Payload, Reading};
use samespot_core::prepare::holes::StopView;

/// Their fields: three hold a plate.
const FIELDS: [&str; 3] = ["stop-1", "stop-2", "stop-3"];

/// What was read last.
fn read_now(hand: Hand, stop: &StopView) -> Option<Entry> {
    let all = untrack(|| fixing_in_hand(hand))?.stops;
    let same = |s: &&StopView| s.of == stop.of && s.casting == stop.casting;
    all.iter().find(same)?.read.clone()
}

/// What is read for the stops of the fixing in hand; nothing where it has none.
#[component]
pub(super) fn Stops(hand: Hand) -> impl IntoView {
    // What is asked, not what was read: a field that is typed in stays where it is.
    let asked = Memo::new(move |_| {
        let all = fixing_in_hand(hand).map(|f| f.stops).unwrap_or_default();
        all.into_iter()
            .map(|s| StopView { read: None, ..s })
            .collect::<Vec<_>>()
    });
    view! {
        <Show when=move || asked.with(|a| !a.is_empty())>
            <section class="holes-notes" aria-labelledby="holes-stops">
                <h2 id="holes-stops">"Edges that the stops touch"</h2>
                <p class="second">
                    "On this casting, by a rule held square to the edge and parallel to the plate: from the mark to the edge"
                </p>
                <div class="fields">
                    {move || asked.get().into_iter().zip(FIELDS).map(|(s, id)| field(hand, s, id)).collect_view()}
                </div>
            </section>
        </Show>
    }
}

fn field(hand: Hand, stop: StopView, id: &'static str) -> impl IntoView {
    let typing = Typing::new(read_now(hand, &stop).as_ref());
    let label = say::job::capital(&stop.asks);
    let keep = Callback::new(move |_: bool| {
        let Some(value) = typing.entry_now() else {
            return;
        };
        if read_now(hand, &stop).as_ref() == Some(&value) {
            return;
        }
        hand.session.say(&[Payload::Reading(Reading {
            casting: stop.casting.clone(),
            of: stop.of.clone(),
            value,
            instrument: None,
            hooked: false,
            stage: None,
            within: None,
            set_aside: None,
        })]);
    });
    view! { <TypedLength id=id label=Signal::derive(move || label.clone()) typing=typing done=keep /> }
}
