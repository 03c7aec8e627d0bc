//! The odd one out: which reading most likely is wrong, where that can be told at all.

use super::adjusted::Adjusted;
use crate::units::Length;

/// Baarda's two-sided bound at an error probability of 0.1 % (1968, Publ. on Geodesy 2(5)).
pub const ODD_ONE_OUT: f64 = 3.29;

/// Readings whose w agree this closely can't be told apart (design/11, *Detection*).
const SAME_CULPRIT: f64 = 0.9;

/// Another reading is as likely the wrong one unless the first is twelve times likelier: with w
/// the only trace of a single slip, the likelihoods of two are as exp(w²/2) (the one outlier of
/// Teunissen 2006, *Testing Theory*, 4.3), so w² further apart than 2·ln 12.
///
/// Strewn slips over the example's lists (`benches/detection.rs`): at seven times a slip of 5σ still
/// accuses a good reading in 1.1 %, at twelve in 0.8 %; at thirty one of 10σ is named alone in 96.5 %
/// only, at twelve in 98.4 %.
const TWELVE_TIMES: f64 = 4.969_813_299_576_001;

/// Redundancy from which a reading counts as checked (design/11, *Detection*).
const CHECKED: f64 = 0.3;

/// A reading that may be wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Which reading.
    pub reading: usize,
    /// Off by, in its own standard deviations of what it is off by (Baarda's w).
    pub w: f64,
    /// The same with s₀ from this network (Pope's τ).
    pub tau: f64,
    /// Readings that could equally be the culprit.
    pub or: Vec<usize>,
}

/// What some readings of a network have wrong in common.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CommonError {
    /// By how much all of them are long.
    pub by: Length,
    /// Standard deviation of that.
    pub sd: Length,
}

/// No odd one out can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CannotLocate {
    /// With fewer than two spare readings all of them look equally wrong.
    #[error("{spare} reading more than needed: a wrong one shows, but not which; take two more")]
    TooFewSpare {
        /// Readings beyond what was needed.
        spare: usize,
    },
}

impl Adjusted {
    /// Readings whose |w| is over 3.29, worst first. Only the first should be acted on: setting
    /// it aside changes all others.
    ///
    /// # Errors
    /// [`CannotLocate`] where nothing could tell one reading from another.
    pub fn suspects(&self) -> Result<Vec<Suspect>, CannotLocate> {
        if self.spare < 2 {
            return Err(CannotLocate::TooFewSpare { spare: self.spare });
        }
        let mut out: Vec<Suspect> = (0..self.readings.len())
            .filter_map(|k| {
                let w = self.readings[k].w.filter(|w| w.abs() > ODD_ONE_OUT)?;
                let tau = self.tau(k)?;
                Some(Suspect {
                    reading: k,
                    w,
                    tau,
                    or: self.as_likely(k),
                })
            })
            .collect();
        out.sort_by(|a, b| {
            b.w.abs()
                .total_cmp(&a.w.abs())
                .then(a.reading.cmp(&b.reading))
        });
        Ok(out)
    }

    /// The slip that would explain a reading alone: what must be added to it for the others to
    /// agree, which is what it is off by over its redundancy (Baarda 1968, ∇ = −v/r). `None`
    /// where nothing checks it.
    #[must_use]
    pub fn slip(&self, reading: usize) -> Option<Length> {
        let r = self.readings.get(reading)?;
        r.w.map(|_| Length::from_mm(r.off_by.mm() / r.redundancy))
    }

    /// Pope's τ of a reading; `None` where nothing checks it.
    #[must_use]
    pub fn tau(&self, reading: usize) -> Option<f64> {
        let w = self.readings.get(reading)?.w?;
        self.s0().filter(|s| *s > 0.0).map(|s| w / s)
    }

    /// Correlation of the w of two readings: near ±1 they can't be told apart.
    #[must_use]
    pub fn w_correlation(&self, i: usize, j: usize) -> Option<f64> {
        let redundancy = |k: usize| {
            let r = self.readings.get(k)?;
            r.w.map(|_| r.redundancy)
        };
        let size = libm::sqrt(redundancy(i)? * redundancy(j)?);
        let same = if i == j { 1.0 } else { 0.0 };
        Some((same - self.inner.rows.form(i, &self.inner.solved, j)) / size)
    }

    /// How much too long all of these readings are together, by what the others say; `None` where
    /// the others say nothing of it.
    ///
    /// The generalised test of one error that several observations share (Baarda 1968, chapter 3;
    /// Teunissen 2006, *Testing Theory*, 3.3): with c one over the standard deviation of each of
    /// them and R the normalised redundancy matrix, −cᵀv/(cᵀRc) ± 1/√(cᵀRc).
    #[must_use]
    pub fn common_error(&self, readings: &[usize]) -> Option<CommonError> {
        let inner = &self.inner;
        let own = |k: usize| self.readings.get(k).filter(|r| r.counts());
        let (mut off, mut seen) = (0.0, 0.0);
        for &i in readings {
            let Some(a) = own(i) else { continue };
            off += a.off_by.mm() / (a.own.mm() * a.own.mm());
            for &j in readings {
                let Some(b) = own(j) else { continue };
                let same = if i == j { 1.0 } else { 0.0 };
                let r = same - inner.rows.form(i, &inner.solved, j);
                seen += r / (a.own.mm() * b.own.mm());
            }
        }
        // Under this the others hardly see it: it would come out as anything.
        const SEEN: f64 = 1e-6;
        (seen > SEEN).then(|| CommonError {
            by: Length::from_mm(-off / seen),
            sd: Length::from_mm(1.0 / libm::sqrt(seen)),
        })
    }

    /// Others whose tests can't be told apart from this one's: by how the network is made, or as
    /// these readings came out.
    fn as_likely(&self, reading: usize) -> Vec<usize> {
        let square = |k: usize| {
            self.readings
                .get(k)
                .and_then(|r| r.w)
                .map_or(0.0, |w| w * w)
        };
        let same = self.same_culprits(reading);
        let nearly = square(reading) - TWELVE_TIMES;
        (0..self.readings.len())
            .filter(|k| *k != reading && (same.contains(k) || square(*k) > nearly.max(0.0)))
            .collect()
    }

    /// Other readings that could equally be wrong where this one is, however they come out.
    #[must_use]
    pub fn same_culprits(&self, reading: usize) -> Vec<usize> {
        (0..self.readings.len())
            .filter(|k| *k != reading)
            .filter(|k| {
                self.w_correlation(reading, *k)
                    .is_some_and(|c| c.abs() > SAME_CULPRIT)
            })
            .collect()
    }

    /// Whether an error in this reading would be seen, and pinned on it.
    #[must_use]
    pub fn is_checked(&self, reading: usize) -> bool {
        self.readings
            .get(reading)
            .is_some_and(|r| r.redundancy >= CHECKED)
            && self.same_culprits(reading).is_empty()
    }
}
