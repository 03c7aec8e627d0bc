//! What one more reading would bring, before anybody takes it.
//!
//! A reading with derivatives a and own standard deviation σ takes Q·aᵀ·a·Q/(σ² + a·Q·aᵀ) off the
//! covariance Q (the rank-one update; Koch 1999, *Parameter Estimation and Hypothesis Testing in
//! Linear Models*, 3.2.6): no network is solved again, so that all that could be read are weighed
//! within a keystroke.

use super::adjust::adjust;
use super::adjusted::{Adjusted, Covariance, Status};
use super::instrument::Tape;
use super::layout::nominal;
use super::model::FaceModel;
use super::network::{Held, Options, Precision, Reading, ReadingKind};
use crate::frames::Vector2;
use crate::num::least_squares::Rows;
use crate::surface::{MAX_PARAMETERS, Shape};
use crate::units::Length;

/// What one more reading would take off the covariance: Q becomes Q − g·gᵀ.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// g of each mark, mm.
    marks_mm: Vec<[f64; 2]>,
    /// g of each size of the face, in its own unit.
    sizes: [f64; MAX_PARAMETERS],
    /// How far it could come out from what is expected: σ of reading it, with what is not yet
    /// known of the marks.
    pub expected_sd: Length,
    /// The share of an error in it that the readings already taken would show: 0 where nothing
    /// else holds what it holds, near 1 where it adds nothing.
    pub redundancy: f64,
}

impl Gain {
    /// Covariance of marks, as [`Adjusted::covariance`] gives it, once the reading is taken.
    #[must_use]
    pub fn after(&self, before: &Covariance, points: &[usize]) -> Covariance {
        let at = |k: usize| {
            let point = points.get(k / 2).and_then(|p| self.marks_mm.get(*p));
            point.map_or(0.0, |g| g[k % 2])
        };
        let n = before.size();
        let mm2 = (0..n * n)
            .map(|i| before.get(i / n, i % n) - at(i / n) * at(i % n))
            .collect();
        Covariance::from_rows_mm2(n, mm2).unwrap_or_else(|| before.clone())
    }

    /// g of a number that changes by so much for each of these marks' u and v in turn, then for
    /// the sizes of the face: what the reading takes off its variance is this squared.
    #[must_use]
    pub fn on(&self, points: &[usize], derivatives: &[f64]) -> f64 {
        let marks = points.iter().flat_map(|p| {
            let g = self.marks_mm.get(*p);
            g.copied().unwrap_or_default()
        });
        marks
            .chain(self.sizes)
            .zip(derivatives)
            .map(|(g, d)| g * d)
            .sum()
    }
}

