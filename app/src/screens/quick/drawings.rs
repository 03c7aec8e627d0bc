//! Drawings on the keys of the cards.

use leptos::prelude::*;

fn drawing(inside: impl IntoView + 'static) -> AnyView {
    view! {
        <svg class="drawing" viewBox="0 0 96 64" width="96" height="64" aria-hidden="true">
            {inside}
        </svg>
    }
    .into_any()
}

pub(in crate::screens) fn circle() -> AnyView {
    drawing(
        view! { <circle class="wide" cx="48" cy="32" r="24" /><path class="centre" d="M16 32H80M48 2V62" /> },
    )
}

pub(in crate::screens) fn oval() -> AnyView {
    drawing(
        view! { <ellipse class="wide" cx="48" cy="32" rx="34" ry="22" /><path class="centre" d="M6 32H90M48 4V60" /> },
    )
}

pub(in crate::screens) fn rounded_box() -> AnyView {
    drawing(
        view! { <rect class="wide" x="14" y="12" width="68" height="40" rx="9" /><path class="centre" d="M6 32H90M48 4V60" /> },
    )
}

pub(in crate::screens) fn ring() -> AnyView {
    drawing(view! {
        <circle class="wide" cx="48" cy="32" r="25" /><circle class="wide" cx="48" cy="32" r="14" />
        <path class="centre" d="M16 32H80M48 2V62" />
    })
}

pub(in crate::screens) fn star() -> AnyView {
    drawing(view! {
        <path class="wide" d="M48 5L54.1 23.7H73.7L57.8 35.2L63.9 53.8L48 42.3L32.1 53.8L38.2 35.2L22.3 23.7H41.9Z" />
    })
}

pub(in crate::screens) fn band() -> AnyView {
    drawing(view! {
        <path class="wide" d="M8 40A50 50 0 0 1 88 40L77 50A36 36 0 0 0 19 50Z" />
        <path class="centre" d="M48 6V58" />
    })
}

pub(in crate::screens) fn words() -> AnyView {
    drawing(
        view! { <path class="wide" d="M14 50L28 14L42 50M19 38H37M52 14V50M52 14H64Q74 14 74 23T64 32H52M64 32Q77 32 77 41T64 50H52" /> },
    )
}

pub(in crate::screens) fn strokes() -> AnyView {
    drawing(
        view! { <path class="paint" d="M12 50L28 14L44 50M18 38H38M54 50V14H68A10 10 0 0 1 68 32H54" /><path class="narrow" d="M82 56L90 40M84 44L90 40L89 47" /> },
    )
}

pub(in crate::screens) fn file() -> AnyView {
    drawing(view! {
        <path class="narrow" d="M24 4H60L74 18V60H24Z" /><path class="narrow" d="M60 4V18H74" />
        <path class="wide" d="M34 46C32 30 42 24 48 34S64 40 63 26" />
    })
}

pub(in crate::screens) fn flat() -> AnyView {
    drawing(
        view! { <path class="wide" d="M22 18H90L74 50H6Z" /><ellipse class="paint" cx="48" cy="34" rx="14" ry="7" /> },
    )
}

pub(in crate::screens) fn round() -> AnyView {
    drawing(view! {
        <ellipse class="narrow" cx="48" cy="10" rx="24" ry="6" />
        <path class="wide" d="M24 10V54A24 6 0 0 0 72 54V10" />
        <ellipse class="paint" cx="46" cy="34" rx="11" ry="9" />
    })
}

/// Triangles over a bulge.
pub(in crate::screens) fn scan() -> AnyView {
    drawing(view! {
        <path class="wide" d="M10 56C12 20 32 8 48 8S84 20 86 56" />
        <path class="narrow" d="M14 40L34 14L52 30L30 38ZM34 14L62 10L52 30L74 34L62 10M30 38L52 30L56 52L30 38L22 54M52 30L74 34L56 52L80 54L74 34" />
    })
}

pub(in crate::screens) fn dome() -> AnyView {
    drawing(view! {
        <path class="wide" d="M10 56A38 46 0 0 1 86 56Z" />
        <path class="narrow" d="M14 42Q48 54 82 42M24 26Q48 34 72 26" />
        <ellipse class="paint" cx="52" cy="36" rx="11" ry="8" />
    })
}

pub(in crate::screens) fn tapered() -> AnyView {
    drawing(view! {
        <ellipse class="narrow" cx="48" cy="10" rx="14" ry="4" />
        <path class="wide" d="M34 10L22 54A26 6 0 0 0 74 54L62 10" />
        <ellipse class="paint" cx="46" cy="34" rx="10" ry="8" />
    })
}

fn marks(spot_y: &'static str, lines: &'static str) -> AnyView {
    drawing(view! {
        <path class="dots" d=lines />
        <path class="narrow" d="M18 32H78" />
        <path class="wide" d="M12 32H24M18 26V38M72 32H84M78 26V38" />
        <circle class="spot" cx="46" cy=spot_y r="5" />
        <text class="small" x="6" y="48">"A"</text>
        <text class="small" x="80" y="48">"B"</text>
    })
}

pub(in crate::screens) fn above() -> AnyView {
    marks("11", "M18 32L46 11L78 32")
}

pub(in crate::screens) fn below() -> AnyView {
    marks("53", "M18 32L46 53L78 32")
}
