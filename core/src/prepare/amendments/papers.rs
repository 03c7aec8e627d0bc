//! An amendment on paper: the page a client approves, and the slip that goes round the workshop.

use super::{AmendmentView, Becomes, Consequence, Outcome, amendment};
use crate::frames::{Flat, Point2};
use crate::job::{FeatureId, IssueEdit, IssueId, Job, PieceId};
use crate::outline::FLATTENING;
use crate::prepare::words::{feature_title, letter_line};
use crate::prepare::{Prepared, Source, prepare};
use crate::sheet::{Block, Drawing, Letter, Paper, Picture, SheetError, letter};
use serde::{Deserialize, Serialize};

/// Which of the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AmendmentPaper {
    /// For the client: what changes, where, what it costs, a box to sign.
    Approval,
    /// For the workshop: what to scrap, what to print, what to make again.
    Slip,
}

/// One of the papers of an issue; `None` for an issue the job doesn't have.
///
/// # Errors
/// A paper size that is none.
pub fn amendment_paper(
    source: &Source<'_>,
    id: &IssueId,
    which: AmendmentPaper,
    (paper, day): (Paper, &str),
) -> Option<Result<Drawing, SheetError>> {
    let view = amendment(source, id)?;
    let issue = source.job.issues.get(id)?;
    let page = match which {
        AmendmentPaper::Approval => approval(source, issue, &view),
        AmendmentPaper::Slip => slip(source, issue, &view),
    };
    let page = Letter {
        job: letter_line(source.job, day),
        foot: format!("Samespot {} · {day}", env!("CARGO_PKG_VERSION")),
        stamp: if view.approved {
            String::new()
        } else {
            "NOT APPROVED".into()
        },
        issue: view.number,
        ..page
    };
    Some(letter(&page, paper))
}

fn approval(source: &Source<'_>, issue: &IssueEdit, view: &AmendmentView) -> Letter {
    let mut blocks = leads(view);
    blocks.push(Block::Words(asked(issue, view)));
    if let Some(picture) = picture(source, issue, view) {
        blocks.push(Block::Picture(picture));
    }
    blocks.push(Block::Words(means(source.job, view)));
    blocks.push(Block::Heading("Agreed".into()));
    if view.approved {
        let by = issue.approved_by.clone().unwrap_or_default();
        let on = issue.approved_on.clone().unwrap_or_default();
        blocks.push(Block::Words(format!("{by}, {on}")));
    }
    blocks.push(Block::Boxes(vec![
        "name".into(),
        "signature".into(),
        "date".into(),
    ]));
    Letter {
        title: format!("Issue {}: for approval", view.number),
        blocks,
        ..Letter::default()
    }
}

/// What changes, where it ends up, and what of a pair would not be met.
fn leads(view: &AmendmentView) -> Vec<Block> {
    let mut blocks: Vec<Block> = view.changes.iter().cloned().map(Block::Lead).collect();
    blocks.extend(view.in_all.iter().cloned().map(Block::Words));
    let pairs = view.pairs.iter();
    blocks.extend(pairs.map(|p| Block::Lead(format!("As a pair: {}", p.says))));
    blocks
}

fn asked(issue: &IssueEdit, view: &AmendmentView) -> String {
    let mut said = format!("On {}.", view.pieces);
    if let Some(by) = issue.asked_by.as_ref().filter(|t| !t.is_empty()) {
        said.push_str(&format!(" Asked for by {by}."));
    }
    if let Some(why) = issue.reason.as_ref().filter(|t| !t.is_empty()) {
        said.push_str(&format!(" Reason: {why}."));
    }
    said
}

