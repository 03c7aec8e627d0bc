//! What an issue means piece by piece: pieces of which the same is to be done in one row, each by itself below it.

use super::{model, say};
use crate::route::Route;
use crate::state::session;
use leptos::prelude::*;
use samespot_core::job::{Decided, IssueId};
use samespot_core::prepare::amendments::{Becomes, Consequence, Outcome, to_do};

/// Consequences of which the same is to be done, in the order of the first of each.
pub(super) fn alike(all: Vec<Consequence>) -> Vec<Vec<Consequence>> {
    let mut rows: Vec<Vec<Consequence>> = Vec::new();
    for one in all {
        let same = |a: &Consequence| {
            a.feature == one.feature
                && a.becomes == one.becomes
                && a.cannot == one.cannot
                && to_do(a) == to_do(&one)
        };
        match rows.iter_mut().find(|row| row.first().is_some_and(same)) {
            Some(row) => row.push(one),
            None => rows.push(vec![one]),
        }
    }
    rows
}

/// *1–7*: numbers that follow each other, as the first and the last; *3, 5–8* where some are left out.
fn numbers(row: &[Consequence]) -> String {
    let mut spans: Vec<(u32, u32)> = Vec::new();
    for c in row {
        match spans.last_mut() {
            Some((_, last)) if *last + 1 == c.number => *last = c.number,
            _ => spans.push((c.number, c.number)),
        }
    }
    let said = spans.into_iter().map(|(first, last)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first}–{last}"),
    });
    said.collect::<Vec<_>>().join(", ")
}

/// Pieces of which the same is to be done.
#[component]
pub(super) fn Alike(issue: StoredValue<IssueId>, alike: Vec<Consequence>) -> impl IntoView {
    let each = match alike.len() {
        0 | 1 => None,
        _ => Some(alike.clone()),
    };
    let number = numbers(&alike);
    let each = each.map(|all| {
        let rows = all
            .into_iter()
            .map(|one| {
                let number = one.number.to_string();
                view! { <li class="changes-row"><Row issue=issue number=number all=vec![one] /></li> }
            })
            .collect_view();
        view! {
            <details class="changes-each">
                <summary>"One by one"</summary>
                <ul class="job-list">{rows}</ul>
            </details>
        }
    });
    let acts = alike.first().is_some_and(is_rework);
    view! {
        <li class="changes-row" class:acts=acts>
            <Row issue=issue number=number all=alike />
            {each}
        </li>
    }
}

fn is_rework(c: &Consequence) -> bool {
    matches!(c.outcome, Outcome::Rework { .. })
}

