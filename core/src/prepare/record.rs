//! The record of a piece, or of the run, on A4: what was found on each feature, by whom, with what.

use super::Source;
use super::checks::{Finding, NotMade, found, may_be_out, newest, offset_words, verdict_words};
use super::hatch::record_lines;
use super::pair_checks::{PairCheck, pair_checks, pair_is_open};
use super::record_age::ages;
use super::record_how::{how_read, settled_readings};
use super::sign_off::{self, seal_of, signed};
use super::words::{feature_title, letter_line, mm, tenth};
use crate::check::{Judged, Verdict};
use crate::job::{Found, Job, PieceId};
use crate::run::casting_name;
use crate::sheet::{Block, Drawing, Letter, Paper, SheetError, letter};
use crate::units::Length;

/// What a record says, whoever signs it and whenever it is printed.
pub(super) struct Content {
    /// In order.
    pub(super) blocks: Vec<Block>,
    /// Features that are not settled.
    pub(super) open: usize,
    /// Pairs that are not settled.
    pub(super) open_pairs: usize,
}

/// What the record of one piece says, or of all pieces where none is named.
pub(super) fn content(source: &Source<'_>, piece: Option<&PieceId>) -> Content {
    let job = source.job;
    let pieces: Vec<PieceId> = match piece {
        Some(one) => vec![one.clone()],
        None => job
            .pieces_in_order()
            .into_iter()
            .map(|(id, _)| id.clone())
            .collect(),
    };
    // The first and the last of the run are marked where they are read beside each other.
    let articles = match (piece, pieces.as_slice()) {
        (None, [first, .., last]) => Some([first.clone(), last.clone()]),
        _ => None,
    };
    let mut blocks = Vec::new();
    let mut open = 0;
    let mut why = Vec::new();
    let mut open_pairs = 0;
    for id in &pieces {
        let all = found(job, id);
        open += all.iter().filter(|c| !settled(c)).count();
        why.extend(all.iter().filter(|c| !settled(c)).map(Unsettled::of));
        let article = match &articles {
            Some([first, _]) if first == id => " (first article)",
            Some([_, last]) if last == id => " (last article)",
            _ => "",
        };
        blocks.push(Block::Heading(format!("{}{article}", heading(job, id))));
        blocks.push(Block::Table {
            columns: [
                ("feature", 3.4),
                ("may be out", 1.7),
                ("found", 3.0),
                ("± (k·u)", 1.5),
                ("verdict", 3.6),
                ("by, when", 3.2),
            ]
            .map(|(n, s)| (n.to_owned(), s))
            .to_vec(),
            rows: all.iter().map(|found| row(source, id, found)).collect(),
        });
        blocks.extend(issues_line(job, id).map(Block::Words));
        let pairs = pair_checks(source, id);
        open_pairs += pairs.iter().filter(|p| pair_is_open(p)).count();
        if !pairs.is_empty() {
            blocks.push(pair_table(&pairs));
        }
        blocks.extend(record_lines(job, id).into_iter().map(Block::Words));
        blocks.extend(ages(job, id));
        blocks.extend(how_read(job, id, &all));
        blocks.extend(settled_readings(job, id));
    }
    let rule = job.about.decision_rule.unwrap_or_default();
    blocks.insert(
        0,
        Block::Words(format!(
            "{}{} Decision rule: {}. Deviations are radii in mm, seen from outside; zones are twice that (ISO 1101). Gaps are in mm; plus is paint outside the template’s line.",
            match open {
                0 => "Every feature is settled.".to_owned(),
                1 => format!("1 feature is not settled: {}.", unsettled(&why)),
                n => format!("{n} features are not settled: {}.", unsettled(&why)),
            },
            match open_pairs {
                0 => String::new(),
                1 => " 1 pair is not within.".to_owned(),
                n => format!(" {n} pairs are not within."),
            },
            rule.words()
        )),
    );
    if piece.is_none() {
        // Before the pieces: whoever reads one page of it reads this.
        blocks.splice(1..1, super::record_run::run_blocks(source));
    }
    if let Some(moved) = articles.and_then(|ends| first_to_last(job, &ends)) {
        blocks.insert(1, moved);
    }
    Content {
        blocks,
        open,
        open_pairs,
    }
}