/// What it means in numbers: pieces, templates, hours, money.
#[must_use]
pub fn means(job: &Job, view: &AmendmentView) -> String {
    let count = |n: usize, one: &str, many: &str| match n {
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    };
    let mut pieces: Vec<u32> = view.consequences.iter().map(|c| c.number).collect();
    pieces.dedup();
    let mut said = format!(
        "It touches {}. {} to scrap. {}",
        count(pieces.len(), "piece", "pieces"),
        count(view.scrap.len(), "printed template", "printed templates"),
        rework_words(view),
    );
    if let Some(hours) = view.hours.filter(|h| *h > 0.0) {
        said.push_str(&format!(", about {hours:.1} hours"));
    }
    if let Some(cost) = view.cost.filter(|c| *c > 0.0) {
        let money = job.about.money.clone().unwrap_or_default();
        said.push_str(&format!(", {cost:.0} {money} at the shop's rate"));
    }
    said.trim_end().to_owned() + "."
}

/// *6 finished features to make again*; to take off or to put on, where that is what is to be done.
fn rework_words(view: &AmendmentView) -> String {
    let each = [
        (Becomes::Other, "make again"),
        (Becomes::Dropped, "take off"),
        (Becomes::Added, "put on"),
    ];
    let said: Vec<String> = (each.into_iter())
        .filter_map(|(becomes, does)| {
            let all = view.consequences.iter();
            let to_do =
                all.filter(|c| c.becomes == becomes && matches!(c.outcome, Outcome::Rework { .. }));
            match (to_do.count(), becomes) {
                (0, _) => None,
                (1, Becomes::Added) => Some("1 feature to put on a finished piece".to_owned()),
                (n, Becomes::Added) => Some(format!("{n} features to put on finished pieces")),
                (1, _) => Some(format!("1 finished feature to {does}")),
                (n, _) => Some(format!("{n} finished features to {does}")),
            }
        })
        .collect();
    if said.is_empty() {
        "Nothing finished to make again".to_owned()
    } else {
        said.join(", ")
    }
}

fn slip(source: &Source<'_>, issue: &IssueEdit, view: &AmendmentView) -> Letter {
    let mut blocks = leads(view);
    blocks.push(Block::Words(asked(issue, view)));
    if !view.scrap.is_empty() {
        blocks.push(Block::Heading("Scrap these templates".into()));
        let rows = view
            .scrap
            .iter()
            .map(|s| {
                let pieces: Vec<String> = s.pieces.iter().map(u32::to_string).collect();
                vec![
                    s.reference.clone(),
                    s.title.clone(),
                    pieces.join(", "),
                    s.day.clone(),
                    String::new(),
                ]
            })
            .collect();
        blocks.push(Block::Table {
            columns: columns(&[
                ("reference", 3.0),
                ("feature", 4.0),
                ("pieces", 3.0),
                ("printed", 2.5),
                ("scrapped by", 3.0),
            ]),
            rows,
        });
    }
    blocks.push(Block::Heading("Piece by piece".into()));
    let rows = view
        .consequences
        .iter()
        .map(|c| {
            vec![
                c.number.to_string(),
                c.title.clone(),
                c.stage.clone().unwrap_or_default(),
                to_do(c),
                String::new(),
            ]
        })
        .collect();
    blocks.push(Block::Table {
        columns: columns(&[
            ("piece", 1.2),
            ("feature", 3.5),
            ("stage", 2.5),
            ("what to do", 6.0),
            ("done by", 2.5),
        ]),
        rows,
    });
    blocks.push(Block::Words(means(source.job, view)));
    Letter {
        title: format!("Issue {}: change slip", view.number),
        blocks,
        ..Letter::default()
    }
}

fn columns(all: &[(&str, f64)]) -> Vec<(String, f64)> {
    all.iter().map(|(n, s)| ((*n).to_owned(), *s)).collect()
}

