//! Where a bracket came to be: distances read to its holes once its glass has cured, against where
//! it was meant to be. Shift and turn by least squares (design/11, *The network*); from then on the
//! fixing is dimensioned to there, so that holes, drill sheet, template and jig follow alike.

use super::laid::{Laid, LayError, axes_at, pierced, within};
use super::stands::{BRACKET_WITHIN, Cannot, Stands, as_meant};
use super::view::{CuredRow, CuredView, HoleView, SwingView};
use crate::frames::{Flat, Point2, Vector2};
use crate::holes::chance::Alike;
use crate::job::{CuredReading, Entry, FixingEdit, FixingId, Job, PieceId};
use crate::prepare::Source;
use crate::prepare::tapes::soft_tape;
use crate::prepare::words::{direction_words, tenth};
use crate::readings::{Tape, TapeClass};
use crate::surface::{Development, Shape};
use crate::units::{Angle, Length};
use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

/// A bracket that moved more than this between two rounds is fitted once more, mm.
const STILL_MM: f64 = 0.005;
/// Rounds; two are enough on any face a bracket lies on.
const ROUNDS: usize = 6;
/// Readings further off than this many deviations contradict the rest (Baarda's 3.29).
const CRITICAL: f64 = 3.29;
/// A direction in which the distances change less than this, mm for each mm, is not held.
const LEAST_HELD: f64 = 0.1;

/// Why readings after cure can't be used, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(super) enum Unsettled {
    #[error(
        "the bracket read after cure: hole {hole} from {from} is {} mm off what the other distances say. Read it again, or take the one that is wrong back in History", tenth(*.by)
    )]
    Contradict { hole: u32, from: String, by: Length },
    #[error(
        "the bracket read after cure: these distances all run the same way, and leave it free the other. Read a hole from a mark that lies across"
    )]
    NotHeld,
}

/// Where the bracket came to be.
#[derive(Debug, Clone)]
pub(super) struct Cured {
    /// How well that is known: across, up (mm), turn (rad), about the middle.
    pub(super) spread: Matrix3<f64>,
    /// From where it was meant to be: right, up, turned anticlockwise.
    off: (Length, Length, Angle),
    /// So many distances.
    readings: usize,
    /// So many are needed.
    needed: usize,
}

impl Cured {
    /// 95 % of cases lie within this of the worst hole.
    pub(super) fn within(&self, places: &[Vector2<Flat>]) -> Length {
        let spread = DMatrix::from_fn(3, 3, |r, c| self.spread[(r, c)]);
        let worst = places.iter().map(|&p| within(&spread, p).mm());
        Length::from_mm(worst.fold(0.0, f64::max))
    }

    /// The same added to what moves all holes alike.
    pub(super) fn also(&self, mut alike: Alike<Flat>, places: &[Vector2<Flat>]) -> Alike<Flat> {
        let s = [(0, 0), (1, 0), (1, 1), (2, 0), (2, 1), (2, 2)].map(|at| self.spread[at]);
        alike.causes.extend(Alike::of_pose(places, s).causes);
        alike
    }

    /// What it comes to, a sentence each.
    pub(super) fn says(&self, places: &[Vector2<Flat>]) -> Vec<String> {
        let (right, up, turn) = self.off;
        let way = Vector2::<Flat>::from_mm(right.mm(), up.mm());
        // *2.0 mm high and right from where it was meant to be*.
        let moved = if way.norm_mm() < 0.05 {
            "where it was meant to be".to_owned()
        } else {
            format!(
                "{} mm {} from where it was meant to be",
                tenth(way.norm()),
                direction_words(way)
            )
        };
        let turned = if turn.deg().abs() < 0.05 {
            String::new()
        } else {
            format!(
                ", turned {:.1}° {}",
                turn.deg().abs(),
                if turn.rad() > 0.0 {
                    "anticlockwise"
                } else {
                    "clockwise"
                }
            )
        };
        let mut says = vec![format!(
            "The bracket came to lie {moved}{turned}; known within {} mm at its holes. Every hole, sheet and jig of this piece follows it from now on; what was printed before is stale",
            tenth(self.within(places))
        )];
        if self.readings <= self.needed {
            says.push("Nothing checks these distances yet: read one more".into());
        }
        says
    }
}

/// How many distances hold a bracket.
const fn needed(holes: usize) -> usize {
    if holes > 1 { 3 } else { 2 }
}

