//! What is in hand on the cards: the fields as typed, what of them is kept, which card is open.
//!
//! What is understood becomes facts when somebody goes on to the next thing; what stands in a
//! field until then is a draft, kept too, so that a killed tab loses nothing.

use super::model::{self, Answers};
use crate::ports::{clock, settings, store};
use crate::route::Route;
use crate::state::{Book, Session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::job::{JobId, QuickCards};
use samespot_core::write::job::Attachments;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Fields that a killed tab may lose are written down after this pause in typing, ms.
const DRAFT_MS: i32 = 200;

/// The draft of a quick template that has no job yet.
const NEW: &str = "new quick template";

/// The cards in hand.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    pub(super) session: Session,
    /// What stands in each field.
    pub(super) answers: RwSignal<Answers>,
    /// What of it is understood.
    pub(super) cards: Memo<QuickCards>,
    /// What of it is kept.
    pub(super) kept: Memo<Option<QuickCards>>,
    /// The open card, from 0.
    pub(super) open: RwSignal<usize>,
    /// The piece in hand.
    pub(super) piece: Memo<u32>,
    /// The fields as the job last had them.
    said: StoredValue<Answers>,
    /// The job the cards belong to, once there is one.
    job: StoredValue<Option<JobId>>,
    drafts: StoredValue<u32>,
    pending: StoredValue<Attachments>,
}

impl Hand {
    /// Takes up the cards of the job at this address, or new ones.
    pub(super) fn take(session: Session) -> Self {
        let answers = RwSignal::new(Answers::new());
        let hand = Self {
            session,
            answers,
            cards: Memo::new(move |_| answers.with(model::cards)),
            kept: Memo::new(move |_| {
                let here = session.route.with(|r| matches!(r, Route::Quick { .. }));
                let book = session.book.get().filter(|_| here);
                book.and_then(|b| QuickCards::of_job(&b.job))
            }),
            open: RwSignal::new(0),
            piece: Memo::new(move |_| answers.with(model::piece_in_hand)),
            said: StoredValue::new(Answers::new()),
            job: StoredValue::new(None),
            drafts: StoredValue::new(0),
            pending: StoredValue::new(Attachments::new()),
        };
        hand.follow_job();
        hand
    }

    /// The job as it is open here.
    pub(super) fn book(&self) -> Option<Arc<Book>> {
        let route = self.session.route.get();
        self.session
            .book
            .get()
            .filter(|b| matches!(&route, Route::Quick { job } if b.id() == job))
    }

    /// Follows the address and the job: what another tab, an undo or a file changed stands in its
    /// field; what is being typed elsewhere stays.
    fn follow_job(self) {
        Effect::new(move |_| {
            let route = self.session.route.get();
            let at = match &route {
                Route::Quick { job } => Some(job.clone()),
                _ => None,
            };
            if route == Route::NewQuick && (self.job.get_value().is_some() || self.fresh()) {
                self.begin_again();
                return;
            }
            let Some(book) = self.book() else { return };
            if self.job.get_value() != at {
                let begun_here = self.job.get_value().is_none() && !self.fresh();
                self.job.set_value(at);
                if !begun_here {
                    self.answers.set(Answers::new());
                    self.said.set_value(Answers::new());
                    self.follow(&book);
                    self.open_first_empty();
                    self.fetch_draft(book.id().to_string());
                    return;
                }
            }
            self.follow(&book);
        });
    }

    /// Nothing has been said on these cards.
    fn fresh(&self) -> bool {
        self.answers.with_untracked(Answers::is_empty)
    }

    fn begin_again(&self) {
        self.job.set_value(None);
        self.said.set_value(Answers::new());
        let paper = settings::get("paper").filter(|p| p != "A4");
        self.answers
            .set(paper.map(|p| ("paper".to_owned(), p)).into_iter().collect());
        self.open.set(0);
        self.fetch_draft(NEW.to_owned());
    }

    fn follow(&self, book: &Book) {
        let Some(cards) = QuickCards::of_job(&book.job) else {
            return;
        };
        let now = model::answers_of(&cards);
        let before = self.said.get_value();
        let keys: BTreeSet<&String> = now.keys().chain(before.keys()).collect();
        let changed: Vec<(String, Option<String>)> = keys
            .into_iter()
            .filter(|k| now.get(*k) != before.get(*k))
            .map(|k| (k.clone(), now.get(k).cloned()))
            .collect();
        if !changed.is_empty() {
            self.answers.update(|a| {
                for (key, value) in changed {
                    match value {
                        Some(value) => drop(a.insert(key, value)),
                        None => drop(a.remove(&key)),
                    }
                }
            });
        }
        self.said.set_value(now);
    }

    fn open_first_empty(&self) {
        let cards = self.cards.get_untracked();
        let filled = model::filled(&cards, self.piece.get_untracked());
        self.open.set(filled.iter().position(|f| !f).unwrap_or(3));
    }

    fn draft_name(&self) -> String {
        self.job
            .get_value()
            .map_or_else(|| NEW.to_owned(), |j| j.to_string())
    }

