//! Triangles and lines gathered for the eye, counted and bounded.

use super::skin::{Room, Skin, skin, steps};
use super::{Look, SolidKey, SolidName, SolidPart, SolidView};
use crate::frames::{Face, Flat, Part, Point2, Point3, Shown, Vector2, Vector3};
use crate::job::PointRef;
use crate::surface::{Development, Shape, Surface, SurfaceError};
use crate::units::Length;

/// Bytes of a corner: eight `f32`.
pub const CORNER_BYTES: usize = 32;

/// At most so many dots of lines and bands; what is over is left out, and said.
pub const MOST_DOTS: usize = 20_000;

/// Lines over the face have a dot at least so often, mm: on a ball of 100 mm the chord of that leaves it
/// by 0.02 mm.
const DOT_EVERY_MM: f64 = 4.0;

/// From a face's own space frame to what is shown.
struct Stand {
    middle: Point3<Part>,
    /// Across, up, outwards.
    axes: [Vector3<Part>; 3],
}

impl Stand {
    fn about(surface: &Surface, at: Point2<Face>, up: Vector2<Face>) -> Result<Self, SurfaceError> {
        let (jet, outward) = (surface.jet(at)?, surface.normal(at)?);
        let up = jet.space(up);
        let up = (up - outward * up.dot(outward))
            .unit()
            .ok_or(SurfaceError::NoDirection)?;
        Ok(Self {
            middle: jet.at,
            axes: [up.cross(outward), up, outward],
        })
    }
    fn direction(&self, v: Vector3<Part>) -> Vector3<Shown> {
        let [x, y, z] = self.axes.map(|axis| v.dot(axis));
        Vector3::from_mm(x, y, z)
    }
    fn point(&self, p: Point3<Part>) -> Point3<Shown> {
        let d = self.direction(p - self.middle).mm();
        Point3::from_mm(d.x, d.y, d.z)
    }
}

/// A piece of a band: both ends beside the line, both ends away from it, its step (0 to 1).
type Piece = ([Point2<Flat>; 2], [Point2<Flat>; 2], f64);

/// What is gathered.
pub(super) struct Model<'a> {
    surface: &'a Surface,
    stand: Stand,
    corners: Vec<[f32; 8]>,
    order: Vec<u32>,
    parts: Vec<SolidPart>,
    names: Vec<SolidName>,
    key: Vec<SolidKey>,
    reach_mm: f64,
    chord: Length,
    dots: usize,
    left_out: usize,
    pub(super) notes: Vec<String>,
}

/// A millimetre or a share as the screen takes it: nothing is made from it.
#[expect(clippy::cast_possible_truncation, reason = "looked at, not measured")]
fn narrow(x: f64) -> f32 {
    x as f32
}

/// Counts stay far under 2³²: [`MOST_DOTS`] and the cells of the skin bound them.
fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn plain(v: nalgebra::Vector3<f64>) -> [f64; 3] {
    // A hundredth of a millimetre, or of a direction: it is looked at.
    [v.x, v.y, v.z].map(|x| libm::round(x * 100.0) / 100.0)
}

impl<'a> Model<'a> {
    /// The skin of a face around places, looked at square on from its middle, with `up` there upwards.
    ///
    /// # Errors
    /// A middle off the face.
    pub(super) fn of(
        surface: &'a Surface,
        room: &Room,
        up: Vector2<Face>,
        fallback: Point2<Face>,
    ) -> Result<Self, SurfaceError> {
        // The middle of the room may lie in a gap of a scan; a place that was asked for does not.
        let stand = Stand::about(surface, room.middle(), up)
            .or_else(|_| Stand::about(surface, fallback, up))?;
        let mut model = Self {
            surface,
            stand,
            corners: Vec::new(),
            order: Vec::new(),
            parts: Vec::new(),
            names: Vec::new(),
            key: Vec::new(),
            reach_mm: 0.0,
            chord: Length::ZERO,
            dots: 0,
            left_out: 0,
            notes: Vec::new(),
        };
        let skin = skin(surface, room);
        model.chord = skin.chord;
        model.part(Look::Skin, |m| m.skin(&skin));
        let (step, lines) = steps(surface, room);
        model.part(Look::Steps, |m| {
            for line in &lines {
                m.line(line);
            }
        });
        model.explain(
            Look::Steps,
            0,
            format!(
                "lines {} mm apart, to show how it is round",
                super::super::mm(step)
            ),
        );
        Ok(model)
    }

