//! Undo and redo, one thing said at a time.
//!
//! What somebody does in one go may be several facts (the next piece is a casting, a piece and
//! their marriage): they are taken back together. Undo reaches what this tab said, and nothing
//! of anybody else.

use super::Session;
use leptos::prelude::*;
use samespot_core::job::{Fact, FactId, JobId, Payload, Withdrawal};
use serde::{Deserialize, Serialize};

/// What can be taken back and brought back.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Steps {
    job: Option<JobId>,
    done: Vec<Vec<FactId>>,
    undone: Vec<Vec<FactId>>,
}

impl Steps {
    /// Takes note of what was said in one go. A print is no step: the sheet exists.
    pub fn note(&mut self, job: &JobId, facts: &[Fact]) {
        self.of(job);
        let ids: Vec<FactId> = facts
            .iter()
            .filter(|f| f.envelope.kind != "printed")
            .map(|f| f.envelope.id)
            .collect();
        if !ids.is_empty() {
            self.done.push(ids);
            self.undone.clear();
        }
    }

    fn of(&mut self, job: &JobId) {
        if self.job.as_ref() != Some(job) {
            *self = Self {
                job: Some(job.clone()),
                ..Self::default()
            };
        }
    }

    /// There is something to take back in this job.
    #[must_use]
    pub fn can_undo(&self, job: &JobId) -> bool {
        self.job.as_ref() == Some(job) && !self.done.is_empty()
    }

    /// There is something to bring back in this job.
    #[must_use]
    pub fn can_redo(&self, job: &JobId) -> bool {
        self.job.as_ref() == Some(job) && !self.undone.is_empty()
    }
}

/// Withdrawals of facts, the last said first.
fn withdrawals(ids: &[FactId]) -> Vec<Payload> {
    ids.iter()
        .rev()
        .map(|id| Payload::Withdraw(Withdrawal { target: *id }))
        .collect()
}

impl Session {
    /// Takes back this tab's last step, if there is one.
    pub fn undo(&self) {
        self.step(|s| s.done.pop(), |s, ids| s.undone.push(ids));
    }

    /// Brings the last undone step back.
    pub fn redo(&self) {
        self.step(|s| s.undone.pop(), |s, ids| s.done.push(ids));
    }

    fn step(
        &self,
        take: impl Fn(&mut Steps) -> Option<Vec<FactId>>,
        put: impl Fn(&mut Steps, Vec<FactId>),
    ) {
        let Some(job) = self
            .book
            .with_untracked(|b| b.as_ref().map(|b| b.id().clone()))
        else {
            return;
        };
        let taken = self.steps.try_update(|s| {
            s.of(&job);
            take(s)
        });
        let Some(ids) = taken.flatten() else { return };
        let facts = self.write(&withdrawals(&ids), Default::default());
        let ids = facts.iter().map(|f| f.envelope.id).collect();
        self.steps.update(|s| put(s, ids));
        self.stepped.update(|n| *n = n.wrapping_add(1));
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{CastingId, Ledger, ReplicaId, StageFact, Writer};

    #[test]
    fn a_step_is_everything_said_in_one_go_and_belongs_to_its_job() {
        let job = JobId::new("j").unwrap();
        let mut ledger = Ledger::new(job.clone());
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        let facts: Vec<Fact> = (0..2)
            .map(|_| {
                let stage = StageFact {
                    casting: CastingId::new("c1").unwrap(),
                    stage: "primed".into(),
                    day: String::new(),
                    reason: None,
                };
                ledger.write(&writer, &Payload::Stage(stage)).unwrap()
            })
            .collect();
        let mut steps = Steps::default();
        steps.note(&job, &facts);
        assert!(steps.can_undo(&job) && !steps.can_redo(&job));
        assert!(!steps.can_undo(&JobId::new("k").unwrap()));
        let ids = steps.done.pop().unwrap();
        let targets: Vec<_> = withdrawals(&ids)
            .into_iter()
            .map(|p| match p {
                Payload::Withdraw(w) => w.target.seq,
                _ => 0,
            })
            .collect();
        assert_eq!(targets, [2, 1]);
        steps.note(&JobId::new("k").unwrap(), &[]);
        assert!(!steps.can_undo(&job));
    }
}
