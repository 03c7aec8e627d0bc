//! Whether a feature is where it should be, and how a run goes.
//!
//! ```text
//!  four gaps ── lay_back.rs ─▶ shift and size with their uncertainty
//!            ── verdict.rs ──▶ within, outside, or can't tell with this; what would settle it
//!  a hole    ── hole.rs ────▶ its place, with more room where it came out bigger; its width
//!  two of them ─ pair.rs ───▶ level, apart, equal either side
//!  the run   ── chart.rs ────▶ centre, limits, drift
//!            ── course.rs ───▶ steady, drifting, or stepped where something happened
//!            ── capability.rs ▶ room inside the limit, and what a few pieces can say of it
//!            ── line.rs ─────▶ slopes and means with how probable they are by chance
//! ```
//! Pure numbers; where they come from is the job's and `prepare`'s business.

mod capability;
mod chart;
mod course;
mod hole;
mod lay_back;
mod line;
mod pair;
mod verdict;

pub use capability::{Capability, capability, centred_interval, index_interval, tolerance_factor};
pub use chart::{Chart, chart};
pub use course::{Course, Step, course, step};
pub use hole::{HoleAsked, HoleJudged, HoleRead, HoleTool, judge_hole};
pub use lay_back::{
    GAP_SD, Gaps, LayBack, Sources, edge_uncertainty, lay_back, typical_uncertainty,
};
pub use line::{Line, Mean, line, mean};
pub use pair::{Shift, Together, together};
pub use verdict::{DecisionRule, Judged, Verdict, capable, conformance, judge};
