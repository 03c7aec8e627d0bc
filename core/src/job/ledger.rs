//! All facts of a job, and how two copies become one.

use super::by_fact::ByFact;
use super::fact::{Envelope, Fact, FactId, Heads, ReplicaId};
use super::fold::Job;
use super::ids::JobId;
use super::payload::{Payload, Withdrawal};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Every fact of one job, by name.
///
/// An id under which different bytes have turned up holds all of them and counts as none: both
/// are refused, by name, on every copy that has seen both, in whatever order.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    job: JobId,
    facts: ByFact<Vec<Fact>>,
    /// Names under which different bytes are known.
    twice: BTreeSet<FactId>,
    heads: Heads,
    /// The largest place known in the one order.
    top: u64,
    /// Many copies hold it in common.
    unread: Arc<BTreeSet<String>>,
}

/// Who is writing, and what the clock on the wall says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Writer {
    /// This tab.
    pub replica: ReplicaId,
    /// Who.
    pub who: String,
    /// The device's time in words, only ever shown.
    pub wall: String,
}

/// What a merge did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct MergeReport {
    /// Facts that were new here.
    pub came_in: usize,
    /// Their names.
    pub new: BTreeSet<FactId>,
    /// Facts under whose name different bytes are now known: refused on both sides.
    pub refused: Vec<FactId>,
}

/// The copies belong to different jobs.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("that file is job '{theirs}', this is job '{ours}': open it beside this one instead")]
pub struct OtherJob {
    /// The job here.
    pub ours: JobId,
    /// The job in the file.
    pub theirs: JobId,
}

impl Ledger {
    /// A job without facts.
    #[must_use]
    pub fn new(job: JobId) -> Self {
        Self {
            job,
            facts: ByFact::new(),
            twice: BTreeSet::new(),
            heads: Heads::new(),
            top: 0,
            unread: Arc::default(),
        }
    }

    /// The job it belongs to.
    #[must_use]
    pub const fn job_id(&self) -> &JobId {
        &self.job
    }

    /// Takes a fact in. Returns whether it was new.
    pub fn add(&mut self, fact: Fact) -> bool {
        let id = fact.envelope.id;
        let known = self.facts.get(id).map_or(&[][..], Vec::as_slice);
        let Err(at) = known.binary_search_by(|known| known.bytes().cmp(fact.bytes())) else {
            return false;
        };
        let head = self.heads.entry(id.replica).or_default();
        *head = (*head).max(id.seq);
        self.top = self.top.max(fact.envelope.lamport);
        let versions = self.facts.entry(id);
        if versions.is_empty() {
            // Nearly all are alone: no room is made for more.
            *versions = vec![fact];
        } else {
            versions.insert(at, fact);
            self.twice.insert(id);
        }
        true
    }

    fn knows(&self, fact: &Fact) -> bool {
        let known = self.facts.get(fact.envelope.id);
        known.is_some_and(|versions| versions.contains(fact))
    }

    /// Keeps an entry that could not be read as a fact, so that saving loses nothing.
    pub fn keep_unread(&mut self, raw: String) {
        if !self.unread.contains(&raw) {
            Arc::make_mut(&mut self.unread).insert(raw);
        }
    }

    /// Entries that could not be read as facts.
    #[must_use]
    pub fn unread(&self) -> &BTreeSet<String> {
        &self.unread
    }

    /// Facts that count, in no promised order.
    pub fn facts(&self) -> impl Iterator<Item = &Fact> {
        self.facts
            .values()
            .filter_map(|versions| match versions.as_slice() {
                [one] => Some(one),
                _ => None,
            })
    }

    /// Every version of every fact, for writing to a file.
    pub fn everything(&self) -> impl Iterator<Item = &Fact> {
        self.facts.values().flatten()
    }

    /// Names under which different bytes are known.
    #[must_use]
    pub fn refused(&self) -> Vec<FactId> {
        self.twice.iter().copied().collect()
    }

    /// A fact by name, if it counts.
    #[must_use]
    pub fn get(&self, id: FactId) -> Option<&Fact> {
        match self.facts.get(id)?.as_slice() {
            [one] => Some(one),
            _ => None,
        }
    }

    /// How many facts are known.
    #[must_use]
    pub fn len(&self) -> usize {
        self.facts.len()
    }

