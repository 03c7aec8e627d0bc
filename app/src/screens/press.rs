//! One template being looked at, and its file made ready before anybody taps.

use crate::ports::{clock, files, print, share};
use crate::state::{Book, Session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, FileKind, Reply, TemplateView};
use samespot_core::job::{FeatureId, JobId, PieceId, Printed, SheetOf};
use samespot_core::sheet::Paper;
use std::sync::Arc;

/// What is known of the template.
#[derive(Debug, Clone, PartialEq)]
pub enum Looked {
    /// Nothing was asked for.
    Nothing,
    /// It is being made.
    Making,
    /// Here it is.
    View(Arc<TemplateView>),
    /// It can't be made; why and what to do.
    Cannot(String),
}

/// A file that is ready.
#[derive(Debug, PartialEq)]
pub struct Ready {
    /// Its name.
    pub name: String,
    /// Its media type.
    pub media: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// How many pages.
    pub pages: usize,
    /// What to record when it is printed.
    pub printed: Vec<Printed>,
}

/// Which template, on which paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// The feature.
    pub feature: FeatureId,
    /// The piece.
    pub piece: PieceId,
    /// The paper.
    pub paper: Paper,
}

/// What was asked for before the sheet was ready.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Due {
    Print,
    Download,
}

/// The template in hand.
#[derive(Clone, Copy)]
pub struct Press {
    session: Session,
    /// What is known of it.
    pub looked: RwSignal<Looked>,
    /// Its PDF, once it is ready.
    pub pdf: RwSignal<Option<Arc<Ready>>>,
    /// A larger file is being made: which.
    pub busy: RwSignal<Option<FileKind>>,
    /// Rods are being made.
    pub rodding: RwSignal<bool>,
    wanted: StoredValue<Option<Wanted>>,
    asked: StoredValue<u32>,
    /// A tap that came while the sheet was still being made: kept, and done when it is.
    due: StoredValue<Option<Due>>,
}

impl Press {
    /// Nothing in hand yet.
    #[must_use]
    pub fn new(session: Session) -> Self {
        Self {
            session,
            looked: RwSignal::new(Looked::Nothing),
            pdf: RwSignal::new(None),
            busy: RwSignal::new(None),
            rodding: RwSignal::new(false),
            wanted: StoredValue::new(None),
            asked: StoredValue::new(0),
            due: StoredValue::new(None),
        }
    }

    /// Lets go of it.
    pub fn clear(&self) {
        self.asked.update_value(|n| *n += 1);
        self.wanted.set_value(None);
        self.due.set_value(None);
        self.looked.set(Looked::Nothing);
        self.pdf.set(None);
    }

    fn number(&self) -> u32 {
        self.asked.try_get_value().unwrap_or(0)
    }

    /// Looks at a template and makes its PDF. What is shown stays until the next is there, unless
    /// it is of another piece or feature.
    pub fn take(&self, book: &Arc<Book>, wanted: Wanted) {
        let press = *self;
        press.asked.update_value(|n| *n += 1);
        let number = press.number();
        let other = press.wanted.with_value(|w| {
            w.as_ref()
                .is_none_or(|w| w.feature != wanted.feature || w.piece != wanted.piece)
        });
        let before = press.wanted.with_value(Option::is_some);
        if before && other {
            press.due.set_value(None);
        }
        press.wanted.set_value(Some(wanted.clone()));
        press.pdf.set(None);
        if other {
            press.looked.set(Looked::Making);
        }
        let book = Arc::clone(book);
        spawn_local(async move {
            let day = clock::day();
            let looking = Ask::Template {
                job: book.id().clone(),
                feature: wanted.feature.clone(),
                piece: wanted.piece.clone(),
                paper: wanted.paper,
                day: day.clone(),
            };
            let looked = match Session::ask(Arc::clone(&book), looking).await {
                Ok((Reply::Template(view), _)) => Looked::View(Arc::from(view)),
                Ok(_) => return,
                Err(sentence) => Looked::Cannot(sentence),
            };
            if press.number() != number {
                return;
            }
            let made = matches!(looked, Looked::View(_));
            let _ = press.looked.try_set(looked);
            if !made {
                press.due.set_value(None);
                return;
            }
            let file = Ask::File {
                job: book.id().clone(),
                kind: FileKind::Pdf,
                of: Some(SheetOf::Feature(wanted.feature)),
                pieces: vec![wanted.piece],
                paper: wanted.paper,
                day,
            };
            let ready = Session::ask(book, file).await.map(ready);
            if press.number() != number {
                return;
            }
            match ready {
                Ok(Some(ready)) => {
                    let _ = press.pdf.try_set(Some(Arc::new(ready)));
                    press.do_what_is_due();
                }
                Ok(None) => {}
                Err(sentence) => press.session.notice(sentence, true),
            }
        });
    }

