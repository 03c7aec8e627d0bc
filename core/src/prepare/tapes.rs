//! How well an instrument of the job reads.

use crate::job::{ClassMark, InstrumentEdit, InstrumentId, InstrumentKind, Job};
use crate::readings::{ReadingError, ScaleError, Tape, TapeClass};
use crate::units::Length;

/// An instrument as the adjustment takes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Gauge {
    /// With a scale, and perhaps an end, that all its readings share.
    Tape(Tape),
    /// Level or plumb by itself: what one reading adds, and how far out of true it may be for each
    /// metre between the marks. How the whole is tilted is no error of theirs: up is an unknown.
    True(ReadingError, Length),
    /// Of this standard deviation, whatever is read.
    Alone(Length),
}

impl Gauge {
    /// Standard deviation of one reading, marks this far apart.
    pub(super) fn sd(self, apart: Length) -> Length {
        let mm = match self {
            Self::Tape(tape) => libm::hypot(
                libm::sqrt(tape.each.variance_mm2(2)),
                tape.scale_sd_per_mm(apart.mm()) * apart.mm(),
            ),
            Self::True(each, per_metre) => libm::hypot(
                libm::sqrt(each.variance_mm2(2)),
                per_metre.mm() * apart.mm() / (1000.0 * crate::readings::ROOT_3),
            ),
            Self::Alone(sd) => sd.mm(),
        };
        Length::from_mm(mm)
    }
}

/// How well a mark is plumbed to the gridded board and its height taken, standard deviation each way
/// (common practice, no source).
pub(super) const PLUMBED_SD: Length = Length::from_mm(1.0);

/// How well a drawing gives a coordinate, where nothing is said: it is the drawing's own word.
pub(super) const DRAWING_SD: Length = Length::from_mm(0.05);

/// A scanner's word for one place, where its sheet says nothing else (common practice, no source).
const SCANNER_SD: Length = Length::from_mm(0.3);

/// A rod's own ends, filed to a line; how far apart they are comes with the reading itself
/// (common practice, no source).
const ROD_SD: Length = Length::from_mm(0.2);

/// Most spirit levels are sold as true to half a millimetre in a metre (common practice; it is
/// printed on them).
const LEVEL_PER_METRE: Length = Length::from_mm(0.5);

/// Most cross-line lasers are sold as true to 0.3 mm in a metre (common practice; it is on the
/// label).
const LASER_PER_METRE: Length = Length::from_mm(0.3);

/// The least of several readings of one length that tell how they scatter.
const LEAST_REPEATS: usize = 3;

/// A reading off a steel rule with this scatter (common practice, no source).
const fn by_rule(repeatability_mm: f64, resolution_mm: f64) -> ReadingError {
    ReadingError {
        resolution: Length::from_mm(resolution_mm),
        repeatability: Length::from_mm(repeatability_mm),
        pointing: Length::from_mm(0.15),
    }
}

/// An instrument of the job with what is known of it.
pub(super) fn gauge_of(instrument: &InstrumentEdit) -> Gauge {
    let class = match instrument.class {
        Some(ClassMark::I) => TapeClass::I,
        Some(ClassMark::III) => TapeClass::III,
        // Class II until somebody has looked at the blade: what soft and pocket tapes are sold as.
        // A blade looked at with nothing printed on it is given as III (design/10 §1.8).
        Some(ClassMark::II) | None => TapeClass::II,
    };
    let rule = |each: ReadingError, foot: bool| {
        Gauge::Tape(Tape {
            each,
            hook: if foot {
                TapeClass::I.hook_error()
            } else {
                Length::ZERO
            },
            ..Tape::steel_rule()
        })
    };
    let mut gauge = match instrument.kind {
        Some(InstrumentKind::Drawing) => return Gauge::Alone(DRAWING_SD),
        Some(InstrumentKind::Scanner) => Gauge::Alone(SCANNER_SD),
        Some(InstrumentKind::Rod) => Gauge::Alone(ROD_SD),
        Some(InstrumentKind::SteelRule) => Gauge::Tape(Tape::steel_rule()),
        Some(InstrumentKind::SoftTape) => Gauge::Tape(soft_tape(class)),
        Some(InstrumentKind::Trammel | InstrumentKind::OutsideCalipers) => {
            Gauge::Tape(Tape::set_to_the_work())
        }
        // Ticked at the marks, then read: pointed at twice.
        Some(InstrumentKind::TickStrip) => rule(by_rule(0.35, 0.5), false),
        // The rule's end butts against the edge, or stands on the board.
        Some(InstrumentKind::Square) => rule(by_rule(0.3, 0.5), true),
        Some(InstrumentKind::HeightStick) => rule(by_rule(0.4, 1.0), true),
        Some(InstrumentKind::TaperGauge) => Gauge::Alone(Length::from_mm(0.1)),
        Some(InstrumentKind::Level) => Gauge::True(by_rule(0.3, 0.5), LEVEL_PER_METRE),
        Some(InstrumentKind::WaterLevel) => Gauge::True(by_rule(0.7, 1.0), Length::ZERO),
        Some(InstrumentKind::CrossLineLaser) => Gauge::True(by_rule(0.5, 1.0), LASER_PER_METRE),
        Some(InstrumentKind::Plumb) => Gauge::True(by_rule(0.5, 0.5), Length::ZERO),
        Some(InstrumentKind::PocketTape) | None => Gauge::Tape(Tape::of_class(class)),
    };
    if let Gauge::Tape(Tape { each, .. }) | Gauge::True(each, _) = &mut gauge {
        if let Some(resolution) = instrument.resolution {
            each.resolution = resolution;
        }
        if let Some(repeatability) = instrument
            .repeats
            .as_deref()
            .and_then(|r| fresh(r, each))
            .or(instrument.repeatability)
        {
            each.repeatability = repeatability;
        }
    }
    gauge
}

