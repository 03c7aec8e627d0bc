//! The holes in hand: what is known of them, which one is open, what is being typed.

use crate::ports::fields;
use crate::route::Route;
use crate::state::{Book, Session, piece_meant};
use crate::widgets::looked::Looked;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{DrilledFact, FixingId, HoleFound, Job, JobId, Payload, PieceId};
use samespot_core::prepare::holes::{FixingView, HoleView, HolesView};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The hole in hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct At {
    pub(super) fixing: FixingId,
    pub(super) hole: u32,
}

/// The piece this screen is about. What is drilled must not change it under the fitter's hand.
pub(super) fn in_hand(job: &Job, route: &Route) -> Option<PieceId> {
    match route {
        Route::Holes { piece, .. } => piece_meant(job, piece.as_ref()),
        _ => None,
    }
}

/// The first hole that is not drilled; after the last, the first of all.
pub(super) fn next(view: &HolesView) -> Option<At> {
    let all = || {
        view.fixings.iter().flat_map(|f| {
            f.holes.iter().map(move |h| {
                let at = At {
                    fixing: f.fixing.clone(),
                    hole: h.number,
                };
                (at, h.drilled.is_some())
            })
        })
    };
    all()
        .find(|(_, done)| !done)
        .or_else(|| all().next())
        .map(|(at, _)| at)
}

/// The fixing and hole that are meant.
pub(super) fn found<'a>(view: &'a HolesView, at: &At) -> Option<(&'a FixingView, &'a HoleView)> {
    let fixing = view.fixings.iter().find(|f| f.fixing == at.fixing)?;
    Some((fixing, fixing.holes.iter().find(|h| h.number == at.hole)?))
}

/// The fact that a hole is drilled, or became what was typed.
pub(super) fn fact(piece: &PieceId, at: &At, became: &str) -> Payload {
    let words = became.trim();
    Payload::Drilled(DrilledFact {
        piece: piece.clone(),
        fixing: at.fixing.clone(),
        hole: at.hole,
        became: (!words.is_empty()).then(|| words.to_owned()),
        found: None,
    })
}

/// The fact that a hole was checked; what it became stays said.
pub(super) fn checked_fact(
    piece: &PieceId,
    at: &At,
    became: Option<String>,
    found: HoleFound,
) -> Payload {
    Payload::Drilled(DrilledFact {
        piece: piece.clone(),
        fixing: at.fixing.clone(),
        hole: at.hole,
        became,
        found: Some(Box::new(found)),
    })
}

/// What was asked about a hole before its last words are replaced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Question {
    /// What would be lost, and by what.
    pub(super) words: String,
    /// What would be said then; empty for *drilled as asked*.
    pub(super) became: String,
}

/// What is asked before a hole is said to be drilled so; nothing where no words are lost.
pub(super) fn question(hole: &HoleView, typed: &str, became: &str) -> Option<Question> {
    let (typed, became) = (typed.trim(), became.trim());
    let new = if became.is_empty() {
        "drilled as asked".to_owned()
    } else {
        format!("“{became}”")
    };
    let mut lost = Vec::new();
    if !typed.is_empty() && typed != became {
        lost.push(format!("“{typed}” stands in the field and is not kept yet"));
    }
    if let Some(drilled) = &hole.drilled {
        let same = drilled.became.as_deref().unwrap_or_default() == became;
        if let Some(old) = drilled.became.as_ref().filter(|_| !same) {
            lost.push(format!(
                "hole {} was said to have become “{old}”",
                hole.number
            ));
        }
        if let Some(found) = &drilled.found {
            lost.push(format!("its check, {found}, would no longer count"));
        }
    }
    (!lost.is_empty()).then(|| Question {
        words: format!(
            "{}. Say {new} of hole {} all the same?",
            crate::say::job::capital(&lost.join("; ")),
            hole.number
        ),
        became: became.to_owned(),
    })
}

