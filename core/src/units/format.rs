//! Lengths as text: no "-0", no grouping, digits counted on whole micrometres.

use super::{DecimalStyle, Length, Unit};

/// Millimetres with exactly this many decimals (three at most), rounded half away from zero from
/// whole micrometres: `183.0`, `0.8`. For sheets; always with a point.
#[must_use]
pub fn fixed_mm(length: Length, decimals: u32) -> String {
    let decimals = decimals.min(3);
    let um = i128::from(length.to_um());
    written(divided(um, 10_i128.pow(3 - decimals)), decimals, '.')
}

/// The shortest number that, read back in this unit, gives the same whole micrometre. Without
/// the unit.
#[must_use]
pub fn exact(length: Length, unit: Unit, style: DecimalStyle) -> String {
    trimmed(places(length, unit, unit.places_for_um(), style))
}

/// The number to about a tenth of a millimetre, the finest that a rule in the hand shows; coarser
/// for no unit but finer for none either. Without the unit.
#[must_use]
pub fn shown(length: Length, unit: Unit, style: DecimalStyle) -> String {
    let decimals = match unit {
        Unit::Um | Unit::Thou => 0,
        Unit::Mm => 1,
        Unit::Cm | Unit::In => 2,
        Unit::Dm | Unit::Ft => 3,
        Unit::M | Unit::Yd => 4,
    };
    trimmed(places(length, unit, decimals, style))
}

/// As near as anybody could have typed it, finer than a micrometre: for saying back what was
/// understood.
pub(super) fn said(length: Length, unit: Unit, style: DecimalStyle) -> String {
    let decimals = unit.places_for_um() + 1;
    let scaled = length / unit.length() * libm::exp10(f64::from(decimals));
    #[expect(
        clippy::cast_possible_truncation,
        reason = "saturates far beyond any length"
    )]
    let scaled = libm::round(scaled) as i128;
    trimmed(written(scaled, decimals, mark(style)))
}

fn mark(style: DecimalStyle) -> char {
    match style {
        DecimalStyle::Comma => ',',
        DecimalStyle::Point | DecimalStyle::Either => '.',
    }
}

fn places(length: Length, unit: Unit, decimals: u32, style: DecimalStyle) -> String {
    const NM_PER_UM: i128 = 1000;
    let scaled = i128::from(length.to_um()) * NM_PER_UM * 10_i128.pow(decimals);
    written(divided(scaled, unit.nm()), decimals, mark(style))
}

/// Division to nearest, halves away from zero.
fn divided(n: i128, by: i128) -> i128 {
    let half = if n < 0 { -(by / 2) } else { by / 2 };
    (n + half) / by
}

fn written(scaled: i128, decimals: u32, mark: char) -> String {
    let unit = 10_u128.pow(decimals);
    let size = scaled.unsigned_abs();
    let sign = if scaled < 0 { "-" } else { "" };
    let whole = size / unit;
    if decimals == 0 {
        return format!("{sign}{whole}");
    }
    let width = usize::try_from(decimals).unwrap_or(0);
    format!("{sign}{whole}{mark}{:0width$}", size % unit)
}

fn trimmed(text: String) -> String {
    if text.contains(['.', ',']) {
        text.trim_end_matches('0')
            .trim_end_matches(['.', ','])
            .to_owned()
    } else {
        text
    }
}

/// How finely a tape in inches is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum InchParts {
    /// To 1/16 in.
    #[default]
    Sixteenths,
    /// To 1/32 in.
    ThirtySeconds,
    /// To 1/64 in.
    SixtyFourths,
}

impl InchParts {
    const fn per_inch(self) -> u64 {
        match self {
            Self::Sixteenths => 16,
            Self::ThirtySeconds => 32,
            Self::SixtyFourths => 64,
        }
    }
}

/// A length in feet, inches and a fraction in lowest terms, as a tape shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeetInches {
    /// Below zero: the whole of it, feet and inches.
    pub negative: bool,
    /// Whole feet.
    pub feet: u64,
    /// Whole inches, below 12.
    pub inches: u64,
    /// Above the stroke; 0 for no fraction.
    pub above: u64,
    /// Below the stroke; 1 for no fraction.
    pub below: u64,
    /// How much more this is than the length it stands for.
    pub off: Length,
}

impl FeetInches {
    /// Whether it is the length itself, to the micrometre.
    #[must_use]
    pub fn is_exact(&self) -> bool {
        const HALF_UM: f64 = 0.0005;
        self.off.mm().abs() < HALF_UM
    }

    /// All of it in inches: `74 1/2"`.
    #[must_use]
    pub fn in_inches(&self) -> String {
        self.text(0, self.feet.saturating_mul(12).saturating_add(self.inches))
    }

    fn text(&self, feet: u64, inches: u64) -> String {
        let sign = if self.negative { "-" } else { "" };
        let fraction = if self.above == 0 {
            String::new()
        } else {
            format!("{}/{}", self.above, self.below)
        };
        let inches = match (inches, self.above) {
            (0, 0) if feet > 0 => return format!("{sign}{feet}'"),
            (0, 1..) if feet == 0 => fraction,
            (_, 0) => format!("{inches}"),
            _ => format!("{inches} {fraction}"),
        };
        if feet == 0 {
            format!("{sign}{inches}\"")
        } else {
            format!("{sign}{feet}' {inches}\"")
        }
    }
}

/// `5' 3 7/16"`; feet are left out when there are none.
impl core::fmt::Display for FeetInches {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(&self.text(self.feet, self.inches))
    }
}

/// To the nearest part of an inch, halves away from zero.
#[must_use]
pub fn feet_inches(length: Length, parts: InchParts) -> FeetInches {
    let per_inch = parts.per_inch();
    let size = length.abs().mm() / Length::INCH.mm() * per_inch as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "zero or more; saturates far beyond any length"
    )]
    let count = libm::round(size) as u64;
    let negative = length < Length::ZERO && count > 0;
    let shown_mm = count as f64 * Length::INCH.mm() / per_inch as f64;
    let shown = Length::from_mm(if negative { -shown_mm } else { shown_mm });
    let whole = count / per_inch;
    let (mut above, mut below) = (count % per_inch, per_inch);
    while above > 0 && above % 2 == 0 {
        above /= 2;
        below /= 2;
    }
    if above == 0 {
        below = 1;
    }
    FeetInches {
        negative,
        feet: whole / 12,
        inches: whole % 12,
        above,
        below,
        off: shown - length,
    }
}