/// The rows to read: two holes as far apart as they come, each from the marks it swings from.
pub(super) fn cured_view(job: &Job, fixing: &FixingId, piece: &PieceId, meant: &Laid) -> CuredView {
    let read = job.cured_of(piece, fixing);
    let apart =
        |h: &HoleView, to: &HoleView| libm::hypot((h.at.0 - to.at.0).mm(), (h.at.1 - to.at.1).mm());
    let first = meant.holes.first();
    let far = first.and_then(|first| {
        let others = meant.holes.iter().skip(1);
        others.max_by(|a, b| apart(a, first).total_cmp(&apart(b, first)))
    });
    let mut rows = Vec::new();
    for hole in first.into_iter().chain(far) {
        let Some(tape) = &hole.tape else { continue };
        let swings = [Some(&tape.first), Some(&tape.second), tape.check.as_ref()];
        rows.extend(swings.into_iter().flatten().map(|swing: &SwingView| {
            CuredRow {
                hole: hole.number,
                meant: swing.clone(),
                read: read
                    .iter()
                    .find(|r| r.hole == hole.number && r.from == swing.mark)
                    .map(|r| r.value.clone()),
            }
        }));
    }
    let more = needed(meant.holes.len()).saturating_sub(read.len());
    let says = match read.len() {
        0 => "Not read yet: the bracket is taken to be where it was meant to be".to_owned(),
        n if more > 0 => {
            format!("{n} read: {more} more, and they replace the bracket’s place on the drawing")
        }
        _ => String::new(),
    };
    CuredView {
        rows,
        says: vec![says].into_iter().filter(|s| !s.is_empty()).collect(),
        counts: false,
    }
}

/// The pattern where the bracket was read to be; where it was meant to be as long as too little was
/// read.
///
/// # Errors
/// [`Unsettled`] where the readings contradict each other or leave it free; [`Cannot`] where the
/// pattern can't be laid there.
pub(super) fn settled(
    source: &Source<'_>,
    id: &FixingId,
    name: &str,
    fixing: &FixingEdit,
    piece: &PieceId,
    meant: Stands,
) -> Result<Stands, Cannot> {
    let read = source.job.cured_of(piece, id);
    // A mark that has no place on this casting holds nothing.
    let read: Vec<(usize, &CuredReading)> = read
        .into_iter()
        .filter_map(|r| Some((meant.standing.ids.iter().position(|m| *m == r.from)?, r)))
        .collect();
    let needed = needed(meant.places.len());
    if read.len() < needed {
        return Ok(meant);
    }
    let (mut edit, mut stands) = (fixing.clone(), meant);
    let (mut off, mut turned) = (Vector2::<Flat>::ZERO, 0.0);
    let mut rounds = 0;
    let fit = loop {
        let fit = fit(&stands, &read)?;
        let step = Vector2::<Flat>::from_mm(fit.step.x, fit.step.y);
        off = off + step.turned(turned);
        turned += fit.step.z;
        rounds += 1;
        edit = moved(&edit, step, fit.step.z);
        stands = as_meant(source, name, &edit, piece)?;
        if step.norm_mm() < STILL_MM || rounds == ROUNDS {
            break fit;
        }
    };
    if let Some((k, by)) = fit.worst {
        let (mark, read) = read[k];
        let letter = source
            .job
            .marks
            .get(&stands.standing.ids[mark])
            .and_then(|m| m.letter.clone());
        return Err(Unsettled::Contradict {
            hole: read.hole,
            from: letter.unwrap_or_default(),
            by,
        }
        .into());
    }
    stands.cured = Some(Cured {
        spread: fit.spread,
        off: (
            Length::from_mm(off.x_mm()),
            Length::from_mm(off.y_mm()),
            Angle::from_rad(turned),
        ),
        readings: read.len(),
        needed,
    });
    Ok(stands)
}

/// The fixing dimensioned to where its pattern moved: `step` is along its own axes.
fn moved(edit: &FixingEdit, step: Vector2<Flat>, turn_rad: f64) -> FixingEdit {
    let mm = |e: &Option<Entry>| e.as_ref().map_or(0.0, |e| e.mm.mm());
    let turn = edit.turn.unwrap_or(Angle::ZERO).rad();
    let along = step.turned(turn);
    FixingEdit {
        right: Some(Entry::of_mm(mm(&edit.right) + along.x_mm())),
        up: Some(Entry::of_mm(mm(&edit.up) + along.y_mm())),
        turn: Some(Angle::from_rad(turn + turn_rad)),
        ..edit.clone()
    }
}

struct Fit {
    step: Vector3<f64>,
    spread: Matrix3<f64>,
    /// The reading that contradicts the others most, and by how much.
    worst: Option<(usize, Length)>,
}

