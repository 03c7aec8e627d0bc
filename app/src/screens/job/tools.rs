//! What there is to measure with: how sure each is, and what ten readings of one length say of it.

use super::{model, of_job, say};
use crate::ports::ids;
use crate::say::numbers::tenth;
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;
use samespot_core::job::{ClassMark, EntityRef, InstrumentEdit, InstrumentId};
use samespot_core::prepare::instruments::{KINDS, how_sure, kind_of, name_of, new_of};
use samespot_core::units::Length;

/// All of them, and one more.
#[component]
pub(super) fn Tools() -> impl IntoView {
    let ids = Memo::new(move |_| {
        of_job(|j| {
            let mut all: Vec<(String, InstrumentId)> = j
                .instruments
                .iter()
                .filter(|(_, i)| kind_of(i).is_some())
                .map(|(id, i)| (name_of(i), id.clone()))
                .collect();
            all.sort();
            all.into_iter().map(|(_, id)| id).collect::<Vec<_>>()
        })
        .unwrap_or_default()
    });
    let kind = RwSignal::new(0_usize);
    let name = RwSignal::new(String::new());
    let chosen = move || KINDS.get(kind.get()).unwrap_or(&KINDS[0]);
    let add = move |_| {
        let Some(kind) = KINDS.get(kind.get_untracked()) else {
            return;
        };
        let named = name.get_untracked();
        let named = if named.trim().is_empty() {
            kind.name
        } else {
            named.trim()
        };
        if let Ok(id) = InstrumentId::new(&format!("t{}", ids::thing())) {
            say(model::edit(EntityRef::Instrument(id), &new_of(kind, named)));
            name.set(String::new());
        }
    };
    view! {
        <section class="sheet job-part" aria-labelledby="job-tools">
            <h2 id="job-tools">"Tapes and other tools"</h2>
            <For each=move || ids.get() key=Clone::clone let(id)>
                <Tool id=id />
            </For>
            <div class="job-row">
                <label class="job-field"><span>"Another tool"</span>
                    <select id="tool-kind" on:change=move |ev| {
                        kind.set(event_target_value(&ev).parse().unwrap_or(0));
                    }>
                        {KINDS.iter().enumerate().map(|(k, it)| view! {
                            <option value=k.to_string()>{it.name}</option>
                        }).collect_view()}
                    </select>
                </label>
                <label class="job-field"><span>"What is written on it"</span>
                    <input id="tool-name" type="text" placeholder=move || chosen().name prop:value=move || name.get()
                        on:input=move |ev| name.set(event_target_value(&ev)) />
                </label>
                <button type="button" id="tool-add" class="key" on:click=add>
                    {move || format!("Add this {}", chosen().name)}
                </button>
            </div>
            <p class="second">{move || format!("Reads {}", chosen().reads)}</p>
        </section>
    }
}

#[component]
fn Tool(id: InstrumentId) -> impl IntoView {
    let id = StoredValue::new(id);
    let edit = Memo::new(move |_| {
        of_job(|j| id.with_value(|id| j.instruments.get(id).cloned()))
            .flatten()
            .unwrap_or_default()
    });
    let keep = move |fields: InstrumentEdit| {
        say(model::edit(EntityRef::Instrument(id.get_value()), &fields));
    };
    let words = move || {
        let edit = edit.get();
        let sure = how_sure(&edit);
        let short = tenth(sure.half_metre);
        let long = tenth(sure.two_metres);
        if short == long {
            format!("one reading within ± {short} mm")
        } else {
            format!("one reading within ± {short} mm at half a metre, ± {long} at two metres")
        }
    };
    let kind = move || edit.with(kind_of);
    let class = Signal::derive(move || {
        edit.with(|e| match e.class {
            Some(ClassMark::I) => "I",
            Some(ClassMark::III) => "III",
            _ => "II",
        })
        .to_owned()
    });
    let step = Signal::derive(move || {
        edit.with(|e| e.resolution)
            .map_or_else(String::new, |l| format!("{}", l.mm()))
    });
    let repeats = RwSignal::new(None::<String>);
    let text = move || {
        repeats.get().unwrap_or_else(|| {
            edit.with(|e| {
                e.repeats
                    .iter()
                    .flatten()
                    .map(|l| samespot_core::prepare::mm(*l))
                    .collect::<Vec<_>>()
                    .join("\n")
            })
        })
    };
    let heard = move || model::repeats(&text());
    let said = move || match (repeats.get(), heard()) {
        (None, _) => edit.with(|e| {
            how_sure(e).scatter.map_or_else(String::new, |s| {
                format!("They scatter by {} mm; that is used from now on", tenth(s))
            })
        }),
        (Some(_), Ok(all)) if all.len() < 10 => {
            format!("{} of 10: take the tool away between readings", all.len())
        }
        (Some(_), Ok(_)) => "Ten readings".to_owned(),
        (Some(_), Err(why)) => why,
    };
    let ready = move || repeats.with(Option::is_some) && heard().is_ok_and(|a| a.len() >= 10);
    let keep_repeats = move |_| {
        if let (true, Ok(all)) = (untrack(ready), untrack(heard)) {
            keep(InstrumentEdit {
                repeats: Some(all),
                ..InstrumentEdit::default()
            });
            repeats.set(None);
        }
    };
    let area = id.with_value(|id| format!("repeats-{id}"));
    view! {
        <details class="job-more tool">
            <summary>
                <strong>{move || edit.with(name_of)}</strong>
                <span class="second">{move || format!(" · {}", words())}</span>
            </summary>
            <p class="second">{move || kind().map(|k| format!("Reads {}", k.reads))}</p>
            <p class="second">{move || kind().map(|k| format!("All its readings share {}", k.shares))}</p>
            <p class="second">{move || kind().map(|k| format!("From {}", k.source))}</p>
            <Show when=move || kind().is_some_and(|k| k.has_class)>
                <Choices
                    legend="In the small oval on its blade"
                    shown=true
                    choices=vec![
                        Choice::words("I", "I"),
                        Choice::words("II", "II"),
                        Choice::words("III", "III or nothing"),
                    ]
                    taken=class
                    take=move |v: String| keep(InstrumentEdit {
                        class: Some(match v.as_str() {
                            "I" => ClassMark::I,
                            "III" => ClassMark::III,
                            _ => ClassMark::II,
                        }),
                        ..InstrumentEdit::default()
                    })
                />
            </Show>
            <Choices
                legend="Read to"
                shown=true
                choices=vec![
                    Choice::words("1", "1 mm"),
                    Choice::words("0.5", "half a mm"),
                    Choice::words("0.1", "0.1 mm"),
                ]
                taken=step
                take=move |v: String| keep(InstrumentEdit {
                    resolution: v.parse().ok().map(Length::from_mm),
                    ..InstrumentEdit::default()
                })
            />
            <label class="job-field" for=area.clone()>
                <span>"One length read ten times, one on each line"</span>
            </label>
            <textarea id=area rows="5" inputmode="decimal" prop:value=text
                on:input=move |ev| repeats.set(Some(event_target_value(&ev)))></textarea>
            <p class="job-why" role="status">{said}</p>
            <Show when=ready>
                <button type="button" class="key" on:click=keep_repeats>"Use what they say"</button>
            </Show>
        </details>
    }
}
