//! The history of a job: every fact in order, by whom, and what it changed; any state it has been
//! in; two of them compared; and where two people said different things without knowing of it.
//!
//! States are told in the words of the facts that made them, so that what a line of the history
//! says it changed is what a comparison across it shows.

mod back;
mod disputes;
mod known;
mod settings;
mod words;

pub use back::{GoingBack, going_back};
pub use disputes::{Dispute, DisputeValue, Settles};
pub(in crate::prepare) use words::{read_as, stands};

use crate::job::{
    EntityRef, Envelope, Fact, FactId, Job, Ledger, MeasuringSays, Payload, Problem, Trouble,
};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::mem::discriminant;

/// What of the history is asked for.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct HistoryAsk {
    /// Only entries in which all these words stand.
    pub find: String,
    /// Only these entries: what came in with a copy.
    #[serde(default)]
    pub only: Option<Vec<FactId>>,
    /// So many of the newest at most.
    pub most: usize,
}

/// The history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HistoryView {
    /// Entries, newest first.
    pub entries: Vec<HistoryEntry>,
    /// How many there are that match; the rest was not asked for.
    pub found: usize,
    /// How many there are at all.
    pub all: usize,
    /// Where two people said different things.
    pub disputes: Vec<Dispute>,
}

/// One fact as it is told.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HistoryEntry {
    /// Which fact.
    pub fact: FactId,
    /// Its place in the one order all copies agree on, from 1.
    pub place: usize,
    /// By whom; empty where nobody gave a name.
    pub who: String,
    /// The device's clock then, in words.
    pub wall: String,
    /// What it is about.
    pub about: String,
    /// What it changed.
    pub changed: Vec<Difference>,
    /// Whether it counts.
    pub stands: Stands,
}

/// Whether a fact counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stands {
    /// It does.
    Counts,
    /// It was taken back by these entries; taking all of them back brings it back.
    TakenBack {
        /// Which.
        by: Vec<FactId>,
    },
    /// It does not count as it is.
    Not {
        /// Why, and what would help.
        why: String,
    },
}

/// One particular of one thing, before and after.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Difference {
    /// The thing.
    pub about: String,
    /// The particular.
    pub what: String,
    /// What it was; nothing where it was not there.
    pub was: Option<String>,
    /// What it is; nothing where it is gone.
    pub is: Option<String>,
}

/// Two states beside each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ComparedView {
    /// What differs, by thing.
    pub differences: Vec<Difference>,
    /// How many there are; the rest was not asked for.
    pub found: usize,
}

/// A particular of a thing; of two readings of one distance each is one of its own.
type Key = (EntityRef, String, Option<FactId>);

/// What was said of each particular, and by which fact; the last counts.
type State = BTreeMap<Key, Vec<(FactId, String)>>;

fn now(said: &[(FactId, String)]) -> Option<&String> {
    said.last().map(|(_, is)| is)
}

fn read(fact: &Fact) -> Result<Payload, String> {
    let text = fact.payload().map_err(|e| e.to_string())?;
    Payload::read(&fact.envelope.kind, fact.envelope.v, text).map_err(|e| e.to_string())
}

fn in_order(ledger: &Ledger) -> Vec<&Fact> {
    let mut facts: Vec<&Fact> = ledger.facts().collect();
    facts.sort_by_key(|f| f.envelope.order());
    facts
}

/// What a state was before a fact, and what it becomes.
struct Telling<'a> {
    ledger: &'a Ledger,
    /// Names are taken from here.
    job: &'a Job,
    state: State,
    removed: BTreeSet<EntityRef>,
}

/// A change of a state: which particular of which thing, and what it is now.
type Change = (Key, Option<String>);

impl<'a> Telling<'a> {
    fn new(ledger: &'a Ledger, job: &'a Job) -> Self {
        Self {
            ledger,
            job,
            state: State::new(),
            removed: BTreeSet::new(),
        }
    }

