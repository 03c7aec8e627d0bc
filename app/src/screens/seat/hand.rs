//! The seat in hand: what is known of it, and what is being typed.

use crate::ports::fields;
use crate::route::Route;
use crate::state::{Book, Session, piece_meant};
use crate::widgets::length::Heard;
use crate::widgets::looked::Looked;
use leptos::prelude::*;
use leptos::task::spawn_local;
use samespot_core::answer::{Ask, Reply};
use samespot_core::job::{
    CastingId, Entry, Job, JobId, JointId, Payload, PieceId, SeatRead, SeatReading, SeatTool,
    SeatWhen, SpotId,
};
use samespot_core::prepare::seat::{HeightCell, HeightRow, SeatView};
use samespot_core::seat::Stick;
use samespot_core::units::{FieldOptions, Length, Unit};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The field that takes readings.
const FIELD: &str = "#seat-field";

/// One thing to read.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Cell {
    /// The gap at a pad, on trial.
    Gap(SpotId),
    /// The locating dimension at a station.
    Locating(SpotId, SeatWhen),
    /// The height of a place of one casting over the board.
    Height(CastingId, SpotId),
}

impl Cell {
    /// Read with the casting by itself on the board, not at the joint.
    pub(super) const fn on_board(&self) -> bool {
        matches!(self, Self::Height(..))
    }
}

/// The piece this screen is about.
pub(super) fn in_hand(job: &Job, route: &Route) -> Option<PieceId> {
    match route {
        Route::Seat { piece, .. } => piece_meant(job, piece.as_ref()),
        _ => None,
    }
}

/// Cells in the order in which they are read and stand on the screen: on trial the stations and the
/// gaps below them, then all of the next time.
pub(super) fn cells(view: &SeatView) -> Vec<Cell> {
    let stations = |when: SeatWhen| {
        let all = view.stations.iter();
        all.map(move |s| Cell::Locating(s.id.clone(), when))
    };
    let mut all: Vec<Cell> = stations(SeatWhen::Dry).collect();
    all.extend(view.pads.iter().map(|p| Cell::Gap(p.id.clone())));
    all.extend(stations(SeatWhen::Wet));
    all.extend(stations(SeatWhen::Cured));
    let on = |of: fn(&HeightRow) -> &Option<HeightCell>| {
        let cell = move |row: &HeightRow| {
            let on = of(row).as_ref()?;
            Some(Cell::Height(on.casting.clone(), row.spot.clone()))
        };
        view.heights.iter().filter_map(cell).collect::<Vec<_>>()
    };
    all.extend(on(|row| &row.base));
    all.extend(on(|row| &row.figure));
    all
}

/// A reading further off than this from what was to be expected is asked about, mm: on trial, where the
/// figure stands as it happens to; in filler, where it was set on its shims; a height, against the
/// other castings.
const OFF_ON_TRIAL_MM: f64 = 25.0;
const OFF_IN_FILLER_MM: f64 = 10.0;
const OFF_ON_BOARD_MM: f64 = 20.0;

/// What was to be expected at a cell, and how far off that is no longer a matter of course.
fn expected(view: &SeatView, cell: &Cell) -> Option<(Length, f64)> {
    match cell {
        Cell::Gap(id) => {
            let pad = view.pads.iter().find(|p| p.id == *id)?;
            // Known from heights, else the middle of what the bed may be.
            let middle = (view.least + view.greatest) / 2.0;
            Some((pad.shim.unwrap_or(middle), OFF_ON_TRIAL_MM))
        }
        Cell::Locating(id, when) => {
            let station = view.stations.iter().find(|s| s.id == *id)?;
            let aim = station.at(*when).aim.unwrap_or(view.locating);
            let off = match when {
                SeatWhen::Dry => OFF_ON_TRIAL_MM,
                SeatWhen::Wet | SeatWhen::Cured => OFF_IN_FILLER_MM,
            };
            Some((aim, off))
        }
        Cell::Height(casting, id) => {
            let row = view.heights.iter().find(|r| r.spot == *id)?;
            let on = [&row.base, &row.figure].into_iter().flatten();
            let cell = on.into_iter().find(|c| c.casting == *casting)?;
            Some((cell.usual?, OFF_ON_BOARD_MM))
        }
    }
}

