//! How far off at worst, of what it is made, where the crosses come, and what nothing checks.

use crate::say::numbers::{share, tenth};
use crate::screens::press::{Looked, Press};
use leptos::prelude::*;
use samespot_core::answer::TemplateView;
use std::sync::Arc;

/// The panel.
#[component]
pub fn ErrorPanel(press: Press) -> impl IntoView {
    view! {
        <div class="errors">
            {move || match press.looked.get() {
                Looked::View(view) => view! { <Panel view=view /> }.into_any(),
                Looked::Making => view! { <p class="second">"Reckoning…"</p> }.into_any(),
                Looked::Cannot(_) | Looked::Nothing => {
                    view! {
                        <p class="second">
                            "Nothing is lost: as soon as what is missing is entered, the template stands here"
                        </p>
                    }
                        .into_any()
                }
            }}
        </div>
    }
}

/// How the worst error stands to what is allowed.
fn verdict(view: &TemplateView) -> String {
    if view.fits {
        format!("of {} mm allowed", tenth(view.allowed))
    } else {
        let largest = view
            .terms
            .first()
            .map(|t| t.name.clone())
            .unwrap_or_default();
        format!(
            "more than the {} mm allowed; the largest part is {largest}",
            tenth(view.allowed)
        )
    }
}

#[component]
fn Panel(view: Arc<TemplateView>) -> impl IntoView {
    let largest = view.terms.first().map(|t| t.size).unwrap_or_default();
    let bars = view
        .terms
        .iter()
        .enumerate()
        .map(|(n, term)| {
            let width = format!("{:.1}%", share(term.size, largest) * 100.0);
            view! {
                <li>
                    <span>{term.name.clone()}</span>
                    <span class="bar">
                        <i class:largest=n == 0 style:width=width></i>
                    </span>
                    <span class="figure">{tenth(term.size)}</span>
                </li>
            }
        })
        .collect_view();
    let crosses = view
        .crosses
        .iter()
        .map(|cross| {
            view! {
                <li>
                    <b class="letter-box">{cross.letter.clone()}</b>
                    <span>{cross.off_by.clone()}</span>
                    <span class="second">{cross.found.clone()}</span>
                </li>
            }
        })
        .collect_view();
    let warnings = view
        .warnings
        .iter()
        .map(|w| view! { <li>{w.clone()}</li> })
        .collect_view();
    view! {
        <p class="second">"Worst error, 95 of 100 times"</p>
        <p class="hero">
            <span class="figure">{tenth(view.worst)}</span>
            <span class="unit">"mm"</span>
        </p>
        <p class="verdict" class:outside=!view.fits>{verdict(&view)}</p>
        {view.tighter.clone().map(|says| view! { <p class="instead">{says}</p> })}
        <ul class="bars" aria-label="What the worst error is made of, mm">{bars}</ul>
        {view.pair.clone().map(|pair| view! {
            <p class="instead" class:pair-over=!pair.fits>
                {if pair.fits { pair.says } else { format!("{}. More than was asked: read more on this casting", pair.says) }}
            </p>
        })}
        {(!view.instead_of_nominal.is_empty())
            .then(|| view! { <p class="instead">{crate::say::job::capital(&view.instead_of_nominal)}</p> })}
        {(!view.crosses.is_empty())
            .then(|| {
                view! {
                    <h2>"Crosses"</h2>
                    <ul class="crosses">{crosses}</ul>
                }
            })}
        {(!view.warnings.is_empty())
            .then(|| {
                view! {
                    <h2>"Worth knowing"</h2>
                    <ul class="warnings">{warnings}</ul>
                }
            })}
        <p class="second reference">
            "Reference " <span class="figure">{view.reference.clone()}</span>
        </p>
    }
}
