//! Which castings make a piece: the latest marriage of each piece, and of each casting.

use super::fold::Kept;
use super::ids::{CastingId, EntityRef, PieceId};
use super::log::Log;
use super::payload::Marriage;
use std::collections::{BTreeMap, BTreeSet};

/// The latest marriages of several pieces name one casting. The latest of all has it; the others
/// go without it until somebody says where it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClaimedTwice {
    /// The casting.
    pub casting: CastingId,
    /// The piece that has it.
    pub has: PieceId,
    /// A piece that was said to have it too, and goes without.
    pub without: PieceId,
}

/// For each piece the marriage that counts, each casting in one at most, and what was claimed twice.
pub(super) fn settle(
    married: &Log<Kept<Marriage>>,
    removed: &BTreeSet<EntityRef>,
) -> (BTreeMap<PieceId, Marriage>, Vec<ClaimedTwice>) {
    let mut latest: BTreeMap<PieceId, (usize, Marriage)> = BTreeMap::new();
    for (when, kept) in married.iter().enumerate() {
        if removed.contains(&EntityRef::Piece(kept.says.piece.clone())) {
            continue;
        }
        latest.insert(kept.says.piece.clone(), (when, kept.says.clone()));
    }
    let mut has: BTreeMap<CastingId, (usize, PieceId)> = BTreeMap::new();
    for (piece, (when, marriage)) in &latest {
        for casting in &marriage.castings {
            let later = has.get(casting).is_none_or(|(known, _)| known < when);
            if later {
                has.insert(casting.clone(), (*when, piece.clone()));
            }
        }
    }
    let mut twice = Vec::new();
    let mut counts = BTreeMap::new();
    for (piece, (_, mut marriage)) in latest {
        let mut kept: Vec<CastingId> = Vec::new();
        for casting in core::mem::take(&mut marriage.castings) {
            match has.get(&casting) {
                Some((_, owner)) if *owner != piece => twice.push(ClaimedTwice {
                    casting,
                    has: owner.clone(),
                    without: piece.clone(),
                }),
                _ if kept.contains(&casting) => {}
                _ => kept.push(casting),
            }
        }
        marriage.castings = kept;
        counts.insert(piece, marriage);
    }
    (counts, twice)
}
