//! What is known of what a screen shows: nothing yet, all of it, or why nothing can be.

use crate::say;
use leptos::prelude::*;
use std::sync::Arc;

/// What is known.
#[derive(Debug, Clone, PartialEq)]
pub enum Looked<V> {
    /// Not yet.
    Working,
    /// This.
    View(Arc<V>),
    /// Nothing, and why.
    Cannot(String),
}

impl<V> Looked<V> {
    /// What is known, if it is.
    #[must_use]
    pub fn view(self) -> Option<Arc<V>> {
        match self {
            Self::View(view) => Some(view),
            Self::Working | Self::Cannot(_) => None,
        }
    }
}

/// What stands in a screen's place while nothing is known, and where nothing can be.
#[component]
pub fn Until<V: Send + Sync + 'static>(
    /// What is known.
    looked: RwSignal<Looked<V>>,
    /// What is being done meanwhile.
    working: &'static str,
    /// What is not there.
    nothing: &'static str,
    /// Where what is missing is said, and the words of the way there.
    #[prop(optional, into)]
    then: Option<Signal<Option<(String, &'static str)>>>,
) -> impl IntoView {
    let works = Memo::new(move |_| looked.with(|l| matches!(l, Looked::Working)));
    let cannot = move || {
        looked.with(|l| match l {
            Looked::Cannot(why) => Some(say::job::capital(why)),
            _ => None,
        })
    };
    view! {
        <Show when=move || works.get()>
            <p class="waiting" role="status">{working}</p>
        </Show>
        {move || {
            cannot()
                .map(|why| {
                    view! {
                        <section class="absent sheet">
                            <h1>{nothing}</h1>
                            <p>{why}</p>
                            <div class="actions">
                                {then
                                    .and_then(|t| t.get())
                                    .map(|(there, words)| view! { <a class="key main" href=there>{words}</a> })}
                                <a class="key" href="#/">"To the start page"</a>
                            </div>
                        </section>
                    }
                })
        }}
    }
}
