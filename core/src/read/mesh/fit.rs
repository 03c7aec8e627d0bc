//! The part of a scan around its marks as one smooth height over a plane ([`super::grid`] says how), which
//! is bent first so that it leans with the face ([`super::bent`]).

use super::bent::{NARROWEST, bent, turned};
use super::bvh::{Boxes, OnMesh};
use super::grid::Grid;
use super::look::{Edges, add, cross, dot, sub, times, unit};
use super::{Look, Mesh};
use crate::surface::scan::{Base, Patch};

/// A place of the scan is taken while it leans no more than this from the plane, bent as it is: 70°.
const STEEPEST_COS: f64 = 0.342;

/// And while the bent plane has turned no further than this from how it faces in the middle: 82°.
const FURTHEST_COS: f64 = 0.139;

/// Room around the marks: this share of how far apart they are, and at least so much, mm.
const ROOM: (f64, f64) = (0.6, 60.0);

/// What smoothing moved is told for the part around the marks: this share of how far apart they are.
const ABOUT_MARKS: f64 = 0.25;

/// A typed place this far off the scan is none of it, mm.
const FARTHEST_OFF_MM: f64 = 10.0;

/// What is asked of a scan.
#[derive(Debug, Clone)]
pub struct Wanted<'a> {
    /// The marks: a name for messages and the place, in the scan's unit.
    pub marks: &'a [(String, [f64; 3])],
    /// From the face to the one who looked when they were picked; the winding decides without it.
    pub toward: Option<[f64; 3]>,
    /// Up on the piece.
    pub up: [f64; 3],
    /// One of the scan's units in mm.
    pub unit_mm: f64,
    /// What is smoothed away, mm; chosen from the scan's edges without it.
    pub smooth_mm: Option<f64>,
}

/// Where a mark came to lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    /// Its chart coordinates, mm.
    pub uv_mm: [f64; 2],
    /// How far the place given was off the scan, mm.
    pub off_mm: f64,
    /// How far the smoothed surface is from the scan there, outwards, mm.
    pub moved_mm: f64,
}

/// The part that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// To be attached.
    pub patch: Patch,
    /// The marks, in the order asked.
    pub marks: Vec<Laid>,
    /// Triangles used.
    pub triangles: usize,
    /// Their mean edge, mm.
    pub edge_mm: f64,
    /// The scan is wound the other way round than it was looked at.
    pub turned: bool,
    chart: Chart,
}

impl Fitted {
    /// A place of the scan, in its own unit: chart coordinates and height, mm.
    #[must_use]
    pub fn seen_mm(&self, at: [f64; 3]) -> [f64; 3] {
        self.chart.seen_mm(at)
    }
}

/// Why no face could be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Too few places.
    #[error("pick at least three places on the scan: the marks, and the middle of what is painted")]
    TooFew,
    /// A typed place off the scan.
    #[error("{mark} lies {off_mm:.1} mm off the scan: look at its coordinates and at the unit")]
    OffTheScan {
        /// Which.
        mark: String,
        /// How far.
        off_mm: f64,
    },
    /// Places in one spot.
    #[error("{one} and {other} are less than 1 mm apart on the scan: pick one of them again")]
    TooClose {
        /// One.
        one: String,
        /// The other.
        other: String,
    },
    /// A size no face has.
    #[error("the marks are {mm:.1} mm apart in this unit: look at the unit")]
    Size {
        /// Greatest distance.
        mm: f64,
    },
    /// A mark round the corner.
    #[error(
        "{mark} lies round a corner, over an edge or on another piece of the scan than the others (more than 80 degrees from how they face): make that side a face of its own"
    )]
    RoundTheCorner {
        /// Which.
        mark: String,
    },
    /// Too little to fit a surface to.
    #[error(
        "the scan is too coarse here: only {triangles} triangles around the marks. Scan it finer"
    )]
    TooCoarse {
        /// How many.
        triangles: usize,
    },
    /// Not a length.
    #[error("smooth over 0.5 to 200 mm")]
    Smooth,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Frame {
    origin: [f64; 3],
    across: [f64; 3],
    up: [f64; 3],
    out: [f64; 3],
}

impl Frame {
    /// Across, up and outwards.
    pub(super) fn seen(&self, p: [f64; 3]) -> [f64; 3] {
        let d = sub(p, self.origin);
        [dot(d, self.across), dot(d, self.up), dot(d, self.out)]
    }
    pub(super) const fn origin(&self) -> [f64; 3] {
        self.origin
    }
    /// A direction of the scan as across, up and outwards.
    pub(super) fn directed(&self, way: [f64; 3]) -> [f64; 3] {
        [dot(way, self.across), dot(way, self.up), dot(way, self.out)]
    }
    /// Across, up and outwards as a direction of the scan.
    pub(super) fn in_space(&self, [across, up, out]: [f64; 3]) -> [f64; 3] {
        add(
            add(times(self.across, across), times(self.up, up)),
            times(self.out, out),
        )
    }
}

