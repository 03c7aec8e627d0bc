//! Where one patch meets another: the line both carry, its symbol, and how far ends may stand apart.
//!
//! ```text
//!            ●  runs on outwards from the outer edge
//!      ──────┼──────
//!            :            a ring round the middle is met twice, and its join
//!      ──────┼──────      runs on inwards from the inner edge too
//!            ●
//! ```

use super::sector::crossings_mm;
use super::{Laid, Tried, Whole};
use crate::frames::{Flat, Point2, Vector2};
use crate::prepare::words::tenth;
use crate::sheet::{FlatPath, SheetJoin};
use crate::surface::SurfaceError;
use crate::units::Length;

/// A join runs on so far outside the outline.
const RUNS_ON: Length = Length::from_mm(30.0);

/// Towards the middle it runs on over at most this share of the way there: all joins end there.
const INWARDS: f64 = 0.5;

/// Symbols of joins, in order, as between sheets.
const SYMBOLS: [&str; 3] = ["●", "▲", "■"];

/// What two hands lay two crosses to, beyond what the paper leaves, mm (common practice, no source).
const LAID_TO_MM: f64 = 1.0;

/// The rings of an outline, and of each join how far ends may stand apart there.
type Met<'a> = (&'a [Vec<Point2<Flat>>], &'a [Option<Length>]);

impl Whole<'_> {
    /// How far the ends of two neighbours may stand apart where the outline crosses their join, at the
    /// worst of the places where it does.
    pub(super) fn step_along(
        &self,
        line: Vector2<Flat>,
        rings: &[Vec<Point2<Flat>>],
        (lies, k): (&[Laid], usize),
    ) -> Option<Length> {
        let near = |k: usize, at: Point2<Flat>| {
            let (samples, turned, _) = lies.get(k % lies.len())?;
            let far = |p: &Point2<Flat>| p.distance(at).mm();
            let n = (0..samples.len()).min_by(|&a, &b| {
                let of = |n: usize| samples.get(n).map_or(f64::INFINITY, far);
                of(a).total_cmp(&of(b))
            })?;
            turned.get(n).copied()
        };
        let steps = crossings_mm(rings, line).into_iter().filter_map(|mm| {
            let at = Point2::ORIGIN + line * mm;
            Some((near(k + 1, at)? - near(k, at)?).norm_mm())
        });
        steps.reduce(f64::max).map(Length::from_mm)
    }

    /// The joins of one patch, drawn by `on_paper`.
    pub(super) fn joins(
        &self,
        (one, k, count): (&Tried, usize, usize),
        (rings, steps): Met<'_>,
        on_paper: impl Fn(&[Point2<Flat>]) -> Result<Option<FlatPath>, SurfaceError>,
    ) -> Result<Vec<SheetJoin>, SurfaceError> {
        let mut joins = Vec::new();
        if count < 2 {
            return Ok(joins);
        }
        let before = (k + count - 1) % count;
        for (line, join, other) in [
            (one.sector.begins(), before, before),
            (one.sector.ends(), k, (k + 1) % count),
        ] {
            let symbol = symbol_of(join, count);
            for [from, to] in runs_mm(rings, line) {
                let ways = 16_u32;
                let points: Vec<Point2<Flat>> = (0..=ways)
                    .map(|n| {
                        let share = f64::from(n) / f64::from(ways);
                        Point2::ORIGIN + line * (from + (to - from) * share)
                    })
                    .collect();
                if let Some(path) = on_paper(&points)? {
                    joins.push(SheetJoin {
                        label: format!("{symbol} patch {} meets patch {}", k + 1, other + 1),
                        step: steps.get(join).copied().flatten().unwrap_or(Length::ZERO),
                        symbol,
                        other: other + 1,
                        path,
                    });
                }
            }
        }
        Ok(joins)
    }
}

/// From where to where along a way out of the middle a join is drawn, mm: beyond the outermost edge,
/// and within the innermost where the middle is outside the outline.
fn runs_mm(rings: &[Vec<Point2<Flat>>], line: Vector2<Flat>) -> Vec<[f64; 2]> {
    let met = crossings_mm(rings, line);
    let (Some(&first), Some(&last)) = (met.first(), met.last()) else {
        return Vec::new();
    };
    let mut runs = vec![[last, last + RUNS_ON.mm()]];
    if met.len().is_multiple_of(2) {
        runs.push([first, first - RUNS_ON.mm().min(first * INWARDS)]);
    }
    runs
}

/// Symbols in turn; the last join and the first, which one patch has both of, are never alike.
fn symbol_of(join: usize, count: usize) -> &'static str {
    let again = join > 0 && join + 1 == count && join.is_multiple_of(SYMBOLS.len());
    let k = if again { 1 } else { join % SYMBOLS.len() };
    SYMBOLS.get(k).copied().unwrap_or("●")
}

/// What is done with one patch, and what its ends must meet.
pub(in crate::prepare) fn patch_words(k: usize, joins: &[SheetJoin], laying: &str) -> String {
    let mut words = laying.to_owned();
    words.push_str(" Mark its part of the outline up to both joins, and the joins.");
    let mut said: Vec<&str> = Vec::new();
    for join in joins.iter().filter(|j| j.other <= k) {
        // A ring's join has two lines and one symbol.
        if said.contains(&join.symbol) {
            continue;
        }
        let ends = match joins.iter().filter(|j| j.symbol == join.symbol).count() {
            1 => "its end must meet that",
            _ => "its ends must meet those",
        };
        words.push_str(&format!(
            " At {} {ends} of patch {} within {} mm.",
            join.symbol,
            join.other,
            tenth(Length::from_mm(join.step.mm() + LAID_TO_MM))
        ));
        said.push(join.symbol);
    }
    words
}
