//! Straightest ways over a face round both ways, by integration.
//!
//! On g(v)²du² + dv² the momentum c = g²·u̇ is kept (Clairaut's relation: do Carmo, *Differential
//! Geometry of Curves and Surfaces*, 4-4 example 5), so that u̇ = c/g² and v̈ = c²·g′/g³. Beside the
//! way run the two Jacobi fields J″ = −K·J (the same, 5-5), which say how its end moves
//! when it starts otherwise. Everything is integrated by the modified midpoint rule with
//! extrapolation (Gragg; Hairer, Nørsett & Wanner, *Solving ODE I*, II.9), to order 8: over 0.3 of
//! a radian it leaves about 1e-10 of the radius.

use crate::num::real::Real;
use crate::surface::SurfaceError;

/// Greatest turn taken in one piece of the integration, radians.
const PIECE_RAD: f64 = 0.3;

/// Longest way followed, radians of the tighter radius: more than twice round.
const LONGEST_RAD: f64 = 15.0;

/// Midpoint steps of the extrapolation.
const MIDPOINTS: [u32; 4] = [2, 4, 6, 8];

/// Steps of the search for a way; from the straight way in the chart it needs four to eight.
const MOST_STEPS: usize = 60;

/// A way has spread so little at its end, against a plane's, that the mark can't say where it
/// came from: sin c/c of 150° round a dome, where that face stops too.
const LEAST_SPREAD: f64 = 0.19;

/// The two signed radii at the chart's origin, mm: across (the girth at v = 0) and up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Radii<T> {
    pub(crate) across: T,
    pub(crate) up: T,
}

/// The metric at a height: how long a step of u is, its slope, and the Gaussian curvature.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wide<T> {
    pub(crate) g: T,
    pub(crate) slope: T,
    pub(crate) curvature: T,
}

impl<T: Real> Radii<T> {
    /// g = 1 − 2(R_up/R_across)·sin²(v/2R_up): the girth at v against that at 0.
    pub(crate) fn wide(&self, v: T) -> Wide<T> {
        let half = Real::sin(v / (self.up * T::of(2.0)));
        let g = T::of(1.0) - T::of(2.0) * self.up / self.across * half * half;
        let turn = v / self.up;
        Wide {
            g,
            slope: -Real::sin(turn) / self.across,
            curvature: Real::cos(turn) / (self.across * self.up * g),
        }
    }
}

/// A place of the chart with a direction there: components along u and along v, each of unit
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
    /// Derivative of the length by the two radii, with the ends held in the chart.
    pub(crate) by_radii: [f64; 2],
}

fn pieces(radii: &Radii<f64>, length_mm: f64) -> u32 {
    let tight = radii.across.abs().min(radii.up.abs());
    let turns = (length_mm.abs() / (tight * PIECE_RAD)).min(LONGEST_RAD / PIECE_RAD);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 50"
    )]
    let whole = libm::ceil(turns) as u32;
    whole.max(1)
}

