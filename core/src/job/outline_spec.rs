//! An outline by its sizes.

use super::Entry;
use crate::units::{DecimalStyle, Unit, exact};
use serde::{Deserialize, Serialize};

/// An outline by its sizes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "shape", rename_all = "kebab-case")]
pub enum OutlineSpec {
    /// A circle.
    Circle {
        /// Across.
        diameter: Entry,
    },
    /// An oval (ellipse).
    Oval {
        /// Across.
        width: Entry,
        /// Up.
        height: Entry,
    },
    /// A rounded box.
    RoundedBox {
        /// Across.
        width: Entry,
        /// Up.
        height: Entry,
        /// Corner radius.
        corner: Entry,
    },
    /// A circle with a round hole in its middle.
    Ring {
        /// Across, outside.
        outside: Entry,
        /// Across the hole.
        hole: Entry,
    },
    /// A star with one point up.
    Star {
        /// How many points it has.
        points: u32,
        /// Across the circle through its points.
        across: Entry,
        /// Across the circle through its inner corners; as the sides of every second point give it
        /// where nothing is said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        waist: Option<Entry>,
    },
    /// Part of a ring, bulging up, its middle where the feature is.
    ArcBand {
        /// Radius of the middle of the band.
        radius: Entry,
        /// How wide the band is.
        width: Entry,
        /// How long it is along its middle.
        length: Entry,
    },
    /// Words.
    Lettering {
        /// What they say.
        text: String,
        /// Height of the capitals.
        capitals: Entry,
    },
    /// Words in single lines, for a pen, a router or a pricked line.
    Strokes {
        /// What they say.
        text: String,
        /// Height of the capitals.
        capitals: Entry,
    },
    /// An imported outline.
    Artwork {
        /// The attachment that holds it, by hash.
        attachment: String,
        /// What the file was called.
        file: String,
        /// The known length.
        width: Entry,
        /// What of the file was left out.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        ignored: Vec<String>,
    },
}

/// As much of a name as a line holds.
const NAME_LETTERS: usize = 40;

impl OutlineSpec {
    /// What it is, in a word or by its own words: *rounded box*, *QUAY*, *badge.svg*.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Circle { .. } => "circle".into(),
            Self::Oval { .. } => "oval".into(),
            Self::RoundedBox { .. } => "rounded box".into(),
            Self::Ring { .. } => "ring".into(),
            Self::Star { .. } => "star".into(),
            Self::ArcBand { .. } => "arc band".into(),
            Self::Lettering { text, .. } | Self::Strokes { text, .. } => {
                let first = text.lines().next().unwrap_or("lettering");
                first.chars().take(NAME_LETTERS).collect()
            }
            Self::Artwork { file, .. } => file.chars().take(NAME_LETTERS).collect(),
        }
    }

    /// Why turning it over, left for right, changes nothing on it; nothing where it does.
    #[must_use]
    pub const fn alike_turned_over(&self) -> Option<&'static str> {
        match self {
            Self::Circle { .. }
            | Self::Oval { .. }
            | Self::RoundedBox { .. }
            | Self::Ring { .. }
            | Self::Star { .. }
            | Self::ArcBand { .. } => {
                Some("It is the same turned over, left for right: nothing would change")
            }
            Self::Lettering { .. } | Self::Strokes { .. } => {
                Some("Words read forwards on either side: they are not turned over")
            }
            Self::Artwork { .. } => None,
        }
    }

    /// What it is and how big: *an oval 62 × 48 mm*.
    #[must_use]
    pub fn in_words(&self) -> String {
        let mm = |entry: &Entry| exact(entry.mm, Unit::Mm, DecimalStyle::Point);
        match self {
            Self::Circle { diameter } => format!("a circle {} mm across", mm(diameter)),
            Self::Oval { width, height } => format!("an oval {} × {} mm", mm(width), mm(height)),
            Self::RoundedBox {
                width,
                height,
                corner,
            } => format!(
                "a box {} × {} mm, corners {}",
                mm(width),
                mm(height),
                mm(corner)
            ),
            Self::Ring { outside, hole } => {
                format!("a ring {} mm across, its hole {}", mm(outside), mm(hole))
            }
            Self::Star { points, across, .. } => {
                format!("a star of {points} points, {} mm across", mm(across))
            }
            Self::ArcBand {
                radius,
                width,
                length,
            } => format!(
                "an arc band {} mm wide and {} long, radius {}",
                mm(width),
                mm(length),
                mm(radius)
            ),
            Self::Lettering { text, capitals } => format!("“{text}”, capitals {} mm", mm(capitals)),
            Self::Strokes { text, capitals } => {
                format!("“{text}” in single lines, capitals {} mm", mm(capitals))
            }
            Self::Artwork { file, width, .. } => {
                format!("the outline of {file}, {} mm wide", mm(width))
            }
        }
    }
}
