//! The figure's place from its locators: Newton's method, each step by singular values.

use super::freedom::{Freedom, Names, freedoms};
use super::locator::{Locator, LocatorFault};
use super::seating::{Mode, Seating};
use crate::frames::{Base, Figure, Point3, Rigid3};
use crate::num::small::right_singular;
use crate::units::Length;
use nalgebra::{Matrix3, Vector3 as Column3};

/// Where to begin, and what nothing holds.
#[derive(Debug, Clone)]
pub struct Start {
    /// The figure's place by the drawing, or as it stands on trial.
    pub place: Rigid3<Base, Figure>,
    /// How far out of that place it may be (one standard deviation): a way it can move is *not
    /// held* when the readings leave more than a third of this open.
    pub spread: Length,
    /// Steps before giving up.
    pub most_steps: usize,
    /// What directions and points are called.
    pub names: Names,
}

impl Start {
    /// From a place, with 15 mm of spread and the usual directions.
    #[must_use]
    pub fn at(place: Rigid3<Base, Figure>) -> Self {
        Self {
            place,
            spread: Length::from_mm(15.0),
            most_steps: 60,
            names: Names::usual(),
        }
    }
}

/// How it went.
#[derive(Debug, Clone)]
pub enum Outcome {
    /// Every way it could move is held, and no smaller misfit is near.
    Seated(Seating),
    /// No step makes the misfit smaller, and the slope has not gone: the readings don't meet.
    CannotImprove(Seating),
    /// Too many steps.
    GaveUp(Seating),
    /// The readings leave it free to move. It stands where it started as far as nothing holds it.
    NotHeld {
        /// As far as it is held.
        seating: Seating,
        /// How it can still move.
        free: Vec<Freedom>,
    },
}

impl Outcome {
    /// The place found, however it went.
    #[must_use]
    pub const fn seating(&self) -> &Seating {
        match self {
            Self::Seated(seating)
            | Self::CannotImprove(seating)
            | Self::GaveUp(seating)
            | Self::NotHeld { seating, .. } => seating,
        }
    }
    /// The place, where everything holds it.
    #[must_use]
    pub const fn seated(&self) -> Option<&Seating> {
        match self {
            Self::Seated(seating) => Some(seating),
            _ => None,
        }
    }
}

/// The locators at one place: misfits and derivatives over their uncertainties, with the columns
/// of the turn scaled to mm at the radius `rho`.
struct Linear {
    columns: Vec<Vec<f64>>,
    misfit: Vec<f64>,
    sum: f64,
}

impl Linear {
    fn at(
        locators: &[Locator],
        place: &Rigid3<Base, Figure>,
        centre: Point3<Base>,
        rho: f64,
    ) -> Option<Self> {
        let n = locators.len();
        let (mut columns, mut misfit) = (vec![vec![0.0; n]; 6], vec![0.0; n]);
        for (i, locator) in locators.iter().enumerate() {
            let (value, by) = locator.holds.row(place, centre)?;
            let u = locator.within.mm();
            misfit[i] = (value - locator.reads.mm()) / u;
            for (k, d) in by.iter().enumerate() {
                columns[k][i] = if k < 3 { d / u } else { d / (u * rho) };
            }
        }
        let sum = misfit.iter().map(|v| v * v).sum();
        Some(Self {
            columns,
            misfit,
            sum,
        })
    }

    fn times(&self, x: &[f64]) -> Vec<f64> {
        (0..self.misfit.len())
            .map(|i| (0..6).map(|k| self.columns[k][i] * x[k]).sum())
            .collect()
    }

