//! The seat of one piece: from the joint's facts and what was read there to shims, aims, what moves
//! what, and the pairing.

mod given;
mod pairs;
mod stick;
mod view;

pub use stick::{StickError, stick_sheet};
pub use view::*;

use crate::job::{Bedding, CastingId, Job, JointId, PieceId, SeatWhen, SpotId};
use crate::num::distribution::normal_quantile;
use crate::seat::{self as core_seat, Bed, Outcome, Stick};
use crate::units::Length;
use given::{Given, Setting};

/// Why there is no seat to show, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SeatError {
    /// No joint with pads and stations.
    #[error(
        "no joint of this job says yet where its figure rests: it needs two parts, a locating dimension, three pads and three stations. Say them here"
    )]
    NoJoint,
    /// No such piece.
    #[error("this job has no piece {0}")]
    NoPiece(String),
}

/// The seat of a piece at one of its joints; at the first that is set out where none is named.
///
/// # Errors
/// [`SeatError`] where there is no such piece or joint. What has not been read is said in the view.
pub fn seat_view(
    job: &Job,
    piece: &PieceId,
    joint: Option<&JointId>,
) -> Result<SeatView, SeatError> {
    let edit = job
        .pieces
        .get(piece)
        .ok_or_else(|| SeatError::NoPiece(piece.to_string()))?;
    let given = Given::of(job, joint).ok_or(SeatError::NoJoint)?;
    let number = edit
        .number
        .map_or_else(|| piece.to_string(), |n| n.to_string());
    let figure = given.casting(job, piece, &given.figure);
    let base = given.casting(job, piece, &given.base);
    let mut missing = Vec::new();
    let setting = given.setting(job, piece, base.as_ref(), figure.as_ref(), &mut missing);
    let name = |casting: &Option<CastingId>| casting.as_ref().map(|c| given::casting_name(job, c));
    let mut view = SeatView {
        joint: given.id.clone(),
        joints: Given::all(job).map(|g| (g.id, g.name)).collect(),
        name: given.name.clone(),
        piece: number,
        base: name(&base),
        figure: name(&figure),
        heights: heights(job, &given, base.as_ref(), figure.as_ref()),
        bedding: given.bedding,
        locating: given.locating,
        within: given.within,
        least: given.least,
        greatest: given.greatest,
        edge: given.edge,
        layers: given.layer_words(),
        from: setting.as_ref().map(|s| s.from),
        pads: given
            .pads
            .iter()
            .map(|p| PadView::bare(p, job, &given, piece))
            .collect(),
        stations: given
            .stations
            .iter()
            .map(|s| StationView::bare(s, job, &given, piece))
            .collect(),
        held: String::new(),
        free: Vec::new(),
        contradict: Vec::new(),
        moves: Vec::new(),
        misread: Vec::new(),
        sure: None,
        gain: stick::gain_words(&given),
        lean: None,
        missing,
        pairing: pairs::pairing_view(job, &given, piece),
    };
    if let Some(setting) = setting {
        fill(&mut view, &given, &setting);
    }
    view.lean = lean_now(&view);
    for k in 0..view.stations.len() {
        let ends = Stick::of(stick::aim(&view, k), given.within);
        if let Some(station) = view.stations.get_mut(k) {
            station.stick = ends.ok().map(|s| (s.goes, s.doesnt));
        }
    }
    Ok(view)
}

fn heights(
    job: &Job,
    given: &Given,
    base: Option<&CastingId>,
    figure: Option<&CastingId>,
) -> Vec<HeightRow> {
    let row = |(spot, name): (&crate::job::SeatSpot, String)| {
        let on = |casting: Option<&CastingId>| {
            casting.map(|casting| HeightCell {
                casting: casting.clone(),
                read: given.height_read(job, casting, &spot.id),
                usual: usual_height(job, given, casting, &spot.id),
            })
        };
        HeightRow {
            spot: spot.id.clone(),
            name,
            base: on(base),
            figure: on(figure),
        }
    };
    given.spots().map(row).collect()
}

