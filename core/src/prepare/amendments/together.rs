//! What an issue comes to beside the others and beside the other one of a pair: where a feature ends
//! up in all, and what is asked of two that belong together, before anybody approves it.

use super::words::{change_words, move_words};
use crate::check::Together;
use crate::job::{Amendment, Change, Entry, FeatureId, IssueEdit, Job, PairEdit, PieceId};
use crate::prepare::Source;
use crate::prepare::pair_checks::{Apart, moved_apart};
use crate::prepare::words::{feature_title, mm, tenth};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// What an issue does to a pair of which it moves one and not the other alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairMoved {
    /// *Eye, left is moved, Eye, right stays: on pieces 10 to 18 level would be 14.0 mm out, 2 asked*.
    pub says: String,
    /// What would put it right, where the other moved alike does.
    pub also: Option<Amendment>,
    /// That in words: *Move Eye, right too: 14 mm down*.
    pub offer: Option<String>,
}

/// Pieces next to each other in the run of which the same is said.
fn runs<K: PartialEq>(all: Vec<(u32, K)>) -> Vec<(u32, u32, K)> {
    let mut runs: Vec<(u32, u32, K)> = Vec::new();
    for (number, key) in all {
        match runs.last_mut() {
            Some((_, last, same)) if *same == key => *last = number,
            _ => runs.push((number, number, key)),
        }
    }
    runs
}

fn run_words(from: u32, to: u32) -> String {
    if from == to {
        format!("piece {from}")
    } else {
        format!("pieces {from} to {to}")
    }
}

fn title(job: &Job, id: &FeatureId) -> String {
    let feature = job.features.get(id);
    feature.map_or_else(|| id.to_string(), feature_title)
}

/// The pieces an issue holds on, in order.
fn on_pieces<'a>(
    job: &'a Job,
    issue: &'a IssueEdit,
) -> impl Iterator<Item = (u32, &'a PieceId)> + 'a {
    job.pieces_in_order()
        .into_iter()
        .map(|(id, edit)| (edit.number.unwrap_or(0), id))
        .filter(|(number, _)| issue.holds_on(*number))
}

/// How far an issue itself moves a feature.
fn own_move(issue: &IssueEdit, feature: &FeatureId) -> Option<(Length, Length)> {
    let mut all = issue.changes(feature).filter_map(|c| match c {
        Change::Moved { right, up } => Some((right.mm, up.mm)),
        _ => None,
    });
    let first = all.next()?;
    Some(all.fold(first, |sum, by| (sum.0 + by.0, sum.1 + by.1)))
}

/// Where every feature that an issue moves ends up with all issues together, against the design as it
/// was set up; nothing of a feature that no other issue moves.
pub(super) fn in_all(job: &Job, issue: &IssueEdit, features: &[FeatureId]) -> Vec<String> {
    let mut said = Vec::new();
    for feature in features {
        let Some(own) = own_move(issue, feature) else {
            continue;
        };
        let totals: Vec<(u32, (Length, Length))> = on_pieces(job, issue)
            .filter_map(|(number, _)| {
                let now = job.in_force(feature, number)?;
                now.not_made.is_none().then_some((number, now.moved))
            })
            .collect();
        if totals.iter().all(|(_, total)| *total == own) {
            continue;
        }
        let each: Vec<String> = runs(totals)
            .into_iter()
            .map(|(from, to, (right, up))| {
                format!("{}: {} in all", run_words(from, to), move_words(right, up))
            })
            .collect();
        said.push(format!(
            "{}, with every issue, from where it was set up: {}",
            title(job, feature),
            each.join("; ")
        ));
    }
    said
}

/// What is asked of a pair and would not be met: *level would be 14.0 mm out, 2 asked*.
fn not_met(pair: &PairEdit, apart: &Apart) -> Vec<String> {
    let Together {
        level,
        apart: distance,
        equal,
        ..
    } = apart.stand;
    let asked = [
        ("level", level, pair.level),
        (
            "their distance apart",
            distance,
            pair.apart.filter(|_| apart.same_face),
        ),
        ("equal either side", equal, pair.equal),
    ];
    asked
        .into_iter()
        .filter_map(|(what, off, limit)| {
            let limit = limit?;
            // To the micrometre: what is moved by just as much as may be is not out.
            (off.abs().to_um() > limit.to_um()).then(|| {
                format!(
                    "{what} would be {} mm out, {} asked",
                    tenth(off.abs()),
                    mm(limit)
                )
            })
        })
        .collect()
}

/// The pairs of which an issue moves one otherwise than the other, and what is asked of them.
pub(super) fn pairs(source: &Source<'_>, issue: &IssueEdit) -> Vec<PairMoved> {
    let job = source.job;
    let mut all = Vec::new();
    for pair in job.pairs.values() {
        let (Some(left), Some(right)) = (&pair.left, &pair.right) else {
            continue;
        };
        let ids = [left, right];
        let own = ids.map(|id| own_move(issue, id));
        let Some((_, first)) = on_pieces(job, issue).next().filter(|_| own != [None, None]) else {
            continue;
        };
        let totals: Vec<(u32, [(Length, Length); 2])> = on_pieces(job, issue)
            .filter_map(|(number, _)| {
                let of = |id| {
                    let now = job.in_force(id, number)?;
                    now.not_made.is_none().then_some(now.moved)
                };
                Some((number, [of(left)?, of(right)?]))
            })
            .collect();
        let apart = moved_apart(source, pair, ids, first);
        let out: Vec<String> = runs(totals.clone())
            .into_iter()
            .filter_map(|(from, to, moved)| {
                let out = not_met(pair, &apart(moved));
                (!out.is_empty()).then(|| format!("on {} {}", run_words(from, to), out.join("; ")))
            })
            .collect();
        if out.is_empty() {
            continue;
        }
        let titles = ids.map(|id| title(job, id));
        let [l, r] = &titles;
        let who = match own {
            [Some(_), Some(_)] => format!("{l} and {r} are not moved alike"),
            [Some(_), None] => format!("{l} is moved, {r} stays"),
            _ => format!("{r} is moved, {l} stays"),
        };
        // The other, mirrored: what is to the right of one is to the left of the other.
        let other = match own {
            [Some(by), None] => Some((1, by)),
            [None, Some(by)] => Some((0, by)),
            _ => None,
        };
        let settles = |k: usize, (across, up): (Length, Length)| {
            totals.iter().all(|(_, moved)| {
                let mut moved = *moved;
                if let Some(it) = moved.get_mut(k) {
                    *it = (it.0 - across, it.1 + up);
                }
                not_met(pair, &apart(moved)).is_empty()
            })
        };
        let also = other
            .filter(|(k, by)| settles(*k, *by))
            .and_then(|(k, (across, up))| {
                let change = Change::Moved {
                    right: Entry::of_mm(-across.mm()),
                    up: Entry::of_mm(up.mm()),
                };
                Some((titles.get(k)?, (*ids.get(k)?).clone(), change))
            });
        let offer = also.as_ref().map(|(title, _, change)| {
            let by = change_words(change);
            format!("Move {title} too: {}", by.trim_start_matches("moved "))
        });
        all.push(PairMoved {
            says: format!("{who}: {}", out.join("; ")),
            also: also.map(|(_, feature, change)| Amendment { feature, change }),
            offer,
        });
    }
    all
}