/// The chart of a patch.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Chart {
    frame: Frame,
    pub(super) base: Base,
    /// One of the scan's units.
    mm: f64,
}

impl Chart {
    /// Chart coordinates and height over them, mm.
    pub(super) fn seen_mm(&self, p: [f64; 3]) -> [f64; 3] {
        let [across, up, out] = self.frame.seen(p).map(|x| x * self.mm);
        self.base.foot([out, across, up])
    }
    /// Outwards of the bent plane below a place of it, in the scan's space.
    fn outward(&self, [u, v]: [f64; 2]) -> [f64; 3] {
        if self.base.is_plane() {
            return self.frame.out;
        }
        let [[out, across, up], ..] = self.base.axes([u, v]);
        self.frame.in_space([across, up, out])
    }
    /// A chart bent alike, whose origin is half-way between the outermost of some places along each bend.
    fn about_the_middle(
        &self,
        on: &[OnMesh],
        upright: impl Fn([f64; 3], [f64; 3]) -> Frame,
    ) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in on {
            let [u, v, _] = self.seen_mm(p.at);
            let at = self.base.bends([u, v]);
            for k in 0..2 {
                low[k] = low[k].min(at[k]);
                high[k] = high[k].max(at[k]);
            }
        }
        let middle = self.base.chart([0, 1].map(|k| 0.5 * (low[k] + high[k])));
        let [out, across, up] = self.base.place([middle[0], middle[1], 0.0]);
        let way = self.frame.in_space([across, up, out]);
        let origin = add(self.frame.origin, times(way, 1.0 / self.mm));
        let frame = upright(self.outward(middle), origin);
        let [_, [out, across, up], _] = self.base.axes(middle);
        let along = self.frame.in_space([across, up, out]);
        Self {
            base: turned(&self.base, along, &frame),
            frame,
            mm: self.mm,
        }
    }
    /// The rectangle around some places, grown by some room, mm.
    fn about(&self, on: &[OnMesh], room_mm: f64) -> ([f64; 2], [f64; 2]) {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in on {
            let at = self.seen_mm(p.at);
            for k in 0..2 {
                low[k] = low[k].min(at[k] - room_mm);
                high[k] = high[k].max(at[k] + room_mm);
            }
        }
        (low, high)
    }
}

/// Makes the face.
///
/// # Errors
/// [`FitError`].
pub fn fit(
    mesh: &Mesh,
    boxes: &Boxes,
    look: &Look,
    wanted: &Wanted<'_>,
) -> Result<Fitted, FitError> {
    if wanted.marks.len() < 3 {
        return Err(FitError::TooFew);
    }
    if wanted
        .smooth_mm
        .is_some_and(|s| !(0.5..=200.0).contains(&s))
    {
        return Err(FitError::Smooth);
    }
    let mm = wanted.unit_mm;
    let places: Vec<[f64; 3]> = wanted.marks.iter().map(|(_, at)| *at).collect();
    let on: Vec<OnMesh> = wanted
        .marks
        .iter()
        .zip(boxes.nearest_all(mesh, &places))
        .map(|((name, _), near)| {
            let off_mm = near.map_or(f64::INFINITY, |n| n.distance * mm);
            near.filter(|_| off_mm <= FARTHEST_OFF_MM)
                .ok_or_else(|| FitError::OffTheScan {
                    mark: name.clone(),
                    off_mm,
                })
        })
        .collect::<Result<_, _>>()?;
    let reach_mm = apart(wanted, &on)?;
    let normals = Normals {
        mesh,
        consistent: look.turned_edges == 0,
    };
    let room_mm = (ROOM.0 * reach_mm).max(ROOM.1);
    let neighbours = Edges::of(mesh);
    let (mut out, turned) =
        outward(&normals, &on, wanted.toward).ok_or(FitError::Size { mm: reach_mm })?;
    // The way the marks face on the whole, then the way their surroundings do.
    let middle = middle(&on);
    let upright = |out: [f64; 3], origin: [f64; 3]| framed(out, wanted.up, &on, origin);
    let flat = |out: [f64; 3]| Chart {
        frame: upright(out, middle),
        base: Base::PLANE,
        mm,
    };
    let around = |chart: &Chart, room_mm: f64| {
        Region::around(&normals, &neighbours, chart, &on, room_mm, turned)
    };
    let mut chart = flat(out);
    for _ in 0..2 {
        let near = around(&chart, 0.25 * room_mm);
        out = near.mean_normal(&normals, out).unwrap_or(out);
        chart = flat(out);
    }
    let mut region = around(&chart, room_mm);
    // Bent as all that is seen square on is; then as all that is seen over that, from the middle of the
    // marks, so that those furthest round are equally far.
    for first in [true, false] {
        let from = (&chart.frame, &chart.base);
        let Some((frame, base)) = bent(from, &region, mesh, mm, upright) else {
            break;
        };
        chart = Chart { frame, base, mm };
        if first {
            chart = chart.about_the_middle(&on, upright);
        }
        region = around(&chart, room_mm);
    }
    for (mark, (name, _)) in on.iter().zip(wanted.marks) {
        if !region.has(mark.triangle) {
            return Err(FitError::RoundTheCorner { mark: name.clone() });
        }
    }
    if region.triangles.len() < 12 {
        return Err(FitError::TooCoarse {
            triangles: region.triangles.len(),
        });
    }
    let edge_mm = region.mean_edge(mesh) * mm;
    let smooth_mm = wanted.smooth_mm.unwrap_or_else(|| {
        let by_edges = 4.0 * (3.0 * edge_mm).max(2.0);
        by_edges.min((reach_mm / 2.0).max(4.0 * edge_mm))
    });
    let grid = Grid::around(&region, mesh, smooth_mm);
    let near_mm = chart.about(&on, ABOUT_MARKS * reach_mm);
    let mut patch = grid.fitted(&chart.base, &region, mesh, smooth_mm, near_mm)?;
    let mut marks = Vec::with_capacity(on.len());
    for (place, (name, _)) in on.iter().zip(wanted.marks) {
        let [u, v, z] = chart.seen_mm(place.at);
        if !patch.covers(u, v) {
            return Err(FitError::RoundTheCorner { mark: name.clone() });
        }
        marks.push(Laid {
            uv_mm: [u, v],
            off_mm: place.distance * mm,
            moved_mm: patch.height_mm(u, v) - z,
        });
    }
    patch.smoothed_over_mm = smooth_mm;
    Ok(Fitted {
        patch,
        marks,
        triangles: region.triangles.len(),
        edge_mm,
        turned,
        chart,
    })
}

