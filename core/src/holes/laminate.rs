//! Laminates: thickness from the weight of glass, and how near to edges and each other holes may be.

use super::fastener::Thread;
use crate::units::Length;

/// Density of glass and of cured polyester resin, g/cm³ (CHECKS N3).
const GLASS: f64 = 2.55;
const RESIN: f64 = 1.20;
/// Resin to glass by weight, hand lay-up of mat (CHECKS N3).
const RESIN_TO_GLASS: f64 = 2.25;
/// A hand lay-up is off its reckoned thickness by as much as this until a pilot hole tells.
const RECKONED_WITHIN: f64 = 0.30;

const OUNCE_G: f64 = 28.349_523_125;
const SQUARE_FOOT_M2: f64 = 0.092_903_04;
const SQUARE_YARD_M2: f64 = 0.836_127_36;

/// Weight of one layer of glass, g/m².
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct GlassWeight(f64);

/// Why a weight of glass was not understood.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WeightError {
    /// Ounces of what?
    #[error(
        "{ounces} oz of what? Mat, per square foot: {mat:.0} g/m². Cloth, per square yard: {cloth:.0} g/m². Write '{ounces} oz mat' or '{ounces} oz cloth'"
    )]
    WhichOunce {
        /// As typed.
        ounces: f64,
        /// If mat, g/m².
        mat: f64,
        /// If cloth, g/m².
        cloth: f64,
    },
    /// Not a weight at all.
    #[error("'{0}' is no weight of glass: write it as 450 g/m², 1.5 oz mat or 6 oz cloth")]
    NotAWeight(String),
    /// Past any glass.
    #[error("{0:.0} g/m² is no glass that is sold: 10 to 3000")]
    OutOfRange(f64),
}

impl GlassWeight {
    /// From grams per square metre.
    ///
    /// # Errors
    /// [`WeightError::OutOfRange`] outside 10 to 3000.
    pub fn from_gsm(gsm: f64) -> Result<Self, WeightError> {
        if (10.0..=3000.0).contains(&gsm) {
            Ok(Self(gsm))
        } else {
            Err(WeightError::OutOfRange(gsm))
        }
    }

    /// From what was typed: `450`, `450 g`, `1.5 oz mat`, `6 oz/yd2`.
    ///
    /// # Errors
    /// [`WeightError`]; a bare *oz* is asked about, since mat is sold by the square foot and cloth
    /// by the square yard, a factor of nine.
    pub fn read(text: &str) -> Result<Self, WeightError> {
        let plain = text.trim().to_lowercase().replace(',', ".");
        let bad = || WeightError::NotAWeight(text.chars().take(30).collect());
        let digits = plain
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(plain.len());
        let (number, unit) = plain.split_at(digits);
        let value: f64 = number.parse().map_err(|_| bad())?;
        let unit: String = unit.chars().filter(|c| !c.is_whitespace()).collect();
        let mat = value * OUNCE_G / SQUARE_FOOT_M2;
        let cloth = value * OUNCE_G / SQUARE_YARD_M2;
        match unit.as_str() {
            "" | "g" | "gsm" | "g/m2" | "g/m²" => Self::from_gsm(value),
            "ozmat" | "oz/ft2" | "oz/ft²" | "oz/sqft" => Self::from_gsm(mat),
            "ozcloth" | "oz/yd2" | "oz/yd²" | "oz/sqyd" => Self::from_gsm(cloth),
            "oz" => Err(WeightError::WhichOunce {
                ounces: value,
                mat,
                cloth,
            }),
            _ => Err(bad()),
        }
    }

    /// Grams per square metre.
    #[must_use]
    pub const fn gsm(self) -> f64 {
        self.0
    }
}

/// What is known of a skin's thickness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Thickness {
    /// Reckoned from the weight of glass: no depth is shown in large figures from it alone.
    FromGlass(Length),
    /// Measured at a pilot hole.
    Measured(Length),
}

