//! Areas on a whole-number grid: what two of them share, and one outline about many.

use crate::frames::{Frame, Point2};
use crate::outline::{Contour, Outline};
use crate::units::Length;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::Overlay;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

pub(super) use i_overlay::core::fill_rule::FillRule as Rule;

type Ring = Vec<IntPoint<i32>>;

/// Coordinates stay under this; the library works to 2³⁰.
const MOST_STEPS: f64 = 536_870_912.0;

/// Steps to the unit, and how far chords may stray from curves.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    steps: f64,
    pub(super) chord: Length,
}

/// Closed rings on the grid; outer ones anticlockwise, holes clockwise.
#[derive(Debug, Clone, Default)]
pub(super) struct Region(Vec<Ring>);

impl Grid {
    /// For a drawing `extent` units across: four million steps over it, chords within a twenty
    /// thousandth (0.01 mm on a stencil 200 mm wide).
    pub(super) fn over(extent: f64) -> Self {
        let extent = extent.clamp(1e-6, 1e9);
        // A power of two, so that grid points are exact.
        let steps = libm::exp2(22.0 - libm::ceil(libm::log2(extent)));
        Self {
            steps,
            chord: Length::from_mm(extent / 20_000.0),
        }
    }

    /// The grid of every finished outline, in millimetres.
    pub(super) const fn finished(chord: Length) -> Self {
        Self {
            steps: crate::outline::GRID_PER_MM,
            chord,
        }
    }

    fn ring<F: Frame>(self, points: &[Point2<F>]) -> Ring {
        let step = |v: f64| {
            let on = libm::round(v * self.steps).clamp(-MOST_STEPS, MOST_STEPS);
            #[expect(clippy::cast_possible_truncation, reason = "clamped to 2^29")]
            let on = on as i32;
            on
        };
        let mut ring: Ring = Vec::with_capacity(points.len());
        for p in points {
            let q = IntPoint {
                x: step(p.x_mm()),
                y: step(p.y_mm()),
            };
            if ring.last() != Some(&q) {
                ring.push(q);
            }
        }
        if ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
        ring
    }
}

impl Region {
    /// The area a path fills by `rule`.
    pub(super) fn filled<F: Frame>(outline: &Outline<F>, rule: Rule, grid: Grid) -> Self {
        let rings: Vec<Ring> = outline
            .contours()
            .iter()
            .map(|c| grid.ring(&c.polyline(grid.chord)))
            .collect();
        Self::combined(&rings, &[], OverlayRule::Subject, rule)
    }

    /// The area of an outline whose contours do not cross.
    pub(super) fn of<F: Frame>(outline: &Outline<F>, grid: Grid) -> Self {
        Self::filled(outline, FillRule::EvenOdd, grid)
    }

    pub(super) const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(super) fn shared(&self, other: &Self) -> Self {
        Self::combined(&self.0, &other.0, OverlayRule::Intersect, FillRule::NonZero)
    }

    pub(super) fn without(&self, other: &Self) -> Self {
        Self::combined(
            &self.0,
            &other.0,
            OverlayRule::Difference,
            FillRule::NonZero,
        )
    }

    pub(super) fn union(regions: impl IntoIterator<Item = Self>) -> Self {
        let rings: Vec<Ring> = regions.into_iter().flat_map(|r| r.0).collect();
        Self::combined(&rings, &[], OverlayRule::Subject, FillRule::NonZero)
    }

    fn combined(a: &[Ring], b: &[Ring], what: OverlayRule, rule: Rule) -> Self {
        if a.is_empty() {
            return Self::default();
        }
        let shapes = Overlay::from_subj_and_clip(a, b).overlay(what, rule);
        let mut rings: Vec<Ring> = shapes
            .into_iter()
            .flatten()
            .filter(|r| r.len() > 2)
            .collect();
        for ring in &mut rings {
            let low = (0..ring.len()).min_by_key(|&i| ring.get(i).map(|p| (p.x, p.y)));
            ring.rotate_left(low.unwrap_or(0));
        }
        let key = |r: &Ring| r.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>();
        rings.sort_by_cached_key(key);
        Self(rings)
    }

    pub(super) fn outline<F: Frame>(&self, grid: Grid) -> Outline<F> {
        self.0
            .iter()
            .filter(|ring| !sliver(ring))
            .filter_map(|ring| {
                let points: Vec<Point2<F>> = ring
                    .iter()
                    .map(|p| {
                        Point2::from_mm(f64::from(p.x) / grid.steps, f64::from(p.y) / grid.steps)
                    })
                    .collect();
                Contour::closed_through(&points)
            })
            .collect()
    }
}

/// Thinner than a step of the grid all along: what rounding leaves where edges all but coincide.
fn sliver(ring: &Ring) -> bool {
    let next = ring.iter().skip(1).chain(ring.first());
    let (mut twice_area, mut round) = (0.0, 0.0);
    for (p, q) in ring.iter().zip(next) {
        let (px, py, qx, qy) = (
            f64::from(p.x),
            f64::from(p.y),
            f64::from(q.x),
            f64::from(q.y),
        );
        twice_area += px * qy - qx * py;
        round += libm::hypot(qx - px, qy - py);
    }
    twice_area.abs() <= round
}

/// A path's fill as contours that do not cross, curves kept where that is possible; and whether it
/// was not.
pub(super) fn resolved<F: Frame>(path: &Outline<F>, rule: Rule, grid: Grid) -> (Outline<F>, bool) {
    if !path.meetings(grid.chord, 1).is_empty() {
        return (Region::filled(path, rule, grid).outline(grid), true);
    }
    if rule == FillRule::EvenOdd {
        return (path.clone(), false);
    }
    // By the nonzero rule a contour is an edge only where one side of it is painted and the other not.
    let nests = path.nesting();
    let turns: Vec<i32> = path
        .contours()
        .iter()
        .map(|c| if c.is_anticlockwise() { 1 } else { -1 })
        .collect();
    let kept = path
        .contours()
        .iter()
        .enumerate()
        .filter(|(i, _)| {
            let own = turns.get(*i).copied().unwrap_or(0);
            let mut outside = 0;
            let mut around = nests.get(*i).and_then(|n| n.inside);
            while let Some(j) = around {
                outside += turns.get(j).copied().unwrap_or(0);
                around = nests.get(j).and_then(|n| n.inside);
            }
            (outside != 0) != (outside + own != 0)
        })
        .map(|(_, c)| c.clone())
        .collect();
    (kept, false)
}
