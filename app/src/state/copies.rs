//! Copies of jobs off this device.

use super::{Book, Session};
use crate::ports::{clock, files, share, store};
use crate::say;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::JobId;
use samespot_core::write::job::job_file;
use std::sync::Arc;

impl Session {
    /// Copies a job off this device: shared where files can be shared, else downloaded.
    pub fn copy_off(self, id: String) {
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
            let media = "application/octet-stream";
            let handed = if files::on_ios() && share::possible() {
                match share::share(&name, media, &bytes).await {
                    share::Shared::Handed => true,
                    share::Shared::Cancelled => false,
                    share::Shared::Failed(why) => {
                        self.notice(why, true);
                        files::download(&name, media, &bytes)
                    }
                }
            } else {
                files::download(&name, media, &bytes)
            };
            if handed {
                self.copied(&book).await;
            }
        });
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
