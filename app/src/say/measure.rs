//! What the Measure screen says and draws, worked out from one walk: no signals, no page.

use crate::widgets::length::Heard;
use samespot_core::job::{
    CastingId, Correction, FactId, Measured, MeasuringFact, MeasuringSays, Payload, Reading,
};
use samespot_core::prepare::walk::{AskState, AskedReading, FacePicture, HeldAt, Walk, doubt};
use samespot_core::units::{FieldOptions, Length, Unit};

/// The drawing's own size, in its own units.
pub const WIDE: f64 = 560.0;
/// Its height.
pub const HIGH: f64 = 430.0;
/// Room left round the marks for their letters.
const EDGE: f64 = 64.0;

/// From millimetres on the face to the drawing: scale, then the place of its middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    scale: f64,
    middle: [f64; 2],
}

impl Fit {
    /// So that every mark, with its region, and every outline is seen. It comes from the largest
    /// regions, so that the drawing keeps still while they shrink.
    #[must_use]
    pub fn of(face: &FacePicture) -> Self {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        let mut take = |p: [f64; 2]| {
            for k in 0..2 {
                low[k] = low[k].min(p[k]);
                high[k] = high[k].max(p[k]);
            }
        };
        face.marks.iter().for_each(|m| take(m.at));
        face.outlines.iter().flatten().for_each(|p| take(*p));
        face.edges
            .iter()
            .flat_map(|e| &e.line)
            .for_each(|p| take(*p));
        if !low[0].is_finite() {
            return Self {
                scale: 1.0,
                middle: [0.0, 0.0],
            };
        }
        let across = (high[0] - low[0]).max(1.0);
        let up = (high[1] - low[1]).max(1.0);
        Self {
            scale: ((WIDE - 2.0 * EDGE) / across).min((HIGH - 2.0 * EDGE) / up),
            middle: [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0],
        }
    }

    /// A place on the drawing: up is up.
    #[must_use]
    pub fn at(&self, p: [f64; 2]) -> [f64; 2] {
        [
            WIDE / 2.0 + (p[0] - self.middle[0]) * self.scale,
            HIGH / 2.0 - (p[1] - self.middle[1]) * self.scale,
        ]
    }

    /// A length on the drawing.
    #[must_use]
    pub fn long(&self, mm: f64) -> f64 {
        mm * self.scale
    }

    /// Where a mark's letter stands: off the mark, away from the middle of all of them.
    #[must_use]
    pub fn letter(&self, face: &FacePicture, at: [f64; 2]) -> [f64; 2] {
        let n = face.marks.len().max(1);
        #[allow(clippy::cast_precision_loss, reason = "a count of marks")]
        let n = n as f64;
        let sum = face
            .marks
            .iter()
            .fold([0.0, 0.0], |s, m| [s[0] + m.at[0] / n, s[1] + m.at[1] / n]);
        let (here, middle) = (self.at(at), self.at(sum));
        let (dx, dy) = (here[0] - middle[0], here[1] - middle[1]);
        let far = samespot_core::frames::Vector2::<samespot_core::frames::Flat>::from_mm(dx, dy)
            .norm_mm();
        if far < 1.0 {
            return [here[0] + 36.0, here[1] - 36.0];
        }
        [here[0] + dx / far * 42.0, here[1] + dy / far * 42.0]
    }
}

/// The ask in hand: the chosen one, else the first to be read.
#[must_use]
pub fn in_hand(walk: &Walk, chosen: Option<u32>) -> Option<&AskedReading> {
    let picked = chosen.and_then(|n| walk.asks.iter().find(|a| a.number == n));
    picked.or_else(|| walk.asks.iter().find(|a| a.state.is_to_read()))
}

/// What the field takes for an ask.
#[must_use]
pub fn options(ask: Option<&AskedReading>, unit: Unit) -> FieldOptions {
    let field = match ask.map(|a| &a.of) {
        Some(Measured::Level { .. }) => FieldOptions::offset(unit, "lower", "higher"),
        Some(Measured::Plumb { .. }) => FieldOptions::offset(unit, "left", "right"),
        Some(Measured::Height { .. }) => FieldOptions::offset(unit, "below", "above"),
        Some(Measured::Straight { .. } | Measured::Over { .. } | Measured::Girth { .. }) => {
            FieldOptions::length(unit)
        }
        _ => FieldOptions::size(unit),
    };
    match ask.and_then(|a| a.expected) {
        Some(e) => field.expecting(e.middle),
        None => field,
    }
}

