//! The record of a piece, or of the run, as a table for a spreadsheet: one row a feature, with what
//! was found, how sure, and what it was found with.

use super::Source;
use super::checks::{found, newest, verdict_words};
use super::record_how::{gauges, method_words};
use crate::check::DecisionRule;
use crate::job::{Job, PieceId};
use crate::units::Length;
use crate::write::table::{row, safe};

/// The columns, in order.
const COLUMNS: [&str; 16] = [
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
        for check in found(source, piece) {
            row(&mut out, &cells(job, piece, &check));
        }
    }
    out
}

/// To a thousandth, as judged.
fn number(length: Length) -> String {
    format!("{:.3}", length.mm())
}

fn cells(job: &Job, piece: &PieceId, check: &super::checks::FeatureCheck) -> Vec<String> {
    let mut cells = vec![job.number_of(piece).to_string(), safe(&check.title)];
    let Some((fact, found)) = newest(job, &check.feature, piece) else {
        cells.resize(COLUMNS.len(), String::new());
        if let Some(verdict) = cells.get_mut(9) {
            *verdict = if check.not_made.is_some() {
                "not made"
            } else {
                "not checked"
            }
            .to_owned();
        }
        return cells;
    };
    let off = libm::hypot(found.right.mm(), found.up.mm());
    let rule = match found.rule {
        DecisionRule::TwoSigma => "2 u",
        DecisionRule::OneSided95 => "1.65 u",
        DecisionRule::Simple => "measured value alone",
    };
    let said = |text: Option<&str>| text.map(safe).unwrap_or_default();
    cells.extend([
        number(found.right),
        number(found.up),
        number(Length::from_mm(off)),
        found.sd.map(number).unwrap_or_default(),
        number(found.guard),
        rule.to_owned(),
        number(found.limit),
        verdict_words(found.verdict).to_owned(),
        method_words(fact),
        said(gauges(job, fact).as_deref()),
        said(fact.says.reference.as_deref()),
        said(fact.says.stage.as_deref()),
        safe(&fact.who),
        (check.concession.as_ref())
            .map(|(by, why)| safe(&format!("{by}: {why}")))
            .unwrap_or_default(),
    ]);
    cells
}
