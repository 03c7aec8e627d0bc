//! The pattern: where its marks and the features' centres lie, from its own readings alone.

use super::edges::{self, Corner};
use super::error::PrepareError;
use super::face::{Sized, pattern_held, upper_line};
use super::naming::{casting_words, name_of};
use super::network::{LeftOpen, Marks, Wanted, adjusted, marks_of, readings_on};
use super::scans::brought_onto;
use crate::frames::{Face, Point2, Vector2};
use crate::job::{
    BoardAxis, CastingId, FaceAxis, FaceId, Job, Kept, LineSide, MarkId, Measured, PointRef,
    Reading as JobReading, RuleSpec,
};
use crate::readings::{EdgeStart, Side, StartError, start_about, start_from_readings};
use crate::surface::Surface;
use crate::units::Length;

/// The pattern's marks and feature centres, from its own readings alone; once a question, as all
/// features of a face and all pieces ask for them. `sized` is the face as the job has it.
pub(super) fn pattern_marks(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    sized: &Sized,
) -> Result<Marks, PrepareError> {
    let work = || placed_on(job, face, casting, sized, None);
    job.asked.once(face, casting, work)
}

/// The same, with the corner of two edges that something follows.
pub(super) fn pattern_marks_about(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    sized: &Sized,
    corner: Option<&Corner>,
) -> Result<Marks, PrepareError> {
    match corner {
        None => pattern_marks(job, face, casting, sized),
        corner => placed_on(job, face, casting, sized, corner),
    }
}

fn placed_on(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    sized: &Sized,
    corner: Option<&Corner>,
) -> Result<Marks, PrepareError> {
    let points = points_read_on(job, face, casting);
    if points.is_empty() {
        return Err(PrepareError::NotMeasured {
            casting: casting_words(job, casting),
            list: "the distances between its marks, and from them to the middle of what is painted"
                .into(),
        });
    }
    let (found, open) = as_many_as_held(job, face, casting, sized, corner, points);
    let mut marks = found?;
    marks.open = open;
    Ok(marks)
}

/// As many of some points as the readings hold: one that is not held yet, as a feature read from one mark
/// so far, keeps the others usable. With those that were left out.
pub(super) fn as_many_as_held(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    sized: &Sized,
    corner: Option<&Corner>,
    mut points: Vec<PointRef>,
) -> (Result<Marks, PrepareError>, Vec<LeftOpen>) {
    let readings = readings_on(job, face, casting);
    let mut open: Vec<LeftOpen> = Vec::new();
    // Each turn places all that are left or leaves one point out: it ends.
    loop {
        let why = match placed(job, face, casting, sized, points.clone(), corner, &[]) {
            Err(why @ PrepareError::PatternNotPlaced { .. }) => why,
            other => return (other, open),
        };
        let of = match &why {
            PrepareError::PatternNotPlaced { of: Some(of), .. } => of,
            _ => return (Err(why), open),
        };
        let Some(k) = points.iter().position(|p| p == of) else {
            return (Err(why), open);
        };
        let point = points.remove(k);
        let read_from = |o: &LeftOpen| {
            let both =
                |r: &&Kept<JobReading>| r.says.of.touches(&point) && r.says.of.touches(&o.point);
            readings.iter().any(both)
        };
        let through = open.iter().position(read_from);
        open.push(LeftOpen {
            point,
            why,
            through,
        });
        if points.len() < 2 {
            let first = open.first().map(|o| o.why.clone());
            let none = || PrepareError::NotMeasured {
                casting: casting_words(job, casting),
                list: "the distances between its marks".into(),
            };
            return (Err(first.unwrap_or_else(none)), open);
        }
    }
}