    /// What a fact changes.
    fn changes(&self, fact: FactId, payload: &Payload) -> (EntityRef, Vec<Change>) {
        match payload {
            Payload::Correct(c) => {
                let target = self.told_of(c.target);
                let (on, lines) = target.unwrap_or((EntityRef::Job, Vec::new()));
                let label = lines.into_iter().next().map_or_else(
                    || "an entry that isn’t in this copy".to_owned(),
                    |(label, _)| label,
                );
                let mut is = settings::entry(&c.value);
                if !c.reason.trim().is_empty() {
                    is.push_str(&format!(", corrected: {}", c.reason.trim()));
                }
                let key = (on.clone(), label, self.reading_of(c.target));
                (on, vec![(key, Some(is))])
            }
            Payload::Remove(r) => {
                let gone = self
                    .state
                    .keys()
                    .filter(|key| key.0 == r.entity)
                    .map(|key| (key.clone(), None))
                    .collect();
                (r.entity.clone(), gone)
            }
            Payload::Withdraw(w) => {
                let on = self.told_of(w.target).map(|t| t.0);
                (on.unwrap_or(EntityRef::Job), Vec::new())
            }
            said => self.told(said).map_or_else(
                || (EntityRef::Job, Vec::new()),
                |(on, lines)| {
                    let one = matches!(said, Payload::Reading(_)).then_some(fact);
                    let all = lines
                        .into_iter()
                        .map(|(label, is)| ((on.clone(), label, one), Some(is)))
                        .collect();
                    (on, all)
                },
            ),
        }
    }

    /// The reading at the end of a chain of corrections; nothing where it is no reading.
    fn reading_of(&self, fact: FactId) -> Option<FactId> {
        let mut at = fact;
        for _ in 0..=self.ledger.len() {
            match read(self.ledger.get(at)?).ok()? {
                Payload::Correct(c) => at = c.target,
                Payload::Reading(_) => return Some(at),
                _ => return None,
            }
        }
        None
    }

    /// What a fact says; of a reading that was taken back too it says which.
    fn told(&self, said: &Payload) -> Option<words::Told> {
        let (on, mut lines) = words::told(self.job, said)?;
        if let Payload::Measuring(m) = said
            && let MeasuringSays::Kept { reading, .. } | MeasuringSays::SetAside { reading, .. } =
                &m.says
            && self.job.readings.named(*reading).is_none()
            && let Some((_, was)) = self.told_of(*reading)
            && let (Some(line), Some((label, is))) = (lines.first_mut(), was.into_iter().next())
        {
            line.0 = format!("{label}, {is}");
        }
        Some((on, lines))
    }

    /// What an earlier fact said; through any number of withdrawals to what they took back.
    fn told_of(&self, fact: FactId) -> Option<words::Told> {
        match self.root(fact)?.0 {
            Payload::Correct(c) => self.told_of(c.target),
            Payload::Remove(r) => Some((
                r.entity.clone(),
                vec![("taken out of the job".into(), "yes".into())],
            )),
            said => self.told(&said),
        }
    }

    /// The fact at the end of a chain of withdrawals, and how many there were.
    fn root(&self, fact: FactId) -> Option<(Payload, usize)> {
        let (mut at, mut steps) = (fact, 0);
        loop {
            let found = self.ledger.get(at)?;
            match read(found).ok()? {
                // A chain is as long as there are facts, at most: each names an earlier one.
                Payload::Withdraw(w) if steps < self.ledger.len() => {
                    at = w.target;
                    steps += 1;
                }
                Payload::Withdraw(_) => return None,
                other => return Some((other, steps)),
            }
        }
    }

    /// What is shown of an undo: *took back*, or *brought back*.
    fn of_withdrawal(&self, target: FactId) -> Vec<Difference> {
        let Some((_, steps)) = self.root(target) else {
            return vec![Difference {
                about: words::thing(self.job, &EntityRef::Job),
                what: "took back".into(),
                was: None,
                is: Some("an entry that isn’t in this copy".into()),
            }];
        };
        let way = if steps % 2 == 0 {
            "took back"
        } else {
            "brought back"
        };
        let (on, lines) = self
            .told_of(target)
            .unwrap_or_else(|| (EntityRef::Job, Vec::new()));
        lines
            .into_iter()
            .map(|(label, is)| Difference {
                about: words::thing(self.job, &on),
                what: format!("{way}: {label}"),
                was: None,
                is: Some(is),
            })
            .collect()
    }

