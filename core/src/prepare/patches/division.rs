//! How one piece's outline is divided, so that others can be divided alike: a set of patches serves
//! several pieces only where the same part of the outline is on the same patch of each.

use super::sector::Sector;
use super::{Patch, Tried, Whole};
use crate::frames::{Flat, Point2};
use crate::prepare::error::PrepareError;
use crate::units::Length;

/// How an outline is divided.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::prepare) struct Division {
    parts: Vec<Part>,
}

#[derive(Debug, Clone, PartialEq)]
struct Part {
    sector: Sector,
    at: Point2<Flat>,
    registers: Vec<usize>,
}

impl Division {
    pub(in crate::prepare) fn of(patches: &[Patch]) -> Self {
        let part = |p: &Patch| Part {
            sector: p.sector,
            at: p.at,
            registers: p.registers.clone(),
        };
        Self {
            parts: patches.iter().map(part).collect(),
        }
    }

    /// As many patches, on the same crosses: they differ by how the marks lie about the feature only.
    pub(in crate::prepare) fn is_like(&self, other: &Self) -> bool {
        let on =
            |d: &Self| -> Vec<Vec<usize>> { d.parts.iter().map(|p| p.registers.clone()).collect() };
        on(self) == on(other)
    }
}

impl Whole<'_> {
    /// This piece's outline divided as another's.
    pub(super) fn tried_as(&self, division: &Division) -> Result<Vec<Tried>, PrepareError> {
        let lost = |why| PrepareError::Surface {
            feature: self.name.to_owned(),
            why,
        };
        let tried = |part: &Part| {
            if part.registers.iter().any(|r| !self.registers.contains(r)) {
                return Err(PrepareError::Outline {
                    feature: self.name.to_owned(),
                    why: "a mark that a patch lies on can’t be found here".to_owned(),
                });
            }
            let about = self.about(part.at, Length::ZERO).map_err(lost)?;
            let samples: Vec<Point2<Flat>> = (self.basis.outline.iter().copied())
                .filter(|p| part.sector.holds(*p))
                .collect();
            let lie = self
                .lie_of(&about, &part.registers, (&samples, None))
                .map_err(lost)?;
            Ok(Tried {
                sector: part.sector,
                at: part.at,
                about,
                registers: part.registers.clone(),
                out_by_mm: lie.out_by().mm(),
            })
        };
        division.parts.iter().map(tried).collect()
    }
}
