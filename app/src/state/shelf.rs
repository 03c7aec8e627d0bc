//! The jobs on this device.

use super::{Book, Keeping, Lookup, Session};
use crate::ports::settings;
use crate::ports::store::{self, Card, KeptJob, StoreError};
use crate::say;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::JobId;
use std::sync::Arc;

impl Session {
    /// Tries the storage and looks what is on it.
    pub(super) fn look_at_device(self) {
        // Before the storage is looked at: what is kept while it is being read was never missing.
        let known = settings::get("jobs").unwrap_or_default();
        spawn_local(async move {
            while let Err(e) = store::probe().await {
                let blocked = e == StoreError::Blocked;
                self.not_kept(e);
                self.shelf.set(Some(Vec::new()));
                if !blocked {
                    return;
                }
                store::let_go().await;
                self.came_free();
            }
            self.read_shelf().await;
            let missing = self.shelf.with_untracked(|s| {
                s.as_ref().is_some_and(|s| s.is_empty()) && !known.trim().is_empty()
            });
            if missing {
                self.notice(
                    say::storage::jobs_are_gone(known.split_whitespace().count()),
                    true,
                );
            }
        });
    }

    /// The window that held the storage up is closed: what was said of it no longer holds, and what
    /// was looked for while it did is looked for again.
    fn came_free(self) {
        let said = say::storage::not_kept(&StoreError::Blocked);
        self.notices.update(|all| all.retain(|n| n.text != said));
        if self
            .keeping
            .with_untracked(|k| *k == Keeping::NotKept(StoreError::Blocked))
        {
            self.keeping.set(Keeping::NothingYet);
        }
        if let Lookup::Missing(id) = self.lookup.get_untracked() {
            self.fetch(id);
        }
    }

    async fn read_shelf(self) {
        match store::shelf().await {
            Ok(cards) => self.shelf.set(Some(cards)),
            Err(e) => self.not_kept(e),
        }
    }

    /// Looks again.
    pub(super) fn refresh_shelf(self) {
        spawn_local(self.read_shelf());
    }

    /// The card of a job.
    #[must_use]
    pub fn card_of(&self, id: &str) -> Option<Card> {
        self.shelf
            .with_untracked(|s| s.as_ref()?.iter().find(|c| c.id == id).cloned())
    }

    pub(super) fn put_on_shelf(&self, card: Card) {
        self.shelf.update(|s| {
            let cards = s.get_or_insert_default();
            cards.retain(|c| c.id != card.id);
            cards.insert(0, card);
        });
    }

    /// A job as the device has it, with what it has not taken yet and what was said while it was
    /// read: without them the next entry would bear the name of one that there is already.
    /// With it, how many entries were damaged. Nothing where there is nothing of it at all.
    pub(super) fn book_of(self, id: &JobId, kept: Option<KeptJob>) -> Option<(Book, usize)> {
        let owed = self.owed.with_value(|(owed, _)| owed.to(id.as_str()));
        let open = self.book.get_untracked().filter(|b| b.id() == id);
        if kept.is_none() && owed.facts.is_empty() && open.is_none() {
            return None;
        }
        let mut kept = kept.unwrap_or_default();
        kept.facts.extend(owed.facts);
        kept.attachments.extend(owed.attachments);
        if let Some(open) = open {
            kept.facts.extend(open.texts());
            kept.attachments
                .extend(open.attachments.iter().map(|(h, b)| (h.clone(), b.clone())));
        }
        Some(Book::of_kept(id.clone(), kept.facts, kept.attachments))
    }

    /// Opens a job from this device.
    pub(super) fn fetch(self, id: JobId) {
        self.lookup.set(Lookup::Fetching(id.clone()));
        spawn_local(async move {
            let kept = store::job(id.as_str()).await;
            // Another address may have been asked for meanwhile.
            if self
                .lookup
                .with_untracked(|l| *l != Lookup::Fetching(id.clone()))
            {
                return;
            }
            match kept.map(|kept| self.book_of(&id, kept)) {
                Ok(Some((book, damaged))) => {
                    self.open_book(book);
                    self.whole_at.set_value(Some(store::made()));
                    if damaged > 0 {
                        self.notice(say::storage::damaged(damaged), true);
                    }
                    self.keeping.set(Keeping::NothingYet);
                }
                Ok(None) => {
                    self.book.set(None);
                    self.lookup.set(Lookup::Missing(id));
                }
                Err(e) => {
                    self.not_kept(e);
                    self.book.set(None);
                    self.lookup.set(Lookup::Missing(id));
                }
            }
        });
    }

    pub(super) fn open_book(&self, book: Book) {
        self.survey.set(None);
        self.whole_at.set_value(None);
        self.book.set(Some(Arc::new(book)));
        self.lookup.set(Lookup::Idle);
        self.look_over();
    }

    /// Takes a job off this device.
    pub fn remove_job(self, id: String) {
        spawn_local(async move {
            if let Err(e) = store::remove(&id).await {
                self.not_kept(e);
                return;
            }
            self.owed.update_value(|(owed, _)| owed.forget(&id));
            let known = settings::get("jobs").unwrap_or_default();
            let rest: Vec<&str> = known.split(' ').filter(|k| *k != id).collect();
            settings::set("jobs", &rest.join(" "));
            if self
                .book
                .with_untracked(|b| b.as_ref().is_some_and(|b| b.id().as_str() == id))
            {
                self.book.set(None);
            }
            self.read_shelf().await;
        });
    }
}
