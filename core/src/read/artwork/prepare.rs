//! From artwork and answers to an outline in millimetres.

use super::region::{Grid, Region, Rule};
use super::{Artwork, DeclaredSize, Question, Stroke};
use crate::frames::{Artwork as Drawing, Flat, Point2, Vector2};
use crate::outline::{Bounds, Contour, FLATTENING, GRID_PER_MM, MeetingKind, Outline};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// How large it is to be.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "by", content = "of")]
pub enum SizeAnswer {
    /// As the file says in millimetres.
    #[default]
    Declared,
    /// So many pixels to the inch.
    PerInch(f64),
    /// What is `drawn` long, in drawing units, is `real` long.
    Known {
        /// As drawn.
        drawn: Length,
        /// As it is to be.
        real: Length,
    },
}

/// What a drawn line stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Strokes {
    /// Not answered; refused if there are lines.
    #[default]
    Ask,
    /// Its centre line, open or closed.
    CentreLine,
    /// The area it covers.
    BothEdges,
    /// Lines are left out.
    LeaveOut,
}

/// What becomes of dashes where both edges are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dashes {
    /// One line through.
    #[default]
    Solid,
    /// Every dash on its own.
    Each,
}

/// What becomes of painted areas that lie over each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Overlaps {
    /// Each keeps its own outline.
    #[default]
    Apart,
    /// One outline about all.
    Union,
}

/// What was answered to the artwork's questions.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "camelCase", default, deny_unknown_fields)]
pub struct Answers {
    /// How large.
    pub size: SizeAnswer,
    /// Lines.
    pub strokes: Strokes,
    /// Dashes.
    pub dashes: Dashes,
    /// Areas over each other.
    pub overlaps: Overlaps,
    /// The shapes to take, by their number in [`Artwork::shapes`]; all when empty.
    pub shapes: Vec<usize>,
    /// Leave out what lies partly or wholly outside the page.
    pub within_page: bool,
    /// Words that are not outlined may be left out.
    pub without_words: bool,
    /// Turn curves into straight pieces with as few points as stay within this of them.
    pub simplify: Option<Length>,
}

/// Artwork that cannot be used yet.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PrepareError {
    /// The size has not been answered, or the answer is no size.
    #[error("the artwork has no size yet; give one real dimension")]
    Size,
    /// It has not been said what lines stand for.
    #[error("{lines} lines: say whether their centre or both edges are meant")]
    Strokes {
        /// How many.
        lines: usize,
    },
    /// There are words that are not outlined.
    #[error("{texts} texts are not outlined; turn them into paths, or leave them out")]
    Words {
        /// How many.
        texts: usize,
    },
    /// A shape was asked for that is not there.
    #[error("there is no shape {shape}; the artwork has {of}")]
    NoShape {
        /// The number asked for, from 0.
        shape: usize,
        /// How many there are.
        of: usize,
    },
    /// Nothing is left.
    #[error("nothing is left of the artwork")]
    Nothing,
    /// It comes out larger than anything that is made.
    #[error("the artwork comes out {mm} mm long; at most {most_mm} mm are taken")]
    TooLarge {
        /// Its larger side, in millimetres.
        mm: f64,
        /// The most, in millimetres.
        most_mm: f64,
    },
}

/// The longest artwork taken: a hundred metres.
const MOST_MM: f64 = 100_000.0;

/// Dashes cut out of one line, at most; beyond it the line is taken as solid.
const MOST_DASHES: f64 = 5_000.0;