/// How far features moved from the first to the last article, where both were checked.
fn first_to_last(job: &Job, [first, last]: &[PieceId; 2]) -> Option<Block> {
    let mut all: Vec<String> = (job.features.iter())
        .filter_map(|(id, edit)| {
            let (_, then) = newest(job, id, first)?;
            let (_, now) = newest(job, id, last)?;
            let moved = offset_words(now.right - then.right, now.up - then.up);
            // Two findings, independent of each other (JCGM 100, 5.1.2), at two standard deviations.
            let sure = then.sd.zip(now.sd).map_or_else(String::new, |(a, b)| {
                let sd = Length::from_mm(libm::hypot(a.mm(), b.mm()));
                format!(" (± {})", tenth(sd * 2.0))
            });
            Some(format!("{}: {moved}{sure}", feature_title(edit)))
        })
        .collect();
    all.sort();
    (!all.is_empty()).then(|| {
        Block::Words(format!(
            "From the first article to the last, in mm: {}.",
            all.join("; ")
        ))
    })
}

/// The record of one piece, or of all pieces where none is named.
///
/// # Errors
/// A paper that is none.
pub fn record(
    source: &Source<'_>,
    piece: Option<&PieceId>,
    paper: Paper,
    day: &str,
) -> Result<Drawing, SheetError> {
    let job = source.job;
    let content = content(source, piece);
    let seal = seal_of(&content);
    let mut blocks = content.blocks;
    blocks.extend(sign_off::words(&seal, signed(job, piece, &seal).as_ref()));
    blocks.push(Block::Boxes(vec![
        "checked by".into(),
        "signature".into(),
        "date".into(),
    ]));
    let title = match piece {
        Some(id) => format!("Record of {}", crate::run::piece_name(job, id)),
        None => "Record of the run".into(),
    };
    letter(
        &Letter {
            job: letter_line(job, day),
            title,
            stamp: String::new(),
            foot: format!("Samespot {} · {day}", env!("CARGO_PKG_VERSION")),
            blocks,
            issue: 0,
        },
        paper,
    )
}

fn pair_table(pairs: &[PairCheck]) -> Block {
    let rows = pairs.iter().flat_map(|pair| {
        let note = pair.note.iter().map(|note| {
            vec![
                pair.title.clone(),
                note.clone(),
                String::new(),
                String::new(),
                String::new(),
            ]
        });
        let rows = pair.rows.iter().map(|row| {
            let of =
                |read: fn(&Judged) -> String| row.judged.as_ref().map(read).unwrap_or_default();
            vec![
                pair.title.clone(),
                format!("{}: {}", row.asked, row.says),
                of(|j| mm(j.limit)),
                of(|j| tenth(j.guard)),
                of(|j| verdict_words(j.verdict).to_owned()),
            ]
        });
        let stands = pair.concession.iter().map(|(by, reason)| {
            vec![
                pair.title.clone(),
                format!("let stand by {by}: {reason}"),
                String::new(),
                String::new(),
                String::new(),
            ]
        });
        rows.chain(stands).chain(note).collect::<Vec<_>>()
    });
    Block::Table {
        columns: [
            ("pair", 3.4),
            ("found", 5.2),
            ("may be out", 1.7),
            ("± (k·u)", 1.5),
            ("verdict", 3.6),
        ]
        .map(|(n, s)| (n.to_owned(), s))
        .to_vec(),
        rows: rows.collect(),
    }
}

fn settled(check: &Finding) -> bool {
    if let Some(not_made) = check.not_made {
        return !not_made.left_on || check.concession.is_some();
    }
    if check.older.is_some() {
        return false;
    }
    let within = check
        .latest
        .as_ref()
        .is_some_and(|c| c.found.verdict == Verdict::Within);
    within || check.concession.is_some()
}

/// *Checked against issue 2: Eye, left; issue 1: all others*, where an issue changes something on this piece.
fn issues_line(job: &Job, piece: &PieceId) -> Option<String> {
    let number = job.number_of(piece);
    let mut changed: Vec<(u32, Vec<String>)> = Vec::new();
    let mut others = false;
    let mut first = 1;
    for (id, edit) in job.features_in_order() {
        let newest = job.issue_of(id, number).map(|(_, issue)| issue);
        match newest.filter(|issue| issue.amends.is_some()) {
            Some(issue) => {
                let number = issue.number.unwrap_or(0);
                match changed.iter_mut().find(|(n, _)| *n == number) {
                    Some((_, names)) => names.push(feature_title(edit)),
                    None => changed.push((number, vec![feature_title(edit)])),
                }
            }
            None => {
                others = true;
                first = newest.and_then(|issue| issue.number).unwrap_or(first);
            }
        }
    }
    changed.sort_unstable_by_key(|(n, _)| core::cmp::Reverse(*n));
    let mut said: Vec<String> = changed
        .iter()
        .map(|(n, names)| format!("issue {n}: {}", names.join("; ")))
        .collect();
    if said.is_empty() {
        return None;
    }
    if others {
        said.push(format!("issue {first}: all others"));
    }
    Some(format!("Checked against {}.", said.join(". ")))
}

