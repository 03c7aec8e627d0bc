//! What there is to measure with: what each kind can read, how sure it is, what all its readings
//! share, and where that is known from.

use super::tapes::{Gauge, gauge_of, scatter};
use crate::job::{ClassMark, InstrumentEdit, InstrumentKind, Job, Measured};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// What can be read on a casting, as to what can read it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// A straight distance.
    Straight,
    /// A distance over the surface, or all the way round.
    Over,
    /// Square from an edge.
    Square,
    /// How far one mark stands above another.
    Level,
    /// How far one mark lies beside the plumb line through another.
    Plumb,
    /// Height above a board or a level line.
    Height,
    /// A place on the face.
    Place,
    /// A gap under a straight-edge or at a painted edge.
    Gap,
}

impl Takes {
    /// What a reading asks for.
    #[must_use]
    pub const fn of(of: &Measured) -> Self {
        match of {
            Measured::Straight { .. } => Self::Straight,
            Measured::Over { .. } | Measured::Girth { .. } => Self::Over,
            Measured::Square { .. } => Self::Square,
            Measured::Level { .. } => Self::Level,
            Measured::Plumb { .. } => Self::Plumb,
            Measured::Height { .. } => Self::Height,
            Measured::Coordinate { .. } | Measured::Board { .. } => Self::Place,
        }
    }
}

/// A kind of instrument.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kind {
    /// Which.
    pub kind: InstrumentKind,
    /// What it is called.
    pub name: &'static str,
    /// What it reads, in words.
    pub reads: &'static str,
    /// The same.
    pub takes: &'static [Takes],
    /// What every reading with it has wrong alike, and what is done about that.
    pub shares: &'static str,
    /// Where its figures are from.
    pub source: &'static str,
    /// The small oval on it says a class.
    pub has_class: bool,
}

const PRACTICE: &str = "common practice, no source";
const RULE: &str = "OIML R 35-1 class I for its rule; how it is set is common practice, no source";

impl Kind {
    /// Whether it can take a reading.
    #[must_use]
    pub fn takes(&self, of: &Measured) -> bool {
        self.takes.contains(&Takes::of(of))
    }
}

