//! Artwork drawn elsewhere (SVG 1.1 and 2) read into outlines.
//!
//! Nothing of the file reaches the page, nothing is fetched, nothing runs. Two passes:
//!
//! 1. our own inventory: what is there, what of it is allowed, and a copy that holds only that:
//!    every figure as one path of curves computed in f64, every style folded into its element;
//! 2. the general SVG reader on that copy, for inheritance, transforms, repeats, clips and line
//!    styles. It computes in f32, so coordinates too large for that are warned of or refused.
//!
//! Whatever the first pass saw and the second did not keep is listed in [`Artwork::ignored`].
//!
//! Coordinates come out in frame [`Artwork`](crate::frames::Artwork), y up, origin at the page's
//! lower left corner, in *drawing units*: millimetres when the file gives a real size, pixels when it
//! gives pixels, and otherwise the file's own unit times the power of ten that puts the longer side
//! of the page between 100 and 1000. [`prepare`] turns that into millimetres.

mod arc;
mod bytes;
mod dtd;
mod figure;
mod inventory;
mod length;
mod path;
mod place;
mod prepare;
mod region;
mod size;
mod style;
mod tree;
mod uses;

pub use place::Place;
pub use prepare::{Answers, Dashes, Overlaps, PrepareError, SizeAnswer, Strokes, prepare};
pub use size::{DeclaredSize, PixelChoice};

use crate::frames::Artwork as Drawing;
use crate::outline::Outline;
use crate::units::Length;
use serde::Serialize;

/// Bytes taken, packed or unpacked. An embedded picture of 20 MB is 27 MB of text.
pub const MOST_BYTES: usize = 40 << 20;
/// Elements taken, repeats counted as often as they are drawn.
pub const MOST_ELEMENTS: usize = 200_000;
/// Path segments taken in all.
pub const MOST_SEGMENTS: usize = 2_000_000;
/// Elements inside each other, followed through repeats.
pub const MOST_DEPTH: usize = 96;

/// Artwork as read, with everything that is to be known or asked before it is used.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Artwork {
    /// How large the file says it is.
    pub size: DeclaredSize,
    /// The page in drawing units, if the file has one: across and up.
    pub page: Option<(Length, Length)>,
    /// What is painted, in painting order.
    pub shapes: Vec<Painted>,
    /// Words that are not outlined; while there are any, [`prepare`] refuses unless told to leave
    /// them out.
    pub texts: Vec<TextBox>,
    /// Embedded pictures, for tracing over; never cut.
    pub underlays: Vec<Underlay>,
    /// What was seen and not taken.
    pub ignored: Vec<Ignored>,
    /// What is worth knowing about what was taken.
    pub notes: Vec<Note>,
    /// What must be answered before the artwork can be used.
    pub questions: Vec<Question>,
}

/// One painted shape.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Painted {
    /// The element it came from.
    pub at: Place,
    /// The painted area, if it is filled: contours that do not cross, holes told by how they lie.
    pub fill: Option<Fill>,
    /// The line along its edge, if it has one.
    pub stroke: Option<Stroke>,
    /// Part or all of it lies outside the page.
    pub outside: bool,
    /// It is drawn mirrored.
    pub mirrored: bool,
}

/// A painted area.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Fill {
    /// `#rrggbb`.
    pub colour: String,
    /// Its edge.
    pub outline: Outline<Drawing>,
}

/// A line drawn along a path.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Stroke {
    /// `#rrggbb`.
    pub colour: String,
    /// Its centre line, open or closed.
    pub centre: Outline<Drawing>,
    /// How wide it is; where the drawing is stretched, the mean of both ways.
    pub width: Length,
    /// It is broken into dashes.
    pub dashed: bool,
    /// Its width does not follow the size of the drawing.
    pub keeps_width: bool,
    #[serde(skip)]
    pen: tree::Pen,
}