/// The artwork as outlines in millimetres, y up, the middle of its bounds on the origin, on the grid.
///
/// Closed contours bound areas, open ones are centre lines.
///
/// # Errors
/// [`PrepareError`] while a question is open that has no safe answer, or when nothing is left.
pub fn prepare(artwork: &Artwork, answers: &Answers) -> Result<Outline<Flat>, PrepareError> {
    let mm_per_unit = scale(artwork, answers.size)?;
    if !answers.without_words && !artwork.texts.is_empty() {
        return Err(PrepareError::Words {
            texts: artwork.texts.len(),
        });
    }
    let of = artwork.shapes.len();
    if let Some(&shape) = answers.shapes.iter().find(|&&i| i >= of) {
        return Err(PrepareError::NoShape { shape, of });
    }
    let taken: Vec<_> = artwork
        .shapes
        .iter()
        .enumerate()
        .filter(|(i, s)| {
            (answers.shapes.is_empty() || answers.shapes.contains(i))
                && !(answers.within_page && s.outside)
        })
        .map(|(_, s)| s)
        .collect();
    let lines = taken.iter().filter(|s| s.stroke.is_some()).count();
    if lines > 0 && answers.strokes == Strokes::Ask {
        return Err(PrepareError::Strokes { lines });
    }
    let unit = Length::from_mm(1.0);
    let to_mm = |o: &Outline<Drawing>| o.sized::<Flat>(unit, unit * mm_per_unit);
    let chord_units = Length::from_mm(FLATTENING.mm() / 4.0 / mm_per_unit);
    let mut areas: Vec<Outline<Flat>> = Vec::new();
    let mut open: Outline<Flat> = Outline::default();
    for shape in taken {
        areas.extend(shape.fill.as_ref().and_then(|f| to_mm(&f.outline)));
        let Some(stroke) = &shape.stroke else {
            continue;
        };
        match answers.strokes {
            Strokes::CentreLine => open.extend(to_mm(&stroke.centre).unwrap_or_default()),
            Strokes::BothEdges => {
                let reach = stroke.centre.bounds().map_or(1.0, |b| {
                    b.width().mm().max(b.height().mm()) + stroke.width.mm()
                });
                let mut grid = Grid::over(reach);
                grid.chord = chord_units;
                let edges = edges(stroke, answers.dashes == Dashes::Solid, grid);
                areas.extend(to_mm(&edges.outline(grid)));
            }
            Strokes::Ask | Strokes::LeaveOut => {}
        }
    }
    let areas: Vec<Outline<Flat>> = areas.iter().map(uncrossed).collect();
    let mut all = match answers.overlaps {
        Overlaps::Apart => areas
            .into_iter()
            .flat_map(|a| a.contours().to_vec())
            .collect(),
        Overlaps::Union => union(areas),
    };
    all.extend(open);
    if let Some(within) = answers.simplify.filter(|w| w.mm() > 0.0) {
        all = all
            .contours()
            .iter()
            .filter_map(|c| simplified(c, within))
            .collect();
    }
    let bounds = all.bounds().ok_or(PrepareError::Nothing)?;
    let mm = bounds.width().mm().max(bounds.height().mm());
    if mm > MOST_MM {
        return Err(PrepareError::TooLarge {
            mm,
            most_mm: MOST_MM,
        });
    }
    let centre = bounds.centre();
    // By whole grid steps: areas resolved on the grid stay on it, point for point.
    let step = |mm: f64| libm::round(mm * GRID_PER_MM) / GRID_PER_MM;
    let middle = Vector2::from_mm(step(centre.x_mm()), step(centre.y_mm()));
    Ok(all.shifted(-middle).snapped())
}

fn scale(artwork: &Artwork, answer: SizeAnswer) -> Result<f64, PrepareError> {
    let mm_per_unit = match (answer, &artwork.size) {
        (SizeAnswer::Declared, DeclaredSize::Mm { .. }) => 1.0,
        (SizeAnswer::PerInch(per_inch), DeclaredSize::Pixels { .. }) => 25.4 / per_inch,
        (SizeAnswer::Known { drawn, real }, _) => real.mm() / drawn.mm(),
        _ => return Err(PrepareError::Size),
    };
    let sane = mm_per_unit > 0.0 && mm_per_unit.is_finite();
    if sane {
        Ok(mm_per_unit)
    } else {
        Err(PrepareError::Size)
    }
}

impl Artwork {
    /// Whether nothing has to be answered before [`prepare`].
    #[must_use]
    pub fn is_ready(&self) -> bool {
        self.texts.is_empty()
            && !self
                .questions
                .iter()
                .any(|q| matches!(q, Question::Size | Question::Strokes { .. }))
    }
}

