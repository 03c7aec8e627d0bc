//! The run so far of the feature in hand: three charts, and what they say.

use super::{Hand, picture};
use crate::say::job::capital;
use crate::say::numbers::tenth;
use leptos::prelude::*;
use samespot_core::check::Chart;
use samespot_core::prepare::checks::FeatureCheck;
use samespot_core::prepare::run_checks::RunOrder;
use samespot_core::units::Length;

/// The run so far.
#[component]
pub(super) fn RunSoFar(hand: Hand) -> impl IntoView {
    let check = Memo::new(move |_| hand.check().filter(|c| c.run.checked.len() > 1));
    view! {
        {move || check.get().map(|c| view! {
            <div class="checks-run">
                <h3>"The run so far"</h3>
                {c.run.drift.clone().map(|d| view! { <p class="checks-cannot">{d}</p> })}
                <ul>{c.run.says.iter().map(|s| view! { <li>{s.clone()}</li> }).collect_view()}</ul>
                <h4>"How far out"</h4>
                {picture::run(&c)}
                <p class="second">"Solid: the limit. Dashed: within for certain below, outside for certain above"</p>
                <Sides check=c />
            </div>
        })}
    }
}

/// Left and right, up and down, and what both of them are in the order of.
#[component]
fn Sides(check: FeatureCheck) -> impl IntoView {
    let order = match check.run.order {
        RunOrder::Pulls => "Pieces stand in the order in which their castings were pulled",
        RunOrder::Pieces => "Pieces stand in the order of their numbers",
    };
    let divides: Vec<String> = (check.run.divides.iter())
        .map(|d| format!("Upright line, or the pieces after it: {}", d.says))
        .collect();
    let one = |chart: &Chart, up: bool| {
        let next = chart.range_limit.map(|limit| {
            let mm = |v: f64| tenth(Length::from_mm(v));
            format!(
                "From one to the next it changes by {} mm on the mean; more than {} is unusual",
                mm(chart.moving_range),
                mm(limit)
            )
        });
        let title = if up { "up and down" } else { "left and right" };
        view! {
            <h4>{capital(title)}</h4>
            {picture::sideways(&check, chart, up)}
            <p class="second">{next}</p>
        }
    };
    view! {
        {check.run.charts.as_ref().map(|(across, up)| view! { {one(across, false)} {one(up, true)} })}
        <p class="second">"Dots and dashes: the middle of the run. Dashed: what it does by itself; a piece beyond has a cause of its own"</p>
        <p class="second">{order}</p>
        {divides.into_iter().map(|d| view! { <p class="second">{d}</p> }).collect_view()}
    }
}