/// Words that have not been turned into outlines.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct TextBox {
    /// The element.
    pub at: Place,
    /// The words, at most 200 characters.
    pub words: String,
    /// About where they stand: a guess from their number and the size of the letters.
    pub about: Option<Outline<Drawing>>,
    /// They are drawn mirrored.
    pub mirrored: bool,
}

/// A picture to trace over.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Underlay {
    /// The element.
    pub at: Place,
    /// `image/png`, `image/jpeg`, `image/gif` or `image/webp`.
    pub media_type: String,
    /// The picture as it stands in the file, base 64.
    pub base64: String,
    /// The four corners it is stretched to, from its upper left one clockwise as drawn.
    pub frame: Option<Outline<Drawing>>,
}

/// Something seen and not taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Ignored {
    /// What kind of thing.
    pub what: IgnoredKind,
    /// Where the first of them stands.
    pub at: Place,
    /// How many shapes or elements that took along.
    pub count: usize,
    /// The value that led to it, shortened; empty when there is none.
    pub value: String,
}

/// The kinds of things that are not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum IgnoredKind {
    /// A layer or shape that the file does not show (`display`, `visibility`, opacity 0).
    Hidden,
    /// A script.
    Script,
    /// An attribute that would run a script.
    EventHandler,
    /// A link out of the drawing; what is inside it is taken.
    Link,
    /// Another kind of document inside the drawing.
    ForeignObject,
    /// A movement or change over time.
    Animation,
    /// A picture that would have to be fetched.
    ExternalImage,
    /// A picture inside the file of a kind that is not taken, such as another drawing.
    ForeignImage,
    /// A reference to another file.
    ExternalReference,
    /// A style sheet or font that would have to be fetched.
    Import,
    /// A shape behind a mask: which part of it shows cannot be told as an outline.
    Masked,
    /// A filter; the shape is taken as if it had none.
    Filter,
    /// Arrow heads and other marks along a line.
    Marker,
    /// A shape with neither a fill nor a line, often a frame.
    Unpainted,
    /// A shape without size.
    Empty,
    /// A length in `em` or `%` of something unknown, or that is no length.
    UnknownLength,
    /// A transform that cannot be read; the shape is left out.
    BadTransform,
    /// A repeat that contains itself.
    Loop,
    /// A repeat of something that is not in the file.
    Dangling,
    /// A shape wholly outside its clip path.
    ClippedAway,
    /// An element this reader does not know.
    Unknown,
    /// Seen in the file but not kept by the second pass.
    NotKept,
}

/// Something worth knowing about what was taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "note", content = "of")]
pub enum Note {
    /// Path data stops making sense; it was drawn up to there.
    PathStops {
        /// The path.
        at: Place,
        /// The character of its data, counted from 1.
        character: usize,
        /// How many segments came before.
        segments: usize,
    },
    /// Width and height are not in proportion to the drawing, which was stretched as the file asks.
    Stretched {
        /// Across over up.
        ratio: f64,
    },
    /// Shapes that cross themselves were resolved into areas; their edges are now straight pieces.
    Resolved {
        /// How many shapes.
        shapes: usize,
    },
    /// Shapes were cut by a clip path; their edges are now straight pieces.
    Clipped {
        /// How many shapes.
        shapes: usize,
    },
    /// Coordinates so large that they are only known to a step.
    Coarse {
        /// The step in millimetres, or in drawing units where the size is not known.
        step: f64,
    },
    /// Shapes are drawn mirrored; lettering among them may read backwards.
    Mirrored {
        /// How many shapes and texts.
        shapes: usize,
        /// Some of it is text for certain.
        lettering: bool,
    },
    /// The drawing stands inside a web page; the first of so many was taken.
    FromPage {
        /// How many drawings the page holds.
        drawings: usize,
    },
    /// The file marks several pages; all of them were taken.
    SeveralPages {
        /// How many.
        pages: usize,
    },
    /// The file was packed, or not in UTF-8.
    Decoded {
        /// From what.
        from: &'static str,
    },
    /// Entities in the document type were put in place.
    Entities {
        /// How many are defined.
        defined: usize,
    },
    /// So many segments that cutting it will take long.
    Heavy {
        /// How many.
        segments: usize,
    },
}

