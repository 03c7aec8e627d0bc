//! Paper sizes, and how a sheet may be used.

use super::drawing::PaperSize;
use super::error::SheetError;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A paper size as it is bought; which way it lies is chosen for each template.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 297 × 420 mm (ISO 216).
    A3,
    /// 8½ × 11 in (ASME Y14.1 size A).
    Letter,
    /// 11 × 17 in (ASME Y14.1 size B).
    Tabloid,
    /// Any size, as it lies in the printer.
    Typed {
        /// One side.
        width: Length,
        /// The other side.
        height: Length,
    },
    /// A roll, cut off as long as a template needs.
    Roll {
        /// How wide it is.
        width: Length,
    },
}

/// Largest side a PDF page may have without a user unit of its own: 14 400 units of 1/72 in
/// (ISO 32000-1 Annex C), rounded down to a whole millimetre. Some readers show more as blank.
const LONGEST_SIDE_UM: i32 = 5_080_000;

/// What a roll is taken to be where its length is not the template's.
const A_METRE_UM: i32 = 1_000_000;

impl Paper {
    /// What it is called on a sheet.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::A4 => "A4".into(),
            Self::A3 => "A3".into(),
            Self::Letter => "Letter".into(),
            Self::Tabloid => "Tabloid".into(),
            Self::Typed { width, height } => {
                format!("{} × {} mm", trimmed(width.mm()), trimmed(height.mm()))
            }
            Self::Roll { width } => format!("roll {} mm wide", trimmed(width.mm())),
        }
    }

    /// Its size upright (the shorter side across), in whole µm; of a roll, a metre of it.
    ///
    /// # Errors
    /// A typed size that is not a size, or beyond what a page may have.
    pub fn upright(self) -> Result<PaperSize, SheetError> {
        let side = |length: Length| {
            i32::try_from(length.to_um())
                .ok()
                .filter(|um| *um > 0 && *um <= LONGEST_SIDE_UM)
        };
        let (a, b) = match self {
            Self::A4 => (210_000, 297_000),
            Self::A3 => (297_000, 420_000),
            Self::Letter => (215_900, 279_400),
            Self::Tabloid => (279_400, 431_800),
            Self::Typed { width, height } => side(width)
                .zip(side(height))
                .ok_or(SheetError::NotAPaper { width, height })?,
            Self::Roll { width } => (
                side(width).ok_or(SheetError::NotAPaper {
                    width,
                    height: Length::from_mm(f64::from(A_METRE_UM) / 1000.0),
                })?,
                A_METRE_UM,
            ),
        };
        Ok(PaperSize {
            width: a.min(b),
            height: a.max(b),
        })
    }
}

fn trimmed(mm: f64) -> String {
    let text = format!("{mm:.1}");
    text.strip_suffix(".0")
        .map_or_else(|| text.clone(), String::from)
}

/// Paper and how it is used.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetSetup {
    /// The paper.
    pub paper: Paper,
    /// Nothing is drawn nearer to the edge of the paper: what most printers can't reach.
    pub margin: Length,
    /// How far neighbouring sheets lie over each other.
    pub overlap: Length,
    /// More sheets than this are refused: nobody joins them true.
    pub most_sheets: u32,
}

impl SheetSetup {
    /// The least overlap that holds a join and its two crosses.
    pub const LEAST_OVERLAP: Length = Length::from_mm(10.0);
}

impl Default for SheetSetup {
    fn default() -> Self {
        Self {
            paper: Paper::A4,
            margin: Length::from_mm(12.0),
            overlap: Length::from_mm(15.0),
            most_sheets: 24,
        }
    }
}
