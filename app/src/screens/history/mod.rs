//! History: every entry in order, by whom, and what it changed; taking back what was entered here;
//! any state the job has been in, and two of them compared; what came in with another copy.

mod go_back;
mod hand;
mod opened;

use crate::ports::files;
use crate::state::session;
use crate::widgets::looked::{Looked, Until};
use hand::{Beside, Hand};
use leptos::prelude::*;
use opened::Opened;
use samespot_core::prepare::history::{Difference, Dispute, HistoryEntry, Stands};

/// The screen.
#[component]
pub fn History() -> impl IntoView {
    let hand = Hand::take(session());
    view! {
        <Until looked=hand.looked working="Reading the history…" nothing="There is no history to show" />
        <div class="job-screen history-screen"
            class:held-back=move || hand.looked.with(|l| matches!(l, Looked::Working))>
            <section class="sheet job-part" aria-labelledby="history-title">
                <h1 id="history-title">"History"</h1>
                <p class="second">
                    "Every entry of this job, newest first. Nothing is ever overwritten: taking back is an entry too"
                </p>
                <Find hand=hand />
                <Entries hand=hand />
            </section>
            <div class="job-side">
                <CameIn hand=hand />
                <Disputes hand=hand />
                <Opened hand=hand />
                <Copy hand=hand />
            </div>
        </div>
    }
}

#[component]
fn Find(hand: Hand) -> impl IntoView {
    view! {
        <label class="history-find" for="history-find">
            "Find"
            <input
                id="history-find"
                type="search"
                placeholder="a name, a piece, a mark, a day"
                prop:value=move || hand.find.get()
                on:input=move |e| hand.find.set(event_target_value(&e))
            />
        </label>
    }
}

/// What an entry changed, on one line.
pub(super) fn first(entry: &HistoryEntry) -> String {
    let mut lines = entry.changed.iter().map(line);
    let Some(mut said) = lines.next() else {
        return "an entry this version can’t read; it is kept as it is".into();
    };
    // As much as two lines of a tablet hold; the rest is a tap away.
    let mut left = lines.len();
    for next in lines {
        if said.chars().count() + next.chars().count() > 110 {
            break;
        }
        said.push_str("; ");
        said.push_str(&next);
        left -= 1;
    }
    if left > 0 {
        said.push_str(&format!("; and {left} more"));
    }
    said
}

/// A difference in words: *A to B, over the surface: 113 mm, before 103 mm*.
pub(super) fn line(d: &Difference) -> String {
    let now = match (&d.is, &d.was) {
        (Some(is), Some(was)) if is != was => format!("{is}, before: {was}"),
        (Some(is), Some(_)) => format!("{is}, as before"),
        (Some(is), None) => is.clone(),
        (None, Some(was)) => format!("gone; it was {was}"),
        (None, None) => "gone".into(),
    };
    format!("{}: {now}", d.what)
}

#[component]
fn Entries(hand: Hand) -> impl IntoView {
    let view = Memo::new(move |_| hand.looked.get().view());
    let count = move || {
        view.get().map(|v| {
            if v.found == v.all {
                format!("{} entries", v.all)
            } else {
                format!("{} of {} entries", v.found, v.all)
            }
        })
    };
    let more = move || view.get().is_some_and(|v| v.entries.len() < v.found);
    view! {
        <p class="second" role="status">{count}</p>
        <ol class="history-list" reversed>
            {move || {
                let all = view.get().map(|v| v.entries.clone()).unwrap_or_default();
                all.into_iter().map(|entry| view! { <Row hand=hand entry=entry /> }).collect_view()
            }}
        </ol>
        <Show when=more>
            <button type="button" class="key" on:click=move |_| hand.more()>
                {format!("Show {} more", hand::PAGE)}
            </button>
        </Show>
    }
}

/// By whom and when; who gave no name is called by where it was entered.
pub(super) fn by(entry: &HistoryEntry, own: bool) -> String {
    let who = match (entry.who.trim(), own) {
        ("", true) => "entered on this device",
        ("", false) => "entered elsewhere, no name given",
        (who, _) => who,
    };
    if entry.wall.is_empty() {
        who.to_owned()
    } else {
        format!("{who} · {}", entry.wall)
    }
}

#[component]
fn Row(hand: Hand, entry: HistoryEntry) -> impl IntoView {
    let fact = entry.fact;
    let here = move || hand.open.get() == Some(fact);
    let beside = move || hand.beside.get() == Beside::Entry(fact);
    let (mark, gone) = match &entry.stands {
        Stands::Counts => (None, false),
        Stands::TakenBack { .. } => (Some("taken back"), true),
        Stands::Not { .. } => (Some("doesn’t count"), true),
    };
    let second = by(&entry, hand.session.is_own(fact));
    view! {
        <li>
            <button
                type="button"
                class="history-row"
                class:gone=gone
                class:beside=beside
                aria-pressed=move || if here() { "true" } else { "false" }
                on:click=move |_| hand.tapped(fact)
            >
                <span class="history-place figure">{entry.place}</span>
                <span class="history-words">
                    <strong>{crate::say::job::capital(&entry.about)}</strong>
                    <span class="history-says">{first(&entry)}</span>
                    <span class="second">{second}</span>
                </span>
                {mark.map(|m| view! { <span class="history-mark">{m}</span> })}
            </button>
        </li>
    }
}