impl Thickness {
    /// From layers of glass and the resin they take up: t = g/1000·(1/ρg + n/ρr).
    #[must_use]
    pub fn of_layers(layers: &[GlassWeight]) -> Self {
        let glass: f64 = layers.iter().map(|g| g.0).sum();
        Self::FromGlass(Length::from_mm(reckoned(glass, RESIN_TO_GLASS)))
    }
    /// The best guess.
    #[must_use]
    pub const fn best(self) -> Length {
        match self {
            Self::FromGlass(t) | Self::Measured(t) => t,
        }
    }
    /// Between what and what it may be.
    #[must_use]
    pub fn between(self) -> (Length, Length) {
        match self {
            Self::FromGlass(t) => (t * (1.0 - RECKONED_WITHIN), t * (1.0 + RECKONED_WITHIN)),
            Self::Measured(t) => (t, t),
        }
    }
    /// It has been measured, so that a depth may be shown large.
    #[must_use]
    pub const fn is_measured(self) -> bool {
        matches!(self, Self::Measured(_))
    }
}

fn reckoned(glass_gsm: f64, resin_to_glass: f64) -> f64 {
    glass_gsm / 1000.0 * (1.0 / GLASS + resin_to_glass / RESIN)
}

/// A hole nearer to an edge or to another than the rule of thumb has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpacingWarning {
    /// Nearer to an edge than three bolts.
    Edge {
        /// How near.
        is: Length,
        /// What the rule asks.
        least: Length,
    },
    /// Nearer to the next hole than four bolts.
    Pitch {
        /// How near.
        is: Length,
        /// What the rule asks.
        least: Length,
    },
}

impl SpacingWarning {
    /// The warning in words, with where it comes from. An engineer may override it with initials.
    #[must_use]
    pub fn words(self) -> String {
        let (what, is, least, rule) = match self {
            Self::Edge { is, least } => ("the edge", is, least, "3 × the bolt to an edge"),
            Self::Pitch { is, least } => ("the next hole", is, least, "4 × the bolt between holes"),
        };
        format!(
            "{:.1} mm to {what}: the rule of thumb for laminates is {rule}, {:.0} mm here (common practice, as in the EUROCOMP design code of 1996; not a strength check). An engineer may override it with initials",
            is.mm(),
            least.mm()
        )
    }
}

/// What the rules of thumb say of one hole in a laminate.
#[must_use]
pub fn spacing(
    thread: Thread,
    to_edge: Option<Length>,
    to_next: Option<Length>,
) -> Vec<SpacingWarning> {
    let d = thread.diameter();
    let mut out = Vec::new();
    if let Some(is) = to_edge
        && is.mm() < 3.0 * d.mm() - 1e-9
    {
        out.push(SpacingWarning::Edge { is, least: d * 3.0 });
    }
    if let Some(is) = to_next
        && is.mm() < 4.0 * d.mm() - 1e-9
    {
        out.push(SpacingWarning::Pitch { is, least: d * 4.0 });
    }
    out
}

