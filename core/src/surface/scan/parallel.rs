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
        let h = self.height(at);
        let w2 = 1.0 + h.u * h.u + h.v * h.v;
        let w = libm::sqrt(w2);
        let gauss = (h.uu * h.vv - h.uv * h.uv) / (w2 * w2);
        let mean = -((1.0 + h.v * h.v) * h.uu - 2.0 * h.u * h.v * h.uv + (1.0 + h.u * h.u) * h.vv)
            / (2.0 * w2 * w);
        let half = libm::sqrt((mean * mean - gauss).max(0.0));
        [mean + half, mean - half]
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
            stretch: self.stretch,
        })
    }

    /// The place of the parallel face's chart straight above one of this face's.
    pub(in crate::surface) fn above(&self, [u, v]: [f64; 2], out_mm: f64) -> [f64; 2] {
        let h = self.height([u, v]);
        let by = out_mm / libm::sqrt(1.0 + h.u * h.u + h.v * h.v);
        [u - by * h.u, v - by * h.v]
    }

    /// How [`ScanFace::above`] changes: by u, then by v.
    pub(in crate::surface) fn above_slopes(&self, at: [f64; 2], out_mm: f64) -> [[f64; 2]; 2] {
        let h = self.height(at);
        let w2 = 1.0 + h.u * h.u + h.v * h.v;
        let by = out_mm / libm::sqrt(w2);
        let column = |uu: f64, vv: f64| {
            let along = (h.u * uu + h.v * vv) / w2;
            [-by * (uu - h.u * along), -by * (vv - h.v * along)]
        };
        let (a, b) = (column(h.uu, h.uv), column(h.uv, h.vv));
        [[1.0 + a[0], a[1]], [b[0], 1.0 + b[1]]]
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
        let size = self.stretch[0];
        let (base, out_mm) = (
            Self {
                patch: Arc::clone(&self.patch),
                stretch: [1.0; 3],
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
                let here = base.height(at);
                let from = if lies(at) { base.below(at, out_mm) } else { at };
                let h = base.height(from);
                let rise = out_mm / libm::sqrt(1.0 + h.u * h.u + h.v * h.v);
                higher.push(h.h + rise - here.h);
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
                covered.push(if any { 'x' } else { '.' });
            }
        }
        Patch {
            weights,
            covered,
            ..patch.clone()
        }
    }
}
