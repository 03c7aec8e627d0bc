//! Copies of jobs off this device.

use super::{Book, Session};
use crate::ports::{clock, files, share, store};
use crate::say;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::JobId;
use samespot_core::write::job::job_file;
use std::sync::Arc;

const MEDIA: &str = "application/octet-stream";

/// A copy that was ready too late for the tap that asked for it.
#[derive(Debug)]
pub(super) struct ReadyCopy {
    book: Arc<Book>,
    name: String,
    bytes: Vec<u8>,
}

impl Session {
    /// Copies a job off this device: shared where files can be shared, else downloaded.
    pub fn copy_off(self, id: String) {
        let ready = self.ready_copy.get_value();
        if let Some(ready) = ready.filter(|r| self.is_as_it_stands(r, &id)) {
            spawn_local(self.share_copy(
                Arc::clone(&ready.book),
                ready.name.clone(),
                ready.bytes.clone(),
            ));
            return;
        }
        self.ready_copy.set_value(None);
        spawn_local(async move {
            let open = self.book.get_untracked().filter(|b| b.id().as_str() == id);
            let book = match open {
                Some(book) => Some(book),
                None => match (JobId::new(&id), store::job(&id).await) {
                    (Ok(job), Ok(kept)) => self.book_of(&job, kept).map(|(b, _)| Arc::new(b)),
                    _ => None,
                },
            };
            let Some(book) = book else {
                self.notice(
                    "That job could not be read back from this device: load the page again",
                    true,
                );
                return;
            };
            let bytes = match job_file(&book.ledger, &book.attachments) {
                Ok(bytes) => bytes,
                Err(e) => {
                    self.notice(e.to_string(), true);
                    return;
                }
            };
            let name = say::names::job_file(&book.title(), &clock::day());
            if files::on_ios() && share::possible() {
                self.share_copy(book, name, bytes).await;
            } else if files::download(&name, MEDIA, &bytes) {
                self.copied(&book).await;
            }
        });
    }

    /// Hands a copy to another app: where the browser won't, it is downloaded, and not taken for a copy
    /// off this device, because nobody knows whether it arrived.
    async fn share_copy(self, book: Arc<Book>, name: String, bytes: Vec<u8>) {
        match share::share(&name, MEDIA, &bytes).await {
            share::Shared::Handed => {
                self.ready_copy.set_value(None);
                self.copied(&book).await;
            }
            share::Shared::Cancelled => {}
            share::Shared::TooLate if self.ready_copy.with_value(Option::is_none) => {
                self.notice(say::storage::READY_NOW, true);
                let copy = ReadyCopy { book, name, bytes };
                self.ready_copy.set_value(Some(Arc::new(copy)));
            }
            share::Shared::TooLate => {
                self.downloaded_instead("the browser does not allow it", &name, &bytes)
            }
            share::Shared::Failed(why) => self.downloaded_instead(&why, &name, &bytes),
        }
    }

    fn downloaded_instead(self, why: &str, name: &str, bytes: &[u8]) {
        self.ready_copy.set_value(None);
        let began = files::download(name, MEDIA, bytes);
        self.notice(say::storage::not_shared(why, name, began), true);
    }

    /// A ready copy is of this job, to which nothing was added since.
    fn is_as_it_stands(self, ready: &ReadyCopy, id: &str) -> bool {
        let open = self.book.get_untracked().filter(|b| b.id().as_str() == id);
        ready.book.id().as_str() == id
            && open.is_none_or(|open| open.ledger.len() == ready.book.ledger.len())
    }

    async fn copied(self, book: &Arc<Book>) {
        let now = clock::millis();
        let earlier = self.card_of(book.id().as_str());
        let mut card = book.card(earlier.as_ref(), earlier.as_ref().map_or(now, |c| c.used));
        card.copied = Some(now);
        card.copied_facts = card.facts;
        self.shelf.update(|s| {
            if let Some(c) = s.iter_mut().flatten().find(|c| c.id == card.id) {
                *c = card.clone();
            }
        });
        if let Err(e) = store::keep_card(&card).await {
            self.not_kept(e);
        }
    }
}
