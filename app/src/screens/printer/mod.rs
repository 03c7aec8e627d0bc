//! Printer check: a page to print, four distances to read, what they prove, and for which templates.

mod found;
mod hand;
mod model;

use crate::ports::fields;
use crate::screens::paper::PaperChoice;
use crate::state::session;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::read_with::ReadWithChoices;
use crate::widgets::typing::TypedLength;
use found::{Codes, Found, KEEP, Kept};
use hand::Hand;
use leptos::prelude::*;
use samespot_core::job::PrinterId;
use samespot_core::units::Length;

/// The screen.
#[component]
pub fn PrinterCheck() -> impl IntoView {
    let hand = Hand::take(session());
    view! {
        <div class="job-screen printer-screen">
            <div class="job-side">
                <Which hand=hand />
                <Reading hand=hand />
            </div>
            <div class="job-side">
                <Found hand=hand />
                <Kept hand=hand />
                <Codes hand=hand />
            </div>
        </div>
    }
}

/// Which printer, which paper, the page.
#[component]
fn Which(hand: Hand) -> impl IntoView {
    let session = session();
    let all = Memo::new(move |_| {
        session
            .book
            .with(|b| b.as_ref().map(|b| model::printers(&b.job)))
            .unwrap_or_default()
    });
    let here = move || {
        hand.printer
            .get()
            .map_or_else(String::new, |p| p.0.to_string())
    };
    let name = move || {
        hand.printer
            .get()
            .map_or_else(|| hand.name.get(), |p| p.1.name.unwrap_or_default())
    };
    let busy = move || hand.busy.get();
    view! {
        <section class="sheet job-part" aria-labelledby="printer-title">
            <h1 id="printer-title">"Printer check"</h1>
            <p class="second">
                "A print is as true as its printer. One page for each printer and paper, measured with a steel rule, proves it"
            </p>
            <Show when=move || all.with(|a| a.len() > 1)>
                <label class="job-field">
                    <span>"Printer in use"</span>
                    <select
                        id="printer-which"
                        prop:value=here
                        on:change=move |ev| {
                            if let Ok(id) = PrinterId::new(&event_target_value(&ev)) {
                                hand.say(&model::use_printer(&id));
                            }
                        }
                    >
                        {move || {
                            all.get()
                                .into_iter()
                                .map(|(id, name)| {
                                    let selected = id == here();
                                    view! { <option value=id selected=selected>{name}</option> }
                                })
                                .collect_view()
                        }}
                    </select>
                </label>
            </Show>
            <div class="job-row">
                <label class="job-field">
                    <span>"What it is called here"</span>
                    <input
                        id="printer-name"
                        type="text"
                        autocomplete="off"
                        placeholder="the one by the door"
                        prop:value=name
                        on:change=move |ev| hand.call(event_target_value(&ev))
                    />
                </label>
                <Show when=move || hand.printer.with(Option::is_some)>
                    <button type="button" class="key" on:click=move |_| hand.another()>
                        "Another printer"
                    </button>
                </Show>
            </div>
            <PaperChoice of=hand.paper />
            <div class="job-row">
                <button type="button" id="proof-print" class="key main" on:click=move |_| hand.print()>
                    {move || if busy() { "Making the page…" } else { "Print the proof page" }}
                </button>
                <button type="button" id="proof-download" class="key" on:click=move |_| hand.download()>
                    "Download it"
                </button>
            </div>
            <p class="second">"At 100 %, nothing fitted to the page, borderless off"</p>
        </section>
    }
}

const NAMES: [(&str, &str, &str); 4] = [
    ("proof-ab", "A–B", "across"),
    ("proof-ad", "A–D", "up"),
    ("proof-ac", "A–C", "diagonal"),
    ("proof-bd", "B–D", "diagonal"),
];

/// The four distances, the rule, the frame.
#[component]
fn Reading(hand: Hand) -> impl IntoView {
    let drawn = move |n: usize| {
        let length = |l: Length| format!("{:.1}", l.mm());
        hand.looked.with(|l| match l {
            Some(Ok(view)) => match n {
                0 => length(view.drawn.across),
                1 => length(view.drawn.up),
                _ => length(view.diagonal),
            },
            _ => "…".to_owned(),
        })
    };
    let all = hand.fields;
    view! {
        <section class="sheet job-part" aria-labelledby="printer-read">
            <h2 id="printer-read">"What the rule says"</h2>
            <p class="second">
                "From the middle of one cross to the middle of the other. One diagonal at least: a page that leans goes unnoticed without"
            </p>
            <div class="printer-fields">
                {all
                    .into_iter()
                    .zip(NAMES)
                    .enumerate()
                    .map(|(n, (typed, (id, pair, way)))| {
                        let label = Signal::derive(move || {
                            format!("{pair}, {way}, drawn {} mm", drawn(n))
                        });
                        // Enter goes on as on every screen: to the next, from the last to keeping it.
                        let done = move |by_key: bool| {
                            if by_key && (typed.is_empty() || typed.entry_now().is_some()) {
                                fields::go_on_to(NAMES.get(n + 1).map_or(KEEP, |next| next.0));
                            }
                        };
                        view! { <TypedLength id=id label=label typing=typed done=done /> }
                    })
                    .collect_view()}
            </div>
            <ReadWithChoices with=hand.with />
            <Choices
                legend="Outermost whole frame, mm"
                shown=true
                choices=vec![
                    Choice::words("3", "3"),
                    Choice::words("6", "6"),
                    Choice::words("9", "9"),
                    Choice::words("12", "12"),
                    Choice::words("15", "15"),
                ]
                taken=hand.reaches
                take=move |v| hand.reaches.set(v)
            />
            <p class="second">
                "The page has frames round it, each with its distance from the paper’s edge in mm. Which is the outermost that is printed on all four sides without a gap? It says how near to the edge this printer reaches"
            </p>
            <p class="job-why" role="status">
                {move || match hand.reaches.get().as_str() {
                    "15" => "This printer reaches less than sheets need (12 mm): their edges will be cut off. Take larger paper",
                    _ => "",
                }}
            </p>
        </section>
    }
}
