//! What an amendment means for the run: what is moved where, which sheets to scrap, which pieces
//! to make again, and what that costs.

mod older;
mod papers;
mod together;
mod words;

pub use older::{Older, older};
pub use papers::{AmendmentPaper, amendment_paper, means, paper_name, titles, to_do};
pub use together::PairMoved;
pub use words::{amendment_words, change_words, move_words, pieces_words};

use super::issue_now::is_of_issue_now;
use super::words::feature_title;
use super::{Source, prepare, staleness};
use crate::job::{
    Amendment, Change, Decided, EntityRef, FeatureId, IssueEdit, IssueId, Job, PieceId,
};
use older::{on_the_piece, only_paper};
use serde::{Deserialize, Serialize};

/// What an amendment means for one feature on one piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Nothing was made yet: print the new sheet when its turn comes.
    NotMade,
    /// A sheet was printed that no longer holds.
    PrintAgain {
        /// What stands on the sheet to scrap.
        reference: String,
        /// The day it was printed.
        day: String,
    },
    /// It is on the piece already, to an older issue.
    Rework {
        /// What shows that: *painted*, *checked*.
        because: String,
    },
    /// It was made again.
    Reworked,
    /// It stays as it is, by decision.
    Concession {
        /// By whom.
        by: String,
        /// Why.
        reason: String,
    },
    /// A sheet of this issue was printed and holds.
    Printed,
}

/// What an issue makes of a feature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Becomes {
    /// Made otherwise than before.
    Other,
    /// Made no longer.
    Dropped,
    /// Made for the first time.
    Added,
}

impl Becomes {
    fn by(issue: &IssueEdit, feature: &FeatureId) -> Self {
        let last = issue.changes(feature).filter_map(|c| match c {
            Change::Dropped => Some(Self::Dropped),
            Change::Added => Some(Self::Added),
            _ => None,
        });
        last.last().unwrap_or(Self::Other)
    }
}

/// One feature on one piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Consequence {
    /// The piece.
    pub piece: PieceId,
    /// Its number.
    pub number: u32,
    /// The feature.
    pub feature: FeatureId,
    /// Its name.
    pub title: String,
    /// The stage its casting is at.
    pub stage: Option<String>,
    /// What becomes of the feature.
    pub becomes: Becomes,
    /// What has to be done.
    pub outcome: Outcome,
    /// Why no new sheet can be made, where it can't.
    pub cannot: Option<String>,
}

/// A printed sheet that no longer holds.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct ToScrap {
    /// The reference on it.
    pub reference: String,
    /// The day it was printed.
    pub day: String,
    /// What it carries.
    pub title: String,
    /// The pieces it served.
    pub pieces: Vec<u32>,
}

/// An issue with all it means.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AmendmentView {
    /// The issue.
    pub issue: IssueId,
    /// Its number.
    pub number: u32,
    /// The changes in words.
    pub changes: Vec<String>,
    /// The pieces it applies to, in words.
    pub pieces: String,
    /// Where a feature ends up with every issue, where another moves it too.
    #[serde(default)]
    pub in_all: Vec<String>,
    /// What is asked of a pair and would not be met.
    #[serde(default)]
    pub pairs: Vec<PairMoved>,
    /// Somebody approved it.
    pub approved: bool,
    /// Feature by feature on every piece it applies to.
    pub consequences: Vec<Consequence>,
    /// Sheets to scrap.
    pub scrap: Vec<ToScrap>,
    /// How many features on finished pieces are to be made again.
    pub rework: usize,
    /// The hours that takes, where hours for one were given.
    pub hours: Option<f64>,
    /// What that costs, where the shop's rate was given.
    pub cost: Option<f64>,
}

