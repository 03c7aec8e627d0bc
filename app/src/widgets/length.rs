//! A field for a length: takes any unit and fractions, says what it understood before anything is
//! kept, asks where it could mean two things, and never loses what was typed.

use leptos::prelude::*;
use samespot_core::job::Entry;
use samespot_core::units::{
    DecimalStyle, FieldOptions, Typed, TypedLength, UnitRule, parse_length, words,
};

/// What a field understood.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// Nothing stands in it.
    Nothing,
    /// A length, to be kept.
    Length(TypedLength),
    /// It could be one of several.
    Ask {
        /// What is asked.
        question: String,
        /// What may have been meant.
        readings: Vec<TypedLength>,
    },
    /// Several stand in it.
    List(Vec<String>),
    /// It is no length; why, and what to do.
    Refused(String),
}

impl Heard {
    /// What a text means in a field, with the answer that was given where it had to be asked.
    #[must_use]
    pub fn of(text: &str, picked: Option<usize>, options: &FieldOptions) -> Self {
        match parse_length(text, options) {
            Typed::NotMeasured => Self::Nothing,
            Typed::Understood(length) => Self::Length(length),
            Typed::Ask(ask) => match picked.and_then(|n| ask.readings.get(n)) {
                Some(length) => Self::Length(length.clone()),
                None => Self::Ask {
                    question: words::ask(ask.question).to_owned(),
                    readings: ask.readings,
                },
            },
            Typed::List(items) => Self::List(
                items
                    .into_iter()
                    .filter(|i| matches!(i.typed, Typed::Understood(_) | Typed::Ask(_)))
                    .map(|i| i.raw)
                    .collect(),
            ),
            Typed::Refused(refused) => Self::Refused(words::say(&refused)),
        }
    }

    /// The entry it makes.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let Self::Length(length) = self else {
            return None;
        };
        Some(Entry {
            typed: length.raw.clone(),
            mm: length.mm,
            unit: Some(length.unit.symbol().to_owned()),
            rule: serde_json::to_string(&length.rule).ok(),
        })
    }
}

/// Somebody typed a unit of their own: the field's would only contradict it.
fn own_unit(heard: &Heard) -> bool {
    match heard {
        Heard::Nothing => false,
        Heard::Length(length) => length.rule.unit != UnitRule::FieldUnit,
        Heard::Ask { .. } | Heard::List(_) | Heard::Refused(_) => true,
    }
}

/// Signs that a tablet's number keys lack.
const SIGNS: [(&str, &str); 6] = [
    ("/", "/"),
    ("½", "½"),
    ("′", "'"),
    ("″", "\""),
    ("cm", " cm"),
    ("in", " in"),
];

