//! The record of a piece, or of the run, as a table for a spreadsheet: one row a feature, with what
//! was found, how sure, and what it was found with; then one row for each thing asked of a pair.

use super::Source;
use super::amendments::Older;
use super::checks::{found, newest, verdict_words};
use super::pair_checks::{PairCheck, PairRow, pair_checks};
use super::record_how::{gauges, method_words};
use crate::check::{DecisionRule, Judged};
use crate::job::{Job, PieceId};
use crate::units::Length;
use crate::write::table::{row, safe};

/// The columns, in order.
const COLUMNS: [&str; 18] = [
    "piece",
    "feature",
    "right (mm)",
    "up (mm)",
    "deviation (mm)",
    "standard uncertainty (mm)",
    "guard (mm)",
    "decision rule",
    "may be out (mm)",
    "verdict",
    "method",
    "gauge",
    "template’s sheet",
    "stage",
    "by",
    "let stand",
    "days since demoulding",
    "shop (°C)",
];

/// The file's text: UTF-8 with its mark, commas, decimal points.
#[must_use]
pub fn record_table(source: &Source<'_>, piece: Option<&PieceId>) -> String {
    let job = source.job;
    let pieces: Vec<&PieceId> = match piece {
        Some(one) => vec![one],
        None => job
            .pieces_in_order()
            .into_iter()
            .map(|(id, _)| id)
            .collect(),
    };
    let mut out = String::from("\u{feff}");
    row(&mut out, &COLUMNS.map(str::to_owned));
    for piece in pieces {
        for check in found(job, piece) {
            row(&mut out, &cells(job, piece, &check));
        }
        for pair in pair_checks(source, piece) {
            for asked in &pair.rows {
                row(&mut out, &pair_cells(job, piece, &pair, asked));
            }
        }
    }
    out
}

/// What was found of a pair stands in words where a feature's method does.
fn pair_cells(job: &Job, piece: &PieceId, pair: &PairCheck, asked: &PairRow) -> Vec<String> {
    let rule = job.about.decision_rule.unwrap_or_default();
    let of = |read: fn(&Judged) -> String| asked.judged.as_ref().map(read).unwrap_or_default();
    let stands = (pair.concession.as_ref()).map(|(by, why)| safe(&format!("{by}: {why}")));
    let none = String::new;
    vec![
        job.number_of(piece).to_string(),
        safe(&format!("{}: {}", pair.title, asked.asked)),
        none(),
        none(),
        of(|j| number(j.deviation)),
        none(),
        of(|j| number(j.guard)),
        if asked.judged.is_some() {
            rule_words(rule).to_owned()
        } else {
            none()
        },
        of(|j| number(j.limit)),
        match &asked.judged {
            Some(judged) => verdict_words(judged.verdict).to_owned(),
            None => "not asked".to_owned(),
        },
        safe(&asked.says),
        none(),
        none(),
        none(),
        none(),
        stands.unwrap_or_default(),
        none(),
        none(),
    ]
}

const fn rule_words(rule: DecisionRule) -> &'static str {
    match rule {
        DecisionRule::TwoSigma => "2 u",
        DecisionRule::OneSided95 => "1.65 u",
        DecisionRule::Simple => "measured value alone",
    }
}

/// To a thousandth, as judged.
fn number(length: Length) -> String {
    format!("{:.3}", length.mm())
}

fn make_again(older: &Older) -> String {
    format!("make again (issue {})", older.issue)
}

fn cells(job: &Job, piece: &PieceId, check: &super::checks::Finding) -> Vec<String> {
    let mut cells = vec![job.number_of(piece).to_string(), safe(&check.title)];
    let Some((fact, found)) = newest(job, &check.feature, piece) else {
        cells.resize(COLUMNS.len(), String::new());
        if let Some(verdict) = cells.get_mut(9) {
            *verdict = match (&check.not_made, &check.older) {
                (Some(_), _) => "not made".to_owned(),
                (None, Some(older)) => make_again(older),
                (None, None) => "not checked".to_owned(),
            };
        }
        return cells;
    };
    let off = libm::hypot(found.right.mm(), found.up.mm());
    let said = |text: Option<&str>| text.map(safe).unwrap_or_default();
    cells.extend([
        number(found.right),
        number(found.up),
        number(Length::from_mm(off)),
        found.sd.map(number).unwrap_or_default(),
        number(found.guard),
        rule_words(found.rule).to_owned(),
        number(found.limit),
        match &check.older {
            Some(older) => make_again(older),
            None => verdict_words(found.verdict).to_owned(),
        },
        method_words(fact),
        said(gauges(job, fact).as_deref()),
        said(fact.says.reference.as_deref()),
        said(fact.says.stage.as_deref()),
        safe(&fact.who),
        (check.concession.as_ref())
            .map(|(by, why)| safe(&format!("{by}: {why}")))
            .unwrap_or_default(),
    ]);
    cells.extend(super::record_age::cells(
        job,
        piece,
        &check.feature,
        &fact.wall,
    ));
    cells
}