    /// The ways it can move, each with how far the readings leave it open and what holds it.
    fn modes(&self, spread_mm: f64) -> Vec<Mode> {
        let found = right_singular(&self.columns);
        let largest = found.last().map_or(0.0, |m| m.0);
        found
            .into_iter()
            .map(|(value, way)| {
                let pull = self.times(&way);
                let mut scaled = [0.0; 6];
                scaled.copy_from_slice(&way);
                Mode {
                    held: value > 1e-10 * largest && value * spread_mm > 3.0,
                    value,
                    way: scaled,
                    pull,
                }
            })
            .collect()
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Moves a place by a shift and a turn about a point; `None` when it is no number.
fn moved(
    place: &Rigid3<Base, Figure>,
    step: &[f64; 6],
    centre: Point3<Base>,
    rho: f64,
) -> Option<Rigid3<Base, Figure>> {
    let w = Column3::new(step[3], step[4], step[5]) / rho;
    let angle = libm::sqrt(w.x * w.x + w.y * w.y + w.z * w.z);
    let cross = Matrix3::new(0.0, -w.z, w.y, w.z, 0.0, -w.x, -w.y, w.x, 0.0);
    // Rodrigues; the series where the angle is small keeps its digits.
    let (a, b) = if angle < 1e-4 {
        let s = angle * angle;
        (1.0 - s / 6.0, 0.5 - s / 24.0)
    } else {
        let half = libm::sin(angle / 2.0) / angle;
        (libm::sin(angle) / angle, 2.0 * half * half)
    };
    let turn = Matrix3::identity() + cross * a + cross * cross * b;
    let c = centre.mm();
    let shift = c - turn * c + Column3::new(step[0], step[1], step[2]);
    let step = Rigid3::<Base, Base>::new(turn, Point3::from_column_mm(shift)).ok()?;
    Some(step.after(*place))
}

/// Under this a step is nothing, mm.
const NOTHING_MM: f64 = 1e-9;
/// A turn is taken in strides of at most this, rad.
const STRIDE: f64 = 0.5;

enum End {
    Met,
    Stuck,
    TooLong,
}

/// The figure's place by its locators, weighted by how well each was read; more than are needed
/// by least squares. What nothing holds stays as it started.
///
/// # Errors
/// [`LocatorFault`] for a reading that can't hold anything.
pub fn locate(locators: &[Locator], start: &Start) -> Result<Outcome, LocatorFault> {
    if locators.is_empty() {
        return Err(LocatorFault::Nothing);
    }
    let mut place = start.place;
    if let Some(fault) = locators.iter().find_map(|l| l.fault(&place)) {
        return Err(fault);
    }
    let (centre, rho) = reach(locators, &place);
    let spread = start.spread.mm();
    let lost = || LocatorFault::TooClose {
        name: locators[0].name.clone(),
    };
    let mut here = Linear::at(locators, &place, centre, rho).ok_or_else(lost)?;
    let mut modes = here.modes(spread);
    let mut end = End::TooLong;
    let mut steps = 0;
    'newton: while steps < start.most_steps {
        steps += 1;
        let mut damping = 0.0_f64;
        let largest = modes.last().map_or(1.0, |m| m.value);
        loop {
            let (step, size) = newton(&modes, &here.misfit, damping, rho);
            if size < NOTHING_MM {
                end = if damping > 0.0 { End::Stuck } else { End::Met };
                break 'newton;
            }
            let next = moved(&place, &step, centre, rho)
                .and_then(|p| Some((p, Linear::at(locators, &p, centre, rho)?)));
            if let Some((p, linear)) = next
                && linear.sum < here.sum
            {
                (place, here) = (p, linear);
                modes = here.modes(spread);
                break;
            }
            // The last digits of the sum no longer tell: the step is nothing at this scale.
            if damping <= 0.0 && size < 1e-6 {
                end = End::Met;
                break 'newton;
            }
            damping = if damping > 0.0 {
                damping * 10.0
            } else {
                1e-4 * largest * largest
            };
        }
    }
    let rho_at = (centre, rho);
    let seating = Seating::new(locators, place, rho_at, here.misfit, modes, steps);
    let free = freedoms(&seating, &start.names);
    Ok(match end {
        End::TooLong => Outcome::GaveUp(seating),
        _ if !free.is_empty() => Outcome::NotHeld { seating, free },
        End::Met => Outcome::Seated(seating),
        End::Stuck => Outcome::CannotImprove(seating),
    })
}

/// The step that meets the locators, in mm with turns at the radius; and its size.
fn newton(modes: &[Mode], misfit: &[f64], damping: f64, rho: f64) -> ([f64; 6], f64) {
    let mut step = [0.0; 6];
    for mode in modes.iter().filter(|m| m.held) {
        let share = -dot(&mode.pull, misfit) / (mode.value * mode.value + damping);
        for (s, w) in step.iter_mut().zip(&mode.way) {
            *s += share * w;
        }
    }
    let turn = libm::sqrt(dot(&step[3..], &step[3..])) / rho;
    if turn > STRIDE {
        step.iter_mut().for_each(|s| *s *= STRIDE / turn);
    }
    let size = libm::sqrt(dot(&step, &step));
    (step, size)
}

/// The middle of the places that are read, and their root mean square distance from it.
fn reach(locators: &[Locator], place: &Rigid3<Base, Figure>) -> (Point3<Base>, f64) {
    let sites: Vec<Column3<f64>> = locators
        .iter()
        .flat_map(|l| l.holds.sites(place))
        .map(Point3::mm)
        .collect();
    let n = sites.len().max(1) as f64;
    let mut middle = Column3::new(0.0, 0.0, 0.0);
    for site in &sites {
        middle += site;
    }
    middle /= n;
    let mut square = 0.0;
    for site in &sites {
        let d = site - middle;
        square += d.x * d.x + d.y * d.y + d.z * d.z;
    }
    (
        Point3::from_column_mm(middle),
        libm::sqrt(square / n).max(1.0),
    )
}
