//! One face of the design, set out from readings on the pattern.
//!
//! ```text
//!  readings of the pattern ── as many points as they hold ──▶ network ── development ──▶ picture
//! ```
//! A point that is not held yet keeps the others usable: it is named, with the reading that would
//! hold it. How well a point lies is said against the line of the first two marks, which is what
//! a template is laid to: where the whole face lies is nobody's question.

mod board;
mod board_sheet;
mod drawn;
mod grid;
mod images;
mod picture;
mod pips;
mod seen;
mod sure;
mod up;

pub(in crate::prepare) use board::hides;
pub use board::{BoardMark, BoardView, FaceOnBoard, board_view};
pub use board_sheet::board_sheet;
pub use drawn::{DrawnDistance, DrawnPlace, ViewPlace, drawn_place, place_in_view};
pub use grid::{grid_lines, grid_sheet, of_picture};
pub use images::{ImageProof, MadeView};
pub use pips::{PipView, PipsView, pip_sheet, pips};
pub use up::UpView;

pub(super) use board::seen_from;

use super::Source;
use super::edge_lines::EdgePicture;
use super::error::PrepareError;
use super::face::{Sized, pattern_face};
use super::naming::{name_of, reading_words};
use super::network::{Marks, marks_of, readings_on};
use super::outline::outline_of;
use super::pattern::{as_many_as_held, pattern_marks_of, points_read_on, with_heights};
use super::words::{feature_title, mm};
use crate::frames::{Flat, Point2, Rigid2};
use crate::job::{
    CastingId, FaceEdit, FaceId, FactId, FeatureId, Job, LineSide, MarkId, Measured, PointRef,
    RuleSpec,
};
use crate::outline::FLATTENING;
use crate::surface::Development;
use crate::units::{Angle, Length};
use picture::{Picture, bounds, dot, edges_seen};
use seen::{Seen, seen};
use serde::{Deserialize, Serialize};
use sure::{Better, Line};

/// How a point of the design stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stands {
    /// Readings hold it.
    Held {
        /// Across and up on the face, mm.
        face_mm: [f64; 2],
        /// Where the picture has it, mm, y up.
        at_mm: [f64; 2],
        /// Within this of where it is said to be, against the first two marks (95 %).
        within: Length,
    },
    /// Readings do not hold it yet.
    Open {
        /// Which reading would, in words.
        need: String,
        /// The same: from this point to that one.
        next: Option<[PointRef; 2]>,
    },
    /// It may lie on either side of a line: nobody but the user can say.
    EitherSide {
        /// The question.
        question: String,
        /// Where it would be in the picture above the line of the first two marks, and below it, mm.
        either_mm: Option<[[f64; 2]; 2]>,
    },
}

/// A datum mark of the face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MarkView {
    /// Which.
    pub mark: MarkId,
    /// Its letter.
    pub letter: String,
    /// How it is found.
    pub found: String,
    /// Out of sight in the finished piece.
    pub hidden: bool,
    /// How it stands.
    pub stands: Stands,
}

/// A feature of the face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FeatureView {
    /// Which.
    pub feature: FeatureId,
    /// *Eye, left*.
    pub title: String,
    /// *oval 62 × 48*, or why there is no outline.
    pub size: String,
    /// How its middle stands.
    pub stands: Stands,
    /// Its outline in the picture, closed runs of points, mm.
    pub outline: Vec<Vec<[f64; 2]>>,
    /// What of an outline drawn as it is seen is turned too far away to be printed, open runs, mm.
    pub away: Vec<Vec<[f64; 2]>>,
    /// *within 2 mm (zone ⌀ 4)*.
    pub tolerance: String,
    /// How well readings place it, and which reading again would bring most.
    pub sentence: String,
    /// How its right side lies in the picture, turned from the picture's own.
    #[serde(default)]
    pub turned: Angle,
    /// How far it has to be turned from square to its line so that it stands upright, where
    /// readings tell up.
    pub upright: Option<Angle>,
    /// What it is made from by mirroring, and what that means.
    pub made: Option<MadeView>,
}

