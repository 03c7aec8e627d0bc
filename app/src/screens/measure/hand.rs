//! What is in hand while a casting is measured: the walk, the reading, what stands in the field.

use crate::ports::worker::{self, Line, TooLarge};
use crate::ports::{address, clock, fields, store};
use crate::route::Route;
use crate::say::measure as model;
use crate::state::{Book, Session};
use crate::widgets::length::Heard;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{
    CastingId, FactId, InstrumentId, JobId, Measured, MeasuringSays, Payload,
};
use samespot_core::prepare::instruments::for_reading;
use samespot_core::prepare::walk::{
    AskState, AskedReading, HeldAt, Pooled, Walk, casting_to_measure,
};
use samespot_core::units::Unit;
use std::sync::Arc;

/// The field a killed tab may lose is written down after this pause in typing, ms.
const DRAFT_MS: i32 = 200;

/// The big field.
pub(super) const FIELD: &str = "#measure-field";

/// What is known of the walk.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Looked {
    /// It is being worked out.
    Working,
    /// Here it is.
    Walk(Arc<Walk>),
    /// It can't be walked; why and what to do.
    Cannot(String),
}

#[derive(Clone, Copy)]
pub(super) struct Hand {
    pub(super) session: Session,
    pub(super) looked: RwSignal<Looked>,
    /// A reading that somebody chose, by its number.
    pub(super) chosen: RwSignal<Option<u32>>,
    pub(super) text: RwSignal<String>,
    pub(super) unit: RwSignal<Unit>,
    pub(super) picked: RwSignal<Option<usize>>,
    /// The question that stands before the reading is kept, and what may have been meant.
    pub(super) doubt: RwSignal<Option<(String, Option<String>)>>,
    pub(super) ask: Memo<Option<AskedReading>>,
    pub(super) heard: Memo<Heard>,
    /// How the tape is held, where somebody said so.
    pub(super) held: RwSignal<Option<HeldAt>>,
    /// What is taken up instead of which tool, for the rest of the walk.
    swapped: RwSignal<Vec<(Option<InstrumentId>, InstrumentId)>>,
    /// What somebody wants to read besides the list.
    also: RwSignal<Vec<Measured>>,
    /// What shows only over the run.
    pub(super) pooled: RwSignal<Vec<Pooled>>,
    pub(super) casting: Memo<Option<(JobId, CastingId)>>,
    asked: StoredValue<u32>,
    drafts: StoredValue<u32>,
}

impl Hand {
    pub(super) fn take(session: Session) -> Self {
        let looked = RwSignal::new(Looked::Working);
        let chosen = RwSignal::new(None);
        let text = RwSignal::new(String::new());
        let unit = RwSignal::new(Unit::Mm);
        let picked = RwSignal::new(None);
        let ask = Memo::new(move |_| match looked.get() {
            Looked::Walk(walk) => model::in_hand(&walk, chosen.get()).cloned(),
            _ => None,
        });
        let heard = Memo::new(move |_| {
            let options = ask.with(|a| model::options(a.as_ref(), unit.get()));
            text.with(|t| Heard::of(t, picked.get(), &options))
        });
        let casting = Memo::new(move |_| match session.route.get() {
            Route::Measure {
                job,
                casting: Some(casting),
                ..
            } => Some((job, casting)),
            _ => None,
        });
        let hand = Self {
            session,
            looked,
            chosen,
            text,
            unit,
            picked,
            doubt: RwSignal::new(None),
            ask,
            heard,
            held: RwSignal::new(None),
            swapped: RwSignal::new(Vec::new()),
            also: RwSignal::new(Vec::new()),
            pooled: RwSignal::new(Vec::new()),
            casting,
            asked: StoredValue::new(0),
            drafts: StoredValue::new(0),
        };
        hand.settle_address();
        hand.follow();
        hand
    }

    /// An address without a casting means the one to measure next; one without its piece learns it.
    fn settle_address(self) {
        Effect::new(move |_| {
            let Route::Measure {
                job,
                piece,
                casting,
            } = self.session.route.get()
            else {
                return;
            };
            let Some(book) = self.session.book.get().filter(|b| *b.id() == job) else {
                return;
            };
            let found = casting
                .clone()
                .or_else(|| casting_to_measure(&book.job, piece.as_ref()));
            let Some(found) = found else {
                self.looked.set(Looked::Cannot(match piece {
                    Some(_) => "No casting is married to this piece yet: choose another piece below, or measure a casting first and marry it later".into(),
                    None => "This job has no casting to measure yet. Add each as it is pulled: then its readings are asked for here".into(),
                }));
                return;
            };
            let of = book.job.piece_with(&found).cloned();
            if casting.is_none() || piece != of {
                let route = Route::Measure {
                    job,
                    piece: of,
                    casting: Some(found),
                };
                if casting.is_none() {
                    address::rename(&route);
                }
                self.session.route.set(route);
            }
        });
    }