/// Why a feature is not settled, the worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Unsettled {
    Outside,
    MakeAgain,
    LeftOn,
    CantTell,
    NotChecked,
}

impl Unsettled {
    fn of(check: &Finding) -> Self {
        match (&check.latest, &check.not_made, &check.older) {
            (_, Some(_), _) => Self::LeftOn,
            (_, _, Some(_)) => Self::MakeAgain,
            (None, ..) => Self::NotChecked,
            (Some(c), ..) if c.found.verdict == Verdict::Outside => Self::Outside,
            (Some(_), ..) => Self::CantTell,
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Outside => "OUTSIDE",
            Self::MakeAgain => "to be made again to a newer issue",
            Self::LeftOn => "still there although an issue leaves it out",
            Self::CantTell => "can’t be told with what it was checked with",
            Self::NotChecked => "not checked",
        }
    }
}

/// *1 OUTSIDE, 3 not checked*.
fn unsettled(why: &[Unsettled]) -> String {
    let mut kinds = why.to_vec();
    kinds.sort_unstable();
    kinds.dedup();
    let said = kinds.into_iter().map(|kind| {
        let count = why.iter().filter(|w| **w == kind).count();
        format!("{count} {}", kind.words())
    });
    said.collect::<Vec<_>>().join(", ")
}

fn heading(job: &Job, piece: &PieceId) -> String {
    let castings: Vec<String> = job
        .marriages
        .get(piece)
        .map(|m| m.castings.iter().map(|c| casting_name(job, c)).collect())
        .unwrap_or_default();
    let name = crate::run::piece_name(job, piece);
    let mut letters = name.chars();
    let name: String = letters
        .next()
        .map(|c| c.to_uppercase().chain(letters).collect())
        .unwrap_or_default();
    if castings.is_empty() {
        name
    } else {
        format!("{name}: {}", castings.join(", "))
    }
}

/// *1.1*; where the measured value counts alone, what it was measured with all the same.
fn guard_words(found: &Found) -> String {
    match found.sd {
        Some(sd) if found.guard == Length::ZERO => format!("none; u {}", tenth(sd)),
        _ => tenth(found.guard),
    }
}

fn row(source: &Source<'_>, piece: &PieceId, check: &Finding) -> Vec<String> {
    if let Some(NotMade { issue, left_on }) = check.not_made {
        let mut says = format!("issue {issue}: not on this piece");
        if left_on {
            says.push_str("; it is there already: take it off or let it stand");
        }
        if let Some((by, reason)) = &check.concession {
            says.push_str(&format!("; let stand by {by}: {reason}"));
        }
        return vec![
            check.title.clone(),
            String::new(),
            "not made".into(),
            String::new(),
            says,
            String::new(),
        ];
    }
    let again = check.older.as_ref().map(|o| {
        format!(
            "issue {} has it {}: made before that, make it again",
            o.issue, o.changes
        )
    });
    let Some(latest) = &check.latest else {
        let limit = may_be_out(source, &check.feature, piece).map_or_else(String::new, mm);
        return vec![
            check.title.clone(),
            limit,
            "not checked".into(),
            String::new(),
            again.unwrap_or_default(),
            String::new(),
        ];
    };
    let verdict = verdict_words(latest.found.verdict);
    // What was found stands, and by what it was judged with it.
    let mut verdict = match again {
        Some(again) => format!("{again}; {verdict} as it was"),
        None => verdict.to_owned(),
    };
    if let Some((by, reason)) = &check.concession {
        verdict.push_str(&format!("; let stand by {by}: {reason}"));
    }
    vec![
        check.title.clone(),
        mm(latest.found.limit),
        latest.says.clone(),
        guard_words(&latest.found),
        verdict,
        [latest.who.as_str(), latest.when.as_str()]
            .into_iter()
            .filter(|t| !t.is_empty())
            .collect::<Vec<_>>()
            .join(", "),
    ]
}