    /// Gathers a run.
    pub(super) fn part(&mut self, look: Look, fill: impl FnOnce(&mut Self)) {
        let first = self.order.len();
        fill(self);
        if self.order.len() > first {
            self.parts.push(SolidPart {
                look,
                first: count(first),
                count: count(self.order.len() - first),
            });
        }
    }

    /// Says what a run means.
    pub(super) fn explain(&mut self, look: Look, step: u8, words: impl Into<String>) {
        self.key.push(SolidKey {
            look,
            step,
            words: words.into(),
        });
    }

    fn corner(&mut self, at: Point3<Part>, way: Vector3<Part>, side: f64, along: f64) -> u32 {
        let (p, d) = (self.stand.point(at).mm(), self.stand.direction(way).mm());
        self.reach_mm = self
            .reach_mm
            .max(libm::sqrt(p.x * p.x + p.y * p.y + p.z * p.z));
        self.corners
            .push([p.x, p.y, p.z, d.x, d.y, d.z, side, along].map(narrow));
        count(self.corners.len() - 1)
    }

    fn skin(&mut self, skin: &Skin) {
        let [across, up] = skin.cells;
        let mut numbers = vec![None; skin.corners.len()];
        for (number, corner) in numbers.iter_mut().zip(&skin.corners) {
            *number = corner.map(|(at, normal)| self.corner(at, normal, 0.0, 0.0));
        }
        let number = |i: usize, j: usize| numbers.get(j * (across + 1) + i).copied().flatten();
        for j in 0..up {
            for i in 0..across {
                let four = [
                    number(i, j),
                    number(i + 1, j),
                    number(i + 1, j + 1),
                    number(i, j + 1),
                ];
                if let [Some(a), Some(b), Some(c), Some(d)] = four {
                    self.order.extend([a, b, c, a, c, d]);
                }
            }
        }
    }

    fn room_for(&mut self, dots: usize) -> bool {
        let fits = self.dots + dots <= MOST_DOTS;
        if fits {
            self.dots += dots;
        } else {
            self.left_out += 1;
        }
        fits
    }

    /// A line through places in space: two corners at each, which the page draws apart.
    pub(super) fn line(&mut self, dots: &[Point3<Part>]) {
        if dots.len() < 2 || !self.room_for(dots.len()) {
            return;
        }
        let mut along_mm = 0.0;
        let mut before: Option<(Point3<Part>, u32, u32)> = None;
        for (k, &at) in dots.iter().enumerate() {
            let from = dots.get(k.saturating_sub(1)).copied().unwrap_or(at);
            let to = dots.get(k + 1).copied().unwrap_or(at);
            let Some(way) = (to - from).unit() else {
                continue;
            };
            if let Some((last, ..)) = before {
                along_mm += (at - last).norm().mm();
            }
            let left = self.corner(at, way, 1.0, along_mm);
            let right = self.corner(at, way, -1.0, along_mm);
            if let Some((_, a, b)) = before {
                self.order.extend([a, b, right, a, right, left]);
            }
            before = Some((at, left, right));
        }
    }

    /// A line over the face through places of a sheet, with dots often enough to lie on it; where it
    /// leaves the face it is broken.
    pub(super) fn line_on(&mut self, sheet: &Development, dots: &[Point2<Flat>]) {
        let mut run = Vec::new();
        for p in often(dots) {
            match self.on(sheet, p) {
                Some(at) => run.push(at),
                None => self.line(&core::mem::take(&mut run)),
            }
        }
        self.line(&run);
    }

