//! The bracket once its glass has cured: distances to its holes, which replace its place on the
//! drawing.

use super::{Hand, fixing_in_hand};
use crate::ports::fields;
use crate::say;
use crate::widgets::length::{Heard, LengthField};
use leptos::prelude::*;
use samespot_core::job::{CuredReading, MarkId, Payload};
use samespot_core::prepare::holes::{CuredRow, CuredView};
use samespot_core::prepare::mm;
use samespot_core::units::{FieldOptions, Unit};

const FIELD: &str = "cured-field";
/// The same for whoever looks for it in the page.
const CURSOR: &str = "#cured-field";

/// A distance by its hole and mark: it outlives the list it stands in.
type Which = (u32, MarkId);

fn which(row: &CuredRow) -> Which {
    (row.hole, row.meant.mark.clone())
}

/// The reading that a text makes; nothing while it is no length.
fn fact(hand: Hand, row: &CuredRow, heard: &Heard) -> Option<Payload> {
    let (_, piece) = hand.piece.get_untracked()?;
    let fixing = untrack(|| fixing_in_hand(hand))?.fixing;
    Some(Payload::Cured(CuredReading {
        piece,
        fixing,
        hole: row.hole,
        from: row.meant.mark.clone(),
        over: row.meant.over,
        value: heard.entry()?,
    }))
}

/// The readings after cure of the bracket in hand; nothing where no bolt goes into one.
#[component]
pub(super) fn Cured(hand: Hand) -> impl IntoView {
    let view = Memo::new(move |_| fixing_in_hand(hand)?.cured);
    let at = RwSignal::new(None::<Which>);
    let text = RwSignal::new(String::new());
    let picked = RwSignal::new(None::<usize>);
    let open = move |row: &CuredRow| {
        text.set(String::new());
        picked.set(None);
        at.set(Some(which(row)));
        fields::focus_first_empty(CURSOR);
    };
    // Another piece or another bracket: nothing typed for this one may land there.
    Effect::new(move |before: Option<_>| {
        let now = (
            hand.piece.get(),
            fixing_in_hand(hand).map(|fixing| fixing.fixing),
        );
        if before.is_some_and(|b| b != now) {
            at.set(None);
            text.set(String::new());
        }
        now
    });
    let row = Memo::new(move |_| {
        let at = at.get()?;
        view.get()?.rows.into_iter().find(|r| which(r) == at)
    });
    let keep = move |go_on: bool| {
        let (Some(row), Some(all)) = (row.get_untracked(), view.get_untracked()) else {
            return;
        };
        let heard = Heard::of(&text.get_untracked(), picked.get_untracked(), &options());
        let Some(fact) = fact(hand, &row, &heard) else {
            return;
        };
        text.set(String::new());
        picked.set(None);
        hand.session.say(&[fact]);
        let behind = all.rows.iter().skip_while(|r| which(r) != which(&row));
        match behind.skip(1).find(|r| r.read.is_none()) {
            Some(next) if go_on => open(next),
            _ => at.set(None),
        }
    };
    view! {
        <Show when=move || view.with(Option::is_some)>
            <section class="holes-notes" aria-labelledby="holes-cured">
                <h2 id="holes-cured">"The bracket after cure"</h2>
                <p class="second">
                    "Bolts out, plate off. From the marks to the middle of the bracket’s own holes, the tape as it says. Tap a line, type what it reads, Enter"
                </p>
                {move || view.get().map(|view| table(&view, at, open))}
                <Show when=move || row.with(Option::is_some)>
                    <div class="seat-field">
                        <LengthField
                            id=FIELD
                            label=Signal::derive(move || row.get().map_or_else(String::new, |r| say::holes::cured(&r)))
                            text=text
                            picked=picked
                            options=Signal::derive(options)
                            on_text=move |typed| {
                                picked.set(None);
                                text.set(typed);
                            }
                            on_pick=move |n| picked.set(Some(n))
                            on_done=move |by_enter| {
                                if by_enter {
                                    keep(true);
                                }
                            }
                        />
                        <button
                            type="button"
                            class="key main"
                            on:pointerdown=|e| e.prevent_default()
                            on:click=move |_| keep(true)
                        >
                            "Keep this reading"
                        </button>
                    </div>
                </Show>
            </section>
        </Show>
    }
}

fn options() -> FieldOptions {
    FieldOptions::size(Unit::Mm)
}

fn table(
    view: &CuredView,
    at: RwSignal<Option<Which>>,
    open: impl Fn(&CuredRow) + Copy + 'static,
) -> AnyView {
    let rows = view.rows.iter().cloned().map(|row| {
        let own = which(&row);
        let here = move || at.with(|a| a.as_ref() == Some(&own)).to_string();
        let shown = row
            .read
            .as_ref()
            .map_or_else(|| "read".to_owned(), |e| e.typed.clone());
        let empty = row.read.is_none();
        view! {
            <tr>
                <th scope="row">{format!("Hole {}", row.hole)}</th>
                <td><span class="letter-box">{row.meant.from.clone()}</span></td>
                <td>{row.meant.lies()}</td>
                <td class="figure">{mm(row.meant.length)}</td>
                <td>
                    <button
                        type="button"
                        class="seat-read"
                        class:empty=empty
                        aria-pressed=here
                        on:click=move |_| open(&row)
                    >
                        <span class="figure">{shown}</span>
                    </button>
                </td>
            </tr>
        }
    });
    let says = view
        .says
        .iter()
        .map(|s| view! { <p role="status">{s.clone()}</p> });
    view! {
        {(!view.rows.is_empty())
            .then(|| {
                view! {
                    <table class="seat-table seat-readings holes-cured">
                        <thead>
                            <tr>
                                <th scope="col">"Of the bracket"</th>
                                <th scope="col">"From"</th>
                                <th scope="col">"The tape"</th>
                                <th scope="col">"Meant, mm"</th>
                                <th scope="col">"Reads, mm"</th>
                            </tr>
                        </thead>
                        <tbody>{rows.collect_view()}</tbody>
                    </table>
                }
            })}
        {says.collect_view()}
    }
    .into_any()
}