/// Every kind there is to choose from, the usual first.
pub const KINDS: [Kind; 15] = [
    Kind {
        kind: InstrumentKind::SoftTape,
        name: "soft tape",
        reads: "distances over the surface, girths",
        takes: &[Takes::Over],
        shares: "its scale: read twice with it, and both are wrong alike",
        source: "OIML R 35-1 by the class on it; how it lies is common practice, no source",
        has_class: true,
    },
    Kind {
        kind: InstrumentKind::PocketTape,
        name: "pocket tape",
        reads: "straight distances, over the surface, square from an edge",
        takes: &[Takes::Straight, Takes::Over, Takes::Square],
        shares: "its scale, over 2 m how warm the shop is, and its hook where it hangs by that: hold it by its 100 mark and take the 100 off",
        source: "OIML R 35-1 by the class on its blade; setting on a mark is common practice, no source",
        has_class: true,
    },
    Kind {
        kind: InstrumentKind::SteelRule,
        name: "steel rule",
        reads: "short straight distances, square from an edge, gaps",
        takes: &[Takes::Straight, Takes::Square, Takes::Gap],
        shares: "its scale; its end, where that is worn: read from the 100 mark",
        source: "OIML R 35-1 class I; reading to half a millimetre is common practice, no source",
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::TickStrip,
        name: "tick strip",
        reads: "straight distances and over the surface, ticked on it and read afterwards",
        takes: &[Takes::Straight, Takes::Over],
        shares: "the scale of the rule it is read against",
        source: RULE,
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::OutsideCalipers,
        name: "outside calipers",
        reads: "straight distances over a bulge",
        takes: &[Takes::Straight],
        shares: "the scale of the rule they are read against",
        source: RULE,
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::Trammel,
        name: "trammel",
        reads: "straight distances over a bulge",
        takes: &[Takes::Straight],
        shares: "the scale of the rule it is read against",
        source: RULE,
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::Square,
        name: "square and rule",
        reads: "square from an edge",
        takes: &[Takes::Square],
        shares: "the rule's scale, and its end where it butts against the edge",
        source: RULE,
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::TaperGauge,
        name: "straight-edge and taper gauge",
        reads: "the gap under a straight-edge: how round a face is, and gaps at a painted edge",
        takes: &[Takes::Gap],
        shares: "nothing that counts beside a reading to 0.1 mm",
        source: PRACTICE,
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::Level,
        name: "spirit level",
        reads: "how far one mark stands above another, by a rule under its low end",
        takes: &[Takes::Level],
        shares: "its vial: read once each way round and take the middle",
        source: "0.5 mm in a metre, as printed on most; common practice, no source",
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::WaterLevel,
        name: "water level",
        reads: "how far one mark stands above another, and heights above a level line, round corners too",
        takes: &[Takes::Level, Takes::Height],
        shares: "nothing, while no air is in the hose",
        source: PRACTICE,
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::CrossLineLaser,
        name: "cross-line laser",
        reads: "how far one mark stands above another, heights above its line, and plumb",
        takes: &[Takes::Level, Takes::Height, Takes::Plumb],
        shares: "how its line is tilted: that turns up alike for all of them",
        source: "0.3 mm in a metre, as on most labels; common practice, no source",
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::HeightStick,
        name: "height stick",
        reads: "heights above the board the casting stands on",
        takes: &[Takes::Height],
        shares: "its scale and its foot",
        source: RULE,
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::Plumb,
        name: "plumb line",
        reads: "how far one mark lies beside the line through another",
        takes: &[Takes::Plumb],
        shares: "nothing, once it hangs still",
        source: PRACTICE,
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::Rod,
        name: "rod: goes and doesn't",
        reads: "that a distance lies between the end that goes and the end that doesn't",
        takes: &[Takes::Straight, Takes::Over],
        shares: "its two ends, once they are filed",
        source: "JCGM 100:2008, 4.3.7: anywhere between its ends alike; filing is common practice, no source",
        has_class: false,
    },
    Kind {
        kind: InstrumentKind::Scanner,
        name: "scanner",
        reads: "places on the face",
        takes: &[Takes::Place],
        shares: "its own frame, in which all places lie",
        source: PRACTICE,
        has_class: false,
    },
];

/// What is known of a kind; nothing for what the drawing says.
#[must_use]
pub fn kind_of(instrument: &InstrumentEdit) -> Option<&'static Kind> {
    // A tape that nobody described is a pocket tape.
    let kind = instrument.kind.unwrap_or(InstrumentKind::PocketTape);
    KINDS.iter().find(|k| k.kind == kind)
}

/// The instruments of a job that can take a reading, by name.
#[must_use]
pub fn for_reading(job: &Job, of: &Measured) -> Vec<(crate::job::InstrumentId, String)> {
    let mut all: Vec<_> = job
        .instruments
        .iter()
        .filter(|(_, i)| kind_of(i).is_some_and(|k| k.takes(of)))
        .map(|(id, i)| (id.clone(), name_of(i)))
        .collect();
    all.sort_by(|a, b| (&a.1, &a.0).cmp(&(&b.1, &b.0)));
    all
}

/// What an instrument is called.
#[must_use]
pub fn name_of(instrument: &InstrumentEdit) -> String {
    let kind = || kind_of(instrument).map_or("tape", |k| k.name).to_owned();
    instrument.name.clone().unwrap_or_else(kind)
}

/// How sure an instrument is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HowSure {
    /// Twice the standard deviation of one reading from mark to mark, half a metre apart.
    pub half_metre: Length,
    /// The same at two metres, where it reads so far.
    pub two_metres: Length,
    /// How far its repeats scatter, where somebody tried.
    pub scatter: Option<Length>,
}

