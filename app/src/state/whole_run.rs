//! The files of a whole run: made a few pieces at a time by two workers side by side, so that it can be
//! said how far it has come, stopped, and something else be asked in between.

use super::told::news;
use super::{Book, Session};
use crate::ports::processors;
use crate::ports::worker::{self, Broke, Line};
use js_sys::Uint8Array;
use samespot_core::answer::{Answer, Ask, FileKind, Reply};
use samespot_core::job::PieceId;
use samespot_core::sheet::Paper;
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::sync::Arc;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::{JsFuture, future_to_promise};

/// A part is made in less time than anybody waits for something else.
const PIECES_MOST: usize = 4;
/// Enough that neither worker waits long for the other at the end.
const PARTS_LEAST: usize = 6;

/// Which run: the kind of file, on which paper, dated.
#[derive(Debug, Clone)]
pub struct RunWanted {
    /// A ZIP or one PDF.
    pub kind: FileKind,
    /// The paper.
    pub paper: Paper,
    /// Today, as printed.
    pub day: String,
}

/// The parts of one run while they are made.
struct Making {
    book: Arc<Book>,
    wanted: RunWanted,
    parts: Vec<Vec<PieceId>>,
    next: Cell<usize>,
    pieces_made: Cell<usize>,
    made: RefCell<Vec<Option<Uint8Array>>>,
    /// How many facts each was made from: something may be said meanwhile.
    facts: Cell<Option<usize>>,
    /// They will not go together.
    at_odds: Cell<bool>,
    far: Box<dyn Fn(usize) -> bool>,
}

impl Making {
    fn ask(&self, pieces: Vec<PieceId>) -> Ask {
        Ask::RunPart {
            job: self.book.id().clone(),
            kind: self.wanted.kind,
            pieces,
            paper: self.wanted.paper,
            day: self.wanted.day.clone(),
        }
    }

    /// Makes one part after another, until none is left or it is stopped.
    async fn work(self: Rc<Self>, line: Line) {
        while !self.at_odds.get() && (self.far)(self.pieces_made.get()) {
            let number = self.next.replace(self.next.get() + 1);
            let Some(pieces) = self.parts.get(number).cloned() else {
                return;
            };
            let many = pieces.len();
            let answer = beside(line, &self.book, self.ask(pieces), None).await;
            let Ok((
                Answer {
                    says: Ok(Reply::RunPart { facts }),
                    ..
                },
                bytes,
            )) = answer
            else {
                self.at_odds.set(true);
                return;
            };
            if self.facts.replace(Some(facts)).is_some_and(|f| f != facts) {
                self.at_odds.set(true);
            }
            if let Some(place) = self.made.borrow_mut().get_mut(number) {
                *place = Some(bytes);
            }
            self.pieces_made.set(self.pieces_made.get() + many);
        }
    }
}

/// One question with all its worker lacks, and what stands beside both.
fn beside(
    line: Line,
    book: &Arc<Book>,
    ask: Ask,
    bytes: Option<Uint8Array>,
) -> impl Future<Output = Result<(Answer, Uint8Array), Broke>> {
    worker::ask_beside(line, ask, bytes, news(line, book), || book.brief())
}

/// All of them one after the other.
fn joined(parts: &[Option<Uint8Array>]) -> Option<Uint8Array> {
    let parts: Vec<&Uint8Array> = parts.iter().map(Option::as_ref).collect::<Option<_>>()?;
    let all = Uint8Array::new_with_length(parts.iter().map(|p| p.length()).sum());
    let mut at = 0;
    for part in parts {
        all.set(part, at);
        at += part.length();
    }
    Some(all)
}

impl Session {
    /// Makes the file of a whole run. `far` hears how many pieces are made and says whether to go on.
    ///
    /// # Errors
    /// The sentence that stands in the file's place; nothing where it was stopped.
    pub async fn run_file(
        book: Arc<Book>,
        wanted: RunWanted,
        far: impl Fn(usize) -> bool + 'static,
    ) -> Result<Option<(Reply, Vec<u8>)>, String> {
        let pieces = book.job.pieces_in_order();
        let pieces: Vec<PieceId> = pieces.into_iter().map(|(id, _)| id.clone()).collect();
        let some = pieces.len().div_ceil(PARTS_LEAST).clamp(1, PIECES_MOST);
        let parts: Vec<Vec<PieceId>> = pieces.chunks(some).map(<[PieceId]>::to_vec).collect();
        let making = Rc::new(Making {
            made: RefCell::new(vec![None; parts.len()]),
            book: Arc::clone(&book),
            wanted: wanted.clone(),
            parts,
            next: Cell::new(0),
            pieces_made: Cell::new(0),
            facts: Cell::new(None),
            at_odds: Cell::new(false),
            far: Box::new(far),
        });
        let helping = processors::several().then(|| {
            let work = Rc::clone(&making).work(Line::Apart);
            future_to_promise(async move {
                work.await;
                Ok(JsValue::UNDEFINED)
            })
        });
        Rc::clone(&making).work(Line::Sheets).await;
        if let Some(helping) = helping {
            let _ = JsFuture::from(helping).await;
        }
        let goes_on = || (making.far)(making.pieces_made.get());
        if !goes_on() {
            return Ok(None);
        }
        let RunWanted { kind, paper, day } = wanted;
        let job = book.id().clone();
        let all = joined(&making.made.borrow());
        if !making.at_odds.get()
            && let Some(facts) = making.facts.get()
            && let Some(all) = all
        {
            let (job, day) = (job.clone(), day.clone());
            let together = Ask::RunTogether {
                job,
                kind,
                paper,
                day,
                facts,
            };
            if let Ok((
                Answer {
                    says: Ok(reply), ..
                },
                bytes,
            )) = beside(Line::Sheets, &book, together, Some(all)).await
            {
                return Ok(goes_on().then(|| (reply, bytes.to_vec())));
            }
        }
        // The parts do not go together, or nothing can be made: one alone makes it, or says why not.
        let file = Ask::File {
            job,
            kind,
            of: None,
            pieces: Vec::new(),
            paper,
            day,
        };
        let made = Self::ask(book, file).await?;
        Ok(goes_on().then_some(made))
    }
}