    fn follow(self) {
        Effect::new(move |before: Option<Option<(JobId, CastingId)>>| {
            let casting = self.casting.get();
            let book = self.session.book.get();
            if before.as_ref() != Some(&casting) {
                // Without a casting the address has said why not, and that stays.
                if casting.is_some() {
                    self.looked.set(Looked::Working);
                }
                self.chosen.set(None);
                self.also.set(Vec::new());
                self.clear();
                if let Some((job, id)) = &casting {
                    self.fetch_draft(format!("{job} measure {id}"));
                }
                fields::focus_first_empty_at_top(FIELD);
            }
            if let (Some(book), Some((job, id))) = (book, casting.clone())
                && *book.id() == job
            {
                self.look(book, id);
            }
            casting
        });
    }

    fn look(self, book: Arc<Book>, casting: CastingId) {
        self.asked.update_value(|n| *n += 1);
        let number = self.asked.get_value();
        let also = self.also.get_untracked();
        let besides = also.last().cloned();
        let ask = Ask::Walk {
            job: book.id().clone(),
            casting,
            also,
        };
        let run = Ask::Pooled {
            job: book.id().clone(),
        };
        let (what, of_run) = (TooLarge::asked_by(&ask), TooLarge::asked_by(&run));
        let asked = Session::put(Line::Picture, book.clone(), ask);
        spawn_local(async move {
            let looked = match worker::sentence(asked.await, what) {
                Ok((Reply::Walk(walk), _)) => Looked::Walk(Arc::from(walk)),
                Ok(_) => return,
                Err(sentence) => Looked::Cannot(sentence),
            };
            if self.asked.try_get_value() == Some(number) {
                if let (Looked::Walk(walk), Some(of)) = (&looked, besides)
                    && let Some(ask) = walk
                        .asks
                        .iter()
                        .find(|a| a.of == of && a.state.is_to_read())
                {
                    let _ = self.chosen.try_set(Some(ask.number));
                }
                let fresh = matches!(self.looked.try_get_untracked(), Some(Looked::Working));
                let _ = self.looked.try_set(looked);
                if fresh {
                    fields::focus_first_empty_at_top(FIELD);
                }
                // Once the picture stands: it shares the device's processors with nothing before.
                let over_run = Session::put(Line::Apart, book, run).await;
                // A run that says nothing together leaves the screen as it was.
                if let Ok((Reply::Pooled(pooled), _)) = worker::sentence(over_run, of_run)
                    && self.asked.try_get_value() == Some(number)
                {
                    let _ = self.pooled.try_set(pooled);
                }
            }
        });
    }

    pub(super) fn walk(&self) -> Option<Arc<Walk>> {
        match self.looked.get_untracked() {
            Looked::Walk(walk) => Some(walk),
            _ => None,
        }
    }

    fn clear(&self) {
        self.text.set(String::new());
        self.picked.set(None);
        self.doubt.set(None);
        self.held.set(None);
    }

    /// With what an ask is read: what was taken up instead of the usual, where it can read this.
    pub(super) fn taken_with(&self, ask: &AskedReading) -> Option<InstrumentId> {
        let instead = self.swapped.with(|s| {
            let other = s.iter().find(|(usual, _)| *usual == ask.instrument)?;
            Some(other.1.clone())
        });
        let can = |id: &InstrumentId| {
            self.session.book.with(|b| {
                b.as_ref().is_some_and(|b| {
                    let all = for_reading(&b.job, &ask.of);
                    all.iter().any(|(other, _)| other == id)
                })
            })
        };
        instead.filter(can).or_else(|| ask.instrument.clone())
    }

    /// Another tool is taken up, for this reading and those like it.
    pub(super) fn take_up(&self, id: InstrumentId) {
        let Some(ask) = self.ask.get_untracked() else {
            return;
        };
        self.swapped.update(|s| {
            s.retain(|(usual, _)| *usual != ask.instrument);
            s.push((ask.instrument, id));
        });
    }

    /// As how the casting stands, for what is read against up: another number once it was moved.
    pub(super) fn stood(&self, moved: bool) -> u32 {
        let Some((_, casting)) = self.casting.get_untracked() else {
            return 0;
        };
        let last = self.session.book.with_untracked(|b| {
            let b = b.as_ref()?;
            let of_casting = b.job.readings.about(&casting);
            of_casting.filter_map(|r| r.says.of.stood()).max()
        });
        match last {
            Some(last) if moved => last.saturating_add(1),
            Some(last) => last,
            None => 0,
        }
    }

    /// Asks for a reading besides the list; what was read already is read once more, as a reading of
    /// its own.
    pub(super) fn ask_besides(self, of: Measured) {
        let times = self.walk().map_or(1, |walk| walk.once_more(&of));
        self.also.update(|all| {
            all.retain(|o| *o != of);
            all.extend(std::iter::repeat_n(of, times));
        });
        let (book, casting) = (
            self.session.book.get_untracked(),
            self.casting.get_untracked(),
        );
        if let (Some(book), Some((_, casting))) = (book, casting) {
            self.look(book, casting);
        }
    }

