//! Sizes a workshop can measure: a radius is what nobody has.
//!
//! A girth, a straight-edge and the gap under it, the number of a gauge card, two girths and the
//! slant between them: each becomes a radius (and a taper) with its standard uncertainty, which
//! the network takes as the spread of what it believes before any reading.
//!
//! ```text
//!      bulging: rocked until both gaps are equal        hollow: the gap in the middle
//!      ══════════════════ straight-edge, c               ══════════════════ c
//!      h│   ˏ─────────ˎ   │h                              ╲      │h     ╱
//!       ╱               ╲                                   ‾‾───┴───‾‾
//! ```

use crate::units::Length;
use core::f64::consts::TAU;

/// A radius with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredRadius {
    /// The radius, without a sign.
    pub radius: Length,
    /// Its standard uncertainty.
    pub standard: Length,
}

/// A taper with its standard uncertainty, and what it shares with the radius it came with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredTaper {
    /// Radius at the lower girth, where the cone's v is zero.
    pub reference: MeasuredRadius,
    /// Change of radius for each millimetre of slant upwards: negative where it narrows.
    pub taper: f64,
    /// Standard uncertainty of the taper.
    pub taper_standard: f64,
    /// Covariance of reference radius and taper, mm: both know the lower girth.
    pub covariance_mm: f64,
}

/// A tape reading with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taped {
    /// What the tape said.
    pub length: Length,
    /// Standard uncertainty of the tape.
    pub standard: Length,
}

/// A straight-edge held to a round face and the gap it leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightEdge {
    /// Length of the straight-edge.
    pub length: Length,
    /// The gap: in the middle of a hollow; at both ends, rocked until equal, on a bulge.
    pub gap: Taped,
}

/// Why a size could not be found.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SizeError {
    /// Zero, negative or not a number where a size is needed.
    #[error("{what} of {value_mm} mm can't be: it must be more than zero, measure it again")]
    NotPositive {
        /// Which size.
        what: &'static str,
        /// The value offered, mm.
        value_mm: f64,
    },
    /// A negative uncertainty, or none that is a number.
    #[error("{what} can't be sure to {value_mm} mm: give how far out it may be as zero or more")]
    Uncertainty {
        /// Which size.
        what: &'static str,
        /// The value offered, mm.
        value_mm: f64,
    },
    /// No gap, or so little that the radius would pass 100 m.
    #[error("with a gap of {gap_mm} mm under {length_mm} mm this face is flat: choose flat")]
    Flat {
        /// The gap, mm.
        gap_mm: f64,
        /// The straight-edge, mm.
        length_mm: f64,
    },
    /// More than half a round under the straight-edge.
    #[error(
        "a gap of {gap_mm} mm is more than half of the straight-edge's {length_mm} mm: check which is which, or take its girth"
    )]
    GapTooLarge {
        /// The gap, mm.
        gap_mm: f64,
        /// The straight-edge, mm.
        length_mm: f64,
    },
    /// A number that no gauge card has.
    #[error("there is no gauge card {number}: they are numbered {first} to {last}")]
    NoSuchCard {
        /// The number typed.
        number: i64,
        /// The first there is.
        first: i64,
        /// The last there is.
        last: i64,
    },
    /// Two girths further apart than the slant can reach.
    #[error(
        "girths of {lower_mm} and {upper_mm} mm need a slant of more than {least_slant_mm:.1} mm between them, not {slant_mm}: check all three"
    )]
    TooSteep {
        /// The lower girth, mm.
        lower_mm: f64,
        /// The upper girth, mm.
        upper_mm: f64,
        /// The slant, mm.
        slant_mm: f64,
        /// The least slant that could join them, mm.
        least_slant_mm: f64,
    },
}

/// Past this a face is flat to any straight-edge, mm (the greatest radius a face takes).
const FLAT_FROM_MM: f64 = 100_000.0;

