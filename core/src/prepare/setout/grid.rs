//! The drawing of a face at full size, with a grid through one of its marks, over as many sheets as
//! it takes: to be pounced through, or laid beside the pattern and read off square by square.

use super::super::Source;
use super::super::error::PrepareError;
use super::super::words::mm;
use super::{FaceView, Stands, face_view};
use crate::frames::{Flat, Point2};
use crate::job::{FaceId, Job};
use crate::read::marked_picture::OfPicture;
use crate::sheet::{Cross, Drawing, FlatPath, Paper, SheetSetup, TemplateSheet, Words, compose};
use crate::units::Length;

/// Lines nearer than this can't be told from what is drawn, mm.
pub(super) const NEAREST_MM: f64 = 10.0;
/// More lines either way nobody counts.
pub(super) const MOST_LINES: f64 = 200.0;
/// Of an outline one place in so many says how far it reaches.
const OUTLINE_STEP: usize = 6;
/// The grid goes on past what is drawn by so much, mm.
const PAST_MM: f64 = 8.0;

/// What every sheet of a face says that is of no one piece: job, part, face, issue, day.
pub(super) fn face_words(job: &Job, face: &FaceId, view: &FaceView, day: &str) -> Words {
    let part = job
        .faces
        .get(face)
        .and_then(|f| job.parts.get(f.part.as_ref()?)?.name.clone());
    Words {
        part: part.unwrap_or_default(),
        face: view.name.clone(),
        ..job_words(job, day)
    }
}

/// What every sheet says that is of no one piece and no one face: job, issue, day.
pub(super) fn job_words(job: &Job, day: &str) -> Words {
    let issue = (job.issues.values())
        .filter_map(|i| Some((i.number?, i.date.clone().unwrap_or_default())))
        .max();
    let (issue, issue_date) = issue.unwrap_or((1, String::new()));
    let mut serves: Vec<u32> = job.pieces.values().filter_map(|p| p.number).collect();
    serves.sort_unstable();
    let serves = if serves.is_empty() {
        vec!["all".to_owned(), "to come".to_owned()]
    } else {
        serves.iter().map(ToString::to_string).collect()
    };
    let invented = job.about.invented == Some(true);
    Words {
        issue,
        issue_date,
        serves,
        job: job.about.title.clone().unwrap_or_default(),
        date: day.to_owned(),
        program: format!("Samespot {}", env!("CARGO_PKG_VERSION")),
        invented: if invented {
            "INVENTED EXAMPLE".to_owned()
        } else {
            String::new()
        },
        ..Words::default()
    }
}

/// Where grid lines lie between two ends, counted from a place.
fn lines(from: f64, low: f64, high: f64, every: f64) -> Vec<f64> {
    let last = libm::floor((high - from) / every);
    let mut out = Vec::new();
    let mut k = libm::ceil((low - from) / every);
    while k <= last {
        out.push(from + k * every);
        k += 1.0;
    }
    out
}

/// Where upright and level lines of a grid lie between two corners, mm, counted from a place.
///
/// # Errors
/// A sentence, where lines are closer than anybody counts.
pub fn grid_lines(
    from: [f64; 2],
    low: [f64; 2],
    high: [f64; 2],
    every: Length,
) -> Result<[Vec<f64>; 2], String> {
    let every_mm = every.mm();
    let reach = (high[0] - low[0]).max(high[1] - low[1]);
    if every_mm < NEAREST_MM || reach / every_mm > MOST_LINES {
        return Err(format!(
            "a grid line every {} mm is too close: {} mm or more can be counted",
            mm(every),
            mm(Length::from_mm(
                NEAREST_MM.max(libm::ceil(reach / MOST_LINES))
            ))
        ));
    }
    Ok([0, 1].map(|axis| lines(from[axis], low[axis], high[axis], every_mm)))
}

/// What sheets of a picture say of the job they belong to.
#[must_use]
pub fn of_picture(job: &Job, face: Option<&FaceId>, picture: &str, day: &str) -> OfPicture {
    let words = job_words(job, day);
    let face = face.and_then(|f| job.faces.get(f));
    let part = face.and_then(|f| job.parts.get(f.part.as_ref()?)?.name.clone());
    OfPicture {
        picture: picture.to_owned(),
        job: words.job,
        part: part.unwrap_or_default(),
        face: face.and_then(|f| f.name.clone()).unwrap_or_default(),
        issue: words.issue,
        issue_date: words.issue_date,
        serves: words.serves,
        date: words.date,
        invented: words.invented,
    }
}