/// What an issue means for the run; `None` for an issue the job doesn't have.
#[must_use]
pub fn amendment(source: &Source<'_>, id: &IssueId) -> Option<AmendmentView> {
    let job = source.job;
    let issue = job.issues.get(id)?;
    let features = features_of(job, issue);
    let mut consequences = Vec::new();
    for (piece, edit) in job.pieces_in_order() {
        let number = edit.number.unwrap_or(0);
        if !issue.holds_on(number) {
            continue;
        }
        for feature in &features {
            consequences.push(consequence(source, (id, issue), feature, (piece, number)));
        }
    }
    let rework = consequences
        .iter()
        .filter(|c| matches!(c.outcome, Outcome::Rework { .. }))
        .count();
    #[expect(clippy::cast_precision_loss, reason = "a few hundred")]
    let hours = issue
        .hours_each
        .filter(|h| *h > 0.0)
        .map(|each| each * rework as f64);
    let cost = hours
        .zip(job.about.hour_rate.filter(|r| *r > 0.0))
        .map(|(hours, rate)| hours * rate);
    Some(AmendmentView {
        issue: id.clone(),
        number: issue.number.unwrap_or(0),
        changes: issue
            .amends
            .iter()
            .flatten()
            .map(|a| amendment_words(job, a))
            .collect(),
        pieces: pieces_words(issue),
        in_all: together::in_all(job, issue, &features),
        pairs: together::pairs(source, issue),
        approved: issue.approved(),
        scrap: to_scrap(job, &consequences),
        consequences,
        rework,
        hours,
        cost,
    })
}

/// The features an issue changes, in the order in which it names them, each before what is made from it.
fn features_of(job: &Job, issue: &IssueEdit) -> Vec<FeatureId> {
    let mut features: Vec<FeatureId> = Vec::new();
    for Amendment { feature, .. } in issue.amends.iter().flatten() {
        let images = (job.features.keys())
            .filter(|f| job.made_from(f).is_some_and(|m| m.feature == feature));
        for one in core::iter::once(feature).chain(images) {
            if !features.contains(one) {
                features.push(one.clone());
            }
        }
    }
    features
}

fn consequence(
    source: &Source<'_>,
    (id, issue): (&IssueId, &IssueEdit),
    feature: &FeatureId,
    (piece, number): (&PieceId, u32),
) -> Consequence {
    let job = source.job;
    let title = job
        .features
        .get(feature)
        .map_or_else(|| feature.to_string(), feature_title);
    let casting = job.casting_with(feature, piece);
    let stage = casting.and_then(|c| job.stage_of(c)).map(str::to_owned);
    let spoken_of = job.spoken_of(issue, feature);
    let becomes = Becomes::by(issue, spoken_of);
    let made = prepare(source, feature, piece);
    let mut said = (job.amended).about_part(piece, &EntityRef::Feature(feature.clone()));
    let decided = said.rfind(|a| a.says.issue == *id);
    let outcome = match decided.map(|a| &a.says.decided) {
        Some(Decided::Reworked) => Outcome::Reworked,
        Some(Decided::Concession { by, reason }) => Outcome::Concession {
            by: by.clone(),
            reason: reason.clone(),
        },
        None => match on_the_piece(job, feature, piece) {
            Some(because) if !only_paper(issue, spoken_of) => Outcome::Rework { because },
            _ => printed(source, feature, piece),
        },
    };
    Consequence {
        piece: piece.clone(),
        number,
        feature: feature.clone(),
        title,
        stage,
        becomes,
        outcome,
        cannot: made
            .err()
            .filter(|_| becomes != Becomes::Dropped)
            .map(|why| why.to_string()),
    }
}

fn printed(source: &Source<'_>, feature: &FeatureId, piece: &PieceId) -> Outcome {
    match source.job.last_print(feature, piece) {
        None => Outcome::NotMade,
        Some(_) if staleness(source, feature, piece).is_none() => Outcome::Printed,
        Some(print) => Outcome::PrintAgain {
            reference: print.says.reference.clone(),
            day: print.says.day.clone(),
        },
    }
}

/// Every sheet that no longer holds, once, with the pieces it served.
fn to_scrap(job: &Job, consequences: &[Consequence]) -> Vec<ToScrap> {
    let mut all: Vec<ToScrap> = Vec::new();
    for c in consequences {
        let prints = job.printed.about(&c.piece).filter(|p| {
            let carries = job.carried_by(&p.says.of).contains(&&c.feature);
            // What was printed to the issue already is wanted, whatever became of the piece.
            carries && c.outcome != Outcome::Printed && !is_of_issue_now(job, &p.says)
        });
        for print in prints {
            let found = all.iter_mut().find(|s| s.reference == print.says.reference);
            match found {
                Some(sheet) if sheet.pieces.contains(&c.number) => {}
                Some(sheet) => sheet.pieces.push(c.number),
                None => all.push(ToScrap {
                    reference: print.says.reference.clone(),
                    day: print.says.day.clone(),
                    title: c.title.clone(),
                    pieces: vec![c.number],
                }),
            }
        }
    }
    all
}
