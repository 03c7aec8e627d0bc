//! One session: the open job, what is kept of it, and what the whole page knows.
//!
//! Edits become facts; facts are kept, told to the other tabs and to the worker; the job is folded
//! from them. Nothing here reckons.

mod book;
mod came;
#[cfg(feature = "whole")]
mod copies;
mod errand;
mod hand_over;
mod keep;
#[cfg(feature = "whole")]
mod open;
mod owed;
mod own;
mod shelf;
mod steps;
mod survey;
mod told;
#[cfg(feature = "whole")]
mod unsaid;
#[cfg(feature = "whole")]
mod whole_run;

pub use book::{Book, piece_meant};
pub use came::{Came, CameIn};
pub use hand_over::Handed;
#[cfg(not(feature = "whole"))]
pub use hand_over::{hand_over, not_loaded};
pub use keep::Keeping;
pub use steps::Steps;
#[cfg(feature = "whole")]
pub use whole_run::RunWanted;

use crate::ports::offline::Offline;
use crate::ports::store::Card;
use crate::ports::{address, ids, settings};
use crate::route::{Route, here};
use leptos::prelude::*;
use samespot_core::answer::Survey;
use samespot_core::job::{FactId, JobId, PieceId, ReplicaId};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// What is being looked for at an address.
#[derive(Debug, Clone, PartialEq)]
pub enum Lookup {
    /// Nothing is.
    Idle,
    /// A job is being fetched from this device.
    Fetching(JobId),
    /// The address names a job that is not on this device.
    Missing(JobId),
}

/// A sentence shown until it is put away.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Notice {
    /// Counts up.
    pub number: u32,
    /// What happened and what to do.
    pub text: String,
    /// It is something to be acted on.
    pub warns: bool,
    /// Sheets that count as printed because they were downloaded: its key takes that back.
    #[serde(default)]
    pub prints: Vec<FactId>,
}

/// The session. Everything in it is a handle; copies are the same session.
#[derive(Clone, Copy)]
pub struct Session {
    /// This tab as a writer.
    pub replica: ReplicaId,
    /// Where we are.
    pub route: RwSignal<Route>,
    /// The open job.
    pub book: RwSignal<Option<Arc<Book>>>,
    /// What is being looked for.
    pub lookup: RwSignal<Lookup>,
    /// What is kept of it.
    pub keeping: RwSignal<Keeping>,
    /// What the device did not take, and how often it was offered since.
    owed: StoredValue<(owed::Owed, u32)>,
    /// How often the storage had been made when the open job was last known to be kept as a whole.
    whole_at: StoredValue<Option<u32>>,
    /// The jobs on this device; nothing until they have been looked at.
    pub shelf: RwSignal<Option<Vec<Card>>>,
    /// The whole run at a glance.
    pub survey: RwSignal<Option<Arc<Survey>>>,
    /// Show what nominal templates would have done.
    pub as_drawn: RwSignal<bool>,
    /// What can be taken back.
    pub steps: RwSignal<Steps>,
    /// How often a step was taken back or brought back. A form that holds what is being typed begins
    /// again from the job then: what stands in it is what was taken back.
    pub stepped: RwSignal<u32>,
    /// What came in with the last copy that was opened.
    pub came_in: RwSignal<Option<CameIn>>,
    /// The piece last in hand: a screen that is about none leads back to it.
    in_hand: RwSignal<Option<(JobId, PieceId)>>,
    /// Sentences to show.
    pub notices: RwSignal<Vec<Notice>>,
    /// Whether it would start without a network, and whether a new version waits.
    pub offline: RwSignal<(Offline, bool)>,
    /// Dark.
    pub shed: RwSignal<bool>,
    /// The whole module was asked for and did not come.
    pub whole_lacking: RwSignal<bool>,
    /// Something is left to the whole module.
    pub leaving: RwSignal<bool>,
    /// A copy that was ready too late to be shared.
    #[cfg(feature = "whole")]
    ready_copy: StoredValue<Option<Arc<copies::ReadyCopy>>>,
    /// What stands in fields and has not been said.
    #[cfg(feature = "whole")]
    unsaid: StoredValue<unsaid::AtHand>,
}

impl Session {
    /// Starts the session of this tab, or goes on with one that another module began.
    #[must_use]
    pub fn begin(handed: Option<Handed>) -> Self {
        let shed = match settings::get("theme").as_deref() {
            Some("shed") => true,
            Some("office") => false,
            _ => settings::device_is_dark(),
        };
        let session = Self {
            replica: ids::replica(),
            route: RwSignal::new(address::here()),
            book: RwSignal::new(None),
            lookup: RwSignal::new(Lookup::Idle),
            keeping: RwSignal::new(Keeping::NothingYet),
            owed: StoredValue::new((owed::Owed::default(), 0)),
            whole_at: StoredValue::new(None),
            shelf: RwSignal::new(None),
            survey: RwSignal::new(None),
            as_drawn: RwSignal::new(false),
            steps: RwSignal::new(Steps::default()),
            stepped: RwSignal::new(0),
            came_in: RwSignal::new(None),
            in_hand: RwSignal::new(None),
            notices: RwSignal::new(Vec::new()),
            offline: RwSignal::new((Offline::Unknown, false)),
            shed: RwSignal::new(shed),
            whole_lacking: RwSignal::new(false),
            leaving: RwSignal::new(false),
            #[cfg(feature = "whole")]
            ready_copy: StoredValue::new(None),
            #[cfg(feature = "whole")]
            unsaid: StoredValue::new(unsaid::AtHand::default()),
        };
        session.wear(shed);
        session.look_at_device();
        if let Some(handed) = handed {
            session.go_on_with(handed);
        }
        #[cfg(not(feature = "whole"))]
        hand_over::remember(session);
        session.follow_address();
        session.follow_tabs();
        #[cfg(feature = "whole")]
        session.keep_unsaid();
        crate::ports::offline::follow(move |state, newer| session.offline.set((state, newer)));
        session
    }