/// The state of the screen.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    pub(super) session: Session,
    /// Which piece.
    pub(super) piece: Memo<Option<(JobId, PieceId)>>,
    /// What is known of its holes.
    pub(super) looked: RwSignal<Looked<HolesView>>,
    /// *Figure strapped, second person here*: said anew for every piece and every visit.
    pub(super) strapped: RwSignal<bool>,
    /// The hole in hand.
    pub(super) at: RwSignal<Option<At>>,
    /// What the hole in hand became, as typed.
    pub(super) became: RwSignal<String>,
    /// The same of the others, not kept yet.
    drafts: StoredValue<BTreeMap<(FixingId, u32), String>>,
    /// What is asked before words are lost.
    pub(super) question: RwSignal<Option<Question>>,
    /// A check of the hole in hand is ready to be kept: that is what is done next then.
    pub(super) checking: RwSignal<bool>,
    asked: StoredValue<u32>,
}

impl Hand {
    pub(super) fn take(session: Session) -> Self {
        let piece = Memo::new(move |_| {
            let route = session.route.get();
            session.book.with(|b| {
                let book = b.as_ref()?;
                Some((book.id().clone(), in_hand(&book.job, &route)?))
            })
        });
        let hand = Self {
            session,
            piece,
            looked: RwSignal::new(Looked::Working),
            strapped: RwSignal::new(false),
            at: RwSignal::new(None),
            became: RwSignal::new(String::new()),
            drafts: StoredValue::new(BTreeMap::new()),
            question: RwSignal::new(None),
            checking: RwSignal::new(false),
            asked: StoredValue::new(0),
        };
        Effect::new(move |before: Option<Option<(JobId, PieceId)>>| {
            let piece = hand.piece.get();
            let book = hand.session.book.get();
            if before.as_ref() != Some(&piece) {
                hand.looked.set(Looked::Working);
                hand.strapped.set(false);
                hand.at.set(None);
                hand.became.set(String::new());
                hand.drafts.set_value(BTreeMap::new());
                hand.question.set(None);
            }
            match (book, &piece) {
                (Some(book), Some((_, piece))) => hand.look(book, piece.clone()),
                (Some(_), None) => hand
                    .looked
                    .set(Looked::Cannot("this job has no piece yet".into())),
                (None, _) => {}
            }
            piece
        });
        hand
    }

    fn look(self, book: Arc<Book>, piece: PieceId) {
        self.asked.update_value(|n| *n += 1);
        let number = self.asked.get_value();
        let ask = Ask::Holes {
            job: book.id().clone(),
            piece,
        };
        spawn_local(async move {
            let looked = match Session::ask(book, ask).await {
                Ok((Reply::Holes(view), _)) => Looked::View(Arc::from(view)),
                Ok(_) => return,
                Err(sentence) => Looked::Cannot(sentence),
            };
            if self.asked.try_get_value() != Some(number) {
                return;
            }
            if let Looked::View(view) = &looked
                && self.at.try_with_untracked(Option::is_none) == Some(true)
            {
                let _ = self.at.try_set(next(view));
            }
            let _ = self.looked.try_set(looked);
        });
    }

    /// What is known, if it is.
    pub(super) fn view(&self) -> Option<Arc<HolesView>> {
        self.looked.get().view()
    }

    /// What the hole in hand became, as it was said last.
    pub(super) fn became_now(&self) -> Option<String> {
        let view = untrack(|| self.view())?;
        let at = self.at.get_untracked()?;
        found(&view, &at)?.1.drilled.as_ref()?.became.clone()
    }

    /// Opens a hole; what was typed for another stays with that one.
    pub(super) fn choose(&self, at: At) {
        let key = |at: &At| (at.fixing.clone(), at.hole);
        let typed = self.became.get_untracked();
        self.drafts.update_value(|drafts| {
            if let Some(last) = self.at.get_untracked() {
                drafts.insert(key(&last), typed);
            }
        });
        let own = self.drafts.with_value(|d| d.get(&key(&at)).cloned());
        self.became.set(own.unwrap_or_default());
        self.question.set(None);
        self.at.set(Some(at));
    }

    /// Says that the hole in hand is drilled, as asked or as typed, and stays at it; asks first where
    /// that would lose words.
    pub(super) fn keep(&self, became: &str) {
        let Some((view, at)) = untrack(|| self.view()).zip(self.at.get_untracked()) else {
            return;
        };
        let hole = found(&view, &at).map(|(_, hole)| hole);
        let typed = self.became.get_untracked();
        match hole.and_then(|hole| question(hole, &typed, became)) {
            Some(question) => {
                self.question.set(Some(question));
                fields::focus("holes-leave".to_owned());
            }
            None => self.say(became),
        }
    }

