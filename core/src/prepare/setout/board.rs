//! Plan and height: marks of the pattern on the gridded board, and where faces are by them.
//!
//! ```text
//!  readings on the board ─ a set-up each time it was moved ─ tied by three marks ─▶ one set of places
//!  a face's own places by tape ── laid on those by best fit ──▶ where it is, from where it is seen
//! ```
//! Across the board is to the right of somebody who stands before its front edge, back is away from
//! them, and up is up. The first set-up stands as the piece will stand, its front to the front.

use super::super::Source;
use super::super::error::PrepareError;
use super::super::naming::name_of;
use super::super::tapes::PLUMBED_SD;
use super::super::walk::face_name;
use super::super::words::mm;
use crate::frames::{BestFit, Face};
use crate::frames::{Frame, NotTied, Part, Point2, Point3, Vector3, best_fit, carried_out_by};
use crate::job::{BoardAxis, CastingId, FaceId, FactId, Job, MarkId, Measured, PartId, PointRef};
use crate::num::distribution::chi_square_quantile;
use crate::run::counts;
use crate::surface::{Shape, Surface};
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How well a mark is plumbed to the grid and its height taken, mm. A tape's own places are taken to be as good.
const READ_MM: f64 = PLUMBED_SD.mm();
/// What is left by a fit is doubted where chance leaves less in so many of a hundred cases.
const CHANCE: f64 = 0.99;
/// From the root mean square in space to what 95 % of cases stay within, all of it one way.
const COVER: f64 = 1.96;
/// A face is said to look a way where its outward direction has so much of it: sin 22.5°.
const LOOKS: f64 = 0.382_683_432_365_089_8;

/// One mark as read on the board in one set-up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BoardMark {
    /// Which.
    pub mark: MarkId,
    /// Its letter.
    pub letter: String,
    /// How often the casting was moved before.
    pub stood: u32,
    /// What was read across, back and up: the last fact of each with its text, and the mean of all.
    pub read: [Option<(FactId, String, Length)>; 3],
}

/// Where a face is by the board.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FaceOnBoard {
    /// Which.
    pub face: FaceId,
    /// Its name.
    pub name: String,
    /// From where it is seen: *from the front*.
    pub seen: Option<String>,
    /// Where it is, or what is still to be read.
    pub says: String,
}

/// The pattern of a part on the gridded board.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BoardView {
    /// Marks as read, by set-up and letter.
    pub marks: Vec<BoardMark>,
    /// How each set-up is tied to those before, or why it is not.
    pub ties: Vec<String>,
    /// Faces of the part that have marks.
    pub faces: Vec<FaceOnBoard>,
}

/// Marks read on the board, by set-up.
fn read(job: &Job, casting: &CastingId) -> Vec<BoardMark> {
    type Values = [Vec<(FactId, String, f64)>; 3];
    let mut all: BTreeMap<(u32, String, MarkId), Values> = BTreeMap::new();
    for r in job.readings.about(casting) {
        let Measured::Board {
            of: PointRef::Mark(mark),
            axis,
            stood,
        } = &r.says.of
        else {
            continue;
        };
        if !counts(job, &r.says) {
            continue;
        }
        let letter = name_of(job, &PointRef::Mark(mark.clone()));
        let [across, back, up] = all.entry((*stood, letter, mark.clone())).or_default();
        let values = match axis {
            BoardAxis::Across => across,
            BoardAxis::Back => back,
            BoardAxis::Up => up,
        };
        values.push((r.id, r.says.value.typed.clone(), r.says.value.mm.mm()));
    }
    let mean = |values: &Vec<(FactId, String, f64)>| {
        let sum: f64 = values.iter().map(|v| v.2).sum();
        let (fact, typed, _) = values.last()?;
        let mean = Length::from_mm(sum / values.len() as f64);
        Some((*fact, typed.clone(), mean))
    };
    all.iter()
        .map(|((stood, letter, mark), values)| BoardMark {
            mark: mark.clone(),
            letter: letter.clone(),
            stood: *stood,
            read: [&values[0], &values[1], &values[2]].map(mean),
        })
        .collect()
}

fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// One set of places laid on another, unless they do not go together: then which mark is out.
fn laid<To: Frame, From: Frame>(
    names: &[String],
    pairs: &[(Point3<To>, Point3<From>)],
) -> Result<BestFit<To, From>, String> {
    // Both sides are read, each as well as the other.
    let fits = |fit: &BestFit<To, From>, n: usize| {
        let spare = 3.0 * n as f64 - 6.0;
        fit.square_mm2() <= 2.0 * READ_MM * READ_MM * chi_square_quantile(CHANCE, spare)
    };
    let fit = best_fit(pairs).map_err(|why| match why {
        NotTied::InLine => format!(
            "{} lie nearly in one line: read one more in both, well off that line",
            listed(names)
        ),
        other => other.to_string(),
    })?;
    let n = pairs.len();
    if fits(&fit, n) {
        return Ok(fit);
    }
    if n == 3 {
        let apart = [(0, 1), (1, 2), (2, 0)].map(|(i, j)| {
            let (a, b) = (pairs[i], pairs[j]);
            ((i, j), (a.0.distance(b.0) - a.1.distance(b.1)).abs())
        });
        let ((i, j), by) =
            apart.into_iter().fold(
                ((0, 1), Length::ZERO),
                |most, x| if x.1 > most.1 { x } else { most },
            );
        return Err(format!(
            "{}–{} differs by {} mm between the two: read {} again, or one mark more in both, which tells the one that is out",
            names[i],
            names[j],
            mm(by),
            listed(names)
        ));
    }
    let without = |k: usize| {
        let rest: Vec<_> = (0..n).filter(|i| *i != k).map(|i| pairs[i]).collect();
        let fit = best_fit(&rest).ok().filter(|f| fits(f, n - 1))?;
        Some((k, pairs[k].0.distance(fit.to_from.point(pairs[k].1))))
    };
    let out: Vec<(usize, Length)> = (0..n).filter_map(without).collect();
    let which: Vec<String> = out.iter().map(|(k, _)| names[*k].clone()).collect();
    Err(match out.as_slice() {
        [] => {
            let worst = (0..n).fold(0, |w, k| if fit.left[k] > fit.left[w] { k } else { w });
            format!(
                "more than one mark does not fit, {} worst, {} mm out: read {} again",
                names[worst],
                mm(fit.left[worst]),
                listed(names)
            )
        }
        [(k, by)] => format!(
            "{0} does not fit: the others have it {1} mm away. Read {0} again",
            names[*k],
            mm(*by)
        ),
        _ => format!(
            "one of {} does not fit: read them again, or one mark more in both",
            listed(&which)
        ),
    })
}

/// Marks as they stood in one set-up: how often the casting was moved before, and where each was.
type SetUp<'a> = (u32, Vec<(&'a BoardMark, Point3<Part>)>);

/// How a set-up is tied, in words, and where its marks are then.
type Tied = (String, Vec<(MarkId, Point3<Part>)>);

/// Where marks are, all set-ups together, in the first one's own place; and how each is tied.
struct Places {
    marks: BTreeMap<MarkId, Vec<Point3<Part>>>,
    ties: Vec<String>,
}

impl Places {
    fn of(&self, mark: &MarkId) -> Option<Point3<Part>> {
        let all = self.marks.get(mark)?;
        let sum = all
            .iter()
            .fold(nalgebra::Vector3::zeros(), |sum, p| sum + p.mm());
        Some(Point3::from_column_mm(sum / all.len().max(1) as f64))
    }
}