/// What the rule of thumb says of a bolt in a laminate of this thickness, and of its washer; nothing
/// where both are as it has them.
///
/// 1 ≤ d/t ≤ 1.5, washer at least 2d across and 0.2d thick (EUROCOMP design code 1996, 5.2.2,
/// as CHECKS G10 has it, from memory there too; not a strength check).
#[must_use]
pub fn bolt_in_laminate(thread: Thread, thickness: Length) -> Vec<String> {
    let d = thread.diameter().mm();
    let mut out = Vec::new();
    let source = "(common practice, as in the EUROCOMP design code of 1996; not a strength check)";
    let ratio = d / thickness.mm().max(1e-6);
    if !(1.0 - 1e-9..=1.5 + 1e-9).contains(&ratio) {
        let then = if ratio > 1.5 {
            "thicken the laminate there, or ask for smaller bolts"
        } else {
            "a thicker bolt would use the laminate better"
        };
        out.push(format!(
            "{} in {:.1} mm of laminate is {ratio:.1} times as thick: the rule of thumb is 1 to 1.5 {source}; {then}",
            thread.name(),
            thickness.mm()
        ));
    }
    if let Some(washer) = thread.large_washer()
        && (washer.outside.mm() < 2.0 * d - 1e-9 || washer.thickness.mm() < 0.2 * d - 1e-9)
    {
        out.push(format!(
            "Washers at least {:.0} mm across and {:.1} thick {source}",
            2.0 * d,
            0.2 * d
        ));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thickness_from_mat_as_reckoned_elsewhere() {
        // CHECKS N3.
        for (gsm, n, t) in [
            (300.0, 2.25, 0.680),
            (450.0, 2.25, 1.020),
            (600.0, 2.25, 1.360),
            (305.15, 2.25, 0.692),
            (450.0, 2.5, 1.114),
            (450.0, 2.0, 0.926),
        ] {
            assert!((reckoned(gsm, n) - t).abs() < 1e-3, "{gsm} at {n}");
        }
        let skin = Thickness::of_layers(&[GlassWeight(450.0); 4]);
        assert!(!skin.is_measured());
        let (least, most) = skin.between();
        assert!((most.mm() / least.mm() - 1.3 / 0.7).abs() < 1e-12);
    }

    #[test]
    fn ounces_are_asked_about() {
        // CHECKS N4.
        let gsm = |t: &str| GlassWeight::read(t).map(GlassWeight::gsm);
        assert!(gsm("1 oz mat").is_ok_and(|g| (g - 305.1517).abs() < 1e-4));
        assert!(gsm("1oz/yd²").is_ok_and(|g| (g - 33.9057).abs() < 1e-4));
        assert!(gsm("450 g/m²").is_ok_and(|g| (g - 450.0).abs() < 1e-12));
        let Err(bare) = gsm("1.5 oz") else {
            unreachable!("a bare ounce is not a weight")
        };
        let said = bare.to_string();
        assert!(
            said.contains("458 g/m²") && said.contains("51 g/m²"),
            "{said}"
        );
        for bad in ["", "oz", "-450", "4 lb", "1e9", "."] {
            assert!(gsm(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn bolts_in_thin_laminate_are_warned_of() {
        // CHECKS G10: 1 <= d/t <= 1.5, washers 2d and 0.2d; from memory there too.
        let Ok(m10) = Thread::named("M10") else {
            unreachable!("M10 is in the tables")
        };
        let of = |t: f64| bolt_in_laminate(m10, Length::from_mm(t));
        assert!(
            of(10.0).is_empty() && of(8.0).is_empty(),
            "30 × 2.5 is washer enough"
        );
        assert!(
            of(5.0)
                .iter()
                .any(|w| w.contains("2.0 times") && w.contains("thicken"))
        );
        assert!(of(12.0).iter().any(|w| w.contains("0.8 times")));
        let Ok(m16) = Thread::named("M16") else {
            unreachable!("M16 is in the tables")
        };
        // ISO 7093-1: 3 thick, and 0.2 × 16 is 3.2.
        let thick = bolt_in_laminate(m16, Length::from_mm(14.0));
        assert!(thick.iter().any(|w| w.contains("3.2 thick")), "{thick:?}");
    }

    #[test]
    fn edges_and_pitch_are_warned_of() {
        // CHECKS G10: e/d at least 3, p/d at least 4.
        let Ok(m10) = Thread::named("M10") else {
            unreachable!("M10 is in the tables")
        };
        let mm = Length::from_mm;
        assert!(spacing(m10, Some(mm(30.0)), Some(mm(40.0))).is_empty());
        assert_eq!(spacing(m10, Some(mm(29.0)), Some(mm(39.0))).len(), 2);
    }
}
