//! What was read at the joint: dry, wet, cured; the cured one counts.

use super::hand::{Cell, Hand, options};
use crate::ports::clock;
use crate::say;
use crate::widgets::choice::{Choice, Choices};
use crate::widgets::length::LengthField;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::Ask;
use samespot_core::job::{Entry, SeatTool, SeatWhen, SpotId};
use samespot_core::prepare::seat::{HeightCell, SeatVerdict, SeatView};

const TIMES: [SeatWhen; 3] = [SeatWhen::Dry, SeatWhen::Wet, SeatWhen::Cured];

fn read(entry: Option<&Entry>) -> String {
    entry.map_or_else(|| "read".to_owned(), |e| e.typed.clone())
}

/// A step of the shim gauge stands beside what it comes to.
fn read_with(entry: Option<&Entry>) -> String {
    match entry {
        Some(e) if e.typed.starts_with("stick") => {
            format!("{} ({})", say::numbers::tenth(e.mm), e.typed)
        }
        other => read(other),
    }
}

/// One cell of the table: what was read, what it should be; tapped, it is what the field takes.
#[component]
fn Read(
    hand: Hand,
    cell: Cell,
    shown: String,
    empty: bool,
    under: String,
    outside: bool,
) -> impl IntoView {
    let own = cell.clone();
    let here = move || hand.cell.with(|c| c.as_ref() == Some(&own));
    view! {
        <button
            type="button"
            class="seat-read"
            class:empty=empty
            class:outside=outside
            aria-pressed=move || if here() { "true" } else { "false" }
            on:click=move |_| hand.choose(cell.clone())
        >
            <span class="figure">{shown}</span>
            <span class="second">{under}</span>
        </button>
    }
}

fn label(view: &SeatView, cell: &Cell, tool: SeatTool) -> String {
    match cell {
        Cell::Gap(id) => {
            let found = view.pads.iter().enumerate().find(|(_, p)| p.id == *id);
            found.map_or_else(String::new, |(i, p)| {
                format!("Gap at {}, {}, on trial", say::seat::pad_letter(i), p.name)
            })
        }
        Cell::Height(casting, id) => {
            let row = view.heights.iter().find(|r| r.spot == *id);
            row.map_or_else(String::new, |r| {
                let on_base = r.base.as_ref().is_some_and(|b| b.casting == *casting);
                let (what, number) = if on_base {
                    ("base", &view.base)
                } else {
                    ("figure", &view.figure)
                };
                let number = number.clone().unwrap_or_default();
                format!("Height of {what} {number} over the board at {}", r.name)
            })
        }
        Cell::Locating(id, when) => {
            let found = view.stations.iter().enumerate().find(|(_, s)| s.id == *id);
            found.map_or_else(String::new, |(i, s)| {
                let what = match tool {
                    SeatTool::Stick => "Last step of the shim gauge that goes",
                    SeatTool::Rule | SeatTool::Tape => "Locating dimension",
                };
                format!(
                    "{what} at {}, {}, {}",
                    say::seat::station_letter(i),
                    s.name,
                    say::seat::when(*when)
                )
            })
        }
    }
}

