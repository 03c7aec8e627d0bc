//! The history in hand: what is looked for, the entry that is open, what it is compared with.

use crate::state::{CameIn, Session};
use crate::widgets::looked::Looked;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::FactId;
use samespot_core::prepare::history::{ComparedView, HistoryAsk, HistoryView, Settles};
use std::sync::Arc;

/// So many entries are shown at first, and so many more at each asking.
pub(super) const PAGE: usize = 100;

/// So many differences are shown.
const MOST_DIFFERENCES: usize = 1500;

/// What the open entry is put beside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Beside {
    /// Nothing: what it changed is enough.
    Nothing,
    /// Nothing at all: the job as it was then.
    Then,
    /// The job as it is now.
    Now,
    /// The next entry that is tapped.
    Choosing,
    /// Another entry.
    Entry(FactId),
}

/// The state of the screen.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    pub(super) session: Session,
    /// Words looked for.
    pub(super) find: RwSignal<String>,
    most: RwSignal<usize>,
    /// Only what came in with the last copy.
    pub(super) only_new: RwSignal<bool>,
    pub(super) looked: RwSignal<Looked<HistoryView>>,
    pub(super) open: RwSignal<Option<FactId>>,
    pub(super) beside: RwSignal<Beside>,
    pub(super) compared: RwSignal<Looked<ComparedView>>,
}

impl Hand {
    pub(super) fn take(session: Session) -> Self {
        let hand = Self {
            session,
            find: RwSignal::new(String::new()),
            most: RwSignal::new(PAGE),
            only_new: RwSignal::new(true),
            looked: RwSignal::new(Looked::Working),
            open: RwSignal::new(None),
            beside: RwSignal::new(Beside::Nothing),
            compared: RwSignal::new(Looked::Working),
        };
        let asked = StoredValue::new(0_u32);
        Effect::new(move |_| hand.look(asked));
        let asked = StoredValue::new(0_u32);
        Effect::new(move |_| hand.compare(asked));
        hand
    }

    /// What came in with a copy of this job, if one was opened.
    pub(super) fn came_in(self) -> Option<CameIn> {
        let came = self.session.came_in.get()?;
        let here = self
            .session
            .book
            .with(|b| b.as_ref().is_some_and(|b| *b.id() == came.job));
        here.then_some(came)
    }

    fn look(self, asked: StoredValue<u32>) {
        let Some(book) = self.session.book.get() else {
            return;
        };
        let only = self
            .came_in()
            .filter(|_| self.only_new.get())
            .map(|c| c.facts);
        let ask = Ask::History {
            job: book.id().clone(),
            of: HistoryAsk {
                find: self.find.get(),
                only,
                most: self.most.get(),
            },
        };
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        spawn_local(async move {
            let looked = match Session::ask(book, ask).await {
                Ok((Reply::History(view), _)) => Looked::View(Arc::from(view)),
                Ok(_) => return,
                Err(why) => Looked::Cannot(why),
            };
            if asked.try_get_value() == Some(number) {
                let _ = self.looked.try_set(looked);
            }
        });
    }

    fn compare(self, asked: StoredValue<u32>) {
        let (Some(open), Some(book)) = (self.open.get(), self.session.book.get()) else {
            return;
        };
        let (from, to) = match self.beside.get() {
            Beside::Nothing | Beside::Choosing => return,
            Beside::Then => (None, Some(open)),
            Beside::Now => (Some(open), None),
            Beside::Entry(other) => {
                if self.place(other) < self.place(open) {
                    (Some(other), Some(open))
                } else {
                    (Some(open), Some(other))
                }
            }
        };
        let ask = Ask::Compared {
            job: book.id().clone(),
            from,
            to,
            most: MOST_DIFFERENCES,
        };
        asked.update_value(|n| *n += 1);
        let number = asked.get_value();
        spawn_local(async move {
            let looked = match Session::ask(book, ask).await {
                Ok((Reply::Compared(view), _)) => Looked::View(Arc::from(view)),
                Ok(_) => return,
                Err(why) => Looked::Cannot(why),
            };
            if asked.try_get_value() == Some(number) {
                let _ = self.compared.try_set(looked);
            }
        });
    }

    /// An entry's place in the one order, as the ledger has it.
    fn place(self, fact: FactId) -> Option<(u64, samespot_core::job::ReplicaId, u64)> {
        self.session.book.with_untracked(|b| {
            let found = b.as_ref()?.ledger.get(fact)?;
            Some(found.envelope.order())
        })
    }

    /// An entry was tapped.
    pub(super) fn tapped(self, fact: FactId) {
        if self.beside.get_untracked() == Beside::Choosing
            && self.open.get_untracked() != Some(fact)
        {
            self.compared.set(Looked::Working);
            self.beside.set(Beside::Entry(fact));
        } else {
            self.open.set(Some(fact));
            self.beside.set(Beside::Nothing);
            // Below the list on a narrow screen: it would be opened out of sight.
            crate::ports::fields::in_sight(".history-opened");
        }
    }

    pub(super) fn put_beside(self, beside: Beside) {
        self.compared.set(Looked::Working);
        self.beside.set(beside);
    }

    pub(super) fn more(self) {
        self.most.update(|n| *n += PAGE);
    }

    pub(super) fn settle(self, chosen: Settles) {
        self.session.say(&[chosen.into()]);
    }
}
