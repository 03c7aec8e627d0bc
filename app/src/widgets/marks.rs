//! Small drawings: the sign of the tool, and a verdict drawn as what it means.

use leptos::prelude::*;

/// Two swings that cross on the spot.
#[component]
pub fn Sign() -> impl IntoView {
    view! {
        <svg class="sign" viewBox="0 0 32 28" width="32" height="28" aria-hidden="true">
            <path class="wide" d="M3 25C4 14 9 6 21 4M29 25C28 14 23 6 11 4" />
            <circle class="spot" cx="16" cy="6.5" r="4.6" />
        </svg>
    }
}

/// Inside what is allowed: a ring with the spot in it; outside: an inked square, the spot thrown
/// out of its ring; not known: a dotted ring.
#[component]
pub fn Fits(
    /// Whether it fits; nothing where it isn't known.
    fits: Option<bool>,
) -> impl IntoView {
    match fits {
        Some(true) => view! {
            <svg class="fits" viewBox="0 0 22 22" width="18" height="18" aria-hidden="true">
                <circle class="wide" cx="11" cy="11" r="8" />
                <circle class="ink" cx="11" cy="11" r="3.4" />
            </svg>
        }
        .into_any(),
        Some(false) => view! {
            <svg class="fits" viewBox="0 0 22 22" width="18" height="18" aria-hidden="true">
                <rect class="ink" x="1" y="1" width="20" height="20" />
                <circle class="paper-line" cx="9" cy="13" r="4.6" />
                <circle class="paper" cx="16" cy="6" r="2.8" />
            </svg>
        }
        .into_any(),
        None => view! {
            <svg class="fits" viewBox="0 0 22 22" width="18" height="18" aria-hidden="true">
                <circle class="dots" cx="11" cy="11" r="8" />
            </svg>
        }
        .into_any(),
    }
}

/// A copy: one sheet on another.
#[component]
pub fn Sheets() -> impl IntoView {
    view! {
        <svg class="sheets" viewBox="0 0 40 40" width="40" height="40" aria-hidden="true">
            <path class="dash" d="M14 4H36V32" />
            <rect class="wide" x="4" y="10" width="22" height="26" />
            <path class="narrow" d="M9 18H21M9 23H21M9 28H17" />
        </svg>
    }
}