fn places(read: &[BoardMark]) -> Places {
    let mut set_ups: BTreeMap<u32, Vec<(&BoardMark, Point3<Part>)>> = BTreeMap::new();
    let mut out = Places {
        marks: BTreeMap::new(),
        ties: Vec::new(),
    };
    for m in read {
        let here = set_ups.entry(m.stood).or_default();
        if let [Some((_, _, x)), Some((_, _, y)), Some((_, _, z))] = &m.read {
            here.push((m, Point3::from_mm(x.mm(), y.mm(), z.mm())));
        } else {
            let words = ["across", "back", "height"];
            let wanting = m.read.iter().zip(words).filter(|(r, _)| r.is_none());
            let wanting: Vec<String> = wanting.map(|(_, w)| w.to_owned()).collect();
            out.ties.push(format!(
                "Set-up {}: {} wants its {}",
                m.stood + 1,
                m.letter,
                listed(&wanting)
            ));
        }
    }
    let mut left: Vec<SetUp<'_>> = set_ups.into_iter().collect();
    if !left.is_empty() {
        for (m, at) in left.remove(0).1 {
            out.marks.entry(m.mark.clone()).or_default().push(at);
        }
    }
    // What shares most marks first: each turn ties one more set-up, or none and ends.
    loop {
        let shared = |(_, marks): &SetUp<'_>| {
            marks
                .iter()
                .filter(|(m, _)| out.marks.contains_key(&m.mark))
                .count()
        };
        let mut tied = None;
        let mut order: Vec<usize> = (0..left.len()).collect();
        order.sort_by_key(|k| std::cmp::Reverse(shared(&left[*k])));
        for k in order {
            if let Ok((says, new)) = tie(&out, &left[k]) {
                tied = Some((k, says, new));
                break;
            }
        }
        let Some((k, says, new)) = tied else { break };
        out.ties.push(says);
        for (mark, at) in new {
            out.marks.entry(mark).or_default().push(at);
        }
        left.remove(k);
    }
    for one in &left {
        if let Err(why) = tie(&out, one) {
            out.ties.push(why);
        }
    }
    out
}

/// A set-up tied to what is placed: in words, and its marks where they are then.
fn tie(placed: &Places, (stood, marks): &SetUp<'_>) -> Result<Tied, String> {
    let set_up = format!("Set-up {}", stood + 1);
    let shared: Vec<_> = marks
        .iter()
        .filter_map(|(m, at)| Some((m.letter.clone(), (placed.of(&m.mark)?, *at))))
        .collect();
    let names: Vec<String> = shared.iter().map(|s| s.0.clone()).collect();
    let pairs: Vec<_> = shared.iter().map(|s| s.1).collect();
    if pairs.len() < 3 {
        return Err(format!(
            "{set_up} is not tied yet: three marks tie it, read before it was moved and after{}",
            if names.is_empty() {
                String::new()
            } else {
                format!(". So far {}", listed(&names))
            }
        ));
    }
    let fit = laid(&names, &pairs).map_err(|why| format!("{set_up} is not tied: {why}"))?;
    let on: Vec<_> = pairs.iter().map(|p| p.0).collect();
    let found = Length::from_mm(READ_MM * libm::sqrt(6.0));
    let new: Vec<_> = marks
        .iter()
        .map(|(m, at)| (m.mark.clone(), fit.to_from.point(*at)))
        .collect();
    let out_by = new
        .iter()
        .filter_map(|(_, at)| carried_out_by(&on, found, *at))
        .fold(Length::ZERO, |a, b| if b > a { b } else { a });
    Ok((
        format!(
            "{set_up} is tied by {}, which fit within {} mm. What it adds is within {} mm of its place",
            listed(&names),
            mm(fit
                .left
                .iter()
                .fold(Length::ZERO, |a, b| if *b > a { *b } else { a })),
            mm(out_by * COVER)
        ),
        new,
    ))
}

/// From where something that looks this way is seen: across, back, up.
fn from_where(outward: Vector3<Part>) -> String {
    let n = outward.mm();
    let mut all = [
        (-n.y, "the front"),
        (n.y, "the back"),
        (n.x, "the figure's left"),
        (-n.x, "the figure's right"),
        (n.z, "above"),
        (-n.z, "below"),
    ];
    // Alike within rounding: the first named stands first.
    all.sort_by(|a, b| {
        let round = |v: f64| libm::round(v * 1e6);
        round(b.0).total_cmp(&round(a.0))
    });
    let words: Vec<&str> = all
        .iter()
        .take(2)
        .filter(|(share, _)| *share > LOOKS)
        .map(|(_, words)| *words)
        .collect();
    format!("from {}", words.join(" and "))
}

