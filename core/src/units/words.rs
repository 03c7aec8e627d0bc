//! The sentences about typed lengths and angles that the app and the commands share.
//!
//! Everything here is said from data that the readers return; nothing else in the core speaks.

use super::format::{InchParts, feet_inches, said};
use super::typed::{
    DecimalStyle, FieldOptions, NumberRule, Question, Refused, Sides, Tolerance, TypedLength,
    UnitRule, Why,
};
use super::{Length, Unit};

/// What is wrong with an entry, where, and what to do.
#[must_use]
pub fn say(refused: &Refused) -> String {
    let marked = quoted(&refused.marked());
    let place = refused.at.start + 1;
    match &refused.why {
        Why::TooLong { most } => format!(
            "This is too long for a measurement (over {most} characters): \
             type one measurement"
        ),
        Why::TooManyItems { most } => {
            format!("More than {most} entries at once: paste fewer at a time")
        }
        Why::TooManyDigits { most } => format!(
            "{marked} has more digits than a measurement can have (at \
             most {most}): check it"
        ),
        Why::NoNumber => "There is no number here: type a number, such as 184 or 7 \
            1/4\", or leave the field empty if it isn't measured yet"
            .to_owned(),
        Why::NotANumber => format!(
            "{marked} can't be measured: type a number, or leave the \
             field empty"
        ),
        Why::Unexpected { found } => format!(
            "{} (character {place}) can't stand in a measurement: take it \
             out",
            quoted(&found.to_string())
        ),
        Why::LooksLikeDigit { found, digit } => {
            format!(
                "Character {place} is {}, not a digit: is it {digit}?",
                quoted(&found.to_string())
            )
        }
        Why::MoreThanOneMark => format!(
            "{marked} (character {place}) is one decimal mark too many: \
             keep one"
        ),
        Why::MoreThanOneSign => {
            format!("{marked} (character {place}) is one sign too many: keep one")
        }
        Why::MinusMeansNothing => {
            "A minus has no meaning here: type the size without it".to_owned()
        }
        Why::ToleranceNotHere => format!(
            "This field takes no tolerance: type the size alone, without \
             {marked}"
        ),
        Why::ToleranceCutShort => "The tolerance isn't complete: type the size first, then the \
            tolerance, such as 184 ±1 or 184 +1 -0"
            .to_owned(),
        Why::Sum { sign: '-' } => "Nothing is subtracted here: if the tape was held at another \
            mark than zero, type what it read and put that mark into \
            \"zero at\""
            .to_owned(),
        Why::Sum { sign } => format!(
            "Nothing is worked out here ({} is character {place}): type \
             the result alone",
            quoted(&sign.to_string())
        ),
        Why::Estimate => format!(
            "{marked} makes this a guess, and a guess can't pass a check: \
             measure it and type the number, or leave the field empty"
        ),
        Why::UnknownUnit { text } => format!(
            "{} isn't a unit that is known here: use mm, cm, m, in or ft",
            quoted(&shortened(text))
        ),
        Why::TwoUnits { first, second } => {
            format!(
                "There are two units for one number, {first} and {}: keep the \
                 right one",
                quoted(&shortened(second))
            )
        }
        Why::UnitFirst { unit } => format!("The unit stands first: type the number, then {unit}"),
        Why::Text { text } => format!(
            "{} (character {place}) is no part of a measurement: take it \
             out, or put it in the note",
            quoted(&shortened(text))
        ),
        Why::ProgramNumber => format!(
            "{marked} is how programs write numbers: type it out in plain \
             digits"
        ),
        Why::OverZero => format!("{marked} has a zero below the stroke: check the fraction"),
        Why::FractionOverOne => format!(
            "{marked} after a whole number is one or more: check the \
             fraction"
        ),
        Why::FractionAfterDecimals => format!(
            "{marked} has decimals and a fraction after them: use one or \
             the other"
        ),
        Why::InchesAfterPartFeet => format!(
            "{marked} already has parts of a foot: give whole feet before \
             inches, or feet alone"
        ),
        Why::TwoSlashes => format!(
            "{marked} has two strokes, like a date: type one number or \
             fraction"
        ),
        Why::Date => {
            format!("{marked} is a date: if it was a fraction, type it again, such as 1 3/4 in")
        }
        Why::RaisedDigit { .. } => format!(
            "{marked} (character {place}) is a raised or lowered digit: \
             type an ordinary one"
        ),
        Why::OutOfRange { mm, least, most } => {
            let shown = |l: &Length| format!("{} mm", said(*l, Unit::Mm, DecimalStyle::Point));
            if mm > most {
                format!(
                    "{} is more than this field takes, at most {}: check the \
                     number and its unit",
                    shown(mm),
                    shown(most)
                )
            } else if *mm == Length::ZERO && *least <= Length::from_mm(0.001) {
                "Nothing can be 0 long here: check the number and its unit".to_owned()
            } else {
                format!(
                    "{} is less than this field takes, at least {}: check the \
                     number and its unit",
                    shown(mm),
                    shown(least)
                )
            }
        }
        Why::DegreesOnly { text } => format!(
            "{} isn't understood: angles are typed in degrees, such as 14 \
             or 14.5°",
            quoted(&shortened(text))
        ),
        Why::AngleOutOfRange { angle, least, most } => {
            if angle > most {
                format!(
                    "{}° is more than this field takes, at most {}°",
                    degrees(angle.deg()),
                    degrees(most.deg())
                )
            } else {
                format!(
                    "{}° is less than this field takes, at least {}°",
                    degrees(angle.deg()),
                    degrees(least.deg())
                )
            }
        }
    }
}

