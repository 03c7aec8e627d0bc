//! Two drawings: where the paint lies against its limit, and the run piece by piece.

use leptos::prelude::*;
use samespot_core::check::{Chart, Verdict};
use samespot_core::job::Found;
use samespot_core::prepare::checks::FeatureCheck;

/// The spot, its limit, what can't be told apart, and where the paint is.
pub(super) fn target(found: Option<Found>, check: Option<&FeatureCheck>) -> AnyView {
    let Some(check) = check.filter(|c| c.limit.mm() > 0.0) else {
        return ().into_any();
    };
    let limit = check.limit.mm();
    let found = found.map(|f| (f.right.mm(), f.up.mm()));
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

/// One value a piece, in the order of the run.
struct Series<'a> {
    /// What it is, for those who don't see it.
    label: &'static str,
    values: Vec<f64>,
    check: &'a FeatureCheck,
    /// From here to there, mm.
    reach: (f64, f64),
}

const WIDE: f64 = 560.0;
const LEFT: f64 = 58.0;

impl Series<'_> {
    fn step(&self) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "a run has a few hundred pieces")]
        let count = self.values.len().max(2) as f64;
        (WIDE / count).min(60.0)
    }

    fn x(&self, k: usize) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "as above")]
        let k = k as f64;
        LEFT + self.step() * (k + 0.5)
    }

    fn y(&self, value: f64) -> f64 {
        130.0 - (value - self.reach.0) / (self.reach.1 - self.reach.0) * 120.0
    }

    fn line(&self, value: f64, class: &'static str) -> Option<AnyView> {
        let seen = value > self.reach.0 && value < self.reach.1;
        let end = self.x(self.values.len().saturating_sub(1)) + self.step() / 2.0;
        seen.then(|| {
            let d = format!("M{:.1} {:.1}H{end:.1}", LEFT - 8.0, self.y(value));
            view! { <path class=class d=d /> }.into_any()
        })
    }

    /// An upright line where something happened that parts the run in one place.
    fn divides(&self) -> AnyView {
        let lines = self.check.run.divides.iter().filter_map(|d| {
            let at = d.after.iter().position(|a| *a)?;
            let parts = at > 0 && d.after.iter().skip(at).all(|a| *a);
            parts.then(|| {
                let x = self.x(at) - self.step() / 2.0;
                view! { <path class="divide" d=format!("M{x:.1} 6V134") /> }
            })
        });
        lines.collect_view().into_any()
    }

    fn view(&self, lines: AnyView, marked: (f64, String)) -> AnyView {
        let dots = self
            .check
            .run
            .checked
            .iter()
            .zip(&self.values)
            .enumerate()
            .map(|(k, (c, value))| {
                let class = if c.found.verdict == Verdict::Within {
                    "dot"
                } else {
                    "dot open"
                };
                let x = format!("{:.1}", self.x(k));
                view! {
                    <circle class=class cx=x.clone() cy=format!("{:.1}", self.y(*value)) r="5" />
                    <text x=x y="148" text-anchor="middle">{c.number}</text>
                }
            })
            .collect_view();
        view! {
            <svg class="run-chart" viewBox="0 0 640 152" role="img" aria-label=self.label>
                {lines}
                {self.divides()}
                <text x=format!("{:.1}", LEFT - 12.0) y=format!("{:.1}", self.y(marked.0) + 5.0) text-anchor="end">{marked.1}</text>
                {dots}
            </svg>
        }
        .into_any()
    }
}

/// How far out each piece is, in order.
pub(super) fn run(check: &FeatureCheck) -> AnyView {
    let values: Vec<f64> = (check.run.checked.iter())
        .map(|c| c.found.right.mm().hypot(c.found.up.mm()))
        .collect();
    let (limit, guard) = (check.limit.mm(), check.lay_back_guard.mm());
    let top = values
        .iter()
        .copied()
        .fold(limit + guard, f64::max)
        .max(0.1)
        * 1.1;
    let series = Series {
        label: "How far out each piece is",
        values,
        check,
        reach: (-0.001, top),
    };
    let lines = view! {
        {series.line(0.0, "thin")}
        {series.line(limit, "wide")}
        {series.line(limit - guard, "dash")}
        {series.line(limit + guard, "dash")}
    };
    series.view(lines.into_any(), (limit, format!("{limit}")))
}

/// How far to one side each piece is, with what the run does by itself.
pub(super) fn sideways(check: &FeatureCheck, chart: &Chart, up: bool) -> AnyView {
    let values: Vec<f64> = (check.run.checked.iter())
        .map(|c| {
            if up {
                c.found.up.mm()
            } else {
                c.found.right.mm()
            }
        })
        .collect();
    let (low, high) = chart.limits.unwrap_or((chart.centre, chart.centre));
    let least = values.iter().copied().fold(low.min(0.0), f64::min);
    let most = values.iter().copied().fold(high.max(0.0), f64::max);
    let room = ((most - least) * 0.1).max(0.1);
    let series = Series {
        label: if up { "Up and down" } else { "Left and right" },
        values,
        check,
        reach: (least - room, most + room),
    };
    let lines = view! {
        {series.line(0.0, "thin")}
        {series.line(chart.centre, "centre")}
        {chart.limits.map(|(low, high)| view! {
            {series.line(low, "dash")}
            {series.line(high, "dash")}
        })}
    };
    series.view(lines.into_any(), (0.0, "spot".to_owned()))
}
