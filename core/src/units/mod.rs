//! Lengths and angles, and what people type for them.
//!
//! Millimetres and radians inside; every other unit is read and shown here and nowhere else.
//!
//! ```text
//! text ── clean ──► tokens ── number ── quantity ──► readings ── parse ──► Typed
//!         one form for      digits,     units,       every way    range,     understood, asked,
//!         quotes, dashes,   marks,      feet and     it can be    expected   a list, refused,
//!         digits, spaces    fractions   inches       read                    not measured
//! ```

mod angle;
mod clean;
mod date;
mod entry;
mod format;
mod length;
mod number;
mod parse;
mod parse_angle;
mod parts;
mod quantity;
mod ratio;
mod stands_for;
mod typed;
mod unit;
pub mod words;

pub use angle::Angle;
pub use date::is_date;
pub use format::{FeetInches, InchParts, exact, feet_inches, fixed_mm, shown};
pub use length::{Length, NotFinite};
pub use parse::parse_length;
pub use parse_angle::{AngleOptions, TypedAngle, parse_angle};
pub use typed::{
    Ask, DecimalStyle, FieldOptions, Item, NumberRule, Question, Refused, Rule, Sides, Tolerance,
    Typed, TypedLength, UnitRule, Why,
};
pub use unit::{ArtworkUnit, Unit};
