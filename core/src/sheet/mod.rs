//! From a template to printed sheets: the one [`Drawing`] that screen, SVG, PDF and DXF share.

pub mod drawing;
mod error;
mod input;
pub mod paper;

pub use drawing::Drawing;
pub use error::SheetError;
pub use input::{
    AsDrawnCross, Cross, FlatPath, FlatSegment, Hand, ProofState, RegisterEdge, ScaleCorrection,
    TemplateSheet, Words, WorstError,
};
pub use paper::{Paper, SheetSetup};