/// What has to be asked, above the buttons.
#[must_use]
pub const fn ask(question: Question) -> &'static str {
    match question {
        Question::ThousandsOrDecimals => "Does the mark part thousands or decimals?",
        Question::ThousandsOrFeet => "Does the apostrophe part thousands, or does it mean feet?",
        Question::Inches => "Inches?",
        Question::FeetAndInches => "Feet and inches?",
        Question::InchesOverTwelve => "That is more than 12 inches after the feet. Is it meant?",
        Question::CapitalM => "Does M mean metres or millimetres?",
        Question::Mil => "Does mil mean millimetres or thousandths of an inch?",
        Question::PartsOfAMetre => "What is the number after the unit?",
        Question::RunTogether => "Is a space missing in the fraction?",
        Question::UnitOfBoth => "Which unit is the size in?",
        Question::OtherUnit => "This is far from what was expected. Was another unit meant?",
    }
}

/// A reading as a button says it: `1250 mm`, `1 3/4 in = 44.45 mm`.
#[must_use]
pub fn label(typed: &TypedLength, style: DecimalStyle) -> String {
    let mm = format!("{} mm", said(typed.mm, Unit::Mm, style));
    if typed.unit == Unit::Mm {
        mm
    } else {
        format!("{} = {mm}", own(typed, style))
    }
}

/// What was understood, in its own unit and in a second one, with the side of zero and the
/// tolerance: `6 ft 2 in = 1879.6 mm`, `184 mm = about 7 1/4"`, `12.5 mm left of A = about 1/2"`.
/// Shown before anything is stored.
#[must_use]
pub fn echo(typed: &TypedLength, opts: &FieldOptions) -> String {
    let style = opts.decimals;
    let sided = opts.sides.as_ref().filter(|_| typed.mm != Length::ZERO);
    let t = match sided {
        Some(_) => &TypedLength {
            mm: typed.mm.abs(),
            ..typed.clone()
        },
        None => typed,
    };
    let second = if t.unit == Unit::Mm {
        in_inches(t.mm)
    } else {
        format!("{} mm", said(t.mm, Unit::Mm, style))
    };
    let side = sided.map_or_else(String::new, |s| format!(" {}", side_of(typed, s)));
    let tolerance = typed
        .tolerance
        .map_or_else(String::new, |t| format!(", {}", tolerance(t, style)));
    format!("{}{side} = {second}{tolerance}", own(t, style))
}

fn side_of<'a>(typed: &TypedLength, sides: &'a Sides) -> &'a str {
    if typed.is_negative() {
        &sides.minus
    } else {
        &sides.plus
    }
}

/// `±1 mm`, `+1 −0 mm`.
#[must_use]
pub fn tolerance(t: Tolerance, style: DecimalStyle) -> String {
    let mm = |l| said(l, Unit::Mm, style);
    if t.plus == t.minus {
        format!("±{} mm", mm(t.plus))
    } else {
        format!("+{} −{} mm", mm(t.plus), mm(t.minus))
    }
}

/// In its own unit: fractions stay fractions, feet and inches stay together.
fn own(t: &TypedLength, style: DecimalStyle) -> String {
    let tape = feet_inches(t.mm, InchParts::SixtyFourths);
    if t.rule.unit == UnitRule::FeetAndInches && tape.is_exact() {
        let sign = if tape.negative { "-" } else { "" };
        let fraction = match (tape.above, tape.inches) {
            (0, i) => format!("{i}"),
            (a, 0) => format!("{a}/{}", tape.below),
            (a, i) => format!("{i} {a}/{}", tape.below),
        };
        return format!("{sign}{} ft {fraction} in", tape.feet);
    }
    if t.rule.number == NumberRule::Fraction && t.unit == Unit::In && tape.is_exact() {
        return format!("{} in", tape.in_inches().trim_end_matches('"'));
    }
    format!("{} {}", said(t.mm, t.unit, style), t.unit)
}

/// In inches to the nearest 1/16, and whether that is all of it. What is smaller than 1/8 inch goes by
/// the finest marks of a rule, and what they don't show by thousandths: *about 0"* would be no help.
fn in_inches(l: Length) -> String {
    let inches = (l.mm() / Length::INCH.mm()).abs();
    let parts = if inches < 1.0 / 8.0 {
        InchParts::SixtyFourths
    } else {
        InchParts::Sixteenths
    };
    let tape = feet_inches(l, parts);
    if tape.is_exact() {
        tape.to_string()
    } else if inches >= 1.0 / 64.0 {
        format!("about {tape}")
    } else if inches >= 0.001 {
        let sign = if l < Length::ZERO { "-" } else { "" };
        format!("about {sign}{inches:.3}\"")
    } else {
        "less than 0.001\"".into()
    }
}

fn degrees(deg: f64) -> String {
    const PER_DEGREE: f64 = 1000.0;
    let rounded = libm::round(deg * PER_DEGREE) / PER_DEGREE;
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}

fn quoted(text: &str) -> String {
    format!("“{}”", shortened(text))
}

/// Pasted text can be long; its beginning is enough to find it.
fn shortened(text: &str) -> String {
    const MOST: usize = 24;
    let text = text.trim();
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars()
        .take(MOST)
        .chain(core::iter::once('…'))
        .collect()
}