/// Marks and features of a face, marks first, that a reading of the pattern touches. One that is
/// set up but not yet read keeps the others usable.
pub(super) fn points_read_on(job: &Job, face: &FaceId, casting: &CastingId) -> Vec<PointRef> {
    let readings = readings_on(job, face, casting);
    let mut points: Vec<PointRef> = marks_of(job, face)
        .into_iter()
        .map(PointRef::Mark)
        .collect();
    points.extend(
        job.features
            .iter()
            // What is made from another lies where that one says; its own readings only check it.
            .filter(|(id, f)| f.face.as_ref() == Some(face) && job.made_from(id).is_none())
            .map(|(id, _)| PointRef::Feature(id.clone())),
    );
    points.retain(|p| readings.iter().any(|r| r.says.of.touches(p)));
    points
}

/// The same for some of its points.
pub(super) fn pattern_marks_of(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    sized: &Sized,
    points: Vec<PointRef>,
) -> Result<Marks, PrepareError> {
    placed(job, face, casting, sized, points, None, &[])
}

/// The same points once more with their heights on the board, as the pattern stands there first: three
/// say which way is up on the face. Where each lies is left to the tape, which reads closer. Nothing
/// where up was levelled, where there are fewer, or where tape and board do not go together.
pub(super) fn with_heights(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    sized: &Sized,
    marks: &Marks,
) -> Option<Marks> {
    if super::kept_level::stands_by(marks).is_some() {
        return None;
    }
    let height = |r: &&Kept<JobReading>| {
        r.says.casting == *casting
            && crate::run::counts(job, &r.says)
            && matches!(&r.says.of, Measured::Board { of, axis: BoardAxis::Up, stood: 0 }
                if marks.index(of).is_some())
    };
    let heights: Vec<&Kept<JobReading>> = job.readings.iter().filter(height).collect();
    let mut of: Vec<&PointRef> = heights.iter().flat_map(|r| r.says.of.points()).collect();
    of.sort();
    of.dedup();
    if of.len() < 3 {
        return None;
    }
    let points = marks.points.iter().filter(|p| match p {
        PointRef::Mark(m) => !edges::is_point(m),
        PointRef::Feature(_) => true,
    });
    let points = points.cloned().collect();
    let found = placed(job, face, casting, sized, points, None, &heights).ok()?;
    let contradict = found.adjusted.chi_square.is_some_and(|c| c.too_high);
    (!contradict).then_some(found)
}

fn placed(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    sized: &Sized,
    points: Vec<PointRef>,
    corner: Option<&Corner>,
    heights: &[&Kept<JobReading>],
) -> Result<Marks, PrepareError> {
    let readings = readings_on(job, face, casting);
    let squared = squared(&points, &readings);
    let taped: Vec<PointRef> = points
        .iter()
        .filter(|p| !squared.contains(p))
        .cloned()
        .collect();
    let start = pattern_starts(job, face, &taped, &readings, &sized.surface)?;
    let mut starts: Vec<(PointRef, Point2<Face>)> = taped.into_iter().zip(start).collect();
    turn_by_edges(job, face, &readings, &sized.surface, &mut starts);
    let edges = {
        let at = |p: &PointRef| starts.iter().find(|(q, _)| q == p).map(|(_, at)| *at);
        edges::starts(job, face, &readings, &sized.surface, &at)
    };
    for point in squared {
        let at = from_edges(&point, &readings, &edges).ok_or_else(|| {
            PrepareError::PatternNotPlaced {
                point: name_of(job, &point),
                need: "read it square from two edges that meet in a corner".into(),
                of: Some(point.clone()),
                either_side: false,
            }
        })?;
        starts.push((point, at));
    }
    // As they were: marks first.
    starts.sort_by_key(|(p, _)| points.iter().position(|q| q == p));
    let wanted = Wanted {
        job,
        face,
        casting,
        surface: sized.surface.clone(),
        sizes: pattern_held(sized),
        readings: &readings,
        starts,
        spread: None,
        painted: None,
        edges,
        corner,
        heights,
    };
    adjusted(&wanted)
}

