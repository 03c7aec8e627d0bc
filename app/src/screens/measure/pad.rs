//! The big field with keys of its own: the device's keyboard stays down, a real one works.

use super::hand::Hand;
use crate::widgets::length::Heard;
use leptos::prelude::*;
use samespot_core::units::{DecimalStyle, Unit, UnitRule, shown, words};

/// What a key shows and what it types.
const KEYS: [[(&str, &str); 5]; 4] = [
    [
        ("7", "7"),
        ("8", "8"),
        ("9", "9"),
        ("′", "'"),
        ("⌫", "rub out"),
    ],
    [("4", "4"), ("5", "5"), ("6", "6"), ("″", "\""), ("½", "½")],
    [("1", "1"), ("2", "2"), ("3", "3"), ("/", "/"), ("", "unit")],
    [
        ("−", "-"),
        ("0", "0"),
        (".", "."),
        ("space", " "),
        ("Next", "next"),
    ],
];

fn spoken(typed: &str) -> Option<&'static str> {
    match typed {
        "'" => Some("feet"),
        "\"" => Some("inches"),
        "rub out" => Some("rub out"),
        "½" => Some("and a half"),
        "-" => Some("minus"),
        "." => Some("point"),
        "/" => Some("slash"),
        _ => None,
    }
}

#[component]
fn Key(hand: Hand, shows: &'static str, types: &'static str) -> impl IntoView {
    let main = types == "next";
    let label = move || match types {
        "unit" => hand.unit.get().symbol().to_owned(),
        _ => shows.to_owned(),
    };
    let tap = move |_| match types {
        "next" => hand.next(false),
        "unit" => hand.change_unit(),
        other => hand.press(other),
    };
    let said = move || match types {
        "unit" => Some(format!("Unit: {}", hand.unit.get().symbol())),
        other => spoken(other).map(str::to_owned),
    };
    view! {
        <button
            type="button"
            class="pad-key"
            class:main=main
            class:word=types == "next" || types == " " || types == "unit"
            aria-label=said
            // The cursor stays in the field.
            on:pointerdown=|e| e.prevent_default()
            on:click=tap
        >
            {label}
        </button>
    }
}

#[component]
fn Echo(hand: Hand) -> impl IntoView {
    let words = move || match hand.heard.get() {
        Heard::Nothing => "Nothing typed yet".to_owned(),
        Heard::Length(l) => format!(
            "{} understood",
            match l.rule.unit {
                UnitRule::FieldUnit if hand.unit.get() == Unit::Mm => {
                    format!("{} mm", shown(l.mm, Unit::Mm, DecimalStyle::Point))
                }
                _ => format!(
                    "{} = {} mm",
                    words::label(&l, DecimalStyle::Point),
                    shown(l.mm, Unit::Mm, DecimalStyle::Point)
                ),
            }
        ),
        Heard::Ask { question, .. } => question,
        Heard::List(items) => format!("{} readings stand here, not one", items.len()),
        Heard::Refused(why) => why,
    };
    let expected = move || {
        hand.ask
            .get()
            .map(|a| crate::say::measure::expected(&a, hand.unit.get()))
    };
    view! {
        <p class="echo">
            <b id="measure-understood" role="status">{words}</b>
            <span class="second">{expected}</span>
        </p>
    }
}

/// Questions before anything is kept.
#[component]
fn Questions(hand: Hand) -> impl IntoView {
    view! {
        {move || {
            hand.doubt
                .get()
                .map(|(asks, meant)| {
                    view! {
                        <div class="ask-first" role="alert">
                            <p>{asks}</p>
                            <div class="actions">
                                {meant
                                    .map(|m| {
                                        let typed = m.clone();
                                        view! {
                                            <button
                                                type="button"
                                                class="key"
                                                on:pointerdown=|e| e.prevent_default()
                                                on:click=move |_| hand.write(format!("{typed} mm"))
                                            >
                                                {format!("Change it to {m}")}
                                            </button>
                                        }
                                    })}
                                <button
                                    type="button"
                                    class="key"
                                    on:pointerdown=|e| e.prevent_default()
                                    on:click=move |_| hand.next(true)
                                >
                                    {move || format!("Keep {}", hand.text.get())}
                                </button>
                            </div>
                        </div>
                    }
                })
        }}
        {move || match hand.heard.get() {
            Heard::Ask { readings, .. } => {
                let keys = readings
                    .iter()
                    .enumerate()
                    .map(|(n, r)| {
                        view! {
                            <button
                                type="button"
                                class="key"
                                on:pointerdown=|e| e.prevent_default()
                                on:click=move |_| hand.picked.set(Some(n))
                            >
                                {words::label(r, DecimalStyle::Point)}
                            </button>
                        }
                    })
                    .collect_view();
                Some(view! { <div class="ask-first actions">{keys}</div> }.into_any())
            }
            Heard::List(items) => {
                let count = items.len();
                Some(
                    view! {
                        <div class="ask-first actions">
                            <button
                                type="button"
                                class="key"
                                on:click=move |_| hand.take_list(&items)
                            >
                                {format!("Give them to the next {count} readings, in this order")}
                            </button>
                        </div>
                    }
                        .into_any(),
                )
            }
            _ => None,
        }}
    }
}

/// The field, its echo, its keys.
#[component]
pub(super) fn Pad(hand: Hand) -> impl IntoView {
    let refused = move || matches!(hand.heard.get(), Heard::Refused(_));
    let label = move || {
        hand.ask
            .with(|a| a.as_ref().map(|a| a.title.clone()).unwrap_or_default())
    };
    let own_unit = move || match hand.heard.get() {
        Heard::Length(l) => l.rule.unit != UnitRule::FieldUnit,
        _ => false,
    };
    view! {
        <div class="big-field" class:refused=refused>
            <input
                id="measure-field"
                type="text"
                data-own-draft=""
                inputmode="none"
                enterkeyhint="next"
                autocomplete="off"
                autocapitalize="off"
                spellcheck="false"
                aria-label=label
                aria-describedby="measure-understood"
                aria-invalid=move || if refused() { "true" } else { "false" }
                prop:value=move || hand.text.get()
                on:input=move |e| hand.write(event_target_value(&e))
                on:keydown=move |e| {
                    if e.key() == "Enter" {
                        e.prevent_default();
                        hand.next(false);
                    }
                }
            />
            <span class="unit" aria-hidden="true">
                {move || if own_unit() { "" } else { hand.unit.get().symbol() }}
            </span>
        </div>
        <Echo hand=hand />
        <Questions hand=hand />
        <div class="pad" role="group" aria-label="Keys">
            {KEYS
                .iter()
                .flatten()
                .map(|(shows, types)| view! { <Key hand=hand shows=shows types=types /> })
                .collect_view()}
        </div>
    }
}
