//! In which order a run is looked at.

use crate::job::{FeatureId, Found, Job, MouldId, PieceId};
use crate::prepare::checks::newest;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// In which order a run is looked at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RunOrder {
    /// By the pulls of its castings: what a mould does shows in it.
    Pulls,
    /// By the numbers of the pieces.
    #[default]
    Pieces,
}

impl RunOrder {
    /// *from pull to pull*.
    #[must_use]
    pub const fn from_one_to_the_next(self) -> &'static str {
        match self {
            Self::Pulls => "from pull to pull",
            Self::Pieces => "from piece to piece",
        }
    }
}

/// One piece's finding in its place.
pub(super) struct Placed<'a> {
    /// Where in the run: a pull, or a place among the pieces. Places left out count.
    pub(super) place: u32,
    pub(super) piece: &'a PieceId,
    pub(super) number: u32,
    pub(super) mould: Option<&'a MouldId>,
    pub(super) pull: Option<u32>,
    /// The sheet that was laid back.
    pub(super) reference: Option<&'a str>,
    pub(super) found: Found,
}

/// The newest finding of a feature on each piece. In the order of pulls where every casting under it
/// is from one mould and says which pull it is, one each; otherwise in the order of the pieces.
pub(super) fn placed<'a>(job: &'a Job, feature: &FeatureId) -> (Vec<Placed<'a>>, RunOrder) {
    let mut all: Vec<Placed<'a>> = (0..)
        .zip(job.pieces_in_order())
        .filter_map(|(place, (piece, edit))| {
            let (fact, found) = newest(job, feature, piece)?;
            let casting = job.casting_with(feature, piece);
            let pulled = casting.and_then(|c| job.castings.get(c));
            Some(Placed {
                place,
                piece,
                number: edit.number.unwrap_or(0),
                mould: pulled.and_then(|c| c.mould.as_ref()),
                pull: pulled.and_then(|c| c.pull),
                reference: fact.says.reference.as_deref(),
                found,
            })
        })
        .collect();
    let moulds: BTreeSet<_> = all.iter().map(|p| p.mould).collect();
    let pulls: BTreeSet<_> = all.iter().filter_map(|p| p.pull).collect();
    let by_pull = moulds.len() == 1 && pulls.len() == all.len();
    if !by_pull {
        return (all, RunOrder::Pieces);
    }
    for one in &mut all {
        one.place = one.pull.unwrap_or(one.place);
    }
    all.sort_by_key(|p| p.place);
    (all, RunOrder::Pulls)
}