/// *expect 99 – 108*.
#[must_use]
pub fn expected(ask: &AskedReading, unit: Unit) -> String {
    use samespot_core::units::{DecimalStyle, shown};
    match ask.expected {
        Some(e) => {
            let say = |l| shown(l, unit, DecimalStyle::Point);
            // To the millimetre: outward, so that no honest reading is outside.
            let (low, high) = if unit == Unit::Mm {
                (
                    format!("{:.0}", e.low.mm().floor()),
                    format!("{:.0}", e.high.mm().ceil()),
                )
            } else {
                (say(e.low), say(e.high))
            };
            format!("expect {low} – {high}")
        }
        None => match ask.of {
            Measured::Level { .. } => "0 where both are level; − where it stands lower".into(),
            Measured::Plumb { .. } => "0 where it hangs on the line; − to its left".into(),
            _ => "nothing known to compare it with yet".into(),
        },
    }
}

/// *about 2 minutes left*.
#[must_use]
pub fn time_left(seconds: u32) -> String {
    match seconds {
        0 => String::new(),
        s if s < 60 => format!("about {s} seconds left"),
        s => {
            let minutes = s.div_ceil(60);
            let word = if minutes == 1 { "minute" } else { "minutes" };
            format!("about {minutes} {word} left")
        }
    }
}

/// What comes of *Next*.
#[derive(Debug, Clone, PartialEq)]
pub enum Next {
    /// Nothing stands in the field, or nothing that is understood: it stays.
    Stay,
    /// Asked about first; with what may have been meant, as it would be typed.
    Sure {
        /// The question.
        asks: String,
        /// The likelier value.
        meant: Option<String>,
    },
    /// Kept, as this.
    Keep(Box<Payload>),
}

/// What *Next* does with what stands in the field.
#[must_use]
pub fn next(
    walk: &Walk,
    ask: &AskedReading,
    heard: &Heard,
    sure: bool,
    held: Option<HeldAt>,
) -> Next {
    let (Heard::Length(length), Some(mut entry)) = (heard, heard.entry()) else {
        return Next::Stay;
    };
    let off = held.map_or(Length::ZERO, HeldAt::taken_off);
    if off > Length::ZERO {
        if length.mm <= off {
            return Next::Sure {
                asks: "The tape was held by its 100: then it can’t say 100 or less. Was it held by its zero?"
                    .into(),
                meant: None,
            };
        }
        entry.mm = entry.mm - off;
        let rule = entry.rule.take().unwrap_or_default();
        entry.rule = Some(format!("{rule}, {}", HeldAt::RULE));
    }
    if let (Some(e), false) = (ask.expected, sure)
        && let Some(found) = doubt(entry.mm, &length.raw, e.low, e.high)
    {
        return Next::Sure {
            asks: found.asks,
            meant: found.meant.map(samespot_core::prepare::mm),
        };
    }
    let payload = match ask.state {
        AskState::Read { fact, .. } | AskState::OddOne { fact, .. } => {
            Payload::Correct(Correction {
                target: fact,
                value: entry,
                reason: "read again".into(),
            })
        }
        AskState::ToRead | AskState::CannotReach { .. } | AskState::Gone { .. } => {
            Payload::Reading(Reading {
                casting: walk.casting.clone(),
                of: ask.of.clone(),
                value: entry,
                instrument: ask.instrument.clone(),
                hooked: held == Some(HeldAt::Hook),
                stage: walk.stage.clone(),
                within: None,
                set_aside: None,
            })
        }
    };
    Next::Keep(Box::new(payload))
}

/// A list pasted into one field, given to this reading and the next ones; or why not.
///
/// # Errors
/// The sentence that says which item does not go where.
pub fn spread(
    walk: &Walk,
    from: u32,
    items: &[String],
    unit: Unit,
) -> Result<Vec<Payload>, String> {
    let asks: Vec<&AskedReading> = walk
        .asks
        .iter()
        .filter(|a| a.number >= from && a.state.is_to_read())
        .collect();
    if items.len() > asks.len() {
        return Err(format!(
            "{} readings stand in the field, but only {} are left in this walk",
            items.len(),
            asks.len()
        ));
    }
    items
        .iter()
        .zip(asks)
        .map(|(item, ask)| {
            let heard = Heard::of(item, None, &options(Some(ask), unit));
            match next(walk, ask, &heard, false, ask.held) {
                Next::Keep(payload) => Ok(*payload),
                Next::Sure { asks, .. } => Err(format!("{}: {asks}", ask.short)),
                Next::Stay => Err(format!(
                    "“{item}” for {}: type this one by itself",
                    ask.short
                )),
            }
        })
        .collect()
}

