//! What lengths were read with, and how finely.

use super::choice::{Choice, Choices};
use leptos::prelude::*;
use samespot_core::job::ClassMark;
use samespot_core::units::Length;

/// The rule or tape in hand. A handle; copies are the same.
#[derive(Clone, Copy)]
pub struct ReadWith {
    class: RwSignal<String>,
    step: RwSignal<String>,
}

impl ReadWith {
    /// A steel rule read to half a millimetre, until somebody says otherwise.
    #[must_use]
    pub fn steel_rule() -> Self {
        Self {
            class: RwSignal::new("I".to_owned()),
            step: RwSignal::new("0.5".to_owned()),
        }
    }

    /// Its class.
    #[must_use]
    pub fn class(self) -> ClassMark {
        match self.class.get().as_str() {
            "I" => ClassMark::I,
            "III" => ClassMark::III,
            _ => ClassMark::II,
        }
    }

    /// The least step that is read.
    #[must_use]
    pub fn step(self) -> Length {
        Length::from_mm(match self.step.get().as_str() {
            "1" => 1.0,
            "0.1" => 0.1,
            _ => 0.5,
        })
    }
}

/// Which rule or tape it is.
#[component]
pub fn ReadWithChoices(
    /// What is chosen.
    with: ReadWith,
) -> impl IntoView {
    view! {
        <Choices
            legend="Read with"
            shown=true
            choices=vec![
                Choice::words("I", "steel rule, class I"),
                Choice::words("II", "tape, class II"),
                Choice::words("III", "class III or no mark"),
            ]
            taken=with.class
            take=move |v| with.class.set(v)
        />
        <Choices
            legend="Read to"
            shown=true
            choices=vec![
                Choice::words("0.5", "half a mm"),
                Choice::words("1", "1 mm"),
                Choice::words("0.1", "a tenth: calipers"),
            ]
            taken=with.step
            take=move |v| with.step.set(v)
        />
    }
}
