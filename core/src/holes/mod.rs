//! Holes: what to drill for a fastener, where, through what, and whether the bolts will enter.
//!
//! ```text
//!  fastener ─ clearance, tapping, washer, lengths ─┐
//!  pattern ── places about the middle of a bracket ├─▶ fit ── how far two holes may be apart
//!  laminate ─ thickness from the weight of glass ──┘   chance ─ will every bolt enter, by method
//!  through ── an axis through layers: marks, lengths, tilt, stop, drill
//!  swing ──── two swings and a check that find a hole from its marks
//!  compound ─ the same axis as a machine is set to it
//! ```
//! Strength is never judged here: what a fixing must carry is for a competent, licensed person.

pub mod bolting;
pub mod bush;
pub mod chance;
pub mod compound;
pub mod fastener;
pub mod fit;
pub mod grade;
pub mod laminate;
pub mod pattern;
pub mod swing;
pub mod through;
