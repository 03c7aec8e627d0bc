//! The first card for a tracing or a file, with one known length.

use super::cards::Length;
use super::hand::Hand;
use super::model;
use crate::screens::artwork::{ArtworkFile, Drawing};
use leptos::prelude::*;
use samespot_core::write::job::attachment_hash;

/// The fields of the first card for a file.
#[component]
pub(super) fn FileFields(hand: Hand) -> impl IntoView {
    let said = move |key: &'static str| {
        Signal::derive(move || hand.answers.with(|a| model::text(a, key).to_owned()))
    };
    // Attached by what it holds, so that the same drawing is attached once.
    let take = move |drawing: Drawing| {
        let hash = attachment_hash(&drawing.stored);
        hand.attach(hash.clone(), drawing.stored);
        hand.write("file-hash", hash);
        hand.write("file-name", drawing.name);
        hand.write("file-ignored", drawing.ignored.join("\n"));
        if let Some(across) = drawing.across {
            hand.write("file-width", across);
        }
        hand.commit();
    };
    view! {
        <ArtworkFile
            name=said("file-name")
            ignored=said("file-ignored")
            paper=Signal::derive(move || hand.cards.with(|c| c.paper))
            take=Callback::new(take)
        >
            <Length hand=hand id="file-width" key="file-width" label="One known length: all of it, across" />
        </ArtworkFile>
    }
}
