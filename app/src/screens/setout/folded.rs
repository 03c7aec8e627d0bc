//! A part of the screen that not every design wants: a line to tap where the page is narrow, open where
//! there is room.

use crate::ports::settings;
use leptos::prelude::*;

/// A part with its name, which opens it.
#[component]
pub(super) fn Folded(
    /// Of its name, in the page.
    id: &'static str,
    name: &'static str,
    class: &'static str,
    children: Children,
) -> impl IntoView {
    let open = !settings::is_narrow();
    view! {
        <section class=class aria-labelledby=id>
            <details class="setout-folded" open=open>
                <summary><h2 id=id>{name}</h2></summary>
                {children()}
            </details>
        </section>
    }
}
