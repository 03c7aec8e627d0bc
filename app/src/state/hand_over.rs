//! From the small module to the whole one: the whole goes on where the small one stood.
//!
//! The job goes along as a whole, because a device that keeps nothing has it nowhere else. The new
//! module is a writer of its own, as another tab would be: what the old one still writes meanwhile
//! can never carry the name of one of its entries.

use super::errand::Errand;
use super::{Book, CameIn, Keeping, Notice, Session, Steps};
use crate::ports::files::Picked;
use crate::ports::store::{self, Card};
use crate::ports::worker;
use base64::prelude::{BASE64_STANDARD, Engine as _};
use leptos::prelude::*;
use samespot_core::job::JobId;
use serde::{Deserialize, Serialize};
use wasm_bindgen::{JsCast, JsValue};

/// What one module leaves to the next.
#[derive(Debug, Clone)]
pub struct Handed {
    words: Words,
    /// Files to be opened, one for each errand that opens one.
    files: Vec<Picked>,
}

#[derive(Debug, Clone, Serialize, Deserialize, PartialEq)]
struct Words {
    job: Option<Opened>,
    steps: Steps,
    came_in: Option<CameIn>,
    notices: Vec<Notice>,
    as_drawn: bool,
    errands: Vec<Errand>,
    /// What stands on the start page: among it when each job was last copied off.
    shelf: Option<Vec<Card>>,
}

/// The open job.
#[derive(Debug, Clone, Serialize, Deserialize, PartialEq)]
struct Opened {
    id: JobId,
    facts: Vec<String>,
    /// By hash, base-64.
    attachments: Vec<(String, String)>,
    /// All of it is on the device.
    kept: bool,
    /// Since when, where it was changed here.
    kept_at: Option<String>,
}

impl Opened {
    #[cfg(any(test, not(feature = "whole")))]
    fn of(book: &Book, keeping: &Keeping) -> Self {
        let attachments = book.attachments.iter();
        Self {
            id: book.id().clone(),
            facts: book.texts(),
            attachments: attachments
                .map(|(hash, bytes)| (hash.clone(), BASE64_STANDARD.encode(bytes)))
                .collect(),
            kept: matches!(keeping, Keeping::Kept(_) | Keeping::NothingYet),
            kept_at: match keeping {
                Keeping::Kept(at) => Some(at.clone()),
                _ => None,
            },
        }
    }

    fn book(&self) -> Book {
        let attachments = self.attachments.iter().filter_map(|(hash, text)| {
            let bytes = BASE64_STANDARD.decode(text).ok()?;
            Some((hash.clone(), bytes))
        });
        Book::of_kept(self.id.clone(), self.facts.clone(), attachments.collect()).0
    }
}

impl Handed {
    /// Reads what was handed over; nothing where this module is the first.
    #[must_use]
    pub fn read(handed: &JsValue) -> Option<Self> {
        let words = js_sys::Reflect::get(handed, &"words".into()).ok()?;
        let words = samespot_core::json::read(&words.as_string()?).ok()?;
        worker::adopt(handed);
        let files = js_sys::Reflect::get(handed, &"files".into()).ok()?;
        let files = js_sys::Array::from(&files);
        let files = files.iter().filter_map(|f| f.dyn_into().ok()).collect();
        Some(Self { words, files })
    }
}

impl Session {
    /// Goes on with what another module handed over.
    pub(super) fn go_on_with(&self, handed: Handed) {
        let Words {
            job,
            steps,
            came_in,
            notices,
            as_drawn,
            errands,
            shelf,
        } = handed.words;
        self.shelf.set(shelf);
        self.steps.set(steps);
        self.came_in.set(came_in);
        self.notices.set(notices);
        self.as_drawn.set(as_drawn);
        if let Some(opened) = job {
            self.go_on_in(&opened);
        }
        let mut files = handed.files.into_iter();
        for errand in errands {
            let file = if errand == Errand::Open {
                files.next()
            } else {
                None
            };
            self.run(errand, file);
        }
    }

