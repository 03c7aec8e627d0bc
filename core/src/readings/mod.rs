//! From readings to places: instruments, observation models, the adjustment of one face.
//!
//! ```text
//!  Network ── adjust ──▶ Adjusted ── in_datum(A, B, C) ──▶ Adjusted
//!  marks, edges,         places, covariance, residuals,     the same, laid on A, then B
//!  tapes, readings       what is held and how
//! ```
//!
//! Exactly the motions of the face onto itself that the readings leave free are held, by the
//! least shift of all marks against their start; A, then B, then C are a transformation of the
//! result. Marks are numbers here; whoever asks keeps their names.

mod adjust;
mod adjusted;
mod advice;
mod datum;
mod edge;
mod error;
mod gather;
mod girth;
mod instrument;
mod layout;
mod model;
mod motion;
mod network;
mod rank;
mod revolved;
mod slips;
mod stance;
mod start;
mod suspects;
mod validate;

pub use adjust::adjust;
pub use adjusted::{
    Adjusted, ChiSquare, Covariance, PointResult, ReadingResult, Status, TapeResult,
};
pub use advice::Gain;
pub use datum::DatumError;
pub use edge::SquareOff;
pub use error::{AdjustError, NotHeld, Notice, Remedy, Unusable};
pub(crate) use instrument::ROOT_3;
pub use instrument::{ReadingError, ScaleError, Tape, TapeClass, WARMTH_FROM};
pub use motion::Motion;
pub use network::{
    CoordinateAxis, EdgeKind, EdgeStart, Held, Network, Options, PointStart, Precision, Reading,
    ReadingKind, SizeHeld,
};
pub use slips::{Explained, Explanation, OthersSay, Slip};
pub use stance::{Above, Stance, Stood, UpAgainst, turn_from_readings};
pub use start::{Side, StartError, start_about, start_from_readings};
pub use suspects::{CannotLocate, CommonError, ODD_ONE_OUT, Suspect};
