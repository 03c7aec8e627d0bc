//! Readings from a spreadsheet: pasted or opened, each cell shown as understood before any is kept;
//! and all of them out again.

use super::{here, say};
use crate::ports::{clock, files};
use crate::say::numbers::tenth;
use crate::state::Session;
use crate::widgets::choice::{Choice, Choices};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{Payload, Reading};
use samespot_core::prepare::spreadsheet::{SheetReading, SheetView};

/// Lines shown; a run of 24 pieces with 6 readings on each of 4 faces has more.
const SHOWN: usize = 60;

#[component]
pub(super) fn Spreadsheet() -> impl IntoView {
    let text = RwSignal::new(String::new());
    let lay = RwSignal::new("over".to_owned());
    let came = RwSignal::new(None::<Result<SheetView, String>>);
    let answers = RwSignal::new(std::collections::BTreeMap::<usize, usize>::new());
    let busy = RwSignal::new(false);
    let asked = StoredValue::new(0_u32);
    let look = move || {
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        answers.set(std::collections::BTreeMap::new());
        let typed = text.get_untracked();
        let book = here().and_then(|s| s.book.get_untracked());
        let (false, Some(book)) = (typed.trim().is_empty(), book) else {
            came.set(None);
            return;
        };
        let ask = Ask::ReadSheet {
            job: book.id().clone(),
            text: typed,
            over: lay.get_untracked() == "over",
        };
        spawn_local(async move {
            let answer = match Session::ask(book, ask).await {
                Ok((Reply::Sheet(view), _)) => Ok(*view),
                Ok(_) => return,
                Err(sentence) => Err(sentence),
            };
            if asked.try_get_value() == Some(number) {
                let _ = came.try_set(Some(answer));
            }
        });
    };
    let open = move |e: leptos::ev::Event| {
        let Some(file) = files::chosen(&e) else {
            return;
        };
        spawn_local(async move {
            let sentence = match files::read(&file).await {
                Ok(chosen) => match samespot_core::read::table::decode(&chosen.bytes) {
                    Ok((read, _)) => {
                        let _ = text.try_set(read);
                        look();
                        return;
                    }
                    Err(e) => e.to_string(),
                },
                Err(sentence) => sentence,
            };
            let _ = came.try_set(Some(Err(sentence)));
        });
    };
    let to_keep = move || -> Vec<Reading> {
        came.with(|c| {
            let Some(Ok(view)) = c else { return Vec::new() };
            let sure = view.readings.iter().filter(|r| !r.known);
            let answers = answers.get();
            let answered = view
                .asked
                .iter()
                .enumerate()
                .filter_map(|(k, q)| q.readings.get(*answers.get(&k)?).filter(|r| !r.known));
            sure.chain(answered).map(|r| r.reading.clone()).collect()
        })
    };
    let keep = move |_| {
        let all = to_keep();
        if all.is_empty() {
            return;
        }
        say(all.into_iter().map(Payload::Reading).collect());
        look();
    };
    let save = move |_| {
        let Some(session) = here() else { return };
        let Some(book) = session.book.get_untracked() else {
            return;
        };
        let ask = Ask::ReadingsFile {
            job: book.id().clone(),
            day: clock::day(),
        };
        spawn_local(session.download(book, ask, busy));
    };
    view! {
        <section class="sheet job-part" aria-labelledby="job-spreadsheet">
            <h2 id="job-spreadsheet">"Readings in a spreadsheet"</h2>
            <details class="job-more">
                <summary>"Paste or open readings of the run"</summary>
                <p class="second">
                    "A row for each casting with columns named by their marks (A-B, A-C), or rows of casting, from, to, value. Any units, as on a tape. Nothing is kept until you say so"
                </p>
                <label class="job-field">
                    <span>"Cells, with their heads"</span>
                    <textarea id="sheet-cells" rows="6" spellcheck="false" prop:value=move || text.get()
                        on:input=move |ev| { text.set(event_target_value(&ev)); look(); }></textarea>
                </label>
                <Choices
                    legend="The tape"
                    shown=true
                    choices=vec![
                        Choice::words("over", "lay on the surface"),
                        Choice::words("straight", "was held straight"),
                    ]
                    taken=lay
                    take=move |v: String| { lay.set(v); look(); }
                />
                <label class="key file">
                    "Open a CSV file"
                    <input type="file" accept=files::accept(".csv,.txt,.tsv") on:change=open />
                </label>
                {move || came.get().map(|c| match c {
                    Err(sentence) => view! { <p class="job-why" role="status">{crate::say::job::capital(&sentence)}</p> }.into_any(),
                    Ok(view) => shown(&view, answers).into_any(),
                })}
                {move || {
                    let n = to_keep().len();
                    (n > 0).then(|| view! {
                        <button type="button" id="sheet-keep" class="key main" on:click=keep>
                            {if n == 1 { "Keep 1 reading".to_owned() } else { format!("Keep {n} readings") }}
                        </button>
                    })
                }}
            </details>
            <button type="button" class="key" on:click=save>
                {move || if busy.get() { "Making…" } else { "All readings for a spreadsheet (CSV)" }}
            </button>
        </section>
    }
}