/// The area a line covers.
pub(super) fn edges(stroke: &Stroke, solid: bool, grid: Grid) -> Region {
    let pen = &stroke.pen;
    let mut style = pen.style.clone();
    let scale = libm::sqrt(pen.drawing_from_path.determinant().abs()).max(1e-9);
    let turn: f64 = style.dash_pattern.iter().sum();
    // kurbo measures lengths along the path; the control polygon is longer and quick.
    let long: f64 = pen
        .path
        .segments()
        .map(|s| {
            let c = s.to_cubic();
            let leg = |a: kurbo::Point, b: kurbo::Point| libm::hypot(b.x - a.x, b.y - a.y);
            leg(c.p0, c.p1) + leg(c.p1, c.p2) + leg(c.p2, c.p3)
        })
        .sum();
    if solid || turn <= 0.0 || long / turn > MOST_DASHES {
        style.dash_pattern.clear();
    }
    let tolerance = grid.chord.mm() / scale;
    let covered = kurbo::stroke(
        pen.path.iter(),
        &style,
        &kurbo::StrokeOpts::default(),
        tolerance,
    );
    let covered = pen.drawing_from_path * covered;
    match Outline::<Drawing>::from_paths_mm([&covered]) {
        // Rings all, though round ends are not marked as closed; under a mirror they run the other
        // way, which the nonzero rule does not mind.
        Ok(outline) => Region::filled(&outline, Rule::NonZero, grid),
        Err(_) => Region::default(),
    }
}

/// An area on the final grid without crossings: enlarging brings out loops too small to be seen in
/// the drawing, and rounding may make some.
fn uncrossed(area: &Outline<Flat>) -> Outline<Flat> {
    let on_grid = area.snapped();
    let crosses = on_grid
        .meetings(FLATTENING, 1)
        .iter()
        .any(|m| m.kind == MeetingKind::Crosses);
    if crosses {
        let grid = Grid::finished(Length::from_mm(FLATTENING.mm() / 4.0));
        Region::of(&on_grid, grid).outline(grid)
    } else {
        on_grid
    }
}

/// One outline about areas that meet; an area that meets no other keeps its curves.
fn union(areas: Vec<Outline<Flat>>) -> Outline<Flat> {
    let grid = Grid::finished(Length::from_mm(FLATTENING.mm() / 4.0));
    let mut groups: Vec<(Bounds<Flat>, Vec<Outline<Flat>>)> = Vec::new();
    for area in areas {
        let Some(mut bounds) = area.bounds() else {
            continue;
        };
        let mut members = vec![area];
        // Growing may make it meet another group: look again until none is met.
        while let Some(i) = groups.iter().position(|(b, _)| b.meets(bounds)) {
            let (b, more) = groups.remove(i);
            bounds = bounds.union(b);
            members.extend(more);
        }
        groups.push((bounds, members));
    }
    let mut all = Outline::default();
    for (_, members) in groups {
        match members.as_slice() {
            [alone] => all.extend(alone.clone()),
            several => {
                let regions = several.iter().map(|o| Region::of(o, grid));
                all.extend(Region::union(regions).outline(grid));
            }
        }
    }
    all
}

/// Ramer (1972) and Douglas & Peucker (1973): the fewest of its points a polyline needs to stay
/// within a distance, by halving at the farthest point. With a stack of its own, so that no drawing
/// is too long for it.
fn simplified(contour: &Contour<Flat>, within: Length) -> Option<Contour<Flat>> {
    // A quarter goes to the chords, the rest to leaving points out.
    let mut points = contour.polyline(within * 0.25);
    if contour.is_closed() {
        points.extend(points.first().copied());
    }
    let last = points.len().checked_sub(1)?;
    let mut kept = vec![false; points.len()];
    // A closed contour is halved first at the point farthest from its start.
    let mut todo = vec![(0, last)];
    for end in [0, last] {
        if let Some(k) = kept.get_mut(end) {
            *k = true;
        }
    }
    while let Some((a, b)) = todo.pop() {
        let (Some(&p), Some(&q)) = (points.get(a), points.get(b)) else {
            continue;
        };
        let far = (a + 1..b)
            .filter_map(|i| points.get(i).map(|r| (i, beside(p, q, *r))))
            .reduce(|x, y| if y.1 > x.1 { y } else { x });
        if let Some((i, _)) = far.filter(|(_, mm)| *mm > within.mm() * 0.75) {
            if let Some(k) = kept.get_mut(i) {
                *k = true;
            }
            todo.extend([(a, i), (i, b)]);
        }
    }
    let mut left: Vec<Point2<Flat>> = points
        .iter()
        .zip(&kept)
        .filter(|(_, k)| **k)
        .map(|(p, _)| *p)
        .collect();
    if contour.is_closed() {
        left.pop();
        return Contour::closed_through(&left).filter(|_| left.len() > 2);
    }
    Contour::open_through(&left)
}

fn beside(a: Point2<Flat>, b: Point2<Flat>, p: Point2<Flat>) -> f64 {
    let along = b - a;
    let square = along.dot(along);
    let t = if square > 0.0 {
        ((p - a).dot(along) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a + along * t).mm()
}
