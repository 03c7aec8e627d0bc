//! A plane angle in radians.

use core::ops::{Add, Neg, Sub};
use serde::{Deserialize, Serialize};

/// A finite plane angle, held in radians; positive is anticlockwise seen from outside.
///
/// Serialises as a plain number of radians.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
#[serde(transparent)]
pub struct Angle(f64);

impl Angle {
    /// No turn.
    pub const ZERO: Self = Self(0.0);

    /// From radians.
    #[must_use]
    pub const fn from_rad(rad: f64) -> Self {
        Self(rad)
    }

    /// From degrees.
    #[must_use]
    pub const fn from_deg(deg: f64) -> Self {
        Self(deg.to_radians())
    }

    /// The number of radians.
    #[must_use]
    pub const fn rad(self) -> f64 {
        self.0
    }

    /// The number of degrees.
    #[must_use]
    pub const fn deg(self) -> f64 {
        self.0.to_degrees()
    }

    /// The same direction within (−π, π].
    #[must_use]
    pub fn wrapped(self) -> Self {
        let tau = core::f64::consts::TAU;
        let mut a = self.0 - tau * libm::floor(self.0 / tau);
        if a > core::f64::consts::PI {
            a -= tau;
        }
        Self(a)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Angle {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Angle".into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "number", "description": "radians, anticlockwise seen from outside" })
    }
}

impl<'de> Deserialize<'de> for Angle {
    fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let rad = f64::deserialize(d)?;
        if rad.is_finite() {
            Ok(Self(rad))
        } else {
            Err(serde::de::Error::custom(super::NotFinite))
        }
    }
}

impl Add for Angle {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self(self.0 + o.0)
    }
}
impl Sub for Angle {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self(self.0 - o.0)
    }
}
impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