    fn apply(&mut self, fact: FactId, payload: &Payload, changes: Vec<Change>) {
        if let Payload::Remove(r) = payload {
            self.removed.insert(r.entity.clone());
        }
        for (key, is) in changes {
            match is {
                Some(is) if !self.removed.contains(&key.0) => {
                    self.state.entry(key).or_default().push((fact, is));
                }
                Some(_) => {}
                None => drop(self.state.remove(&key)),
            }
        }
    }
}

fn trouble_words(job: &Job, trouble: &Trouble) -> String {
    match trouble {
        Trouble::Removed(on) => format!(
            "it speaks of {}, which was taken out of the job; bring that back to use it",
            words::thing(job, on)
        ),
        Trouble::Missing(on) => format!(
            "it speaks of {}, which this job doesn’t have",
            words::thing(job, on)
        ),
        Trouble::NoHole {
            fixing,
            hole,
            holes,
        } => {
            let has = match holes {
                0 => "no holes".into(),
                1 => "1 hole".into(),
                n => format!("{n} holes"),
            };
            format!(
                "it speaks of hole {hole} of {}, which has {has}; change its pattern of holes, or say anew which hole was drilled",
                words::thing(job, &EntityRef::Fixing(fixing.clone()))
            )
        }
        other => other.to_string(),
    }
}

/// Every fact in order, by whom, and what it changed.
#[must_use]
pub fn history(ledger: &Ledger, job: &Job, ask: &HistoryAsk) -> HistoryView {
    let taken = ledger.taken_back();
    let troubles: BTreeMap<FactId, &Problem> = job.problems.iter().map(|p| (p.fact, p)).collect();
    let only: Option<BTreeSet<FactId>> = ask.only.as_ref().map(|o| o.iter().copied().collect());
    let wanted: Vec<String> = ask
        .find
        .to_lowercase()
        .split_whitespace()
        .map(str::to_owned)
        .collect();
    let job = &*known::known(ledger, job);
    let mut telling = Telling::new(ledger, job);
    let mut entries = Vec::new();
    let facts = in_order(ledger);
    let all = facts.len();
    for (at, fact) in facts.into_iter().enumerate() {
        let id = fact.envelope.id;
        let mut stands = match (taken.get(&id), troubles.get(&id)) {
            (Some(by), _) => Stands::TakenBack { by: by.clone() },
            (None, Some(problem)) => Stands::Not {
                why: trouble_words(job, &problem.trouble),
            },
            (None, None) => Stands::Counts,
        };
        let (about, changed) = match read(fact) {
            Err(why) => {
                stands = Stands::Not { why };
                (EntityRef::Job, Vec::new())
            }
            Ok(payload) => {
                let (on, changes) = telling.changes(id, &payload);
                let changed = match &payload {
                    Payload::Withdraw(w) => telling.of_withdrawal(w.target),
                    Payload::Remove(_) => vec![Difference {
                        about: words::thing(job, &on),
                        what: "taken out of the job".into(),
                        was: None,
                        is: Some("yes".into()),
                    }],
                    _ => differences(&telling, &fact.envelope, &changes),
                };
                if !matches!(stands, Stands::TakenBack { .. }) {
                    telling.apply(id, &payload, changes);
                }
                (on, changed)
            }
        };
        let entry = HistoryEntry {
            fact: id,
            place: at + 1,
            who: fact.envelope.who.clone(),
            wall: fact.envelope.wall.clone(),
            about: words::thing(job, &about),
            changed,
            stands,
        };
        let asked = only.as_ref().is_none_or(|only| only.contains(&id));
        if asked && holds(&entry, &wanted) {
            entries.push(entry);
        }
    }
    let found = entries.len();
    entries.reverse();
    entries.truncate(ask.most);
    HistoryView {
        entries,
        found,
        all,
        disputes: disputes::disputes(ledger, job),
    }
}

/// What an entry changed, from what its writer had seen: another tablet's value never stood here.
fn differences(telling: &Telling<'_>, by: &Envelope, changes: &[Change]) -> Vec<Difference> {
    let was = |key: &Key| {
        let said = telling.state.get(key)?;
        let seen = said.iter().rfind(|(fact, _)| by.had_seen(*fact));
        seen.map(|(_, is)| is.clone())
    };
    changes
        .iter()
        .map(|(key, is)| Difference {
            about: words::thing(telling.job, &key.0),
            what: key.1.clone(),
            was: was(key),
            is: is.clone(),
        })
        .collect()
}