    fn fetch_draft(self, name: String) {
        spawn_local(async move {
            let Ok(Some(text)) = store::draft(&name).await else {
                return;
            };
            let Ok(draft) = serde_json::from_str::<Answers>(&text) else {
                return;
            };
            if draft.is_empty() || self.job.try_get_value().is_none() || self.draft_name() != name {
                return;
            }
            self.answers.update(|a| a.extend(draft));
            self.open_first_empty();
        });
    }

    /// What stands in the fields and not in the job; nothing once the screen is gone.
    fn draft(&self) -> Option<Answers> {
        let said = self.said.try_get_value()?;
        let new =
            |k: &str, v: &String| said.get(k) != Some(v) && (said.contains_key(k) || !v.is_empty());
        self.answers.try_with_untracked(|a| {
            a.iter()
                .filter(|(k, v)| new(k, v))
                .map(|(k, v)| (k.clone(), v.clone()))
                .collect()
        })
    }

    /// Writes the draft down after a short pause. Should the screen be gone by then, it is the
    /// draft of now.
    fn keep_draft(self) {
        let number = self.drafts.try_update_value(|n| {
            *n += 1;
            *n
        });
        let (Some(number), Some(now)) = (number, self.draft()) else {
            return;
        };
        let name = self.draft_name();
        spawn_local(async move {
            clock::pause(DRAFT_MS).await;
            let (draft, name) = match self.drafts.try_get_value() {
                None => (now, name),
                Some(n) if n == number => (self.draft().unwrap_or_default(), self.draft_name()),
                Some(_) => return,
            };
            let text = serde_json::to_string(&draft)
                .ok()
                .filter(|_| !draft.is_empty());
            // A device that keeps nothing has said so already.
            let _ = store::keep_draft(&name, text.as_deref()).await;
        });
    }

    /// Somebody typed into a field.
    pub(super) fn write(&self, key: &str, text: String) {
        self.answers.update(|a| {
            a.insert(key.to_owned(), text);
            a.remove(&format!("{key}?"));
        });
        self.keep_draft();
    }

    /// Somebody answered a field's question.
    pub(super) fn pick(&self, key: &str, n: usize) {
        self.answers
            .update(|a| drop(a.insert(format!("{key}?"), n.to_string())));
        self.commit();
    }

    /// Somebody chose something: that is said at once.
    pub(super) fn choose(&self, key: &str, value: &str) {
        self.answers
            .update(|a| drop(a.insert(key.to_owned(), value.to_owned())));
        self.commit();
    }

    /// Artwork that was read, to be attached with the next thing said.
    pub(super) fn attach(&self, hash: String, bytes: Vec<u8>) {
        self.pending.update_value(|p| drop(p.insert(hash, bytes)));
    }

    /// What is attached or about to be.
    pub(super) fn attachments(&self) -> Attachments {
        let mut all = self.pending.get_value();
        if let Some(book) = self.session.book.get_untracked()
            && self.job.with_value(|j| j.as_ref() == Some(book.id()))
        {
            all.extend((*book.attachments).clone());
        }
        all
    }

    /// Says whatever is understood and not said yet. The first of it begins the job.
    pub(super) fn commit(&self) {
        // A field that loses the cursor because its screen goes away still says so.
        let Some(cards) = self.answers.try_with_untracked(model::cards) else {
            return;
        };
        let day = clock::day();
        let attachments = self
            .pending
            .try_update_value(std::mem::take)
            .unwrap_or_default();
        let book = self.session.book.get_untracked().filter(|b| {
            self.session
                .route
                .with_untracked(|r| matches!(r, Route::Quick { job } if b.id() == job))
        });
        let said = match book {
            Some(book) => cards.changes(&book.ledger, &book.job, &day).map(|changes| {
                self.session.say_with(&changes, attachments);
            }),
            None if cards.outline.is_none() && cards.lies_on.is_none() => {
                self.pending.set_value(attachments);
                return;
            }
            None => cards.payloads(&day).map(|payloads| {
                forget_new_draft();
                self.session
                    .begin_job(&payloads, |job| Route::Quick { job });
                self.session.say_with(&[], attachments);
            }),
        };
        if let Err(e) = said {
            self.session
                .notice(format!("That could not be written down ({e})"), true);
        }
        self.keep_draft();
    }

    /// Goes on to the next card that is not filled in.
    pub(super) fn next(&self) {
        self.commit();
        let cards = self.cards.get_untracked();
        let filled = model::filled(&cards, self.piece.get_untracked());
        let open = self.open.get_untracked();
        let next = (open + 1..4).find(|n| !filled.get(*n).copied().unwrap_or(true));
        self.open.set(next.unwrap_or(3));
    }

    /// Adds the next piece and takes it in hand.
    pub(super) fn next_piece(&self) {
        self.answers.update(model::add_piece);
        self.commit();
        self.open.set(3);
    }
}

/// The draft of new cards is done with once there is a job.
fn forget_new_draft() {
    spawn_local(async {
        let _ = store::keep_draft(NEW, None).await;
    });
}
