//! Square distances of a walk: which are asked for, and what each should come to.

use super::super::edges::{edges_of, letter};
use super::super::network::{MARK_SPREAD, Marks};
use super::face::OnFace;
use super::view::Expected;
use crate::frames::{Face, Point2};
use crate::job::{EdgeId, Job, Measured, PointRef};
use crate::readings::SquareOff;
use crate::units::Length;

/// Two marks nearer to each other along an edge don't say how it runs (common practice, no source).
const APART: Length = Length::from_mm(40.0);

/// What something on this face follows is read square from the two of its marks that lie furthest apart
/// along it: an edge has two unknowns.
///
/// Where that is more than there is room for, what is only an end, up to which a sheet is pushed, is read
/// from one mark, the one nearest to what goes there: how it leans then comes from the drawing (4 mm in a
/// metre, as marks stray), and so near by that is next to nothing. What the sheet lies along keeps both:
/// its turn hangs on them.
pub(super) fn wanted(job: &Job, on: &OnFace, room: usize) -> Vec<Measured> {
    let features = job.features.values().map(|f| (&f.face, &f.rule));
    let fixings = job.fixings.values().map(|f| (&f.face, &f.rule));
    let mut followed: Vec<(&EdgeId, bool)> = Vec::new();
    for (_, rule) in features
        .chain(fixings)
        .filter(|(face, _)| face.as_ref() == Some(&on.id))
    {
        for (k, edge) in rule.iter().flat_map(|r| r.edges()).enumerate() {
            // The second of two is the end.
            let only_end = k > 0;
            match followed.iter_mut().find(|(known, _)| *known == edge) {
                Some((_, end)) => *end &= only_end,
                None => followed.push((edge, only_end)),
            }
        }
    }
    let known = edges_of(job, &on.id);
    let mut all: Vec<(&EdgeId, bool, usize, Vec<PointRef>)> = followed
        .into_iter()
        .filter_map(|(edge, end)| {
            let k = known.iter().position(|k| k == edge)?;
            Some((edge, end, k, ends(job, on, k)))
        })
        .collect();
    while all.iter().map(|a| a.3.len()).sum::<usize>() > room {
        let spare = all.iter_mut().rev().find(|a| a.1 && a.3.len() > 1);
        let Some((edge, _, k, marks)) = spare else {
            break;
        };
        *marks = nearest(job, on, edge, *k).map_or_else(|| marks[..1].to_vec(), |m| vec![m]);
    }
    all.into_iter()
        .flat_map(|(edge, _, _, marks)| {
            marks.into_iter().map(|to| Measured::Square {
                edge: edge.clone(),
                to,
            })
        })
        .collect()
}

/// The mark that lies nearest, along an edge, to the features that end there; of several features to the
/// middle of them.
fn nearest(job: &Job, on: &OnFace, edge: &EdgeId, k: usize) -> Option<PointRef> {
    let turn = on.on_pattern.adjusted.edges.get(k)?.along.rad();
    let along = |at: Point2<Face>| at.x_mm() * libm::cos(turn) + at.y_mm() * libm::sin(turn);
    let there: Vec<f64> = (on.features.iter())
        .filter(|(_, id)| {
            let rule = job.features.get(id).and_then(|f| f.rule.as_ref());
            rule.is_some_and(|r| r.edges().contains(&edge))
        })
        .map(|(at, _)| along(*at))
        .collect();
    if there.is_empty() {
        return None;
    }
    let middle = there.iter().sum::<f64>() / there.len() as f64;
    let off =
        |k: &usize| (on.nominal.get(*k)).map_or(f64::INFINITY, |at| (along(*at) - middle).abs());
    let used = on.used(job);
    let best = used
        .iter()
        .min_by(|a, b| off(a).total_cmp(&off(b)).then(a.cmp(b)))?;
    Some(PointRef::Mark(on.marks.get(*best)?.clone()))
}

/// The marks furthest apart along an edge, the left one first seen with the face above it; one where
/// no two tell how it runs, none where the pattern does not say where it is.
fn ends(job: &Job, on: &OnFace, edge: usize) -> Vec<PointRef> {
    let Some(start) = on.on_pattern.adjusted.edges.get(edge) else {
        return Vec::new();
    };
    let turn = start.along.rad();
    let along = |k: usize| {
        on.nominal.get(k).map_or(0.0, |at| {
            at.x_mm() * libm::cos(turn) + at.y_mm() * libm::sin(turn)
        })
    };
    let mut used = on.used(job);
    used.sort_by(|a, b| along(*a).total_cmp(&along(*b)).then(a.cmp(b)));
    let (Some(first), Some(last)) = (used.first().copied(), used.last().copied()) else {
        return Vec::new();
    };
    let two = along(last) - along(first) >= APART.mm();
    [Some(first), two.then_some(last)]
        .into_iter()
        .flatten()
        .filter_map(|k| Some(PointRef::Mark(on.marks.get(k)?.clone())))
        .collect()
}

/// Why it is asked; from one mark alone, where how it leans comes from.
pub(super) fn why(job: &Job, edge: &EdgeId, alone: bool) -> String {
    let leans = if alone {
        "; how it leans is taken from the drawing"
    } else {
        ""
    };
    format!(
        "something on this face follows edge {}{leans}",
        letter(job, edge)
    )
}

/// How far a mark lies square from an edge, as readings of one casting tell.
fn told(marks: &Marks, edge: usize, to: &PointRef) -> Option<SquareOff> {
    marks.adjusted.square_off(edge, marks.index(to)?)
}

/// What a square distance should come to, ±3 standard deviations: by what was read of that edge on
/// this casting, else as the pattern has it, edge and mark each as far off as castings stray.
pub(super) fn expected(job: &Job, on: &OnFace, of: &Measured, noise: Length) -> Option<Expected> {
    let Measured::Square { edge, to } = of else {
        return None;
    };
    let k = edges_of(job, &on.id).iter().position(|e| e == edge)?;
    let here = on.read.as_ref().ok().and_then(|marks| told(marks, k, to));
    let off = here.or_else(|| {
        let drawn = told(&on.on_pattern, k, to)?;
        let strays = MARK_SPREAD.mm() * core::f64::consts::SQRT_2;
        Some(SquareOff {
            by: drawn.by * on.factor,
            sd: Length::from_mm(libm::hypot(drawn.sd.mm(), strays)),
        })
    })?;
    let reach = Length::from_mm(3.0 * libm::hypot(off.sd.mm(), noise.mm()));
    Some(Expected {
        low: off.by - reach,
        middle: off.by,
        high: off.by + reach,
    })
}
