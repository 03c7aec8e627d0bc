//! From a job to its templates.
//!
//! ```text
//!  Job ── face.rs ──▶ Surface with the spread of castings
//!      ── network.rs ▶ adjusted marks of the pattern and of this piece's casting
//!      ── feature.rs ▶ rule, place, laying, budget, outline: a Prepared template
//!      ── words.rs ──▶ what the sheet says
//!      ── sheets.rs ─▶ Drawing with its reference; stale or not, and why
//! ```
//! The same functions serve the screen, the export, the command line and the tests.

mod along;
pub mod amendments;
mod carriers;
pub mod check_marks;
pub mod checks;
mod crosses;
mod design;
mod doubted;
mod drawn_by;
pub mod edge_lines;
mod edges;
mod elevation;
mod error;
mod face;
mod fallen;
mod feature;
mod fewest;
mod form;
mod gores;
mod hatch;
pub mod history;
pub mod holes;
mod in_line;
pub mod instruments;
mod islands;
mod issue_now;
mod kept_level;
mod layings;
mod level;
mod likeness;
mod lying;
mod mirror;
mod naming;
mod network;
mod open_lines;
mod outline;
pub mod pair_checks;
mod pair_sheet;
mod patches;
mod pattern;
pub mod printer;
mod proving;
pub mod rack;
mod record;
mod record_age;
mod record_how;
mod record_run;
mod record_table;
mod registers;
pub mod rod;
pub mod run_checks;
mod scans;
pub mod seat;
pub mod setout;
mod sheets;
mod shell;
pub mod sign_off;
pub mod solid;
pub mod spreadsheet;
mod stale;
mod standing;
mod taken;
mod tapes;
pub mod template_back;
mod tighter;
mod uncut;
pub mod walk;
mod warmth;
pub(crate) mod words;

pub use error::PrepareError;
pub use face::{Sized, casting_face, pattern_face};
pub use feature::{CrossMiss, Prepared, prepare, prepare_sheet};
pub use fewest::{
    CurvePoint, FewestTemplates, SharedCross, SharedTemplate, fewest_templates, issue_shared,
};
pub use gores::Gores;
pub use hatch::{Hatch, LEAST_CORNER};
pub use layings::LayBasis;
pub use network::{Marks, Suspected, marks_of};
pub use patches::Patch;
pub use proving::{Proving, proving};
pub use record::record;
pub use record_how::sheet_words;
pub use record_table::record_table;
pub use scans::read_scans;
pub use sheets::{Issued, issue};
pub use shell::{Rest, USUAL_SKIN};
pub use stale::{print_is_stale, staleness};
pub use tighter::tighter;
pub use uncut::{issue_for_cutter, issue_shared_for_cutter, uncut};
pub use words::{direction_words, feature_title, lower, mm, sheet_title};

use crate::job::Job;
use crate::write::job::Attachments;

/// A job with its attachments: all that templates are made from.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// The folded job.
    pub job: &'a Job,
    /// Its attachments.
    pub attachments: &'a Attachments,
}
