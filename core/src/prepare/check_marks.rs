//! Checking a feature by distances from marks to its painted middle: the second way, beside laying
//! the template back. The painted middle is one more point of the casting's own network, so that the
//! marks' readings and the feature's share what their tapes have wrong.

use super::Source;
use super::checks::{Judgement, offset_words, rule_of};
use super::design::{Design, design, missing};
use super::doubted::{FROM_MARKS, disagree};
use super::error::PrepareError;
use super::feature::{Prepared, USUAL_TOLERANCE};
use super::naming::{name_of, reading_words};
use super::standing::{Standing, standing, standing_with};
use super::tapes::noise;
use super::words::tenth;
use crate::check::{Verdict, judge};
use crate::frames::{Flat, Vector2};
use crate::job::{
    Entry, FeatureId, Found, InstrumentId, Job, MarkId, Measured, PieceId, PointRef, Reading,
};
use crate::num::small::eigen2;
use crate::surface::Shape;
use crate::units::Length;
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

/// Finding the middle of what is painted, each way: half of two widths read to half a millimetre,
/// the edges judged to 0.2 mm (common practice, no source).
const MIDDLE_SD: Length = Length::from_mm(0.3);

/// What distances from the marks are good for, before any is read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FromMarks {
    /// Marks that can be found on the casting, with their letters.
    pub marks: Vec<(MarkId, String)>,
    /// One standard deviation, the worse way, with a distance over the surface from each.
    pub sd: Length,
    /// The tape they were thought to be read with: the one of the casting's own last reading.
    pub instrument: Option<InstrumentId>,
}

/// Where the painted middle is seen from its target, and how sure.
struct Seen {
    off: Vector2<Flat>,
    /// Covariance: right, both, up, mm².
    covariance: [f64; 3],
    /// The readings contradict each other: which to look at.
    doubt: Option<String>,
}

impl Seen {
    fn worse_sd(&self) -> Length {
        let [rr, ru, uu] = self.covariance;
        let [_, (worse, _)] = eigen2(rr, ru, uu);
        Length::from_mm(libm::sqrt(worse.max(0.0)))
    }
}

fn form(a: &[f64], c: &DMatrix<f64>, b: &[f64]) -> f64 {
    a.iter()
        .enumerate()
        .map(|(r, x)| {
            let row: f64 = (b.iter().enumerate())
                .map(|(k, y)| c.get((r, k)).copied().unwrap_or(0.0) * y)
                .sum();
            x * row
        })
        .sum()
}

fn square(l: Length) -> f64 {
    l.mm() * l.mm()
}

/// How what is seen at a place from the target moves when the target shifts and turns, given how
/// the place itself moves (nothing where it stays).
fn relative(
    own: Option<&[Vec<f64>; 2]>,
    target: &[Vec<f64>; 3],
    (x, y): (f64, f64),
) -> [Vec<f64>; 2] {
    let [across, up, turn] = target;
    let row = |k: usize, shift: &[f64], lever: f64| -> Vec<f64> {
        (shift.iter().zip(turn).enumerate())
            .map(|(column, (shift, turn))| {
                let own = own.and_then(|o| o.get(k)?.get(column)).copied();
                own.unwrap_or(0.0) - shift + lever * turn
            })
            .collect()
    };
    [row(0, across, y), row(1, up, -x)]
}

fn both(rows: &[Vec<f64>; 2], c: &DMatrix<f64>) -> [f64; 3] {
    let [right, up] = rows;
    [form(right, c, right), form(right, c, up), form(up, c, up)]
}

fn seen(
    source: &Source<'_>,
    design: &Design<'_>,
    (feature, piece): (&FeatureId, &PieceId),
    readings: &[Reading],
) -> Result<Seen, PrepareError> {
    let s = standing_with(source, design, piece, Some((feature, readings)))?;
    let (Some(at), Some(by)) = (s.placed.marks.last(), s.placed.marks_by_casting.last()) else {
        return Err(missing("a distance", &design.name, "read one from a mark"));
    };
    let place = (at.x_mm(), at.y_mm());
    let casting = both(
        &relative(Some(&by.0), &s.placed.by_casting.0, place),
        &s.covariance,
    );
    let drawing = both(
        &relative(None, &s.placed.by_drawing.0, place),
        &s.nominal_covariance,
    );
    let middle = square(MIDDLE_SD);
    Ok(Seen {
        off: Vector2::from_mm(place.0, place.1),
        covariance: [
            casting[0] + drawing[0] + middle,
            casting[1] + drawing[1],
            casting[2] + drawing[2] + middle,
        ],
        doubt: doubt(source.job, &s, readings),
    })
}

