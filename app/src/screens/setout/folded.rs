//! A part of the screen that not every design wants: a line to tap, open where the design has something
//! of it.

use leptos::prelude::*;

/// A part with its name, which opens it.
#[component]
pub(super) fn Folded(
    /// Of its name, in the page.
    id: &'static str,
    name: &'static str,
    class: &'static str,
    /// The design has something of it.
    #[prop(optional, into)]
    used: Signal<bool>,
    children: Children,
) -> impl IntoView {
    // Opened by what comes; what somebody opened stays open.
    let used = Memo::new(move |_| used.get());
    view! {
        <section class=class aria-labelledby=id>
            <details class="setout-folded" open=move || used.get()>
                <summary><h2 id=id>{name}</h2></summary>
                {children()}
            </details>
        </section>
    }
}
