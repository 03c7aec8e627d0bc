//! Which figure goes on which base.

use super::assign::{Assignment, assign};
use crate::units::Length;

/// One figure on one base.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// How far the worst bed is from the middle of what is allowed.
    pub misfit: Length,
    /// The shims it would need.
    pub shims: Vec<Length>,
}

impl Fit {
    /// From the shims and the limits of the bed.
    #[must_use]
    pub fn of(shims: Vec<Length>, least: Length, greatest: Length) -> Self {
        let middle = (least.mm() + greatest.mm()) / 2.0;
        let worst = shims
            .iter()
            .fold(0.0_f64, |w, s| w.max((s.mm() - middle).abs()));
        Self {
            misfit: Length::from_mm(worst),
            shims,
        }
    }
}

/// What the table of all pairs says. Rows are figures, columns bases.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pairing {
    /// Every figure that may be swapped is inside tolerance on every such base.
    AnyFitsAny {
        /// What is left to the tolerance by the worst of all pairs, µm.
        spare_um: i64,
        /// That pair.
        worst: (usize, usize),
    },
    /// Not all fit: this pairing has the smallest worst misfit. Its worst may still be outside.
    /// Locked pairs count nothing in its worst and sum.
    Best {
        /// It.
        assignment: Assignment,
        /// Its worst pair is inside tolerance.
        inside: bool,
    },
    /// Some can't be paired: they have not been measured, or a locked pair names one twice.
    None,
}

/// *Any fits any*, or the pairing with the smallest worst misfit (ties by least sum, then by the
/// order of rows and columns). `locked` pairs (row, column) stay as they are and are looked at by
/// themselves: what they leave is free.
#[must_use]
pub fn pairing(fits: &[Vec<Option<Fit>>], allowed: Length, locked: &[(usize, usize)]) -> Pairing {
    let um = |i: usize, j: usize| -> Option<i64> { Some(fits[i][j].as_ref()?.misfit.to_um()) };
    let columns = fits.first().map_or(0, Vec::len);
    let twice = |k: usize| {
        let (i, j) = locked[k];
        locked[..k].iter().any(|&(a, b)| a == i || b == j)
    };
    let outside = locked.iter().any(|&(i, j)| i >= fits.len() || j >= columns);
    if fits.iter().any(|r| r.len() != columns) || outside || (0..locked.len()).any(twice) {
        return Pairing::None;
    }
    let row_free = |i: usize| locked.iter().all(|&(a, _)| a != i);
    let column_free = |j: usize| locked.iter().all(|&(_, b)| b != j);
    let mut worst: Option<(i64, (usize, usize))> = None;
    let mut all_known = true;
    for i in (0..fits.len()).filter(|&i| row_free(i)) {
        for j in (0..columns).filter(|&j| column_free(j)) {
            match um(i, j) {
                None => all_known = false,
                Some(m) if worst.is_none_or(|(w, _)| m > w) => worst = Some((m, (i, j))),
                Some(_) => {}
            }
        }
    }
    if let (true, Some((most, at))) = (all_known, worst)
        && most <= allowed.to_um()
    {
        return Pairing::AnyFitsAny {
            spare_um: allowed.to_um() - most,
            worst: at,
        };
    }
    let costs: Vec<Vec<Option<i64>>> = (0..fits.len())
        .map(|i| {
            (0..columns)
                .map(|j| {
                    // A locked pair stays whatever its misfit is, and must not loosen the others.
                    if locked.contains(&(i, j)) {
                        Some(0)
                    } else {
                        um(i, j).filter(|_| row_free(i) && column_free(j))
                    }
                })
                .collect()
        })
        .collect();
    match assign(&costs) {
        None => Pairing::None,
        Some(assignment) => Pairing::Best {
            inside: assignment.worst <= allowed.to_um(),
            assignment,
        },
    }
}
