//! Edits as facts: written, kept, told.

use super::owed::Parcel;
use super::{Book, Session};
use crate::ports::store::{self, StoreError};
use crate::ports::tabs::{self, Heard};
use crate::ports::{address, clock, ids, settings, whole};
use crate::route::Route;
use crate::say;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::{Fact, FactId, JobId, Ledger, Payload, Writer};
use samespot_core::write::job::Attachments;
use std::sync::Arc;

/// How far what was done is kept on this device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Keeping {
    /// Nothing has been done yet.
    NothingYet,
    /// Being written.
    Writing,
    /// Kept, at this time.
    Kept(String),
    /// Not kept, and why: the window alone holds it.
    NotKept(StoreError),
}

/// How long after a refusal the device is asked again, ms, doubled each time …
const AGAIN_MS: i32 = 2_000;
/// … up to this many times.
const AGAIN_MOST: u32 = 6;

impl Session {
    fn writer(&self) -> Writer {
        Writer {
            replica: self.replica,
            who: settings::get("who").unwrap_or_default(),
            wall: clock::wall(),
        }
    }

    /// Says something about the open job. Gives back the new facts.
    pub fn say(&self, payloads: &[Payload]) -> Vec<Fact> {
        self.say_with(payloads, Attachments::new())
    }

    /// Says something, and attaches something.
    pub fn say_with(&self, payloads: &[Payload], attachments: Attachments) -> Vec<Fact> {
        let facts = self.write(payloads, attachments);
        if let Some(book) = self.book.get_untracked() {
            self.steps.update(|s| s.note(book.id(), &facts));
        }
        facts
    }

    /// Says something of a job that was in hand when it was begun: where another is open by now, it
    /// is written to the one that it is about.
    /// Gives back the new facts of the open one.
    pub fn say_of(self, job: JobId, payloads: Vec<Payload>) -> Vec<Fact> {
        if payloads.is_empty() {
            return Vec::new();
        }
        let is_open = |s: Self| {
            s.book
                .with_untracked(|b| b.as_ref().is_some_and(|b| *b.id() == job))
        };
        if is_open(self) {
            return self.say(&payloads);
        }
        spawn_local(async move {
            let kept = store::job(job.as_str()).await.ok().flatten();
            let Some((book, _)) = self.book_of(&job, kept) else {
                self.notice(
                    "The print could not be noted: its job is no longer on this device",
                    true,
                );
                return;
            };
            let mut ledger = book.ledger.clone();
            // A writer of its own: two prints that are noted at one time both read what the device has
            // before either is kept, and as one writer they would give one name to two entries.
            let writer = Writer {
                replica: ids::replica(),
                ..self.writer()
            };
            self.remember_as_own(writer.replica);
            let facts: Vec<Fact> = payloads
                .iter()
                .filter_map(|p| ledger.write(&writer, p).ok())
                .collect();
            let new: Vec<FactId> = facts.iter().map(|f| f.envelope.id).collect();
            let book = Arc::new(book.and(ledger, &new));
            self.keep_and_tell(&book, &facts, Attachments::new());
        });
        Vec::new()
    }

    pub(super) fn write(&self, payloads: &[Payload], attachments: Attachments) -> Vec<Fact> {
        let Some(book) = self.book.get_untracked() else {
            return Vec::new();
        };
        if payloads.is_empty() && attachments.is_empty() {
            return Vec::new();
        }
        let mut ledger = book.ledger.clone();
        self.remember_writer();
        let writer = self.writer();
        let mut facts = Vec::new();
        for payload in payloads {
            match ledger.write(&writer, payload) {
                Ok(fact) => facts.push(fact),
                Err(e) => self.notice(format!("That could not be written down ({e})"), true),
            }
        }
        let new: Vec<FactId> = facts.iter().map(|f| f.envelope.id).collect();
        let mut book = book.and(ledger, &new);
        book.attach(attachments.clone());
        let book = Arc::new(book);
        self.book.set(Some(Arc::clone(&book)));
        self.keep_and_tell(&book, &facts, attachments);
        facts
    }

    /// Begins a job and opens it where we stand, without a step for the *back* button.
    pub fn begin_job(&self, payloads: &[Payload], at: impl Fn(JobId) -> Route) -> Option<JobId> {
        let id = ids::job()?;
        let book = Book::new(Ledger::new(id.clone()), Attachments::new());
        self.book.set(Some(Arc::new(book)));
        self.survey.set(None);
        self.whole_at.set_value(None);
        self.write(payloads, Attachments::new());
        let route = at(id.clone());
        address::rename(&route);
        self.route.set(route);
        Some(id)
    }

    fn keep_and_tell(&self, book: &Arc<Book>, facts: &[Fact], attachments: Attachments) {
        let texts: Vec<String> = facts.iter().map(|f| f.bytes().to_owned()).collect();
        let with_attachments = !attachments.is_empty();
        let heard = Heard {
            job: book.id().to_string(),
            facts: facts.iter().filter_map(|f| f.raw().ok()).collect(),
            attachments: with_attachments,
        };
        self.keep(book, texts, attachments.into_iter().collect(), Some(heard));
        self.look_over();
    }