    fn go_on_in(&self, opened: &Opened) {
        self.open_book(opened.book());
        if !opened.kept {
            if let Some(book) = self.book.get_untracked() {
                let attachments = (*book.attachments).clone().into_iter().collect();
                self.keep(&book, book.texts(), attachments, None);
            }
        } else {
            self.whole_at.set_value(Some(store::made()));
            if let Some(at) = &opened.kept_at {
                self.keeping.set(Keeping::Kept(at.clone()));
            }
        }
        self.catch_up(opened.id.clone());
    }
}

#[cfg(not(feature = "whole"))]
mod small {
    use super::*;
    use crate::ports::whole;
    use crate::state::errand;
    use std::cell::Cell;

    thread_local! {
        static SESSION: Cell<Option<Session>> = const { Cell::new(None) };
    }

    pub(in crate::state) fn remember(session: Session) {
        SESSION.set(Some(session));
    }

    /// Lets go of the page; nothing where it is not asked for any more.
    pub fn hand_over() -> JsValue {
        let session = SESSION.get().filter(|_| !whole::handed_over());
        let asked = session.filter(|s| untrack(|| s.is_elsewhere()));
        let Some(session) = asked else {
            return JsValue::UNDEFINED;
        };
        let keeping = session.keeping.get_untracked();
        let left = errand::left(session.leaving.get_untracked());
        let (errands, files): (Vec<_>, Vec<_>) = left.into_iter().unzip();
        let words = Words {
            job: session
                .book
                .with_untracked(|b| b.as_ref().map(|b| Opened::of(b, &keeping))),
            steps: session.steps.get_untracked(),
            came_in: session.came_in.get_untracked(),
            notices: session.notices.get_untracked(),
            as_drawn: session.as_drawn.get_untracked(),
            errands,
            shelf: session.shelf.get_untracked(),
        };
        let Ok(words) = serde_json::to_string(&words) else {
            return JsValue::UNDEFINED;
        };
        whole::hand_over();
        // The whole module offers it again; what is owed to other jobs is still offered from here.
        let open = session
            .book
            .with_untracked(|b| b.as_ref().map(|b| b.id().to_string()));
        if let Some(open) = open {
            session.owed.update_value(|(owed, _)| owed.forget(&open));
        }
        let handed = worker::give_away();
        let _ = js_sys::Reflect::set(&handed, &"words".into(), &words.into());
        let files: js_sys::Array = files.into_iter().flatten().collect();
        let _ = js_sys::Reflect::set(&handed, &"files".into(), &files);
        handed.into()
    }

    /// The whole module did not come.
    pub fn not_loaded(why: &str) {
        crate::ports::warn(why);
        if let Some(session) = SESSION.get() {
            session.whole_lacking.set(true);
        }
    }
}

#[cfg(not(feature = "whole"))]
pub(super) use small::remember;
#[cfg(not(feature = "whole"))]
pub use small::{hand_over, not_loaded};

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::screens::start::new_job::new_job;
    use samespot_core::job::{Ledger, ReplicaId, Writer};
    use samespot_core::write::job::Attachments;

    #[test]
    fn a_job_goes_from_one_module_to_the_next_as_a_whole() {
        let mut ledger = Ledger::new(JobId::new("j").unwrap());
        let writer = Writer {
            replica: ReplicaId(1),
            who: "A".into(),
            wall: String::new(),
        };
        for payload in new_job("2026-11-27") {
            ledger.write(&writer, &payload).unwrap();
        }
        // What this version cannot read is carried along.
        ledger.keep_unread("{\"from\":\"later\"}".into());
        let attachments = Attachments::from([("h".to_owned(), vec![0, 159, 255])]);
        let book = Book::new(ledger, attachments);
        for (keeping, kept) in [
            (Keeping::Kept("12:00".into()), true),
            (Keeping::NothingYet, true),
            (Keeping::Writing, false),
        ] {
            let opened = Opened::of(&book, &keeping);
            let text = serde_json::to_string(&opened).unwrap();
            let back: Opened = serde_json::from_str(&text).unwrap();
            assert_eq!(back.kept, kept);
            let there = back.book();
            assert_eq!(there.texts(), book.texts());
            assert_eq!(there.attachments, book.attachments);
            assert_eq!(*there.job, *book.job);
        }
    }
}
