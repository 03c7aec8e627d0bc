//! Straightest ways over a face round both ways, by integration.
//!
//! Beside each way run the two Jacobi fields J″ = −K·J (do Carmo, *Differential Geometry of Curves
//! and Surfaces*, 5-5), which say how its end moves when it starts otherwise. Where the face is
//! smooth everything is integrated by the modified midpoint rule with extrapolation (Gragg;
//! Hairer, Nørsett & Wanner, *Solving ODE I*, II.9), to order 8: over 0.3 of a radian it leaves
//! about 1e-10 of the radius. How each kind is followed from a start is in its own file.

use super::scan::follow::{self as scanned, Scanned};
use super::two_radii::radii::{self as turned, Radii};
use crate::num::real::Real;
use crate::surface::SurfaceError;

/// Midpoint steps of the extrapolation.
const MIDPOINTS: [u32; 4] = [2, 4, 6, 8];

/// Steps of the search for a way; from the straight way in the chart it needs four to eight.
const MOST_STEPS: usize = 60;

/// A way has spread so little at its end, against a plane's, that the mark can't say where it
/// came from: sin c/c of 150° round a dome, where that face stops too.
pub(crate) const LEAST_SPREAD: f64 = 0.19;

/// A face that ways are followed on, with its sizes as numbers that may carry derivatives.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Walked<'a, T> {
    /// Two radii.
    TwoRadii(Radii<T>),
    /// A scan.
    Scan(Scanned<'a, T>),
}

/// A chart step measured over the surface: along u, and square to u on its left.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame<T> {
    /// How long a step of u is.
    pub(crate) u: T,
    /// How far a step of v goes along u.
    pub(crate) lean: T,
    /// How far a step of v goes square to u.
    pub(crate) v: T,
}

impl<T: Real> Frame<T> {
    /// A chart step over the surface.
    pub(crate) fn over(&self, du: T, dv: T) -> [T; 2] {
        [du * self.u + dv * self.lean, dv * self.v]
    }
    /// A step over the surface in the chart.
    pub(crate) fn chart(&self, [x, y]: [T; 2]) -> [T; 2] {
        let dv = y / self.v;
        [(x - dv * self.lean) / self.u, dv]
    }
}

impl<'a, T: Real> Walked<'a, T> {
    /// What a chart step is worth at a place.
    pub(crate) fn frame(&self, at: [T; 2]) -> Frame<T> {
        match self {
            Self::TwoRadii(radii) => Frame {
                u: radii.wide(at[1]).g,
                lean: T::of(0.0),
                v: T::of(1.0),
            },
            Self::Scan(scan) => scan.frame(at),
        }
    }
    /// Its sizes without their derivatives, as numbers of another kind.
    pub(crate) fn constant<U: Real>(&self) -> Walked<'a, U> {
        match self {
            Self::TwoRadii(radii) => Walked::TwoRadii(Radii {
                across: U::of(radii.across.value()),
                up: U::of(radii.up.value()),
            }),
            Self::Scan(scan) => Walked::Scan(scan.constant()),
        }
    }
    /// Its sizes as plain numbers.
    fn plain(&self) -> Walked<'a, f64> {
        self.constant()
    }
}

impl Walked<'_, f64> {
    /// How far the directions that headings are given in turn, anticlockwise over the surface, for
    /// each millimetre of u and of v.
    pub(crate) fn spin(&self, at: [f64; 2]) -> [f64; 2] {
        match self {
            Self::TwoRadii(radii) => [-radii.wide(at[1]).slope, 0.0],
            Self::Scan(scan) => scan.spin(at),
        }
    }
    /// How near to its aim a way is brought, as a share of its length and a millimetre.
    const fn meets(&self) -> f64 {
        match self {
            Self::TwoRadii(_) => 1e-11,
            // Where the count of steps changes a way over a scan jumps by as much.
            Self::Scan(_) => 1e-8,
        }
    }
    fn longest_mm(&self) -> f64 {
        match self {
            Self::TwoRadii(radii) => radii.longest_mm(),
            Self::Scan(scan) => scan.longest_mm(),
        }
    }
    /// The end of a way of a length.
    fn shoot(&self, from: &Heading<f64>, length_mm: f64) -> Shot {
        match self {
            Self::TwoRadii(radii) => turned::shoot(radii, from, length_mm),
            Self::Scan(scan) => scanned::shoot(scan, from, length_mm),
        }
    }
}