/// How sure one reading is by itself (k = 2), a tape held by a mark of its blade.
#[must_use]
pub fn how_sure(instrument: &InstrumentEdit) -> HowSure {
    let gauge: Gauge = gauge_of(instrument);
    let twice = |mm: f64| gauge.sd(Length::from_mm(mm)) * 2.0;
    HowSure {
        half_metre: twice(500.0),
        two_metres: twice(2000.0),
        scatter: instrument.repeats.as_deref().and_then(scatter),
    }
}

/// A new instrument of a kind: class II where a class is printed, until somebody has looked.
#[must_use]
pub fn new_of(kind: &Kind, name: &str) -> InstrumentEdit {
    InstrumentEdit {
        name: Some(name.trim().to_owned()),
        kind: Some(kind.kind),
        class: kind.has_class.then_some(ClassMark::II),
        ..InstrumentEdit::default()
    }
}

/// A length that lies between what goes and what doesn't.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// Half-way between both.
    pub middle: Length,
    /// Standard deviation: anywhere between them alike, half the width over √3 (JCGM 100:2008,
    /// 4.3.7), with the ends' own.
    pub sd: Length,
}

/// What a rod says that goes at one length and doesn't at another; nothing where both are the
/// same or one is no length. Whichever is longer, what is read lies between.
#[must_use]
pub fn between(goes: Length, doesnt: Length) -> Option<Between> {
    let (a, b) = (goes.mm(), doesnt.mm());
    let half = (b - a).abs() / 2.0;
    let rod = gauge_of(&InstrumentEdit {
        kind: Some(InstrumentKind::Rod),
        ..InstrumentEdit::default()
    });
    let ends = rod.sd(Length::ZERO).mm();
    (a > 0.0 && b > 0.0 && half > 0.0).then(|| Between {
        middle: Length::from_mm((a + b) / 2.0),
        sd: Length::from_mm(libm::hypot(half / crate::readings::ROOT_3, ends)),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn every_kind_reads_something_says_what_it_shares_and_where_its_figures_are_from() {
        for kind in &KINDS {
            assert!(
                !kind.takes.is_empty() && !kind.shares.is_empty(),
                "{kind:?}"
            );
            assert!(
                kind.source.contains("common practice")
                    || kind.source.contains("OIML")
                    || kind.source.contains("JCGM"),
                "{kind:?}"
            );
            let sure = how_sure(&new_of(kind, "one"));
            assert!(sure.half_metre > Length::ZERO && sure.two_metres >= sure.half_metre);
            assert_eq!(KINDS.iter().filter(|k| k.kind == kind.kind).count(), 1);
        }
    }

    #[test]
    fn a_class_two_tape_from_a_mark_is_as_sure_as_the_handbook_budget() {
        // design/10 §1.8 (computed there from OIML R 35-1, rectangular): class II from the 100 mark
        // ±1.2 at 1 m with 10 °C and alignment in it; without those this is ±1.1.
        let tape = InstrumentEdit {
            kind: Some(InstrumentKind::PocketTape),
            class: Some(ClassMark::II),
            ..InstrumentEdit::default()
        };
        let at_one_metre = gauge_of(&tape).sd(Length::from_mm(1000.0)).mm() * 2.0;
        assert!((at_one_metre - 1.1).abs() < 0.05, "{at_one_metre}");
    }

    #[test]
    fn a_rod_says_the_middle_and_a_rectangle_about_it() {
        let l = Length::from_mm;
        let found = between(l(399.0), l(401.0)).unwrap();
        assert!((found.middle.mm() - 400.0).abs() < 1e-12);
        // A half-width of 1 mm over √3 (JCGM 100:2008, 4.3.7), with 0.2 mm of its ends.
        assert!((found.sd.mm() - libm::sqrt(1.0 / 3.0 + 0.04)).abs() < 1e-12);
        assert_eq!(between(l(401.0), l(399.0)), Some(found));
        assert_eq!(between(l(400.0), l(400.0)), None);
        assert_eq!(between(l(0.0), l(400.0)), None);
    }
}
