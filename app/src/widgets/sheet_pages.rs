//! Sheets as they are exported, each an image of its own, to fit or at true size.

use crate::ports::files;
use leptos::prelude::*;

/// Addresses of pages that are let go of when they are no longer shown.
#[derive(Clone, PartialEq)]
struct Shown(Vec<String>);

impl Shown {
    fn of(pages: &[String]) -> Self {
        Self(
            pages
                .iter()
                .filter_map(|p| files::address(p.as_bytes(), "image/svg+xml"))
                .collect(),
        )
    }
    fn release(&self) {
        self.0.iter().for_each(|address| files::release(address));
    }
}

/// The pages.
#[component]
pub fn SheetPages(
    /// Each as the SVG that is exported.
    #[prop(into)]
    pages: Signal<Vec<String>>,
    /// What is said under them.
    #[prop(into)]
    under: Signal<String>,
    /// The same in one piece, as SVG, where it takes several sheets.
    #[prop(optional, into)]
    whole: Signal<Option<String>>,
) -> impl IntoView {
    let true_size = RwSignal::new(false);
    let shown = RwSignal::new(Shown(Vec::new()));
    let joined = RwSignal::new(Shown(Vec::new()));
    let show = move |at: RwSignal<Shown>, svgs: &[String]| {
        at.get_untracked().release();
        at.set(Shown::of(svgs));
    };
    Effect::new(move |_| pages.with(|p| show(shown, p)));
    Effect::new(move |_| whole.with(|w| show(joined, w.as_slice())));
    on_cleanup(move || {
        for at in [shown, joined] {
            if let Some(shown) = at.try_get_untracked() {
                shown.release();
            }
        }
    });
    view! {
        <div
            class="preview"
            class:true-size=move || true_size.get()
            class:empty=move || shown.with(|s| s.0.is_empty())
        >
            <div class="pages" tabindex="0" role="group" aria-label="The sheet">
                <For each=move || joined.get().0 key=|address| address.clone() let(address)>
                    <figure class="joined">
                        <img src=address alt="The template in one piece" />
                        <figcaption class="second">"In one piece, its sheets joined; the sheets follow"</figcaption>
                    </figure>
                </For>
                <For each=move || shown.get().0.into_iter().enumerate() key=|p| p.1.clone() let(page)>
                    <img
                        src=page.1.clone()
                        alt=format!("Sheet {} as it is printed", page.0 + 1)
                    />
                </For>
            </div>
            <p class="second under">
                <span>{move || under.get()}</span>
                <button
                    type="button"
                    class="link"
                    aria-pressed=move || if true_size.get() { "true" } else { "false" }
                    on:click=move |_| true_size.update(|t| *t = !*t)
                >
                    {move || if true_size.get() { "Show the whole sheet" } else { "Show at true size" }}
                </button>
            </p>
            {move || {
                true_size
                    .get()
                    .then(|| {
                        view! {
                            <p class="second">
                                "Screens differ: hold a rule to the bar on the sheet. Only the print is to be trusted"
                            </p>
                        }
                    })
            }}
        </div>
    }
}