/// Straight ahead over the surface for a time, at the speed of `along` (any length); the
/// direction is carried along.
pub(crate) fn ahead<T: Real>(face: &Walked<'_, T>, from: &Heading<T>, time: T) -> Heading<T> {
    match face {
        Walked::TwoRadii(radii) => turned::ahead(radii, from, time),
        Walked::Scan(scan) => scanned::ahead(scan, from, time),
    }
}

/// A place of the chart with a direction there: components along u and square to it, each of unit
/// length over the surface.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Heading<T> {
    pub(crate) at: [T; 2],
    pub(crate) along: [T; 2],
}

/// The shortest way between two places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Way {
    /// Its length.
    pub(crate) mm: f64,
    /// Unit direction at the start.
    pub(crate) start: [f64; 2],
    /// Unit direction at the end, onwards.
    pub(crate) end: [f64; 2],
    /// How far the end moves aside for each radian that the start turns, over the length: 1 in a
    /// plane, less on a bulge, more on a saddle.
    pub(crate) spread: f64,
    /// How far the end moves aside for each millimetre that the start is shifted aside, its
    /// direction carried along: 1 in a plane.
    pub(crate) shifted: f64,
    /// Derivative of the length by the two radii, with the ends held in the chart; nothing on a scan.
    pub(crate) by_sizes: [f64; 2],
}

/// Integrates y′ = f(y) over a time.
pub(super) fn integrate<T: Real, const N: usize>(
    f: impl Fn(&[T; N]) -> [T; N],
    start: [T; N],
    time: T,
    pieces: u32,
) -> [T; N] {
    let step = time / T::of(f64::from(pieces));
    let mut y = start;
    for _ in 0..pieces {
        // Neville's scheme in the square of the step, a row for each number of midpoints.
        let mut row: Vec<[T; N]> = Vec::with_capacity(MIDPOINTS.len());
        for (at, &n) in MIDPOINTS.iter().enumerate() {
            let mut best = midpoint(&f, y, step / T::of(f64::from(n)), n);
            for (column, slot) in row.iter_mut().enumerate() {
                let ratio = f64::from(n) / f64::from(MIDPOINTS[at - 1 - column]);
                let share = T::of(1.0 / (ratio * ratio - 1.0));
                let before = core::mem::replace(slot, best);
                best = core::array::from_fn(|k| best[k] + (best[k] - before[k]) * share);
            }
            row.push(best);
        }
        y = row.last().copied().unwrap_or(y);
    }
    y
}

fn midpoint<T: Real, const N: usize>(
    f: impl Fn(&[T; N]) -> [T; N],
    start: [T; N],
    h: T,
    n: u32,
) -> [T; N] {
    let two = h + h;
    let ahead =
        |y: &[T; N], d: [T; N], h: T| -> [T; N] { core::array::from_fn(|k| y[k] + d[k] * h) };
    let (mut before, mut here) = (start, ahead(&start, f(&start), h));
    for _ in 1..n {
        let next = ahead(&before, f(&here), two);
        (before, here) = (here, next);
    }
    let slope = f(&here);
    core::array::from_fn(|k| (here[k] + before[k] + slope[k] * h) * T::of(0.5))
}

/// The end of a way with all that beside it tells.
pub(crate) struct Shot {
    pub(crate) end: Heading<f64>,
    /// Jacobi field that starts at nothing with slope one.
    pub(crate) turned: f64,
    /// Jacobi field that starts at one with no slope.
    pub(crate) shifted: f64,
    pub(crate) by_sizes: [f64; 2],
}

/// A chart step near a place, along a unit direction and to its left, mm over the surface.
fn aside<T: Real>(face: &Walked<'_, T>, from: &Heading<T>, to: [T; 2]) -> [T; 2] {
    let step = face
        .frame(from.at)
        .over(to[0] - from.at[0], to[1] - from.at[1]);
    let [a, b] = from.along;
    [a * step[0] + b * step[1], a * step[1] - b * step[0]]
}