/// The greatest distance between marks, mm.
fn apart(wanted: &Wanted<'_>, on: &[OnMesh]) -> Result<f64, FitError> {
    let mut reach_mm: f64 = 0.0;
    for (k, a) in on.iter().enumerate() {
        for (j, b) in on.iter().enumerate().skip(k + 1) {
            let d = sub(a.at, b.at);
            let apart_mm = libm::sqrt(dot(d, d)) * wanted.unit_mm;
            if apart_mm < 1.0 {
                return Err(FitError::TooClose {
                    one: wanted.marks[k].0.clone(),
                    other: wanted.marks[j].0.clone(),
                });
            }
            reach_mm = reach_mm.max(apart_mm);
        }
    }
    if (5.0..=5000.0).contains(&reach_mm) {
        Ok(reach_mm)
    } else {
        Err(FitError::Size { mm: reach_mm })
    }
}

struct Normals<'a> {
    mesh: &'a Mesh,
    /// Neighbours are wound alike, so that a normal's sign means something.
    consistent: bool,
}

impl Normals<'_> {
    /// Twice the area along the normal.
    fn of(&self, t: u32) -> [f64; 3] {
        let [a, b, c] = self.mesh.triangles[t as usize].map(|k| self.mesh.points[k as usize]);
        cross(sub(b, a), sub(c, a))
    }
    /// How much a triangle faces a direction: the cosine.
    fn facing(&self, t: u32, out: [f64; 3], turned: bool) -> f64 {
        let cosine = unit(self.of(t)).map_or(0.0, |n| dot(n, out));
        match (self.consistent, turned) {
            (false, _) => cosine.abs(),
            (true, false) => cosine,
            (true, true) => -cosine,
        }
    }
}

/// The way the marks face, and whether the winding says the opposite.
fn outward(
    normals: &Normals<'_>,
    on: &[OnMesh],
    toward: Option<[f64; 3]>,
) -> Option<([f64; 3], bool)> {
    let by_winding: Vec<[f64; 3]> = on
        .iter()
        .filter_map(|p| unit(normals.of(p.triangle)))
        .collect();
    let sum = |turn: &dyn Fn([f64; 3]) -> f64| {
        by_winding
            .iter()
            .fold([0.0; 3], |s, n| add(s, times(*n, turn(*n))))
    };
    let Some(toward) = toward else {
        return Some((unit(sum(&|_| 1.0))?, false));
    };
    if normals.consistent {
        let out = unit(sum(&|_| 1.0))?;
        return Some(if dot(out, toward) < 0.0 {
            (times(out, -1.0), true)
        } else {
            (out, false)
        });
    }
    let out = unit(sum(&|n| if dot(n, toward) < 0.0 { -1.0 } else { 1.0 }))?;
    Some((out, false))
}

