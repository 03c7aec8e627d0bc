//! What each worker was told of a job: a question brings along whatever its worker lacks, so that
//! no answer is made from less than the page knew when it asked.

use super::Book;
use crate::ports::worker::{self, Brief, Line};
use base64::prelude::{BASE64_STANDARD, Engine as _};
use samespot_core::answer::FactTexts;
use samespot_core::job::{Fact, JobId, Ledger};
use std::cell::RefCell;
use std::collections::BTreeSet;

#[derive(Default)]
struct Told {
    job: Option<JobId>,
    /// Which worker it was: another one knows nothing.
    by: u32,
    /// The facts it was told: an earlier state of the ledger, which holds most in common with the next.
    facts: Option<Ledger>,
    attachments: BTreeSet<String>,
}

thread_local! {
    static SHEETS: RefCell<Told> = RefCell::new(Told::default());
    static PICTURE: RefCell<Told> = RefCell::new(Told::default());
    static APART: RefCell<Told> = RefCell::new(Told::default());
}

/// What the worker of this line was not told yet of a job; it counts as told from now on, because
/// messages arrive in the order in which they are posted.
pub fn news(line: Line, book: &Book) -> Option<Brief> {
    let told = match line {
        Line::Sheets => &SHEETS,
        Line::Picture => &PICTURE,
        Line::Apart => &APART,
    };
    told.with_borrow_mut(|told| told.news(worker::generation(line), book))
}

impl Told {
    fn news(&mut self, by: u32, book: &Book) -> Option<Brief> {
        if self.job.as_ref() != Some(book.id()) || self.by != by {
            *self = Self {
                job: Some(book.id().clone()),
                by,
                ..Self::default()
            };
            self.facts = Some(book.ledger.clone());
            self.attachments.extend(book.attachments.keys().cloned());
            return Some(book.brief());
        }
        let told = self.facts.replace(book.ledger.clone());
        let told = told.unwrap_or_else(|| Ledger::new(book.id().clone()));
        // What this program doesn't read goes along: a file that the worker writes holds it too.
        let unread = book.ledger.unread().iter();
        let unread = unread.filter(|raw| !told.unread().contains(*raw));
        let facts: FactTexts = book
            .ledger
            .beyond(&told)
            .map(Fact::bytes)
            .chain(unread.map(String::as_str))
            .collect();
        let attachments: Vec<(String, String)> = book
            .attachments
            .iter()
            .filter(|(hash, _)| self.attachments.insert((*hash).clone()))
            .map(|(hash, bytes)| (hash.clone(), BASE64_STANDARD.encode(bytes)))
            .collect();
        (!facts.is_empty() || !attachments.is_empty()).then(|| Brief {
            job: book.id().clone(),
            facts,
            attachments,
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{Payload, ReplicaId, Writer};
    use samespot_core::write::job::Attachments;

    fn book(facts: u64) -> Book {
        let mut ledger = Ledger::new(JobId::new("j").unwrap());
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        for payload in crate::screens::start::new_job::new_job("2026-11-26")
            .iter()
            .cycle()
            .take(usize::try_from(facts).unwrap())
        {
            let _: &Payload = payload;
            ledger.write(&writer, payload).unwrap();
        }
        Book::new(ledger, Attachments::new())
    }

    #[test]
    fn a_worker_is_told_all_once_then_what_is_new_and_a_new_one_all_again() {
        let mut told = Told::default();
        let count = |brief: Option<Brief>| brief.map(|b| b.facts.len());
        assert_eq!(count(told.news(0, &book(2))), Some(2));
        assert_eq!(count(told.news(0, &book(2))), None);
        assert_eq!(count(told.news(0, &book(5))), Some(3));
        assert_eq!(count(told.news(1, &book(5))), Some(5));
    }

    #[test]
    fn what_nobody_here_reads_is_told_too_and_once() {
        let mut told = Told::default();
        let mut merged = book(2);
        told.news(0, &merged).unwrap();
        for later in ["{\"from\":\"later\"}", "{\"from\":\"even later\"}"] {
            let mut ledger = merged.ledger.clone();
            ledger.keep_unread(later.to_owned());
            merged = merged.and(ledger, &[]);
            let brief = told.news(0, &merged).unwrap();
            assert_eq!(brief.facts.as_bytes(), later.as_bytes());
            assert!(told.news(0, &merged).is_none());
        }
    }
}
