//! From what a rule says of the proof page to scale, skew and their uncertainty.
//!
//! The print is taken as the drawing under one linear map: a times as wide, b times as high, and
//! sheared by the angle γ by which its right angle is too small. With p = A–B and q = A–D as
//! printed, the diagonals are AC² = p² + q² + 2pq·sin γ and BD² = p² + q² − 2pq·sin γ. Two
//! diagonals give γ and one condition, AC² + BD² = 2(p² + q²), by which p and q are adjusted
//! (least squares, weights equal) and a misread length shows.

use super::Plan;
use crate::readings::TapeClass;
use crate::units::{Angle, Length};

/// √3: a bound ±a with nothing else known counts as a/√3 (JCGM 100:2008, 4.3.7).
const ROOT_3: f64 = 1.732_050_807_568_877_2;
/// Setting the rule's nought on a cross, and judging the other cross against it: one standard
/// deviation each (common practice, no source).
const POINTING_MM: f64 = 0.1;
/// k = 2 covers 95 %.
const COVER: f64 = 2.0;
/// The print is no more than this many times as large or as small as drawn: millimetres and
/// inches taken for each other, applied once.
const ABSURD: f64 = 30.0;

/// What the page was measured with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// The class on the blade.
    pub class: TapeClass,
    /// The least step read.
    pub step: Length,
}

impl Rule {
    /// One standard deviation of one reading, mm: the step counts as q/√12 (JCGM 100:2008,
    /// F.2.2.1), both ends are pointed at.
    fn each_mm(self) -> f64 {
        libm::hypot(
            self.step.mm() / libm::sqrt(12.0),
            POINTING_MM * core::f64::consts::SQRT_2,
        )
    }

    /// One standard deviation of its scale over a length, as a ratio; all readings share it.
    fn scale(self, over: Length) -> f64 {
        self.class.largest_error(over).mm() / ROOT_3 / over.mm().max(1.0)
    }

    /// 95 % of one distance of this length read with it lie within this, as a ratio.
    #[must_use]
    pub fn tells(self, over: Length) -> f64 {
        COVER * libm::hypot(self.each_mm() / over.mm().max(1.0), self.scale(over))
    }
}

/// What was read off the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TapeSays {
    /// A to B.
    pub across: Length,
    /// A to D.
    pub up: Length,
    /// A to C, where it was read.
    pub rising: Option<Length>,
    /// B to D, where it was read.
    pub falling: Option<Length>,
}

/// How long lengths come out one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction {
    /// As printed over as drawn.
    pub ratio: f64,
    /// 95 % of cases lie within this of it.
    pub within: f64,
}

/// By how much the right angle at A is too small (the page leans to the right).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Skew {
    /// The angle.
    pub angle: Angle,
    /// 95 % of cases lie within this of it.
    pub within: Angle,
}

/// What printer and paper do to lengths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strain {
    /// Across.
    pub across: Direction,
    /// Up.
    pub up: Direction,
    /// Skew, where a diagonal was read.
    pub skew: Option<Skew>,
}

/// Why the readings of a page say nothing.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ProofError {
    /// A length that no print of this page has.
    #[error(
        "{what} was drawn {drawn:.1} mm long and can't measure {read:.1} mm on any print: look at the unit and type it again",
        drawn = drawn.mm(),
        read = read.mm()
    )]
    Absurd {
        /// Which distance.
        what: &'static str,
        /// As drawn.
        drawn: Length,
        /// As typed.
        read: Length,
    },
    /// The lengths contradict each other.
    #[error(
        "these lengths don't belong to one page: with A–B and A–D as typed the diagonals would be about {expected:.1} mm. Measure all of them again, from middle to middle of the crosses",
        expected = expected.mm()
    )]
    Contradiction {
        /// The diagonal that sides and right angle would have.
        expected: Length,
    },
    /// Across and up typed for each other.
    #[error(
        "A–B and A–D look exchanged: A–B was drawn {across:.1} mm, A–D {up:.1} mm. Type each where its letters stand",
        across = across.mm(),
        up = up.mm()
    )]
    Swapped {
        /// A to B as drawn.
        across: Length,
        /// A to D as drawn.
        up: Length,
    },
    /// A step that is none.
    #[error("the rule is read to a step above 0 and not above 5 mm")]
    Step,
}

/// Lengths this near to each other's, as a ratio, were typed for each other.
const EXCHANGED: f64 = 0.03;

/// No page leans by more than this; what looks like more is a misread length. 1 in 50.
const MOST_SKEW: f64 = 0.02;