/// A reading of the pattern.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingView {
    /// Which fact.
    pub fact: FactId,
    /// What was read.
    pub of: Measured,
    /// In words: *A to B, over the surface*.
    pub words: String,
    /// As typed.
    pub typed: String,
    /// As understood.
    pub value: Length,
    /// From and to, in the picture, where both are held.
    pub line_mm: Option<[[f64; 2]; 2]>,
    /// What all readings together say less what it says, where it took part.
    pub off_by: Option<Length>,
    /// The others contradict it: what they say.
    pub doubt: Option<String>,
}

/// A face set out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FaceView {
    /// The face.
    pub face: FaceId,
    /// Its name.
    pub name: String,
    /// Its marks, by letter.
    pub marks: Vec<MarkView>,
    /// Its features.
    pub features: Vec<FeatureView>,
    /// Readings of the pattern, as they were taken.
    pub readings: Vec<ReadingView>,
    /// Its edges.
    pub edges: Vec<EdgePicture>,
    /// Corners of the picture, mm: left, low, right, high.
    pub bounds_mm: [f64; 4],
    /// No two points of it lie further apart over the surface.
    pub half_way: Option<Length>,
    /// Which way is up, where readings tell.
    pub up: Option<UpView>,
    /// What is to be done next, or what does not fit.
    pub notes: Vec<String>,
}

/// What readings of the pattern hold, and what is still open.
struct Placed {
    marks: Option<Marks>,
    either_side: Vec<(PointRef, String)>,
    notes: Vec<String>,
}

/// Places as many points as the readings hold.
fn place(job: &Job, face: &FaceId, casting: &CastingId, sized: &Sized) -> Placed {
    let points = points_read_on(job, face, casting);
    let mut placed = Placed {
        marks: None,
        either_side: Vec::new(),
        notes: Vec::new(),
    };
    if points.len() < 2 {
        return placed;
    }
    let (found, open) = as_many_as_held(job, face, casting, sized, None, points);
    for left_out in &open {
        if let PrepareError::PatternNotPlaced {
            point,
            need,
            either_side: true,
            ..
        } = &left_out.why
        {
            let question = format!("{point} fits on either side: {need}");
            placed.either_side.push((left_out.point.clone(), question));
        }
    }
    match found {
        Ok(marks) => {
            placed.notes.clone_from(&marks.notes);
            placed.marks = Some(marks);
        }
        // Each of them is asked for where it stands.
        Err(PrepareError::PatternNotPlaced { of: Some(of), .. })
            if open.iter().any(|o| o.point == of) => {}
        Err(PrepareError::PatternNotPlaced { point, need, .. }) => {
            placed.notes.push(format!("{point}: {need}"));
        }
        Err(other) => placed.notes.push(other.to_string()),
    }
    placed
}

/// Which reading would hold a point, in words and as what to read.
fn need_of(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    placed: &Placed,
    of: &PointRef,
) -> (String, Option<[PointRef; 2]>) {
    let readings = readings_on(job, face, casting);
    let held = |p: &PointRef| placed.marks.as_ref().is_some_and(|m| m.index(p).is_some());
    let read_from = |p: &PointRef| {
        readings.iter().any(|r| {
            // A level tells how two marks stand, not how far apart they are.
            let points = r.says.of.points();
            r.says.of.stood().is_none() && points.contains(&of) && points.contains(&p)
        })
    };
    let others: Vec<PointRef> = marks_of(job, face)
        .into_iter()
        .map(PointRef::Mark)
        .filter(|p| p != of)
        .collect();
    let from_held = others.iter().filter(|p| held(p) && read_from(p)).count();
    let free: Vec<&PointRef> = others.iter().filter(|p| held(p) && !read_from(p)).collect();
    let name = |p: &PointRef| name_of(job, p);
    let words = match (from_held, free.as_slice()) {
        (_, []) => match others.first() {
            Some(first) if !read_from(first) => format!("read it from {}", name(first)),
            Some(_) => "read the marks from each other first".into(),
            None => "add a second mark, and read it from this one".into(),
        },
        (0, [a, b, ..]) => format!("read it from {} and {}", name(a), name(b)),
        (0, [a]) => format!(
            "read it from {} and from another mark that is held",
            name(a)
        ),
        (_, [a, ..]) => format!("read it from {} as well", name(a)),
    };
    let from = free
        .first()
        .copied()
        .or_else(|| others.first().filter(|p| !read_from(p)));
    (words, from.map(|from| [from.clone(), of.clone()]))
}