/// What a place reads on the other castings of a part, the middle one: what a slip shows up against.
fn usual_height(job: &Job, given: &Given, of: &CastingId, spot: &SpotId) -> Option<Length> {
    let part = job.castings.get(of)?.part.as_ref()?;
    let others = job
        .castings
        .iter()
        .filter(|(id, c)| c.part.as_ref() == Some(part) && c.pattern != Some(true) && *id != of);
    let mut read: Vec<Length> = others
        .filter_map(|(id, _)| Some(given.height_read(job, id, spot)?.mm))
        .collect();
    read.sort_by(|a, b| a.mm().total_cmp(&b.mm()));
    read.get(read.len() / 2).copied()
}

fn fill(view: &mut SeatView, given: &Given, setting: &Setting) {
    let Ok(bedded) = core_seat::bed(&setting.bed) else {
        return;
    };
    let seating = bedded.outcome.seating();
    view.held = match &bedded.outcome {
        Outcome::Seated(_) => {
            "Held every way: the stations set height and lean, the witness marks the plan".into()
        }
        Outcome::NotHeld { .. } => "Not held every way".into(),
        Outcome::CannotImprove(_) | Outcome::GaveUp(_) => {
            "These readings don’t meet in one place: read them again".into()
        }
    };
    if let Outcome::NotHeld { free, .. } = &bedded.outcome {
        view.free = free.iter().map(ToString::to_string).collect();
    }
    let named = |i: &usize| {
        let spot = given.stations.get(*i)?;
        Some(format!(
            "{} reads {} mm off what the others say",
            spot.name,
            crate::units::fixed_mm(seating.off_by[*i].abs(), 1)
        ))
    };
    view.contradict = seating.contradict.iter().filter_map(named).collect();
    // Shims are told only when the place is sure.
    let Some(seating) = bedded.outcome.seated() else {
        return;
    };
    for (pad, (shim, flag)) in view
        .pads
        .iter_mut()
        .zip(bedded.shims.iter().zip(&bedded.flags))
    {
        pad.shim = Some(*shim);
        pad.flag = Some((*flag).into());
    }
    let place = &seating.base_from_figure;
    let aims = |layers: Length| bedded.reads_with(&setting.bed, layers);
    let (wet, cured) = (aims(given.layers.bedding), aims(given.layers.cured));
    for (i, station) in view.stations.iter_mut().enumerate() {
        let aim = |all: &Option<Vec<Length>>| all.as_ref().and_then(|a| a.get(i).copied());
        station.wet.aim = aim(&wet);
        station.cured.aim = aim(&cured);
        station.cured.verdict = station.cured.judged(given.within);
        station.wet.verdict = station.wet.judged(given.within);
        let own = &setting.bed.stations[i];
        station.foot = Some(Length::from_mm(own.on_base.mm().z));
        station.mark = Some(Length::from_mm(place.point(own.on_figure).mm().z));
    }
    for (pad, own) in view.pads.iter_mut().zip(&setting.bed.pads) {
        pad.top = Some(Length::from_mm(own.on_base.mm().z));
    }
    if let Some(standing) = bedded.lifts(&setting.bed) {
        view.moves = moves(&setting.bed, &standing);
    }
    if view.from == Some(SeatFrom::Trial) {
        view.misread = misread(&setting.bed, seating);
    }
    view.sure = sure(&setting.bed, seating);
}

/// How sure the shims are: two deviations of the worst pad.
fn sure(bed: &Bed, seating: &core_seat::Seating) -> Option<Length> {
    let worst = bed.pads.iter().filter_map(|pad| {
        let n = pad.normal.unit()?.mm();
        let c = seating.covariance(pad.on_figure);
        let n = [n.x, n.y, n.z];
        let mut v = 0.0;
        for i in 0..3 {
            for j in 0..3 {
                v += n[i] * c[i][j] * n[j];
            }
        }
        Some(libm::sqrt(v.max(0.0)))
    });
    let worst = worst.fold(0.0_f64, f64::max);
    Some(Length::from_mm(normal_quantile(0.975) * worst))
}

