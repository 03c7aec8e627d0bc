//! What the proof page of a paper holds: four crosses far apart.

use crate::sheet::{Paper, SheetError};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// Frames at these distances from the edge of the paper, mm: the outermost that is whole on all
/// four sides is how far the printer reaches.
pub const MARGIN_FRAMES_MM: [f64; 5] = [3.0, 6.0, 9.0, 12.0, 15.0];

/// Crosses stay this far from the edge of the paper: printers that reach less are not used.
const CLEAR_MM: f64 = 20.0;
/// Distances are whole multiples of this, so that a rule is read at a printed figure.
const STEP_MM: f64 = 10.0;
/// Shorter distances prove nothing worth knowing.
const LEAST_MM: f64 = 100.0;

/// Distances between the crosses of a proof page as drawn: A lower left, B lower right, C upper
/// right, D upper left.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Plan {
    /// A to B.
    pub across: Length,
    /// A to D.
    pub up: Length,
}

impl Plan {
    /// A to C, and B to D.
    #[must_use]
    pub fn diagonal(self) -> Length {
        Length::from_mm(libm::hypot(self.across.mm(), self.up.mm()))
    }
}

/// What the proof page of a paper holds; the paper stands upright, as it lies in the printer.
///
/// # Errors
/// A paper that is none, or too small to prove anything.
pub fn plan(paper: Paper) -> Result<Plan, SheetError> {
    let size = paper.upright()?;
    let along = |um: i32| {
        let room = f64::from(um) / 1000.0 - 2.0 * CLEAR_MM;
        Length::from_mm(STEP_MM * libm::floor((room + 1e-6) / STEP_MM).max(0.0))
    };
    let plan = Plan {
        across: along(size.width),
        up: along(size.height),
    };
    if plan.across.mm() < LEAST_MM {
        return Err(SheetError::PaperTooSmall {
            paper: paper.name(),
            width: plan.across,
            height: plan.up,
        });
    }
    Ok(plan)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn crosses_stand_as_far_apart_as_the_paper_holds() {
        // ISO 216: A4 210 × 297, A3 297 × 420.
        let a4 = plan(Paper::A4).unwrap();
        assert_eq!((a4.across.to_um(), a4.up.to_um()), (170_000, 250_000));
        let a3 = plan(Paper::A3).unwrap();
        assert_eq!((a3.across.to_um(), a3.up.to_um()), (250_000, 380_000));
        assert!(
            plan(Paper::Typed {
                width: Length::from_mm(120.0),
                height: Length::from_mm(300.0),
            })
            .is_err()
        );
    }
}
