//! What is in hand while setting out: the face, the point, the reading about to be typed.

use super::model;
use crate::route::Route;
use crate::state::{Book, Session};
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{CastingId, Edit, EntityRef, FaceId, Job, JobId, Payload, PointRef};
use samespot_core::prepare::setout::{FaceView, ViewPlace};
use std::sync::Arc;

/// What is known of the face in hand.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Looked {
    Nothing,
    Looking,
    View(Arc<FaceView>),
    Cannot(String),
}

/// What is in hand. A handle; copies are the same.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    pub(super) session: Session,
    /// The face: the one in the address, or the first.
    pub(super) face: Memo<Option<FaceId>>,
    /// What is known of it.
    pub(super) looked: RwSignal<Looked>,
    /// The mark or feature whose particulars are open.
    pub(super) chosen: RwSignal<Option<PointRef>>,
    /// Another shape of face was tapped and is not said yet: what is known is of the one before.
    pub(super) reshaping: RwSignal<bool>,
    /// A scan is open, on which places are picked: what is still to be done on it.
    pub(super) scanning: RwSignal<Option<&'static str>>,
    /// It is put down where the drawing is tapped next.
    pub(super) placing: RwSignal<bool>,
    /// The ends of the reading in hand, where somebody chose others than are proposed.
    pub(super) ends: RwSignal<Option<[PointRef; 2]>>,
    /// Pips that were proposed: their names, and where the picture has them, mm.
    pub(super) pips: RwSignal<Vec<(String, [f64; 2])>>,
}

/// A point is in the job.
pub(super) fn is_there(job: &Job, point: &PointRef) -> bool {
    match point {
        PointRef::Mark(id) => job.marks.contains_key(id),
        PointRef::Feature(id) => job.features.contains_key(id),
    }
}

impl Hand {
    pub(super) fn take(session: Session) -> Self {
        let face = Memo::new(move |_| {
            let named = match session.route.get() {
                Route::SetOut { face, .. } => face,
                _ => None,
            };
            session.book.with(|b| {
                let job = &b.as_ref()?.job;
                named
                    .filter(|f| job.faces.contains_key(f))
                    .or_else(|| model::faces(job).into_iter().next().map(|(id, _)| id))
            })
        });
        let hand = Self {
            session,
            face,
            looked: RwSignal::new(Looked::Nothing),
            chosen: RwSignal::new(None),
            reshaping: RwSignal::new(false),
            scanning: RwSignal::new(None),
            placing: RwSignal::new(false),
            ends: RwSignal::new(None),
            pips: RwSignal::new(Vec::new()),
        };
        let asked = StoredValue::new(0_u32);
        Effect::new(move |before: Option<Option<FaceId>>| {
            let (face, book) = (face.get(), session.book.get());
            asked.update_value(|n| *n += 1);
            let number = asked.get_value();
            let other = before.is_some_and(|b| b != face);
            if other {
                hand.chosen.set(None);
                hand.placing.set(false);
                hand.ends.set(None);
                hand.pips.set(Vec::new());
            }
            // What an undo took out of the job, in this window or another, is in hand no longer.
            if let Some(book) = &book {
                let there = |p: &PointRef| is_there(&book.job, p);
                if hand
                    .chosen
                    .with_untracked(|c| c.as_ref().is_some_and(|c| !there(c)))
                {
                    hand.choose(None);
                }
                let gone = |ends: &[PointRef; 2]| !ends.iter().all(there);
                if hand.ends.with_untracked(|e| e.as_ref().is_some_and(gone)) {
                    hand.ends.set(None);
                }
            }
            let (Some(at), Some(book)) = (face.clone(), book) else {
                hand.looked.set(Looked::Nothing);
                return face;
            };
            if other
                || hand
                    .looked
                    .with_untracked(|l| !matches!(l, Looked::View(_)))
            {
                hand.looked.set(Looked::Looking);
            }
            spawn_local(async move {
                let ask = Ask::Face {
                    job: book.id().clone(),
                    face: at,
                };
                let came = match Session::ask(book, ask).await {
                    Ok((Reply::Face(view), _)) => Looked::View(Arc::from(view)),
                    Ok(_) => return,
                    Err(sentence) => Looked::Cannot(sentence),
                };
                if asked.try_get_value() == Some(number) {
                    let _ = hand.looked.try_set(came);
                }
            });
            face
        });
        hand
    }

    /// Something of the job as it stands.
    pub(super) fn of_job<T>(&self, read: impl Fn(&Job) -> T) -> Option<T> {
        self.session.book.with(|b| b.as_ref().map(|b| read(&b.job)))
    }

