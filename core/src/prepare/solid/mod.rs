//! A face in space, to be turned and looked at: its skin around what stands on it, marks with their
//! names, outlines in place, and how far a template leaves each place of its outline.
//!
//! ```text
//!  face.rs      the face as set out on the pattern ─┐
//!  template.rs  a template as it lies on its piece ─┴▶ Model: triangles and lines ─▶ SolidView and bytes
//!  skin.rs      the skin of a face kind as triangles, with what they leave
//! ```
//! Everything is in millimetres in one frame, [`Shown`](crate::frames::Shown): origin in the middle of
//! what is shown, x across, y up, z out of the face. It is looked at and never measured from: what is
//! made comes from [`prepare`](super::prepare) alone. There are at most [`MOST_CELLS`]² × 2 triangles of
//! skin and [`MOST_DOTS`] dots of lines, so that an answer stays under 3 MB.

mod face;
mod model;
mod skin;
mod template;

use super::Source;
use super::error::PrepareError;
use crate::job::{FaceId, FeatureId, PieceId, PointRef};
use crate::units::Length;
use serde::{Deserialize, Serialize};

pub use model::{CORNER_BYTES, MOST_DOTS};
pub use skin::{CHORD, MOST_CELLS};

/// What is to be looked at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SolidOf {
    /// A face as it is set out on the pattern.
    Face(FaceId),
    /// A template as it lies on the casting of a piece.
    Template {
        /// What is to land.
        feature: FeatureId,
        /// On which piece.
        piece: PieceId,
    },
}

/// What a run of triangles means; how that looks is the page's business.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Look {
    /// The face itself.
    Skin,
    /// Lines over the face at even steps of its chart: they show how it is round.
    Steps,
    /// A datum mark.
    Mark,
    /// The middle of a feature.
    Middle,
    /// Where paint is to go.
    Outline,
    /// Where flat paper puts it.
    Lands,
    /// A dart closed, or a slit open.
    Dart,
    /// How far out each place of the outline may be, in steps of a quarter of what is allowed.
    Band,
}

/// A run of the triangles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct SolidPart {
    /// What it means.
    pub look: Look,
    /// The first of its corners in the order.
    pub first: u32,
    /// How many: three for each triangle.
    pub count: u32,
}

/// A name at a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SolidName {
    /// The name: a letter, a title, a number with its unit.
    pub words: String,
    /// What is said of it once it is tapped.
    pub more: String,
    /// Where, mm.
    pub at_mm: [f64; 3],
    /// Which way the face looks there: a name that looks away is behind.
    pub outward: [f64; 3],
    /// The mark or feature it is of.
    pub point: Option<PointRef>,
}

/// A line of the key.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SolidKey {
    /// What is explained.
    pub look: Look,
    /// Of a band: which step, lightest first.
    pub step: u8,
    /// In words.
    pub words: String,
}

/// A face in space. The corners and their order stand beside it as bytes, little end first: for each
/// corner eight `f32` (place; direction, of a surface its normal, of a line its way on; which side of a
/// line, −1 or 1, nothing on a surface; how far along a line in mm, or the step of a band from 0 to 1),
/// then the order of the corners, three `u32` for each triangle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SolidView {
    /// How many corners.
    pub corners: u32,
    /// The runs, to be drawn in this order.
    pub parts: Vec<SolidPart>,
    /// The names.
    pub names: Vec<SolidName>,
    /// What lines and shades mean.
    pub key: Vec<SolidKey>,
    /// Nothing is further from the origin.
    pub reach: Length,
    /// The triangles leave the face by no more than this.
    pub chord: Length,
    /// What is not shown, and why.
    pub notes: Vec<String>,
}

/// A face in space, with the bytes of its corners and their order.
///
/// # Errors
/// [`PrepareError`]: what is missing, where, and what to do.
pub fn solid(source: &Source<'_>, of: &SolidOf) -> Result<(SolidView, Vec<u8>), PrepareError> {
    match of {
        SolidOf::Face(id) => face::face(source, id),
        SolidOf::Template { feature, piece } => template::template(source, feature, piece),
    }
}
