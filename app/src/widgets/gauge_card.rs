//! The number of a gauge card: what radius it says, and the cards themselves to print.

use crate::ports::worker::{self, Line};
use crate::ports::{files, print};
use crate::say::gauge::{self, Said};
use crate::state::{Session, session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::sheet::{CardSet, Paper};

/// Fetches the sheets and prints or saves them.
fn fetch(session: Session, set: CardSet, paper: Paper, to_print: bool, busy: RwSignal<bool>) {
    busy.set(true);
    let ask = Ask::GaugeCards { set, paper };
    let asked = worker::put(Line::Sheets, ask);
    spawn_local(async move {
        match worker::sentence(asked.await) {
            Ok((Reply::File { name, media, .. }, bytes)) => {
                if !to_print {
                    files::download(&name, &media, &bytes);
                } else if !print::print(&bytes) {
                    session.notice(
                        "The browser opened no window to print from: download the cards and print them at 100 %",
                        true,
                    );
                }
            }
            Ok(_) => {}
            Err(why) => session.notice(why, true),
        }
        let _ = busy.try_set(false);
    });
}

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
    let session = session();
    let said = Memo::new(move |_| gauge::said(&text.get()));
    let refused = move || said.with(|s| matches!(s, Said::Refused(_)));
    let busy = RwSignal::new(false);
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
                <div class="keys">
                    <button type="button" class="key" data-gauge="print"
                        on:click=move |_| fetch(session, chosen(), paper.get_untracked(), true, busy)>
                        {move || if busy.get() { "Making the sheets…".to_owned() } else { format!("Print on {}", paper.get().name()) }}
                    </button>
                    <button type="button" class="key" data-gauge="download"
                        on:click=move |_| fetch(session, chosen(), paper.get_untracked(), false, busy)>
                        "Download"
                    </button>
                </div>
            </details>
        </div>
    }
}