    /// Puts the theme on.
    pub fn wear(&self, shed: bool) {
        settings::wear(if shed { "shed" } else { "office" });
        self.shed.set(shed);
    }

    /// Changes the theme and remembers it.
    pub fn change_theme(&self) {
        let shed = !self.shed.get_untracked();
        settings::set("theme", if shed { "shed" } else { "office" });
        self.wear(shed);
    }

    /// Shows a sentence.
    pub fn notice(&self, text: impl Into<String>, warns: bool) {
        self.put_up(text.into(), warns, Vec::new());
    }

    /// Says that what was downloaded counts as printed, with the key that takes that back; in the place of
    /// the last such sentence.
    pub(super) fn notice_prints(&self, text: String, prints: Vec<FactId>) {
        self.notices
            .update(|all| all.retain(|n| n.prints.is_empty()));
        self.put_up(text, false, prints);
    }

    fn put_up(&self, text: String, warns: bool, prints: Vec<FactId>) {
        self.notices.update(|all| {
            if all.iter().any(|n| n.text == text) {
                return;
            }
            let number = all.last().map_or(0, |n| n.number) + 1;
            all.push(Notice {
                number,
                text,
                warns,
                prints,
            });
        });
    }

    /// Puts a sentence away.
    pub fn dismiss(&self, number: u32) {
        self.notices
            .update(|all| all.retain(|n| n.number != number));
    }

    /// Goes somewhere.
    pub fn go(&self, route: &Route) {
        address::go(route);
        // The browser tells of it later; the page turns at once.
        self.arrive(route.clone());
    }

    fn follow_address(self) {
        address::follow(move |route| self.arrive(route));
        self.arrive(address::here());
    }

    /// What stands at the address, or is to be done, is another module's to show or do.
    #[must_use]
    pub fn is_elsewhere(&self) -> bool {
        if cfg!(feature = "whole") {
            return false;
        }
        let of_more = |b: &Arc<Book>| b.job.has_unknown_kinds();
        let route = self.route.get();
        self.leaving.get()
            || !here(&route)
            || route.job().is_some() && self.book.with(|b| b.as_ref().is_some_and(of_more))
    }

    /// A file was given to this module and waits for the whole one, which may still come.
    #[cfg(not(feature = "whole"))]
    fn a_file_waits(&self) -> bool {
        errand::holds_a_file() && !self.whole_lacking.get_untracked()
    }

    #[cfg(feature = "whole")]
    #[expect(clippy::unused_self, reason = "as in the other module")]
    const fn a_file_waits(&self) -> bool {
        false
    }

    fn arrive(&self, route: Route) {
        self.leaving.set(self.a_file_waits());
        if let Some(job) = route.job() {
            let open = self
                .book
                .with_untracked(|b| b.as_ref().is_some_and(|b| b.id() == job));
            if !open && here(&route) {
                self.fetch(job.clone());
            }
        } else {
            self.refresh_shelf();
        }
        if let (Some(job), Some(piece)) = (route.job(), route.piece()) {
            self.take_in_hand(job, piece);
        }
        if self.route.with_untracked(|r| *r != route) {
            let turns = self.route.with_untracked(|r| !r.same_screen(&route));
            self.route.set(route);
            if turns {
                address::from_the_top();
            }
        }
    }

    /// A piece is worked on: other screens go on with it.
    pub fn take_in_hand(&self, job: &JobId, piece: &PieceId) {
        let now = Some((job.clone(), piece.clone()));
        if self.in_hand.with_untracked(|held| *held != now) {
            self.in_hand.set(now);
        }
    }

    /// The piece in hand: the one an address names, or the casting it names is in, or the last.
    #[must_use]
    pub fn piece_in_hand(&self, route: &Route) -> Option<PieceId> {
        if let Some(piece) = route.piece() {
            return Some(piece.clone());
        }
        let held = self.in_hand.get();
        self.book.with(|book| {
            let job = &book.as_ref()?.job;
            if let Route::Measure {
                casting: Some(casting),
                ..
            } = route
            {
                return job.piece_with(casting).cloned();
            }
            let (of, piece) = held?;
            (route.job() == Some(&of) && job.pieces.contains_key(&piece)).then_some(piece)
        })
    }
}

/// The session of this page.
#[must_use]
pub fn session() -> Session {
    expect_context::<Session>()
}
