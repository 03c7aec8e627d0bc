//! What came of a typed entry, and what a field may ask of it.

use super::{Length, Unit};
use core::ops::Range;
use serde::{Deserialize, Serialize};

/// What came of an entry. The text itself is always kept: in the reading, in the refusal, or in
/// the field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Typed<T> {
    /// Empty or only spaces: nobody has measured this yet. Not zero.
    NotMeasured,
    /// One meaning.
    Understood(T),
    /// It could mean other things, or one thing that is not quite what stands there: the readings
    /// are the buttons, likeliest first. Never empty.
    Ask(Ask<T>),
    /// Several entries in one: none is taken for this field, the list is offered. Each item is
    /// read by itself.
    List(Vec<Item<T>>),
    /// Nothing is stored; the field keeps the text.
    Refused(Refused),
}

/// A question with its answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Ask<T> {
    /// Why it has to be asked.
    pub question: Question,
    /// What may have been meant, likeliest first.
    pub readings: Vec<T>,
}

/// One line of a pasted list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Item<T> {
    /// As typed.
    pub raw: String,
    /// What came of it.
    pub typed: Typed<T>,
}

/// A length as typed and as understood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct TypedLength {
    /// Exactly what was typed.
    pub raw: String,
    /// What was understood, with its sign.
    pub mm: Length,
    /// The unit it was understood in; feet and inches together count as feet.
    pub unit: Unit,
    /// How it was read.
    pub rule: Rule,
    /// The tolerance typed with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Tolerance>,
    /// The question whose answer this is, if it had to be asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asked: Option<Question>,
}

impl TypedLength {
    /// Whether it lies on the minus side.
    #[must_use]
    pub fn is_negative(&self) -> bool {
        self.mm < Length::ZERO
    }
}

/// How an entry was read: where its unit came from and how its digits were taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Rule {
    /// Where the unit came from.
    pub unit: UnitRule,
    /// How the digits were taken.
    pub number: NumberRule,
}

/// Where a unit came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum UnitRule {
    /// None was typed: the field's.
    FieldUnit,
    /// It was typed.
    OwnUnit,
    /// Feet, then inches; the sign is for both.
    FeetAndInches,
    /// A large metric unit, then a smaller one: 1 m 25 cm.
    MetricParts,
    /// None was typed and another than the field's was chosen.
    ChosenUnit,
}

/// How digits were taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NumberRule {
    /// Digits only.
    Whole,
    /// With a decimal point.
    DecimalPoint,
    /// With a decimal comma.
    DecimalComma,
    /// Thousands set apart by spaces.
    ThousandsBySpace,
    /// Thousands set apart by points.
    ThousandsByPoint,
    /// Thousands set apart by commas.
    ThousandsByComma,
    /// Thousands set apart by apostrophes.
    ThousandsByApostrophe,
    /// With a fraction.
    Fraction,
}

impl UnitRule {
    const fn name(self) -> &'static str {
        match self {
            Self::FieldUnit => "field-unit",
            Self::OwnUnit => "own-unit",
            Self::FeetAndInches => "feet-and-inches",
            Self::MetricParts => "metric-parts",
            Self::ChosenUnit => "chosen-unit",
        }
    }
}

impl NumberRule {
    const fn name(self) -> &'static str {
        match self {
            Self::Whole => "whole",
            Self::DecimalPoint => "decimal-point",
            Self::DecimalComma => "decimal-comma",
            Self::ThousandsBySpace => "thousands-by-space",
            Self::ThousandsByPoint => "thousands-by-point",
            Self::ThousandsByComma => "thousands-by-comma",
            Self::ThousandsByApostrophe => "thousands-by-apostrophe",
            Self::Fraction => "fraction",
        }
    }
}

/// As a record keeps it, a word for each: `own-unit decimal-comma`.
impl core::fmt::Display for Rule {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{} {}", self.unit.name(), self.number.name())
    }
}

/// How far a size may be out, as typed: both amounts are zero or more.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Tolerance {
    /// How much more it may be.
    pub plus: Length,
    /// How much less it may be.
    pub minus: Length,
}

/// Why an entry has to be asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    /// `1,250`: thousands or decimals.
    ThousandsOrDecimals,
    /// `1'250`: thousands or feet.
    ThousandsOrFeet,
    /// A fraction without a unit where inches are not the field's unit.
    Inches,
    /// `6-2`, `6 2`: feet and inches without their marks.
    FeetAndInches,
    /// `5' 14"`: more inches than a foot has.
    InchesOverTwelve,
    /// `184 M`: metres or millimetres.
    CapitalM,
    /// `3 mil`: millimetres or thousandths of an inch.
    Mil,
    /// `1m25`: centimetres, decimals or millimetres.
    PartsOfAMetre,
    /// `13/4`: one fraction, or a whole number run into one.
    RunTogether,
    /// `18.4 ±1 mm` in a field that is not in millimetres.
    UnitOfBoth,
    /// In another unit it would be what was expected.
    OtherUnit,
}

/// An entry that nothing is stored from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Refused {
    /// Exactly what was typed.
    pub raw: String,
    /// What is wrong where, counted in characters (Unicode scalar values) of `raw`.
    pub at: Range<usize>,
    /// What is wrong.
    pub why: Why,
}

impl Refused {
    /// The place in UTF-16 units, as a browser's text field counts.
    #[must_use]
    pub fn at_utf16(&self) -> Range<usize> {
        let units = |chars: usize| self.raw.chars().take(chars).map(char::len_utf16).sum();
        units(self.at.start)..units(self.at.end)
    }