fn holds(entry: &HistoryEntry, wanted: &[String]) -> bool {
    if wanted.is_empty() {
        return true;
    }
    let mut text = format!("{} {} {}", entry.who, entry.wall, entry.about);
    for d in &entry.changed {
        text.push(' ');
        text.push_str(&d.what);
        text.push(' ');
        text.push_str(d.is.as_deref().unwrap_or_default());
    }
    let text = text.to_lowercase();
    wanted.iter().all(|w| text.contains(w.as_str()))
}

fn state_of(ledger: &Ledger, job: &Job) -> State {
    let taken = ledger.taken_back();
    let mut telling = Telling::new(ledger, job);
    for fact in in_order(ledger) {
        if taken.contains_key(&fact.envelope.id) {
            continue;
        }
        if let Ok(payload) = read(fact) {
            let id = fact.envelope.id;
            let (_, changes) = telling.changes(id, &payload);
            telling.apply(id, &payload, changes);
        }
    }
    telling.state
}

/// Two states beside each other: as the job was just after an entry, and as it was after another;
/// nothing at all and now, where none is named.
///
/// # Errors
/// The sentence for an entry that is not in this copy.
pub fn compared(
    ledger: &Ledger,
    job: &Job,
    (from, to): (Option<FactId>, Option<FactId>),
    most: usize,
) -> Result<ComparedView, String> {
    let job = &*known::known(ledger, job);
    let as_of = |id: FactId| -> Result<State, String> {
        let fact = ledger
            .get(id)
            .ok_or("that entry isn’t in this copy of the job")?;
        Ok(state_of(&ledger.as_of(&fact.envelope), job))
    };
    let was = from.map(as_of).transpose()?.unwrap_or_default();
    let is = match to {
        Some(id) => as_of(id)?,
        None => state_of(ledger, job),
    };
    let last = |state: &State, key: &Key| state.get(key).and_then(|said| now(said)).cloned();
    let keys: BTreeSet<&Key> = was.keys().chain(is.keys()).collect();
    let mut keys: Vec<&Key> = keys
        .into_iter()
        .filter(|key| last(&was, key) != last(&is, key))
        .collect();
    // Kinds of things stand together already; among their like, 2 comes before 10.
    for alike in keys.chunk_by_mut(|a, b| discriminant(&a.0) == discriminant(&b.0)) {
        alike.sort_by_cached_key(|key| counting(&words::thing(job, &key.0)));
    }
    let mut differences: Vec<Difference> = keys
        .into_iter()
        .map(|key| Difference {
            about: words::thing(job, &key.0),
            what: key.1.clone(),
            was: last(&was, key),
            is: last(&is, key),
        })
        .collect();
    let found = differences.len();
    differences.truncate(most);
    Ok(ComparedView { differences, found })
}

/// A name to sort by: its runs of digits count as numbers.
fn counting(name: &str) -> Vec<(u64, String)> {
    let mut parts = vec![(0_u64, String::new())];
    let mut in_digits = false;
    for c in name.chars() {
        let digit = c.to_digit(10);
        if digit.is_some() != in_digits {
            in_digits = digit.is_some();
            if in_digits {
                parts.push((0, String::new()));
            }
        }
        if let Some((number, text)) = parts.last_mut() {
            match digit {
                Some(d) => *number = number.saturating_mul(10).saturating_add(u64::from(d)),
                None => text.push(c),
            }
        }
    }
    // A number stands after the words before it: *cap C2* before *cap C10*, both after *bollard*.
    let mut key = Vec::new();
    for (number, text) in parts {
        key.push((number, String::new()));
        key.push((0, text));
    }
    key
}

/// By whom and when, as one phrase.
fn by_whom(envelope: &Envelope) -> String {
    let all: Vec<&str> = [envelope.who.as_str(), envelope.wall.as_str()]
        .into_iter()
        .filter(|t| !t.trim().is_empty())
        .collect();
    all.join(", ")
}
