//! The open job: its facts, what they add up to, and what is attached.

use crate::ports::store::Card;
use crate::ports::worker::Brief;
use base64::prelude::{BASE64_STANDARD, Engine as _};
use samespot_core::job::{Fact, FactId, Folded, Job, JobId, Ledger, PieceId, QuickCards};
use samespot_core::write::job::Attachments;
use std::sync::Arc;

/// A job that is open.
#[derive(Debug, Clone)]
pub struct Book {
    /// Its facts.
    pub ledger: Ledger,
    /// What they add up to.
    pub job: Folded,
    /// What is attached, by hash.
    pub attachments: Arc<Attachments>,
}

impl Book {
    /// From facts and attachments.
    #[must_use]
    pub fn new(ledger: Ledger, attachments: Attachments) -> Self {
        let job = Folded::of(&ledger);
        Self {
            ledger,
            job,
            attachments: Arc::new(attachments),
        }
    }

    /// With more facts, which the ledger has taken in already.
    #[must_use]
    pub fn and(&self, ledger: Ledger, new: &[FactId]) -> Self {
        let mut job = self.job.clone();
        job.and(&ledger, new);
        Self {
            ledger,
            job,
            attachments: Arc::clone(&self.attachments),
        }
    }

    /// Attaches more.
    pub fn attach(&mut self, more: Attachments) {
        if !more.is_empty() {
            Arc::make_mut(&mut self.attachments).extend(more);
        }
    }

    /// From what the device kept, with how many entries of it are damaged; what can't be read as a fact
    /// is carried along.
    #[must_use]
    pub fn of_kept(
        id: JobId,
        facts: Vec<String>,
        attachments: Vec<(String, Vec<u8>)>,
    ) -> (Self, usize) {
        let mut ledger = Ledger::new(id);
        let (_, damaged) = take_counting(&mut ledger, facts);
        (
            Self::new(ledger, attachments.into_iter().collect()),
            damaged,
        )
    }

    /// Which job.
    #[must_use]
    pub fn id(&self) -> &JobId {
        self.ledger.job_id()
    }

    /// Its title, or something to call it by.
    #[must_use]
    pub fn title(&self) -> String {
        self.job
            .about
            .title
            .clone()
            .filter(|t| !t.trim().is_empty())
            .unwrap_or_else(|| {
                if QuickCards::of_job(&self.job).is_some() {
                    "Quick template".into()
                } else {
                    "Job without a name".into()
                }
            })
    }

    /// Everything the worker must know.
    #[must_use]
    pub fn brief(&self) -> Brief {
        Brief {
            job: self.id().clone(),
            facts: self.every_text().collect(),
            attachments: self
                .attachments
                .iter()
                .map(|(hash, bytes)| (hash.clone(), BASE64_STANDARD.encode(bytes)))
                .collect(),
        }
    }

    /// Every fact as text, those that could not be read included.
    #[must_use]
    pub fn texts(&self) -> Vec<String> {
        self.every_text().map(str::to_owned).collect()
    }

    fn every_text(&self) -> impl Iterator<Item = &str> {
        let facts = self.ledger.everything().map(Fact::bytes);
        facts.chain(self.ledger.unread().iter().map(String::as_str))
    }

    /// Its card for the shelf; what was copied off and when stays as an earlier card says.
    #[must_use]
    pub fn card(&self, earlier: Option<&Card>, now_ms: f64) -> Card {
        let printed = self
            .job
            .pieces
            .keys()
            .filter(|p| self.job.printed.about(*p).next().is_some())
            .count();
        Card {
            id: self.id().to_string(),
            title: self.title(),
            pieces: self.job.pieces.len(),
            printed,
            issue: self
                .job
                .issues
                .values()
                .filter_map(|i| i.number)
                .max()
                .unwrap_or(0),
            invented: self.job.about.invented == Some(true),
            quick: QuickCards::of_job(&self.job).is_some(),
            drilled: Some(self.job.is_drilled()),
            facts: self.ledger.len(),
            used: now_ms,
            copied: earlier.and_then(|c| c.copied),
            copied_facts: earlier.map_or(0, |c| c.copied_facts),
        }
    }
}

/// The piece an address means: the first where it names none, or one that isn't there.
#[must_use]
pub fn piece_meant(job: &Job, named: Option<&PieceId>) -> Option<PieceId> {
    named
        .filter(|p| job.pieces.contains_key(p))
        .or_else(|| job.pieces_in_order().first().map(|(id, _)| *id))
        .cloned()
}

/// Takes facts in as they were written; gives back which were new.
pub fn take(ledger: &mut Ledger, facts: impl IntoIterator<Item = String>) -> Vec<FactId> {
    take_counting(ledger, facts).0
}

/// The same, with how many are damaged.
fn take_counting(
    ledger: &mut Ledger,
    facts: impl IntoIterator<Item = String>,
) -> (Vec<FactId>, usize) {
    let (mut new, mut damaged) = (Vec::new(), 0);
    for text in facts {
        match Fact::read(text) {
            Ok(fact) => {
                let id = fact.envelope.id;
                if ledger.add(fact) {
                    new.push(id);
                }
            }
            Err(no) if no.is_json() => ledger.keep_unread(no.text),
            Err(_) => damaged += 1,
        }
    }
    (new, damaged)
}
