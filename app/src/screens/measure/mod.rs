//! Measure: the drawing with the reading asked for, one big field, next by itself.

mod advice;
pub mod beside;
mod besides;
mod hand;
mod pad;
mod picture;
mod rods;
mod warm;

use crate::route::Route;
use crate::say::measure as model;
use crate::state::session;
use advice::{Advice, HeldBy, OverRun, Proofs};
use besides::{Besides, With};
use hand::{Hand, Looked};
use leptos::prelude::*;
use pad::Pad;
use picture::{Picture, Strip};
use samespot_core::job::MeasuringSays;
use samespot_core::prepare::walk::AskState;
use warm::Warm;

/// Reasons to let a reading stand against the others, as they are recorded.
const WHY_KEPT: [&str; 3] = [
    "read twice, the same",
    "the casting is like that",
    "good enough for what follows",
];

/// What is being given a reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Settling {
    Nothing,
    Keeping,
    SettingAside,
}

/// Reasons to leave a reading out, as they are recorded.
const WHY_ASIDE: [&str; 3] = ["misread", "the tape slipped", "the mark was not found"];

/// The screen.
#[component]
pub fn Measure() -> impl IntoView {
    let hand = Hand::take(session());
    let cannot = move || match hand.looked.get() {
        Looked::Cannot(why) => Some(why),
        _ => None,
    };
    let working = move || hand.looked.with(|l| *l == Looked::Working);
    let to_job = move || {
        let job = hand.session.route.with(|r| r.job().cloned())?;
        Some(Route::Job { job, piece: None }.address())
    };
    view! {
        <Show when=working>
            <p class="waiting" role="status">"Working out the walk…"</p>
        </Show>
        {move || {
            cannot()
                .map(|why| {
                    view! {
                        <section class="absent sheet">
                            <h1>"Nothing can be measured here yet"</h1>
                            <p>{why}</p>
                            <div class="actions">
                                {to_job().map(|to| view! { <a class="key main" href=to>"Pieces and castings"</a> })}
                                <a class="key" href="#/">"To the start page"</a>
                            </div>
                        </section>
                    }
                })
        }}
        <Show when=move || hand.looked.with(|l| matches!(l, Looked::Walk(_)))>
            <div class="measure">
                <section class="drawing-side" aria-label="The face">
                    <Picture hand=hand />
                    <Flag hand=hand />
                    <Unsettled hand=hand />
                </section>
                <section class="field-side" aria-label="The reading">
                    <Show when=move || hand.ask.with(Option::is_some) fallback=move || view! { <Done hand=hand /> }>
                        <Head hand=hand />
                        <Field hand=hand />
                        <Says hand=hand />
                    </Show>
                    <Warm hand=hand />
                    <OverRun hand=hand />
                    <Advice hand=hand />
                    <Proofs hand=hand />
                    <Besides hand=hand />
                    <rods::Rods hand=hand />
                </section>
                <Strip hand=hand />
            </div>
        </Show>
    }
}

/// What is to be read, and with what.
#[component]
fn Head(hand: Hand) -> impl IntoView {
    let count = move || match hand.looked.get() {
        Looked::Walk(walk) => (
            walk.asks.len(),
            walk.name.clone(),
            model::time_left(walk.seconds_left),
        ),
        _ => (0, String::new(), String::new()),
    };
    view! {
        {move || {
            hand.ask
                .get()
                .map(|ask| {
                    let (of, name, time) = count();
                    // A tool taken up instead of the tape is held as it is held.
                    let (usual, tape) = (ask.held, ask.clone());
                    let held = move || {
                        (hand.taken_with(&tape) == tape.instrument)
                            .then(|| view! { <HeldBy hand=hand usual=usual /> })
                    };
                    let why = ask.why.clone();
                    view! {
                        <div class="ask-head">
                            <span class="badge-box figure">{ask.number}</span>
                            <div>
                                <h1>{ask.title.clone()}</h1>
                                {why.map(|w| view! { <p class="second">{w}</p> })}
                            </div>
                            <p class="count second">
                                <span class="figure">{format!("{} / {of}", ask.number)}</span>
                                <span>{name}</span>
                                <span>{time}</span>
                            </p>
                        </div>
                        <p class="ask-with second">
                            <With hand=hand />
                            {held}
                        </p>
                    }
                })
        }}
    }
}