/// From where to where an upright line at `x` runs inside the hull of places `[x, y]`: a grid stays
/// inside the trim line, which runs round the same places.
fn inside(places: &[[f64; 2]], x: f64) -> Option<[f64; 2]> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for a in places {
        for b in places {
            // Every way between two places lies inside, and the outermost are the hull itself.
            if a[0] <= x && x <= b[0] {
                let t = if b[0] > a[0] {
                    (x - a[0]) / (b[0] - a[0])
                } else {
                    0.0
                };
                let y = a[1] + t * (b[1] - a[1]);
                low = low.min(y);
                high = high.max(y);
            }
        }
    }
    (high > low).then_some([low, high])
}

/// The drawing of a face on paper, its grid a line every so far.
///
/// # Errors
/// [`PrepareError`] where nothing is held yet, the grid is too fine, or the paper too small.
pub fn grid_sheet(
    source: &Source<'_>,
    face: &FaceId,
    every: Length,
    paper: Paper,
    day: &str,
) -> Result<Drawing, PrepareError> {
    let job = source.job;
    let view = face_view(source, face)?;
    let cannot = |why: String| PrepareError::Size {
        face: view.name.clone(),
        why,
    };
    let marks: Vec<(&str, Point2<Flat>)> = view
        .marks
        .iter()
        .filter_map(|m| match m.stands {
            Stands::Held { at_mm: [x, y], .. } => Some((m.letter.as_str(), Point2::from_mm(x, y))),
            _ => None,
        })
        .collect();
    let Some(&(origin, zero)) = marks.first() else {
        return Err(cannot(
            "no mark of it is held by readings yet: read two of them from each other".into(),
        ));
    };
    let outlines = view.features.iter().flat_map(|f| &f.outline);
    let drawn = outlines
        .clone()
        .flatten()
        .map(|[x, y]| Point2::from_mm(*x, *y));
    // A little more than what is drawn. Of an outline every few places do.
    let mut round: Vec<[f64; 2]> = Vec::new();
    for p in drawn.step_by(OUTLINE_STEP).chain(marks.iter().map(|m| m.1)) {
        for (dx, dy) in [
            (-PAST_MM, -PAST_MM),
            (PAST_MM, -PAST_MM),
            (PAST_MM, PAST_MM),
            (-PAST_MM, PAST_MM),
        ] {
            round.push([p.x_mm() + dx, p.y_mm() + dy]);
        }
    }
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for p in &round {
        for (axis, v) in p.iter().enumerate() {
            low[axis] = low[axis].min(*v);
            high[axis] = high[axis].max(*v);
        }
    }
    let [upright, level] =
        grid_lines([zero.x_mm(), zero.y_mm()], low, high, every).map_err(cannot)?;
    let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
    let onto = |p: Point2<Flat>| Point2::from_mm(p.x_mm() - middle[0], p.y_mm() - middle[1]);
    let at = |x: f64, y: f64| onto(Point2::from_mm(x, y));
    let turned: Vec<[f64; 2]> = round.iter().map(|[x, y]| [*y, *x]).collect();
    let grid = upright
        .iter()
        .filter_map(|x| inside(&round, *x).map(|[from, to]| [at(*x, from), at(*x, to)]))
        .chain(
            level
                .iter()
                .filter_map(|y| inside(&turned, *y).map(|[from, to]| [at(from, *y), at(to, *y)])),
        );
    let edges = outlines
        .filter_map(|run| {
            let points: Vec<_> = run.iter().map(|[x, y]| at(*x, *y)).collect();
            FlatPath::polyline(&points, true)
        })
        .collect();
    let laying = match marks.as_slice() {
        [(a, _), (b, _), ..] => {
            format!("Put {a} on {a}, then turn until {b} lies on the line {a}–{b}.")
        }
        _ => String::new(),
    };
    let mut words = face_words(job, face, &view, day);
    words.feature = "drawing with a grid".to_owned();
    words.kind = "full-size drawing".to_owned();
    words.laying = laying;
    words.allowance = format!(
        "A grid line every {} mm, both ways, counted from {origin}. Outlines are the paint edge: nothing is allowed for a marker.",
        mm(every)
    );
    words.warnings = view.notes.clone();
    let sheet = TemplateSheet {
        paint_edges: edges,
        centre_lines: grid.collect(),
        grid: true,
        crosses: marks
            .iter()
            .map(|(letter, place)| Cross {
                letter: (*letter).to_owned(),
                place: onto(*place),
                off_by: None,
                suspect: None,
            })
            .collect(),
        words,
        setup: SheetSetup {
            paper,
            ..SheetSetup::default()
        },
        ..TemplateSheet::default()
    };
    compose(&sheet).map_err(|why| cannot(why.to_string()))
}