    fn do_what_is_due(&self) {
        let due = self.due.try_get_value().flatten();
        let _ = self.due.try_set_value(None);
        match due {
            Some(Due::Print) => self.print(),
            Some(Due::Download) => self.download(),
            None => {}
        }
    }

    /// Prints, and records that it was printed; as soon as the sheet is ready, if it is not.
    pub fn print(&self) {
        let Some(pdf) = self.pdf.get_untracked() else {
            self.due.set_value(Some(Due::Print));
            return;
        };
        if print::print(&pdf.bytes) {
            self.record(self.job(), &pdf);
        } else {
            self.session.notice(
                "The browser opened no window to print from: download the PDF and print it at 100 %",
                true,
            );
        }
    }

    /// Saves the PDF, and records it as printed: a downloaded sheet is as good as printed. As soon
    /// as the sheet is ready, if it is not.
    pub fn download(&self) {
        let Some(pdf) = self.pdf.get_untracked() else {
            self.due.set_value(Some(Due::Download));
            return;
        };
        if files::download(&pdf.name, &pdf.media, &pdf.bytes) {
            self.left(self.job(), &pdf);
        }
    }

    /// Hands the PDF to another app.
    pub fn share(&self) {
        let Some(pdf) = self.pdf.get_untracked() else {
            return;
        };
        let press = *self;
        let job = self.job();
        spawn_local(async move {
            match share::share(&pdf.name, &pdf.media, &pdf.bytes).await {
                share::Shared::Handed => press.left(job, &pdf),
                share::Shared::Cancelled => {}
                share::Shared::TooLate => {
                    press.download_instead(job, &pdf, "the browser does not allow it");
                }
                share::Shared::Failed(why) => press.download_instead(job, &pdf, &why),
            }
        });
    }

    /// Sharing was refused: the sheet is downloaded in its place, and that is said.
    fn download_instead(&self, job: Option<JobId>, pdf: &Ready, why: &str) {
        let began = files::download(&pdf.name, &pdf.media, &pdf.bytes);
        self.session
            .notice(crate::say::storage::not_shared(why, &pdf.name, began), true);
        if began {
            self.left(job, pdf);
        }
    }

    /// Records that sheets of a job were printed, whichever is open by now.
    fn record(&self, job: Option<JobId>, ready: &Ready) {
        if let Some(job) = job {
            self.session.printed(job, ready.printed.clone());
        }
    }

    /// Records that a file of sheets of a job left the device, which counts as printed.
    fn left(&self, job: Option<JobId>, ready: &Ready) {
        if let Some(job) = job {
            self.session
                .downloaded(job, &ready.name, ready.printed.clone());
        }
    }

    /// The job that is open now.
    fn job(&self) -> Option<JobId> {
        self.session
            .book
            .with_untracked(|b| b.as_ref().map(|b| b.id().clone()))
    }

    /// Makes the rods of the feature in hand, for the piece in hand or the run, and saves them.
    pub fn rods(&self, run: bool) {
        let (Some(book), Some(wanted)) =
            (self.session.book.get_untracked(), self.wanted.get_value())
        else {
            return;
        };
        let press = *self;
        press.rodding.set(true);
        let job = book.id().clone();
        spawn_local(async move {
            let ask = Ask::Rods {
                job: book.id().clone(),
                feature: wanted.feature,
                pieces: if run { Vec::new() } else { vec![wanted.piece] },
                paper: wanted.paper,
                day: clock::day(),
            };
            let made = Session::ask(book, ask).await;
            press.session.save_made(job, made, Some("Not on the rods"));
            let _ = press.rodding.try_set(false);
        });
    }

    /// Makes another file of the template in hand, and saves it.
    pub fn save(&self, kind: FileKind) {
        let (Some(book), Some(wanted)) =
            (self.session.book.get_untracked(), self.wanted.get_value())
        else {
            return;
        };
        let press = *self;
        press.busy.set(Some(kind));
        let job = book.id().clone();
        spawn_local(async move {
            let file = Ask::File {
                job: book.id().clone(),
                kind,
                of: Some(SheetOf::Feature(wanted.feature)),
                pieces: vec![wanted.piece],
                paper: wanted.paper,
                day: clock::day(),
            };
            let made = Session::ask(book, file).await;
            let without = Some("Left out of the file");
            press.session.save_made(job, made, without);
            let _ = press.busy.try_set(None);
        });
    }
}

fn ready((reply, bytes): (Reply, Vec<u8>)) -> Option<Ready> {
    match reply {
        Reply::File {
            name,
            media,
            pages,
            printed,
            ..
        } => Some(Ready {
            name,
            media,
            bytes,
            pages,
            printed,
        }),
        _ => None,
    }
}
