//! Where two people said different things without knowing of each other: both values, by whom,
//! and what to say to choose one.

use super::{by_whom, read, settings as said, words};
use crate::job::{Correction, Edit, EntityRef, FactId, Job, Ledger, Payload};
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
}

impl From<Settles> for Payload {
    fn from(settles: Settles) -> Self {
        match settles {
            Settles::Edit(edit) => Self::Edit(edit),
            Settles::Correct(correction) => Self::Correct(correction),
        }
    }
}

pub(super) fn disputes(ledger: &Ledger, job: &Job) -> Vec<Dispute> {
    let mut all: Vec<Dispute> = settings(ledger, job);
    all.extend(readings(ledger, job));
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
