//! The slip that would explain a reading the others contradict: misread, mistyped or measured to
//! the wrong place. Each is offered, none is applied.

use super::adjust::{CLEARLY_LESS, adjust};
use super::adjusted::{Adjusted, NO_WEIGHT_MM, Status};
use super::network::{Held, Network, Options, Precision, ReadingKind};
use super::stance::turn_from_readings;
use super::suspects::ODD_ONE_OUT;
use crate::surface::Shape;
use crate::units::Length;

/// What the other readings make of one of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OthersSay {
    /// What it should have read.
    pub value: Length,
    /// Standard deviation of that, from the others alone.
    pub sd: Length,
}

/// A slip of hand or eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// Measured from the tape's 100 mm mark and the hundred not taken off.
    ZeroLeftIn,
    /// Ten millimetres misread.
    Ten,
    /// A hundred millimetres misread.
    Hundred,
    /// An inch misread.
    Inch,
    /// Two neighbouring digits swapped.
    DigitsSwapped,
    /// Inches read off and taken for centimetres.
    InchesAsCentimetres,
    /// The tape lay on the surface where a straight line was meant.
    LaidOver,
    /// The tape hung straight where it was to lie on the surface.
    HungStraight,
    /// Measured to a neighbouring mark.
    NeighbouringMark {
        /// The mark it fits, by its number.
        mark: usize,
    },
    /// Above taken for below, or left for right.
    OtherSide,
}

/// A slip with what the reading would have been without it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Explanation {
    /// The slip.
    pub slip: Slip,
    /// What would have been read.
    pub meant: Length,
    /// How far that is from what the others say, in standard deviations of the difference.
    pub off: f64,
}

/// What the others make of a reading, and the slips that would bring it back among them.
#[derive(Debug, Clone, PartialEq)]
pub struct Explained {
    /// What the others say.
    pub others: OthersSay,
    /// The slips, the best first; none where no usual one fits.
    pub slips: Vec<Explanation>,
}

/// A slip of a round number is known by it to a few millimetres only (design/10, 1.1).
const ROUND: [(Slip, f64); 3] = [
    (Slip::Ten, 10.0),
    (Slip::Inch, 25.4),
    (Slip::Hundred, 100.0),
];

/// An inch read off as a centimetre.
const CM_IN_INCH: f64 = 2.54;

/// Marks whose distance differs by less than this from the one meant can't have been confused
/// with any consequence.
const SAME_MM: f64 = 1.0;

impl Adjusted {
    /// Standard deviation of what the others alone say a reading should have been; `None` where
    /// nothing checks it.
    ///
    /// With σ its own standard deviation and r its redundancy, the variance is σ²(1/r − 1) (the
    /// leave-one-out residual of linear least squares).
    #[must_use]
    pub fn others_sd(&self, reading: usize) -> Option<Length> {
        let r = self.readings.get(reading)?;
        r.w.map(|_| {
            let spread = (1.0 / r.redundancy - 1.0).max(0.0);
            Length::from_mm(r.own.mm() * libm::sqrt(spread))
        })
    }

    /// The network adjusted again with one reading weightless; `None` where nothing checks it.
    ///
    /// The reading keeps its number, so that both results are read alike; nothing then checks it.
    #[must_use]
    pub fn without(&self, reading: usize, options: &Options) -> Option<Self> {
        self.readings.get(reading)?.w?;
        let mut network = self.inner.network.clone();
        let given = network.readings.get_mut(reading)?;
        given.precision = Precision::Sd(Length::from_mm(NO_WEIGHT_MM));
        // A height written to the wrong side may have turned up over before anything was solved.
        let mut rest = network.clone();
        rest.readings.remove(reading);
        for (k, stance) in network.stances.iter_mut().enumerate() {
            stance.turn = turn_from_readings(&rest, k);
        }
        let solved = |network: &Network| {
            let solved = adjust(network, options).ok()?;
            (solved.status == Status::Converged).then_some(solved)
        };
        // From where it stands with the reading in, and from its own start: a slip that is far out bends
        // the one, and a mark may be stuck there on the wrong side.
        let fresh = solved(&network);
        for (point, at) in network.points.iter_mut().zip(&self.points) {
            if point.held == Held::Free {
                point.start = at.at;
            }
        }
        let onwards = solved(&network);
        let left = |a: &Self| a.inner.rows.sum_of_squares();
        match (onwards, fresh) {
            (Some(on), Some(fresh)) if left(&fresh) < left(&on) - CLEARLY_LESS => Some(fresh),
            (Some(on), _) => Some(on),
            (None, fresh) => fresh,
        }
    }