/// A face laid on the board.
struct LaidFace {
    name: String,
    /// From the face's own space to the board.
    fit: BestFit<Part, Part>,
    /// Its marks on the board and in its own space.
    pairs: Vec<(Point3<Part>, Point3<Part>)>,
    surface: Surface,
    /// The middle of its marks.
    middle: Point2<Face>,
}

/// Lays a face on what is placed on the board, or says what is to be read.
fn laid_face(job: &Job, face: &FaceId, placed: &Places) -> Result<LaidFace, String> {
    let name = face_name(job, face);
    let opened = super::opened(job, face).map_err(|why| why.to_string())?;
    let on_board: Vec<(MarkId, Point3<Part>)> = super::marks_of(job, face)
        .into_iter()
        .filter_map(|m| Some((m.clone(), placed.of(&m)?)))
        .collect();
    let letters = |all: &[(MarkId, Point3<Part>)]| -> Vec<String> {
        all.iter()
            .map(|(m, _)| name_of(job, &PointRef::Mark(m.clone())))
            .collect()
    };
    if on_board.len() < 3 {
        let so_far = letters(&on_board);
        return Err(if so_far.is_empty() {
            format!("{name}: read three of its marks on the board")
        } else {
            format!(
                "{name}: three of its marks on the board say where it is. So far {}",
                listed(&so_far)
            )
        });
    }
    let by_tape = opened.placed.marks.as_ref();
    let held: Vec<_> = on_board
        .iter()
        .filter_map(|(mark, on)| {
            let marks = by_tape?;
            let chart: Point2<Face> = marks.at(&PointRef::Mark(mark.clone()))?;
            let own = marks.adjusted.surface.jet(chart).ok()?.at;
            Some((mark.clone(), chart, (*on, own)))
        })
        .collect();
    let (Some(marks), true) = (by_tape, held.len() >= 3) else {
        return Err(format!(
            "{name}: the tape holds too few of {}: read the distances between them first",
            listed(&letters(&on_board))
        ));
    };
    let names: Vec<String> = held
        .iter()
        .map(|h| name_of(job, &PointRef::Mark(h.0.clone())))
        .collect();
    let pairs: Vec<_> = held.iter().map(|h| h.2).collect();
    let fit = laid(&names, &pairs)
        .map_err(|why| format!("{name}: the board and the tape do not go together: {why}"))?;
    let n = held.len() as f64;
    let middle = held.iter().fold([0.0, 0.0], |[u, v], h| {
        [u + h.1.x_mm() / n, v + h.1.y_mm() / n]
    });
    Ok(LaidFace {
        name,
        fit,
        pairs,
        surface: marks.adjusted.surface.clone(),
        middle: Point2::from_mm(middle[0], middle[1]),
    })
}

/// Marks nearer to each other say too little of a direction.
const APART: Length = Length::from_mm(50.0);