#[component]
fn Table(hand: Hand) -> impl IntoView {
    move || {
        hand.view().map(|view| {
            let heads = TIMES
                .map(|w| {
                    view! {
                        <th scope="col">
                            {say::seat::when(w)}<br /><span class="second">{say::seat::when_note(w)}</span>
                        </th>
                    }
                })
                .collect_view();
            let stations = view
                .stations
                .iter()
                .enumerate()
                .map(|(i, station)| {
                    let cells = TIMES
                        .map(|w| {
                            let state = station.at(w);
                            view! {
                                <td>
                                    <Read
                                        hand=hand
                                        cell=Cell::Locating(station.id.clone(), w)
                                        shown=read_with(state.read.as_ref())
                                        empty=state.read.is_none()
                                        under=say::seat::under(state)
                                        outside=state.verdict == Some(SeatVerdict::Outside)
                                    />
                                </td>
                            }
                        })
                        .collect_view();
                    view! {
                        <tr>
                            <th scope="row">
                                <span class="letter-box">{say::seat::station_letter(i)}</span>
                                {station.name.clone()}
                            </th>
                            {cells}
                        </tr>
                    }
                })
                .collect_view();
            let gaps = view
                .pads
                .iter()
                .enumerate()
                .map(|(i, pad)| {
                    view! {
                        <tr>
                            <th scope="row">
                                <span class="letter-box">{say::seat::pad_letter(i)}</span>
                                {format!("gap, {}", pad.name)}
                            </th>
                            <td>
                                <Read
                                    hand=hand
                                    cell=Cell::Gap(pad.id.clone())
                                    shown=read(pad.dry.as_ref())
                                    empty=pad.dry.is_none()
                                    under=String::new()
                                    outside=false
                                />
                            </td>
                            <td colspan="2"></td>
                        </tr>
                    }
                })
                .collect_view();
            view! {
                <table class="seat-table seat-readings">
                    <thead>
                        <tr>
                            <th scope="col">"mm"</th>
                            {heads}
                        </tr>
                    </thead>
                    <tbody>{stations} {gaps}</tbody>
                </table>
                <p role="status">{say::seat::lean(&view)}</p>
            }
        })
    }
}

/// The field for the cell that was tapped, where it belongs.
#[component]
fn Field(hand: Hand, on_board: bool) -> impl IntoView {
    let named = Memo::new(move |_| {
        let cell = hand.cell.get()?;
        Some(label(&*hand.view()?, &cell, hand.tool.get()))
    });
    let here = move || {
        hand.cell
            .with(|c| c.as_ref().is_some_and(|c| c.on_board() == on_board))
    };
    view! {
        <Show when=here>
            <div class="seat-field">
                <LengthField
                    id="seat-field"
                    label=Signal::derive(move || named.get().unwrap_or_default())
                    text=Signal::derive(move || hand.text())
                    picked=hand.picked
                    options=Signal::derive(options)
                    on_text=move |text| hand.write(text)
                    on_pick=move |n| hand.picked.set(Some(n))
                    on_done=move |by_enter| {
                        // What looks like a slip is asked about and stays typed, also by leaving.
                        hand.keep(by_enter, false);
                    }
                />
                <Show when=move || hand.doubt.with(Option::is_some)>
                    <div class="seat-doubt" role="alert">
                        <p>{move || hand.doubt.get()}</p>
                        <button
                            type="button"
                            class="key"
                            on:pointerdown=|e| e.prevent_default()
                            on:click=move |_| hand.keep(true, true)
                        >
                            "It is right: keep it"
                        </button>
                    </div>
                </Show>
                // The field must not lose the cursor first: it would keep the reading and stay.
                <button
                    type="button"
                    class="key main"
                    on:pointerdown=|e| e.prevent_default()
                    on:click=move |_| hand.keep(true, false)
                >
                    "Keep this reading"
                </button>
            </div>
        </Show>
    }
}