/// What 1 mm more of shim does at each station and to the top.
fn moves(bed: &Bed, standing: &core_seat::Seating) -> Vec<MoveRow> {
    let count = bed.pads.len();
    let row = |what: String, pads: &[usize]| {
        let up = bed.stations.iter().map(|s| {
            let each = pads.iter().map(|&i| standing.moves(i, s.on_figure).mm().z);
            Length::from_mm(each.sum())
        });
        let (mut right, mut back) = (0.0, 0.0);
        for &i in pads {
            let turn = standing.twist(i).1.mm();
            right += turn.y;
            back -= turn.x;
        }
        MoveRow {
            what,
            up: up.collect(),
            leans: Length::from_mm(100.0 * libm::hypot(right, back)),
            towards: towards(right, back),
        }
    };
    let mut rows: Vec<MoveRow> = (0..count)
        .map(|i| row(bed.pads[i].name.clone(), &[i]))
        .collect();
    if count > 1 {
        let all: Vec<usize> = (0..count).collect();
        rows.push(row("all of them".into(), &all));
    }
    rows
}

/// What a locating dimension read 1 mm too long on trial does: the figure is taken to stand higher
/// there than it does, so that its shims bring it too low by as much.
fn misread(bed: &Bed, seating: &core_seat::Seating) -> Vec<MisreadRow> {
    let row = |(i, station): (usize, &core_seat::Station)| {
        let shims = bed.pads.iter().map(|pad| {
            let normal = pad.normal.unit().unwrap_or(bed.up);
            Length::from_mm(-normal.dot(seating.moves(i, pad.on_figure)))
        });
        let turn = seating.twist(i).1.mm();
        let (right, back) = (-turn.y, turn.x);
        MisreadRow {
            station: station.name.clone(),
            shims: shims.collect(),
            leans: Length::from_mm(100.0 * libm::hypot(right, back)),
            towards: towards(right, back),
        }
    };
    bed.stations.iter().enumerate().map(row).collect()
}

/// A direction in plan in words, as somebody looking at the front sees it.
pub(super) fn towards(right: f64, back: f64) -> String {
    if libm::hypot(right, back) < 1e-5 {
        return "nowhere".into();
    }
    let half = core::f64::consts::FRAC_1_SQRT_2;
    let named = [
        ("right", 1.0, 0.0),
        ("back right", half, half),
        ("back", 0.0, 1.0),
        ("back left", -half, half),
        ("left", -1.0, 0.0),
        ("front left", -half, -half),
        ("front", 0.0, -1.0),
        ("front right", half, -half),
    ];
    let (mut best, mut most) = ("right", f64::MIN);
    for (name, x, y) in named {
        let along = x * right + y * back;
        // Halfway between two the first counts, whatever the last digit says.
        if along > most + 1e-9 {
            (best, most) = (name, along);
        }
    }
    best.to_owned()
}

/// Lean and step by the latest full round of readings: cured before wet before dry.
fn lean_now(view: &SeatView) -> Option<LeanView> {
    for when in [SeatWhen::Cured, SeatWhen::Wet] {
        let read: Option<Vec<_>> = view
            .stations
            .iter()
            .map(|s| {
                let state = s.at(when);
                let off = state.read.as_ref()?.mm.mm() - state.aim?.mm();
                Some((s.at_mm(), Length::from_mm(off)))
            })
            .collect();
        if let Some(lean) = read.and_then(|r| core_seat::lean(&r, view.edge?)) {
            let angle = lean.high_towards.rad();
            return Some(LeanView {
                when,
                high: lean.high,
                tilt_deg: lean.tilt.deg(),
                high_towards: towards(libm::cos(angle), libm::sin(angle)),
                step: lean.step,
            });
        }
    }
    None
}

/// What a way of bedding means for swapping, in words.
#[must_use]
pub const fn bedding_words(bedding: Bedding) -> &'static str {
    match bedding {
        Bedding::OwnBase => {
            "Bedded on its own base: once bedded the pair is locked, and a swap asks for a new seating"
        }
        Bedding::MasterSeat => "Bedded on the master seat: any figure fits any base",
        Bedding::HardPads => "On hard pads, no filler: free to swap",
    }
}
