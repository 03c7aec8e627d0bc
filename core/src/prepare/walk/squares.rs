//! Square distances of a walk: which are asked for, and what each should come to.

use super::super::edges::{edges_of, letter};
use super::super::network::{MARK_SPREAD, Marks};
use super::face::OnFace;
use super::view::Expected;
use crate::job::{EdgeId, Job, Measured, PointRef};
use crate::readings::SquareOff;
use crate::units::Length;

/// Two marks nearer to each other along an edge don't say how it runs (common practice, no source).
const APART: Length = Length::from_mm(40.0);

/// What something on this face follows is read square from the two of its marks that lie furthest apart
/// along it: an edge has two unknowns.
pub(super) fn wanted(job: &Job, on: &OnFace) -> Vec<Measured> {
    let features = job.features.values().map(|f| (&f.face, &f.rule));
    let fixings = job.fixings.values().map(|f| (&f.face, &f.rule));
    let mut followed: Vec<&EdgeId> = Vec::new();
    for (_, rule) in features
        .chain(fixings)
        .filter(|(face, _)| face.as_ref() == Some(&on.id))
    {
        for edge in rule.iter().flat_map(|r| r.edges()) {
            if !followed.contains(&edge) {
                followed.push(edge);
            }
        }
    }
    let known = edges_of(job, &on.id);
    followed
        .into_iter()
        .filter_map(|edge| Some((edge, known.iter().position(|k| k == edge)?)))
        .flat_map(|(edge, k)| {
            ends(job, on, k)
                .into_iter()
                .map(|to| Measured::Square {
                    edge: edge.clone(),
                    to,
                })
                .collect::<Vec<_>>()
        })
        .collect()
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

/// Why it is asked.
pub(super) fn why(job: &Job, edge: &EdgeId) -> String {
    format!("something on this face follows edge {}", letter(job, edge))
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
