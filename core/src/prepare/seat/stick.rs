//! The locating stick of a piece: a strip for each station, the stepped shim gauge, and how they are
//! made and used, as sheets.

use super::given::Given;
use super::view::SeatView;
use super::{SeatError, seat_view};
use crate::job::{JointId, PieceId};
use crate::prepare::Source;
use crate::prepare::printer::Printing;
use crate::prepare::words::{mm, tenth};
use crate::seat::{ReadWith, STEP, STEPS, Stick, TooFine};
use crate::sheet::{Drawing, Lane, Paper, ProofState, Rod, RodSheet, SheetError, rods};
use crate::units::Length;

/// Steps of the gauge are so much shorter from one to the next, mm.
const TREAD_MM: f64 = 12.0;

/// Why there is no stick.
#[derive(Debug, thiserror::Error)]
pub enum StickError {
    /// No seat.
    #[error(transparent)]
    Seat(#[from] SeatError),
    /// It could pass nothing.
    #[error(transparent)]
    TooFine(#[from] TooFine),
    /// It fits no sheet.
    #[error(transparent)]
    Sheet(#[from] SheetError),
}

/// What a station is to read when it counts: cured where that is known, else the locating dimension.
pub(super) fn aim(view: &SeatView, station: usize) -> Length {
    let own = view.stations.get(station).and_then(|s| s.cured.aim);
    own.unwrap_or(view.locating)
}

/// What reading with each costs: the gain that is shown before a stick is made.
#[must_use]
pub(super) fn gain_words(given: &Given) -> String {
    let sure = |with: ReadWith| tenth(with.standard_uncertainty(given.locating) * 2.0);
    format!(
        "Read with a hooked tape the locating dimension is sure to ± {} mm, with a rule held by hand ± {}, with the stick and its shim gauge ± {} (95 %); {} mm may be out",
        sure(ReadWith::Tape),
        sure(ReadWith::Rule),
        sure(ReadWith::Stick),
        mm(given.within)
    )
}

/// The sheets of the locating stick.
///
/// # Errors
/// [`StickError`].
pub fn stick_sheet(
    source: &Source<'_>,
    (piece, joint): (&PieceId, Option<&JointId>),
    paper: Paper,
    day: &str,
) -> Result<Drawing, StickError> {
    let view = seat_view(source.job, piece, joint)?;
    let mut strips = Vec::new();
    for (k, station) in view.stations.iter().enumerate() {
        let stick = Stick::of(aim(&view, k), view.within)?;
        strips.push(Rod {
            title: format!("S{}, {}, piece {}", k + 1, station.name, view.piece),
            stop: "FOOT on the base".into(),
            lanes: vec![
                Lane {
                    name: "GOES".into(),
                    at: stick.goes,
                },
                Lane {
                    name: "DOESN’T".into(),
                    at: stick.doesnt,
                },
            ],
        });
    }
    strips.push(gauge());
    let printing = Printing::of(source.job, paper);
    let sheet = RodSheet {
        rods: strips,
        title: format!("Locating stick, {}, piece {}", view.name, view.piece),
        how: how(&view),
        // Nothing here says over which length a printer must be true: both bars are measured.
        proof: ProofState::NotProved,
        issue: 0,
        made: format!("{day}, Samespot {}", env!("CARGO_PKG_VERSION")),
        correction: printing.correction,
    };
    Ok(rods(&sheet, paper)?)
}

/// The stepped shim gauge: strips of card, each a tread shorter than the one below.
fn gauge() -> Rod {
    let lane = |k: u32| Lane {
        name: mm(STEP * f64::from(k)),
        at: Length::from_mm(TREAD_MM * f64::from(STEPS + 1 - k)),
    };
    Rod {
        title: format!("Stepped shim gauge, card of {} mm", mm(STEP)),
        stop: "FOOT flush".into(),
        lanes: (1..=STEPS).map(lane).collect(),
    }
}

fn how(view: &SeatView) -> Vec<String> {
    let ends: Vec<String> = (0..view.stations.len())
        .filter_map(|k| Some((k, Stick::of(aim(view, k), view.within).ok()?)))
        .map(|(k, s)| format!("S{} {} and {}", k + 1, tenth(s.goes), tenth(s.doesnt)))
        .collect();
    vec![
        format!(
            "Print at 100 %, glue each strip on a straight lath, saw one half off at GOES and the other at DOESN’T, file to the line and measure: {} mm.",
            ends.join("; ")
        ),
        "Foot on the base, stick plumb under the mark: where GOES goes and DOESN’T doesn’t, the station is within, the stick’s own error counted. By how much: push the shim gauge in on GOES and type the last step that goes.".into(),
        format!(
            "Shim gauge: cut each lane off at its cross from card of {} mm, glue them flush at the foot, the longest lowest; measure its thickest step.",
            mm(STEP)
        ),
        "Shims are not a support: strap or prop the figure first.".into(),
    ]
}