/// Up along the face; where the face looks up or down, the way from the first mark to the second is across.
fn framed(out: [f64; 3], up: [f64; 3], on: &[OnMesh], origin: [f64; 3]) -> Frame {
    let level = cross(up, out);
    let across = if dot(level, level) > 0.03 {
        unit(level)
    } else {
        let way = match on {
            [a, b, ..] => sub(b.at, a.at),
            _ => [1.0, 0.0, 0.0],
        };
        unit(sub(way, times(out, dot(way, out))))
    };
    let across = across.unwrap_or_else(|| {
        let side = if out[0].abs() < 0.9 {
            [1.0, 0.0, 0.0]
        } else {
            [0.0, 1.0, 0.0]
        };
        unit(cross(side, out)).unwrap_or(side)
    });
    Frame {
        origin,
        across,
        up: cross(out, across),
        out,
    }
}

/// The middle of the marks.
fn middle(on: &[OnMesh]) -> [f64; 3] {
    #[expect(clippy::cast_precision_loss, reason = "a few marks")]
    let share = 1.0 / on.len().max(1) as f64;
    on.iter().fold([0.0; 3], |s, p| add(s, times(p.at, share)))
}

/// The triangles that hang together around the marks.
pub(super) struct Region {
    pub(super) triangles: Vec<u32>,
    /// Where each corner of the mesh is on the chart, and how high, mm: no number where nobody asked.
    pub(super) seen_mm: Vec<[f64; 3]>,
    inside: Vec<bool>,
}

impl Region {
    fn around(
        normals: &Normals<'_>,
        neighbours: &Edges,
        chart: &Chart,
        on: &[OnMesh],
        room_mm: f64,
        turned: bool,
    ) -> Self {
        let mesh = normals.mesh;
        let (low, high) = chart.about(on, room_mm);
        let mut seen_mm = vec![[f64::NAN; 3]; mesh.points.len()];
        let mut taken = |t: u32| {
            let three = mesh.triangles[t as usize].map(|k| {
                let seen = &mut seen_mm[k as usize];
                if seen[0].is_nan() {
                    *seen = chart.seen_mm(mesh.points[k as usize]);
                }
                *seen
            });
            let middle = times(add(add(three[0], three[1]), three[2]), 1.0 / 3.0);
            let out = chart.outward([middle[0], middle[1]]);
            normals.facing(t, out, turned) >= STEEPEST_COS
                && (chart.base.is_plane()
                    || dot(out, chart.frame.out) >= FURTHEST_COS
                        && chart.base.widths(middle).iter().all(|w| *w > NARROWEST))
                && three
                    .iter()
                    .any(|at| (0..2).all(|k| (low[k]..=high[k]).contains(&at[k])))
        };
        let mut inside = vec![false; mesh.triangles.len()];
        let mut triangles: Vec<u32> = Vec::new();
        // All from the first mark: one that is not reached hangs together with nothing here.
        if let Some(first) = on.first() {
            let _ = taken(first.triangle);
            inside[first.triangle as usize] = true;
            triangles.push(first.triangle);
        }
        let mut at = 0;
        while let Some(&t) = triangles.get(at) {
            at += 1;
            let [a, b, c] = mesh.triangles[t as usize];
            for (p, q) in [(a, b), (b, c), (c, a)] {
                for other in neighbours.across(p, q) {
                    if !inside[other as usize] && taken(other) {
                        inside[other as usize] = true;
                        triangles.push(other);
                    }
                }
            }
        }
        triangles.sort_unstable();
        Self {
            triangles,
            seen_mm,
            inside,
        }
    }
    fn has(&self, t: u32) -> bool {
        self.inside.get(t as usize) == Some(&true)
    }
    fn mean_normal(&self, normals: &Normals<'_>, out: [f64; 3]) -> Option<[f64; 3]> {
        let sum = self.triangles.iter().fold([0.0; 3], |s, &t| {
            let n = normals.of(t);
            add(s, times(n, if dot(n, out) < 0.0 { -1.0 } else { 1.0 }))
        });
        unit(sum)
    }
    fn mean_edge(&self, mesh: &Mesh) -> f64 {
        let (mut sum, mut count) = (0.0, 0.0);
        for &t in &self.triangles {
            let [a, b, c] = mesh.triangles[t as usize].map(|k| mesh.points[k as usize]);
            for d in [sub(b, a), sub(c, b), sub(a, c)] {
                sum += libm::sqrt(dot(d, d));
                count += 1.0;
            }
        }
        sum / f64::max(count, 1.0)
    }
}