fn positive(what: &'static str, value: Length) -> Result<f64, SizeError> {
    let value_mm = value.mm();
    if value_mm > 0.0 && value_mm.is_finite() {
        Ok(value_mm)
    } else {
        Err(SizeError::NotPositive { what, value_mm })
    }
}

fn uncertain(what: &'static str, standard: Length) -> Result<f64, SizeError> {
    let value_mm = standard.mm();
    if value_mm >= 0.0 && value_mm.is_finite() {
        Ok(value_mm)
    } else {
        Err(SizeError::Uncertainty { what, value_mm })
    }
}

/// A radius known as such: from a drawing or a compass.
///
/// # Errors
/// A radius that is not more than zero, an uncertainty below it.
pub fn from_radius(radius: Taped) -> Result<MeasuredRadius, SizeError> {
    positive("a radius", radius.length)?;
    uncertain("a radius", radius.standard)?;
    Ok(MeasuredRadius {
        radius: radius.length,
        standard: radius.standard,
    })
}

/// A radius from a tape once round: girth / 2π.
///
/// # Errors
/// A girth that is not more than zero, an uncertainty below it.
pub fn from_girth(girth: Taped) -> Result<MeasuredRadius, SizeError> {
    positive("a girth", girth.length)?;
    uncertain("a girth", girth.standard)?;
    Ok(MeasuredRadius {
        radius: girth.length / TAU,
        standard: girth.standard / TAU,
    })
}

impl StraightEdge {
    /// R = (c²/4 + h²)/2h, with u(R) = |1/2 − c²/8h²|·u(h).
    ///
    /// The sagitta of a chord (Euclid III.35); the same for a hollow, where the straight-edge is
    /// the chord, and for a bulge, where it is the tangent at the crown and the gaps at its ends
    /// are square to it. The length of a straight-edge is taken as known.
    ///
    /// # Errors
    /// No gap (the face is flat), a gap over half the length, sizes that can't be.
    pub fn radius(&self) -> Result<MeasuredRadius, SizeError> {
        let (c, h) = self.checked()?;
        let u = uncertain("a gap", self.gap.standard)?;
        let radius_mm = sagitta_radius_mm(c, h);
        if radius_mm > FLAT_FROM_MM {
            return Err(SizeError::Flat {
                gap_mm: h,
                length_mm: c,
            });
        }
        let sensitivity = (0.5 - c * c / (8.0 * h * h)).abs();
        Ok(MeasuredRadius {
            radius: Length::from_mm(radius_mm),
            standard: Length::from_mm(sensitivity * u),
        })
    }

    /// The least and the greatest radius if the gap is read ± so much; no greatest where the
    /// face might then be flat.
    ///
    /// The straight line of [`StraightEdge::radius`] leaves out that the two sides differ: 300 mm
    /// under 100 mm read to ± 0.5 is anything from 269 to 340.
    ///
    /// # Errors
    /// As [`StraightEdge::radius`].
    pub fn range(&self, plus_minus: Length) -> Result<(Length, Option<Length>), SizeError> {
        let (c, h) = self.checked()?;
        let reach = uncertain("a gap", plus_minus)?;
        let least = sagitta_radius_mm(c, (h + reach).min(c / 2.0));
        let shy = h - reach;
        let greatest = (shy > 0.0).then(|| sagitta_radius_mm(c, shy));
        Ok((
            Length::from_mm(least),
            greatest
                .filter(|mm| *mm <= FLAT_FROM_MM)
                .map(Length::from_mm),
        ))
    }

    fn checked(&self) -> Result<(f64, f64), SizeError> {
        let c = positive("a straight-edge", self.length)?;
        let h = self.gap.length.mm();
        if h == 0.0 {
            return Err(SizeError::Flat {
                gap_mm: h,
                length_mm: c,
            });
        }
        let h = positive("a gap", self.gap.length)?;
        if h > c / 2.0 {
            return Err(SizeError::GapTooLarge {
                gap_mm: h,
                length_mm: c,
            });
        }
        Ok((c, h))
    }
}