/// A point that readings leave on either side: where it would be above the line, and below it.
fn either_mm(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    sized: &Sized,
    placed: &Placed,
    here: &Line,
    point: &PointRef,
) -> Option<[[f64; 2]; 2]> {
    let held = placed.marks.as_ref()?;
    let on = |side: LineSide| {
        let mut told = job.clone();
        match point {
            PointRef::Mark(id) => told.marks.get_mut(id)?.side = Some(side),
            PointRef::Feature(id) => told.features.get_mut(id)?.side = Some(side),
        }
        let mut points = held.points.clone();
        points.push(point.clone());
        // Marks come first in a network, as they do when the job is read.
        points.sort_by_key(|p| matches!(p, PointRef::Feature(_)));
        let marks = pattern_marks_of(&told, face, casting, sized, points).ok()?;
        let picture = Picture::about(&marks)?;
        let at = picture.at(marks.at(point)?)?;
        let there = Placed {
            marks: Some(marks),
            either_side: Vec::new(),
            notes: Vec::new(),
        };
        let line = line_of(&there, Some(&picture), None)?;
        Some(here.place(line.along_across(at)))
    };
    Some([on(LineSide::Above)?, on(LineSide::Below)?])
}

fn tolerance_words(within: Option<Length>) -> String {
    within.map_or_else(
        || "how far out may it be? Not said yet".into(),
        |t| format!("within {} mm (zone ⌀ {})", mm(t), mm(t * 2.0)),
    )
}

/// A face with what its pattern's readings hold.
struct Opened<'a> {
    face: &'a FaceEdit,
    casting: &'a CastingId,
    sized: Sized,
    placed: Placed,
    picture: Option<Picture>,
}

fn opened<'a>(job: &'a Job, face_id: &FaceId) -> Result<Opened<'a>, PrepareError> {
    let missing = |what, then| super::design::missing(what, face_id.as_str(), then);
    let face = job
        .faces
        .get(face_id)
        .ok_or_else(|| missing("the face", "choose one that is in the job"))?;
    let part = face
        .part
        .as_ref()
        .ok_or_else(|| missing("the part", "say which casting it is on"))?;
    let casting = job
        .pattern_of(part)
        .ok_or_else(|| missing("the pattern", "say which casting is the approved pattern"))?;
    let sized = pattern_face(job, face)?;
    let placed = place(job, face_id, casting, &sized);
    let picture = placed.marks.as_ref().and_then(Picture::about);
    Ok(Opened {
        face,
        casting,
        sized,
        placed,
        picture,
    })
}

/// A face rolled out as its picture has it, with the sizes that readings give it; nothing where fewer
/// than two marks are held.
///
/// # Errors
/// As [`face_view`].
pub(super) fn rolled_out(job: &Job, face: &FaceId) -> Result<Option<Development>, PrepareError> {
    Ok(opened(job, face)?.picture.map(|p| p.development))
}

