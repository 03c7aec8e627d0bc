//! A length in millimetres.

use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub};
use serde::{Deserialize, Serialize};

/// A finite length, held in millimetres.
///
/// Signed, because offsets and residuals are; where only a size makes sense the taker says so.
/// Serialises as a plain number of millimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
#[serde(transparent)]
pub struct Length(f64);

/// NaN or infinity was offered where a finite number is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not a finite number")]
pub struct NotFinite;

impl Length {
    /// Nothing at all.
    pub const ZERO: Self = Self(0.0);
    /// One inch: 25.4 mm exactly (international yard and pound agreement, 1959).
    pub const INCH: Self = Self(25.4);

    /// From millimetres computed inside the core, where values are already finite.
    ///
    /// For anything that came from outside use [`Length::try_from_mm`].
    #[must_use]
    pub const fn from_mm(mm: f64) -> Self {
        debug_assert!(mm.is_finite(), "NaN stops at the door");
        Self(mm)
    }

    /// From millimetres that came from outside.
    ///
    /// # Errors
    /// [`NotFinite`] for NaN and the infinities.
    pub const fn try_from_mm(mm: f64) -> Result<Self, NotFinite> {
        if mm.is_finite() {
            Ok(Self(mm))
        } else {
            Err(NotFinite)
        }
    }

    /// The number of millimetres.
    #[must_use]
    pub const fn mm(self) -> f64 {
        self.0
    }

    /// The size without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Whole micrometres, to nearest, ties away from zero: the grid of sheets and verdicts.
    #[must_use]
    pub fn to_um(self) -> i64 {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "saturates, and 2^63 um is past the Moon"
        )]
        let um = libm::round(self.0 * 1000.0) as i64;
        um
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Length {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Length".into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "number", "description": "millimetres" })
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        Self::try_from_mm(f64::deserialize(d)?).map_err(serde::de::Error::custom)
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self(self.0 + o.0)
    }
}
impl AddAssign for Length {
    fn add_assign(&mut self, o: Self) {
        self.0 += o.0;
    }
}
impl Sub for Length {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self(self.0 - o.0)
    }
}
impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
impl Mul<f64> for Length {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self(self.0 * k)
    }
}
impl Div<f64> for Length {
    type Output = Self;
    fn div(self, k: f64) -> Self {
        Self(self.0 / k)
    }
}
/// A ratio of two lengths has no unit.
impl Div for Length {
    type Output = f64;
    fn div(self, o: Self) -> f64 {
        self.0 / o.0
    }
}