/// What reading with each thing costs, the choice, and the stick's sheet.
#[component]
fn Tools(hand: Hand) -> impl IntoView {
    let busy = RwSignal::new(false);
    let save = move |_| {
        let (Some(book), Some((_, piece))) = (
            hand.session.book.get_untracked(),
            hand.piece.get_untracked(),
        ) else {
            return;
        };
        let ask = Ask::LocatingStick {
            job: book.id().clone(),
            piece,
            joint: hand.joint.get_untracked(),
            paper: book.job.about.paper.unwrap_or_default(),
            day: clock::day(),
        };
        spawn_local(hand.session.download(book, ask, busy));
    };
    let taken = Signal::derive(move || {
        match hand.tool.get() {
            SeatTool::Rule => "rule",
            SeatTool::Tape => "tape",
            SeatTool::Stick => "stick",
        }
        .to_owned()
    });
    let ends = move || {
        let view = hand.view()?;
        let each: Vec<String> = view
            .stations
            .iter()
            .enumerate()
            .filter_map(|(i, s)| {
                let (goes, doesnt) = s.stick?;
                Some(format!(
                    "{} GOES {}, DOESN’T {}",
                    say::seat::station_letter(i),
                    say::numbers::tenth(goes),
                    say::numbers::tenth(doesnt)
                ))
            })
            .collect();
        Some(if each.is_empty() {
            "So little may it be out that no stick can tell: read it with a height gauge".to_owned()
        } else {
            format!("Locating stick: {} mm", each.join("; "))
        })
    };
    let may_stick = move || {
        hand.view()
            .is_some_and(|v| v.stations.iter().any(|s| s.stick.is_some()))
    };
    view! {
        <p>{move || hand.view().map(|v| v.gain.clone())}</p>
        <Choices
            legend="Read with"
            shown=true
            choices=vec![
                Choice::words("rule", "a rule"),
                Choice::words("tape", "a tape"),
                Choice::words("stick", "the locating stick"),
            ]
            taken=taken
            take=move |v: String| {
                hand.tool.set(match v.as_str() {
                    "tape" => SeatTool::Tape,
                    "stick" if may_stick() => SeatTool::Stick,
                    _ => SeatTool::Rule,
                });
            }
        />
        <p class="second">{ends}</p>
        <Show when=may_stick>
            <button type="button" class="key" on:click=save>
                {move || if busy.get() { "Making…" } else { "Locating stick and shim gauge (PDF)" }}
            </button>
        </Show>
    }
}

/// The readings at the joint and the field that takes them.
#[component]
pub(super) fn Readings(hand: Hand) -> impl IntoView {
    view! {
        <section aria-labelledby="seat-readings">
            <h2 id="seat-readings">"Locating dimension, read at the stations"</h2>
            <p class="second">"Read it dry, wet and cured. Tap what you read, type it, Enter"</p>
            <Tools hand=hand />
            <Table hand=hand />
            <Field hand=hand on_board=false />
        </section>
    }
}

fn height(hand: Hand, cell: Option<&HeightCell>, spot: &SpotId) -> impl IntoView + use<> {
    cell.map_or_else(
        || view! { <td class="second">"no casting yet"</td> }.into_any(),
        |c| {
            view! {
                <td>
                    <Read
                        hand=hand
                        cell=Cell::Height(c.casting.clone(), spot.clone())
                        shown=read(c.read.as_ref())
                        empty=c.read.is_none()
                        under=String::new()
                        outside=false
                    />
                </td>
            }
            .into_any()
        },
    )
}

/// Heights of both castings over the board, before they ever meet.
#[component]
pub(super) fn Heights(hand: Hand) -> impl IntoView {
    view! {
        <section aria-labelledby="seat-heights">
            <h2 id="seat-heights">"Heights over the board"</h2>
            <p class="second">
                "Each casting by itself, chocked level as it stands: on the base the top under each pad and the foot of each station, on the figure its underside and its marks. All figures and bases are compared by these"
            </p>
            {move || {
                hand.view()
                    .map(|view| {
                        let rows = view
                            .heights
                            .iter()
                            .map(|row| {
                                view! {
                                    <tr>
                                        <th scope="row">{row.name.clone()}</th>
                                        {height(hand, row.base.as_ref(), &row.spot)}
                                        {height(hand, row.figure.as_ref(), &row.spot)}
                                    </tr>
                                }
                            })
                            .collect_view();
                        let head = |what: &str, number: &Option<String>| {
                            format!("{what} {}", number.clone().unwrap_or_default())
                        };
                        view! {
                            <table class="seat-table seat-readings">
                                <thead>
                                    <tr>
                                        <th scope="col">"mm"</th>
                                        <th scope="col">{head("base", &view.base)}</th>
                                        <th scope="col">{head("figure", &view.figure)}</th>
                                    </tr>
                                </thead>
                                <tbody>{rows}</tbody>
                            </table>
                        }
                    })
            }}
            <Field hand=hand on_board=true />
        </section>
    }
}