/// What is to be known of this casting's readings: under the keys, which stay where the hand has them.
#[component]
fn Says(hand: Hand) -> impl IntoView {
    let says = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => walk.says.clone(),
        _ => Vec::new(),
    });
    move || {
        let lines = says.get().into_iter();
        lines
            .map(|s| view! { <p class="second says">{s}</p> })
            .collect_view()
    }
}

/// The field; where the reading can't be taken, why and what is done instead.
#[component]
fn Field(hand: Hand) -> impl IntoView {
    let blocked = Memo::new(move |_| {
        hand.ask.with(|a| match a.as_ref().map(|a| &a.state) {
            Some(AskState::Gone { why }) => Some((why.clone(), false)),
            Some(AskState::CannotReach { lost, .. }) => Some((lost.clone(), true)),
            _ => None,
        })
    });
    let gone = move || blocked.with(|b| b.as_ref().is_some_and(|b| !b.1));
    let reachable = move || {
        hand.ask
            .with(|a| a.as_ref().is_some_and(|a| a.state.is_to_read()))
    };
    let was_read = move || {
        hand.ask.with(|a| {
            let state = a.as_ref().map(|a| &a.state);
            matches!(state, Some(AskState::Read { .. } | AskState::OddOne { .. }))
        })
    };
    let second = move |_| {
        if let Some(ask) = hand.ask.get_untracked() {
            hand.ask_besides(ask.of);
        }
    };
    let cannot = move |_| {
        if let Some(ask) = hand.ask.get_untracked() {
            hand.say(MeasuringSays::CannotReach { of: ask.of });
        }
    };
    view! {
        {move || blocked.get().map(|(why, _)| view! { <p class="blocked">{why}</p> })}
        <Show when=move || !gone()>
            <Pad hand=hand />
        </Show>
        <Show when=reachable>
            <button type="button" class="key cannot" on:click=cannot>
                "Can’t reach this one"
            </button>
        </Show>
        <Show when=was_read>
            <p class="second">"What is typed here takes the place of what stands there"</p>
            <button type="button" class="key cannot read-second" on:click=second>
                "Read it again as a second one, and keep both"
            </button>
        </Show>
    }
}

/// The odd one out: one sentence at a time, never put right by itself.
#[component]
fn Flag(hand: Hand) -> impl IntoView {
    let odd = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => walk.odd.clone(),
        _ => None,
    });
    let settling = RwSignal::new(Settling::Nothing);
    Effect::new(move |_| {
        odd.track();
        settling.set(Settling::Nothing);
    });
    move || {
        odd.get().map(|odd| {
            let (fact, number) = (odd.fact, odd.ask);
            let short = odd.short.clone();
            let lay = StoredValue::new(odd.lay.clone());
            let as_it_lay = move || {
                lay.get_value().map(|of| {
                    let (_, words) = model::lay_words(&of);
                    view! {
                        <button type="button" class="key as-it-lay" on:click=move |_| hand.lay_otherwise(fact, &of)>
                            {words}
                        </button>
                    }
                })
            };
            let again = move || {
                number.map(|n| {
                    view! {
                        <button type="button" class="key" on:click=move |_| hand.choose(n)>
                            {format!("Read {short} again")}
                        </button>
                    }
                })
            };
            let reasons = move |keeping: bool| {
                let why = if keeping { WHY_KEPT } else { WHY_ASIDE };
                why.map(|why| {
                    let says = move || {
                        let (reading, why) = (fact, why.to_owned());
                        if keeping {
                            MeasuringSays::Kept { reading, why }
                        } else {
                            MeasuringSays::SetAside { reading, why }
                        }
                    };
                    let word = if keeping { "Keep" } else { "Set aside" };
                    view! {
                        <button type="button" class="key" on:click=move |_| hand.say(says())>
                            {format!("{word}: {why}")}
                        </button>
                    }
                })
                .collect_view()
            };
            view! {
                <div class="flag" role="status">
                    <span class="query" aria-hidden="true">"?"</span>
                    <p>
                        <b>{odd.says.clone()}</b>
                        <br />
                        {odd.others.clone()}
                        {odd.slip.clone().map(|slip| format!(". {slip}"))}
                    </p>
                    <div class="flag-keys">
                        {move || match settling.get() {
                            Settling::Keeping => reasons(true).into_any(),
                            Settling::SettingAside => reasons(false).into_any(),
                            Settling::Nothing => {
                                view! {
                                    {again()}
                                    {as_it_lay()}
                                    <button
                                        type="button"
                                        class="key"
                                        on:click=move |_| settling.set(Settling::Keeping)
                                    >
                                        "Keep it…"
                                    </button>
                                    <button
                                        type="button"
                                        class="key"
                                        on:click=move |_| settling.set(Settling::SettingAside)
                                    >
                                        "Set aside…"
                                    </button>
                                }
                                    .into_any()
                            }
                        }}
                    </div>
                </div>
            }
        })
    }
}

