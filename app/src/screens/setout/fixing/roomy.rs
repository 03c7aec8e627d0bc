//! Whether a hole that came out bigger gives its place more room, and how wide it may become.

use super::Open;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::{BiggerHole, FixingEdit};

/// *Bigger hole, more room*.
#[component]
pub(super) fn Roomy(open: Open) -> impl IntoView {
    let widest = Typing::of_length(open.now(|f| f.widest.clone()).flatten().as_ref());
    let typed = Callback::new(move |_: bool| {
        open.keep(FixingEdit {
            widest: widest.entry_now(),
            ..FixingEdit::default()
        });
    });
    let taken = Signal::derive(move || {
        let more = open.of(|f| f.bigger_hole).flatten() == Some(BiggerHole::MoreRoom);
        if more { "more" } else { "no-more" }.to_owned()
    });
    let take = move |how: String| {
        open.keep(FixingEdit {
            bigger_hole: Some(if how == "more" {
                BiggerHole::MoreRoom
            } else {
                BiggerHole::NoMore
            }),
            ..FixingEdit::default()
        });
    };
    view! {
        <Choices
            legend="A hole that came out bigger"
            choices=vec![
                Choice::words("no-more", "must be as near its place as any"),
                Choice::words("more", "may be further off by as much"),
            ]
            taken=taken
            take=take
        />
        <TypedLength id="fixing-widest" label="How wide a hole may become at most" typing=widest done=typed />
        <p class="second">"Only where the customer or the engineer allows it: a bolt still goes through (ISO 2692)"</p>
    }
}