/// How far several readings of one length scatter: their standard deviation (JCGM 100:2008, 4.2.2).
pub(super) fn scatter(repeats: &[Length]) -> Option<Length> {
    if repeats.len() < LEAST_REPEATS {
        return None;
    }
    let n = repeats.len() as f64;
    let mean = repeats.iter().map(|l| l.mm()).sum::<f64>() / n;
    let sum: f64 = repeats
        .iter()
        .map(|l| (l.mm() - mean) * (l.mm() - mean))
        .sum();
    Some(Length::from_mm(libm::sqrt(sum / (n - 1.0))))
}

/// The part of that scatter which is neither the step that is read nor setting on two marks: those
/// are counted by themselves, and less than they come to nobody scatters.
fn fresh(repeats: &[Length], each: &ReadingError) -> Option<Length> {
    let all = scatter(repeats)?.mm();
    let counted = ReadingError {
        repeatability: Length::ZERO,
        ..*each
    };
    let rest = all * all - counted.variance_mm2(2);
    Some(Length::from_mm(libm::sqrt(rest.max(0.0))))
}

/// An instrument as a tape, where it is one.
pub(super) fn tape_of(instrument: &InstrumentEdit) -> Option<Tape> {
    match gauge_of(instrument) {
        Gauge::Tape(tape) => Some(tape),
        Gauge::True(..) | Gauge::Alone(_) => None,
    }
}

/// A soft tape laid over the surface: no hook, and it lies a little differently each time
/// (repeatability 0.4 mm; common practice, no source).
pub(super) fn soft_tape(class: TapeClass) -> Tape {
    let mut tape = Tape::of_class(class);
    tape.hook = Length::ZERO;
    // Glass fibre grows about as the casting does.
    tape.warmth = Length::ZERO;
    tape.scale = ScaleError::Class(class);
    tape.each.repeatability = Length::from_mm(0.4);
    tape
}

/// Standard deviation of one reading of about this length with an instrument, the tape's own
/// scale included.
pub(super) fn noise(job: &Job, instrument: Option<&InstrumentId>, about: Length) -> Length {
    instrument
        .and_then(|id| job.instruments.get(id))
        // What the drawing says is no measure of what somebody will read with a tape.
        .filter(|i| i.kind != Some(InstrumentKind::Drawing))
        .map_or(Gauge::Tape(soft_tape(TapeClass::II)), gauge_of)
        .sd(about)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn kind(kind: InstrumentKind) -> InstrumentEdit {
        InstrumentEdit {
            kind: Some(kind),
            ..InstrumentEdit::default()
        }
    }

    #[test]
    fn ten_readings_tell_how_they_scatter() {
        // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.6 gives the formula; these ten
        // have a mean of 500 and squares of deviations 2·(4 + 1 + 0 + 1 + 4) = 20: √(20/9).
        let ten: Vec<Length> = [498, 499, 500, 501, 502, 498, 499, 500, 501, 502]
            .iter()
            .map(|x| Length::from_mm(f64::from(*x)))
            .collect();
        assert!((scatter(&ten).unwrap().mm() - libm::sqrt(20.0 / 9.0)).abs() < 1e-12);
        assert_eq!(scatter(&ten[..2]), None);
        let mut tape = kind(InstrumentKind::PocketTape);
        tape.repeats = Some(ten);
        let each = tape_of(&tape).unwrap().each;
        // Step and pointing are counted by themselves: together they are the scatter again.
        assert!((each.variance_mm2(2) - 20.0 / 9.0).abs() < 1e-12);
    }

    #[test]
    fn readings_that_are_all_alike_scatter_no_less_than_they_can_be_read() {
        let mut tape = kind(InstrumentKind::PocketTape);
        tape.repeats = Some(vec![Length::from_mm(500.0); 10]);
        let each = tape_of(&tape).unwrap().each;
        // 1/12 for the step of a millimetre, 0.15² at each of two marks.
        assert!((each.variance_mm2(2) - (1.0 / 12.0 + 2.0 * 0.0225)).abs() < 1e-12);
    }

    #[test]
    fn what_is_true_by_itself_is_less_sure_the_further_apart_the_marks() {
        let sd = |k, apart| gauge_of(&kind(k)).sd(Length::from_mm(apart)).mm();
        let near = sd(InstrumentKind::Level, 0.0);
        // 0.5 mm in a metre as a bound: 0.5/√3 (JCGM 100:2008, 4.3.7).
        let far = libm::sqrt(near * near + 0.25 / 3.0);
        assert!((sd(InstrumentKind::Level, 1000.0) - far).abs() < 1e-12);
        let hose = |apart| sd(InstrumentKind::WaterLevel, apart);
        assert!((hose(0.0) - hose(2000.0)).abs() < 1e-12);
    }
}