/// Readings that do not go together, where nothing says which of them is wrong.
#[component]
fn Unsettled(hand: Hand) -> impl IntoView {
    let unsettled = Memo::new(move |_| match hand.looked.get() {
        Looked::Walk(walk) => walk.unsettled.clone(),
        _ => None,
    });
    move || {
        unsettled.get().map(|unsettled| {
            let keep = unsettled.readings.clone();
            let again = unsettled
                .again
                .into_iter()
                .map(|(number, short)| {
                    view! {
                        <button type="button" class="key" on:click=move |_| hand.choose(number)>
                            {format!("Read {short} again")}
                        </button>
                    }
                })
                .collect_view();
            view! {
                <div class="flag" role="status">
                    <span class="query" aria-hidden="true">"?"</span>
                    <p>
                        <b>{unsettled.says}</b>
                        <br />
                        {unsettled.then}
                    </p>
                    <div class="flag-keys">
                        {again}
                        <button
                            type="button"
                            class="key"
                            on:click=move |_| {
                                for reading in &keep {
                                    hand.say(MeasuringSays::Kept {
                                        reading: *reading,
                                        why: "all read again".into(),
                                    });
                                }
                            }
                        >
                            "Keep them: all read again"
                        </button>
                    </div>
                </div>
            }
        })
    }
}

/// Nothing is left to read: what was achieved, and where to go.
#[component]
fn Done(hand: Hand) -> impl IntoView {
    let session = session();
    move || {
        let Looked::Walk(walk) = hand.looked.get() else {
            return None;
        };
        let job = session.route.get().job().cloned()?;
        let read = walk
            .asks
            .iter()
            .filter(|a| matches!(a.state, AskState::Read { .. } | AskState::OddOne { .. }))
            .count();
        let next = walk.next.clone().map(|(casting, name)| {
            let piece = session.book.with(|b| {
                let job = &b.as_ref()?.job;
                job.piece_with(&casting).map(|p| job.number_of(p))
            });
            let of_piece = piece.map_or_else(
                || "next casting, in no piece yet".to_owned(),
                |n| format!("next casting, in piece {n}"),
            );
            let route = Route::Measure {
                job: job.clone(),
                piece: None,
                casting: Some(casting),
            };
            view! {
                <a class="key main big" href=route.address()>
                    <strong>{format!("Measure {name}")}</strong>
                    <span>{of_piece}</span>
                </a>
            }
        });
        let casting = hand.casting.get().map(|(_, id)| id);
        let in_no_piece = session.book.with(|b| {
            let job = b.as_ref().map(|b| &b.job)?;
            let id = casting.as_ref()?;
            let pattern = job
                .castings
                .get(id)
                .is_some_and(|c| c.pattern == Some(true));
            (!pattern && job.piece_with(id).is_none()).then_some(())
        });
        let marry = in_no_piece.map(|()| {
            let to = Route::Job {
                job: job.clone(),
                piece: None,
            };
            view! { <a class="key" href=to.address()>"Put it into a piece"</a> }
        });
        let none_next = walk
            .next
            .is_none()
            .then(|| view! { <p>"Every casting has its readings"</p> });
        Some(view! {
            <div class="walked">
                <h1>{format!("{} is measured", walk.name)}</h1>
                <p class="achieved">{walk.achieved.clone()}</p>
                <p class="second">
                    {format!("{read} of {} readings taken. Tap one in the list to read it again", walk.asks.len())}
                </p>
                {walk
                    .says
                    .iter()
                    .map(|s| view! { <p class="second says">{s.clone()}</p> })
                    .collect_view()}
                <div class="actions">{next} {marry} {none_next}</div>
            </div>
        })
    }
}