/// Scale in both directions, and skew, from what the rule says.
///
/// # Errors
/// [`ProofError`]: lengths no print has, or that contradict each other by more than three times
/// what the rule can be out.
pub fn judge(drawn: Plan, says: TapeSays, rule: Rule) -> Result<Strain, ProofError> {
    let step = rule.step.mm();
    if !(step > 0.0 && step <= 5.0) {
        return Err(ProofError::Step);
    }
    let fine = |what, drawn: Length, read: Length| {
        let ratio = read.mm() / drawn.mm();
        if ratio.is_finite() && (1.0 / ABSURD..=ABSURD).contains(&ratio) {
            Ok(read.mm())
        } else {
            Err(ProofError::Absurd { what, drawn, read })
        }
    };
    let mut p = fine("A–B", drawn.across, says.across)?;
    let mut q = fine("A–D", drawn.up, says.up)?;
    let near = |read: f64, drawn: Length| (read / drawn.mm() - 1.0).abs() < EXCHANGED;
    let own = near(p, drawn.across) || near(q, drawn.up);
    if near(p, drawn.up) && near(q, drawn.across) && !own {
        return Err(ProofError::Swapped {
            across: drawn.across,
            up: drawn.up,
        });
    }
    let diagonal =
        |what, read: Option<Length>| read.map(|r| fine(what, drawn.diagonal(), r)).transpose();
    let (rising, falling) = (
        diagonal("A–C", says.rising)?,
        diagonal("B–D", says.falling)?,
    );
    let u = rule.each_mm();
    let h = libm::hypot(p, q);
    let (mut var_p, mut var_q) = (u * u, u * u);
    let against = ProofError::Contradiction {
        expected: Length::from_mm(h),
    };
    let skew = match (rising, falling) {
        (None, None) => None,
        (Some(ac), Some(bd)) => {
            let mean = libm::sqrt((ac * ac + bd * bd) / 2.0);
            // Variance of the condition D − h: u²/2 of the mean diagonal, u² of the sides.
            let (miss, var) = (mean - h, 1.5 * u * u);
            if miss.abs() > 3.0 * libm::sqrt(var) {
                return Err(against);
            }
            p += p / h * miss / 1.5;
            q += q / h * miss / 1.5;
            var_p *= 1.0 - (p / h) * (p / h) / 1.5;
            var_q *= 1.0 - (q / h) * (q / h) / 1.5;
            let sine = (ac * ac - bd * bd) / (4.0 * p * q);
            Some((sine, h * u / (core::f64::consts::SQRT_2 * p * q)))
        }
        (Some(one), None) | (None, Some(one)) => {
            let sine = (one * one - h * h) / (2.0 * p * q);
            let sign = if rising.is_some() { 1.0 } else { -1.0 };
            Some((sign * sine, core::f64::consts::SQRT_2 * h * u / (p * q)))
        }
    };
    if skew.is_some_and(|(sine, u)| sine.abs() > MOST_SKEW + 3.0 * u) {
        return Err(against);
    }
    let one = |read: f64, var: f64, drawn: Length| Direction {
        ratio: read / drawn.mm(),
        within: COVER * libm::hypot(libm::sqrt(var) / drawn.mm(), rule.scale(drawn)),
    };
    Ok(Strain {
        across: one(p, var_p, drawn.across),
        up: one(q, var_q, drawn.up),
        skew: skew.map(|(sine, u)| Skew {
            angle: Angle::from_rad(libm::asin(sine.clamp(-1.0, 1.0))),
            within: Angle::from_rad(COVER * u),
        }),
    })
}

/// What a template can bear of a printer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bears {
    /// How much of the radius asked for is left to printer and paper.
    pub share: Length,
    /// The longest way from a mark it lies on to a point of its outline.
    pub over: Length,
}

impl Bears {
    /// A quarter of the radius asked for (common practice, no source).
    #[must_use]
    pub fn quarter_of(radius: Length, over: Length) -> Self {
        Self {
            share: Length::from_mm(radius.mm() / 4.0),
            over,
        }
    }

    /// The scale error it can bear, as a ratio (design/10 §2.2).
    #[must_use]
    pub fn ratio(self) -> f64 {
        self.share.mm() / self.over.mm().max(1.0)
    }
}

/// Whether a proof proves a template.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Proves {
    /// It does.
    Yes,
    /// Printer and paper are out by more than the template can bear.
    Out,
    /// No diagonal was read: a page that leans would go unnoticed.
    NoDiagonal,
    /// The rule can't tell so little over these distances.
    CannotTell {
        /// Distances at least this long, read with a class I rule to half a millimetre, could.
        over: Option<Length>,
    },
}

impl Strain {
    /// The greatest change of any length in any direction that is known of, and how far it may be
    /// out: the principal strains of the map.
    #[must_use]
    pub fn worst(&self) -> (f64, f64) {
        let (a, b) = (self.across.ratio - 1.0, self.up.ratio - 1.0);
        let (lean, lean_within) = self
            .skew
            .map_or((0.0, 0.0), |s| (s.angle.rad(), s.within.rad()));
        let (mean, half) = ((a + b) / 2.0, libm::hypot((a - b) / 2.0, lean / 2.0));
        let known = (mean + half).abs().max((mean - half).abs());
        let within = libm::hypot(self.across.within.max(self.up.within), lean_within / 2.0);
        (known, within)
    }

    /// What is left of it on drawings made so much larger or smaller that their prints come out
    /// at size. The lean stays.
    #[must_use]
    pub const fn corrected(mut self) -> Self {
        self.across.ratio = 1.0;
        self.up.ratio = 1.0;
        self
    }

