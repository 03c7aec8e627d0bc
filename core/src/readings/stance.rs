//! How a casting stood while it was levelled: which way is up on its face.
//!
//! A level, a plumb line and a height all ask for up, which a tape never does. Up brings two
//! unknowns a stance: its turn on the face (anticlockwise from v, seen from outside), and its lean
//! out of the face. On a flat face a lean only shortens what is read along it, so there the second
//! unknown is that share. A stance with heights has a third, the height its level line runs at.
//! However a level plane is tilted as a whole, it is taken up by the turn and the lean.

use super::adjusted::Adjusted;
use super::network::{Network, ReadingKind};
use crate::frames::{Face, Part, Point2, Vector2, Vector3};
use crate::surface::{Jet, MAX_PARAMETERS, Shape, Surface, SurfaceError};
use crate::units::{Angle, Length};
use core::f64::consts::{FRAC_PI_2, TAU};

/// How far a face leans back or forward, nobody having said (standard deviation, rad): 15°, which
/// is most of what a face that is levelled leans (common practice, no source). On a flat face the
/// same lean shortens heights by 3.4 in 100.
const LEAN_SD: f64 = 0.26;
/// The share by which a flat face's lean shortens heights along it (standard deviation).
const SHORTENED_SD: f64 = 0.034;
/// Up is where readings say; this keeps a stance with a single one from having no answer, rad.
const TURN_SD: f64 = 1.0;
/// A level line is set within a man's reach of the floor, mm.
const LINE_SD_MM: f64 = 10_000.0;

/// Directions tried for a start, a degree apart over half a turn either way.
const TRIED: i32 = 180;
/// A start on the other half is taken only where it is so much better, and the half is so bad, mm.
const FAR_BETTER: f64 = 0.2;
const BAD_MM: f64 = 5.0;

/// Where up starts, for one way in which the casting stood.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stance {
    /// From v of the chart to up, anticlockwise seen from outside.
    pub turn: Angle,
}

/// Places of a stance's unknowns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StanceAt {
    pub(super) turn: usize,
    pub(super) lean: usize,
    pub(super) line: Option<usize>,
}

/// Standard deviations of a stance's unknowns before any reading: turn, lean, line.
pub(super) fn spread(surface: &Surface) -> [f64; 3] {
    let lean = match surface {
        Surface::Flat(_) => SHORTENED_SD,
        _ => LEAN_SD,
    };
    [TURN_SD, lean, LINE_SD_MM]
}

/// Up in the face's own space, with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Up {
    pub(super) at: Vector3<Part>,
    pub(super) by_turn: Vector3<Part>,
    pub(super) by_lean: Vector3<Part>,
}

impl Up {
    pub(super) fn of(surface: &Surface, turn: f64, lean: f64) -> Self {
        let (s, c) = (libm::sin(turn), libm::cos(turn));
        let along = Vector3::from_mm(0.0, -s, c);
        let aside = Vector3::from_mm(0.0, -c, -s);
        if matches!(surface, Surface::Flat(_)) {
            let share = 1.0 + lean;
            return Self {
                at: along * share,
                by_turn: aside * share,
                by_lean: along,
            };
        }
        let (sl, cl) = (libm::sin(lean), libm::cos(lean));
        let out = Vector3::from_mm(1.0, 0.0, 0.0);
        Self {
            at: along * cl + out * sl,
            by_turn: aside * cl,
            by_lean: along * -sl + out * cl,
        }
    }

    /// How the unknowns change where up changes by so much: to turn and to lean.
    pub(super) fn unknowns_of(&self, change: Vector3<Part>) -> [f64; 2] {
        let share = |d: Vector3<Part>| change.dot(d) / d.dot(d).max(1e-12);
        [share(self.by_turn), share(self.by_lean)]
    }
}

/// How the casting stood, as readings tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stood {
    /// From v of the chart to up, anticlockwise seen from outside.
    pub turn: Angle,
    lean: f64,
    up: Up,
    at: StanceAt,
}

impl Stood {
    pub(super) fn of(at: StanceAt, up: &Up, x: &[f64]) -> Self {
        Self {
            turn: Angle::from_rad(x.get(at.turn).copied().unwrap_or(0.0)),
            lean: x.get(at.lean).copied().unwrap_or(0.0),
            up: *up,
            at,
        }
    }
}

/// How far one mark stands above another, as all readings tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Above {
    /// Less than nothing where it stands below.
    pub by: Length,
    /// Standard deviation of that.
    pub sd: Length,
}

