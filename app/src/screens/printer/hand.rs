//! The printer in hand: which, on which paper, what is being typed and what it comes to.

use super::model::{self, Read};
use crate::ports::{clock, ids, print};
use crate::state::Session;
use crate::widgets::read_with::ReadWith;
use crate::widgets::typing::Typing;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{JobId, Payload, PrinterEdit, PrinterId};
use samespot_core::prepare::printer::ProofView;
use samespot_core::sheet::Paper;
use std::sync::Arc;

/// The state of the screen.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    session: Session,
    /// The printer in use.
    pub(super) printer: Memo<Option<(PrinterId, PrinterEdit)>>,
    /// The paper in use.
    pub(super) paper: Memo<Paper>,
    /// The name of a printer that is not there yet.
    pub(super) name: RwSignal<String>,
    /// A–B, A–D, A–C, B–D.
    pub(super) fields: [Typing; 4],
    pub(super) with: ReadWith,
    pub(super) reaches: RwSignal<String>,
    /// What is known of it, or why nothing is.
    pub(super) looked: RwSignal<Option<Result<Arc<ProofView>, String>>>,
    /// A page is being made.
    pub(super) busy: RwSignal<bool>,
    asked: StoredValue<u32>,
}

impl Hand {
    pub(super) fn take(session: Session) -> Self {
        let printer = Memo::new(move |_| {
            session
                .book
                .with(|b| b.as_ref().and_then(|b| model::in_use(&b.job)))
        });
        let paper = Memo::new(move |_| {
            session
                .book
                .with(|b| b.as_ref().and_then(|b| b.job.about.paper))
                .unwrap_or(Paper::A4)
        });
        let hand = Self {
            session,
            printer,
            paper,
            name: RwSignal::new(String::new()),
            fields: [(); 4].map(|()| Typing::of_length(None)),
            with: ReadWith::steel_rule(),
            reaches: RwSignal::new(String::new()),
            looked: RwSignal::new(None),
            busy: RwSignal::new(false),
            asked: StoredValue::new(0),
        };
        Effect::new(move |_| hand.look());
        hand
    }

    /// What is typed so far.
    pub(super) fn read(self) -> Read {
        let [across, up, rising, falling] = self.fields.map(Typing::entry);
        Read {
            across,
            up,
            rising,
            falling,
            class: self.with.class(),
            step: self.with.step(),
            reaches: self.reaches.get(),
        }
    }

    fn look(self) {
        let Some(book) = self.session.book.get() else {
            return;
        };
        let ask = Ask::Proof {
            job: book.id().clone(),
            printer: self.printer.get().map(|p| p.0),
            paper: self.paper.get(),
            typed: self.read().typed(),
        };
        self.asked.update_value(|n| *n += 1);
        let number = self.asked.get_value();
        spawn_local(async move {
            let answer = Session::ask(book, ask).await;
            if self.asked.try_get_value() != Some(number) {
                return;
            }
            let looked = match answer {
                Ok((Reply::Proof(view), _)) => Ok(Arc::from(view)),
                Ok(_) => return,
                Err(why) => Err(why),
            };
            let _ = self.looked.try_set(Some(looked));
        });
    }

    pub(super) fn say(self, payloads: &[Payload]) {
        self.session.say(payloads);
    }

    /// The printer in use; one is made where there is none.
    fn ensure(self) -> Option<PrinterId> {
        if let Some((id, _)) = self.printer.get_untracked() {
            return Some(id);
        }
        let id = PrinterId::new(&format!("pr{}", ids::thing())).ok()?;
        self.say(&model::new_printer(&id, &self.name.get_untracked()));
        Some(id)
    }

    /// Gives the printer in use a name, or makes one of that name.
    pub(super) fn call(self, name: String) {
        match self.printer.get_untracked() {
            Some((id, _)) if !name.trim().is_empty() => {
                let name = Some(name.trim().to_owned());
                self.set(
                    &id,
                    &PrinterEdit {
                        name,
                        ..PrinterEdit::default()
                    },
                );
            }
            Some(_) => {}
            None => {
                let named = !name.trim().is_empty();
                self.name.set(name);
                if named {
                    self.ensure();
                }
            }
        }
    }

    /// Another printer, to be named.
    pub(super) fn another(self) {
        let Ok(id) = PrinterId::new(&format!("pr{}", ids::thing())) else {
            return;
        };
        self.say(&model::new_printer(&id, "another printer"));
        self.clear();
    }

    pub(super) fn set(self, printer: &PrinterId, fields: &PrinterEdit) {
        self.say(&model::set_printer(printer, fields));
    }

    fn clear(self) {
        self.fields.iter().for_each(|f| f.set(""));
        self.reaches.set(String::new());
    }

    /// Keeps the proof.
    pub(super) fn keep(self) {
        let read = untrack(|| self.read());
        let drawn = self.looked.with_untracked(|l| match l {
            Some(Ok(view)) if matches!(view.says, Some(Ok(_))) => Some(view.drawn),
            _ => None,
        });
        let (Some(drawn), Some(_)) = (drawn, read.typed()) else {
            return;
        };
        let Some(printer) = self.ensure() else { return };
        let paper = self.paper.get_untracked();
        if let Some(fact) = read.fact(printer, paper, drawn, clock::day()) {
            self.say(&[Payload::Proof(Box::new(fact))]);
            self.clear();
        }
    }

    fn page(self, job: JobId) -> Ask {
        let printer = self.printer.get_untracked();
        Ask::ProofPage {
            job,
            printer: printer
                .and_then(|p| p.1.name)
                .unwrap_or_else(|| self.name.get_untracked()),
            paper: self.paper.get_untracked(),
            day: clock::day(),
        }
    }

    /// Prints the page.
    pub(super) fn print(self) {
        let Some(book) = self.session.book.get_untracked() else {
            return;
        };
        self.busy.set(true);
        let ask = self.page(book.id().clone());
        spawn_local(async move {
            match Session::ask(book, ask).await {
                Ok((Reply::File { .. }, bytes)) if print::print(&bytes) => {}
                Ok(_) => self.session.notice(
                    "The browser opened no window to print from: download the page and print it at 100 %",
                    true,
                ),
                Err(why) => self.session.notice(why, true),
            }
            let _ = self.busy.try_set(false);
        });
    }

    /// Saves the page.
    pub(super) fn download(self) {
        let Some(book) = self.session.book.get_untracked() else {
            return;
        };
        let ask = self.page(book.id().clone());
        spawn_local(self.session.download(book, ask, self.busy));
    }
}
