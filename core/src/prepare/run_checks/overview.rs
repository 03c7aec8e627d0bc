//! The checks of the whole run at a glance.

use super::age::{Shrinkage, shrinkage};
use super::feature_run;
use super::sides::{PairRun, pair_runs};
use crate::job::{FeatureId, Job, PieceId};
use crate::prepare::Source;
use crate::prepare::checks::{Standing, newest, not_made, offset_words};
use crate::prepare::words::feature_title;
use serde::{Deserialize, Serialize};

/// The checks of the whole run.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct RunOverview {
    /// Pieces in order, with their numbers.
    pub pieces: Vec<(PieceId, u32)>,
    /// Each feature over all pieces, the one with most to do first.
    pub features: Vec<FeatureStands>,
    /// Left against right.
    pub pairs: Vec<PairRun>,
    /// What castings say of shrinkage.
    pub shrinkage: Vec<Shrinkage>,
}

/// How one feature stands on one piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// An issue has it on other pieces only.
    NotMade,
    /// Nobody has checked it yet.
    ToCheck,
    /// Within.
    Within,
    /// Let stand.
    LetStand,
    /// Can't be told with what it was checked with.
    CantTell,
    /// As an older issue has it, undecided.
    MakeAgain,
    /// Outside.
    Outside,
}

/// One feature over the run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FeatureStands {
    /// The feature.
    pub feature: FeatureId,
    /// Its name.
    pub title: String,
    /// On each piece, in order.
    pub marks: Vec<Mark>,
    /// The piece on which it is furthest out, and how: *0.8 left, 1.1 up*.
    pub worst: Option<(PieceId, u32, String)>,
    /// What the run does with it.
    pub says: Vec<String>,
}

impl FeatureStands {
    /// On how many pieces it stands so.
    #[must_use]
    pub fn count(&self, mark: Mark) -> usize {
        self.marks.iter().filter(|m| **m == mark).count()
    }
}

/// The checks of the whole run: from what was found alone, without a template made.
#[must_use]
pub fn overview(source: &Source<'_>) -> RunOverview {
    let job = source.job;
    let pieces: Vec<(PieceId, u32)> = job
        .pieces_in_order()
        .into_iter()
        .map(|(id, edit)| (id.clone(), edit.number.unwrap_or(0)))
        .collect();
    let mut features: Vec<FeatureStands> = job
        .features_in_order()
        .into_iter()
        .map(|(id, edit)| stands(job, id, feature_title(edit), &pieces))
        .collect();
    features.sort_by_key(|f| {
        // What is wrong first, then what can't be told, then what is still to be done; else as in the design.
        core::cmp::Reverse((
            f.count(Mark::Outside),
            f.count(Mark::MakeAgain),
            f.count(Mark::CantTell),
            f.count(Mark::ToCheck),
        ))
    });
    RunOverview {
        pieces,
        features,
        pairs: pair_runs(source),
        shrinkage: shrinkage(job),
    }
}

fn stands(
    job: &Job,
    feature: &FeatureId,
    title: String,
    pieces: &[(PieceId, u32)],
) -> FeatureStands {
    let mut worst: Option<(f64, PieceId, u32, String)> = None;
    let mut marks = Vec::new();
    for (piece, number) in pieces {
        if not_made(job, feature, piece).is_some() {
            marks.push(Mark::NotMade);
            continue;
        }
        let standing = Standing::of(job, feature, piece);
        marks.push(standing.map_or(Mark::ToCheck, Mark::from));
        // What is to be made again says nothing of where it lies now.
        let counts = standing.is_some_and(|s| s != Standing::MakeAgain);
        let Some((_, found)) = newest(job, feature, piece).filter(|_| counts) else {
            continue;
        };
        // How far out for what was allowed there: limits differ between issues.
        let out = libm::hypot(found.right.mm(), found.up.mm()) / found.limit.mm().max(1e-3);
        if worst.as_ref().is_none_or(|w| out > w.0) {
            let says = offset_words(found.right, found.up);
            worst = Some((out, piece.clone(), *number, says));
        }
    }
    let run = feature_run(job, feature);
    FeatureStands {
        feature: feature.clone(),
        title,
        marks,
        worst: worst.map(|(_, piece, number, says)| (piece, number, says)),
        says: run.drift.into_iter().chain(run.says).collect(),
    }
}

impl From<Standing> for Mark {
    fn from(standing: Standing) -> Self {
        match standing {
            Standing::Within => Self::Within,
            Standing::LetStand => Self::LetStand,
            Standing::CantTell => Self::CantTell,
            Standing::MakeAgain => Self::MakeAgain,
            Standing::Outside => Self::Outside,
        }
    }
}

impl Mark {
    /// As it stands on a tile.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotMade => "not made",
            Self::ToCheck => "to check",
            Self::Within => Standing::Within.word(),
            Self::LetStand => Standing::LetStand.word(),
            Self::CantTell => Standing::CantTell.word(),
            Self::MakeAgain => Standing::MakeAgain.word(),
            Self::Outside => Standing::Outside.word(),
        }
    }
}
