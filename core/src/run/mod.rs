//! The run: castings, moulds, marriages, stages with holds, and the life of a mark.
//!
//! ```text
//!  Job ── stages.rs ──▶ the list, where a casting is, what a step would be
//!      ── life.rs ────▶ which marks can be found at a stage; crosses that carry others over
//!      ── again.rs ───▶ readings made stale by filler, saw or paper
//!      ── holds.rs ───▶ what must be done first, in words
//!      ── conflicts.rs ▶ what contradicts, with both sides named
//!      ── look.rs ────▶ all of it for the screen: a RunView
//! ```
//! Everything is worked out from the folded job each time; nothing is stored.

mod again;
mod conflicts;
mod holds;
mod life;
mod look;
mod moulds;
mod names;
mod stages;

pub use again::{Again, to_read_again, untouched};
pub use conflicts::conflicts_of;
pub use holds::{hold_words, holds, why_not};
pub use life::{
    Carried, Findable, OutOfLife, carried, counts, findable, kept_on, out_of_life, tied_crosses,
    ties, vanishing,
};
pub use look::{CastingView, MouldView, PieceView, RunView, look};
pub(crate) use moulds::event_words as mould_event_words;
pub use moulds::{next_pull, pulls_of};
pub use names::{casting_label, casting_name, mark_name, piece_name};
pub use stages::{
    Step, USUAL_STAGES, next_to_paint, painting_stage, place_in, stage_list, step_to,
};
