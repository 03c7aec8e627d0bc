//! What differs over the run, told from slips: a casting from its sisters, a section at its seam, a
//! bent hook.

use crate::route::Route;
use crate::state::{Session, session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::CastingId;
use samespot_core::prepare::walk::{Differs, Pooled};
use samespot_core::run::casting_name;

/// What it is, in a word.
const fn word(differs: Differs) -> &'static str {
    match differs {
        Differs::Hook => "A tape",
        Differs::Casting => "A casting",
        Differs::Section => "A section of the mould",
    }
}

/// What of it is said at the head; nothing while nothing differs.
#[component]
pub(super) fn Differ() -> impl IntoView {
    let session = session();
    let found = RwSignal::new(Vec::<Pooled>::new());
    let asked = StoredValue::new(0_u32);
    Effect::new(move |_| {
        let Some(book) = session.book.get() else {
            return;
        };
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        spawn_local(async move {
            let ask = Ask::Pooled {
                job: book.id().clone(),
            };
            // A run that says nothing together leaves the screen as it was.
            if let Ok((Reply::Pooled(all), _)) = Session::ask(book, ask).await
                && asked.try_get_value() == Some(number)
            {
                let _ = found.try_set(all);
            }
        });
    });
    let measure = move |casting: CastingId| {
        let job = session.route.with(|r| r.job().cloned())?;
        let name = session
            .book
            .with(|b| b.as_ref().map(|b| casting_name(&b.job, &casting)))?;
        let to = Route::Measure {
            job,
            piece: None,
            casting: Some(casting),
        };
        Some(view! { <a class="key" href=to.address()>{format!("Look at {name}")}</a> })
    };
    view! {
        <Show when=move || found.with(|f| !f.is_empty())>
            <section class="sheet job-part differ" aria-labelledby="job-differ">
                <h2 id="job-differ">"What differs over the run"</h2>
                {move || found.get().into_iter().map(|p| view! {
                    <details class="job-more">
                        <summary>
                            <span class="second">{word(p.differs)}": "</span>
                            <strong>{p.says}</strong>
                        </summary>
                        <p class="second">{p.how}</p>
                        <div class="job-row">
                            {p.castings.into_iter().map(measure).collect_view()}
                        </div>
                    </details>
                }).collect_view()}
            </section>
        </Show>
    }
}
