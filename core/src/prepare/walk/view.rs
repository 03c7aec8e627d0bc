//! What the Measure screen shows of one walk round a casting.

use super::order::same;
use crate::job::{CastingId, FaceId, FactId, InstrumentId, MarkId, Measured};
use crate::prepare::edge_lines::EdgePicture;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// One walk round a casting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Walk {
    /// The casting.
    pub casting: CastingId,
    /// What it is called: *Puffin 11*.
    pub name: String,
    /// The stage that new readings are taken at.
    pub stage: Option<String>,
    /// What is asked, in the order of the walk.
    pub asks: Vec<AskedReading>,
    /// Its faces, in the order they stand round it.
    pub faces: Vec<FacePicture>,
    /// What the whole walk takes, s.
    pub seconds: u32,
    /// What is left of it, s.
    pub seconds_left: u32,
    /// The reading that goes least with the others.
    pub odd: Option<OddOne>,
    /// Readings of which one is wrong, where nothing says which.
    pub unsettled: Option<Unsettled>,
    /// Sentences to show.
    pub says: Vec<String>,
    /// What to read next and what it brings, what the readings prove, what nothing checks; the
    /// most useful first.
    pub advice: Vec<String>,
    /// Whether the instruments can prove each feature, before anything is measured.
    pub proofs: Vec<Proof>,
    /// How warm the shop is, where a reading is so long that it counts.
    pub warm: Option<Warm>,
    /// What was achieved, once nothing is left to read.
    pub achieved: Option<String>,
    /// The casting to go to then, with its name.
    pub next: Option<(CastingId, String)>,
}

/// How warm the shop is, where that counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Warm {
    /// As noted for this casting, °C.
    pub noted: Option<i16>,
}

/// Whether a feature can be proved by measuring its marks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Proof {
    /// *Eye, left*.
    pub feature: String,
    /// How far out it may be, any way.
    pub asked: Length,
    /// Each instrument with what its readings, laying on and marking come to, the surest first.
    pub by: Vec<(String, Length)>,
    /// Where none is inside what is asked: the method that is.
    pub instead: Option<String>,
}

/// Readings that do not go together, where nothing says which of them is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unsettled {
    /// *A–B, B–C and C–A do not go together: one of them is wrong, and nothing says which*.
    pub says: String,
    /// What to do.
    pub then: String,
    /// The readings.
    pub readings: Vec<FactId>,
    /// The number in the walk and the name of each that can be read again there.
    pub again: Vec<(u32, String)>,
}

/// One reading asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AskedReading {
    /// Its number in the walk, from 1.
    pub number: u32,
    /// What is read; from where the last one ended, where that can be.
    pub of: Measured,
    /// *A to B, over the surface*.
    pub title: String,
    /// *A–B*.
    pub short: String,
    /// The face it is on.
    pub face: FaceId,
    /// With what.
    pub instrument: Option<InstrumentId>,
    /// With what, in words: *Soft tape, grey*.
    pub with: String,
    /// How the tape is usually held; nothing where it makes no difference.
    pub held: Option<HeldAt>,
    /// It stands in for one that can't be reached: *instead of A–C*; or it checks another.
    pub why: Option<String>,
    /// What it should come to, by everything known so far.
    pub expected: Option<Expected>,
    /// How it stands.
    pub state: AskState,
}

/// By what a tape is held at the first mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeldAt {
    /// By its hook or butt end: what the hook has wrong comes in.
    Hook,
    /// By the zero on its blade.
    Zero,
    /// By its 100 mm mark, and the hundred is taken off.
    Hundred,
}

impl HeldAt {
    /// What is taken off what the tape says.
    #[must_use]
    pub const fn taken_off(self) -> Length {
        match self {
            Self::Hook | Self::Zero => Length::ZERO,
            Self::Hundred => Length::from_mm(100.0),
        }
    }

    /// What is written beside the reading of the text, where something was taken off.
    pub const RULE: &'static str = "100 taken off";
}

