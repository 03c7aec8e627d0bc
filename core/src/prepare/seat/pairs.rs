//! Every figure on every base, from the heights of both.

use super::bedding_words;
use super::given::{Given, casting_name};
use super::view::{PairingCell, PairingRow, PairingView};
use crate::job::{Bedding, CastingId, Job, PartId, PieceId, SeatRead, SeatWhen};
use crate::seat::{Fit, Pairing, bed, pairing};
use crate::units::{Length, fixed_mm};

/// Castings of a part with all heights read, in the order of their numbers, with those heights.
fn measured(job: &Job, given: &Given, part: &PartId) -> Vec<(CastingId, Vec<f64>)> {
    let mut all: Vec<(CastingId, Vec<f64>)> = job
        .castings
        .iter()
        .filter(|(_, c)| c.part.as_ref() == Some(part) && c.pattern != Some(true))
        .filter_map(|(id, _)| Some((id.clone(), given.heights(job, id)?)))
        .collect();
    let order = |id: &CastingId| {
        let name = casting_name(job, id);
        let digits: String = name.chars().filter(char::is_ascii_digit).collect();
        (digits.parse::<u64>().unwrap_or(u64::MAX), name)
    };
    all.sort_by_cached_key(|(id, _)| (order(id), id.clone()));
    all
}

/// Pieces bedded on their own base: their figure and base stay together.
fn locked(job: &Job, given: &Given) -> Vec<(CastingId, CastingId)> {
    if given.bedding != Some(Bedding::OwnBase) {
        return Vec::new();
    }
    let bedded = |piece: &PieceId| {
        let mut read = job.seat_readings.about(&given.id);
        read.any(|r| match &r.says.of {
            SeatRead::Gap { piece: p, when, .. } | SeatRead::Locating { piece: p, when, .. } => {
                p == piece && *when != SeatWhen::Dry
            }
            SeatRead::Height { .. } => false,
        })
    };
    let pair = |piece: &PieceId| {
        Some((
            given.casting(job, piece, &given.figure)?,
            given.casting(job, piece, &given.base)?,
        ))
    };
    let pieces = job.pieces.keys().filter(|p| bedded(p));
    pieces.filter_map(pair).collect()
}

pub(super) fn pairing_view(job: &Job, given: &Given, piece: &PieceId) -> Option<PairingView> {
    let figures = measured(job, given, &given.figure);
    let bases = measured(job, given, &given.base);
    if figures.is_empty() || bases.is_empty() {
        return None;
    }
    let fit = |figure: &[f64], base: &[f64]| -> Option<Fit> {
        let bedded = bed(&given.bed_of(base, figure)).ok()?;
        bedded.outcome.seated()?;
        Some(Fit::of(bedded.shims, given.least, given.greatest))
    };
    let fits: Vec<Vec<Option<Fit>>> = figures
        .iter()
        .map(|(_, f)| bases.iter().map(|(_, b)| fit(f, b)).collect())
        .collect();
    let at = |all: &[(CastingId, Vec<f64>)], id: &CastingId| all.iter().position(|(i, _)| i == id);
    let locked: Vec<(usize, usize)> = locked(job, given)
        .iter()
        .filter_map(|(f, b)| Some((at(&figures, f)?, at(&bases, b)?)))
        .collect();
    let allowed = Length::from_mm((given.greatest.mm() - given.least.mm()) / 2.0);
    let found = pairing(&fits, allowed, &locked);
    let name = |id: &CastingId| casting_name(job, id);
    let mm = |um: i64| fixed_mm(Length::from_mm(um as f64 / 1000.0), 1);
    let verdict = match &found {
        Pairing::AnyFitsAny { spare_um, .. } => {
            format!("Any fits any, {} mm to spare", mm(*spare_um))
        }
        Pairing::Best {
            assignment, inside, ..
        } => {
            let worst = mm(assignment.worst);
            if *inside {
                format!("Not any on any: paired as ringed, the worst is {worst} mm off")
            } else {
                format!(
                    "Even paired as ringed the worst is {worst} mm off: more than the bed allows"
                )
            }
        }
        Pairing::None => "These can’t be paired: one is locked twice".to_owned(),
    };
    let mut because = given
        .bedding
        .map_or(
            "Not said yet how it is bedded: on its own base, on the master seat or on hard pads",
            bedding_words,
        )
        .to_owned();
    if let Pairing::AnyFitsAny { worst: (f, b), .. } = &found {
        because.push_str(&format!(
            ". The tightest pair is {} on {}",
            name(&figures[*f].0),
            name(&bases[*b].0)
        ));
    }
    let married = |i: usize, j: usize| {
        job.pieces.keys().any(|p: &PieceId| {
            given.casting(job, p, &given.figure).as_ref() == Some(&figures[i].0)
                && given.casting(job, p, &given.base).as_ref() == Some(&bases[j].0)
        })
    };
    let chosen = |i: usize, j: usize| match &found {
        Pairing::Best { assignment, .. } => assignment.column.get(i) == Some(&Some(j)),
        Pairing::AnyFitsAny { .. } => married(i, j),
        Pairing::None => false,
    };
    let here = given.casting(job, piece, &given.figure);
    let rows = figures
        .iter()
        .enumerate()
        .map(|(i, (figure, _))| PairingRow {
            figure: name(figure),
            here: here.as_ref() == Some(figure),
            on: (0..bases.len())
                .map(|j| PairingCell {
                    misfit: fits[i][j].as_ref().map(|f| f.misfit),
                    shims: fits[i][j]
                        .as_ref()
                        .map_or_else(Vec::new, |f| f.shims.clone()),
                    chosen: chosen(i, j),
                    married: married(i, j),
                    locked: locked.contains(&(i, j)),
                    inside: fits[i][j]
                        .as_ref()
                        .is_some_and(|f| f.misfit.to_um() <= allowed.to_um()),
                })
                .collect(),
        });
    Some(PairingView {
        verdict,
        because,
        figures: rows.collect(),
        bases: bases.iter().map(|(id, _)| name(id)).collect(),
        allowed,
    })
}
