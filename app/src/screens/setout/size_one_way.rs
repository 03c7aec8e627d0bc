//! How big a round face is one way: a tape round it, a gauge card, a straight-edge, a radius.

use super::hand::Hand;
use crate::widgets::choice::Choices;
use crate::widgets::gauge_card::GaugeCardField;
use crate::widgets::how_round;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::job::Size;
use samespot_core::sheet::Paper;

/// The fields of one size. A handle; copies are the same.
#[derive(Clone, Copy)]
pub(super) struct OneWay {
    by: RwSignal<String>,
    girth: Typing,
    edge: Typing,
    gap: Typing,
    radius: Typing,
    card: RwSignal<String>,
    /// How well the gap was read, where somebody said.
    read_to: StoredValue<Option<samespot_core::job::Entry>>,
}

impl OneWay {
    /// With what stands there already.
    pub(super) fn new(stands: Option<&Size>) -> Self {
        let mut by = "girth";
        let (mut girth, mut edge, mut gap, mut radius, mut read_to) =
            (None, None, None, None, None);
        let mut card = String::new();
        match stands {
            None => {}
            Some(Size::Girth { girth: g }) => girth = Some(g),
            Some(Size::Radius { radius: r }) => (by, radius) = ("radius", Some(r)),
            Some(Size::GaugeCard { number }) => (by, card) = ("card", number.to_string()),
            Some(Size::StraightEdge {
                length,
                gap: g,
                read_to: r,
            }) => {
                (by, edge, gap) = ("edge", Some(length), Some(g));
                read_to.clone_from(r);
            }
        }
        Self {
            by: RwSignal::new(by.to_owned()),
            girth: Typing::of_length(girth),
            edge: Typing::of_length(edge),
            gap: Typing::of_length(gap),
            radius: Typing::of_length(radius),
            card: RwSignal::new(card),
            read_to: StoredValue::new(read_to),
        }
    }

    /// The size, as far as it is typed.
    pub(super) fn size_now(self) -> Option<Size> {
        Some(match self.by.get_untracked().as_str() {
            "card" => Size::GaugeCard {
                number: self
                    .card
                    .get_untracked()
                    .trim()
                    .parse()
                    .ok()
                    .filter(|n| *n > 0)?,
            },
            "edge" => Size::StraightEdge {
                length: self.edge.entry_now()?,
                gap: self.gap.entry_now()?,
                read_to: self.read_to.get_value(),
            },
            "radius" => Size::Radius {
                radius: self.radius.entry_now()?,
            },
            _ => Size::Girth {
                girth: self.girth.entry_now()?,
            },
        })
    }
}

/// Names of the fields in the page, for each way of measuring.
pub(super) struct Ids {
    pub(super) girth: &'static str,
    pub(super) card: &'static str,
    pub(super) edge: &'static str,
    pub(super) gap: &'static str,
    pub(super) radius: &'static str,
}

/// The only way, or across.
pub(super) const ACROSS: Ids = Ids {
    girth: "face-girth",
    card: "face-card",
    edge: "face-edge",
    gap: "face-gap",
    radius: "face-radius",
};

/// Up, where that is another.
pub(super) const UP: Ids = Ids {
    girth: "face-girth-up",
    card: "face-card-up",
    edge: "face-edge-up",
    gap: "face-gap-up",
    radius: "face-radius-up",
};

/// How it was measured, and the numbers.
#[component]
pub(super) fn OneWayForm(
    hand: Hand,
    fields: OneWay,
    legend: &'static str,
    ids: &'static Ids,
    done: Callback<bool>,
) -> impl IntoView {
    let paper = Signal::derive(move || {
        hand.with_job(|j| j.about.paper)
            .flatten()
            .unwrap_or(Paper::A4)
    });
    view! {
        <Choices
            legend=legend
            shown=true
            choices=how_round::measured_by()
            taken=fields.by
            take=move |v: String| {
                fields.by.set(v);
                done.run(false);
            }
        />
        {move || match fields.by.get().as_str() {
            "card" => view! {
                <GaugeCardField id=ids.card text=fields.card paper=paper
                    on_text=move |text: String| fields.card.set(text) on_done=done />
            }
            .into_any(),
            "edge" => view! {
                <div class="fields">
                    <TypedLength id=ids.edge label="Length of the straight-edge" typing=fields.edge done=done />
                    <TypedLength id=ids.gap label="The gap" typing=fields.gap done=done />
                </div>
                <p class="second">{how_round::STRAIGHT_EDGE}</p>
            }
            .into_any(),
            "radius" => view! { <TypedLength id=ids.radius label="Radius" typing=fields.radius done=done /> }.into_any(),
            _ => view! { <TypedLength id=ids.girth label="All the way round, where the template goes" typing=fields.girth done=done /> }.into_any(),
        }}
    }
}