fn sagitta_radius_mm(c: f64, h: f64) -> f64 {
    (c / h) * (c / 8.0) + h / 2.0
}

/// The straight-edge that would give a radius to a wanted uncertainty, the gap being read to a
/// given one. With u(R) = (R/h − 1)·u(h) it needs the gap h = R/(1 + u(R)/u(h)).
///
/// # Errors
/// Sizes that can't be.
pub fn straight_edge_for(
    radius: Length,
    wanted: Length,
    gap_standard: Length,
) -> Result<Length, SizeError> {
    let r = positive("a radius", radius)?;
    let wanted = positive("a wanted uncertainty", wanted)?;
    let gap = positive("the uncertainty of a gap", gap_standard)?;
    let h = r / (1.0 + wanted / gap);
    Ok(Length::from_mm(2.0 * libm::sqrt(h * (2.0 * r - h))))
}

/// A cone from two girths and the slant between them, measured up the face.
///
/// # Errors
/// Sizes that can't be, girths further apart than the slant can reach.
pub fn from_two_girths(
    lower: Taped,
    upper: Taped,
    slant: Taped,
) -> Result<MeasuredTaper, SizeError> {
    let reference = from_girth(lower)?;
    let above = from_girth(upper)?;
    let slant_mm = positive("a slant", slant.length)?;
    let slant_u = uncertain("a slant", slant.standard)?;
    let (r1, r2) = (reference.radius.mm(), above.radius.mm());
    let taper = (r2 - r1) / slant_mm;
    if taper.abs() > super::cone::GREATEST_TAPER {
        return Err(SizeError::TooSteep {
            lower_mm: lower.length.mm(),
            upper_mm: upper.length.mm(),
            slant_mm,
            least_slant_mm: (r2 - r1).abs() / super::cone::GREATEST_TAPER,
        });
    }
    let (u1, u2) = (
        reference.standard.mm() / slant_mm,
        above.standard.mm() / slant_mm,
    );
    let by_slant = taper / slant_mm * slant_u;
    Ok(MeasuredTaper {
        reference,
        taper,
        taper_standard: libm::sqrt(u1 * u1 + u2 * u2 + by_slant * by_slant),
        covariance_mm: -reference.standard.mm() * u1,
    })
}

pub mod gauge_card {
    //! Numbered full-size arcs, cut from card and held to the face: the number that shows no
    //! light gives the radius.
    //!
    //! Thirty cards to a tenfold radius, so that each is 8 % rounder than the next (preferred
    //! numbers: a geometric series, as ISO 3 builds its own). Card 1 is 20 mm, 31 is 200 mm, 61
    //! is 2 m.

    use super::{MeasuredRadius, SizeError};
    use crate::units::Length;

    /// The first card.
    pub const FIRST: i64 = 1;
    /// The last card.
    pub const LAST: i64 = 61;
    /// Radius of the first card.
    pub const FIRST_RADIUS: Length = Length::from_mm(20.0);
    /// Cards to a tenfold radius: 10^(1/30) is a step of 7.98 %.
    pub const TO_A_TENFOLD: f64 = 30.0;
    /// How long the longest card is, end to end: what lies across every paper from A4 and Letter up.
    pub const LONGEST: Length = Length::from_mm(240.0);
    /// How far a card reaches round: a quarter of a turn, unless that is longer than [`LONGEST`].
    const REACH_RAD: f64 = core::f64::consts::FRAC_PI_2;
    /// Two cards whose ends differ by less can't be told apart: light shows under a card held by
    /// hand from about 0.15 mm, and a hand cuts along a line to 0.25 (common practice, no source).
    pub const TOLD_APART: Length = Length::from_mm(0.4);

    /// The radius a card is cut to.
    ///
    /// # Errors
    /// [`SizeError::NoSuchCard`].
    pub fn radius(number: i64) -> Result<Length, SizeError> {
        if !(FIRST..=LAST).contains(&number) {
            return Err(SizeError::NoSuchCard {
                number,
                first: FIRST,
                last: LAST,
            });
        }
        #[expect(clippy::cast_precision_loss, reason = "1 to 61")]
        let steps = (number - FIRST) as f64;
        Ok(FIRST_RADIUS * libm::pow(10.0, steps / TO_A_TENFOLD))
    }