    /// The characters it is about.
    #[must_use]
    pub fn marked(&self) -> String {
        self.raw
            .chars()
            .skip(self.at.start)
            .take(self.at.end.saturating_sub(self.at.start))
            .collect()
    }
}

/// What is wrong with an entry. [`super::words::say`] says it to people.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Why {
    /// Longer than any measurement.
    TooLong {
        /// The most characters that are read.
        most: usize,
    },
    /// More lines than one list may have.
    TooManyItems {
        /// The most that are read.
        most: usize,
    },
    /// More digits than a length can have.
    TooManyDigits {
        /// The most that are read.
        most: usize,
    },
    /// No digits at all.
    NoNumber,
    /// Words for what is no number: infinity, not-a-number.
    NotANumber,
    /// A character that has no business in a measurement.
    Unexpected {
        /// It.
        found: char,
    },
    /// A letter that looks like a digit.
    LooksLikeDigit {
        /// It.
        found: char,
        /// The digit it looks like.
        digit: char,
    },
    /// A second decimal mark, or one where no digit group ends.
    MoreThanOneMark,
    /// Two signs in a row.
    MoreThanOneSign,
    /// A minus where a negative size has no meaning.
    MinusMeansNothing,
    /// A tolerance in a field that has none.
    ToleranceNotHere,
    /// A tolerance without its amount, or without the size it is for.
    ToleranceCutShort,
    /// A sum.
    Sum {
        /// The sign that makes it one.
        sign: char,
    },
    /// A guess.
    Estimate,
    /// A unit nobody here knows.
    UnknownUnit {
        /// As typed.
        text: String,
    },
    /// Two units for one number.
    TwoUnits {
        /// The first.
        first: Unit,
        /// The second, as typed.
        second: String,
    },
    /// The unit stands before the number.
    UnitFirst {
        /// It.
        unit: Unit,
    },
    /// Words that are no part of a measurement.
    Text {
        /// As typed.
        text: String,
    },
    /// `1e3`, `0x10`: how programs write numbers.
    ProgramNumber,
    /// Nothing can be divided into zero parts.
    OverZero,
    /// A fraction of one or more after a whole number.
    FractionOverOne,
    /// A fraction after decimals.
    FractionAfterDecimals,
    /// Inches after feet that have decimals or a fraction.
    InchesAfterPartFeet,
    /// More than one slash: a date.
    TwoSlashes,
    /// A date where a fraction was meant.
    Date,
    /// A raised or lowered digit that is no part of a fraction.
    RaisedDigit {
        /// It.
        found: char,
    },
    /// Outside what this field can hold.
    OutOfRange {
        /// What was read.
        mm: Length,
        /// The least that is taken.
        least: Length,
        /// The most that is taken.
        most: Length,
    },
    /// An angle in something else than degrees.
    DegreesOnly {
        /// As typed.
        text: String,
    },
    /// An angle outside what this field can hold.
    AngleOutOfRange {
        /// What was read.
        angle: super::Angle,
        /// The least that is taken.
        least: super::Angle,
        /// The most that is taken.
        most: super::Angle,
    },
}

/// Which mark a workshop puts before decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DecimalStyle {
    /// `18.5`; `1,250` is asked about.
    #[default]
    Point,
    /// `18,5`; `1.250` is asked about.
    Comma,
    /// Not known: `1.250` and `1,250` are both asked about.
    Either,
}

/// The words for the two sides of zero in a field where a minus means something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Sides {
    /// Below zero: *left of A*.
    pub minus: String,
    /// Above zero: *right of A*.
    pub plus: String,
}

/// What a field takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct FieldOptions {
    /// What a bare number means.
    pub unit: Unit,
    /// How decimals are written here.
    pub decimals: DecimalStyle,
    /// The words for the sides of zero; without them a minus is refused.
    pub sides: Option<Sides>,
    /// Whether a tolerance may be typed with the size.
    pub takes_tolerance: bool,
    /// About what it should come to, for telling `1.250` from 1250 and cm from mm.
    pub expected: Option<Length>,
    /// The least that makes sense.
    pub least: Length,
    /// The most that makes sense.
    pub most: Length,
}

impl FieldOptions {
    /// The most that any field takes unless told otherwise: nothing laminated by hand, and no
    /// tape, is longer than 100 m.
    pub const MOST: Length = Length::from_mm(100_000.0);

    /// A size: no sides, no tolerance, up to [`Self::MOST`].
    #[must_use]
    pub fn size(unit: Unit) -> Self {
        Self {
            unit,
            ..Self::default()
        }
    }

    /// How long something is, or how far from one place to another: never nothing.
    #[must_use]
    pub fn length(unit: Unit) -> Self {
        Self {
            least: Length::from_mm(0.001),
            ..Self::size(unit)
        }
    }

    /// An offset, with words for its sides.
    #[must_use]
    pub fn offset(unit: Unit, minus: impl Into<String>, plus: impl Into<String>) -> Self {
        Self {
            unit,
            sides: Some(Sides {
                minus: minus.into(),
                plus: plus.into(),
            }),
            ..Self::default()
        }
    }

    /// The same field with something expected.
    #[must_use]
    pub fn expecting(self, expected: Length) -> Self {
        Self {
            expected: Some(expected),
            ..self
        }
    }
}

impl Default for FieldOptions {
    fn default() -> Self {
        Self {
            unit: Unit::Mm,
            decimals: DecimalStyle::Point,
            sides: None,
            takes_tolerance: false,
            expected: None,
            least: -Self::MOST,
            most: Self::MOST,
        }
    }
}