    /// What the others say a reading should have been, adjusted anew without it, and the slips
    /// that would explain it. `None` where nothing checks it or the others alone fit nothing.
    ///
    /// A slip of 100 mm bends the others too far for the step −v/r to be the whole of it, so the
    /// value comes from a solution without the reading.
    #[must_use]
    pub fn explain(&self, reading: usize, options: &Options) -> Option<Explained> {
        let without = self.without(reading, options)?;
        let result = self.readings.get(reading)?;
        let given = self.inner.network.readings.get(reading)?;
        let read_mm = given.value.mm();
        let others = OthersSay {
            value: Length::from_mm(read_mm + without.readings.get(reading)?.off_by.mm()),
            sd: self.others_sd(reading)?,
        };
        let sd_mm = libm::hypot(result.own.mm(), others.sd.mm());
        // Below and to the left are less than nothing: the same slips are made with the figures.
        let (size_mm, sign) = (read_mm.abs(), if read_mm < 0.0 { -1.0 } else { 1.0 });
        let mut found: Vec<Explanation> = Vec::new();
        let mut offer = |slip: Slip, meant_size_mm: f64, sign: f64| {
            let meant_mm = sign * meant_size_mm;
            let off = (meant_mm - others.value.mm()) / sd_mm;
            if meant_size_mm > 0.0 && off.abs() <= ODD_ONE_OUT {
                found.push(Explanation {
                    slip,
                    meant: Length::from_mm(meant_mm),
                    off,
                });
            }
        };
        for (slip, by_mm) in ROUND {
            offer(slip, size_mm - by_mm, sign);
            offer(slip, size_mm + by_mm, sign);
        }
        // From a mark on the blade the hundred is likelier left in than misread: offered first.
        if matches!(given.precision, Precision::Tape { hooked: false, .. }) {
            offer(Slip::ZeroLeftIn, size_mm - 100.0, sign);
        }
        // Whichever of both the tape is divided in.
        for unit_mm in [1.0, Length::INCH.mm()] {
            for meant in digits_swapped(size_mm / unit_mm) {
                offer(Slip::DigitsSwapped, meant * unit_mm, sign);
            }
        }
        offer(Slip::InchesAsCentimetres, size_mm * CM_IN_INCH, sign);
        let has_sides = matches!(
            given.kind,
            ReadingKind::Level { .. } | ReadingKind::Plumb { .. } | ReadingKind::Square { .. }
        );
        if has_sides {
            offer(Slip::OtherSide, size_mm, -sign);
        }
        for (slip, meant_mm) in without.other_lines(reading) {
            offer(slip, meant_mm, 1.0);
        }
        found.sort_by(|a, b| {
            a.off
                .abs()
                .total_cmp(&b.off.abs())
                .then(a.slip.cmp(&b.slip))
        });
        Some(Explained {
            others,
            slips: found,
        })
    }

    /// Readings of another line that the tape may have taken instead, each as the reading meant.
    ///
    /// A tape that lay where it should have hung read the arc: what was meant is the arc's value
    /// less what the arc is longer by, and so for each line it may have followed instead.
    fn other_lines(&self, reading: usize) -> Vec<(Slip, f64)> {
        let Some(given) = self.inner.network.readings.get(reading) else {
            return Vec::new();
        };
        let read_mm = given.value.mm();
        let at = |k: usize| self.points.get(k).map(|p| p.at);
        let straight = |a: usize, b: usize| self.surface.straight(at(a)?, at(b)?).ok();
        let over = |a: usize, b: usize| {
            let (a, b) = (at(a)?, at(b)?);
            let turns = self.surface.nearest_turns(a, b);
            self.surface.over_surface(a, b, turns).ok()
        };
        let (from, to, laid) = match given.kind {
            ReadingKind::Straight { from, to } => (from, to, false),
            ReadingKind::Over { from, to, .. } => (from, to, true),
            _ => return Vec::new(),
        };
        let (Some(chord), Some(arc)) = (straight(from, to), over(from, to)) else {
            return Vec::new();
        };
        let longer_mm = arc.mm - chord.mm;
        let mut out = Vec::new();
        if longer_mm > SAME_MM {
            out.push(if laid {
                (Slip::HungStraight, read_mm + longer_mm)
            } else {
                (Slip::LaidOver, read_mm - longer_mm)
            });
        }
        let meant = |a: usize, b: usize| if laid { over(a, b) } else { straight(a, b) };
        let this_mm = if laid { arc.mm } else { chord.mm };
        for mark in (0..self.points.len()).filter(|k| *k != from && *k != to) {
            for end in [from, to] {
                if let Some(other) = meant(end, mark)
                    && (other.mm - this_mm).abs() > SAME_MM
                {
                    out.push((
                        Slip::NeighbouringMark { mark },
                        read_mm - other.mm + this_mm,
                    ));
                }
            }
        }
        out
    }
}

/// The value with each two neighbouring digits of its whole units swapped.
fn digits_swapped(read: f64) -> Vec<f64> {
    // What was typed in inches comes back from millimetres a hair less or more than whole.
    let whole = libm::floor(read + 1e-9);
    let rest = read - whole;
    let mut out = Vec::new();
    let mut unit = 1.0;
    while unit * 10.0 <= whole {
        let digit = |u: f64| libm::floor(whole / u) - 10.0 * libm::floor(whole / (u * 10.0));
        let (low, high) = (digit(unit), digit(unit * 10.0));
        if (low - high).abs() > 0.5 {
            out.push(whole + (low - high) * unit * 9.0 + rest);
        }
        unit *= 10.0;
    }
    out
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "whole numbers are exact")]
mod tests {
    use super::digits_swapped;

    #[test]
    fn neighbouring_digits_change_places() {
        assert_eq!(digits_swapped(216.0), [261.0, 126.0]);
        assert_eq!(digits_swapped(8.0), [0.0; 0]);
        assert_eq!(digits_swapped(1150.5), [1105.5, 1510.5]);
    }
}
