//! How a figure sits on a base: its place from readings, its bed, and which base it goes on.
//!
//! Nothing here takes a typed place: [`locate`] finds the six degrees of freedom from what was
//! read across the joint, says what holds them and what does not, and what each reading moves.
//! [`bed`] makes the locating dimension hold on three hard points and says what filler that
//! leaves at each; [`pairing`] decides whether any figure fits any base.

#![allow(
    clippy::needless_range_loop,
    reason = "indices stand as they do in the formulas"
)]

mod assign;
mod bed;
mod freedom;
mod lean;
mod locator;
mod pairing;
mod pose;
mod seating;
mod stick;

pub use assign::{Assignment, assign};
pub use bed::{Bed, BedFlag, Bedded, Pad, Station, bed};
pub use freedom::{Freedom, Names};
pub use lean::{Lean, Read, lean};
pub use locator::{Holds, Locator, LocatorFault};
pub use pairing::{Fit, Pairing, pairing};
pub use pose::{Outcome, Start, locate};
pub use seating::Seating;
pub use stick::{ReadWith, STEP, STEPS, Stick, TooFine};