/// What to look at where the readings disagree more than the tools allow (design/11).
fn doubt(job: &Job, s: &Standing, readings: &[Reading]) -> Option<String> {
    let adjusted = &s.marks.adjusted;
    adjusted.chi_square.filter(|c| c.too_high)?;
    let own = adjusted.readings.get(s.marks.facts.len()..)?;
    let off = |w: Option<f64>| w.unwrap_or(0.0).abs();
    let (worst, reading) =
        (own.iter().map(|r| off(r.w)).zip(readings)).max_by(|a, b| a.0.total_cmp(&b.0))?;
    let before = adjusted.readings.iter().take(s.marks.facts.len());
    let look = if before.map(|r| off(r.w)).any(|w| w > worst) {
        "the marks of this casting, in Measure".to_owned()
    } else {
        reading_words(job, &reading.of)
    };
    Some(format!(
        "The distances do not go together with each other and with the readings of this casting. Look again at {look}"
    ))
}

fn from_mark(reading: &Reading) -> Option<&MarkId> {
    match &reading.of {
        Measured::Straight { from, .. } | Measured::Over { from, .. } => match from {
            PointRef::Mark(mark) => Some(mark),
            PointRef::Feature(_) => None,
        },
        _ => None,
    }
}

/// One distance: how much further from its mark the middle is than it should be, and the standard
/// deviation of that. Of the other way it says nothing.
fn along(
    source: &Source<'_>,
    design: &Design<'_>,
    piece: &PieceId,
    reading: &Reading,
) -> Result<(Vector2<Flat>, Length), PrepareError> {
    let job = source.job;
    let s = standing(source, design, piece)?;
    let unknown = || PrepareError::Reading {
        casting: design.name.clone(),
        reading: reading_words(job, &reading.of),
        why: "this mark was not read on this casting: read it from another mark first".to_owned(),
    };
    let mark = from_mark(reading).ok_or_else(unknown)?;
    let k = s.ids.iter().position(|m| m == mark).ok_or_else(unknown)?;
    let (at, by, on_face) = match (
        s.placed.marks.get(k),
        s.placed.marks_by_casting.get(k),
        s.layout.marks.get(k),
    ) {
        (Some(at), Some(by), Some(on_face)) => (*at, by, *on_face),
        _ => return Err(unknown()),
    };
    let far = libm::hypot(at.x_mm(), at.y_mm());
    if far < 1.0 {
        return Err(unknown());
    }
    let (x, y) = (at.x_mm() / far, at.y_mm() / far);
    let surface = &s.layout.surface;
    let refused = |why| PrepareError::Surface {
        feature: design.name.clone(),
        why,
    };
    // Straight through the air it is shorter, and grows more slowly, than over the surface.
    let further = match &reading.of {
        Measured::Straight { .. } => {
            let centre = s.placed.pose.centre;
            let near = surface.nearest(on_face, centre);
            let chord = surface.straight(near, centre).map_err(refused)?;
            let over = surface.over_surface(near, centre, 0).map_err(refused)?;
            let rate = over.d_to.norm_mm() / chord.d_to.norm_mm().max(1e-6);
            (reading.value.mm.mm() - chord.mm) * rate
        }
        _ => reading.value.mm.mm() - far,
    };
    let towards = |rows: [Vec<f64>; 2], c: &DMatrix<f64>| {
        let [rr, ru, uu] = both(&rows, c);
        x * x * rr + 2.0 * x * y * ru + y * y * uu
    };
    let place = (at.x_mm(), at.y_mm());
    let variance = square(noise(job, reading.instrument.as_ref(), reading.value.mm))
        + square(MIDDLE_SD)
        + towards(
            relative(Some(&by.0), &s.placed.by_casting.0, place),
            &s.covariance,
        )
        + towards(
            relative(None, &s.placed.by_drawing.0, place),
            &s.nominal_covariance,
        );
    Ok((
        Vector2::from_mm(-x * further, -y * further),
        Length::from_mm(libm::sqrt(variance)),
    ))
}