/// What is asked before a reading that is far off is kept; nothing where it is near enough.
pub(super) fn doubt(view: &SeatView, cell: &Cell, read: Length) -> Option<String> {
    let (about, off) = expected(view, cell)?;
    ((read - about).abs().mm() > off).then(|| {
        format!(
            "{} mm is far from what was to be expected here, about {}. Is it right?",
            crate::say::numbers::tenth(read),
            crate::say::numbers::tenth(about)
        )
    })
}

/// The fact that a text typed for a cell makes; nothing while it is no length.
pub(super) fn fact(
    view: &SeatView,
    piece: &PieceId,
    cell: &Cell,
    heard: &Heard,
    tool: SeatTool,
) -> Option<Payload> {
    let typed = heard.entry()?;
    let (value, tool) = match cell {
        Cell::Locating(station, _) => (with_tool(view, station, typed, tool)?, Some(tool)),
        Cell::Gap(_) | Cell::Height(..) => (typed, None),
    };
    let of = match cell {
        Cell::Gap(pad) => SeatRead::Gap {
            piece: piece.clone(),
            pad: pad.clone(),
            when: SeatWhen::Dry,
        },
        Cell::Locating(station, when) => SeatRead::Locating {
            piece: piece.clone(),
            station: station.clone(),
            when: *when,
        },
        Cell::Height(casting, spot) => SeatRead::Height {
            casting: casting.clone(),
            spot: spot.clone(),
        },
    };
    Some(Payload::Seat(SeatReading {
        joint: view.joint.clone(),
        of,
        value,
        instrument: None,
        // A rule is what nobody has to say.
        tool: tool.filter(|t| *t != SeatTool::Rule),
    }))
}

/// What was typed as a length: with the stick it is the last step of the shim gauge that went.
fn with_tool(view: &SeatView, station: &SpotId, typed: Entry, tool: SeatTool) -> Option<Entry> {
    if tool != SeatTool::Stick {
        return Some(typed);
    }
    let (goes, doesnt) = view.stations.iter().find(|s| s.id == *station)?.stick?;
    Some(Entry {
        typed: format!("stick, step {}", typed.typed),
        mm: Stick { goes, doesnt }.reads(typed.mm),
        unit: typed.unit,
        rule: typed.rule,
    })
}

/// What every field here takes.
pub(super) fn options() -> FieldOptions {
    FieldOptions::size(Unit::Mm)
}