/// Laid out flat, marks are turned anyhow. Round an axis it matters how, and what was read square from
/// an edge tells.
fn turn_by_edges(
    job: &Job,
    face: &FaceId,
    readings: &[&Kept<JobReading>],
    surface: &Surface,
    starts: &mut [(PointRef, Point2<Face>)],
) {
    let typed = |r: &&Kept<JobReading>| matches!(r.says.of, Measured::Coordinate { .. });
    if !matches!(surface, Surface::Cylinder(_) | Surface::Cone(_)) || readings.iter().any(typed) {
        return;
    }
    let by = {
        let at = |p: &PointRef| starts.iter().find(|(q, _)| q == p).map(|(_, at)| *at);
        edges::turned_by(job, face, readings, &at)
    };
    let n = starts.len().max(1) as f64;
    let middle = starts.iter().fold(Vector2::<Face>::ZERO, |sum, (_, at)| {
        sum + (*at - Point2::ORIGIN) * (1.0 / n)
    });
    let middle = Point2::ORIGIN + middle;
    for (_, at) in starts {
        *at = middle + (*at - middle).turned(by.unwrap_or(0.0));
    }
}

/// Points that are read square from two edges and from nothing else: the edges place them.
fn squared(points: &[PointRef], readings: &[&Kept<JobReading>]) -> Vec<PointRef> {
    let of = |p: &PointRef| {
        let mut edges = Vec::new();
        for r in readings {
            match &r.says.of {
                Measured::Square { edge, to } if to == p && !edges.contains(&edge) => {
                    edges.push(edge);
                }
                Measured::Square { .. } => {}
                of if of.stood().is_none() && of.touches(p) => return false,
                _ => {}
            }
        }
        edges.len() >= 2
    };
    points.iter().filter(|p| of(p)).cloned().collect()
}

/// Where square distances from two edges put a point.
fn from_edges(
    point: &PointRef,
    readings: &[&Kept<JobReading>],
    edges: &[(crate::job::EdgeId, EdgeStart)],
) -> Option<Point2<Face>> {
    let all: Vec<(&EdgeStart, f64)> = readings
        .iter()
        .filter_map(|r| match &r.says.of {
            Measured::Square { edge, to } if to == point => {
                let (_, start) = edges.iter().find(|(id, _)| id == edge)?;
                Some((start, r.says.value.mm.mm()))
            }
            _ => None,
        })
        .collect();
    let (first, rest) = all.split_first()?;
    rest.iter().find_map(|other| edges::place([*first, *other]))
}

/// Distances with those between places that are known.
fn with_known(
    picked: &[Option<Point2<Face>>],
    mut distances: Vec<(usize, usize, Length)>,
) -> Vec<(usize, usize, Length)> {
    let known: Vec<_> = (picked.iter().enumerate())
        .filter_map(|(k, p)| Some((k, (*p)?)))
        .collect();
    for (n, (j, a)) in known.iter().enumerate() {
        let rest = known.get(n + 1..).unwrap_or_default();
        distances.extend(rest.iter().map(|(k, b)| (*j, *k, a.distance(*b))));
    }
    distances
}