/// A face as set out so far.
///
/// # Errors
/// [`PrepareError`] when the face or its pattern is not in the job, or its sizes can't be.
pub fn face_view(source: &Source<'_>, face_id: &FaceId) -> Result<FaceView, PrepareError> {
    let job = source.job;
    let Opened {
        face,
        casting,
        sized,
        placed,
        picture,
    } = opened(job, face_id)?;
    // That of the first two marks; a feature may follow one of its own.
    let base = line_of(&placed, picture.as_ref(), None);
    let by_board = (placed.marks.as_ref())
        .and_then(|marks| with_heights(job, face_id, casting, &sized, marks));
    let stands = |point: &PointRef, line: Option<&Line>| -> Stands {
        let held = placed
            .marks
            .as_ref()
            .zip(picture.as_ref())
            .and_then(|(m, p)| {
                let k = m.index(point)?;
                let at = m.at(point)?;
                Some(Stands::Held {
                    face_mm: [at.x_mm(), at.y_mm()],
                    at_mm: dot(p.at(at)?),
                    within: line.map_or(Length::ZERO, |l| l.within(m, &p.development, k)),
                })
            });
        held.unwrap_or_else(
            || match placed.either_side.iter().find(|(p, _)| p == point) {
                Some((_, question)) => Stands::EitherSide {
                    question: question.clone(),
                    either_mm: base.as_ref().and_then(|here| {
                        either_mm(job, face_id, casting, &sized, &placed, here, point)
                    }),
                },
                None => {
                    let (need, next) = need_of(job, face_id, casting, &placed, point);
                    Stands::Open { need, next }
                }
            },
        )
    };
    let marks: Vec<MarkView> = marks_of(job, face_id)
        .into_iter()
        .filter_map(|id| {
            let edit = job.marks.get(&id)?;
            Some(MarkView {
                letter: edit.letter.clone().unwrap_or_default(),
                found: edit.found.clone().unwrap_or_default(),
                hidden: edit.hidden == Some(true),
                stands: stands(&PointRef::Mark(id.clone()), base.as_ref()),
                mark: id,
            })
        })
        .collect();
    let mut features = Vec::new();
    for (id, edit) in &job.features {
        if edit.face.as_ref() != Some(face_id) {
            continue;
        }
        let title = feature_title(edit);
        let point = PointRef::Feature(id.clone());
        let own = line_of(&placed, picture.as_ref(), edit.rule.as_ref());
        let made = job.made_from(id);
        let stands = match &made {
            Some(made) => {
                images::stands(job, made, &title, &placed, picture.as_ref(), own.as_ref())
            }
            None => stands(&point, own.as_ref()),
        };
        let drawn = outline_of(source, &title, edit);
        let seen = match &drawn {
            Some(Ok(d)) => seen(source, id, &d.outline),
            _ => Seen::default(),
        };
        let size = match &drawn {
            Some(Ok(d)) => [Some(d.size.clone()), seen.words]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
                .join(", "),
            Some(Err(e)) => e.to_string(),
            None => "no outline yet".into(),
        };
        let along = own.as_ref().map_or(0.0, Line::direction_rad);
        let square = made
            .as_ref()
            .zip(placed.marks.as_ref())
            .and_then(|(made, marks)| images::turn(job, made, &title, marks, edit))
            .or(edit.turn);
        let turn = Angle::from_rad(along + square.unwrap_or(Angle::ZERO).rad());
        let (outline, away) = match (&drawn, &stands) {
            (Some(Ok(d)), Stands::Held { at_mm: [x, y], .. }) => {
                let set = Rigid2::<Flat, Flat>::new(turn, Point2::from_mm(*x, *y));
                let shown = seen
                    .shown
                    .unwrap_or_else(|| d.outline.polylines(FLATTENING * 2.0));
                let set_down = |runs: Vec<Vec<Point2<Flat>>>| -> Vec<Vec<[f64; 2]>> {
                    runs.into_iter()
                        .map(|run| run.into_iter().map(|p| dot(set.point(p))).collect())
                        .collect()
                };
                (set_down(shown), set_down(seen.away))
            }
            _ => (Vec::new(), Vec::new()),
        };
        let sentence = match (
            &stands,
            placed.marks.as_ref(),
            picture.as_ref(),
            own.as_ref(),
        ) {
            (Stands::Held { within, .. }, Some(m), Some(p), Some(l)) if made.is_none() => {
                let mut said = format!("The readings place its middle to ± {} mm.", mm(*within));
                if let Some(Better { reading, within }) =
                    l.better(job, m, &p.development, &point, *within)
                {
                    said.push_str(&format!(
                        " Reading {reading} once more would bring it to ± {}.",
                        mm(within)
                    ));
                }
                said
            }
            _ => String::new(),
        };
        features.push(FeatureView {
            feature: id.clone(),
            title,
            size,
            stands,
            outline,
            away,
            tolerance: tolerance_words(edit.tolerance),
            sentence,
            turned: turn,
            upright: own
                .as_ref()
                .zip(placed.marks.as_ref())
                .filter(|_| made.is_none())
                .and_then(|(line, marks)| up::upright(by_board.as_ref().unwrap_or(marks), line)),
            made: made
                .map(|made| images::view(job, &made, id, casting, (&placed, picture.as_ref()))),
        });
    }
    let readings = readings_of(job, face_id, casting, &placed, picture.as_ref());
    let mut notes = placed.notes.clone();
    if marks.len() < 2 {
        notes.push("A face needs two marks that can be found again on every casting".into());
    }
    let edges = edges_seen(job, face_id, &sized, &placed, picture.as_ref());
    let bounds_mm = bounds(&marks, &features, &edges);
    let up = base
        .as_ref()
        .zip(by_board.as_ref().or(placed.marks.as_ref()))
        .and_then(|(line, marks)| {
            let named = |k: usize| marks.points.get(k).map(|p| name_of(job, p));
            let [from, to] = line.places();
            up::view(marks, line, [named(from)?, named(to)?])
        });
    Ok(FaceView {
        face: face_id.clone(),
        name: face.name.clone().unwrap_or_else(|| face_id.to_string()),
        marks,
        features,
        readings,
        edges,
        bounds_mm,
        half_way: sized.surface.half_way_mm().map(Length::from_mm),
        up,
        notes,
    })
}

