//! Where two people said different things without knowing of each other: both values, by whom,
//! and what to say to choose one.

use super::{by_whom, read, settings as said, words};
use crate::job::{CheckFact, Correction, Edit, EntityRef, FactId, Job, Kept, Ledger, Payload};
use crate::prepare::checks::{newest, of_piece, offset_words, verdict_words};
use crate::prepare::words::feature_title;
use crate::run::piece_name;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// One particular that was said in two ways.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Dispute {
    /// The thing.
    pub about: String,
    /// The particular.
    pub what: String,
    /// What was said, the one that counts first.
    pub values: Vec<DisputeValue>,
}

/// One of the things said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DisputeValue {
    /// In which entry.
    pub fact: FactId,
    /// What it says.
    pub says: String,
    /// By whom and when.
    pub by: String,
    /// It counts until somebody chooses.
    pub counts: bool,
    /// What to say to choose it.
    pub chosen: Settles,
}

/// What settles a dispute.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Settles {
    /// The setting, said again.
    Edit(Edit),
    /// The reading, corrected again.
    Correct(Correction),
    /// The check, said again.
    Check(Box<CheckFact>),
}

impl From<Settles> for Payload {
    fn from(settles: Settles) -> Self {
        match settles {
            Settles::Edit(edit) => Self::Edit(edit),
            Settles::Correct(correction) => Self::Correct(correction),
            Settles::Check(check) => Self::Check(check),
        }
    }
}

pub(super) fn disputes(ledger: &Ledger, job: &Job) -> Vec<Dispute> {
    let mut all: Vec<Dispute> = settings(ledger, job);
    all.extend(readings(ledger, job));
    all.extend(checks(ledger, job));
    all
}

/// Checks of one feature on one piece that came to different verdicts, each made without knowing of the newest.
fn checks(ledger: &Ledger, job: &Job) -> Vec<Dispute> {
    let mut all = Vec::new();
    for piece in job.pieces.keys() {
        for (feature, edit) in &job.features {
            let Some((newest, found)) = newest(job, feature, piece) else {
                continue;
            };
            let seen = ledger.get(newest.id).map(|f| &f.envelope);
            let apart = |c: &&Kept<CheckFact>| {
                let other = ledger.get(c.id).map(|f| &f.envelope);
                let differs = c.says.found.is_some_and(|f| f.verdict != found.verdict);
                differs && seen.zip(other).is_some_and(|(a, b)| a.concurrent_with(b))
            };
            let others = of_piece(job, feature, piece).filter(apart);
            let values: Vec<DisputeValue> = core::iter::once(newest)
                .chain(others)
                .filter_map(|c| {
                    let found = c.says.found?;
                    Some(DisputeValue {
                        fact: c.id,
                        says: format!(
                            "{}, {}",
                            verdict_words(found.verdict),
                            offset_words(found.right, found.up)
                        ),
                        by: by(ledger, c.id),
                        counts: c.id == newest.id,
                        chosen: Settles::Check(Box::new(c.says.clone())),
                    })
                })
                .collect();
            if values.len() > 1 {
                all.push(Dispute {
                    about: format!("{} on {}", feature_title(edit), piece_name(job, piece)),
                    what: "checked".into(),
                    values,
                });
            }
        }
    }
    all
}

/// In which entry a setting was said, what it says, and whether it counts.
type Said = (FactId, Value, bool);

fn settings(ledger: &Ledger, job: &Job) -> Vec<Dispute> {
    let mut by_field: BTreeMap<(EntityRef, String), Vec<Said>> = BTreeMap::new();
    for c in &job.concurrent {
        let values = by_field
            .entry((c.on.clone(), c.field.clone()))
            .or_insert_with(|| match set_by(ledger, c.counts, &c.field) {
                Some(value) => vec![(c.counts, value, true)],
                None => Vec::new(),
            });
        values.push((c.other, c.value.clone(), false));
    }
    by_field
        .into_iter()
        .map(|((on, field), values)| Dispute {
            about: words::thing(job, &on),
            what: said::field(&field),
            values: values
                .into_iter()
                .map(|(fact, value, counts)| DisputeValue {
                    fact,
                    says: said::value(job, &field, &value),
                    by: by(ledger, fact),
                    counts,
                    chosen: Settles::Edit(Edit {
                        on: on.clone(),
                        set: Map::from_iter([(field.clone(), value)]),
                    }),
                })
                .collect(),
        })
        .collect()
}

fn readings(ledger: &Ledger, job: &Job) -> Vec<Dispute> {
    job.disagreements
        .iter()
        .map(|d| {
            let told = ledger
                .get(d.reading)
                .and_then(|f| read(f).ok())
                .and_then(|p| words::told(job, &p));
            let (about, what) = told.map_or_else(
                || ("a reading".to_owned(), String::new()),
                |(on, lines)| {
                    let what = lines.into_iter().next().map(|l| l.0);
                    (words::thing(job, &on), what.unwrap_or_default())
                },
            );
            let last = d.values.iter().map(|(id, _)| *id).max_by_key(|id| {
                let fact = ledger.get(*id);
                fact.map(|f| f.envelope.order())
            });
            let mut values: Vec<DisputeValue> = d
                .values
                .iter()
                .map(|(fact, entry)| DisputeValue {
                    fact: *fact,
                    says: said::entry(entry),
                    by: by(ledger, *fact),
                    counts: last == Some(*fact),
                    chosen: Settles::Correct(Correction {
                        target: d.reading,
                        value: entry.clone(),
                        reason: "chosen of two corrections".into(),
                    }),
                })
                .collect();
            values.sort_by_key(|v| !v.counts);
            Dispute {
                about,
                what,
                values,
            }
        })
        .collect()
}

fn by(ledger: &Ledger, fact: FactId) -> String {
    ledger
        .get(fact)
        .map(|f| by_whom(&f.envelope))
        .unwrap_or_default()
}

fn set_by(ledger: &Ledger, fact: FactId, field: &str) -> Option<Value> {
    match read(ledger.get(fact)?).ok()? {
        Payload::Edit(edit) => edit.set.get(field).cloned(),
        _ => None,
    }
}