/// The way between two places, by shooting: the miss at the end, along and aside, corrects the
/// length and the direction (Newton's method, its slopes being the Jacobi field).
///
/// # Errors
/// [`SurfaceError::TooFarRound`] where the way is no longer held by its ends.
pub(crate) fn between(
    face: &Walked<'_, f64>,
    from: [f64; 2],
    to: [f64; 2],
) -> Result<Way, SurfaceError> {
    let middle = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
    let [du, dv] = face.frame(middle).over(to[0] - from[0], to[1] - from[1]);
    let mut mm = libm::hypot(du, dv);
    if mm < 1e-12 {
        return Ok(Way {
            mm,
            start: [1.0, 0.0],
            end: [1.0, 0.0],
            spread: 1.0,
            shifted: 1.0,
            by_sizes: [0.0; 2],
        });
    }
    let longest = face.longest_mm();
    let mut bearing = libm::atan2(dv, du);
    for _ in 0..MOST_STEPS {
        if mm > longest || !mm.is_finite() {
            break;
        }
        let start = [libm::cos(bearing), libm::sin(bearing)];
        let heading = Heading {
            at: from,
            along: start,
        };
        let shot = face.shoot(&heading, mm);
        let spread = shot.turned / mm;
        if !spread.is_finite() {
            break;
        }
        let [on, off] = aside(face, &shot.end, to);
        if libm::hypot(on, off) <= face.meets() * (1.0 + mm) {
            if spread < LEAST_SPREAD {
                break;
            }
            return Ok(Way {
                mm: mm + on,
                start,
                end: shot.end.along,
                spread,
                shifted: shot.shifted,
                by_sizes: shot.by_sizes,
            });
        }
        let turn = off / (mm * spread.max(0.3));
        bearing += turn.clamp(-0.4, 0.4);
        mm = (mm + on.clamp(-0.5 * mm, mm)).max(1e-12);
    }
    Err(SurfaceError::TooFarRound)
}

/// The way from a place to another as a step at the start (along u, along v; its length is the
/// distance), with whatever derivatives the numbers carry.
///
/// # Errors
/// As [`between`].
pub(crate) fn step_between<T: Real>(
    face: &Walked<'_, T>,
    from: [T; 2],
    to: [T; 2],
) -> Result<[T; 2], SurfaceError> {
    let way = between(&face.plain(), from.map(Real::value), to.map(Real::value))?;
    let step = way.start.map(|x| T::of(x * way.mm));
    // One more step of Newton's in numbers that carry derivatives: no change, exact slopes.
    let end = ahead(
        face,
        &Heading {
            at: from,
            along: step,
        },
        T::of(1.0),
    );
    let arrival = Heading {
        at: end.at,
        along: way.end.map(T::of),
    };
    let [on, off] = aside(face, &arrival, to);
    let off = off / T::of(way.spread);
    let [a, b] = way.start.map(T::of);
    Ok([step[0] + a * on - b * off, step[1] + b * on + a * off])
}

/// How far along a straight way a place's foot lies, and how far to the left of it the place,
/// with whatever derivatives the numbers carry.
///
/// # Errors
/// As [`between`].
pub(crate) fn offsets<T: Real>(
    face: &Walked<'_, T>,
    line: &Heading<T>,
    to: [T; 2],
) -> Result<[T; 2], SurfaceError> {
    let flat = face.plain();
    let (at, along) = (line.at.map(Real::value), line.along.map(Real::value));
    let aim = to.map(Real::value);
    let plain_line = Heading { at, along };
    let left = |h: &Heading<f64>| Heading {
        at: h.at,
        along: [-h.along[1], h.along[0]],
    };
    let way = between(&flat, at, aim)?;
    let mut x = way.mm * (way.start[0] * along[0] + way.start[1] * along[1]);
    let mut y = way.mm * (way.start[1] * along[0] - way.start[0] * along[1]);
    for _ in 0..MOST_STEPS {
        let foot = ahead(&flat, &plain_line, x);
        let shot = flat.shoot(&left(&foot), y);
        if shot.shifted.is_nan() || shot.shifted < LEAST_SPREAD {
            break;
        }
        // Ahead on the line is to the right of the way that leaves it leftwards.
        let [on, off] = aside(&flat, &shot.end, aim);
        if libm::hypot(on, off) <= flat.meets() * (1.0 + x.abs() + y.abs()) {
            let foot = ahead(face, line, T::of(x));
            let leaving = Heading {
                at: foot.at,
                along: [-foot.along[1], foot.along[0]],
            };
            let end = ahead(face, &leaving, T::of(y));
            let arrival = Heading {
                at: end.at,
                along: shot.end.along.map(T::of),
            };
            let [on, off] = aside(face, &arrival, to);
            return Ok([T::of(x) - off / T::of(shot.shifted), T::of(y) + on]);
        }
        y += on;
        x -= off / shot.shifted;
    }
    Err(SurfaceError::TooFarRound)
}
