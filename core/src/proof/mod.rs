//! What a printer and a paper do to lengths: a page to print, what a rule says of it, and whether
//! that proves a template.
//!
//! [`plan`] says what the page holds for a paper, [`page`] draws it, [`judge`] turns typed lengths
//! into scale in both directions and skew with their uncertainty, [`suspects`] names what may have
//! shrunk the page, [`Strain::proves`] compares it with what a template can bear.

mod judge;
mod page;
mod plan;
mod suspects;

pub use judge::{Bears, Direction, ProofError, Proves, Rule, Skew, Strain, TapeSays, judge};
pub use page::{ProofWords, page};
pub use plan::{MARGIN_FRAMES_MM, Plan, plan};
pub use suspects::suspects;