    /// Writes to the device and then, and only then, says so. What was not taken before goes with it:
    /// *saved* is said of all or of nothing.
    pub(super) fn keep(
        &self,
        book: &Arc<Book>,
        facts: Vec<String>,
        attachments: Vec<(String, Vec<u8>)>,
        then_tell: Option<Heard>,
    ) {
        let session = *self;
        let earlier = self.card_of(book.id().as_str());
        let card = book.card(earlier.as_ref(), clock::millis());
        self.put_on_shelf(card.clone());
        session.keeping.set(Keeping::Writing);
        let new = Parcel { facts, attachments };
        let parcel = self
            .owed
            .try_update_value(|(owed, _)| owed.sent(&card.id, new));
        let Some(parcel) = parcel else { return };
        let book = Arc::clone(book);
        spawn_local(async move {
            match store::keep(&card, &parcel.facts, &parcel.attachments).await {
                Ok(had) => {
                    // Not before: what was never kept is not missed when the app starts again.
                    remember_job(&card.id);
                    session.owed.update_value(|(owed, _)| owed.arrived());
                    if session.was_thrown_away(&book) {
                        return session.keep_all_again(&book, say::storage::KEPT_AGAIN);
                    }
                    // More was said of it than went along, and the rest is not there (any more).
                    if !had && book.ledger.len() > parcel.facts.len() {
                        return session.keep_all_again(&book, say::storage::REMOVED_ELSEWHERE);
                    }
                    if session
                        .owed
                        .with_value(|(owed, _)| owed.all_is_kept(&card.id))
                    {
                        session.owed.update_value(|(_, tries)| *tries = 0);
                        session.keeping.set(Keeping::Kept(clock::time()));
                    }
                    if let Some(heard) = then_tell {
                        tabs::tell(&heard);
                    }
                }
                Err(e) => {
                    let job = card.id.clone();
                    session
                        .owed
                        .update_value(|(owed, _)| owed.came_back(&job, parcel));
                    // The module that took the page over has it from here, or from nowhere.
                    if whole::handed_over()
                        && let Some(heard) = then_tell
                    {
                        tabs::tell(&heard);
                    }
                    session.not_kept(e);
                    session.offer_again(book);
                }
            }
        });
    }

    /// The storage was made anew since the open job was known to be kept as a whole.
    fn was_thrown_away(self, book: &Arc<Book>) -> bool {
        let open = self
            .book
            .with_untracked(|b| b.as_ref().is_some_and(|b| b.id() == book.id()));
        let made = store::made();
        let before = self
            .whole_at
            .try_update_value(|at| at.replace(made))
            .flatten();
        open && before.is_some_and(|before| before != made)
    }

    /// Writes all of a job again.
    fn keep_all_again(self, book: &Arc<Book>, why: &str) {
        let now = self.book.get_untracked().filter(|b| b.id() == book.id());
        let book = now.as_ref().unwrap_or(book);
        let attachments = (*book.attachments).clone().into_iter().collect();
        self.notice(why, true);
        self.keep(book, book.texts(), attachments, None);
    }

    /// Offers the device once more what it did not take: soon, then more and more seldom.
    fn offer_again(self, book: Arc<Book>) {
        let tries = self.owed.try_update_value(|(_, tries)| {
            *tries += 1;
            *tries
        });
        let wait_ms = AGAIN_MS << tries.unwrap_or_default().min(AGAIN_MOST).saturating_sub(1);
        spawn_local(async move {
            clock::pause(wait_ms).await;
            let id = book.id().as_str();
            if self.owed.with_value(|(owed, _)| owed.owes(id)) {
                // As it stands by now.
                let now = self.book.get_untracked().filter(|b| b.id() == book.id());
                self.keep(&now.unwrap_or(book), Vec::new(), Vec::new(), None);
            }
        });
    }

    pub(super) fn not_kept(&self, why: StoreError) {
        self.notice(say::storage::not_kept(&why), true);
        self.keeping.set(Keeping::NotKept(why));
    }

    /// Takes in what the device holds of the open job beyond what is here: another tab's word may
    /// have fallen between two modules, and files come by the device alone.
    pub(super) fn catch_up(self, id: JobId) {
        spawn_local(async move {
            let Ok(Some(kept)) = store::job(id.as_str()).await else {
                return;
            };
            let Some(open) = self.book.get_untracked().filter(|b| *b.id() == id) else {
                return;
            };
            let mut ledger = open.ledger.clone();
            let unread = ledger.unread().len();
            let new = super::book::take(&mut ledger, kept.facts);
            let unread_too = ledger.unread().len() > unread;
            let attachments = kept.attachments.into_iter();
            let more: Attachments = attachments
                .filter(|(hash, _)| !open.attachments.contains_key(hash))
                .collect();
            if new.is_empty() && more.is_empty() && !unread_too {
                return;
            }
            let mut book = open.and(ledger, &new);
            book.attach(more);
            self.book.set(Some(Arc::new(book)));
            self.look_over();
        });
    }

    /// Follows what other tabs say, and catches up where they were not heard: a page that the browser had
    /// laid aside goes on as it was.
    pub(super) fn follow_tabs(self) {
        tabs::follow_return(move || match self.book.get_untracked() {
            Some(book) => self.catch_up(book.id().clone()),
            None => self.refresh_shelf(),
        });
        tabs::ask_before_leaving(move || self.owed.with_value(|(owed, _)| owed.owes_anything()));
        tabs::follow(move |heard| {
            let Some(book) = self.book.get_untracked() else {
                self.refresh_shelf();
                return;
            };
            if book.id().as_str() != heard.job {
                self.refresh_shelf();
                return;
            }
            if heard.attachments {
                self.catch_up(book.id().clone());
                return;
            }
            let mut ledger = book.ledger.clone();
            let texts = heard.facts.iter().map(|f| f.get().to_owned());
            let new = super::book::take(&mut ledger, texts);
            if !new.is_empty() {
                self.book.set(Some(Arc::new(book.and(ledger, &new))));
                self.look_over();
            }
        });
    }
}

/// Remembers, outside the storage proper, that a job should be here.
fn remember_job(id: &str) {
    let known = settings::get("jobs").unwrap_or_default();
    if !known.split(' ').any(|k| k == id) {
        settings::set("jobs", format!("{known} {id}").trim());
    }
}
