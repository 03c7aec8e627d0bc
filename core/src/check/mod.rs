//! Whether a feature is where it should be, and how a run goes.
//!
//! ```text
//!  four gaps ── lay_back.rs ─▶ shift and size with their uncertainty
//!            ── verdict.rs ──▶ within, outside, or can't tell with this; what would settle it
//!  two of them ─ pair.rs ───▶ level, apart, equal either side
//!  the run   ── chart.rs ────▶ centre, limits, drift
//! ```
//! Pure numbers; where they come from is the job's and `prepare`'s business.

mod chart;
mod lay_back;
mod pair;
mod verdict;

pub use chart::{Chart, chart};
pub use lay_back::{GAP_SD, Gaps, LayBack, Sources, lay_back, typical_uncertainty};
pub use pair::{Shift, Together, together};
pub use verdict::{DecisionRule, Judged, Verdict, capable, conformance, judge};