/// What is to be done, and the keys that say it of all of them.
#[component]
fn Row(issue: StoredValue<IssueId>, number: String, all: Vec<Consequence>) -> impl IntoView {
    let session = session();
    let first = all.first().cloned()?;
    let many = all.len();
    let alone = many == 1;
    let to_print = matches!(first.outcome, Outcome::NotMade | Outcome::PrintAgain { .. })
        && first.cannot.is_none();
    let rework = is_rework(&first);
    let done = match (first.becomes, alone) {
        (Becomes::Other, true) => "It was made again".to_owned(),
        (Becomes::Dropped, true) => "It was taken off".to_owned(),
        (Becomes::Added, true) => "It was put on".to_owned(),
        (Becomes::Other, false) => format!("All {many} were made again"),
        (Becomes::Dropped, false) => format!("All {many} were taken off"),
        (Becomes::Added, false) => format!("All {many} were put on"),
    };
    let leave = if alone {
        "Leave it as it is…".to_owned()
    } else {
        format!("Leave all {many} as they are…")
    };
    let stays = if alone {
        "It stays as it is"
    } else {
        "They stay as they are"
    };
    let job = session
        .book
        .with_untracked(|b| b.as_ref().map(|b| b.id().clone()));
    let link = job
        .filter(|_| alone && (to_print || rework) && first.becomes != Becomes::Dropped)
        .map(|job| {
            let route = Route::Templates {
                job,
                piece: Some(first.piece.clone()),
                feature: Some(first.feature.clone()),
            };
            view! { <a class="key" href=route.address()>"Its new template"</a> }
        });
    let mut stages: Vec<String> = all.iter().filter_map(|c| c.stage.clone()).collect();
    stages.dedup();
    let second: Vec<String> = core::iter::once(first.title.clone())
        .chain(stages)
        .filter(|t| !t.is_empty())
        .collect();
    let todo = crate::say::job::capital(&to_do(&first));
    let all = StoredValue::new(all);
    let decide = move |decided: Decided| {
        let facts: Vec<_> = all.with_value(|all| {
            let each = all.iter().map(|c| (&c.piece, &c.feature));
            each.flat_map(|(piece, feature)| {
                model::decide(&issue.get_value(), piece, feature, decided.clone())
            })
            .collect()
        });
        say(&facts);
    };
    let asking = RwSignal::new(false);
    let (by, why) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let lacks = move || by.get().trim().is_empty() || why.get().trim().is_empty();
    Some(view! {
        <span class="label">{number}</span>
        <span class="words">
            <strong>{todo}</strong>
            <span class="second">{second.join(" · ")}</span>
            {first.cannot.clone().map(|why| view! { <span class="job-why">{why}</span> })}
        </span>
        {link}
        {rework.then(|| view! {
            <button type="button" class="key" on:click=move |_| decide(Decided::Reworked)>{done}</button>
            <button type="button" class="key" on:click=move |_| asking.update(|a| *a = !*a)>{leave}</button>
        })}
        <Show when=move || asking.get()>
            <div class="job-row changes-concession">
                <label class="job-field"><span>"Who allows it (name and role)"</span>
                    <input type="text" autocomplete="off" prop:value=move || by.get() on:input=move |ev| by.set(event_target_value(&ev)) />
                </label>
                <label class="job-field"><span>"Why"</span>
                    <input type="text" autocomplete="off" prop:value=move || why.get() on:input=move |ev| why.set(event_target_value(&ev)) />
                </label>
                <button type="button" class="key"
                    aria-disabled=move || if lacks() { "true" } else { "false" }
                    on:click=move |_| {
                        let (by, reason) = (by.get_untracked().trim().to_owned(), why.get_untracked().trim().to_owned());
                        if !by.is_empty() && !reason.is_empty() {
                            decide(Decided::Concession { by, reason });
                        }
                    }
                >
                    {move || if lacks() { "A name and a reason, please" } else { stays }}
                </button>
            </div>
        </Show>
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{FeatureId, PieceId};

    fn one(number: u32, outcome: Outcome) -> Consequence {
        Consequence {
            piece: PieceId::new(&format!("p{number}")).unwrap(),
            number,
            feature: FeatureId::new("eye").unwrap(),
            title: "Eye".into(),
            stage: None,
            becomes: Becomes::Other,
            outcome,
            cannot: None,
        }
    }

    #[test]
    fn pieces_of_which_the_same_is_to_be_done_stand_in_one_row() {
        let again = || Outcome::Rework {
            because: "painted".into(),
        };
        let scrap = |reference: &str| Outcome::PrintAgain {
            reference: reference.into(),
            day: String::new(),
        };
        let rows = alike(vec![
            one(1, again()),
            one(2, again()),
            one(3, again()),
            one(4, scrap("AAAAABBBBB")),
            one(5, scrap("CCCCCDDDDD")),
            one(6, Outcome::NotMade),
            one(7, Outcome::NotMade),
            one(9, Outcome::NotMade),
            one(10, again()),
        ]);
        let said: Vec<String> = rows.iter().map(|r| numbers(r)).collect();
        assert_eq!(said, ["1–3, 10", "4", "5", "6, 7, 9"]);
    }
}
