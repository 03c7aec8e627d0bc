//! Opening a file: a new job beside the others, or a copy that is merged.

use super::{Book, Came, CameIn, Session};
use crate::ports::files::Chosen;
use crate::ports::tabs::Heard;
use crate::ports::{files, ids, store};
use crate::route::Route;
use crate::say::job::capital;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::{FactId, Ledger, OtherJob};
use samespot_core::read::job::{OpenError, Opened as OpenedJob, open};
use std::sync::Arc;

/// Takes in a job that was read from a file, merging it into the copy that is here.
///
/// # Errors
/// Core's sentence; nothing is changed then.
fn take_in(opened: OpenedJob, here: Option<&Book>) -> Result<(Book, Came, Vec<String>), String> {
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
    let came = Came::Merged {
        came_in: report.came_in,
        refused: report.refused.len(),
    };
    let new: Vec<FactId> = report.new.into_iter().collect();
    let mut book = here.and(ledger, &new);
    book.attach(opened.attachments);
    Ok((book, came, notes))
}

impl Session {
    /// Opens a file somebody chose or dropped.
    pub fn open_file(self, file: files::Picked) {
        spawn_local(async move {
            match files::read(&file).await {
                Ok(Chosen { name, bytes }) => {
                    let opened = open(&bytes);
                    drop(bytes);
                    self.open_chosen(name, opened).await;
                }
                Err(sentence) => self.notice(sentence, true),
            }
        });
    }

    async fn open_chosen(self, name: String, opened: Result<OpenedJob, OpenError>) {
        let opened = match opened {
            Ok(opened) => opened,
            Err(why) => {
                let sentence = capital(&why.to_string());
                return self.notice(format!("{name}: {sentence}"), true);
            }
        };
        let id = opened.ledger.job_id().clone();
        let here = match self.book.get_untracked().filter(|b| *b.id() == id) {
            Some(book) => Some(book),
            None => self
                .book_of(&id, store::job(id.as_str()).await.ok().flatten())
                .map(|(book, _)| Arc::new(book)),
        };
        match take_in(opened, here.as_deref()) {
            Err(sentence) => self.notice(format!("{name}: {sentence}"), true),
            Ok((book, came, notes)) => {
                // What came in is told where it is shown; what was refused, here too.
                if !matches!(
                    came,
                    Came::Merged {
                        came_in: 1..,
                        refused: 0
                    }
                ) {
                    self.notice(crate::say::job::came(&book.title(), &came), false);
                }
                for note in notes {
                    self.notice(note, true);
                }
                let job = book.id().clone();
                let facts = here.as_ref().map_or_else(Vec::new, |here| {
                    let new = book.ledger.beyond(&here.ledger).map(|f| f.envelope.id);
                    new.filter(|id| here.ledger.get(*id).is_none()).collect()
                });
                let to = if facts.is_empty() {
                    Route::Templates {
                        job,
                        piece: None,
                        feature: None,
                    }
                } else {
                    self.came_in.set(Some(CameIn {
                        job: job.clone(),
                        file: name,
                        facts,
                    }));
                    Route::History { job }
                };
                self.settle_in(book, here.as_deref(), &to);
            }
        }
    }

    /// Keeps what came in, and goes there. What is `here` already is on the device, or owed to it; where
    /// it turns out not to be, all of the job is written.
    fn settle_in(&self, book: Book, here: Option<&Book>, to: &Route) {
        let texts = match here {
            None => book.texts(),
            Some(here) => {
                let new = book
                    .ledger
                    .beyond(&here.ledger)
                    .map(|f| f.bytes().to_owned());
                new.chain(book.ledger.unread().iter().cloned()).collect()
            }
        };
        let attachments = (*book.attachments).clone().into_iter().collect();
        self.open_book(book);
        if let Some(book) = self.book.get_untracked() {
            // Other tabs read what came in from the device: entries that nobody here reads with it.
            let heard = Heard {
                job: book.id().to_string(),
                facts: Vec::new(),
                attachments: true,
            };
            self.keep(&book, texts, attachments, Some(heard));
        }
        self.go(to);
    }

    /// Opens another copy of the open job; a file of another job is refused.
    pub fn open_copy(self, file: files::Picked) {
        spawn_local(async move {
            let chosen = match files::read(&file).await {
                Ok(chosen) => chosen,
                Err(sentence) => return self.notice(sentence, true),
            };
            let ours = self
                .book
                .with_untracked(|b| b.as_ref().map(|b| b.id().clone()));
            let Chosen { name, bytes } = chosen;
            let opened = open(&bytes);
            drop(bytes);
            let theirs = opened.as_ref().map(|o| o.ledger.job_id().clone());
            match (ours, theirs) {
                (Some(ours), Ok(theirs)) if ours != theirs => {
                    let why = OtherJob { ours, theirs }.to_string();
                    self.notice(format!("{name}: {}", capital(&why)), true);
                }
                _ => self.open_chosen(name, opened).await,
            }
        });
    }

    /// Opens an example as a copy of this device's own, the one that is here if there is one.
    pub fn open_example(self, which: files::Example) {
        spawn_local(async move {
            let bytes = match files::example(which).await {
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
            let to = Route::Templates {
                job: id.clone(),
                piece: None,
                feature: None,
            };
            let mut ledger = Ledger::new(id);
            for fact in opened.ledger.everything() {
                ledger.add(fact.clone());
            }
            self.settle_in(Book::new(ledger, opened.attachments), None, &to);
        });
    }
}