/// Up on a face, told against the line of two marks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UpAgainst {
    /// From the direction of the line to up, anticlockwise seen from outside: a quarter turn where
    /// both marks are level and up is above their line.
    pub turn: Angle,
    /// Standard deviation of that.
    pub sd: Angle,
}

impl Adjusted {
    /// Up half-way between two marks, against the line from one to the other; nothing where no
    /// reading tells it, where the face lies flat there, or where the marks are one.
    #[must_use]
    pub fn up_against(&self, stance: usize, from: usize, to: usize) -> Option<UpAgainst> {
        let stood = self.stances.get(stance).copied().flatten()?;
        let (a, b) = (self.points.get(from)?.at, self.points.get(to)?.at);
        if (b - a).norm_mm() < 1.0 {
            return None;
        }
        let angle = |a, b, up| angle_to_up(&self.surface, a, b, up);
        let turn = angle(a, b, stood.up.at)?;
        let layout = &self.inner.layout;
        let mut row: Vec<(usize, f64)> = Vec::with_capacity(9);
        // Round the side of a face a level tells turn and lean only together: as up is seen there.
        for (at, by) in [
            (stood.at.turn, stood.up.by_turn),
            (stood.at.lean, stood.up.by_lean),
        ] {
            let slope = slope(ANGLE_STEP, |by_so| angle(a, b, stood.up.at + by * by_so));
            row.push((at, slope?));
        }
        for (mark, ends) in [(from, [1.0, 0.0]), (to, [0.0, 1.0])] {
            let Some(k) = layout.points.get(mark).copied().flatten() else {
                continue;
            };
            for (column, way) in [(k, [1.0, 0.0]), (k + 1, [0.0, 1.0])] {
                let slope = slope(ANGLE_STEP, |by_so| {
                    let by = Vector2::from_mm(way[0] * by_so, way[1] * by_so);
                    angle(a + by * ends[0], b + by * ends[1], stood.up.at)
                });
                row.push((column, slope?));
            }
        }
        let values = self.surface.values();
        for (size, at) in layout.sizes.iter().enumerate() {
            let Some(at) = *at else { continue };
            // A thousandth of a radius, or of a taper, moves nothing far.
            let step = ANGLE_STEP * values[size].abs().max(ANGLE_STEP);
            let slope = slope(step, |by_so| {
                let mut values = values;
                values[size] += by_so;
                angle_to_up(&self.surface.with_values(&values).ok()?, a, b, stood.up.at)
            });
            row.push((at, slope?));
        }
        let sd = libm::hypot(self.sd_of(&row), self.bent_by_lean(&stood, a, b, turn));
        Some(UpAgainst {
            turn: Angle::from_rad(turn),
            sd: Angle::from_rad(sd),
        })
    }

    /// What a lean that nobody knows does to that angle beyond the first order, how far one mark stands
    /// above the other staying as it was read: of a line that rises, a lean shortens the rise by the half
    /// of its square. Root of the mean square, the lean being normal (its fourth moment is 3σ⁴).
    fn bent_by_lean(&self, stood: &Stood, a: Point2<Face>, b: Point2<Face>, turn: f64) -> f64 {
        let q = &self.inner.q;
        let half = 0.5 * libm::sqrt(q.get(stood.at.lean, stood.at.lean).max(0.0));
        let read = |turn: f64, lean: f64| {
            let up = Up::of(&self.surface, turn, lean);
            Some((up.at, level(&self.surface, &up, a, b).ok()?))
        };
        let leaning = |lean: f64| -> Option<f64> {
            let (start, was) = (stood.turn.rad(), read(stood.turn.rad(), stood.lean)?.1.mm);
            let (mut there, mut up) = (start, read(start, lean)?);
            for _ in 0..LEAN_STEPS {
                // A line that runs up tells nothing of the turn.
                if up.1.by_turn.abs() < 1.0 {
                    break;
                }
                there += ((was - up.1.mm) / up.1.by_turn).clamp(-0.2, 0.2);
                up = read(there, lean)?;
            }
            let by = angle_to_up(&self.surface, a, b, up.0)? - turn;
            Some(libm::remainder(by, TAU))
        };
        match (leaning(stood.lean + half), leaning(stood.lean - half)) {
            // Of half a deviation a quarter of what a whole one does.
            (Some(more), Some(less)) => 4.0 * libm::sqrt(3.0) * (more + less).abs() / 2.0,
            _ => 0.0,
        }
    }

