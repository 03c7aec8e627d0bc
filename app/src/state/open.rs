//! Opening a file: a new job beside the others, or a copy that is merged.

use super::{Book, Session};
use crate::ports::files::Chosen;
use crate::ports::{files, ids, store};
use crate::route::Route;
use crate::say::job::capital;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::Ledger;
use samespot_core::read::job::open;
use std::sync::Arc;

/// What came of opening a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Came {
    /// A job this device did not have.
    New,
    /// A copy of one it has; so many entries were new.
    Merged {
        /// New here.
        came_in: usize,
        /// Under whose name two texts are known now.
        refused: usize,
    },
}

/// Opens a job from the bytes of a file, merging it into the copy that is here.
///
/// # Errors
/// Core's sentence; nothing is changed then.
pub fn open_bytes(bytes: &[u8], here: Option<&Book>) -> Result<(Book, Came, Vec<String>), String> {
    let opened = open(bytes).map_err(|e| capital(&e.to_string()))?;
    let notes = opened
        .notes
        .iter()
        .map(|n| capital(&n.to_string()))
        .collect();
    let Some(here) = here.filter(|b| b.id() == opened.ledger.job_id()) else {
        return Ok((
            Book::new(opened.ledger, opened.attachments),
            Came::New,
            notes,
        ));
    };
    let mut ledger: Ledger = here.ledger.clone();
    let report = ledger
        .merge(&opened.ledger)
        .map_err(|e| capital(&e.to_string()))?;
    let mut attachments = here.attachments.clone();
    attachments.extend(opened.attachments);
    let came = Came::Merged {
        came_in: report.came_in,
        refused: report.refused.len(),
    };
    Ok((Book::new(ledger, attachments), came, notes))
}

impl Session {
    /// Opens a file somebody chose or dropped.
    pub fn open_file(self, file: files::Picked) {
        spawn_local(async move {
            match files::read(&file).await {
                Ok(chosen) => self.open_chosen(chosen).await,
                Err(sentence) => self.notice(sentence, true),
            }
        });
    }

    async fn open_chosen(self, chosen: Chosen) {
        let id = open(&chosen.bytes).map(|o| o.ledger.job_id().clone());
        let here = match &id {
            Ok(id) => match self.book.get_untracked().filter(|b| b.id() == id) {
                Some(book) => Some(book),
                None => store::job(id.as_str())
                    .await
                    .ok()
                    .flatten()
                    .map(|k| Arc::new(Book::of_kept(id.clone(), k.facts, k.attachments))),
            },
            Err(_) => None,
        };
        match open_bytes(&chosen.bytes, here.as_deref()) {
            Err(sentence) => self.notice(format!("{}: {sentence}", chosen.name), true),
            Ok((book, came, notes)) => {
                self.notice(crate::say::job::came(&book.title(), &came), false);
                for note in notes {
                    self.notice(note, true);
                }
                self.settle_in(book);
            }
        }
    }

    /// Keeps a job that came in as a whole, and goes there.
    fn settle_in(&self, book: Book) {
        let texts = book.texts();
        let attachments = book.attachments.clone().into_iter().collect();
        let id = book.id().clone();
        self.open_book(book);
        if let Some(book) = self.book.get_untracked() {
            self.keep(&book, texts, attachments, None);
        }
        self.go(&Route::Templates {
            job: id,
            piece: None,
            feature: None,
        });
    }

    /// Opens the example as a copy of this device's own, the one that is here if there is one.
    pub fn open_example(self) {
        spawn_local(async move {
            let bytes = match files::example().await {
                Ok(bytes) => bytes,
                Err(sentence) => {
                    self.notice(sentence, true);
                    return;
                }
            };
            let opened = match open(&bytes) {
                Ok(opened) => opened,
                Err(e) => {
                    self.notice(e.to_string(), true);
                    return;
                }
            };
            // A copy under its own name: what is tried out in it never meets anybody else's.
            let Some(id) = ids::job() else { return };
            let mut ledger = Ledger::new(id);
            for fact in opened.ledger.everything() {
                ledger.add(fact.clone());
            }
            self.settle_in(Book::new(ledger, opened.attachments));
        });
    }
}
