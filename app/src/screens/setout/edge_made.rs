//! How an edge came about, wherever that is asked.

use crate::widgets::choice::{Choice, Choices};
use crate::widgets::field::Field;
use leptos::prelude::*;
use samespot_core::job::{EdgeEdit, EdgeMade};

/// Moulded or trimmed; a trimmed one is on no two castings in the same place, and says why it may serve.
#[component]
pub(super) fn MadeForm(
    legend: &'static str,
    /// Name of the field for why, in the page.
    field: &'static str,
    #[prop(into)] edge: Signal<EdgeEdit>,
    #[prop(into)] keep: Callback<EdgeEdit>,
) -> impl IntoView {
    let trimmed = move || edge.with(|e| e.made == Some(EdgeMade::Trimmed));
    let taken = Signal::derive(move || {
        match edge.with(|e| e.made) {
            Some(EdgeMade::Moulded) => "moulded",
            Some(EdgeMade::Trimmed) => "trimmed",
            None => "",
        }
        .to_owned()
    });
    let reason = Signal::derive(move || edge.with(|e| e.reason.clone()).unwrap_or_default());
    view! {
        <Choices
            legend=legend
            shown=true
            choices=vec![
                Choice::words("moulded", "as it left the mould"),
                Choice::words("trimmed", "trimmed by hand"),
            ]
            taken=taken
            take=move |how: String| keep.run(EdgeEdit {
                made: Some(if how == "trimmed" { EdgeMade::Trimmed } else { EdgeMade::Moulded }),
                ..EdgeEdit::default()
            })
        />
        <Show when=trimmed>
            <Field id=field label="Why a trimmed edge may serve" hint="trimmed in the saw’s own jig" value=reason
                keep=move |r: String| keep.run(EdgeEdit { reason: Some(r), ..EdgeEdit::default() }) />
        </Show>
    }
}