/// What a reading should come to: ±3 standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Expected {
    /// The least.
    pub low: Length,
    /// The likeliest.
    pub middle: Length,
    /// The most.
    pub high: Length,
}

/// How an asked reading stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AskState {
    /// Not read yet.
    ToRead,
    /// Read.
    Read {
        /// The fact.
        fact: FactId,
        /// As typed.
        typed: String,
        /// As understood.
        value: Length,
    },
    /// Read, and it does not go with the others.
    OddOne {
        /// The fact.
        fact: FactId,
        /// As typed.
        typed: String,
        /// As understood.
        value: Length,
    },
    /// It can't be reached.
    CannotReach {
        /// The fact that says so.
        fact: FactId,
        /// What that costs, or what is read instead.
        lost: String,
    },
    /// A mark of it can't be found at this stage.
    Gone {
        /// Which, and since when.
        why: String,
    },
}

impl AskState {
    /// It waits to be read.
    #[must_use]
    pub const fn is_to_read(&self) -> bool {
        matches!(self, Self::ToRead)
    }
}

/// A reading the others contradict, in words, with what can be done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OddOne {
    /// The fact.
    pub fact: FactId,
    /// Which ask it answers, by number; none if it answers none of them.
    pub ask: Option<u32>,
    /// *B–C*.
    pub short: String,
    /// *B–C is probably 10 mm long.*
    pub says: String,
    /// *Typed 179; the others say 169–171.*
    pub others: String,
    /// The slip that would explain it: *Were two digits swapped?*
    pub slip: Option<String>,
    /// What was read if the tape lay otherwise than was asked, where that explains it.
    pub lay: Option<Measured>,
    /// What was read.
    pub of: Measured,
    /// As typed.
    pub typed: String,
    /// As understood.
    pub value: Length,
}

/// A face as it is drawn: its own plane, mm, y up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FacePicture {
    /// Which.
    pub face: FaceId,
    /// Its name.
    pub name: String,
    /// From where it is seen.
    pub seen_from: Option<String>,
    /// Its marks.
    pub marks: Vec<MarkPicture>,
    /// Its edges.
    pub edges: Vec<EdgePicture>,
    /// Outlines of what goes on it, as the drawing has them: closed runs of points.
    pub outlines: Vec<Vec<[f64; 2]>>,
    /// What has been read: places of both ends and the number.
    pub lines: Vec<ReadLine>,
    /// How many times larger than true the regions are drawn.
    pub magnified: u32,
    /// Why the readings can't be worked with, where they can't.
    pub trouble: Option<String>,
}

/// A mark on the picture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MarkPicture {
    /// Which.
    pub mark: MarkId,
    /// Its letter.
    pub letter: String,
    /// How it is found.
    pub found: String,
    /// Where it is.
    pub at: [f64; 2],
    /// It could be anywhere in here (95 %): half axes, mm, and the turn of the greater, rad.
    pub could_be: [f64; 3],
    /// The drawing alone holds it: nothing was read to it.
    pub unread: bool,
}

/// A reading already taken, on the picture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadLine {
    /// Which fact.
    pub fact: FactId,
    /// From.
    pub from: [f64; 2],
    /// To.
    pub to: [f64; 2],
    /// As typed.
    pub typed: String,
    /// It was laid over the surface.
    pub over: bool,
}

impl Walk {
    /// How often something is to be asked for so that it is read once more than it was: as often as it
    /// stands there where it is still to be read, else once more.
    #[must_use]
    pub fn once_more(&self, of: &Measured) -> usize {
        let all = self.asks.iter().filter(|a| same(&a.of, of));
        let open = all.clone().any(|a| a.state.is_to_read());
        all.count() + usize::from(!open)
    }
}

/// Seconds to lay the tape, read and tap one reading, walking to the next included (common
/// practice, no source).
pub(super) const SECONDS_A_READING: u32 = 20;
/// Seconds to put one instrument down and take up another (common practice, no source).
pub(super) const SECONDS_A_CHANGE: u32 = 15;
