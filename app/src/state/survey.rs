//! Questions about the open job, and the run at a glance.

use super::told::news;
use super::{Book, Session};
use crate::ports::worker::{self, Line, TooLarge};
use crate::ports::{clock, files, print};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Answer, Ask, Reply};
use samespot_core::job::{Fact, JobId, Payload, Printed};
use std::cell::Cell;
use std::sync::Arc;

thread_local! {
    static ASKED: Cell<u32> = const { Cell::new(0) };
    /// How long the last look over the whole run took, ms.
    static TOOK: Cell<i32> = const { Cell::new(0) };
}

/// How long nothing must be said before the whole run is looked over again, ms: a survey of a
/// long run takes a while, and the picture in hand must not wait for it.
const QUIET_MS: i32 = 350;

/// Where looking over takes longer than that, it waits as long as it takes, and no longer than this, ms:
/// who checks one piece after the other would wait for it each time.
const QUIET_MOST_MS: i32 = 20_000;

impl Session {
    /// Asks about the open job.
    ///
    /// # Errors
    /// The sentence that stands in the answer's place.
    pub async fn ask(book: Arc<Book>, ask: Ask) -> Result<(Reply, Vec<u8>), String> {
        let what = TooLarge::asked_by(&ask);
        worker::sentence(Self::put(Line::Sheets, book, ask).await, what)
    }

    /// Asks a worker, with whatever it was not told yet.
    pub fn put(
        line: Line,
        book: Arc<Book>,
        ask: Ask,
    ) -> impl Future<Output = Result<Answer, worker::Broke>> {
        let news = news(line, &book);
        worker::ask(line, ask, news, move || book.brief())
    }

    /// Asks something that takes a while, where nothing else waits behind it.
    ///
    /// # Errors
    /// The sentence that stands in the answer's place.
    pub async fn ask_apart(book: Arc<Book>, ask: Ask) -> Result<(Reply, Vec<u8>), String> {
        worker::break_off(Line::Apart);
        let what = TooLarge::asked_by(&ask);
        // Broken off by the next question, it must not be asked again.
        let told = news(Line::Apart, &book).map(|brief| worker::tell(Line::Apart, brief));
        let asked = worker::put(Line::Apart, ask);
        if let Some(told) = told
            && let Err(broke) = told.await
        {
            return worker::sentence(Err(broke), what);
        }
        worker::sentence(asked.await, what)
    }

    /// Asks for a page to read and saves it; `busy` is set meanwhile.
    pub async fn download(self, book: Arc<Book>, ask: Ask, busy: RwSignal<bool>) {
        let _ = busy.try_set(true);
        let job = book.id().clone();
        let made = Self::ask(book, ask).await;
        self.save_made(job, made, None);
        let _ = busy.try_set(false);
    }

    /// Saves a file that was made, or says why none was; `without` begins the sentences that say what is not
    /// in it.
    pub fn save_made(
        self,
        job: JobId,
        made: Result<(Reply, Vec<u8>), String>,
        without: Option<&str>,
    ) {
        match made {
            Ok((
                Reply::File {
                    name,
                    media,
                    printed,
                    left_out,
                    ..
                },
                bytes,
            )) => {
                if files::download(&name, &media, &bytes) {
                    self.downloaded(job, &name, printed);
                }
                if let Some(without) = without {
                    for sentence in left_out {
                        self.notice(format!("{without}: {sentence}"), true);
                    }
                }
            }
            Ok(_) => {}
            Err(sentence) => self.notice(sentence, true),
        }
    }

    /// Keeps that sheets were printed.
    pub fn printed(self, job: JobId, printed: Vec<Printed>) -> Vec<Fact> {
        self.say_of(job, printed.into_iter().map(Payload::Printed).collect())
    }

    /// The same of a file with sheets that left the device: nobody tells whether it was printed, so it
    /// counts, and how that is taken back is said.
    pub fn downloaded(self, job: JobId, name: &str, printed: Vec<Printed>) {
        let facts = self.printed(job, printed);
        if !facts.is_empty() {
            let says = crate::say::storage::counts_as_printed(name, facts.len());
            self.notice_prints(says, facts.iter().map(|f| f.envelope.id).collect());
        }
    }

    /// Asks for a PDF and opens the browser's print dialog on it; `busy` is set meanwhile.
    pub async fn print(self, book: Arc<Book>, ask: Ask, busy: RwSignal<bool>) {
        let _ = busy.try_set(true);
        let job = book.id().clone();
        match Self::ask(book, ask).await {
            Ok((Reply::File { printed, .. }, bytes)) => {
                if print::print(&bytes) {
                    self.printed(job, printed);
                } else {
                    self.notice(
                        "The browser opened no window to print from: download the PDF and print it at 100 %",
                        true,
                    );
                }
            }
            Ok(_) => {}
            Err(sentence) => self.notice(sentence, true),
        }
        let _ = busy.try_set(false);
    }

    /// Looks the whole run over, once nothing has been said for a moment.
    pub(super) fn look_over(self) {
        let number = ASKED.get().wrapping_add(1);
        ASKED.set(number);
        spawn_local(async move {
            clock::pause(TOOK.get().clamp(QUIET_MS, QUIET_MOST_MS)).await;
            if ASKED.get() != number {
                return;
            }
            let Some(book) = self.book.get_untracked() else {
                return;
            };
            let job = book.id().clone();
            let began = clock::millis();
            let reply = Self::ask(book, Ask::Survey { job: job.clone() }).await;
            #[allow(
                clippy::cast_possible_truncation,
                reason = "milliseconds of one answer"
            )]
            TOOK.set((clock::millis() - began) as i32);
            let still = self
                .book
                .with_untracked(|b| b.as_ref().is_some_and(|b| *b.id() == job));
            if let (Ok((Reply::Survey(survey), _)), true, true) =
                (reply, still, ASKED.get() == number)
            {
                self.survey.set(Some(Arc::new(survey)));
            }
        });
    }
}