/// The state of the screen.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    pub(super) session: Session,
    /// Which piece.
    pub(super) piece: Memo<Option<(JobId, PieceId)>>,
    /// Which of the job's joints; the first where none was chosen.
    pub(super) joint: RwSignal<Option<JointId>>,
    /// What is known of its seat.
    pub(super) looked: RwSignal<Looked<SeatView>>,
    /// What is to be typed.
    pub(super) cell: RwSignal<Option<Cell>>,
    /// What was typed and is not kept yet, by cell.
    pub(super) drafts: RwSignal<BTreeMap<Cell, String>>,
    /// The question that stands before a reading is kept.
    pub(super) doubt: RwSignal<Option<String>>,
    /// The answer given to the field's question.
    pub(super) picked: RwSignal<Option<usize>>,
    /// With what locating dimensions are read.
    pub(super) tool: RwSignal<SeatTool>,
    /// The pair looked at in the table.
    pub(super) pair: RwSignal<Option<(usize, usize)>>,
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
            joint: RwSignal::new(None),
            looked: RwSignal::new(Looked::Working),
            cell: RwSignal::new(None),
            drafts: RwSignal::new(BTreeMap::new()),
            doubt: RwSignal::new(None),
            picked: RwSignal::new(None),
            tool: RwSignal::new(SeatTool::Rule),
            pair: RwSignal::new(None),
            asked: StoredValue::new(0),
        };
        Effect::new(move |before: Option<Option<(JobId, PieceId)>>| {
            let piece = hand.piece.get();
            hand.joint.track();
            let book = hand.session.book.get();
            if before.as_ref() != Some(&piece) {
                hand.looked.set(Looked::Working);
                hand.cell.set(None);
                hand.drafts.set(BTreeMap::new());
                hand.doubt.set(None);
                hand.pair.set(None);
            }
            match (book, &piece) {
                (Some(book), Some((_, piece))) => hand.look(book, piece.clone()),
                (Some(_), None) => hand
                    .looked
                    .set(Looked::Cannot("This job has no piece yet".into())),
                (None, _) => {}
            }
            piece
        });
        hand
    }

    fn look(self, book: Arc<Book>, piece: PieceId) {
        self.asked.update_value(|n| *n += 1);
        let number = self.asked.get_value();
        let ask = Ask::Seat {
            job: book.id().clone(),
            piece,
            joint: self.joint.get_untracked(),
        };
        spawn_local(async move {
            let looked = match Session::ask(book, ask).await {
                Ok((Reply::Seat(view), _)) => Looked::View(Arc::from(view)),
                Ok(_) => return,
                Err(sentence) => Looked::Cannot(sentence),
            };
            if self.asked.try_get_value() == Some(number) {
                let _ = self.looked.try_set(looked);
            }
        });
    }

    /// What is known, if it is.
    pub(super) fn view(&self) -> Option<Arc<SeatView>> {
        self.looked.get().view()
    }

    /// Goes to a cell; what was typed for another stays there.
    pub(super) fn choose(&self, cell: Cell) {
        self.picked.set(None);
        self.doubt.set(None);
        self.cell.set(Some(cell));
        fields::focus_first_empty(FIELD);
    }

    /// What stands in the field.
    pub(super) fn text(&self) -> String {
        let cell = self.cell.get();
        self.drafts
            .with(|d| cell.and_then(|c| d.get(&c).cloned()))
            .unwrap_or_default()
    }

    /// Somebody typed.
    pub(super) fn write(&self, text: String) {
        self.picked.set(None);
        self.doubt.set(None);
        if let Some(cell) = self.cell.get_untracked() {
            self.drafts.update(|d| {
                d.insert(cell, text);
            });
        }
    }

    /// Keeps what was typed where it is a length, and goes on to the next cell; asks first where it
    /// looks like a slip and nobody is sure.
    pub(super) fn keep(&self, go_on: bool, sure: bool) {
        let (Some(cell), Looked::View(view)) =
            (self.cell.get_untracked(), self.looked.get_untracked())
        else {
            return;
        };
        let Some((_, piece)) = self.piece.get_untracked() else {
            return;
        };
        let text = self
            .drafts
            .with_untracked(|d| d.get(&cell).cloned())
            .unwrap_or_default();
        let heard = Heard::of(&text, self.picked.get_untracked(), &options());
        let Some(fact) = fact(&view, &piece, &cell, &heard, self.tool.get_untracked()) else {
            return;
        };
        if !sure
            && let Payload::Seat(read) = &fact
            && let Some(doubt) = doubt(&view, &cell, read.value.mm)
        {
            self.doubt.set(Some(doubt));
            return;
        }
        self.drafts.update(|d| {
            d.remove(&cell);
        });
        self.picked.set(None);
        self.doubt.set(None);
        self.session.say(&[fact]);
        if go_on {
            let all = cells(&view);
            let next = all.iter().position(|c| *c == cell).map_or(0, |at| at + 1);
            if let Some(next) = all.get(next) {
                self.choose(next.clone());
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::answer::{Desk, Request, answer};

    const FILE: &[u8] = include_bytes!("../../../../public/examples/quay-puffins.samespot");

    fn view(piece: &str) -> SeatView {
        let mut desk = Desk::default();
        let job = desk.take(samespot_core::read::job::open(FILE).unwrap());
        let ask = Ask::Seat {
            job,
            piece: PieceId::new(piece).unwrap(),
            joint: None,
        };
        match answer(&mut desk, Request { number: 1, ask }).says.unwrap() {
            Reply::Seat(view) => *view,
            other => unreachable!("{other:?}"),
        }
    }

    #[test]
    fn cells_go_through_one_time_after_the_other() {
        let all = cells(&view("p7"));
        assert_eq!(all.len(), 24);
        assert!(all[11..13].iter().map(Cell::on_board).eq([false, true]));
        // The dry stations, the dry gaps below them, then wet.
        assert!(matches!(&all[2], Cell::Locating(_, SeatWhen::Dry)));
        assert!(matches!(&all[3], Cell::Gap(_)));
        assert!(matches!(&all[6], Cell::Locating(_, SeatWhen::Wet)));
        assert!(matches!(&all[11], Cell::Locating(_, SeatWhen::Cured)));
    }

    #[test]
    fn what_is_far_from_what_was_to_be_expected_is_asked_about() {
        let view = view("p7");
        let asks = |cell: &Cell, mm: f64| doubt(&view, cell, Length::from_mm(mm)).is_some();
        let station = |when| Cell::Locating(view.stations[0].id.clone(), when);
        // 96 mm is what the joint asks for.
        assert!(asks(&station(SeatWhen::Dry), 4.0));
        assert!(!asks(&station(SeatWhen::Dry), 104.0));
        assert!(asks(&station(SeatWhen::Cured), 69.0));
        assert!(!asks(&station(SeatWhen::Cured), 97.5));
        let gap = Cell::Gap(view.pads[0].id.clone());
        assert!(asks(&gap, 64.0));
        assert!(!asks(&gap, 9.0));
        // A height against the other castings of its part.
        let on = view.heights[0].base.as_ref().unwrap();
        let height = Cell::Height(on.casting.clone(), view.heights[0].spot.clone());
        let usual = on.usual.unwrap().mm();
        assert!(asks(&height, usual * 10.0));
        assert!(!asks(&height, usual + 5.0));
    }

    #[test]
    fn what_is_typed_becomes_a_reading_of_its_cell_with_its_own_words() {
        let view = view("p7");
        let cell = Cell::Locating(view.stations[0].id.clone(), SeatWhen::Wet);
        let piece = PieceId::new("p7").unwrap();
        let heard = Heard::of("9.56cm", None, &options());
        match fact(&view, &piece, &cell, &heard, SeatTool::Rule).unwrap() {
            Payload::Seat(read) => {
                assert_eq!(read.value.typed, "9.56cm");
                assert_eq!(read.value.mm.to_um(), 95_600);
                assert_eq!(read.joint, view.joint);
            }
            other => unreachable!("{other:?}"),
        }
        let nonsense = Heard::of("about ten", None, &options());
        assert_eq!(fact(&view, &piece, &cell, &nonsense, SeatTool::Rule), None);
        // With the stick a step is typed, and the station reads half a step more.
        let step = Heard::of("1.5", None, &options());
        let (goes, _) = view.stations[0].stick.unwrap();
        match fact(&view, &piece, &cell, &step, SeatTool::Stick).unwrap() {
            Payload::Seat(read) => {
                assert_eq!(read.value.mm.to_um(), goes.to_um() + 1_750);
                assert_eq!(read.value.typed, "stick, step 1.5");
                assert_eq!(read.tool, Some(SeatTool::Stick));
            }
            other => unreachable!("{other:?}"),
        }
    }

    #[test]
    fn an_address_without_a_piece_means_the_first() {
        let opened = samespot_core::read::job::open(FILE).unwrap();
        let job = opened.ledger.fold();
        let hand = |a: &str| in_hand(&job, &Route::read(a)).unwrap().to_string();
        assert_eq!(hand("#/j/quay-puffins/seat"), "p1");
        assert_eq!(hand("#/j/quay-puffins/p/p7/seat"), "p7");
        assert_eq!(hand("#/j/quay-puffins/p/p99/seat"), "p1");
    }
}
