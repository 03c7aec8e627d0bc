//! How far off at worst, of what it is made, where the crosses come, and what nothing checks.

use crate::route::Route;
use crate::say::numbers::{share, tenth};
use crate::screens::press::{Looked, Press};
use crate::state::session;
use leptos::prelude::*;
use samespot_core::answer::TemplateView;
use samespot_core::job::Job;
use samespot_core::template::TermKind;
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

/// What makes the largest part of an error less, and where that is done, if on a screen.
fn helps(job: &Job, view: &TemplateView) -> Option<(&'static str, Option<(&'static str, Route)>)> {
    let largest = &view.terms.first()?.name;
    let is = |kind: TermKind| kind.name() == largest;
    let id = || job.id.clone();
    let set_out = || {
        let face = job.features.get(&view.feature).and_then(|f| f.face.clone());
        let to = Route::SetOut { job: id(), face };
        Some(("To the readings of the pattern", to))
    };
    Some(if is(TermKind::Pattern) {
        let what = "Read it on the pattern again, with a surer tape, or to one more mark: every piece gains by it";
        (what, set_out())
    } else if is(TermKind::Measuring) {
        let to = Route::Measure {
            job: id(),
            piece: Some(view.piece.clone()),
            casting: None,
        };
        (
            "Read more on this casting, or with a surer tape",
            Some(("Measure this casting", to)),
        )
    } else if is(TermKind::Form) {
        ("Measure again how round the face is", set_out())
    } else if is(TermKind::Printing) {
        let to = Route::Printer { job: id() };
        (
            "Prove the printer: what is proved counts for less",
            Some(("Printer check", to)),
        )
    } else if is(TermKind::Flattening) {
        (
            "Paper lies no closer on this face: other ways of making it stand below",
            None,
        )
    } else if is(TermKind::LayingOn) {
        ("Marks further apart hold the sheet better", None)
    } else if is(TermKind::Marking) {
        (
            "A finer marker: a knife, or a sharper pen along the edge",
            None,
        )
    } else {
        return None;
    })
}

#[component]
fn Panel(view: Arc<TemplateView>) -> impl IntoView {
    let largest = view.terms.first().map(|t| t.size).unwrap_or_default();
    let session = session();
    // A quick template says more of it than that.
    let more = (!view.fits && view.tighter.is_none())
        .then(|| {
            session
                .book
                .with_untracked(|b| helps(&b.as_ref()?.job, &view))
        })
        .flatten();
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
        {more
            .map(|(what, to)| {
                view! {
                    <p class="helps">
                        {what}
                        {to.map(|(words, to)| view! { <a class="link" href=to.address()>{words}</a> })}
                    </p>
                }
            })}
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
