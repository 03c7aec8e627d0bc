//! What facts are filed by: whatever they are asked for by, piece by piece, casting by casting.

use super::amendments::AmendedFact;
use super::checked::{CheckFact, ConcessionFact, PairConcessionFact};
use super::cured::CuredReading;
use super::filed::{About, Subject};
use super::holes::DrilledFact;
use super::ids::*;
use super::measured::Measured;
use super::payload::*;
use super::rack::TemplateFact;
use super::seat::SeatReading;

type Filing = Vec<(Subject, Option<EntityRef>)>;

fn on_feature(piece: &PieceId, feature: &FeatureId) -> Filing {
    vec![(piece.into(), Some(EntityRef::Feature(feature.clone())))]
}

fn of_fixing(piece: &PieceId, fixing: &FixingId) -> Filing {
    vec![(piece.into(), Some(EntityRef::Fixing(fixing.clone())))]
}

impl Measured {
    /// What says on which face it was read: its first point, or the face itself.
    pub(crate) fn lies_by(&self) -> Option<EntityRef> {
        if let Self::Girth { face, .. } = self {
            return Some(EntityRef::Face(face.clone()));
        }
        self.points().first().map(|p| p.entity())
    }
}

impl About for Reading {
    fn about(&self) -> Filing {
        let mut all = vec![((&self.casting).into(), self.of.lies_by())];
        all.extend(self.instrument.iter().map(|with| (with.into(), None)));
        all
    }
}

impl About for StageFact {
    fn about(&self) -> Filing {
        vec![((&self.casting).into(), None)]
    }
}

/// By what was worked on, and by every mark it came near.
impl About for DoneFact {
    fn about(&self) -> Filing {
        let near = self.near.iter().cloned().map(EntityRef::Mark);
        core::iter::once(self.on.clone())
            .chain(near.map(Some))
            .map(|part| ((&self.casting).into(), part))
            .collect()
    }
}

impl About for MeasuringFact {
    fn about(&self) -> Filing {
        let mut all = vec![((&self.casting).into(), None)];
        match &self.says {
            MeasuringSays::Kept { reading, .. } | MeasuringSays::SetAside { reading, .. } => {
                all.push((Subject::Fact(*reading), None));
            }
            MeasuringSays::CannotReach { .. } | MeasuringSays::ShopAt { .. } => {}
        }
        all
    }
}

impl About for MouldFact {
    fn about(&self) -> Filing {
        vec![((&self.mould).into(), None)]
    }
}

impl About for CheckFact {
    fn about(&self) -> Filing {
        let mut all = on_feature(&self.piece, &self.feature);
        all.extend(self.reference.clone().map(|r| (Subject::Sheet(r), None)));
        all
    }
}

impl About for ConcessionFact {
    fn about(&self) -> Filing {
        on_feature(&self.piece, &self.feature)
    }
}

impl About for PairConcessionFact {
    fn about(&self) -> Filing {
        let pair = EntityRef::Pair(self.pair.clone());
        vec![((&self.piece).into(), Some(pair))]
    }
}

impl About for AmendedFact {
    fn about(&self) -> Filing {
        on_feature(&self.piece, &self.feature)
    }
}

/// By every piece it serves, and by its reference.
impl About for Printed {
    fn about(&self) -> Filing {
        let of = self.of.entity();
        let each = self.pieces.iter();
        each.map(|piece| (piece.into(), Some(of.clone())))
            .chain([(Subject::Sheet(self.reference.clone()), None)])
            .collect()
    }
}

impl About for DrilledFact {
    fn about(&self) -> Filing {
        of_fixing(&self.piece, &self.fixing)
    }
}

impl About for CuredReading {
    fn about(&self) -> Filing {
        of_fixing(&self.piece, &self.fixing)
    }
}

impl About for TemplateFact {
    fn about(&self) -> Filing {
        vec![((&self.template).into(), None)]
    }
}

impl About for SeatReading {
    fn about(&self) -> Filing {
        vec![((&self.joint).into(), None)]
    }
}