    /// Whether it proves a template (design/10 §2.2).
    #[must_use]
    pub fn proves(&self, bears: Bears) -> Proves {
        let (known, within) = self.worst();
        let bearable = bears.ratio();
        if known - within > bearable {
            Proves::Out
        } else if self.skew.is_none() {
            Proves::NoDiagonal
        } else if known + within <= bearable {
            Proves::Yes
        } else {
            let best = Rule {
                class: TapeClass::I,
                step: Length::from_mm(0.5),
            };
            let over = (4..=60)
                .map(|n| Length::from_mm(f64::from(n) * 50.0))
                .find(|l| known + best.tells(*l) <= bearable);
            Proves::CannotTell { over }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic, reason = "tests")]
mod tests {
    use super::*;

    fn mm(x: f64) -> Length {
        Length::from_mm(x)
    }
    const STEEL: Rule = Rule {
        class: TapeClass::I,
        step: Length::from_mm(0.5),
    };
    fn a4() -> Plan {
        Plan {
            across: mm(170.0),
            up: mm(250.0),
        }
    }
    fn says(across: f64, up: f64, rising: f64, falling: f64) -> TapeSays {
        TapeSays {
            across: mm(across),
            up: mm(up),
            rising: Some(mm(rising)),
            falling: Some(mm(falling)),
        }
    }

    #[test]
    fn a_short_bar_shows_gross_faults_and_cannot_pass_a_long_template() {
        // design/10 §2.2: a 200 mm bar read to 0.5 mm proves about 0.25 %; 0.5 mm over 800 mm is
        // 0.06 %.
        let tells = STEEL.tells(mm(200.0));
        assert!((0.0022..0.0028).contains(&tells), "{tells}");
        let bears = Bears::quarter_of(mm(2.0), mm(800.0));
        assert!((bears.ratio() - 0.000_625).abs() < 1e-12);
        let true_size = judge(a4(), says(170.0, 250.0, 302.3, 302.3), STEEL).unwrap();
        let Proves::CannotTell { over: Some(over) } = true_size.proves(bears) else {
            panic!("{:?}", true_size.proves(bears));
        };
        assert!(over.mm() > 700.0 && STEEL.tells(over) <= bears.ratio());
        // The same page proves an eye of 3 mm over 120 mm.
        assert_eq!(
            true_size.proves(Bears::quarter_of(mm(3.0), mm(120.0))),
            Proves::Yes
        );
    }

    #[test]
    fn both_scales_and_the_lean_come_back_from_a_page_made_with_them() {
        let (a, b, lean) = (1.004_f64, 0.991_f64, 0.003_f64);
        let (p, q) = (170.0 * a, 250.0 * b);
        let ac = libm::sqrt(p * p + q * q + 2.0 * p * q * libm::sin(lean));
        let bd = libm::sqrt(p * p + q * q - 2.0 * p * q * libm::sin(lean));
        let s = judge(a4(), says(p, q, ac, bd), STEEL).unwrap();
        assert!((s.across.ratio - a).abs() < 1e-9 && (s.up.ratio - b).abs() < 1e-9);
        assert!((s.skew.unwrap().angle.rad() - lean).abs() < 1e-9);
        // One diagonal gives the same lean, known less well.
        for (rising, falling) in [(Some(mm(ac)), None), (None, Some(mm(bd)))] {
            let one = TapeSays {
                rising,
                falling,
                ..says(p, q, 0.0, 0.0)
            };
            let one = judge(a4(), one, STEEL).unwrap();
            assert!((one.skew.unwrap().angle.rad() - lean).abs() < 1e-9);
            assert!(one.skew.unwrap().within.rad() > 1.9 * s.skew.unwrap().within.rad());
        }
    }

    #[test]
    fn a_misread_length_is_not_taken_for_the_printer() {
        let wrong = judge(a4(), says(171.0, 250.0, 304.3, 304.3), STEEL);
        assert!(matches!(wrong, Err(ProofError::Contradiction { .. })));
        // 5 mm between the diagonals of a page that is right on both sides: no page leans so.
        let wrong = judge(a4(), says(170.0, 250.0, 312.3, 292.0), STEEL);
        assert!(matches!(wrong, Err(ProofError::Contradiction { .. })));
        let unit = TapeSays {
            rising: None,
            falling: None,
            ..says(17.0 / 10.0, 250.0, 0.0, 0.0)
        };
        assert!(matches!(
            judge(a4(), unit, STEEL),
            Err(ProofError::Absurd { what: "A–B", .. })
        ));
    }

    #[test]
    fn without_a_diagonal_nothing_is_proved_and_a_gross_fault_still_shows() {
        let sides = |across: f64, up: f64| TapeSays {
            across: mm(across),
            up: mm(up),
            rising: None,
            falling: None,
        };
        let bears = Bears::quarter_of(mm(3.0), mm(120.0));
        let s = judge(a4(), sides(170.0, 250.0), STEEL).unwrap();
        assert_eq!(s.proves(bears), Proves::NoDiagonal);
        let s = judge(a4(), sides(164.9, 242.5), STEEL).unwrap();
        assert_eq!(s.proves(bears), Proves::Out);
    }
}