    /// How the tape is held for an ask: as somebody said, else as usual.
    pub(super) fn held_at(&self, ask: &AskedReading) -> Option<HeldAt> {
        ask.held
            .filter(|_| untrack(|| self.taken_with(ask)) == ask.instrument)
            .map(|usual| self.held.get_untracked().unwrap_or(usual))
    }

    /// Somebody typed.
    pub(super) fn write(&self, text: String) {
        self.text.set(text);
        self.picked.set(None);
        self.doubt.set(None);
        self.keep_draft();
    }

    /// A key of the pad.
    pub(super) fn press(&self, key: &str) {
        let mut text = self.text.get_untracked();
        if key == "rub out" {
            text.pop();
        } else {
            text.push_str(key);
        }
        self.write(text);
    }

    /// mm, cm, in, and round again.
    pub(super) fn change_unit(&self) {
        self.unit.update(|u| {
            *u = match u {
                Unit::Mm => Unit::Cm,
                Unit::Cm => Unit::In,
                _ => Unit::Mm,
            };
        });
        self.doubt.set(None);
    }

    /// Chooses a reading of the walk.
    pub(super) fn choose(&self, number: u32) {
        self.chosen.set(Some(number));
        self.clear();
        fields::focus_first_empty(FIELD);
    }

    /// Keeps what stands in the field and goes on; asks first where it looks like a slip.
    pub(super) fn next(&self, sure: bool) {
        let (Some(walk), Some(mut ask)) = (self.walk(), self.ask.get_untracked()) else {
            return;
        };
        let usual = self.held_at(&ask);
        ask.instrument = untrack(|| self.taken_with(&ask));
        match model::next(&walk, &ask, &self.heard.get_untracked(), sure, usual) {
            model::Next::Stay => {}
            model::Next::Sure { asks, meant } => self.doubt.set(Some((asks, meant))),
            model::Next::Keep(payload) => {
                let facts = self.session.say(&[*payload.clone()]);
                if let (Some(fact), Payload::Reading(r)) = (facts.first(), *payload) {
                    // The next reading stands there at once; its picture follows.
                    let mut shown = (*walk).clone();
                    if let Some(a) = shown.asks.iter_mut().find(|a| a.number == ask.number) {
                        a.state = AskState::Read {
                            fact: fact.envelope.id,
                            typed: r.value.typed,
                            value: r.value.mm,
                        };
                    }
                    self.looked.set(Looked::Walk(Arc::new(shown)));
                }
                self.went_on();
            }
        }
    }

    fn went_on(&self) {
        self.chosen.set(None);
        self.clear();
        self.keep_draft();
        fields::focus_first_empty(FIELD);
    }

    /// A list that stands in the field goes to this reading and the next ones.
    pub(super) fn take_list(&self, items: &[String]) {
        let (Some(walk), Some(ask)) = (self.walk(), self.ask.get_untracked()) else {
            return;
        };
        match model::spread(&walk, ask.number, items, self.unit.get_untracked()) {
            Ok(payloads) => {
                self.session.say(&payloads);
                self.went_on();
            }
            Err(sentence) => self.session.notice(sentence, true),
        }
    }

    /// Says something about the casting's readings.
    pub(super) fn say(&self, says: MeasuringSays) {
        if let Some(walk) = self.walk() {
            self.session.say(&[model::says(&walk.casting, says)]);
            self.went_on();
        }
    }

    /// The tape of a reading lay otherwise than was asked: it is put down as it lay.
    pub(super) fn lay_otherwise(&self, fact: FactId, of: &Measured) {
        let read = self.session.book.with_untracked(|b| {
            let all = &b.as_ref()?.job.readings;
            let read = all.iter().find(|r| r.id == fact)?;
            Some(read.says.clone())
        });
        if let Some(read) = read {
            self.session.say(&model::as_it_lay(fact, &read, of.clone()));
            self.went_on();
        }
    }

    fn keep_draft(self) {
        let Some((job, casting)) = self.casting.get_untracked() else {
            return;
        };
        self.drafts.update_value(|n| *n += 1);
        let number = self.drafts.get_value();
        let name = format!("{job} measure {casting}");
        let ask = self.ask.get_untracked().map_or(0, |a| a.number);
        let text = self.text.get_untracked();
        spawn_local(async move {
            clock::pause(DRAFT_MS).await;
            if self.drafts.try_get_value().is_some_and(|n| n != number) {
                return;
            }
            let draft = (!text.is_empty()).then(|| format!("{ask} {text}"));
            // A device that keeps nothing has said so already.
            let _ = store::keep_draft(&name, draft.as_deref()).await;
        });
    }

    fn fetch_draft(self, name: String) {
        spawn_local(async move {
            let Ok(Some(draft)) = store::draft(&name).await else {
                return;
            };
            let Some((number, text)) = draft.split_once(' ') else {
                return;
            };
            let untouched = self.text.try_with_untracked(String::is_empty) == Some(true);
            if let (Ok(number), true) = (number.parse::<u32>(), untouched) {
                let _ = self.chosen.try_set(Some(number));
                let _ = self.text.try_set(text.to_owned());
            }
        });
    }
}
