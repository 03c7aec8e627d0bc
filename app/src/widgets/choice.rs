//! One of a few: big keys with a drawing, or words in a row.

use leptos::prelude::*;

/// One choice.
#[derive(Clone)]
pub struct Choice {
    /// What it is called inside.
    pub value: &'static str,
    /// What it says.
    pub label: &'static str,
    /// A drawing above the words.
    pub drawing: Option<fn() -> AnyView>,
}

impl Choice {
    /// Words alone.
    #[must_use]
    pub const fn words(value: &'static str, label: &'static str) -> Self {
        Self {
            value,
            label,
            drawing: None,
        }
    }

    /// With a drawing.
    #[must_use]
    pub const fn drawn(value: &'static str, label: &'static str, drawing: fn() -> AnyView) -> Self {
        Self {
            value,
            label,
            drawing: Some(drawing),
        }
    }
}

/// A row of choices, of which one is taken.
#[component]
pub fn Choices(
    /// What is chosen between, for those who can't see it.
    #[prop(into)]
    legend: String,
    /// Show the legend.
    #[prop(optional)]
    shown: bool,
    /// The choices.
    choices: Vec<Choice>,
    /// What is taken.
    #[prop(into)]
    taken: Signal<String>,
    /// Takes another.
    #[prop(into)]
    take: Callback<String>,
) -> impl IntoView {
    let drawn = choices.iter().any(|c| c.drawing.is_some());
    let keys = choices
        .into_iter()
        .map(|choice| {
            let value = choice.value;
            let is_taken = move || taken.try_get().is_some_and(|t| t == value);
            view! {
                <button
                    type="button"
                    class="choice"
                    aria-pressed=move || if is_taken() { "true" } else { "false" }
                    data-value=value
                    on:click=move |_| { let _ = take.try_run(value.to_owned()); }
                >
                    {choice.drawing.map(|draw| draw())}
                    <span>{choice.label}</span>
                </button>
            }
        })
        .collect_view();
    view! {
        <div class="choices" class:drawn=drawn role="group" aria-label=legend.clone()>
            {shown.then(|| view! { <p class="legend" aria-hidden="true">{legend.clone()}</p> })}
            <div class="keys">{keys}</div>
        </div>
    }
}