    /// The same, whatever it replaces.
    pub(super) fn say(&self, became: &str) {
        let (Some((_, piece)), Some(at)) = (self.piece.get_untracked(), self.at.get_untracked())
        else {
            return;
        };
        self.session.say(&[fact(&piece, &at, became)]);
        self.became.set(String::new());
        self.question.set(None);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::scene::scene;
    use super::*;
    use samespot_core::answer::{Desk, Request, answer};

    const FILE: &[u8] = include_bytes!("../../../../public/examples/quay-puffins.samespot");

    fn view(piece: &str) -> HolesView {
        let mut desk = Desk::default();
        let job = desk.take(samespot_core::read::job::open(FILE).unwrap());
        let ask = Ask::Holes {
            job,
            piece: PieceId::new(piece).unwrap(),
        };
        match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
            Reply::Holes(view) => *view,
            other => unreachable!("{other:?}"),
        }
    }

    #[test]
    fn the_first_hole_not_drilled_is_opened() {
        let mut view = view("p7");
        assert_eq!(next(&view).unwrap().hole, 1);
        let piece = PieceId::new("p7").unwrap();
        let Payload::Drilled(done) = fact(&piece, &next(&view).unwrap(), "  ") else {
            unreachable!()
        };
        assert_eq!((done.hole, done.became), (1, None));
        view.fixings[0].holes[0].drilled = Some(samespot_core::prepare::holes::DrilledView {
            became: None,
            found: None,
        });
        let at = next(&view).unwrap();
        assert_eq!(at.hole, 2);
        assert_eq!(found(&view, &at).unwrap().1.number, 2);
        let Payload::Drilled(slot) = fact(&piece, &at, " slot 12 × 14 ") else {
            unreachable!()
        };
        assert_eq!(slot.became.as_deref(), Some("slot 12 × 14"));
    }

    #[test]
    fn words_are_not_replaced_without_a_question() {
        let mut hole = view("p7").fixings[0].holes[1].clone();
        // Nothing said yet, or the same again: nothing is lost.
        assert_eq!(question(&hole, "", ""), None);
        assert_eq!(question(&hole, "slot", " slot "), None);
        // What stands in the field would go.
        let typed = question(&hole, "slot 12", "").unwrap();
        assert!(typed.words.contains("slot 12"), "{}", typed.words);
        hole.drilled = Some(samespot_core::prepare::holes::DrilledView {
            became: Some("slot 12".into()),
            found: Some("0.1 up, within; 11 across".into()),
        });
        let other = question(&hole, "round", "round").unwrap();
        assert_eq!(other.became, "round");
        for lost in ["slot 12", "0.1 up, within"] {
            assert!(other.words.contains(lost), "{}", other.words);
        }
        hole.drilled.as_mut().unwrap().found = None;
        assert_eq!(question(&hole, "slot 12", "slot 12"), None);
    }

    #[test]
    fn the_picture_has_every_hole_and_the_swings_of_one() {
        let view = view("p7");
        let picture = scene(&view.fixings[0], Some(2)).unwrap();
        assert_eq!((picture.holes.len(), picture.swings.len()), (4, 3));
        // Hole 1 lies lower left, hole 3 upper right; down the screen is down the piece.
        let [one, three] = [picture.holes[0].at, picture.holes[2].at];
        assert!(one[0] < three[0] && one[1] > three[1]);
        let [x, y] = picture.holes[1].at;
        let ends_there = |[u, v]: [f64; 2]| (u - x).abs() + (v - y).abs() < 1e-9;
        assert!(picture.swings.iter().all(|s| ends_there(s.to)));
        // Each has its length beside it, the right way up.
        let hole = &view.fixings[0].holes[1];
        let first = &hole.tape.as_ref().unwrap().first;
        assert_eq!(
            picture.swings[0].length,
            samespot_core::prepare::mm(first.length)
        );
        assert!(picture.swings.iter().all(|s| s.written.1.abs() <= 90.0));
        assert_eq!(scene(&view.fixings[0], None).unwrap().swings, []);
    }
}