/// Something said about a casting's readings.
#[must_use]
pub fn says(casting: &CastingId, says: MeasuringSays) -> Payload {
    Payload::Measuring(MeasuringFact {
        casting: casting.clone(),
        says,
    })
}

/// A reading whose tape lay otherwise than was asked: left out as it was put down, and put down as
/// it lay, with all that was typed.
#[must_use]
pub fn as_it_lay(target: FactId, reading: &Reading, of: Measured) -> [Payload; 2] {
    let (why, _) = lay_words(&of);
    let aside = MeasuringSays::SetAside {
        reading: target,
        why: why.to_owned(),
    };
    let again = Reading {
        of,
        set_aside: None,
        ..reading.clone()
    };
    [says(&reading.casting, aside), Payload::Reading(again)]
}

/// Why a reading is left out that was laid as this one, and what stands on the key.
#[must_use]
pub const fn lay_words(of: &Measured) -> (&'static str, &'static str) {
    match of {
        Measured::Over { .. } => (
            "the tape lay on the surface",
            "It lay on the surface: keep it so",
        ),
        _ => ("the tape hung straight", "It hung straight: keep it so"),
    }
}

/// An ask in the strip, in one word: how it stands.
#[must_use]
pub fn stands(state: &AskState) -> &'static str {
    match state {
        AskState::ToRead => "to read",
        AskState::Read { .. } => "read",
        AskState::OddOne { .. } => "odd one out",
        AskState::CannotReach { .. } => "can’t reach",
        AskState::Gone { .. } => "gone",
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{FaceId, MarkId, PointRef};
    use samespot_core::prepare::walk::{Expected, MarkPicture};
    use samespot_core::units::Length;

    fn ask(number: u32) -> AskedReading {
        let mark = |m: &str| PointRef::Mark(MarkId::new(m).unwrap());
        let l = Length::from_mm;
        AskedReading {
            number,
            of: Measured::Over {
                from: mark("a"),
                to: mark(&format!("b{number}")),
            },
            title: "A to B, over the surface".into(),
            short: "A–B".into(),
            face: FaceId::new("f").unwrap(),
            instrument: None,
            with: "soft tape".into(),
            held: None,
            why: None,
            expected: Some(Expected {
                low: l(99.4),
                middle: l(103.0),
                high: l(106.6),
            }),
            state: AskState::ToRead,
        }
    }

    fn walk() -> Walk {
        Walk {
            casting: CastingId::new("c").unwrap(),
            name: "Cap 9".into(),
            stage: Some("measured".into()),
            asks: vec![ask(1), ask(2)],
            faces: Vec::new(),
            seconds: 40,
            seconds_left: 40,
            odd: None,
            unsettled: None,
            says: Vec::new(),
            advice: Vec::new(),
            proofs: Vec::new(),
            warm: None,
            achieved: None,
            next: None,
        }
    }

    fn after(text: &str, sure: bool) -> Next {
        let walk = walk();
        let heard = Heard::of(text, None, &options(walk.asks.first(), Unit::Mm));
        next(&walk, &walk.asks[0], &heard, sure, None)
    }

    #[test]
    fn next_keeps_what_is_expected_and_asks_about_what_is_not() {
        assert_eq!(after("", false), Next::Stay);
        assert_eq!(after("10x", false), Next::Stay);
        // A fraction without a unit may be inches: asked, with both readings as keys.
        assert_eq!(after("103½", false), Next::Stay);
        let Next::Keep(payload) = after("103.5", false) else {
            unreachable!("kept")
        };
        let Payload::Reading(reading) = *payload else {
            unreachable!("a reading")
        };
        assert_eq!(reading.value.mm.to_um(), 103_500);
        assert_eq!(reading.value.typed, "103.5");
        assert_eq!(reading.stage.as_deref(), Some("measured"));
        let Next::Sure { meant, .. } = after("113", false) else {
            unreachable!("asked")
        };
        assert_eq!(meant.as_deref(), Some("103"));
        assert!(matches!(after("113", true), Next::Keep(_)));
    }

    #[test]
    fn a_reading_read_again_is_a_correction_of_the_first() {
        let mut walk = walk();
        let fact = samespot_core::job::FactId {
            replica: samespot_core::job::ReplicaId(1),
            seq: 3,
        };
        walk.asks[0].state = AskState::OddOne {
            fact,
            typed: "113".into(),
            value: Length::from_mm(113.0),
        };
        let heard = Heard::of("103", None, &options(None, Unit::Mm));
        let Next::Keep(payload) = next(&walk, &walk.asks[0], &heard, false, None) else {
            unreachable!("kept")
        };
        assert!(matches!(*payload, Payload::Correct(c) if c.target == fact));
    }

    #[test]
    fn what_lay_otherwise_is_left_out_and_put_down_as_it_lay() {
        let Next::Keep(payload) = after("103.5", false) else {
            unreachable!("kept")
        };
        let Payload::Reading(read) = *payload else {
            unreachable!("a reading")
        };
        let fact = FactId {
            replica: samespot_core::job::ReplicaId(1),
            seq: 3,
        };
        let Measured::Over { from, to } = read.of.clone() else {
            unreachable!("over")
        };
        let straight = Measured::Straight { from, to };
        let [aside, again] = as_it_lay(fact, &read, straight.clone());
        let Payload::Measuring(MeasuringFact { casting, says }) = aside else {
            unreachable!("left out")
        };
        assert_eq!(casting, read.casting);
        assert!(matches!(says, MeasuringSays::SetAside { reading, .. } if reading == fact));
        let Payload::Reading(again) = again else {
            unreachable!("put down")
        };
        assert_eq!((again.of, again.value.typed.as_str()), (straight, "103.5"));
        assert_eq!(again.stage, read.stage);
    }

    #[test]
    fn a_list_goes_to_the_next_readings_or_says_which_does_not() {
        let list = |items: &[&str]| {
            let items: Vec<String> = items.iter().map(|i| (*i).to_owned()).collect();
            spread(&walk(), 1, &items, Unit::Mm).map(|p| p.len())
        };
        assert_eq!(list(&["103", "104"]), Ok(2));
        assert!(list(&["103", "104", "105"]).unwrap_err().contains("only 2"));
        assert!(list(&["103", "204"]).unwrap_err().contains("204"));
    }

    #[test]
    fn what_is_in_hand_is_the_chosen_one_or_the_first_to_read() {
        let walk = walk();
        assert_eq!(in_hand(&walk, None).map(|a| a.number), Some(1));
        assert_eq!(in_hand(&walk, Some(2)).map(|a| a.number), Some(2));
        assert_eq!(expected(&walk.asks[0], Unit::Mm), "expect 99 – 107");
        assert_eq!(time_left(40), "about 40 seconds left");
        assert_eq!(time_left(75), "about 2 minutes left");
    }

    #[test]
    fn the_drawing_holds_every_mark_with_up_up() {
        let mark = |letter: &str, x, y| MarkPicture {
            mark: samespot_core::job::MarkId::new("m").unwrap(),
            letter: letter.into(),
            found: String::new(),
            at: [x, y],
            could_be: [5.0, 5.0, 0.0],
            unread: true,
        };
        let face = FacePicture {
            face: FaceId::new("f").unwrap(),
            name: "f".into(),
            seen_from: None,
            marks: vec![
                mark("A", 0.0, 0.0),
                mark("B", 100.0, 0.0),
                mark("C", 40.0, 60.0),
            ],
            edges: Vec::new(),
            outlines: Vec::new(),
            lines: Vec::new(),
            magnified: 3,
            trouble: None,
        };
        let fit = Fit::of(&face);
        for m in &face.marks {
            for p in [fit.at(m.at), fit.letter(&face, m.at)] {
                assert!(
                    (0.0..=WIDE).contains(&p[0]) && (0.0..=HIGH).contains(&p[1]),
                    "{p:?}"
                );
            }
        }
        assert!(fit.at([40.0, 60.0])[1] < fit.at([0.0, 0.0])[1]);
    }
}
