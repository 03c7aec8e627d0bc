//! Headless press-fit drill bushes: how wide, how long, and what a drill does in one.

use crate::units::Length;

/// Bores up to and including this, and the outside that goes with them, mm (ISO 4247:1977, headless
/// jig bushes; from memory).
const OUTSIDE: [(f64, f64); 16] = [
    (1.0, 3.0),
    (1.8, 4.0),
    (2.6, 5.0),
    (3.3, 6.0),
    (4.0, 7.0),
    (5.0, 8.0),
    (6.0, 10.0),
    (8.0, 12.0),
    (10.0, 15.0),
    (12.0, 18.0),
    (15.0, 22.0),
    (18.0, 26.0),
    (22.0, 30.0),
    (26.0, 35.0),
    (30.0, 42.0),
    (35.0, 48.0),
];
/// A bush is this many bores long at least, or the drill leans in it (common practice, no source).
const LENGTH_IN_BORES: f64 = 1.5;
/// A drill is smaller than its bush by this at most: bore F7, drill h8, 10 to 18 mm (ISO 286-2:
/// 34 + 27 µm; the first from memory, the second as tables of twist drills print it).
const PLAY: Length = Length::from_mm(0.061);

/// A bush for one drill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bush {
    /// The drill it guides.
    pub drill: Length,
    /// Across its outside: the hole in the plate.
    pub outside: Length,
    /// At least so long; the plate is as thick.
    pub length: Length,
}

/// No bush is made for this drill.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "no standard bush guides a drill of {} mm: drill a pilot through the jig and open it afterwards",
    .0.mm()
)]
pub struct NoBush(pub Length);

/// The bush for a drill.
///
/// # Errors
/// [`NoBush`].
pub fn bush_for(drill: Length) -> Result<Bush, NoBush> {
    let fits = |(bore, _): &&(f64, f64)| drill.mm() <= bore + 1e-9;
    let found = OUTSIDE.iter().find(fits).filter(|_| drill.mm() > 0.0);
    let (_, outside) = found.ok_or(NoBush(drill))?;
    Ok(Bush {
        drill,
        outside: Length::from_mm(*outside),
        length: Length::from_mm(libm::ceil(drill.mm() * LENGTH_IN_BORES)),
    })
}

impl Bush {
    /// Standard deviation of where the drill meets a face `gap` below the bush: what a bushed plate
    /// leaves there each way (`within`), and the drill's lean in its bush, play over length.
    /// A bound ±a counts a/√3 (JCGM 100:2008 4.3.7).
    #[must_use]
    pub fn at_the_face(self, within: Length, gap: Length) -> Length {
        let leans = PLAY.mm() * gap.mm() / self.length.mm();
        Length::from_mm(libm::hypot(within.mm(), leans) / libm::sqrt(3.0))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn bushes_are_the_tables() {
        let of = |drill: f64| bush_for(Length::from_mm(drill)).unwrap();
        // ISO 4247 (from memory): 12 in 18, just above it in 22.
        assert_eq!(of(12.0).outside.to_um(), 18_000);
        assert_eq!(of(12.1).outside.to_um(), 22_000);
        assert_eq!(of(6.8).outside.to_um(), 12_000);
        assert_eq!(of(12.0).length.to_um(), 18_000);
        assert!(bush_for(Length::from_mm(36.0)).is_err());
        assert!(bush_for(Length::ZERO).is_err());
    }

    #[test]
    fn a_drill_leans_by_play_over_length_times_the_gap() {
        let bush = bush_for(Length::from_mm(12.0)).unwrap();
        // 0.061 over 18 leans 3.39 in 1000: 0.0339 at 10 below. √(0.3² + 0.0339²)/√3 = 0.17431.
        let sd = bush.at_the_face(Length::from_mm(0.3), Length::from_mm(10.0));
        assert!((sd.mm() - 0.174_31).abs() < 1e-5, "{}", sd.mm());
    }
}
