//! How an outline's own shape moves with the marks it is drawn by: the line between two of them that it
//! runs along on this casting, or the mark in front of which the pattern was looked at.
//!
//! What is uncertain about such a mark bends or turns the outline beside its rule, whatever its crosses
//! are laid on, and so belongs to the budget (design/11, *Budget*). Found by small steps of each mark
//! about the finished outline.

use super::along::bent_along;
use super::design::Design;
use super::elevation::met_on;
use super::outline::scaled;
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{MarkId, Runs, SeenFrom};
use crate::outline::Outline;
use crate::place::{Layout, Nominal, Placed, Rule};
use crate::template::DrawnBy;
use crate::units::Length;

/// A mark is moved so far either way: well over what ways are found to, well under what bends anything.
const STEP_MM: f64 = 0.05;

/// Slopes are found at places of the outline so far apart; between them they hardly change.
const EVERY: Length = Length::from_mm(8.0);

/// What moves a place by less than this for a millimetre is left out.
const NOTHING_MM: f64 = 1e-6;

/// Places of an outline before it is bent, where they come to lie, and by how much each column moves them.
struct Slopes {
    at: Vec<Point2<Flat>>,
    by: Vec<(usize, Vec<Vector2<Flat>>)>,
}

impl Slopes {
    /// From a function of a column and a step of it, mm; column none for no step.
    fn of(
        columns: &[usize],
        places: impl Fn(Option<usize>, f64) -> Option<Vec<Point2<Flat>>>,
    ) -> Option<Self> {
        let at = places(None, 0.0)?;
        let by = columns
            .iter()
            .filter_map(|&column| {
                let (more, less) = (
                    places(Some(column), STEP_MM)?,
                    places(Some(column), -STEP_MM)?,
                );
                let moved = more.iter().zip(&less);
                let slope = moved.map(|(a, b)| (*a - *b) * (0.5 / STEP_MM));
                Some((column, slope.collect()))
            })
            .collect();
        Some(Self { at, by })
    }

    /// At the place nearest to one.
    fn near(&self, p: Point2<Flat>) -> Vec<(usize, Vector2<Flat>)> {
        let far = |n: &usize| self.at.get(*n).map_or(f64::MAX, |q| q.distance(p).mm());
        let nearest = (0..self.at.len()).min_by(|a, b| far(a).total_cmp(&far(b)));
        let Some(n) = nearest else { return Vec::new() };
        let all = self.by.iter();
        all.filter_map(|(column, by)| Some((*column, *by.get(n)?)))
            .filter(|(_, v)| v.norm_mm() > NOTHING_MM)
            .collect()
    }
}

/// For each looked-at point of a finished outline, how it moves with the marks it was drawn by; nothing
/// at all for an outline that lies straight as it is. `straight` is the outline before.
pub(super) fn drawn_by(
    design: &Design<'_>,
    (straight, looked): (&Outline<Flat>, &[Point2<Flat>]),
    (nominal, ids): (&Nominal, &[MarkId]),
    (layout, placed): (&Layout, &Placed),
) -> Vec<DrawnBy> {
    let seen = design.edit.seen.clone().unwrap_or_default();
    if seen != SeenFrom::Surface {
        let places = straight.samples(EVERY);
        let by = by_view(design, (nominal, ids), &seen, &places);
        return each(looked, by, |drawing| DrawnBy {
            drawing,
            ..DrawnBy::default()
        });
    }
    if design.edit.runs != Some(Runs::Along) {
        return Vec::new();
    }
    let places = scaled(straight.clone(), placed.scale).samples(EVERY);
    let by = by_line(design, ids, (layout, placed), &places);
    each(looked, by, |casting| DrawnBy {
        casting,
        ..DrawnBy::default()
    })
}

fn each(
    looked: &[Point2<Flat>],
    by: Option<Slopes>,
    of: impl Fn(Vec<(usize, Vector2<Flat>)>) -> DrawnBy,
) -> Vec<DrawnBy> {
    by.map_or_else(Vec::new, |by| {
        looked.iter().map(|&p| of(by.near(p))).collect()
    })
}

/// By the marks at the ends of the line that it runs along.
fn by_line(
    design: &Design<'_>,
    ids: &[MarkId],
    (layout, placed): (&Layout, &Placed),
    places: &[Point2<Flat>],
) -> Option<Slopes> {
    let line = design.edit.along.as_ref()?;
    let index = |m: &MarkId| ids.iter().position(|id| id == m);
    let (from, to) = (index(&line.from)?, index(&line.to)?);
    let columns = [2 * from, 2 * from + 1, 2 * to, 2 * to + 1];
    Slopes::of(&columns, |column, step| {
        let marks = stepped(&layout.marks, column, step);
        let ends = [*marks.get(from)?, *marks.get(to)?];
        bent_along(places, &layout.surface, &placed.pose, ends)
    })
}

/// By the pattern's marks that say from where it is seen, and how it is turned there.
fn by_view(
    design: &Design<'_>,
    (nominal, ids): (&Nominal, &[MarkId]),
    seen: &SeenFrom,
    places: &[Point2<Flat>],
) -> Option<Slopes> {
    let before = seen.mark();
    let at = before.and_then(|m| ids.iter().position(|id| id == m));
    let elsewhere = before.and_then(|m| design.on_its_pattern(m));
    let (a, b) = match &nominal.rule {
        Rule::Edges { corner, along, .. } => (*corner, *along),
        other => other.line(),
    };
    let mut marks: Vec<usize> = [a, b].into_iter().chain(at).collect();
    marks.sort_unstable();
    marks.dedup();
    // The centre stands after the marks.
    let centre = nominal.layout.marks.len();
    marks.push(centre);
    let columns: Vec<usize> = marks.iter().flat_map(|&k| [2 * k, 2 * k + 1]).collect();
    Slopes::of(&columns, |column, step| {
        let mut here = nominal.clone();
        here.layout.marks = stepped(&nominal.layout.marks, column, step);
        if let Some(way) = column.filter(|c| c / 2 == centre) {
            here.centre = moved(nominal.centre, way % 2, step);
        }
        let in_front = match at {
            Some(k) => here.layout.marks.get(k).copied(),
            None => elsewhere,
        };
        met_on(&here, seen, in_front, places)
    })
}

fn moved(p: Point2<Face>, way: usize, step: f64) -> Point2<Face> {
    p + match way {
        0 => Vector2::from_mm(step, 0.0),
        _ => Vector2::from_mm(0.0, step),
    }
}

fn stepped(marks: &[Point2<Face>], column: Option<usize>, step: f64) -> Vec<Point2<Face>> {
    let mut marks = marks.to_vec();
    if let Some(column) = column
        && let Some(mark) = marks.get_mut(column / 2)
    {
        *mark = moved(*mark, column % 2, step);
    }
    marks
}
