//! A hatch: a feature that is cut out of the skin, its plug numbered and kept.

use super::fold::{Job, Kept};
use super::ids::{EntityRef, FeatureId, PieceId};
use super::payload::{DoneFact, DoneKind};
use serde::{Deserialize, Serialize};

/// What becomes of what a feature encloses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum CutOut {
    /// It stays where it is: the outline is painted or marked.
    Stays,
    /// It is sawn out of the skin, numbered and kept, and goes back the same way.
    PlugKept,
}

/// How the hatch of one piece stands: the latest that was said of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HatchStands<'j> {
    /// Nobody has said that it is cut.
    NotCut,
    /// Cut out, the plug kept.
    Open(&'j Kept<DoneFact>),
    /// The plug is back and made good.
    Closed(&'j Kept<DoneFact>),
}

impl Job {
    /// Something in it is drilled or cut out.
    #[must_use]
    pub fn is_drilled(&self) -> bool {
        !self.fixings.is_empty() || !self.hatches().is_empty()
    }

    /// The features whose plug is kept, in the order in which people read them.
    #[must_use]
    pub fn hatches(&self) -> Vec<&FeatureId> {
        self.features_in_order()
            .into_iter()
            .filter(|(_, f)| f.cut_out == Some(CutOut::PlugKept))
            .map(|(id, _)| id)
            .collect()
    }

    /// What is written on the plug of a hatch: the number of its piece, *7*; where a piece has
    /// several hatches, with a letter, *7a*. Nothing where the feature is no hatch.
    #[must_use]
    pub fn plug_number(&self, feature: &FeatureId, piece: &PieceId) -> Option<String> {
        let all = self.hatches();
        let at = all.iter().position(|f| *f == feature)?;
        let number = self.pieces.get(piece).and_then(|p| p.number);
        let number = number.map_or_else(|| piece.to_string(), |n| n.to_string());
        Some(match (all.len(), u8::try_from(at)) {
            (0 | 1, _) => number,
            (_, Ok(at)) if at < 26 => format!("{number}{}", char::from(b'a' + at)),
            _ => format!("{number}-{}", at + 1),
        })
    }

    /// How the hatch of a piece stands.
    #[must_use]
    pub fn hatch_stands(&self, feature: &FeatureId, piece: &PieceId) -> HatchStands<'_> {
        let Some(casting) = self.casting_with(feature, piece) else {
            return HatchStands::NotCut;
        };
        let on = EntityRef::Feature(feature.clone());
        let last = self.done.iter().rev().find_map(|d| {
            let here = d.says.casting == *casting && d.says.on.as_ref() == Some(&on);
            match d.says.kind.filter(|_| here)? {
                DoneKind::Cut => Some(HatchStands::Open(d)),
                DoneKind::Closed => Some(HatchStands::Closed(d)),
                DoneKind::Filled | DoneKind::Sanded | DoneKind::Ticked => None,
            }
        });
        last.unwrap_or(HatchStands::NotCut)
    }
}