    /// How far `to` stands above `from`, by everything read; nothing where no reading tells up.
    #[must_use]
    pub fn above(&self, stance: usize, from: usize, to: usize) -> Option<Above> {
        let stood = self.stances.get(stance).copied().flatten()?;
        let (a, b) = (self.points.get(from)?.at, self.points.get(to)?.at);
        let read = level(&self.surface, &stood.up, a, b).ok()?;
        let layout = &self.inner.layout;
        let mut row = vec![(stood.at.turn, read.by_turn), (stood.at.lean, read.by_lean)];
        for (mark, by) in [(from, read.d_from.unwrap_or_default()), (to, read.d_to)] {
            if let Some(k) = layout.points.get(mark).copied().flatten() {
                row.extend([(k, by[0]), (k + 1, by[1])]);
            }
        }
        for (at, by) in layout.sizes.iter().zip(read.d_param) {
            row.extend(at.map(|k| (k, by)));
        }
        Some(Above {
            by: Length::from_mm(read.mm),
            sd: Length::from_mm(self.sd_of(&row)),
        })
    }

    /// Standard deviation of what moves so with the unknowns.
    pub(super) fn sd_of(&self, row: &[(usize, f64)]) -> f64 {
        let mut variance = 0.0;
        for (i, a) in row {
            for (j, b) in row {
                variance += a * b * self.inner.q.get(*i, *j);
            }
        }
        libm::sqrt(variance.max(0.0))
    }
}

/// Step of the slopes of an angle, mm and rad: third orders and rounding both stay under 1e-8.
const ANGLE_STEP: f64 = 1e-3;

/// Newton's steps to the turn at which a lean changes no height: three are plenty.
const LEAN_STEPS: usize = 6;

/// The slope of an angle at no step, from as far either way.
fn slope(step: f64, angle: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    let by = libm::remainder(angle(step)? - angle(-step)?, TAU);
    Some(by / (2.0 * step))
}

/// From the line of two places to up, half-way between them as one sees it on the face, which the
/// chart of a round one may stretch; nothing where the face lies flat there.
fn angle_to_up(
    surface: &Surface,
    a: Point2<Face>,
    b: Point2<Face>,
    up: Vector3<Part>,
) -> Option<f64> {
    let line = b - a;
    let middle = a + line * 0.5;
    let jet = surface.jet(middle).ok()?;
    let up = surface.up_at(middle, up).ok().flatten()?;
    let (along, up) = (jet.space(line), jet.space(up));
    let normal = surface.normal(middle).ok()?;
    Some(libm::atan2(normal.dot(along.cross(up)), along.dot(up)))
}

/// What is read against up: the value, and its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Levelled {
    pub(super) mm: f64,
    pub(super) d_from: Option<[f64; 2]>,
    pub(super) d_to: [f64; 2],
    pub(super) by_turn: f64,
    pub(super) by_lean: f64,
    pub(super) d_param: [f64; MAX_PARAMETERS],
}

fn along(way: Vector3<Part>, jet: &Jet) -> [f64; 2] {
    [way.dot(jet.du), way.dot(jet.dv)]
}

/// How far `to` stands above `from`.
pub(super) fn level(
    surface: &Surface,
    up: &Up,
    from: Point2<Face>,
    to: Point2<Face>,
) -> Result<Levelled, SurfaceError> {
    let (a, b) = (surface.jet(from)?, surface.jet(to)?);
    Ok(between(up.at, up.by_turn, up.by_lean, &a, &b))
}

/// How far `low` lies to the right of the plumb line through `high`, seen against `normal`: from
/// where the one who reads it stands.
pub(super) fn plumb(
    surface: &Surface,
    up: &Up,
    normal: Vector3<Part>,
    high: Point2<Face>,
    low: Point2<Face>,
) -> Result<Levelled, SurfaceError> {
    let (a, b) = (surface.jet(high)?, surface.jet(low)?);
    let across = up.at.cross(normal);
    let size = across.norm().mm();
    if size < 1e-6 {
        return Err(SurfaceError::NoDirection);
    }
    let right = across * (1.0 / size);
    let turned = |by: Vector3<Part>| {
        let d = by.cross(normal) * (1.0 / size);
        d - right * right.dot(d)
    };
    Ok(between(
        right,
        turned(up.by_turn),
        turned(up.by_lean),
        &a,
        &b,
    ))
}

fn between(
    way: Vector3<Part>,
    by_turn: Vector3<Part>,
    by_lean: Vector3<Part>,
    a: &Jet,
    b: &Jet,
) -> Levelled {
    let arm = b.at - a.at;
    let [u, v] = along(way, a);
    Levelled {
        mm: way.dot(arm),
        d_from: Some([-u, -v]),
        d_to: along(way, b),
        by_turn: by_turn.dot(arm),
        by_lean: by_lean.dot(arm),
        d_param: core::array::from_fn(|k| way.dot(b.dparam[k] - a.dparam[k])),
    }
}