    /// Half a step either way: as far out as the card that shows no light may be.
    ///
    /// # Errors
    /// [`SizeError::NoSuchCard`].
    pub fn half_step(number: i64) -> Result<Length, SizeError> {
        Ok(radius(number)? * (libm::pow(10.0, 0.5 / TO_A_TENFOLD) - 1.0))
    }

    /// How long a card is, end to end.
    ///
    /// # Errors
    /// [`SizeError::NoSuchCard`].
    pub fn long(number: i64) -> Result<Length, SizeError> {
        let round_mm = 2.0 * radius(number)?.mm() * libm::sin(REACH_RAD / 2.0);
        Ok(Length::from_mm(round_mm.min(LONGEST.mm())))
    }

    /// The light under the ends of the next flatter card, where this one shows none: the
    /// difference of two sagittas over this card's length (Euclid III.35).
    ///
    /// # Errors
    /// [`SizeError::NoSuchCard`], for the last one too, which has no next.
    pub fn gap_to_next(number: i64) -> Result<Length, SizeError> {
        let half_mm = long(number)?.mm() / 2.0;
        let (tight, flat) = (radius(number)?.mm(), radius(number + 1)?.mm());
        let sagitta = |r: f64| half_mm * half_mm / (r + libm::sqrt(r * r - half_mm * half_mm));
        Ok(Length::from_mm(sagitta(tight) - sagitta(flat)))
    }

    /// The first card that can't be told from the next; those after it can't either.
    #[must_use]
    pub fn first_too_close() -> i64 {
        let close = |n: &i64| gap_to_next(*n).is_ok_and(|gap| gap < TOLD_APART);
        (FIRST..LAST).find(close).unwrap_or(LAST)
    }

    /// As far out as the card that shows no light may be: half a step, or where neighbours can't be
    /// told apart half of [`TOLD_APART`] at the ends, through the slope of the sagitta by the radius.
    ///
    /// # Errors
    /// [`SizeError::NoSuchCard`].
    pub fn sure_to(number: i64) -> Result<Length, SizeError> {
        let (r, half_mm) = (radius(number)?.mm(), long(number)?.mm() / 2.0);
        let slope = r / libm::sqrt(r * r - half_mm * half_mm) - 1.0;
        let unseen_mm = TOLD_APART.mm() / 2.0 / slope;
        Ok(Length::from_mm(half_step(number)?.mm().max(unseen_mm)))
    }

    /// The radius that a card says, [`sure_to`] taken as bounds: a/√3 (JCGM 100:2008, 4.3.7).
    ///
    /// # Errors
    /// [`SizeError::NoSuchCard`].
    pub fn measured(number: i64) -> Result<MeasuredRadius, SizeError> {
        let standard = sure_to(number)? / libm::sqrt(3.0);
        Ok(MeasuredRadius {
            radius: radius(number)?,
            standard,
        })
    }

    /// The card nearest a radius, in ratio; the first or the last past the ends.
    #[must_use]
    pub fn nearest(radius: Length) -> i64 {
        let ratio = radius.mm().abs() / FIRST_RADIUS.mm();
        let steps = libm::round(TO_A_TENFOLD * libm::log10(ratio));
        #[expect(
            clippy::cast_possible_truncation,
            reason = "saturates before the clamp"
        )]
        let number = (steps as i64).saturating_add(FIRST);
        number.clamp(FIRST, LAST)
    }

    /// Whether cards held at right angles to each other say *round both ways alike*: the same
    /// number, or neighbours, which half a step on either side can't tell apart.
    #[must_use]
    pub const fn round_alike(one: i64, other: i64) -> bool {
        one.abs_diff(other) <= 1
    }
}
