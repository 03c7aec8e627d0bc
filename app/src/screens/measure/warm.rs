//! How warm the shop is, where a reading is so long that it counts.

use super::hand::{Hand, Looked};
use crate::say::measure as model;
use leptos::prelude::*;
use samespot_core::job::MeasuringSays;

/// What is written in the field: whole degrees between a frost and a furnace.
fn degrees(text: &str) -> Option<i16> {
    let text = text.trim().trim_end_matches("°C").trim();
    let text = text.replace(['−', '–'], "-");
    text.parse().ok().filter(|c| (-20..=50).contains(c))
}

/// The field for it.
#[component]
pub(super) fn Warm(hand: Hand) -> impl IntoView {
    let asked = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => walk.warm.map(|w| (walk.casting.clone(), w.noted)),
        _ => None,
    });
    let noted = move || asked.get().and_then(|a| a.1);
    let done = move |ev: leptos::ev::Event| {
        let text = event_target_value(&ev);
        let Some((casting, before)) = asked.get_untracked() else {
            return;
        };
        match degrees(&text) {
            Some(celsius) if before != Some(celsius) => {
                let says = MeasuringSays::ShopAt { celsius };
                hand.session.say(&[model::says(&casting, says)]);
            }
            Some(_) => {}
            None if text.trim().is_empty() => {}
            None => hand.session.notice(
                "Whole degrees Celsius, as 24: what the thermometer in the shop says",
                true,
            ),
        }
    };
    view! {
        <Show when=move || asked.with(Option::is_some)>
            <label class="job-field short">
                <span>"The shop, °C"</span>
                <input id="measure-warm" inputmode="text" autocomplete="off" placeholder="20"
                    prop:value=move || noted().map(|c| c.to_string()).unwrap_or_default() on:change=done />
            </label>
        </Show>
    }
}

#[cfg(test)]
mod tests {
    use super::degrees;

    #[test]
    fn degrees_are_whole_and_such_as_a_shop_has() {
        assert_eq!(degrees(" 24 °C"), Some(24));
        assert_eq!(degrees("−3"), Some(-3));
        for none in ["", "warm", "24.5", "75", "-40"] {
            assert_eq!(degrees(none), None, "{none}");
        }
    }
}