/// The line a feature follows, or that of the first two marks that are held.
fn line_of(placed: &Placed, picture: Option<&Picture>, rule: Option<&RuleSpec>) -> Option<Line> {
    let marks = placed.marks.as_ref()?;
    let development = &picture?.development;
    let index = |id: &MarkId| marks.index(&PointRef::Mark(id.clone()));
    let named = rule.and_then(RuleSpec::turns_with);
    let named = named.and_then(|[a, b]| index(a).zip(index(b)));
    let mut held = marks
        .points
        .iter()
        .enumerate()
        .filter(|(_, p)| matches!(p, PointRef::Mark(_)))
        .map(|(k, _)| k);
    let (from, to) = named.or_else(|| Some((held.next()?, held.next()?)))?;
    Line::through(marks, development, from, to)
}

fn readings_of(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    placed: &Placed,
    picture: Option<&Picture>,
) -> Vec<ReadingView> {
    let at = |p: &PointRef| Some(dot(picture?.at(placed.marks.as_ref()?.at(p)?)?));
    readings_on(job, face, casting)
        .into_iter()
        .map(|kept| {
            let points = kept.says.of.points();
            let line_mm = match points.as_slice() {
                [from, to] => at(from).zip(at(to)).map(|(a, b)| [a, b]),
                _ => None,
            };
            let marks = placed.marks.as_ref();
            let off_by = marks.and_then(|m| {
                let k = m.facts.iter().position(|f| *f == kept.id)?;
                m.adjusted.readings.get(k).map(|r| r.off_by)
            });
            let doubt = marks
                .and_then(|m| m.suspects.iter().find(|s| s.fact == kept.id))
                .map(|s| s.explained.clone());
            ReadingView {
                fact: kept.id,
                words: reading_words(job, &kept.says.of),
                typed: kept.says.value.typed.clone(),
                value: kept.says.value.mm,
                of: kept.says.of.clone(),
                line_mm,
                off_by,
                doubt,
            }
        })
        .collect()
}