fn row(r: &SheetReading) -> impl IntoView + use<> {
    let typed = format!("{} · line {}", r.typed, r.line);
    view! {
        <tr class:second=r.known>
            <th scope="row">{format!("{}: {}", r.casting, r.words)}<span class="second">{typed}</span></th>
            <td class="figure">{format!("{} mm", tenth(r.value))}</td>
            <td>{r.known.then_some("here already")}</td>
        </tr>
    }
}

fn shown(
    view: &SheetView,
    answers: RwSignal<std::collections::BTreeMap<usize, usize>>,
) -> impl IntoView + use<> {
    let new = view.readings.iter().filter(|r| !r.known).count();
    let mut says = vec![format!("{new} new readings understood")];
    let known = view.readings.len() - new;
    if known > 0 {
        says.push(format!("{known} are here already"));
    }
    if view.blank > 0 {
        says.push(format!("{} empty cells: not measured", view.blank));
    }
    if !view.unused.is_empty() {
        says.push(format!("columns not used: {}", view.unused.join(", ")));
    }
    let more = view.readings.len().saturating_sub(SHOWN);
    let rows = view.readings.iter().take(SHOWN).map(row).collect_view();
    let unshown = view.refused.len().saturating_sub(SHOWN);
    let refused = view
        .refused
        .iter()
        .take(SHOWN)
        .map(|r| {
            let what = format!("Line {}, column {}: {}", r.line, r.column, r.typed);
            view! { <li><strong>{what}</strong><p class="why">{r.why.clone()}</p></li> }
        })
        .collect_view();
    let questions = view
        .asked
        .iter()
        .enumerate()
        .map(|(k, q)| {
            let head = q.readings.first().map(|r| {
                format!("{}, {}: {}", r.casting, r.words, r.typed)
            });
            let keys = q
                .readings
                .iter()
                .enumerate()
                .map(|(n, r)| {
                    let taken = move || answers.with(|a| a.get(&k) == Some(&n));
                    view! {
                        <button type="button" class="choice" aria-pressed=move || if taken() { "true" } else { "false" }
                            on:click=move |_| answers.update(|a| { a.insert(k, n); })>
                            {format!("{} mm", tenth(r.value))}
                        </button>
                    }
                })
                .collect_view();
            view! {
                <li><strong>{head}</strong><p class="why">{q.question.clone()}</p><div class="keys">{keys}</div></li>
            }
        })
        .collect_view();
    view! {
        <p role="status" id="sheet-says">{says.join("; ")}</p>
        <ul class="sheet-refused">{questions}{refused}</ul>
        {(unshown > 0).then(|| view! { <p class="second">{format!("and {unshown} more cells that are not kept")}</p> })}
        <table class="setout-table"><tbody>{rows}</tbody></table>
        {(more > 0).then(|| view! { <p class="second">{format!("and {more} more")}</p> })}
    }
}