/// What came in with a copy.
#[component]
fn CameIn(hand: Hand) -> impl IntoView {
    move || {
        hand.came_in().map(|came| {
            let entries = match came.facts.len() {
                1 => "1 entry".to_owned(),
                n => format!("{n} entries"),
            };
            let disputes = move || {
                hand.looked
                    .with(|l| match l {
                        Looked::View(v) => Some(v.disputes.len()),
                        _ => None,
                    })
                    .map(|n| match n {
                        0 => "Nothing in it disagrees with what was here".to_owned(),
                        1 => "1 thing was said in two ways: choose below".to_owned(),
                        n => format!("{n} things were said in two ways: choose below"),
                    })
            };
            view! {
                <section class="sheet job-part history-came" role="status">
                    <h2>"What came in"</h2>
                    <p>{format!("{entries} came in from {}. Nothing was overwritten", came.file)}</p>
                    <p class="second">{disputes}</p>
                    <div class="actions">
                        <button
                            type="button"
                            class="key"
                            on:click=move |_| hand.only_new.update(|o| *o = !*o)
                        >
                            {move || if hand.only_new.get() { "Show every entry" } else { "Show only what came in" }}
                        </button>
                        <button
                            type="button"
                            class="key"
                            on:click=move |_| hand.session.came_in.set(None)
                        >
                            "Done"
                        </button>
                    </div>
                </section>
            }
        })
    }
}

/// Where two people said different things.
#[component]
fn Disputes(hand: Hand) -> impl IntoView {
    let all = Memo::new(move |_| {
        let view = hand.looked.get().view();
        view.map(|v| v.disputes.clone()).unwrap_or_default()
    });
    move || {
        (!all.with(Vec::is_empty)).then(|| {
            view! {
                <section class="sheet job-part" aria-labelledby="history-disputes">
                    <h2 id="history-disputes">"Said in two ways"</h2>
                    <p class="second">
                        "Two people entered these without knowing of each other. One counts until somebody chooses; both stay in the history"
                    </p>
                    {all
                        .get()
                        .into_iter()
                        .map(|d| view! { <TwoWays hand=hand dispute=d /> })
                        .collect_view()}
                </section>
            }
        })
    }
}

#[component]
fn TwoWays(hand: Hand, dispute: Dispute) -> impl IntoView {
    let values = dispute.values.into_iter().map(|v| {
        let says = v.says.clone();
        let counts = v.counts.then_some("counts now");
        view! {
            <div class="history-value">
                <span class="history-words">
                    <strong>{v.says}</strong>
                    <span class="second">{v.by}</span>
                </span>
                <span class="second">{counts}</span>
                <button
                    type="button"
                    class="key history-choose"
                    aria-label=format!("Take {says}")
                    on:click=move |_| hand.settle(v.chosen.clone())
                >
                    "Take this one"
                </button>
            </div>
        }
    });
    view! {
        <div class="history-dispute">
            <h3>{format!("{}: {}", crate::say::job::capital(&dispute.about), dispute.what)}</h3>
            {values.collect_view()}
        </div>
    }
}

/// Another copy of this job.
#[component]
fn Copy(hand: Hand) -> impl IntoView {
    let accept = files::accept(".samespot,.json");
    let copy_off = move |_| {
        let id = hand
            .session
            .book
            .with_untracked(|b| b.as_ref().map(|b| b.id().to_string()));
        if let Some(id) = id {
            hand.session.copy_off(id);
        }
    };
    view! {
        <section class="sheet job-part" aria-labelledby="history-copy">
            <h2 id="history-copy">"Other copies of this job"</h2>
            <p class="second">
                "A copy that went on elsewhere comes in entry by entry, in any order and as often as you like. Where it disagrees, both values are shown and you choose"
            </p>
            <div class="actions">
                <label class="key file">
                    "Open another copy"
                    <input
                        id="history-file"
                        type="file"
                        accept=accept
                        on:change=move |e| {
                            if let Some(file) = files::chosen(&e) {
                                hand.only_new.set(true);
                                hand.session.open_copy(file);
                            }
                        }
                    />
                </label>
                <button type="button" class="key" on:click=copy_off>
                    "Copy this job off the device"
                </button>
            </div>
        </section>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_says_as_much_as_two_lines_hold() {
        let said = |all: &[(&str, &str)]| {
            let changed = all.iter().map(|(what, is)| Difference {
                about: "issue 3".into(),
                what: (*what).into(),
                was: None,
                is: Some((*is).into()),
            });
            first(&HistoryEntry {
                fact: samespot_core::job::FactId {
                    replica: samespot_core::job::ReplicaId(1),
                    seq: 1,
                },
                place: 1,
                who: String::new(),
                wall: String::new(),
                about: "issue 3".into(),
                changed: changed.collect(),
                stands: Stands::Counts,
            })
        };
        let few = [
            ("changes", "Eye, left: moved 14 mm down"),
            ("from piece", "10"),
        ];
        assert_eq!(
            said(&few),
            "changes: Eye, left: moved 14 mm down; from piece: 10"
        );
        let long = "because the client finds that it looks startled from the quay at high water";
        let many = [few[0], few[1], ("reason", long), ("number", "3")];
        assert_eq!(
            said(&many),
            "changes: Eye, left: moved 14 mm down; from piece: 10; and 2 more"
        );
    }

    #[test]
    fn a_line_says_what_is_and_what_was() {
        let of = |was: Option<&str>, is: Option<&str>| {
            line(&Difference {
                about: "Cap C3".into(),
                what: "stage".into(),
                was: was.map(str::to_owned),
                is: is.map(str::to_owned),
            })
        };
        assert_eq!(of(None, Some("primed")), "stage: primed");
        assert_eq!(
            of(Some("trimmed"), Some("primed")),
            "stage: primed, before: trimmed"
        );
        assert_eq!(
            of(Some("primed"), Some("primed")),
            "stage: primed, as before"
        );
        assert_eq!(of(Some("primed"), None), "stage: gone; it was primed");
    }
}
