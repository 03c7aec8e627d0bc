//! The units a length may be typed or shown in.

use super::Length;
use serde::{Deserialize, Serialize};

/// A unit that people type lengths in.
///
/// Inch, foot and yard are the international ones of 1959 (1 yd = 0.9144 m exactly); the survey
/// foot, retired at the end of 2022, is never meant by a bare *ft*.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Micrometre: paint thickness.
    Um,
    /// Millimetre.
    #[default]
    Mm,
    /// Centimetre.
    Cm,
    /// Decimetre.
    Dm,
    /// Metre.
    M,
    /// A thousandth of an inch.
    Thou,
    /// Inch.
    In,
    /// Foot.
    Ft,
    /// Yard.
    Yd,
}

impl Unit {
    /// All of them, small to large within each family.
    pub const ALL: [Self; 9] = [
        Self::Um,
        Self::Mm,
        Self::Cm,
        Self::Dm,
        Self::M,
        Self::Thou,
        Self::In,
        Self::Ft,
        Self::Yd,
    ];

    /// The five a field may be set to.
    pub const FOR_FIELDS: [Self; 5] = [Self::Mm, Self::Cm, Self::M, Self::In, Self::Ft];

    /// Whole nanometres in one of it; every unit has a whole number of them.
    pub(super) const fn nm(self) -> i128 {
        match self {
            Self::Um => 1_000,
            Self::Mm => 1_000_000,
            Self::Cm => 10_000_000,
            Self::Dm => 100_000_000,
            Self::M => 1_000_000_000,
            Self::Thou => 25_400,
            Self::In => 25_400_000,
            Self::Ft => 304_800_000,
            Self::Yd => 914_400_000,
        }
    }

    /// One of it.
    #[must_use]
    pub const fn length(self) -> Length {
        match self {
            Self::Um => Length::from_mm(0.001),
            Self::Mm => Length::from_mm(1.0),
            Self::Cm => Length::from_mm(10.0),
            Self::Dm => Length::from_mm(100.0),
            Self::M => Length::from_mm(1000.0),
            Self::Thou => Length::from_mm(0.0254),
            Self::In => Length::from_mm(25.4),
            Self::Ft => Length::from_mm(304.8),
            Self::Yd => Length::from_mm(914.4),
        }
    }

    /// What is written after the number.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Um => "µm",
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::Dm => "dm",
            Self::M => "m",
            Self::Thou => "thou",
            Self::In => "in",
            Self::Ft => "ft",
            Self::Yd => "yd",
        }
    }

    /// Whether it belongs to the inch family.
    #[must_use]
    pub const fn is_inch_family(self) -> bool {
        matches!(self, Self::Thou | Self::In | Self::Ft | Self::Yd)
    }

    /// Decimals that tell any two neighbouring micrometres apart.
    pub(super) const fn places_for_um(self) -> u32 {
        match self {
            Self::Um => 0,
            Self::Mm => 3,
            Self::Cm => 4,
            Self::Dm | Self::In => 5,
            Self::M | Self::Ft => 6,
            Self::Thou => 2,
            Self::Yd => 7,
        }
    }

    /// The unit a word names, whatever its capitals; a capital `M` alone is asked about before
    /// this is called.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        const LONGEST_NAME: usize = 12;
        if word.len() > LONGEST_NAME {
            return None;
        }
        Some(match word.to_ascii_lowercase().as_str() {
            "um" | "μm" | "µm" | "micron" | "microns" | "micrometre" | "micrometer" => Self::Um,
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::Mm,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Self::Cm,
            "dm" | "decimetre" | "decimetres" | "decimeter" | "decimeters" => Self::Dm,
            "m" | "metre" | "metres" | "meter" | "meters" => Self::M,
            "thou" | "thous" => Self::Thou,
            "in" | "ins" | "inch" | "inches" => Self::In,
            "ft" | "foot" | "feet" => Self::Ft,
            "yd" | "yds" | "yard" | "yards" => Self::Yd,
            _ => return None,
        })
    }
}

impl core::fmt::Display for Unit {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(self.symbol())
    }
}

/// The absolute units of artwork files (W3C CSS Values and Units 3, *Absolute lengths*).
///
/// They are fixed to each other by 1 in = 96 px = 72 pt = 6 pc = 101.6 Q = 25.4 mm. What a
/// program that wrote `px` really meant is another question, asked of the user.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ArtworkUnit {
    /// Inch.
    In,
    /// Centimetre.
    Cm,
    /// Millimetre.
    Mm,
    /// Quarter of a millimetre.
    Q,
    /// Point, 1/72 in.
    Pt,
    /// Pica, 12 points.
    Pc,
    /// 1/96 in.
    Px,
}

impl ArtworkUnit {
    /// One of it.
    #[must_use]
    pub const fn length(self) -> Length {
        Length::from_mm(match self {
            Self::In => 25.4,
            Self::Cm => 10.0,
            Self::Mm => 1.0,
            Self::Q => 0.25,
            Self::Pt => 25.4 / 72.0,
            Self::Pc => 25.4 / 6.0,
            Self::Px => 25.4 / 96.0,
        })
    }

    /// The unit as a file names it, in any case.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        [
            ("in", Self::In),
            ("cm", Self::Cm),
            ("mm", Self::Mm),
            ("q", Self::Q),
            ("pt", Self::Pt),
            ("pc", Self::Pc),
            ("px", Self::Px),
        ]
        .into_iter()
        .find_map(|(name, unit)| name.eq_ignore_ascii_case(word).then_some(unit))
    }
}
