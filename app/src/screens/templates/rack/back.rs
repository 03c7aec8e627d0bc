//! The template's own line laid back on something that is right, and words for what became of it.

use super::happened;
use crate::state::session;
use crate::widgets::typing::{TypedLength, Typing};
use leptos::prelude::*;
use samespot_core::answer::Hanging;
use samespot_core::job::{LayBackRead, TemplateId, TemplateSays};
use samespot_core::prepare::rack::Size;
use samespot_core::prepare::template_back::judge_read;
use samespot_core::units::Length;

const WHERE: [(&str, &str); 4] = [
    ("back-top", "At 12 o’clock"),
    ("back-right", "At 3 o’clock"),
    ("back-bottom", "At 6 o’clock"),
    ("back-left", "At 9 o’clock"),
];

fn read(fields: [Typing; 4]) -> Option<LayBackRead> {
    let [top, right, bottom, left] = fields.map(Typing::entry);
    Some(LayBackRead {
        top: top?,
        right: right?,
        bottom: bottom?,
        left: left?,
    })
}

/// Four gaps of one template.
#[component]
pub fn LaidBack(one: Hanging, room: Length, close: Callback<()>) -> impl IntoView {
    let session = session();
    let on = RwSignal::new("the piece that was approved".to_owned());
    let fields = [(); 4].map(|()| Typing::either_side(None, "inside its line", "outside its line"));
    let found = Memo::new(move |_| read(fields).map(|r| judge_read(&r, room)));
    let id = StoredValue::new(one.id);
    let keep = move |_| {
        if let Some(gaps) = untrack(|| read(fields)) {
            let says = TemplateSays::LaidBack {
                on: on.get_untracked().trim().to_owned(),
                gaps: Box::new(gaps),
                room,
            };
            happened(session, &id.get_value(), says);
            close.run(());
        }
    };
    view! {
        <div class="rack-distances">
            <p class="second">
                "Lay it on something that is right, by its own marks: a fresh print proved with a rule, or the piece that was approved. Read where the line underneath lies against the template’s own line"
            </p>
            <label class="job-field">
                <span>"Laid on"</span>
                <input
                    id="back-on"
                    type="text"
                    autocomplete="off"
                    prop:value=move || on.get()
                    on:input=move |ev| on.set(event_target_value(&ev))
                />
            </label>
            <div class="printer-fields">
                {WHERE
                    .into_iter()
                    .zip(fields)
                    .map(|((id, label), typed)| view! { <TypedLength id=id label=label typing=typed /> })
                    .collect_view()}
            </div>
            <div aria-live="polite">
                {move || {
                    found
                        .get()
                        .map(|says| {
                            let lead = match says.size {
                                Size::Proved => "Its line is right",
                                Size::NotProved => "Can’t tell with this",
                                Size::Wrong => "Its line is off: make another, or true it",
                            };
                            view! {
                                <p>
                                    <strong>{lead}</strong>
                                </p>
                                {says.lines.into_iter().map(|l| view! { <p class="second">{l}</p> }).collect_view()}
                            }
                        })
                }}
            </div>
            <div class="job-row">
                <Show when=move || found.with(Option::is_some)>
                    <button type="button" id="back-keep" class="key main" on:click=keep>
                        "Keep this lay-back"
                    </button>
                </Show>
                <button type="button" class="key" on:click=move |_| close.run(())>
                    "Not now"
                </button>
            </div>
        </div>
    }
}

/// What is asked before a template is put aside.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Aside {
    /// It is worn or damaged.
    Worn,
    /// It is not used any more.
    Retired,
}

/// The reason, asked for once and never demanded.
#[component]
pub fn WhyAside(id: TemplateId, aside: Aside, close: Callback<()>) -> impl IntoView {
    let session = session();
    let why = RwSignal::new(String::new());
    let (asks, hint, word) = match aside {
        Aside::Worn => (
            "What is worn or damaged?",
            "the edge at the top is frayed",
            "Worn: keep it",
        ),
        Aside::Retired => (
            "Why is it retired?",
            "replaced by number 4",
            "Retire it now",
        ),
    };
    let id = StoredValue::new(id);
    let keep = move |_| {
        let why = why.get_untracked().trim().to_owned();
        let says = match aside {
            Aside::Worn => TemplateSays::Worn { how: why },
            Aside::Retired => TemplateSays::Retired { why },
        };
        happened(session, &id.get_value(), says);
        close.run(());
    };
    view! {
        <div class="rack-distances">
            <label class="job-field">
                <span>{asks}</span>
                <input
                    id="rack-why"
                    type="text"
                    autocomplete="off"
                    placeholder=hint
                    on:input=move |ev| why.set(event_target_value(&ev))
                />
            </label>
            <div class="job-row">
                <button type="button" id="rack-aside" class="key main" on:click=keep>
                    {word}
                </button>
                <button type="button" class="key" on:click=move |_| close.run(())>
                    "Not now"
                </button>
            </div>
        </div>
    }
}
