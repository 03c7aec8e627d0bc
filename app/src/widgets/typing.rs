//! A length being typed: its text, the answer to its question, and its field.

use super::length::{Heard, LengthField};
use leptos::prelude::*;
use samespot_core::job::Entry;
use samespot_core::units::{FieldOptions, Unit};

/// A length being typed. A handle; copies are the same.
#[derive(Clone, Copy)]
pub struct Typing {
    text: RwSignal<String>,
    picked: RwSignal<Option<usize>>,
    /// The words of its two sides, where it lies to one side of something: less, more.
    sides: Option<(&'static str, &'static str)>,
    /// 0 would make no sense.
    never_nothing: bool,
}

impl Typing {
    /// With what stands there already.
    #[must_use]
    pub fn new(stands: Option<&Entry>) -> Self {
        Self {
            text: RwSignal::new(stands.map(|e| e.typed.clone()).unwrap_or_default()),
            picked: RwSignal::new(None),
            sides: None,
            never_nothing: false,
        }
    }

    /// How long something is, or how far apart two things are: 0 is refused.
    #[must_use]
    pub fn of_length(stands: Option<&Entry>) -> Self {
        Self {
            never_nothing: true,
            ..Self::new(stands)
        }
    }

    /// With what stands there already, to one side of something or the other.
    #[must_use]
    pub fn either_side(stands: Option<&Entry>, less: &'static str, more: &'static str) -> Self {
        Self {
            sides: Some((less, more)),
            ..Self::new(stands)
        }
    }

    /// What its field takes.
    fn options(self) -> FieldOptions {
        match self.sides {
            Some((less, more)) => FieldOptions::offset(Unit::Mm, less, more),
            None if self.never_nothing => FieldOptions::length(Unit::Mm),
            None => FieldOptions::size(Unit::Mm),
        }
    }

    /// What it was understood as; whoever asks follows it.
    #[must_use]
    pub fn entry(self) -> Option<Entry> {
        Heard::of(&self.text.get(), self.picked.get(), &self.options()).entry()
    }

    /// The same for what is done with it now.
    #[must_use]
    pub fn entry_now(self) -> Option<Entry> {
        untrack(|| self.entry())
    }

    /// As it stands there; whoever asks follows it.
    #[must_use]
    pub fn text(self) -> String {
        self.text.get()
    }

    /// Something else stands there.
    pub fn set(self, text: &str) {
        self.text.set(text.to_owned());
        self.picked.set(None);
    }

    /// Nothing stands there.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.text.with(|t| t.trim().is_empty())
    }
}

/// Its field.
#[component]
pub fn TypedLength(
    /// Its name in the page.
    id: &'static str,
    /// What is measured.
    #[prop(into)]
    label: Signal<String>,
    /// What is typed.
    typing: Typing,
    /// Somebody went on, or answered; whether by the Enter key.
    #[prop(optional, into)]
    done: Option<Callback<bool>>,
) -> impl IntoView {
    let went_on = move |by_key: bool| {
        if let Some(done) = done {
            let _ = done.try_run(by_key);
        }
    };
    view! {
        <LengthField
            id=id
            label=label
            text=typing.text
            picked=typing.picked
            options=Signal::derive(move || typing.options())
            on_text=move |text: String| typing.set(&text)
            on_pick=move |n: usize| {
                typing.picked.set(Some(n));
                went_on(false);
            }
            on_done=went_on
        />
    }
}