impl Adjusted {
    /// What one more reading would bring; its value counts only for how far the tape reaches, so
    /// it may be left at zero. `None` for a reading of something that is not there, or that the
    /// face refuses.
    #[must_use]
    pub fn gain(&self, reading: &Reading) -> Option<Gain> {
        let inner = &self.inner;
        let mut network = inner.network.clone();
        network.surface = self.surface.clone();
        for (point, result) in network.points.iter_mut().zip(&self.points) {
            point.start = result.at;
        }
        network.edges.clone_from(&self.edges);
        let there = |k: usize| k < network.points.len();
        let turns = match reading.kind {
            ReadingKind::Straight { from, to } if there(from) && there(to) && from != to => 0,
            ReadingKind::Over { from, to, .. } if there(from) && there(to) && from != to => {
                let at = |k: usize| self.points[k].at;
                self.surface.nearest_turns(at(from), at(to))
            }
            ReadingKind::Square { edge, to } if edge < network.edges.len() && there(to) => 0,
            ReadingKind::Coordinate { point, .. } if there(point) => 0,
            ReadingKind::Girth { .. } => 0,
            _ => return None,
        };
        if let Precision::Tape { tape, .. } = reading.precision
            && tape >= network.tapes.len()
        {
            return None;
        }
        network.readings = vec![*reading];
        let x = nominal(&network, &inner.layout);
        let turns = [turns];
        let model = FaceModel {
            network: &network,
            layout: &inner.layout,
            turns: &turns,
            reach_mm: 1.0,
            nominal: &x,
            free: &[],
            drawing: &[],
            centre: crate::frames::Point2::ORIGIN,
            shift: Vector2::ZERO,
        };
        let state = model.state(&x).ok()?;
        let mut rows = Rows::default();
        let mut terms = Vec::new();
        model
            .reading_row(&state, &x, 0, &mut terms, &mut rows)
            .ok()?;
        // The tape's scale counts by the length read: the row is made again with it, where no
        // value was given.
        if reading.value == Length::ZERO {
            let mm = -rows.misclosures().first()? * model.own_sd_mm(reading);
            let value = Length::from_mm(mm);
            return (value != Length::ZERO).then(|| self.gain(&Reading { value, ..*reading }))?;
        }
        let sd_mm = libm::hypot(model.own_sd_mm(reading), self.fresh_tape_mm(reading));
        let weigh = model.own_sd_mm(reading) / sd_mm;
        let (columns, values) = rows.row(0);
        // Q·aᵀ over the standard deviation, and a·Q·aᵀ over the variance.
        let by = |i: usize| -> f64 {
            columns
                .iter()
                .zip(values)
                .map(|(c, v)| inner.q.get(i, *c) * v * weigh)
                .sum()
        };
        let seen: f64 = columns
            .iter()
            .zip(values)
            .map(|(c, v)| v * weigh * by(*c))
            .sum();
        let seen = seen.max(0.0);
        let size = libm::sqrt(1.0 + seen);
        let marks_mm = inner
            .layout
            .points
            .iter()
            .map(|at| at.map_or([0.0; 2], |k| [by(k) / size, by(k + 1) / size]))
            .collect();
        let sizes = core::array::from_fn(|k| inner.layout.sizes[k].map_or(0.0, |at| by(at) / size));
        Some(Gain {
            marks_mm,
            sizes,
            expected_sd: Length::from_mm(sd_mm * size),
            redundancy: 1.0 / (1.0 + seen),
        })
    }

    /// The network as it would stand with these distances read as well, each as it is expected; or
    /// with these alone. Their tapes are numbered on from those of the network.
    ///
    /// `None` for a distance that the face refuses, or where the solution does not stand.
    #[must_use]
    pub fn planned(
        &self,
        alone: bool,
        more: &[Reading],
        tapes: &[Tape],
        options: &Options,
    ) -> Option<Self> {
        let mut network = self.inner.network.clone();
        for (point, at) in network.points.iter_mut().zip(&self.points) {
            if point.held == Held::Free {
                point.start = at.at;
            }
        }
        network.tapes.extend(tapes);
        if alone {
            network.readings.clear();
            network.surface = self.surface.clone();
        }
        for reading in more {
            let at = |k: usize| self.points.get(k).map(|p| p.at);
            let (kind, mm) = match reading.kind {
                ReadingKind::Straight { from, to } => {
                    let d = self.surface.straight(at(from)?, at(to)?).ok()?;
                    (reading.kind, d.mm)
                }
                ReadingKind::Over { from, to, .. } => {
                    let (a, b) = (at(from)?, at(to)?);
                    let turns = self.surface.nearest_turns(a, b);
                    let d = self.surface.over_surface(a, b, turns).ok()?;
                    (ReadingKind::Over { from, to, turns }, d.mm)
                }
                _ => return None,
            };
            network.readings.push(Reading {
                kind,
                value: Length::from_mm(mm),
                precision: reading.precision,
            });
        }
        let planned = adjust(&network, options).ok()?;
        (planned.status == Status::Converged).then_some(planned)
    }

    /// Standard deviation of what a tape of which nothing has been read yet has wrong, mm.
    fn fresh_tape_mm(&self, reading: &Reading) -> f64 {
        let Precision::Tape { tape, hooked } = reading.precision else {
            return 0.0;
        };
        let known = self.inner.layout.tapes.get(tape).copied();
        let Some(of) = self.inner.network.tapes.get(tape) else {
            return 0.0;
        };
        let value_mm = reading.value.mm();
        let scale_mm = match known {
            Some((Some(_), _)) => 0.0,
            _ => of.scale_sd_per_mm(value_mm) * value_mm.abs(),
        };
        let hook_mm = match known {
            Some((_, Some(_))) => 0.0,
            _ if hooked => of.hook_sd_mm(),
            _ => 0.0,
        };
        libm::hypot(scale_mm, hook_mm)
    }
}