/// How far a mark stands above the level through the face's own origin.
pub(super) fn height(
    surface: &Surface,
    up: &Up,
    of: Point2<Face>,
) -> Result<Levelled, SurfaceError> {
    let jet = surface.jet(of)?;
    let arm = jet.at - crate::frames::Point3::from_mm(0.0, 0.0, 0.0);
    Ok(Levelled {
        mm: up.at.dot(arm),
        d_from: None,
        d_to: along(up.at, &jet),
        by_turn: up.by_turn.dot(arm),
        by_lean: up.by_lean.dot(arm),
        d_param: core::array::from_fn(|k| up.at.dot(jet.dparam[k])),
    })
}

/// Where up points on the face as the marks start, so far as the readings of a stance tell.
///
/// Two marks level leave up or down open: up is within a quarter turn of v then, where the face
/// was set out, unless a plumb line or heights say that the whole stands on its head.
#[must_use]
pub fn turn_from_readings(network: &Network, stance: usize) -> Angle {
    let at = |k: usize| network.points.get(k).map(|p| p.start);
    let surface = &network.surface;
    let off_mm = |turn: f64| -> Option<f64> {
        let up = Up::of(surface, turn, 0.0);
        let mut heights: Vec<f64> = Vec::new();
        let (mut sum, mut count) = (0.0, 0.0);
        for reading in &network.readings {
            let read = reading.value.mm();
            let off = match reading.kind {
                ReadingKind::Level {
                    from,
                    to,
                    stance: s,
                } if s == stance => level(surface, &up, at(from)?, at(to)?).ok()?.mm - read,
                ReadingKind::Plumb {
                    high,
                    low,
                    stance: s,
                } if s == stance => {
                    let (high, low) = (at(high)?, at(low)?);
                    // A plumb line with its ends changed over fits as well: the high mark is up.
                    let above = level(surface, &up, low, high).ok()?.mm.min(0.0);
                    plumb(surface, &up, surface.normal(high).ok()?, high, low)
                        .ok()?
                        .mm
                        - read
                        + 2.0 * above
                }
                ReadingKind::Height { of, stance: s } if s == stance => {
                    heights.push(height(surface, &up, at(of)?).ok()?.mm - read);
                    continue;
                }
                _ => continue,
            };
            sum += off * off;
            count += 1.0;
        }
        let middle = heights.iter().sum::<f64>() / (heights.len().max(1)) as f64;
        for h in &heights {
            sum += (h - middle) * (h - middle);
            count += 1.0;
        }
        (count > 0.0).then(|| libm::sqrt(sum / count))
    };
    let best = |most: f64| {
        let mut best = (f64::INFINITY, 0.0_f64);
        for k in -TRIED..=TRIED {
            let turn = f64::from(k) * TAU / f64::from(2 * TRIED);
            if turn.abs() > most {
                continue;
            }
            if let Some(off) = off_mm(turn)
                && (off < best.0 - 1e-9
                    || (off < best.0 + 1e-9 && turn.abs() < best.1.abs() - 1e-9))
            {
                best = (off, turn);
            }
        }
        best
    };
    let (half, any) = (best(FRAC_PI_2 + 1e-9), best(TAU));
    let taken = if half.0 > BAD_MM && any.0 < FAR_BETTER * half.0 {
        any
    } else {
        half
    };
    Angle::from_rad(taken.1)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::{Held, Options, PointStart, Precision, Reading, adjust};
    use super::*;
    use crate::surface::{Axis, Bulge, Cone, Cylinder, Dome, FlatFace, TwoRadii};
    use crate::units::Length;

    fn faces() -> Vec<Surface> {
        let l = Length::from_mm;
        vec![
            Surface::Flat(FlatFace),
            Surface::Cylinder(Cylinder::new(l(220.0), Axis::Up, Bulge::Bulging).unwrap()),
            Surface::Cylinder(Cylinder::new(l(340.0), Axis::Across, Bulge::Hollow).unwrap()),
            Surface::Dome(Dome::new(l(180.0), Bulge::Bulging).unwrap()),
            Surface::Cone(
                Cone::from_girths(l(1400.0), l(900.0), l(400.0), Bulge::Bulging).unwrap(),
            ),
            Surface::TwoRadii(
                TwoRadii::new((l(260.0), Bulge::Bulging), (l(410.0), Bulge::Bulging)).unwrap(),
            ),
        ]
    }

    /// Central differences of a step of 1e-4 leave a third derivative's 1e-9 and rounding's 1e-9.
    const NEAR: f64 = 2e-7;

    #[test]
    fn every_derivative_is_that_of_the_reading() {
        let (a, b) = (Point2::from_mm(-70.0, 20.0), Point2::from_mm(55.0, 90.0));
        let step = 1e-4;
        for surface in faces() {
            let normal = surface.normal(Point2::from_mm(-60.0, 25.0)).unwrap();
            for kind in 0..3 {
                let read = |s: &Surface, turn: f64, lean: f64, a, b| {
                    let up = Up::of(s, turn, lean);
                    match kind {
                        0 => level(s, &up, a, b),
                        1 => plumb(s, &up, normal, a, b),
                        _ => height(s, &up, b),
                    }
                    .unwrap()
                };
                let (turn, lean) = (0.3, 0.11);
                let at = read(&surface, turn, lean, a, b);
                let slope = |ahead: f64, behind: f64| (ahead - behind) / (2.0 * step);
                let of = |d: f64, e: f64| read(&surface, turn + d, lean + e, a, b).mm;
                assert!((slope(of(step, 0.0), of(-step, 0.0)) - at.by_turn).abs() < 1e-5);
                assert!((slope(of(0.0, step), of(0.0, -step)) - at.by_lean).abs() < 1e-5);
                for k in 0..2 {
                    let move_by = |p: Point2<Face>, d: f64| {
                        if k == 0 {
                            Point2::from_mm(p.x_mm() + d, p.y_mm())
                        } else {
                            Point2::from_mm(p.x_mm(), p.y_mm() + d)
                        }
                    };
                    let to = |d: f64| read(&surface, turn, lean, a, move_by(b, d)).mm;
                    let from = |d: f64| read(&surface, turn, lean, move_by(a, d), b).mm;
                    assert!((slope(to(step), to(-step)) - at.d_to[k]).abs() < NEAR);
                    let by_from = at.d_from.map_or(0.0, |d| d[k]);
                    assert!((slope(from(step), from(-step)) - by_from).abs() < NEAR);
                }
                for k in 0..surface.parameters().len() {
                    let grown = |d: f64| {
                        let mut values = surface.values();
                        values[k] += d * 1e-2;
                        read(&surface.with_values(&values).unwrap(), turn, lean, a, b).mm
                    };
                    let by = slope(grown(step), grown(-step)) / 1e-2;
                    assert!(
                        (by - at.d_param[k]).abs() < 1e-4 * (1.0 + by.abs()),
                        "{surface:?} {k}"
                    );
                }
            }
        }
    }

    /// Two marks levelled say how up lies to their line wherever on a round face they are: 0.5 mm over
    /// the chord of 120 mm at a radius of 200 (2·200·sin 0.3 = 118.21 mm) is 0.2424° (JCGM 100:2008,
    /// 5.1.2), at the side as in the middle.
    #[test]
    fn a_level_tells_up_at_the_side_of_a_face_as_well_as_in_its_middle() {
        let l = Length::from_mm;
        let round = Cylinder::new(l(200.0), Axis::Up, Bulge::Bulging).unwrap();
        let surface = Surface::Cylinder(round);
        for middle in [0.0, 100.0, 200.0] {
            let mut network = Network::on(surface.clone());
            let at = [(-60.0, 0.0), (60.0, 0.0), (-20.0, 90.0), (30.0, -80.0)];
            network.points = at
                .iter()
                .map(|(u, v)| PointStart {
                    start: Point2::from_mm(middle + u, *v),
                    held: Held::Free,
                })
                .collect();
            let places: Vec<_> = network.points.iter().map(|p| p.start).collect();
            let mut read = |kind, value| {
                network.readings.push(Reading {
                    kind,
                    value: l(value),
                    precision: Precision::Sd(l(0.5)),
                });
            };
            for to in 0..at.len() {
                for from in 0..to {
                    let d = surface.straight(places[from], places[to]).unwrap();
                    read(ReadingKind::Straight { from, to }, d.mm);
                }
            }
            let levelled = ReadingKind::Level {
                from: 0,
                to: 1,
                stance: 0,
            };
            read(levelled, 0.0);
            network.stances.push(Stance::default());
            let got = adjust(&network, &Options::default()).unwrap();
            let up = got.up_against(0, 0, 1).unwrap();
            assert!((up.turn.deg() - 90.0).abs() < 1e-3, "{middle}: {up:?}");
            assert!((up.sd.deg() - 0.2424).abs() < 0.003, "{middle}: {up:?}");
        }
    }
}
