//! What the artwork module answers, which is loaded by itself: the words both sides read.

use super::ask::FileKind;
use crate::read::marked_picture::{MarkedPicture, OfPicture};
use crate::sheet::Paper;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A picture to be printed at full size with a grid, by the places of it that are known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct PictureSheet {
    /// The known places.
    pub places: MarkedPicture,
    /// A grid line every so far.
    pub every: Length,
    /// On which paper.
    pub paper: Paper,
    /// What the sheets say.
    pub of: OfPicture,
    /// As which file; nothing for pages to look at, a JSON list of them as SVG.
    #[serde(default)]
    pub file: Option<FileKind>,
}

/// What is said of such sheets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct SheetsMade {
    /// How many.
    pub pages: usize,
    /// How true the picture is amid the known places (95 %), mm.
    pub middle_within: f64,
    /// And at its worst corner.
    pub worst_within: f64,
    /// What the file is called; empty for pages to look at.
    pub name: String,
    /// Its media type.
    pub media: String,
    /// What of a drawing was left out.
    pub left_out: Vec<LeftOut>,
}

/// How wide a drawing is by what its file says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OwnSize {
    /// Across, mm.
    pub across: f64,
    /// By what: *as the file says*, *at 96 pixels to the inch*.
    pub by: String,
}

/// What came of a file of artwork, or of a photographed tracing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "came", rename_all = "kebab-case")]
pub enum DrawnFile {
    /// The outline, which is in the bytes.
    Outline {
        /// How tall it is for its width.
        proportion: f64,
        /// What of the file was left out.
        ignored: Vec<LeftOut>,
        /// Off a photograph, which says how large it is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        traced: Option<TracedSize>,
        /// How wide it would be by what the file says of itself, mm, and in which words; the likeliest first.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        own: Vec<OwnSize>,
        /// What it looks like, to be looked at before its size is said: an SVG path in a box 1000 wide,
        /// its height by the proportion.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        picture: String,
    },
    /// Whether the centre or both edges of lines are meant.
    AskStrokes {
        /// How many lines there are.
        lines: usize,
        /// How many of them are dashed.
        dashed: usize,
    },
    /// Whether words that are not outlined may be left out.
    AskWords {
        /// How many there are.
        texts: usize,
        /// The first of them.
        first: String,
    },
    /// A picture without a tracing frame in it: it may be taken by four places that are known.
    NoFrame {
        /// What was missing, in a sentence.
        sentence: String,
    },
    /// What was tapped in a picture; its outline, where there is one, is in the bytes.
    Marked(crate::read::marked_picture::FromPicture),
    /// A picture or a drawing at full size, its file or its pages in the bytes.
    Sheets(SheetsMade),
    /// Why nothing came of it.
    Refused {
        /// In a sentence.
        sentence: String,
    },
}

/// Something of a file that was left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// What it was.
    pub what: String,
    /// How often.
    pub count: usize,
}

#[cfg(feature = "artwork")]
impl LeftOut {
    /// A kind is one word on both sides.
    #[must_use]
    pub fn of(ignored: &crate::read::artwork::Ignored) -> Self {
        let what = serde_json::to_value(ignored.what).ok();
        Self {
            what: what
                .as_ref()
                .and_then(|w| w.as_str())
                .unwrap_or_default()
                .to_owned(),
            count: ignored.count,
        }
    }
}

/// What a photographed tracing says of itself, mm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct TracedSize {
    /// How wide the shape is.
    pub across: f64,
    /// How tall.
    pub up: f64,
    /// How well that is known (95 %).
    pub within: f64,
    /// How far the fifth target is from where the four say.
    pub fifth_off: f64,
    /// What paper the frame was printed on.
    pub paper: String,
    /// Crosses drawn over marks, from the middle of the shape: right, up.
    #[serde(default)]
    pub marks: Vec<[f64; 2]>,
    /// Specks that were left out.
    pub specks: usize,
}