/// Where to begin: places picked or typed stay, whatever else is still open; the others are struck from
/// them, or laid out from the tape alone.
fn pattern_starts(
    job: &Job,
    face: &FaceId,
    points: &[PointRef],
    readings: &[&Kept<JobReading>],
    surface: &Surface,
) -> Result<Vec<Point2<Face>>, PrepareError> {
    let coordinate = |p: &PointRef, wanted: FaceAxis| {
        readings.iter().rev().find_map(|r| match &r.says.of {
            Measured::Coordinate { of, axis } if of == p && *axis == wanted => {
                Some(r.says.value.mm.mm())
            }
            _ => None,
        })
    };
    let on_scan = matches!(surface, Surface::Scan(_));
    let picked: Vec<Option<Point2<Face>>> = points
        .iter()
        .map(|p| {
            Some(Point2::from_mm(
                coordinate(p, FaceAxis::U)?,
                coordinate(p, FaceAxis::V)?,
            ))
        })
        .collect();
    if on_scan && picked.iter().flatten().count() < 2 {
        return Err(PrepareError::PatternNotPlaced {
            point: "the face".into(),
            need: "pick at least two of its marks on the scan".into(),
            of: None,
            either_side: false,
        });
    }
    let all: Option<Vec<_>> = picked.iter().copied().collect();
    if let Some(all) = all {
        return Ok(all);
    }
    let index = |p: &PointRef| points.iter().position(|q| q == p);
    let distances: Vec<(usize, usize, Length)> = readings
        .iter()
        .filter_map(|r| match &r.says.of {
            Measured::Straight { from, to } | Measured::Over { from, to } => {
                Some((index(from)?, index(to)?, r.says.value.mm))
            }
            _ => None,
        })
        .collect();
    // The third mark of a rule lies above its line: that is what it is named for.
    let above_by_rule = |id: &MarkId| {
        job.features.values().any(|f| {
            f.face.as_ref() == Some(face)
                && matches!(&f.rule, Some(RuleSpec::Line { side: Some(side), from, .. })
                    if side == id && marks_of(job, face).first() == Some(from))
        })
    };
    let side_of = |p: &PointRef| match p {
        PointRef::Mark(id) => {
            let told = job.marks.get(id).and_then(|m| m.side);
            told.or_else(|| above_by_rule(id).then_some(LineSide::Above))
        }
        PointRef::Feature(id) => job.features.get(id).and_then(|f| f.side),
    };
    let sides: Vec<Option<Side>> = points
        .iter()
        .map(|p| {
            side_of(p).map(|s| match s {
                LineSide::Above => Side::Left,
                LineSide::Below => Side::Right,
            })
        })
        .collect();
    let named = |k: usize| points.get(k).map_or_else(String::new, |p| name_of(job, p));
    // Never guessed: a mirrored layout fits the same distances and makes a mirrored stencil.
    let known = picked.iter().flatten().count() >= 2;
    let mut flat = start_about(&picked, &sides, &distances);
    if known && matches!(flat, Err(StartError::TooFew { .. })) {
        // Taped among themselves they may hang together without those that are known.
        let taped = start_from_readings(&sides, &with_known(&picked, distances.clone()));
        flat = taped.map(|t| brought_onto(&picked, &t)).or(flat);
    }
    let flat = match flat {
        Ok(flat) => flat,
        Err(StartError::ArcsMiss { mark, about, by_mm }) => {
            return Err(PrepareError::DoNotFit {
                casting: "the pattern".into(),
                hint: format!(
                    "the arcs for {} from {} and {} miss each other by {by_mm:.0} mm. Read these again",
                    named(mark),
                    named(about.0),
                    named(about.1)
                ),
            });
        }
        Err(StartError::TooFew { mark }) => {
            return Err(PrepareError::PatternNotPlaced {
                point: named(mark),
                need: "read it from two marks that are placed".into(),
                of: points.get(mark).cloned(),
                either_side: false,
            });
        }
        Err(StartError::EitherSide { mark }) => {
            return Err(PrepareError::PatternNotPlaced {
                point: named(mark),
                need: format!(
                    "say on which side of the line from {} to {} it lies, seen from outside",
                    named(0),
                    named(1)
                ),
                of: points.get(mark).cloned(),
                either_side: true,
            });
        }
        Err(StartError::Unusable { index }) => {
            let value = distances.get(index).map_or(0.0, |d| d.2.mm());
            return Err(PrepareError::Reading {
                casting: "the pattern".into(),
                reading: format!("{value} mm"),
                why: "a distance must be more than zero, between two different marks".into(),
            });
        }
    };
    if known {
        return Ok(flat);
    }
    // About the middle of the face's own chart: the developed start is then nearest the truth.
    let n = flat.len().max(1) as f64;
    let (mut cx, mut cy) = (0.0, 0.0);
    for p in &flat {
        cx += p.x_mm() / n;
        cy += p.y_mm() / n;
    }
    let lift = job
        .faces
        .get(face)
        .and_then(upper_line)
        .map_or(0.0, |line| line.mm() / 2.0);
    Ok(flat
        .into_iter()
        .map(|p| Point2::from_mm(p.x_mm() - cx, p.y_mm() - cy + lift))
        .collect())
}