/// The field.
#[component]
pub fn LengthField(
    /// Its name in the page.
    id: &'static str,
    /// What is measured.
    #[prop(into)]
    label: Signal<String>,
    /// What stands in it.
    #[prop(into)]
    text: Signal<String>,
    /// The answer given to its question.
    #[prop(into)]
    picked: Signal<Option<usize>>,
    /// What it takes.
    #[prop(into)]
    options: Signal<FieldOptions>,
    /// Somebody typed.
    #[prop(into)]
    on_text: Callback<String>,
    /// Somebody answered.
    #[prop(into)]
    on_pick: Callback<usize>,
    /// Somebody went on: what is understood may be kept. Says whether by the Enter key.
    #[prop(into)]
    on_done: Callback<bool>,
) -> impl IntoView {
    let heard = Memo::new(move |_| Heard::of(&text.get(), picked.get(), &options.get()));
    let refused = move || matches!(heard.get(), Heard::Refused(_));
    let echo_id = format!("{id}-understood");
    view! {
        <div class="length" class:refused=refused>
            <label for=id>{move || label.get()}</label>
            <div class="box">
                <input
                    id=id
                    type="text"
                    inputmode="decimal"
                    enterkeyhint="next"
                    autocomplete="off"
                    autocapitalize="off"
                    spellcheck="false"
                    aria-describedby=echo_id.clone()
                    aria-invalid=move || if refused() { "true" } else { "false" }
                    prop:value=move || text.get()
                    on:input=move |e| { let _ = on_text.try_run(event_target_value(&e)); }
                    on:blur=move |_| { let _ = on_done.try_run(false); }
                    on:keydown=move |e| {
                        if e.key() == "Enter" {
                            e.prevent_default();
                            let _ = on_done.try_run(true);
                        }
                    }
                />
                <span class="unit" aria-hidden="true">
                    {move || if own_unit(&heard.get()) { "" } else { "mm" }}
                </span>
            </div>
            <div class="signs" aria-label="Signs">
                {SIGNS
                    .map(|(shown, typed)| {
                        view! {
                            <button
                                type="button"
                                tabindex="-1"
                                on:pointerdown=|e| e.prevent_default()
                                on:click=move |_| { let _ = on_text.try_run(format!("{}{typed}", text.get_untracked())); }
                            >
                                {shown}
                            </button>
                        }
                    })
                    .collect_view()}
            </div>
            <div class="understood" id=echo_id aria-live="polite">
                {move || understood(&heard.get(), options.get().decimals, &options.get(), on_pick, on_text)}
            </div>
        </div>
    }
}

fn understood(
    heard: &Heard,
    decimals: DecimalStyle,
    options: &FieldOptions,
    on_pick: Callback<usize>,
    on_text: Callback<String>,
) -> AnyView {
    match heard {
        Heard::Nothing => view! { <p class="second">"\u{a0}"</p> }.into_any(),
        Heard::Length(length) => {
            view! { <p class="echo">{words::echo(length, options)}</p> }.into_any()
        }
        Heard::Refused(why) => view! { <p class="why">{why.clone()}</p> }.into_any(),
        Heard::Ask { question, readings } => view! {
            <p class="why">{question.clone()}</p>
            <div class="keys">
                {readings
                    .iter()
                    .enumerate()
                    .map(|(n, reading)| {
                        view! {
                            <button type="button" class="key" on:click=move |_| { let _ = on_pick.try_run(n); }>
                                {words::label(reading, decimals)}
                            </button>
                        }
                    })
                    .collect_view()}
            </div>
        }
        .into_any(),
        Heard::List(items) => view! {
            <p class="why">"There are several measurements here: which one is it?"</p>
            <div class="keys">
                {items
                    .iter()
                    .take(8)
                    .cloned()
                    .map(|item| {
                        let shown = item.clone();
                        view! {
                            <button
                                type="button"
                                class="key"
                                on:click=move |_| { let _ = on_text.try_run(item.clone()); }
                            >
                                {shown}
                            </button>
                        }
                    })
                    .collect_view()}
            </div>
        }
        .into_any(),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::units::Unit;

    fn heard(text: &str, picked: Option<usize>) -> Heard {
        Heard::of(text, picked, &FieldOptions::size(Unit::Mm))
    }

    #[test]
    fn what_was_typed_is_kept_beside_what_was_understood() {
        let entry = heard("18.4cm", None).entry().unwrap();
        assert_eq!(entry.typed, "18.4cm");
        assert_eq!(entry.mm.to_um(), 184_000);
        assert_eq!(entry.unit.as_deref(), Some("cm"));
    }

    #[test]
    fn nothing_is_kept_of_a_question_until_it_is_answered() {
        assert!(matches!(heard("1-3/4", None), Heard::Ask { .. }));
        assert_eq!(heard("1-3/4", None).entry(), None);
        assert!(heard("1-3/4", Some(0)).entry().is_some());
        assert_eq!(heard("", None), Heard::Nothing);
        assert!(matches!(heard("2.1.0", None), Heard::Refused(_)));
    }
}