    /// Something of the job, for what is done with it now.
    pub(super) fn with_job<T>(&self, read: impl FnOnce(&Job) -> T) -> Option<T> {
        self.session
            .book
            .with_untracked(|b| b.as_ref().map(|b| read(&b.job)))
    }

    pub(super) fn say(&self, payloads: &[Payload]) {
        if !payloads.is_empty() {
            self.session.say(payloads);
        }
    }

    /// Says fields of a thing, those that stand already left out.
    pub(super) fn say_if_new(&self, on: EntityRef, fields: &impl serde::Serialize) {
        let said = self.with_job(|j| Edit::of(on, fields)?.still_to_say(j));
        if let Some(Ok(Some(edit))) = said {
            self.say(&[Payload::Edit(edit)]);
        }
    }

    /// The face as set out so far.
    pub(super) fn view(&self) -> Option<Arc<FaceView>> {
        match self.looked.get() {
            Looked::View(view) => Some(view),
            _ => None,
        }
    }

    /// The pattern of the face in hand.
    pub(super) fn pattern(&self) -> Option<CastingId> {
        let face = self.face.get_untracked()?;
        self.with_job(|j| j.pattern_of(j.faces.get(&face)?.part.as_ref()?).cloned())
            .flatten()
    }

    /// Opens a point's particulars, ready to be named.
    pub(super) fn choose(&self, point: Option<PointRef>) {
        self.placing.set(false);
        self.chosen.set(point);
    }

    /// Puts a point down on the drawing, where a tape has not fixed it.
    pub(super) fn put_down(self, point: PointRef, at_mm: [f64; 2]) {
        self.put_down_within(point, at_mm, None);
    }

    /// The same, with how well the place is known where that is less than a drawing's word: within
    /// so much (95 %), mm.
    pub(super) fn put_down_within(self, point: PointRef, at_mm: [f64; 2], within: Option<f64>) {
        self.place(point, within, move |job, face, of| Ask::DrawnPlace {
            job,
            face,
            of,
            at_mm,
        });
    }

    /// Puts a point where a client's drawing has it in a view.
    pub(super) fn place_in_view(self, point: PointRef, view: ViewPlace) {
        self.place(point, None, move |job, face, of| Ask::PlaceInView {
            job,
            face,
            of,
            view,
        });
    }

    fn place(
        self,
        point: PointRef,
        within: Option<f64>,
        asks: impl FnOnce(JobId, FaceId, PointRef) -> Ask,
    ) {
        let (Some(face), Some(casting), Some(book)) = (
            self.face.get_untracked(),
            self.pattern(),
            self.session.book.get_untracked(),
        ) else {
            return;
        };
        if let PointRef::Feature(id) = &point
            && book.job.made_from(id).is_some()
        {
            self.session.notice(
                "It is made from the other one of its pair by mirroring: move that one",
                true,
            );
            return;
        }
        if model::taped(&book.job, &casting, &point) {
            self.session.notice(
                "A tape's readings hold this point where it is: type them again below to move it",
                true,
            );
            return;
        }
        self.placing.set(false);
        let ask = asks(book.id().clone(), face, point.clone());
        spawn_local(async move {
            match Session::ask(Arc::<Book>::clone(&book), ask).await {
                Ok((Reply::DrawnPlace(place), _)) => {
                    let said =
                        self.with_job(|j| model::put_down(j, &casting, &point, &place, within));
                    self.say(&said.unwrap_or_default());
                }
                Ok(_) => {}
                Err(sentence) => self.session.notice(sentence, true),
            }
        });
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{FaceEdit, Ledger, ReplicaId, Withdrawal, Writer};

    /// A feature or a mark whose adding was taken back is there no longer to have a form.
    #[test]
    fn what_undo_took_back_is_there_no_longer() {
        let mut ledger = Ledger::new(JobId::new("j").unwrap());
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        let face = FaceId::new("front").unwrap();
        let mut job = ledger.fold();
        job.faces.insert(face.clone(), FaceEdit::default());
        let mut names = || "x1".to_owned();
        let (mark, marked) = model::add_mark(&job, &face, &mut names).unwrap();
        let (feature, added) = model::add_feature(&job, &face, "eye", &mut names).unwrap();
        let points = [PointRef::Mark(mark), PointRef::Feature(feature)];
        let all: Vec<Payload> = marked.into_iter().chain(added).collect();
        let facts: Vec<_> = all
            .iter()
            .map(|p| ledger.write(&writer, p).unwrap().envelope.id)
            .collect();
        let job = ledger.fold();
        assert!(points.iter().all(|p| is_there(&job, p)));
        for target in facts {
            let back = Payload::Withdraw(Withdrawal { target });
            ledger.write(&writer, &back).unwrap();
        }
        let job = ledger.fold();
        assert!(!points.iter().any(|p| is_there(&job, p)));
    }
}