/// Integrates y′ = f(y) over a time.
fn integrate<T: Real, const N: usize>(
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

/// Straight ahead over the surface for a time, at the speed of `along` (any length); the
/// direction is carried along.
pub(crate) fn ahead<T: Real>(radii: &Radii<T>, from: &Heading<T>, time: T) -> Heading<T> {
    let speed = libm::hypot(from.along[0].value(), from.along[1].value());
    let plain = Radii {
        across: radii.across.value(),
        up: radii.up.value(),
    };
    let momentum = radii.wide(from.at[1]).g * from.along[0];
    let [u, v, rise] = integrate(
        |y: &[T; 3]| {
            let wide = radii.wide(y[1]);
            let u_rate = momentum / (wide.g * wide.g);
            [u_rate, y[2], momentum * u_rate * wide.slope / wide.g]
        },
        [from.at[0], from.at[1], from.along[1]],
        time,
        pieces(&plain, speed * time.value()),
    );
    Heading {
        at: [u, v],
        along: [momentum / radii.wide(v).g, rise],
    }
}

/// The end of a way with all that beside it tells.
struct Shot {
    end: Heading<f64>,
    /// Jacobi field that starts at nothing with slope one.
    turned: f64,
    /// Jacobi field that starts at one with no slope.
    shifted: f64,
    by_radii: [f64; 2],
}

fn shoot(radii: &Radii<f64>, from: &Heading<f64>, length_mm: f64) -> Shot {
    let momentum = radii.wide(from.at[1]).g * from.along[0];
    let square = momentum * momentum;
    let y = integrate(
        |y: &[f64; 9]| {
            let wide = radii.wide(y[1]);
            let cube = wide.g * wide.g * wide.g;
            let turn = y[1] / radii.up;
            // ∂g by each radius; along the way the length changes by ∫ g·∂g·u̇² (first variation).
            let by_across = (1.0 - wide.g) / radii.across;
            let by_up = (libm::cos(turn) - 1.0 + turn * libm::sin(turn)) / radii.across;
            [
                momentum / (wide.g * wide.g),
                y[2],
                square * wide.slope / cube,
                y[4],
                -wide.curvature * y[3],
                y[6],
                -wide.curvature * y[5],
                by_across * square / cube,
                by_up * square / cube,
            ]
        },
        [
            from.at[0],
            from.at[1],
            from.along[1],
            0.0,
            1.0,
            1.0,
            0.0,
            0.0,
            0.0,
        ],
        length_mm,
        pieces(radii, length_mm),
    );
    Shot {
        end: Heading {
            at: [y[0], y[1]],
            along: [momentum / radii.wide(y[1]).g, y[2]],
        },
        turned: y[3],
        shifted: y[5],
        by_radii: [y[7], y[8]],
    }
}

/// A chart step near a place, along a unit direction and to its left, mm over the surface.
fn aside<T: Real>(radii: &Radii<T>, from: &Heading<T>, to: [T; 2]) -> [T; 2] {
    let step = [
        (to[0] - from.at[0]) * radii.wide(from.at[1]).g,
        to[1] - from.at[1],
    ];
    let [a, b] = from.along;
    [a * step[0] + b * step[1], a * step[1] - b * step[0]]
}

/// The way between two places, by shooting: the miss at the end, along and aside, corrects the
/// length and the direction (Newton's method, its slopes being the Jacobi field).
///
/// # Errors
/// [`SurfaceError::TooFarRound`] where the way is no longer held by its ends.
pub(crate) fn between(
    radii: &Radii<f64>,
    from: [f64; 2],
    to: [f64; 2],
) -> Result<Way, SurfaceError> {
    let g = radii.wide(0.5 * (from[1] + to[1])).g;
    let (du, dv) = ((to[0] - from[0]) * g, to[1] - from[1]);
    let mut mm = libm::hypot(du, dv);
    if mm < 1e-12 {
        return Ok(Way {
            mm,
            start: [1.0, 0.0],
            end: [1.0, 0.0],
            spread: 1.0,
            shifted: 1.0,
            by_radii: [0.0; 2],
        });
    }
    let longest = LONGEST_RAD * radii.across.abs().min(radii.up.abs());
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
        let shot = shoot(radii, &heading, mm);
        let spread = shot.turned / mm;
        if !spread.is_finite() {
            break;
        }
        let [on, off] = aside(radii, &shot.end, to);
        if libm::hypot(on, off) <= 1e-11 * (1.0 + mm) {
            if spread < LEAST_SPREAD {
                break;
            }
            return Ok(Way {
                mm: mm + on,
                start,
                end: shot.end.along,
                spread,
                shifted: shot.shifted,
                by_radii: shot.by_radii,
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
    radii: &Radii<T>,
    from: [T; 2],
    to: [T; 2],
) -> Result<[T; 2], SurfaceError> {
    let way = between(&plain(radii), from.map(Real::value), to.map(Real::value))?;
    let step = way.start.map(|x| T::of(x * way.mm));
    // One more step of Newton's in numbers that carry derivatives: no change, exact slopes.
    let end = ahead(
        radii,
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
    let [on, off] = aside(radii, &arrival, to);
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
    radii: &Radii<T>,
    line: &Heading<T>,
    to: [T; 2],
) -> Result<[T; 2], SurfaceError> {
    let flat = plain(radii);
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
        let shot = shoot(&flat, &left(&foot), y);
        if shot.shifted.is_nan() || shot.shifted < LEAST_SPREAD {
            break;
        }
        // Ahead on the line is to the right of the way that leaves it leftwards.
        let [on, off] = aside(&flat, &shot.end, aim);
        if libm::hypot(on, off) <= 1e-11 * (1.0 + x.abs() + y.abs()) {
            let foot = ahead(radii, line, T::of(x));
            let leaving = Heading {
                at: foot.at,
                along: [-foot.along[1], foot.along[0]],
            };
            let end = ahead(radii, &leaving, T::of(y));
            let arrival = Heading {
                at: end.at,
                along: shot.end.along.map(T::of),
            };
            let [on, off] = aside(radii, &arrival, to);
            return Ok([T::of(x) - off / T::of(shot.shifted), T::of(y) + on]);
        }
        y += on;
        x -= off / shot.shifted;
    }
    Err(SurfaceError::TooFarRound)
}

fn plain<T: Real>(radii: &Radii<T>) -> Radii<f64> {
    Radii {
        across: radii.across.value(),
        up: radii.up.value(),
    }
}
