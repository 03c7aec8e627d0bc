//! Two drawings: where the paint lies against its limit, and the run piece by piece.

use leptos::prelude::*;
use samespot_core::check::Verdict;
use samespot_core::prepare::checks::{FeatureCheck, Judgement};

/// The spot, its limit, what can't be told apart, and where the paint is.
pub(super) fn target(judged: Option<&Judgement>, check: Option<&FeatureCheck>) -> AnyView {
    let Some(check) = check.filter(|c| c.limit.mm() > 0.0) else {
        return ().into_any();
    };
    let limit = check.limit.mm();
    let found = judged.map(|j| (j.found.right.mm(), j.found.up.mm()));
    let reach = found.map_or(0.0, |(x, y)| x.hypot(y)).max(limit * 1.35);
    let k = 92.0 / reach;
    let guard = check.lay_back_guard.mm();
    let inner = (limit - guard).max(0.0) * k;
    let outer = ((limit + guard) * k).min(99.0);
    view! {
        <svg class="target" viewBox="-100 -100 200 200" aria-hidden="true">
            <path class="thin" d="M-98 0H98M0 -98V98" />
            <circle class="wide" cx="0" cy="0" r=format!("{:.1}", limit * k) />
            <circle class="dash" cx="0" cy="0" r=format!("{inner:.1}") />
            <circle class="dash" cx="0" cy="0" r=format!("{outer:.1}") />
            {found.map(|(x, y)| view! {
                <circle class="spot" cx=format!("{:.1}", x * k) cy=format!("{:.1}", -y * k) r="7" />
            })}
        </svg>
    }
    .into_any()
}

/// How far out each piece is, in order.
pub(super) fn run(check: &FeatureCheck) -> AnyView {
    let out: Vec<(u32, f64, bool)> = check
        .run
        .iter()
        .map(|c| {
            let d = c.found.right.mm().hypot(c.found.up.mm());
            (c.number, d, c.found.verdict == Verdict::Within)
        })
        .collect();
    let (limit, guard) = (check.limit.mm(), check.lay_back_guard.mm());
    let top = out
        .iter()
        .map(|o| o.1)
        .fold(limit + guard, f64::max)
        .max(0.1)
        * 1.1;
    let y = |d: f64| 130.0 - d / top * 120.0;
    #[allow(clippy::cast_precision_loss, reason = "a run has a few hundred pieces")]
    let count = out.len().max(2) as f64;
    let step = (560.0 / count).min(60.0);
    let line = |d: f64, class: &'static str| {
        (d > 0.0).then(|| {
            view! { <path class=class d=format!("M30 {0:.1}H{1:.1}", y(d), 40.0 + step * count) /> }
        })
    };
    let dots = out
        .iter()
        .enumerate()
        .map(|(i, (number, d, within))| {
            #[allow(clippy::cast_precision_loss, reason = "as above")]
            let x = 40.0 + step * (i as f64 + 0.5);
            view! {
                <circle class=if *within { "dot" } else { "dot open" } cx=format!("{x:.1}") cy=format!("{:.1}", y(*d)) r="5" />
                <text x=format!("{x:.1}") y="148" text-anchor="middle">{*number}</text>
            }
        })
        .collect_view();
    view! {
        <svg class="run-chart" viewBox="0 0 620 152" role="img" aria-label="How far out each piece is">
            <path class="thin" d=format!("M30 130H{:.1}", 40.0 + step * count) />
            {line(limit, "wide")}
            {line(limit - guard, "dash")}
            {line(limit + guard, "dash")}
            <text x="26" y=format!("{:.1}", y(limit) + 5.0) text-anchor="end">{format!("{limit}")}</text>
            {dots}
        </svg>
    }
    .into_any()
}
