//! What the readings come to, what is kept, and what the codes on sheets lead to.

use super::hand::Hand;
use crate::ports::address;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::marks::Fits;
use leptos::prelude::*;
use samespot_core::job::PrinterEdit;
use samespot_core::prepare::printer::{ProofSays, ProofView};
use std::sync::Arc;

fn view_of(hand: Hand) -> Option<Arc<ProofView>> {
    match hand.looked.get() {
        Some(Ok(view)) => Some(view),
        _ => None,
    }
}

/// The key that keeps it: Enter in the last field goes there.
pub(super) const KEEP: &str = "proof-keep";

/// What is typed, judged; else the proof that is kept.
#[component]
pub(super) fn Found(hand: Hand) -> impl IntoView {
    let typing = Memo::new(move |_| hand.read().typed().is_some());
    let says = move || view_of(hand).and_then(|v| v.says.clone());
    // Yellow once it is worth keeping.
    let proves = move || matches!(says(), Some(Ok(s)) if s.good || s.may_correct);
    let cannot = move || match hand.looked.get() {
        Some(Err(why)) => Some(why),
        _ => None,
    };
    let heading = move || {
        let kept = view_of(hand).and_then(|v| v.day.clone());
        match (typing.get(), kept) {
            (true, _) => "What that comes to".to_owned(),
            (false, Some(day)) => format!("The proof of {day}"),
            (false, None) => "Not proved yet".to_owned(),
        }
    };
    view! {
        <section class="sheet job-part printer-found" aria-labelledby="printer-found">
            <h2 id="printer-found">{heading}</h2>
            <div aria-live="polite">
                {move || cannot().map(|why| view! { <p class="job-why">{why}</p> })}
                {move || match says() {
                    None => view! {
                        <p>"Print the page, read A–B, A–D and a diagonal, type them here. Until then every sheet says SIZE NOT PROVED"</p>
                    }
                        .into_any(),
                    Some(Err(why)) => view! { <p class="job-why">{capital(&why)}</p> }.into_any(),
                    Some(Ok(says)) => outcome(&says).into_any(),
                }}
            </div>
            <Show when=move || typing.get() && matches!(says(), Some(Ok(_)))>
                <button type="button" id=KEEP class="key" class:main=proves on:click=move |_| hand.keep()>
                    "Keep this proof"
                </button>
            </Show>
        </section>
    }
}

fn outcome(says: &ProofSays) -> impl IntoView + use<> {
    let suspects = says.suspects.clone();
    view! {
        <p class="printer-lead">
            <Fits fits=Some(says.good) />
            <strong>{says.verdict.clone()}</strong>
        </p>
        <ul class="job-says plain">
            <li>{says.lead.clone()}</li>
            {says.lines.iter().map(|l| view! { <li>{l.clone()}</li> }).collect_view()}
        </ul>
        {(!suspects.is_empty())
            .then(|| {
                view! {
                    <h3>"What may have done it"</h3>
                    <ul class="printer-suspects">
                        {suspects
                            .iter()
                            .map(|s| view! { <li>{s.replace('*', "")}</li> })
                            .collect_view()}
                    </ul>
                }
            })}
    }
}

fn capital(text: &str) -> String {
    crate::say::job::capital(text)
}

/// What the kept proof proves, and whether drawings are corrected by it.
#[component]
pub(super) fn Kept(hand: Hand) -> impl IntoView {
    let kept = move || view_of(hand).filter(|v| v.day.is_some());
    let may_correct = Memo::new(move |_| {
        let chosen = corrected(hand);
        let typed = hand.read().typed().is_some();
        let may = kept().is_some_and(|v| matches!(&v.says, Some(Ok(s)) if s.may_correct));
        !typed && (may || chosen)
    });
    let choose = move |v: String| {
        if let Some((id, _)) = hand.printer.get_untracked() {
            let fields = PrinterEdit {
                corrected: Some(v == "corrected"),
                ..PrinterEdit::default()
            };
            hand.set(&id, &fields);
        }
    };
    view! {
        <Show when=move || kept().is_some_and(|v| !v.templates.is_empty())>
            <section class="sheet job-part" aria-labelledby="printer-proves">
                <h2 id="printer-proves">"What it proves"</h2>
                {move || {
                    kept()
                        .and_then(|v| v.questioned.clone())
                        .map(|q| view! { <p class="job-why">{q}</p> })
                }}
                <Show when=move || may_correct.get()>
                    <Choices
                        legend="Sheets are drawn"
                        shown=true
                        choices=vec![
                            Choice::words("plain", "as they are"),
                            Choice::words("corrected", "corrected for this printer"),
                        ]
                        taken=Signal::derive(move || {
                            if corrected(hand) { "corrected" } else { "plain" }.to_owned()
                        })
                        take=choose
                    />
                    <p class="second">"A corrected sheet says so, and fits this printer and paper only"</p>
                </Show>
                <ul class="job-list printer-proves">
                    {move || {
                        kept()
                            .map(|v| v.templates.clone())
                            .unwrap_or_default()
                            .into_iter()
                            .map(|t| {
                                view! {
                                    <li>
                                        <strong>
                                            {t.name}
                                            {if t.proved { "" } else { ": not proved" }}
                                        </strong>
                                        <span class="second">{t.sentence}</span>
                                    </li>
                                }
                            })
                            .collect_view()
                    }}
                </ul>
                <p class="second">
                    "A quarter of how far out a feature may be is left to printer and paper, over the longest way from a cross to the outline. On each finished sheet still read both bars"
                </p>
            </section>
        </Show>
    }
}

fn corrected(hand: Hand) -> bool {
    hand.printer
        .with(|p| p.as_ref().is_some_and(|p| p.1.corrected == Some(true)))
}

/// Where the square codes on sheets lead.
#[component]
pub(super) fn Codes(hand: Hand) -> impl IntoView {
    let address = move || {
        hand.printer
            .with(|p| p.as_ref().and_then(|p| p.1.address.clone()))
            .unwrap_or_default()
    };
    let set = move |text: String| {
        if let Some((id, _)) = hand.printer.get_untracked() {
            let fields = PrinterEdit {
                address: Some(text.trim().to_owned()),
                ..PrinterEdit::default()
            };
            hand.set(&id, &fields);
        }
    };
    view! {
        <Show when=move || hand.printer.with(Option::is_some)>
            <section class="sheet job-part" aria-labelledby="printer-codes">
                <h2 id="printer-codes">"The square code on sheets"</h2>
                <p class="second">
                    "Empty, it holds the letters of the sheet’s reference. With the address this page is opened from, a telephone or tablet that reads the code opens that feature on that piece"
                </p>
                <label class="job-field">
                    <span>"Address"</span>
                    <input
                        id="printer-address"
                        type="url"
                        inputmode="url"
                        autocomplete="off"
                        autocapitalize="off"
                        spellcheck="false"
                        prop:value=address
                        on:change=move |ev| set(event_target_value(&ev))
                    />
                </label>
                <div class="job-row">
                    <button type="button" class="key" on:click=move |_| set(address::of_page())>
                        "Take this page’s own address"
                    </button>
                </div>
            </section>
        </Show>
    }
}
