//! The number of a gauge card: what radius it says, and the cards themselves to print.

use super::loose_sheet::LooseSheet;
use crate::say::gauge::{self, Said};
use leptos::prelude::*;
use samespot_core::answer::Ask;
use samespot_core::sheet::{CardSet, Paper};

/// The field for the number on a gauge card.
#[component]
pub fn GaugeCardField(
    /// Its name in the page.
    id: &'static str,
    /// What is typed.
    #[prop(into)]
    text: Signal<String>,
    /// The paper last used.
    #[prop(into)]
    paper: Signal<Paper>,
    /// Something else is typed.
    #[prop(into)]
    on_text: Callback<String>,
    /// Somebody went on; whether by the Enter key.
    #[prop(into)]
    on_done: Callback<bool>,
) -> impl IntoView {
    let said = Memo::new(move |_| gauge::said(&text.get()));
    let refused = move || said.with(|s| matches!(s, Said::Refused(_)));
    let set = RwSignal::new(None::<bool>);
    // With a number typed its neighbours are what is wanted next, until somebody chooses.
    let around = move || {
        let number = said.with(Said::number);
        number.filter(|_| set.get().unwrap_or(true))
    };
    let chosen = move || around().map_or(CardSet::EveryFourth, |number| CardSet::Around { number });
    let said_id = format!("{id}-understood");
    view! {
        <div class="length gauge" class:refused=refused>
            <label for=id>"Number of the gauge card that shows no light"</label>
            <div class="box">
                <input
                    id=id
                    type="text"
                    inputmode="numeric"
                    enterkeyhint="next"
                    autocomplete="off"
                    aria-describedby=said_id.clone()
                    aria-invalid=move || if refused() { "true" } else { "false" }
                    prop:value=move || text.get()
                    on:input=move |e| { let _ = on_text.try_run(event_target_value(&e)); }
                    on:blur=move |_| { let _ = on_done.try_run(false); }
                    on:keydown=move |e| {
                        if e.key() == "Enter" {
                            e.prevent_default();
                            let _ = on_done.try_run(true);
                        }
                    }
                />
            </div>
            <div class="understood" id=said_id aria-live="polite">
                {move || match said.get() {
                    Said::Nothing => view! { <p class="second">"\u{a0}"</p> }.into_any(),
                    Said::Radius { words, .. } => view! { <p class="echo">{words}</p> }.into_any(),
                    Said::Refused(why) => view! { <p class="why">{why}</p> }.into_any(),
                }}
            </div>
            <details class="gauge-print">
                <summary>"No gauge cards yet? Print them"</summary>
                <p class="second">
                    "Numbered arcs at true size, to stick to card and cut out. Begin with every fourth; then the neighbours of the one that fits best"
                </p>
                <div class="keys">
                    <button
                        type="button"
                        class="choice"
                        aria-pressed=move || if around().is_none() { "true" } else { "false" }
                        on:click=move |_| set.set(Some(false))
                    >
                        "every fourth card"
                    </button>
                    {move || said.with(Said::number).map(|number| view! {
                        <button
                            type="button"
                            class="choice"
                            aria-pressed=move || if around().is_some() { "true" } else { "false" }
                            on:click=move |_| set.set(Some(true))
                        >
                            {format!("the cards next to {number}")}
                        </button>
                    })}
                </div>
                <LooseSheet
                    id=format!("{id}-sheets")
                    ask=Signal::derive(move || Ask::GaugeCards { set: chosen(), paper: paper.get() })
                    paper=paper
                />
            </details>
        </div>
    }
}