/// One step of Gauss and Newton from where the pattern stands.
fn fit(stands: &Stands, read: &[(usize, &CuredReading)]) -> Result<Fit, Cannot> {
    let reach = stands
        .places
        .iter()
        .map(|p| p.norm_mm())
        .fold(1.0_f64, f64::max);
    // A turn counts by what it moves the outermost hole, so that all unknowns are millimetres.
    let by = [1.0, 1.0, 1.0 / reach];
    let unknowns = if stands.places.len() > 1 { 3 } else { 2 };
    let n = read.len();
    let (mut jacobian, mut miss) = (DMatrix::zeros(n, unknowns), DVector::zeros(n));
    let mut sd = Vec::with_capacity(n);
    for (k, &(mark, reading)) in read.iter().enumerate() {
        const STEP_MM: f64 = 0.05;
        let here = distance(stands, mark, reading, [0.0; 3])?;
        let s = reading_sd_mm(reading.value.mm, reading.over);
        sd.push(s);
        miss[k] = (reading.value.mm.mm() - here) / s;
        for (u, by) in by.iter().enumerate().take(unknowns) {
            let mut at = [0.0; 3];
            at[u] = STEP_MM * by;
            let ahead = distance(stands, mark, reading, at)?;
            at[u] = -at[u];
            let behind = distance(stands, mark, reading, at)?;
            jacobian[(k, u)] = (ahead - behind) / (2.0 * STEP_MM) / s;
        }
    }
    let normal = jacobian.transpose() * &jacobian;
    let least = normal
        .clone()
        .symmetric_eigenvalues()
        .iter()
        .copied()
        .fold(f64::INFINITY, f64::min);
    let typical = sd.iter().copied().fold(0.0, f64::max);
    // A number that is none holds nothing either.
    let held = libm::sqrt(least.max(0.0)) * typical > LEAST_HELD;
    if !held {
        return Err(Unsettled::NotHeld.into());
    }
    let inverse = normal.try_inverse().ok_or(Unsettled::NotHeld)?;
    let step = &inverse * jacobian.transpose() * &miss;
    let left = &miss - &jacobian * &step;
    let hat = &jacobian * &inverse * jacobian.transpose();
    let mut worst: Option<(usize, f64)> = None;
    for k in 0..n {
        let room = 1.0 - hat[(k, k)];
        // What nothing checks contradicts nothing.
        if room < 1e-6 {
            continue;
        }
        let w = (left[k] / libm::sqrt(room)).abs();
        if w > CRITICAL && worst.is_none_or(|(_, most)| w > most) {
            worst = Some((k, w));
        }
    }
    let full = |r: usize, c: usize| {
        if r < unknowns && c < unknowns {
            inverse[(r, c)] * by[r] * by[c]
        } else {
            0.0
        }
    };
    let of = |u: usize| step.get(u).map_or(0.0, |s| s * by[u]);
    Ok(Fit {
        step: Vector3::new(of(0), of(1), of(2)),
        spread: Matrix3::from_fn(full),
        // How far it is off what the others say: its residual over its redundancy.
        worst: worst.map(|(k, _)| {
            let off = left[k] * sd[k] / (1.0 - hat[(k, k)]);
            (k, Length::from_mm(off.abs()))
        }),
    })
}

/// A class II tape from a mark, and the bracket's own holes beside it. The marks' own errors drop
/// out: the holes are later swung from the same marks by the same ways.
fn reading_sd_mm(length: Length, over: bool) -> f64 {
    let class = TapeClass::II;
    let tape = if over {
        soft_tape(class)
    } else {
        Tape::of_class(class)
    };
    let scale = tape.scale_sd_per_mm(length.mm()) * length.mm();
    let hole = BRACKET_WITHIN.mm() / libm::sqrt(3.0);
    libm::sqrt(tape.each.variance_mm2(2) + scale * scale + hole * hole)
}

/// The distance a reading would give with the pattern moved right and up (mm) and turned (rad).
fn distance(
    stands: &Stands,
    mark: usize,
    reading: &CuredReading,
    [right, up, turn]: [f64; 3],
) -> Result<f64, LayError> {
    const NEAR_MM: f64 = 0.01;
    let standing = &stands.standing;
    let (surface, pose) = (&standing.layout.surface, standing.placed.pose);
    let about = Development::new(surface, pose.centre, pose.up)?;
    let to = Point2::<Flat>::from_mm(right, up);
    let centre = about.face(to)?;
    let way = Vector2::<Flat>::from_mm(0.0, NEAR_MM).turned(turn);
    let ahead = about.face(to + way)? - centre;
    let up = ahead * (1.0 / surface.jet(centre)?.space(ahead).norm().mm().max(1e-12));
    let axes = axes_at(surface, centre, up)?;
    let from_middle = Development::new(surface, centre, up)?;
    let index = usize::try_from(reading.hole.saturating_sub(1)).unwrap_or(usize::MAX);
    let misses = LayError::Misses(reading.hole);
    let place = stands.places.get(index).copied().ok_or(misses.clone())?;
    let at = pierced(surface, &axes, &from_middle, place)?.ok_or(misses)?;
    let mark = surface.nearest(standing.layout.marks[mark], at);
    if reading.over {
        let seen = Development::new(surface, at, up)?.flat(mark)?;
        Ok(seen.from_origin().norm_mm())
    } else {
        Ok(surface.straight(at, mark)?.mm)
    }
}
