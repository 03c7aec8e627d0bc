//! From a template to printed sheets: the one [`Drawing`] that screen, SVG, PDF and DXF share.
//!
//! [`compose`] takes a [`TemplateSheet`] (geometry in the flat plane, and words) through these
//! steps: `body` lays out what stands inside the trim line, each word where it touches nothing;
//! `ground` is one sheet with its frame, bars and first line; `strip` and `title` are what is torn
//! off and kept; `spread` and `tiles` divide what one sheet doesn't hold; `reference` names the
//! result. Everything is rounded to whole micrometres once, when it is put on a [`Board`].

mod board;
mod body;
mod clip;
mod code;
mod compose;
mod correct;
mod darts;
pub mod drawing;
mod error;
mod field;
mod for_cutter;
mod gauge_cards;
mod greys;
mod ground;
mod holes;
mod ink;
mod input;
mod joins;
mod key;
mod label;
mod letter;
pub mod paper;
mod reach;
mod reference;
mod rod;
mod roll;
mod spread;
mod strip;
mod tiles;
mod title;
pub(crate) mod trace;
mod tracing_frame;
mod trim;
mod uncut;
mod wording;
mod words_stand;

pub use board::{Board, Run, Side, Style};
pub use clip::{Window, clip_contour, clip_item};
pub use compose::{compose, compose_together};
pub use drawing::Drawing;
pub use error::SheetError;
pub use for_cutter::for_cutter;
pub use gauge_cards::{CardSet, gauge_cards};
pub use greys::{Greys, Points};
pub use ground::check_bars;
pub use input::{
    AsDrawnCross, Cross, DrillHole, FlatPath, FlatSegment, Hand, Plug, ProofState, RegisterEdge,
    ScaleCorrection, SheetJoin, TemplateSheet, Words, WorstError,
};
pub use letter::{Block, Letter, Picture, letter};
pub use paper::{Paper, SheetSetup};
pub use reference::reference;
pub(crate) use reference::{base32, grouped};
pub use rod::{Lane, Rod, RodSheet, rods};
pub use tracing_frame::{FrameLayout, tracing_frame};
pub use uncut::uncut;
