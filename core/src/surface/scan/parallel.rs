//! The face through the middle of a sheet laid on a scan's patch: every place goes half the sheet's
//! thickness out along its own normal, so that a way over it is longer by t/2 times the curvature
//! of each bit of the way, wherever that bit lies.
//!
//! It is a patch again, on the same grid: the spline of the face with what the
//! parallel one stands higher added to it, that by the quasi-interpolant exact for cubics
//! (de Boor, *A Practical Guide to Splines*, XII).

use super::ScanFace;
use super::patch::Patch;
use crate::frames::{Face, Point2};
use crate::surface::SurfaceError;
use std::sync::Arc;

/// A sheet thicker than this share of the radius of a hollow does not lie in it (design/11, *Thickness*).
const THICKEST: f64 = 0.2;

/// Where half the sheet is more than this share of a radius nothing is laid: its place straight
/// below is then no longer found by going back and forth.
const NOTHING_LIES: f64 = 0.4;

/// A place straight below is found when it moves by less, mm.
const FOUND_MM: f64 = 1e-10;

/// Each time what is left shrinks to [`NOTHING_LIES`] of it at least.
const MOST_TIMES: usize = 30;

impl ScanFace {
    /// The greater and the lesser curvature at a place, 1/mm: more than zero where it bulges.
    pub(in crate::surface) fn curvatures(&self, at: [f64; 2]) -> [f64; 2] {
        self.form(at).curvatures()
    }

    /// The parallel face so far out.
    ///
    /// # Errors
    /// [`SurfaceError::TooThick`] where the sheet is thicker than a fifth of the radius of a hollow
    /// at the template's centre; a centre off the scan.
    pub(in crate::surface) fn parallel(
        &self,
        centre: Point2<Face>,
        out_mm: f64,
    ) -> Result<Self, SurfaceError> {
        let [_, least] = self.curvatures(self.checked(centre)?);
        if 2.0 * out_mm * -least > THICKEST {
            return Err(SurfaceError::TooThick {
                thickness_mm: 2.0 * out_mm,
                radius_mm: 1.0 / -least,
            });
        }
        Ok(Self {
            patch: Arc::new(self.raised(out_mm)),
            size: self.size,
        })
    }

    /// Where a place of this face's chart comes to when it goes so far out: over the chart, and how high.
    fn lifted(&self, at: [f64; 2], out_mm: f64) -> [f64; 3] {
        let (place, normal) = (self.place(at), self.outward(at));
        let there = core::array::from_fn(|k| (place[k] + out_mm * normal[k]) / self.size);
        self.patch.base.foot(there).map(|x| x * self.size)
    }

    /// The place of the parallel face's chart straight above one of this face's.
    pub(in crate::surface) fn above(&self, at: [f64; 2], out_mm: f64) -> [f64; 2] {
        let [u, v, _] = self.lifted(at, out_mm);
        [u, v]
    }

    /// How [`ScanFace::above`] changes: by u, then by v.
    pub(in crate::surface) fn above_slopes(&self, at: [f64; 2], out_mm: f64) -> [[f64; 2]; 2] {
        let (form, base) = (self.form(at), self.patch.base);
        let there = self.lifted(at, out_mm).map(|x| x / self.size);
        let here = base.axes(at.map(|x| x / self.size));
        let [_, first, second] = base.axes([there[0], there[1]]);
        let [wide, high] = base.widths(there);
        let column = |step: [f64; 3], turned: [f64; 3]| {
            // Along outwards and both bends here, then in space.
            let moved: [f64; 3] = core::array::from_fn(|k| step[k] + out_mm * turned[k]);
            let way: [f64; 3] =
                core::array::from_fn(|k| (0..3).map(|axis| moved[axis] * here[axis][k]).sum());
            let along = |axis: [f64; 3]| way[0] * axis[0] + way[1] * axis[1] + way[2] * axis[2];
            base.chart([along(first) / wide, along(second) / high])
        };
        let [by_u, by_v] = form.turning();
        [column(form.u, by_u), column(form.v, by_v)]
    }

    /// The way back of [`ScanFace::above`].
    pub(in crate::surface) fn below(&self, at: [f64; 2], out_mm: f64) -> [f64; 2] {
        let mut from = at;
        for _ in 0..MOST_TIMES {
            let there = self.above(from, out_mm);
            let (du, dv) = (at[0] - there[0], at[1] - there[1]);
            from = [from[0] + du, from[1] + dv];
            if libm::hypot(du, dv) < FOUND_MM {
                break;
            }
        }
        from
    }

    /// The patch of the parallel face, in the scan's own size.
    fn raised(&self, out_mm: f64) -> Patch {
        let size = self.size;
        let (base, out_mm) = (
            Self {
                patch: Arc::clone(&self.patch),
                size: 1.0,
            },
            out_mm / size,
        );
        let patch = self.patch.as_ref();
        let cells = patch.cells;
        // Node 0 stands one before the one that the first weight belongs to.
        #[expect(clippy::cast_precision_loss, reason = "a few hundred")]
        let node =
            |k: usize, way: usize| patch.corner_mm[way] + (k as f64 - 2.0) * patch.spacing_mm;
        let lies = |at: [f64; 2]| {
            let most = base.curvatures(at).map(|k| (k * out_mm).abs());
            most[0].max(most[1]) < NOTHING_LIES
        };
        // How much higher the parallel face stands at each node.
        let wide = cells[0] + 5;
        let high = cells[1] + 5;
        let mut higher = Vec::with_capacity(wide * high);
        for j in 0..high {
            for i in 0..wide {
                let at = [node(i, 0), node(j, 1)];
                let from = if lies(at) { base.below(at, out_mm) } else { at };
                let [_, _, high] = base.lifted(from, out_mm);
                higher.push(high - patch.height_mm(at[0], at[1]));
            }
        }
        let at = |i: usize, j: usize| higher.get(j * wide + i).copied().unwrap_or(0.0);
        let bent = |a: f64, b: f64, c: f64| b - (a - 2.0 * b + c) / 6.0;
        let mut weights = Vec::with_capacity((cells[0] + 3) * (cells[1] + 3));
        for j in 0..cells[1] + 3 {
            for i in 0..cells[0] + 3 {
                let across = |row: usize| bent(at(i, row), at(i + 1, row), at(i + 2, row));
                let added = bent(across(j), across(j + 1), across(j + 2));
                let own = patch.weights.get(j * (cells[0] + 3) + i);
                weights.push(own.copied().unwrap_or(0.0) + added);
            }
        }
        let mut covered = String::with_capacity(cells[0] * cells[1]);
        for j in 0..cells[1] {
            for i in 0..cells[0] {
                // Whatever of a cell is straight above the scan: its corners, kept to its inside.
                let any = [0.01, 0.5, 0.99].iter().any(|y| {
                    [0.01, 0.5, 0.99].iter().any(|x| {
                        let at = [
                            node(i + 2, 0) + x * patch.spacing_mm,
                            node(j + 2, 1) + y * patch.spacing_mm,
                        ];
                        let [u, v] = base.below(at, out_mm);
                        patch.covers(u, v) && lies([u, v])
                    })
                });
                covered.push(if any { patch.base.letter() } else { '.' });
            }
        }
        Patch {
            weights,
            covered,
            ..patch.clone()
        }
    }
}
