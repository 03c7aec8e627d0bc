//! Lengths and angles, and what people type for them.
//!
//! Millimetres and radians inside; every other unit is read and shown here and nowhere else.

mod angle;
mod length;

pub use angle::Angle;
pub use length::{Length, NotFinite};