/// Something to be answered before the artwork can be used.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "question", content = "of")]
pub enum Question {
    /// The size: which pixels, or one known length.
    Size,
    /// Lines: their centre or both edges?
    Strokes {
        /// How many.
        lines: usize,
        /// How many of them dashed.
        dashed: usize,
        /// How many keep their width when the drawing is scaled.
        keeping_width: usize,
    },
    /// Painted areas lie over each other: keep them apart, or one outline about all?
    Overlaps {
        /// How many pairs, at least.
        pairs: usize,
    },
    /// Shapes lie partly or wholly outside the page: take them too?
    Outside {
        /// How many.
        shapes: usize,
    },
}

/// Artwork that cannot be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ArtworkError {
    /// The file is too large.
    #[error("{bytes} bytes are more than the {most} that are read")]
    TooLarge {
        /// Its size.
        bytes: usize,
        /// The most that is read.
        most: usize,
    },
    /// The file is packed and damaged, or unpacks to too much.
    #[error("the packed file is damaged or unpacks to more than {most} bytes")]
    Packed {
        /// The most that is unpacked.
        most: usize,
    },
    /// The file is something else.
    #[error("this is not an SVG drawing; it looks like {looks_like}")]
    NotSvg {
        /// What it looks like.
        looks_like: &'static str,
    },
    /// The characters cannot be told.
    #[error("the text of the file is not in an encoding that is read ({encoding})")]
    Encoding {
        /// What it says or seems to be.
        encoding: String,
    },
    /// The XML is broken.
    #[error("line {line}, character {character}: {what}")]
    Xml {
        /// Line, counted from 1.
        line: u32,
        /// Character in it, counted from 1.
        character: u32,
        /// What the XML reader says.
        what: String,
    },
    /// Entities that refer to entities, to files, or that grow too large.
    #[error(
        "line {line}: the entity {name} refers to another or to a file, or grows too large; re-save as plain SVG"
    )]
    Entity {
        /// Its name.
        name: String,
        /// Line, counted from 1.
        line: u32,
    },
    /// Too much of something.
    #[error("more than {most} {what}")]
    TooMany {
        /// Of what.
        what: &'static str,
        /// The most that is taken.
        most: usize,
    },
    /// Elements nested too deep.
    #[error("line {line}: more than {most} elements inside each other")]
    TooDeep {
        /// Line, counted from 1.
        line: u32,
        /// The most that is taken.
        most: usize,
    },
    /// Coordinates so large that the drawing is lost in their rounding.
    #[error(
        "coordinates are so large that they step by {step}; move the drawing to the origin and save again"
    )]
    Coarse {
        /// The step, in millimetres or drawing units.
        step: f64,
    },
}

/// Reads artwork.
///
/// # Errors
/// [`ArtworkError`] when nothing can be made of the file; anything less is listed in the result.
pub fn read(bytes: &[u8]) -> Result<Artwork, ArtworkError> {
    let decoded = bytes::decode(bytes)?;
    let entities = dtd::check(&decoded.text)?;
    let options = roxmltree::ParsingOptions {
        allow_dtd: true,
        // Attributes and text are nodes of their own to the XML reader's count.
        nodes_limit: 8 * 200_000,
        ..roxmltree::ParsingOptions::default()
    };
    let doc = roxmltree::Document::parse_with_options(&decoded.text, options)
        .map_err(|e| bytes::xml_error(&e))?;
    let seen = inventory::take(&doc)?;
    let mut artwork = tree::collect(seen)?;
    let mut notes = decoded.notes;
    if entities > 0 {
        notes.push(Note::Entities { defined: entities });
    }
    notes.append(&mut artwork.notes);
    artwork.notes = notes;
    Ok(artwork)
}
