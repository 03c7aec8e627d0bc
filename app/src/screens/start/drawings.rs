//! Line drawings of what each way leads to, each with its one spot.

use leptos::prelude::*;

/// A template on two marks, the tape from one to the other.
#[component]
pub fn QuickDrawing() -> impl IntoView {
    view! {
        <svg class="drawing" viewBox="0 0 330 190" aria-hidden="true">
            <path class="wide" d="M18 172C34 62 96 14 168 14C244 14 300 66 316 172" />
            <path class="under" d="M68 138L262 138" />
            <path class="dots" d="M68 138Q165 120 262 138" />
            <path class="narrow" d="M68 138L150 76M262 138L150 76" />
            <ellipse class="paint" cx="150" cy="72" rx="44" ry="30" />
            <path class="centre" d="M92 72H208M150 30V116" />
            <circle class="spot" cx="150" cy="72" r="6.5" />
            <path class="wide" d="M58 138H78M68 128V148M252 138H272M262 128V148" />
            <g class="letter">
                <rect x="26" y="144" width="26" height="26" /><text x="39" y="163">"A"</text>
                <rect x="278" y="144" width="26" height="26" /><text x="291" y="163">"B"</text>
            </g>
            <g class="figure"><text x="165" y="160">"A – B 312"</text></g>
        </svg>
    }
}

/// A stencil with its crosses.
#[component]
pub fn Printing() -> impl IntoView {
    view! {
        <svg class="drawing" viewBox="0 0 190 120" aria-hidden="true">
            <path class="wide" d="M22 8H150L168 26V112H22Z" />
            <path class="wide" d="M150 8V26H168" />
            <ellipse class="paint" cx="95" cy="62" rx="30" ry="20" />
            <path class="centre" d="M54 62H136M95 32V92" />
            <circle class="spot" cx="95" cy="62" r="5" />
            <circle class="narrow" cx="44" cy="94" r="5" /><path class="narrow" d="M35 94H53M44 85V103" />
            <circle class="narrow" cx="148" cy="94" r="5" /><path class="narrow" d="M139 94H157M148 85V103" />
        </svg>
    }
}

/// Two swings crossing on a hole.
#[component]
pub fn Drilling() -> impl IntoView {
    view! {
        <svg class="drawing" viewBox="0 0 190 120" aria-hidden="true">
            <path class="narrow" d="M28 26L112 62M44 108L112 62" />
            <path class="wide" d="M118 42Q118 64 106 82M92 46Q112 54 126 72" />
            <path class="centre" d="M82 62H146M112 32V94" />
            <circle class="narrow" cx="112" cy="62" r="18" />
            <circle class="spot" cx="112" cy="62" r="5" />
            <path class="wide" d="M19 26H37M28 17V35M35 108H53M44 99V117" />
        </svg>
    }
}

/// A spot in its zone, off to one side.
#[component]
pub fn Checking() -> impl IntoView {
    view! {
        <svg class="drawing" viewBox="0 0 190 120" aria-hidden="true">
            <circle class="wide" cx="95" cy="60" r="48" />
            <path class="centre" d="M32 60H158M95 2V118" />
            <circle class="dash" cx="80" cy="48" r="14" />
            <path class="narrow" d="M80 48V60M80 48H95" />
            <circle class="spot" cx="80" cy="48" r="5" />
        </svg>
    }
}

/// A drawing with three marks.
#[component]
pub fn SettingUp() -> impl IntoView {
    view! {
        <svg class="drawing" viewBox="0 0 190 120" aria-hidden="true">
            <path class="wide" d="M34 112C30 56 56 12 96 12C136 12 160 52 156 112" />
            <path class="dots" d="M60 86Q95 76 132 86M60 86Q66 50 98 34Q126 50 132 86" />
            <circle class="paint" cx="96" cy="66" r="14" />
            <circle class="spot" cx="96" cy="66" r="5" />
            <path class="wide" d="M52 86H68M60 78V94M124 86H140M132 78V94M90 34H106M98 26V42" />
        </svg>
    }
}
