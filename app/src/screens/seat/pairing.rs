//! Which figure goes on which base.

use super::hand::Hand;
use crate::say;
use leptos::prelude::*;
use samespot_core::prepare::seat::{PairingCell, PairingView};

fn spoken(cell: &PairingCell) -> String {
    let mut words = cell.misfit.map_or_else(
        || "not measured".to_owned(),
        |m| format!("{} mm off", say::numbers::tenth(m)),
    );
    if cell.locked {
        words.push_str(", locked");
    } else if cell.married {
        words.push_str(", together now");
    } else if cell.chosen {
        words.push_str(", proposed, not together yet");
    }
    if !cell.inside {
        words.push_str(", more than allowed");
    }
    words
}

/// *Figure P7 on base C9: 0.4 mm off; shims P1 4.1, P2 3.9, P3 4.4*.
fn pair_words(table: &PairingView, at: (usize, usize)) -> Option<String> {
    let row = table.figures.get(at.0)?;
    let cell = row.on.get(at.1)?;
    let shims: Vec<String> = cell
        .shims
        .iter()
        .enumerate()
        .map(|(i, s)| format!("{} {}", say::seat::pad_letter(i), say::numbers::tenth(*s)))
        .collect();
    Some(format!(
        "Figure {} on base {}: {}; shims {} mm",
        row.figure,
        table.bases.get(at.1)?,
        spoken(cell),
        shims.join(", ")
    ))
}

/// The pair of the piece in hand: as it is together, else as it is proposed.
fn own_pair(table: &PairingView) -> Option<(usize, usize)> {
    let row = table.figures.iter().position(|r| r.here)?;
    let on = &table.figures[row].on;
    let married = on.iter().position(|c| c.married);
    let column = married.or_else(|| on.iter().position(|c| c.chosen))?;
    Some((row, column))
}

fn cell_view(
    hand: Hand,
    cell: &PairingCell,
    at: (usize, usize),
    label: String,
) -> impl IntoView + use<> {
    let shown = cell
        .misfit
        .map_or_else(|| "–".to_owned(), say::numbers::tenth);
    view! {
        <td>
            <button
                type="button"
                class="seat-pair figure"
                class:chosen=cell.chosen
                class:locked=cell.locked
                class:outside=!cell.inside
                aria-label=label
                aria-pressed=move || if hand.pair.get() == Some(at) { "true" } else { "false" }
                on:click=move |_| hand.pair.set(Some(at))
            >
                {shown}
            </button>
        </td>
    }
}

/// The table of all pairs.
#[component]
pub(super) fn Pairs(hand: Hand) -> impl IntoView {
    let table = Memo::new(move |_| hand.view().and_then(|v| v.pairing.clone()));
    view! {
        <section class="seat-pairs" aria-labelledby="seat-pairs">
            <h2 id="seat-pairs">
                {move || table.get().map_or_else(
                    || "Pairing: nothing to compare yet, read the heights on both castings".to_owned(),
                    |t| t.verdict,
                )}
            </h2>
            {move || {
                table
                    .get()
                    .map(|t| {
                        let note = format!(
                            "How far the worst bed is from the middle of what is allowed, mm; up to {} fits. Ringed: together now, or proposed. With a cross: too far out",
                            say::numbers::tenth(t.allowed),
                        );
                        let heads = t
                            .bases
                            .iter()
                            .map(|b| view! { <th scope="col">{b.clone()}</th> })
                            .collect_view();
                        let rows = t
                            .figures
                            .iter()
                            .enumerate()
                            .map(|(i, row)| {
                                let cells = row
                                    .on
                                    .iter()
                                    .enumerate()
                                    .map(|(j, c)| {
                                        let base = t.bases.get(j).cloned().unwrap_or_default();
                                        let label = format!("{} on {base}: {}", row.figure, spoken(c));
                                        cell_view(hand, c, (i, j), label)
                                    })
                                    .collect_view();
                                view! {
                                    <tr class:here=row.here>
                                        <th scope="row">{row.figure.clone()}</th>
                                        {cells}
                                    </tr>
                                }
                            })
                            .collect_view();
                        view! {
                            <p>{t.because.clone()}</p>
                            <p class="second">{note}</p>
                            <p class="seat-pair-words" role="status">
                                {
                                    let t = t.clone();
                                    move || {
                                        hand.pair
                                            .get()
                                            .or_else(|| own_pair(&t))
                                            .and_then(|at| pair_words(&t, at))
                                    }
                                }
                            </p>
                            <div class="seat-pair-scroll" tabindex="0" role="group" aria-label="All pairs">
                                <table class="seat-table">
                                    <thead>
                                        <tr>
                                            <th scope="col">"figure"</th>
                                            {heads}
                                        </tr>
                                    </thead>
                                    <tbody>{rows}</tbody>
                                </table>
                            </div>
                        }
                    })
            }}
        </section>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use samespot_core::units::Length;

    fn cell(chosen: bool, married: bool) -> PairingCell {
        PairingCell {
            misfit: Some(Length::from_mm(0.4)),
            shims: Vec::new(),
            chosen,
            married,
            locked: false,
            inside: true,
        }
    }

    #[test]
    fn what_is_only_proposed_is_not_called_together() {
        assert_eq!(
            spoken(&cell(true, false)),
            "0.4 mm off, proposed, not together yet"
        );
        assert_eq!(spoken(&cell(false, true)), "0.4 mm off, together now");
        assert_eq!(spoken(&cell(false, false)), "0.4 mm off");
    }
}