/// What somebody has to do, in words.
#[must_use]
pub fn to_do(of: &Consequence) -> String {
    let is = |other: &str, dropped: &str, added: &str| match of.becomes {
        Becomes::Other => other.to_owned(),
        Becomes::Dropped => dropped.to_owned(),
        Becomes::Added => added.to_owned(),
    };
    match &of.outcome {
        Outcome::NotMade => is(
            "print the new template when its turn comes",
            "not made on this piece",
            "print its template when its turn comes",
        ),
        Outcome::PrintAgain { reference, .. } => {
            let then = is("print the new one", "it is not made", "print the new one");
            format!("scrap template {reference}, {then}")
        }
        Outcome::Rework { because } => {
            let then = is(
                "to the older issue: make it again",
                "to the older issue: take it off",
                "before it was there: put it on",
            );
            format!("{because} {then}")
        }
        Outcome::Reworked => is("made again", "taken off", "put on"),
        Outcome::Concession { by, reason } if reason.is_empty() => {
            format!("stays as it is: {by}")
        }
        Outcome::Concession { by, reason } => format!("stays as it is: {by}, {reason}"),
        Outcome::Printed => "new template printed".into(),
    }
}

/// The first changed feature before and after, about where it was, on the first piece that can be
/// worked out either way.
fn picture(source: &Source<'_>, issue: &IssueEdit, view: &AmendmentView) -> Option<Picture> {
    let mut without = source.job.clone();
    let changed = without
        .issues
        .iter_mut()
        .find(|(id, _)| **id == view.issue)?;
    changed.1.amends = Some(Vec::new());
    let before = Source {
        job: &without,
        attachments: source.attachments,
    };
    let features: Vec<&FeatureId> = issue.amends.iter().flatten().map(|a| &a.feature).collect();
    view.consequences
        .iter()
        .filter(|c| features.contains(&&c.feature))
        .find_map(|c| seen(&before, source, &c.feature, &c.piece))
}

fn seen(
    before: &Source<'_>,
    after: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
) -> Option<Picture> {
    let tolerance = FLATTENING * 2.0;
    let marks = |p: &Prepared| -> Vec<(String, Point2<Flat>)> {
        let seen = p.crosses.iter().filter(|c| !c.unread);
        seen.map(|c| (c.letter.clone(), c.at)).collect()
    };
    let (was, will) = match (
        prepare(before, feature, piece),
        prepare(after, feature, piece),
    ) {
        (Ok(was), Ok(will)) => (was, will),
        // Dropped, or new: there is only one of the two.
        (Ok(was), Err(_)) => {
            return Some(Picture {
                was: was.paint_edge.polylines(tolerance),
                will: Vec::new(),
                marks: marks(&was),
            });
        }
        (Err(_), Ok(will)) => {
            return Some(Picture {
                was: Vec::new(),
                will: will.paint_edge.polylines(tolerance),
                marks: marks(&will),
            });
        }
        (Err(_), Err(_)) => return None,
    };
    // Both about their own middles: laid on each other by the marks they share.
    let shared: Vec<_> = was
        .crosses
        .iter()
        .filter_map(|c| {
            let other = will.crosses.iter().find(|o| o.mark == c.mark)?;
            Some(c.at - other.at)
        })
        .collect();
    #[expect(clippy::cast_precision_loss, reason = "a handful of marks")]
    let n = shared.len().max(1) as f64;
    let by = shared
        .into_iter()
        .fold(crate::frames::Vector2::from_mm(0.0, 0.0), |sum, v| {
            sum + v * (1.0 / n)
        });
    let shifted = will
        .paint_edge
        .polylines(tolerance)
        .into_iter()
        .map(|run| run.into_iter().map(|p| p + by).collect())
        .collect();
    Some(Picture {
        was: was.paint_edge.polylines(tolerance),
        will: shifted,
        marks: marks(&was),
    })
}

/// What the files are called by: *issue-2-slip*.
#[must_use]
pub fn paper_name(number: u32, which: AmendmentPaper) -> String {
    match which {
        AmendmentPaper::Approval => format!("issue-{number}-approval"),
        AmendmentPaper::Slip => format!("issue-{number}-change-slip"),
    }
}

/// *Eye, left*, for lists of what can be changed.
#[must_use]
pub fn titles(job: &Job) -> Vec<(FeatureId, String)> {
    let mut all: Vec<_> = job
        .features
        .iter()
        .map(|(id, f)| (id.clone(), feature_title(f)))
        .collect();
    all.sort_by(|a, b| a.1.cmp(&b.1));
    all
}