    /// Nothing has been said yet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.facts.len() == 0
    }

    /// How far each replica's facts are known here.
    #[must_use]
    pub fn heads(&self) -> Heads {
        self.heads.clone()
    }

    /// What is known here and not in an earlier state of the same ledger.
    pub fn beyond<'a>(&'a self, earlier: &'a Self) -> impl Iterator<Item = &'a Fact> {
        let apart = self.facts.apart_from(&earlier.facts);
        apart.flat_map(|(id, versions)| {
            let known = earlier.facts.get(id).map_or(&[][..], Vec::as_slice);
            versions.iter().filter(move |f| !known.contains(f))
        })
    }

    /// Writes a new fact after everything known here, and takes it in.
    ///
    /// # Errors
    /// The JSON writer's error; never for payloads of finite values.
    pub fn write(&mut self, writer: &Writer, payload: &Payload) -> Result<Fact, serde_json::Error> {
        let mut seen = self.heads();
        let seq = seen.remove(&writer.replica).unwrap_or(0) + 1;
        let lamport = self.top.saturating_add(1);
        let envelope = Envelope {
            id: FactId {
                replica: writer.replica,
                seq,
            },
            lamport,
            seen,
            wall: writer.wall.clone(),
            who: writer.who.clone(),
            kind: payload.kind().to_owned(),
            v: Payload::VERSION,
        };
        let fact = Fact::write(envelope, &payload.to_value()?)?;
        self.add(fact.clone());
        Ok(fact)
    }

    /// Takes in everything another copy of the same job knows.
    ///
    /// # Errors
    /// [`OtherJob`] when it is not the same job; nothing is changed then.
    pub fn merge(&mut self, other: &Self) -> Result<MergeReport, OtherJob> {
        if self.job != other.job {
            return Err(OtherJob {
                ours: self.job.clone(),
                theirs: other.job.clone(),
            });
        }
        let before = self.twice.clone();
        let mut report = MergeReport::default();
        for fact in other.everything() {
            if !self.knows(fact) {
                report.new.insert(fact.envelope.id);
                report.came_in += usize::from(self.add(fact.clone()));
            }
        }
        for raw in other.unread.iter() {
            self.keep_unread(raw.clone());
        }
        report.refused = self
            .refused()
            .into_iter()
            .filter(|id| !before.contains(id))
            .collect();
        Ok(report)
    }

    /// The job these facts add up to.
    #[must_use]
    pub fn fold(&self) -> Job {
        Job::fold(self)
    }

    /// What is taken back, and by which withdrawals that count themselves.
    #[must_use]
    pub fn taken_back(&self) -> BTreeMap<FactId, Vec<FactId>> {
        super::fold::taken_back(self)
    }

    /// The job's facts up to one of them, in the order all copies agree on: a fact never comes
    /// before one that its writer had seen.
    #[must_use]
    pub fn as_of(&self, last: &Envelope) -> Self {
        let mut earlier = Self::new(self.job.clone());
        for fact in self.facts().filter(|f| f.envelope.order() <= last.order()) {
            earlier.add(fact.clone());
        }
        earlier
    }

    /// The newest fact of this replica that still counts and is not itself an undo.
    #[must_use]
    pub fn undo(&self, replica: ReplicaId) -> Option<Payload> {
        let withdrawn = super::fold::withdrawn(self);
        self.own(replica)
            .find(|f| {
                f.envelope.kind != "withdraw"
                    && f.envelope.kind != "printed"
                    && !withdrawn.contains(&f.envelope.id)
            })
            .map(|f| {
                Payload::Withdraw(Withdrawal {
                    target: f.envelope.id,
                })
            })
    }

    /// The newest undo of this replica that still counts, taken back; only while nothing else was said since.
    #[must_use]
    pub fn redo(&self, replica: ReplicaId) -> Option<Payload> {
        let withdrawn = super::fold::withdrawn(self);
        for fact in self.own(replica) {
            if fact.envelope.kind != "withdraw" {
                return None;
            }
            if withdrawn.contains(&fact.envelope.id) {
                continue;
            }
            let targets_undo = fact
                .payload()
                .ok()
                .and_then(|text| crate::json::read::<Withdrawal>(text).ok())
                .and_then(|w| self.get(w.target))
                .is_some_and(|t| t.envelope.kind == "withdraw");
            if !targets_undo {
                return Some(Payload::Withdraw(Withdrawal {
                    target: fact.envelope.id,
                }));
            }
        }
        None
    }

    fn own(&self, replica: ReplicaId) -> impl Iterator<Item = &Fact> {
        let all = self.facts.of(replica).rev();
        all.filter_map(|versions| match versions.as_slice() {
            [one] => Some(one),
            _ => None,
        })
    }
}