/// Judges distances from marks to the painted middle of a feature.
///
/// # Errors
/// [`PrepareError`] where the target can't be worked out, or a distance begins at a mark that was
/// not read on this casting.
pub fn judge_marks(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
    readings: &[Reading],
) -> Result<Judgement, PrepareError> {
    let job = source.job;
    let design = design(source, feature, job.number_of(piece))?;
    let limit = (design.edit.tolerance)
        .filter(|t| t.mm() > 0.0)
        .unwrap_or(USUAL_TOLERANCE);
    let rule = rule_of(job);
    let (off, sd, doubt) = match readings {
        [one] => {
            let (off, sd) = along(source, &design, piece, one)?;
            (off, sd, None)
        }
        _ => {
            let seen = seen(source, &design, (feature, piece), readings)?;
            (seen.off, seen.worse_sd(), seen.doubt)
        }
    };
    // What the distances alone agree on, or dilute, takes nothing from what the casting's own say.
    let own = standing(source, &design, piece).ok();
    let doubt = (own
        .filter(|s| disagree(&s.marks))
        .map(|_| FROM_MARKS.to_owned()))
    .or(doubt);
    let mut judged = judge(off.norm(), limit, sd, rule);
    // One way alone can show that it is outside and never that it is within.
    let one_way = readings.len() == 1 && judged.verdict == Verdict::Within;
    if one_way || doubt.is_some() {
        judged.verdict = Verdict::NotProven;
    }
    let (right, up) = (Length::from_mm(off.x_mm()), Length::from_mm(off.y_mm()));
    Ok(Judgement {
        found: Found {
            right,
            up,
            size: Length::ZERO,
            limit,
            guard: judged.guard,
            verdict: judged.verdict,
            rule,
            sd: Some(sd),
        },
        says: match readings {
            [one] => one_way_words(job, one, off),
            _ => offset_words(right, up),
        },
        size_says: None,
        settle: (judged.verdict == Verdict::NotProven && doubt.is_none()).then(|| {
            if readings.len() == 1 {
                "One distance says nothing of the other way: read it from a mark to the side of this one too".to_owned()
            } else {
                "Read it from another mark too, as square to these as there is one, or lay the template back; or ask for a concession".to_owned()
            }
        }),
        doubt,
    })
}

/// *0.8 right as far as D tells*.
fn one_way_words(job: &Job, reading: &Reading, off: Vector2<Flat>) -> String {
    let words = offset_words(Length::from_mm(off.x_mm()), Length::from_mm(off.y_mm()));
    match from_mark(reading) {
        Some(mark) => format!(
            "{words}, as far as {} tells",
            name_of(job, &PointRef::Mark(mark.clone()))
        ),
        None => words,
    }
}

/// What distances from every mark that can be found would be good for: the same adjustment, on
/// distances as they should be.
pub(super) fn from_marks(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
    p: &Prepared,
) -> Option<FromMarks> {
    let job = source.job;
    let casting = job.casting_with(feature, piece)?;
    let centre = p.placed.pose.centre;
    let instrument = (job.readings.about(casting).rev())
        .filter(|r| matches!(r.says.of, Measured::Over { .. }))
        .find_map(|r| r.says.instrument.clone());
    let (marks, readings): (Vec<_>, Vec<_>) = (p.crosses.iter())
        .filter(|c| !c.unread && c.gone.is_none())
        .filter_map(|c| {
            let point = PointRef::Mark(c.mark.clone());
            let at = p.surface.nearest(p.marks.at(&point)?, centre);
            let far = p.surface.over_surface(at, centre, 0).ok()?;
            let reading = Reading {
                casting: casting.clone(),
                of: Measured::Over {
                    from: point,
                    to: PointRef::Feature(feature.clone()),
                },
                value: Entry::of_mm(far.mm),
                instrument: instrument.clone(),
                hooked: false,
                stage: None,
                within: None,
                set_aside: None,
            };
            Some(((c.mark.clone(), c.letter.clone()), reading))
        })
        .unzip();
    let design = design(source, feature, job.number_of(piece)).ok()?;
    let sd = match readings.as_slice() {
        [] => return None,
        [one] => along(source, &design, piece, one).ok()?.1,
        _ => seen(source, &design, (feature, piece), &readings)
            .ok()?
            .worse_sd(),
    };
    Some(FromMarks {
        marks,
        sd,
        instrument,
    })
}

/// *By lay-back ± 0.6, from the marks ± 1.1: laying the template back tells more*; both at two
/// standard deviations.
#[must_use]
pub fn ways_words(lay_back_sd: Length, from: &FromMarks) -> String {
    let better = if lay_back_sd.to_um() <= from.sd.to_um() {
        "laying the template back tells more; distances from the marks do not rest on the template"
    } else {
        "the marks tell more"
    };
    format!(
        "By lay-back ± {}, from the marks ± {}: {better}",
        tenth(lay_back_sd * 2.0),
        tenth(from.sd * 2.0)
    )
}
