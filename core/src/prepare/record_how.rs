//! What a finding on the record rests on: the method, the gaps as read, the sheet that was laid
//! back, the stage and the gauge, as far as the check says.

use super::checks::{Finding, newest, of_piece};
use super::history::{read_as, stands};
use super::naming::reading_words;
use super::words::tenth;
use crate::job::{CheckFact, Entry, FeatureId, Job, Kept, MeasuringSays, PieceId, Subject};
use crate::run::casting_name;
use crate::sheet::{Block, grouped};

/// A check that doesn't say: an empty cell would read as nothing to say.
const NOT_SAID: &str = "not recorded";

/// The table under the findings of a piece; none where nothing was checked.
pub(super) fn how_read(job: &Job, piece: &PieceId, all: &[Finding]) -> Option<Block> {
    let rows: Vec<Vec<String>> = all
        .iter()
        .flat_map(|check| rows_of(job, piece, &check.feature, &check.title))
        .collect();
    (!rows.is_empty()).then(|| Block::Table {
        columns: [
            ("how it was read", 3.4),
            ("method", 2.4),
            ("gaps at 12, 3, 6, 9 o’clock, or distances", 3.6),
            ("template’s sheet", 2.9),
            ("stage", 1.9),
            ("gauge", 2.2),
        ]
        .map(|(n, s)| (n.to_owned(), s))
        .to_vec(),
        rows,
    })
}

/// The check a finding comes from, and the last look after it that found nothing.
fn rows_of(job: &Job, piece: &PieceId, feature: &FeatureId, title: &str) -> Vec<Vec<String>> {
    let found = newest(job, feature, piece).map(|(fact, _)| fact);
    let last = of_piece(job, feature, piece).next_back();
    let looked = last.filter(|c| c.says.found.is_none());
    found
        .into_iter()
        .chain(looked)
        .map(|fact| row(job, fact, title))
        .collect()
}

/// How a finding came about.
pub(super) fn method_words(fact: &Kept<CheckFact>) -> String {
    let says = &fact.says;
    match (&says.lay_back, says.readings.is_empty()) {
        (Some(_), _) => "laid back, four gaps by rule".to_owned(),
        (None, false) => "measured from the marks".to_owned(),
        (None, true) if says.found.is_none() => format!("looked at by {}, no finding", fact.who),
        (None, true) => NOT_SAID.to_owned(),
    }
}

fn row(job: &Job, fact: &Kept<CheckFact>, title: &str) -> Vec<String> {
    let CheckFact {
        readings,
        note,
        lay_back,
        stage,
        reference,
        ..
    } = &fact.says;
    let mut method = method_words(fact);
    if !note.trim().is_empty() {
        method.push_str(&format!(": “{}”", note.trim()));
    }
    let gaps = lay_back.as_ref().map(|l| {
        [&l.top, &l.right, &l.bottom, &l.left]
            .map(gap_words)
            .join(", ")
    });
    let read = (!readings.is_empty() && gaps.is_none()).then(|| {
        let each = readings
            .iter()
            .map(|r| format!("{} {}", reading_words(job, &r.of), r.value.typed.trim()));
        each.collect::<Vec<_>>().join("; ")
    });
    let or_not = |text: Option<String>| text.unwrap_or_else(|| NOT_SAID.to_owned());
    vec![
        title.to_owned(),
        method,
        gaps.or(read).unwrap_or_else(|| "none".to_owned()),
        or_not(reference.as_deref().map(|r| sheet_words(job, r))),
        or_not(stage.clone()),
        or_not(gauges(job, fact)),
    ]
}

/// *+1.1*; with what was typed beside it where that is more than tenths of a millimetre.
fn gap_words(gap: &Entry) -> String {
    let um = gap.mm.to_um();
    let sign = if um >= 50 { "+" } else { "" };
    let shown = format!("{sign}{}", tenth(gap.mm));
    let in_mm = gap.unit.as_deref().is_none_or(|u| u == "mm");
    if um % 100 == 0 && in_mm {
        shown
    } else {
        format!("{shown} (typed {})", gap.typed.trim())
    }
}

/// The reference of a sheet as it stands on it, with the day it was printed.
#[must_use]
pub fn sheet_words(job: &Job, reference: &str) -> String {
    let reference_of = Subject::Sheet(reference.to_owned());
    let printed = job.printed.about(reference_of).next_back();
    match printed.map(|p| p.says.day.as_str()) {
        Some(day) if !day.is_empty() => format!("{}, printed {day}", grouped(reference)),
        _ => grouped(reference),
    }
}

/// What the readings of a check were taken with, each once.
pub(super) fn gauges(job: &Job, fact: &Kept<CheckFact>) -> Option<String> {
    let mut names: Vec<String> = Vec::new();
    for id in fact
        .says
        .readings
        .iter()
        .filter_map(|r| r.instrument.as_ref())
        .chain(&fact.says.gauge)
    {
        let name = job.instruments.get(id).and_then(|i| i.name.clone());
        let name = name.unwrap_or_else(|| id.to_string());
        if !names.contains(&name) {
            names.push(name);
        }
    }
    (!names.is_empty()).then(|| names.join(", "))
}

/// Readings of a piece's castings that were kept against the others, left out or read again, with
/// the reason; none where there were none.
pub(super) fn settled_readings(job: &Job, piece: &PieceId) -> Option<Block> {
    let castings = job.marriages.get(piece).map(|m| &m.castings)?;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut said: Vec<_> = castings
        .iter()
        .flat_map(|casting| job.measuring.about(casting))
        .collect();
    said.sort_by_key(|fact| (fact.lamport, fact.id));
    said.dedup_by_key(|fact| fact.id);
    for fact in said {
        let (reading, says) = match &fact.says.says {
            MeasuringSays::Kept { reading, why } => (reading, stands(why)),
            MeasuringSays::SetAside { reading, why } => (reading, format!("left out: {why}")),
            MeasuringSays::CannotReach { .. } | MeasuringSays::ShopAt { .. } => continue,
        };
        rows.push(vec![
            casting_name(job, &fact.says.casting),
            read_as(job, *reading),
            says,
            fact.who.clone(),
        ]);
    }
    (!rows.is_empty()).then(|| Block::Table {
        columns: [
            ("casting", 2.4),
            ("reading that did not go with the others", 5.6),
            ("settled", 6.0),
            ("by", 2.4),
        ]
        .map(|(n, s)| (n.to_owned(), s))
        .to_vec(),
        rows,
    })
}
