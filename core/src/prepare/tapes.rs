//! What an instrument of the job is as a tape.

use crate::job::{ClassMark, InstrumentEdit, InstrumentId, InstrumentKind, Job};
use crate::readings::{ScaleError, Tape, TapeClass};
use crate::units::Length;

pub(super) fn tape_of(instrument: &InstrumentEdit) -> Option<Tape> {
    let class = match instrument.class {
        Some(ClassMark::I) => TapeClass::I,
        Some(ClassMark::III) => TapeClass::III,
        // Class II until somebody has looked at the blade: what soft and pocket tapes are sold as.
        // A blade looked at with nothing printed on it is given as III (design/10 §1.8).
        Some(ClassMark::II) | None => TapeClass::II,
    };
    let mut tape = match instrument.kind {
        Some(InstrumentKind::Drawing) => return None,
        Some(InstrumentKind::SteelRule) => Tape::steel_rule(),
        Some(InstrumentKind::SoftTape) => soft_tape(class),
        Some(InstrumentKind::Trammel | InstrumentKind::OutsideCalipers) => Tape::set_to_the_work(),
        Some(InstrumentKind::PocketTape) | None => Tape::of_class(class),
    };
    if let Some(resolution) = instrument.resolution {
        tape.each.resolution = resolution;
    }
    if let Some(repeatability) = instrument.repeatability {
        tape.each.repeatability = repeatability;
    }
    Some(tape)
}

/// A soft tape laid over the surface: no hook, and it lies a little differently each time
/// (repeatability 0.4 mm; common practice, no source).
pub(super) fn soft_tape(class: TapeClass) -> Tape {
    let mut tape = Tape::of_class(class);
    tape.hook = Length::ZERO;
    tape.scale = ScaleError::Class(class);
    tape.each.repeatability = Length::from_mm(0.4);
    tape
}

/// How well a drawing gives a coordinate, where nothing is said: it is the drawing's own word.
pub(super) const DRAWING_SD: Length = Length::from_mm(0.05);

/// Standard deviation of one reading of about this length with an instrument, the tape's own
/// scale included.
pub(super) fn noise(job: &Job, instrument: Option<&InstrumentId>, about: Length) -> Length {
    let tape: Tape = instrument
        .and_then(|id| job.instruments.get(id))
        .and_then(tape_of)
        .unwrap_or_else(|| soft_tape(TapeClass::II));
    let scale_mm = tape.scale_sd_per_mm(about.mm()) * about.mm();
    Length::from_mm(libm::sqrt(tape.each.variance_mm2(2) + scale_mm * scale_mm))
}
