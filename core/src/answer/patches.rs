//! What an outline in patches comes to on one piece.

use crate::job::{PieceId, SheetOf};
use crate::prepare::{PrepareError, Source, prepare_sheet};
use crate::sheet::SheetJoin;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// An outline in patches.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PatchesView {
    /// Each patch, in order.
    pub patches: Vec<PatchView>,
    /// As gores alike instead.
    pub gores: Option<GoresView>,
    /// The radius asked for.
    pub allowed: Length,
    /// What is to be minded.
    pub warnings: Vec<String>,
}

/// A set of gores alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GoresView {
    /// How many are cut.
    pub count: u32,
    /// How far the outline may be off, all in all.
    pub worst: Length,
    /// What of that is because paper is flat.
    pub flat: Length,
    /// How far neighbours stand apart at their edges.
    pub gap: Length,
    /// How far they lie over each other.
    pub overlap: Length,
    /// How much longer their edges are than the dome there.
    pub too_long: Length,
    /// Which carry a cross: *A on gore 1*.
    pub carried: Vec<String>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PatchView {
    /// The crosses it lies on: *A and B*.
    pub on: String,
    /// How far its part of the outline may be off, all in all.
    pub worst: Length,
    /// What of that is because paper is flat.
    pub flat: Length,
    /// Each join: *● to patch 2, ends up to 0.4 mm apart*.
    pub joins: Vec<JoinView>,
}

/// Where one meets another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JoinView {
    /// The symbol on both.
    pub symbol: String,
    /// The other patch, counted from 1.
    pub other: usize,
    /// How far apart the ends of the outline may stand there because paper is flat.
    pub step: Length,
}

/// Works it out.
///
/// # Errors
/// [`PrepareError`]: what is missing, or that one sheet is enough.
pub(super) fn patches_view(
    source: &Source<'_>,
    of: &SheetOf,
    piece: &PieceId,
) -> Result<PatchesView, PrepareError> {
    let p = prepare_sheet(source, of, piece)?;
    let patches = p
        .patches
        .iter()
        .map(|patch| PatchView {
            on: listed(&patch.letters),
            worst: patch.budget.worst,
            flat: patch.worst,
            joins: joins(&patch.joins),
        })
        .collect();
    let gores = p.gores.as_ref().map(|g| GoresView {
        count: g.count,
        worst: p.budget.worst,
        flat: g.leaves.worst,
        gap: g.leaves.gap,
        overlap: g.leaves.overlap,
        too_long: g.leaves.too_long,
        carried: (g.carried.iter())
            .map(|(letter, which)| format!("{letter} on gore {which}"))
            .collect(),
    });
    Ok(PatchesView {
        patches,
        gores,
        allowed: p.allowed,
        warnings: p.warnings,
    })
}

/// Each once: a ring's join has a line at either edge and one symbol.
fn joins(all: &[SheetJoin]) -> Vec<JoinView> {
    let mut joins: Vec<JoinView> = Vec::new();
    for join in all {
        if joins.iter().all(|j| j.symbol != join.symbol) {
            joins.push(JoinView {
                symbol: join.symbol.to_owned(),
                other: join.other,
                step: join.step,
            });
        }
    }
    joins
}

/// *A, B and C*.
fn listed(letters: &[String]) -> String {
    match letters {
        [before @ .., last] if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        _ => letters.concat(),
    }
}