    fn on(&self, sheet: &Development, p: Point2<Flat>) -> Option<Point3<Part>> {
        Some(self.surface.jet(sheet.face(p).ok()?).ok()?.at)
    }

    /// A strip beside a closed line of a sheet, each piece with its step (0 to 1).
    pub(super) fn band_on(&mut self, sheet: &Development, pieces: &[Piece]) {
        if !self.room_for(pieces.len() * 2) {
            return;
        }
        for (inner, outer, step) in pieces {
            let corner = |p: Point2<Flat>| {
                let at = sheet.face(p).ok()?;
                Some((self.surface.jet(at).ok()?.at, self.surface.normal(at).ok()?))
            };
            let four = [inner[0], inner[1], outer[1], outer[0]].map(corner);
            if let [Some(a), Some(b), Some(c), Some(d)] = four {
                let [a, b, c, d] = [a, b, c, d].map(|(at, n)| self.corner(at, n, 0.0, *step));
                self.order.extend([a, b, c, a, c, d]);
            }
        }
    }

    /// A cross on the face with arms of a share of all that is shown.
    pub(super) fn cross(&mut self, at: Point2<Face>, share: f64) {
        let Ok(jet) = self.surface.jet(at) else {
            return;
        };
        let (Some(across), Ok(outward)) = (jet.du.unit(), self.surface.normal(at)) else {
            return;
        };
        let arm = self.reach_mm * share;
        for way in [across, outward.cross(across)] {
            self.line(&[jet.at + way * -arm, jet.at + way * arm]);
        }
    }

    /// A name at a place of the face.
    pub(super) fn name(
        &mut self,
        at: Point2<Face>,
        words: impl Into<String>,
        more: impl Into<String>,
        point: Option<PointRef>,
    ) {
        if let (Ok(jet), Ok(outward)) = (self.surface.jet(at), self.surface.normal(at)) {
            self.names.push(SolidName {
                words: words.into(),
                more: more.into(),
                at_mm: plain(self.stand.point(jet.at).mm()),
                outward: plain(self.stand.direction(outward).mm()),
                point,
            });
        }
    }

    /// How far all of it reaches from its middle so far, mm.
    pub(super) const fn reach_mm(&self) -> f64 {
        self.reach_mm
    }

    /// All of it, with the bytes of the corners and their order.
    pub(super) fn done(mut self) -> (SolidView, Vec<u8>) {
        if self.left_out > 0 {
            self.notes.push(format!(
                "{} lines of the outline are too fine to be turned and are left out here; the sheet has them",
                self.left_out
            ));
        }
        let mut bytes =
            Vec::with_capacity(self.corners.len() * CORNER_BYTES + self.order.len() * 4);
        for x in self.corners.iter().flatten() {
            bytes.extend(x.to_le_bytes());
        }
        for k in &self.order {
            bytes.extend(k.to_le_bytes());
        }
        let view = SolidView {
            corners: count(self.corners.len()),
            parts: self.parts,
            names: self.names,
            key: self.key,
            reach: Length::from_mm(self.reach_mm),
            chord: self.chord,
            notes: self.notes,
        };
        (view, bytes)
    }
}

/// The same line with a dot at least every [`DOT_EVERY_MM`].
pub(super) fn often(dots: &[Point2<Flat>]) -> Vec<Point2<Flat>> {
    let mut all = Vec::with_capacity(dots.len());
    for pair in dots.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        let steps = libm::ceil((b - a).norm_mm() / DOT_EVERY_MM).clamp(1.0, 500.0);
        let mut k = 0.0;
        while k < steps {
            all.push(a.lerp(b, k / steps));
            k += 1.0;
        }
    }
    all.extend(dots.last());
    all
}

/// A closed run of dots, its first again at its end.
pub(super) fn closed(mut dots: Vec<Point2<Flat>>) -> Vec<Point2<Flat>> {
    if let (Some(first), Some(last)) = (dots.first().copied(), dots.last().copied())
        && first.distance(last).mm() > 1e-6
    {
        dots.push(first);
    }
    dots
}