/// Towards the eye of somebody to whom one mark hides another, in a face's own space, and within how
/// much (95 %): by the tape where both lie on that face, else by the board.
///
/// # Errors
/// In words: what is to be read first, or that they lie too near each other.
pub(in crate::prepare) fn hides(
    job: &Job,
    face: &FaceId,
    [nearer, hidden]: [&MarkId; 2],
) -> Result<(Vector3<Part>, Angle), String> {
    let name = |m: &MarkId| name_of(job, &PointRef::Mark(m.clone()));
    let on_face = |m: &MarkId| job.marks.get(m).and_then(|m| m.face.as_ref()) == Some(face);
    let towards = if on_face(nearer) && on_face(hidden) {
        let opened = super::opened(job, face).map_err(|why| why.to_string())?;
        let at = |m: &MarkId| {
            let marks = opened.placed.marks.as_ref();
            let own = marks.and_then(|marks| {
                let at = marks.at(&PointRef::Mark(m.clone()))?;
                Some(marks.adjusted.surface.jet(at).ok()?.at)
            });
            own.ok_or_else(|| format!("{} is not placed yet: read it from two marks", name(m)))
        };
        at(nearer)? - at(hidden)?
    } else {
        let part = job.faces.get(face).and_then(|f| f.part.as_ref());
        let casting = part.and_then(|p| job.pattern_of(p));
        let placed = places(&casting.map_or_else(Vec::new, |c| read(job, c)));
        let at = |m: &MarkId| {
            placed.of(m).ok_or_else(|| {
                format!(
                    "where {} is on the piece is not known: read it under Plan and height",
                    name(m)
                )
            })
        };
        let (near, far) = (at(nearer)?, at(hidden)?);
        let laid = laid_face(job, face, &placed)?;
        laid.fit.to_from.inverse().vector(near - far)
    };
    let apart = towards.norm();
    if apart < APART {
        return Err(format!(
            "{} and {} lie within {} mm of each other: choose two that are further apart",
            name(nearer),
            name(hidden),
            mm(APART)
        ));
    }
    let within = COVER * READ_MM * core::f64::consts::SQRT_2 / apart.mm();
    Ok((towards, Angle::from_rad(within)))
}

/// Where one face is by what is placed: from where it is seen, or what is to be read.
fn stands(job: &Job, face: &FaceId, placed: &Places) -> Result<(String, String), String> {
    let LaidFace {
        name,
        fit,
        pairs,
        surface,
        middle: at,
    } = laid_face(job, face, placed)?;
    let outward = surface.normal(at).map_err(|why| why.to_string())?;
    let seen = from_where(fit.to_from.vector(outward));
    let on: Vec<_> = pairs.iter().map(|p| p.0).collect();
    let found = Length::from_mm(READ_MM * libm::sqrt(6.0));
    let out_by = surface
        .jet(at)
        .ok()
        .and_then(|j| carried_out_by(&on, found, fit.to_from.point(j.at)));
    let within = out_by.map_or_else(String::new, |by| {
        format!(", its middle placed within {} mm", mm(by * COVER))
    });
    let says = format!("{name} is seen {seen}{within}");
    Ok((seen, says))
}

/// From where a face is seen: by the gridded board where its pattern stood on one, else as a file
/// has it.
pub(in crate::prepare) fn seen_from(job: &Job, face: &FaceId) -> Option<String> {
    let edit = job.faces.get(face)?;
    let by_board = || {
        let casting = job.pattern_of(edit.part.as_ref()?)?;
        let read = read(job, casting);
        if read.is_empty() {
            return None;
        }
        stands(job, face, &places(&read)).ok().map(|(seen, _)| seen)
    };
    by_board().or_else(|| edit.seen_from.clone())
}

/// The pattern of a part on the gridded board.
///
/// # Errors
/// [`PrepareError`] where no casting of it is the pattern.
pub fn board_view(source: &Source<'_>, part: &PartId) -> Result<BoardView, PrepareError> {
    let job = source.job;
    let casting = job.pattern_of(part).ok_or_else(|| {
        super::super::design::missing(
            "the pattern",
            part.as_str(),
            "say which casting is the approved pattern",
        )
    })?;
    let marks = read(job, casting);
    let placed = places(&marks);
    let faces = job
        .faces
        .iter()
        .filter(|(id, f)| f.part.as_ref() == Some(part) && !super::marks_of(job, id).is_empty())
        .map(|(id, _)| {
            let (seen, says) = match stands(job, id, &placed) {
                Ok((seen, says)) => (Some(seen), says),
                Err(says) => (None, says),
            };
            FaceOnBoard {
                face: id.clone(),
                name: face_name(job, id),
                seen,
                says,
            }
        })
        .collect();
    Ok(BoardView {
        marks,
        ties: placed.ties,
        faces,
    })
}
