//! What the Holes screen and the drill sheet say of a piece.

use crate::job::{CastingId, Entry, FeatureId, FixingId, MarkId, Measured, PieceId, SheetOf};
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};

/// Every fixing of a piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HolesView {
    /// The piece.
    pub id: PieceId,
    /// Its number.
    pub piece: String,
    /// Its fixings.
    pub fixings: Vec<FixingView>,
    /// The hatches of its castings.
    pub hatches: Vec<HatchView>,
}

/// A hatch of the piece, and what is seen to before it is closed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HatchView {
    /// Which.
    pub feature: FeatureId,
    /// The casting it is cut in.
    pub casting: CastingId,
    /// What it is called.
    pub name: String,
    /// What is written on its plug.
    pub plug: String,
    /// It is cut and not closed yet.
    pub open: bool,
    /// How it stands, in words.
    pub stands: String,
    /// What is seen to before it is closed.
    pub before: Vec<BeforeClosing>,
}

impl HatchView {
    /// Nothing is left to be seen to.
    #[must_use]
    pub fn may_close(&self) -> bool {
        self.before.iter().all(|b| b.done)
    }
}

/// One thing that is seen to before a hatch is closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BeforeClosing {
    /// What.
    pub what: String,
    /// It is.
    pub done: bool,
    /// Somebody ticks it; else it follows from what was said of holes and readings.
    pub by_hand: bool,
}

/// In which order the bolts are drawn up, and whether a hand comes to them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BoltingView {
    /// The holes in their order.
    pub order: Vec<u32>,
    /// Why in that order, and how.
    pub how: String,
    /// Each hole through its hatch; none where no hatch is named.
    pub reach: Vec<ReachView>,
    /// What is to be minded, or said first.
    pub says: Vec<String>,
}

/// One hole, seen from the hatch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ReachView {
    /// The hole.
    pub hole: u32,
    /// From the middle of the hatch along the skin.
    pub way: Length,
    /// A hand comes there.
    pub reached: bool,
}

/// A lean as two tilts from square.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tilts {
    /// Towards the right where positive.
    pub across: Angle,
    /// Up where positive.
    pub up: Angle,
}

/// The way of one drill.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WayView {
    /// What it goes through, in order.
    pub layers: Vec<PassedView>,
    /// From where it goes in to where it comes out of the last: what the bolt clamps.
    pub clamped: Length,
    /// From the point square behind the entry to where it comes out of the skin: right and up.
    pub comes_out: (Length, Length),
    /// Every layer of the skin was measured, so that it may be shown large.
    pub measured: bool,
}

/// One layer on the way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PassedView {
    /// What it is.
    pub name: String,
    /// How long the way in it is.
    pub length: Length,
}

/// One bracket and its holes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FixingView {
    /// Which.
    pub fixing: FixingId,
    /// Its name.
    pub name: String,
    /// The casting that is drilled and its face: *Cap 7, front*.
    pub on: String,
    /// Why it can't be laid out, and what to do; nothing else is filled in then.
    pub cannot: Option<String>,
    /// The drill.
    pub drill: Length,
    /// What that is for: *clears M10, medium (ISO 273)*.
    pub drill_for: String,
    /// How the drill is held, in words.
    pub aim: String,
    /// Least and greatest length of the material along the drill, at the middle.
    pub through: Option<Through>,
    /// Where the collar stands on the bit, where every layer was measured.
    pub stop: Option<Stop>,
    /// Why that can't be told, and what to do, where layers were named without a thickness.
    pub no_through: Option<String>,
    /// The marks, seen from the fixing's middle.
    pub marks: Vec<MarkView>,
    /// The holes.
    pub holes: Vec<HoleView>,
    /// Against plumb, in words, where it was read how far the face looks up.
    pub plumb: Option<String>,
    /// In which order the bolts are drawn up, where bolts go in.
    pub bolting: Option<BoltingView>,
    /// The chance that all bolts enter, by how the holes are made.
    pub chances: Vec<ChanceView>,
    /// What could be made to guide the drill: a drill template, a jig.
    pub guides: Vec<GuideView>,
    /// The plate that holds the bracket while its glass cures, where bolts go into one.
    pub plate: Option<GuideView>,
    /// The edges that stops of the jig and the plate touch.
    pub stops: Vec<StopView>,
    /// What was read of the bracket after cure, where bolts go into one.
    pub cured: Option<CuredView>,
    /// What the check of a hole can tell, said before it is read.
    pub can_tell: Vec<String>,
    /// Those of the notes that say a hole is nearer to an edge or to its neighbour than is usual.
    pub near: Vec<String>,
    /// Reach, spacing and what else is worth knowing.
    pub notes: Vec<String>,
}

/// How much there is to drill through.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Through {
    /// At least.
    pub least: Length,
    /// At most.
    pub most: Length,
    /// Every layer was measured, so that it may be shown large.
    pub measured: bool,
}

