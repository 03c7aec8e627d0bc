//! Everything Samespot computes, as pure functions.
//!
//! No I/O, no clock, no randomness, no browser: the same inputs give the same bytes natively
//! and in WebAssembly. Modules depend one way only:
//! `units`, `frames`, `num`, `json` → `outline`, `surface` → `readings`, `place`, `holes` → `template` →
//! `sheet` → `job`, `read`, `write`.
#![warn(missing_docs)]

pub mod answer;
pub mod check;
pub mod frames;
pub mod holes;
pub mod job;
pub mod json;
pub mod num;
pub mod outline;
pub mod place;
pub mod prepare;
pub mod proof;
pub mod read;
pub mod readings;
pub mod run;
pub mod seat;
pub mod sheet;
pub mod surface;
pub mod template;
pub mod units;
pub mod write;
