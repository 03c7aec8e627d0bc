//! Where the figure is, how sure that is, and what each reading moves.

use super::locator::Locator;
use crate::frames::{Base, Figure, Point3, Rigid3, Vector3};
use crate::units::Length;

/// One way the figure can move, in mm with turns at the radius of the locators.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mode {
    /// How firmly it is held: one over what the readings leave open, mm⁻¹.
    pub(super) value: f64,
    /// The way, of length one.
    pub(super) way: [f64; 6],
    /// What each locator says of it, over its uncertainty.
    pub(super) pull: Vec<f64>,
    /// The readings hold it.
    pub(super) held: bool,
}

/// The figure's place with all that follows from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Seating {
    /// Its place.
    pub base_from_figure: Rigid3<Base, Figure>,
    /// Steps taken.
    pub steps: usize,
    /// How far each locator is off by at this place, mm: what it would read less what it reads.
    pub off_by: Vec<Length>,
    /// Locators that contradict the others: the odd one first, then those that could as well be it.
    pub contradict: Vec<usize>,
    pub(super) centre: Point3<Base>,
    pub(super) rho: f64,
    pub(super) modes: Vec<Mode>,
    within: Vec<f64>,
}

/// A reading is the odd one out past this many of its own deviations (Baarda's 0.1 %).
const ODD: f64 = 3.29;

impl Seating {
    pub(super) fn new(
        locators: &[Locator],
        base_from_figure: Rigid3<Base, Figure>,
        (centre, rho): (Point3<Base>, f64),
        misfit: Vec<f64>,
        modes: Vec<Mode>,
        steps: usize,
    ) -> Self {
        let within: Vec<f64> = locators.iter().map(|l| l.within.mm()).collect();
        let off_by = misfit
            .iter()
            .zip(&within)
            .map(|(v, u)| Length::from_mm(v * u))
            .collect();
        let contradict = contradictions(&misfit, &modes);
        Self {
            base_from_figure,
            steps,
            off_by,
            contradict,
            centre,
            rho,
            modes,
            within,
        }
    }

    /// How many of the six ways it can move are held.
    #[must_use]
    pub fn held(&self) -> usize {
        self.modes.iter().filter(|m| m.held).count()
    }

    /// How many times less firmly the loosest held way is held than the firmest.
    #[must_use]
    pub fn condition(&self) -> f64 {
        let firm = self.modes.last().map_or(0.0, |m| m.value);
        let loose = self.modes.iter().find(|m| m.held).map_or(0.0, |m| m.value);
        if loose > 0.0 {
            firm / loose
        } else {
            f64::INFINITY
        }
    }

    /// How the figure moves when one locator reads 1 mm more: shift at the locators' middle (mm)
    /// and turn (rad).
    #[must_use]
    pub fn twist(&self, locator: usize) -> (Vector3<Base>, Vector3<Base>) {
        let mut x = [0.0; 6];
        let u = self.within.get(locator).copied().unwrap_or(f64::INFINITY);
        for mode in self.modes.iter().filter(|m| m.held) {
            let share =
                mode.pull.get(locator).copied().unwrap_or(0.0) / (mode.value * mode.value * u);
            for (x, w) in x.iter_mut().zip(&mode.way) {
                *x += share * w;
            }
        }
        self.unscaled(&x)
    }

    pub(super) fn unscaled(&self, x: &[f64; 6]) -> (Vector3<Base>, Vector3<Base>) {
        (
            Vector3::from_mm(x[0], x[1], x[2]),
            Vector3::from_mm(x[3], x[4], x[5]) * (1.0 / self.rho),
        )
    }

    /// How a point of the figure moves when one locator reads 1 mm more.
    #[must_use]
    pub fn moves(&self, locator: usize, point: Point3<Figure>) -> Vector3<Base> {
        let (shift, turn) = self.twist(locator);
        shift + turn.cross(self.base_from_figure.point(point) - self.centre)
    }

    /// The covariance of a point's place by the readings' own uncertainties, mm². What is not
    /// held counts as fixed: look at [`Self::held`] first.
    #[must_use]
    pub fn covariance(&self, point: Point3<Figure>) -> [[f64; 3]; 3] {
        let arm = self.base_from_figure.point(point) - self.centre;
        let mut c = [[0.0; 3]; 3];
        for mode in self.modes.iter().filter(|m| m.held) {
            let (shift, turn) = self.unscaled(&mode.way);
            let d = (shift + turn.cross(arm)).mm() * (1.0 / mode.value);
            let d = [d.x, d.y, d.z];
            for i in 0..3 {
                for j in 0..3 {
                    c[i][j] += d[i] * d[j];
                }
            }
        }
        c
    }
}

/// Baarda's test on each locator's misfit over its own deviation; those that fall together with
/// the worst one (correlated above 0.9) could as well be the odd one.
fn contradictions(misfit: &[f64], modes: &[Mode]) -> Vec<usize> {
    let n = misfit.len();
    let hat = |i: usize, j: usize| -> f64 {
        modes
            .iter()
            .filter(|m| m.held)
            .map(|m| m.pull[i] * m.pull[j] / (m.value * m.value))
            .sum()
    };
    let spare: Vec<f64> = (0..n).map(|i| 1.0 - hat(i, i)).collect();
    let odd = |i: usize| misfit[i].abs() / libm::sqrt(spare[i]);
    let checked: Vec<usize> = (0..n).filter(|&i| spare[i] > 1e-6).collect();
    let Some(&worst) = checked
        .iter()
        .max_by(|&&a, &&b| odd(a).total_cmp(&odd(b)).then(b.cmp(&a)))
    else {
        return Vec::new();
    };
    if odd(worst) <= ODD {
        return Vec::new();
    }
    let mut all = vec![worst];
    all.extend(checked.into_iter().filter(|&j| {
        j != worst && hat(worst, j).abs() > 0.9 * libm::sqrt(spare[worst] * spare[j])
    }));
    all
}