/// Where the collar stands on the bit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stop {
    /// From the bit's tip, for the hole through the skin.
    pub collar: Length,
    /// The least length of bit for it.
    pub bit: Length,
    /// From the bit's tip when the bracket behind is drilled too: never further, as the finish
    /// behind it comes next. Nothing where no plate is known.
    pub through_bracket: Option<Length>,
    /// How long the bit's point is, which no more than begins the hole.
    pub point: Length,
    /// Across the far edge of the bracket as that stop leaves it, where it is less than the bit.
    pub far_edge: Option<Length>,
}

/// The chance of one method.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChanceView {
    /// How the holes are made.
    pub method: String,
    /// 95 % of cases lie within this of where the worst hole should be; nothing where the bracket
    /// itself decides.
    pub within: Option<Length>,
    /// The chance, 0 to 1.
    pub chance: f64,
    /// It is the least trouble that is enough.
    pub enough: bool,
}

/// An edge that a stop of the jig touches, to be read on this casting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StopView {
    /// The casting it is read on.
    pub casting: CastingId,
    /// What is read.
    pub of: Measured,
    /// The same in words: *square from A to the edge below*.
    pub asks: String,
    /// What was read last.
    pub read: Option<Entry>,
}

/// Something that guides the drill: what it leaves, and whether the one that was printed still holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GuideView {
    /// What its sheet is of.
    pub of: SheetOf,
    /// 95 % of cases lie within this at the worst hole.
    pub within: Length,
    /// The radius asked for.
    pub allowed: Length,
    /// How it is laid.
    pub laying: String,
    /// What it leaves at each hole, and by what.
    pub holes: Vec<String>,
    /// What is worth knowing before it is used.
    pub warnings: Vec<String>,
    /// When one was printed, and its reference.
    pub printed: Option<String>,
    /// Why that one no longer holds.
    pub stale: Option<String>,
    /// Why none can be made.
    pub cannot: Option<String>,
}

/// Where the bracket came to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CuredView {
    /// What is read: two of its holes, as far apart as they come, from the marks they swing from.
    pub rows: Vec<CuredRow>,
    /// What that comes to, a sentence each.
    pub says: Vec<String>,
    /// The readings replace the bracket's place on the drawing.
    pub counts: bool,
}

/// One distance to read after cure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CuredRow {
    /// The hole.
    pub hole: u32,
    /// From where, with the tape how, and what it should be if the bracket is where it was meant.
    pub meant: SwingView,
    /// What it reads.
    pub read: Option<Entry>,
}

/// A mark of the face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MarkView {
    /// Its letter.
    pub letter: String,
    /// How it is found.
    pub found: String,
    /// To the right of the fixing's middle, and up.
    pub at: (Length, Length),
    /// It can't be used now: why.
    pub gone: Option<String>,
}

/// One hole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HoleView {
    /// Its number, from 1.
    pub number: u32,
    /// To the right of the fixing's middle and up, laid flat.
    pub at: (Length, Length),
    /// How it is found with a tape.
    pub tape: Option<TapeView>,
    /// Why not.
    pub no_tape: Option<String>,
    /// The same by running dimensions, on a flat face.
    pub running: Option<RunningView>,
    /// How far the drill leans from square to the face here.
    pub lean: Angle,
    /// Which way its free end leans, in words; empty where it hardly does.
    pub towards: String,
    /// The same as two tilts.
    pub tilts: Option<Tilts>,
    /// What it goes through, where every layer has a thickness.
    pub way: Option<WayView>,
    /// 95 % of cases lie within this of where it should be, by what was measured.
    pub within: Length,
    /// What was said of it last.
    pub drilled: Option<DrilledView>,
}

/// A hole by one line: so far along it from its first mark, then square off it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunningView {
    /// The mark that all are measured from, by its letter.
    pub from: String,
    /// The other end of the line.
    pub to: String,
    /// Along the line; below nothing where it lies before the first mark.
    pub along: Length,
    /// Square off it.
    pub off: Length,
    /// On which side: *above*, *left of*.
    pub side: String,
}

/// A hole as it was drilled.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DrilledView {
    /// What it became, where it is not as asked.
    pub became: Option<String>,
    /// What its check came to.
    pub found: Option<String>,
}

/// Two swings and a check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TapeView {
    /// The first.
    pub first: SwingView,
    /// The second.
    pub second: SwingView,
    /// The check.
    pub check: Option<SwingView>,
    /// Which of the two crossings: *above the line A–B*.
    pub side: String,
    /// Where the other crossing is, to the right of the fixing's middle and up: not there.
    pub other: (Length, Length),
    /// The angle at which they cross.
    pub crossing: Angle,
    /// What to mind.
    pub warning: Option<String>,
}

/// A distance from a mark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SwingView {
    /// The mark's letter.
    pub from: String,
    /// The mark.
    pub mark: MarkId,
    /// How far.
    pub length: Length,
    /// With the tape laid on the face; else pulled straight.
    pub over: bool,
}

impl SwingView {
    /// How the tape lies.
    #[must_use]
    pub const fn lies(&self) -> &'static str {
        if self.over {
            "over the surface"
        } else {
            "straight"
        }
    }
}
