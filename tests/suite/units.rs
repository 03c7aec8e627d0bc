//! What people type for lengths and angles, against numbers from outside.
//!
//! Values: international yard and pound agreement 1959 and NIST SP 811 B.8 (1 in = 25.4 mm),
//! fraction table as in Machinery's Handbook, W3C CSS Values and Units 3 (absolute lengths),
//! ANSI/ASME Y14.1 (sheet sizes). The table of entries is the project's own list of hard inputs
//! (T1–T28) with further rows of each kind.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise; lengths here are exact by construction"
)]

#[path = "units/numbers.rs"]
mod numbers;
#[path = "units/properties.rs"]
mod properties;
#[path = "units/refusals.rs"]
mod refusals;
#[path = "units/showing.rs"]
mod showing;

use samespot_core::units::{
    AngleOptions, ArtworkUnit, Ask, DecimalStyle, FieldOptions, InchParts, Length, NumberRule,
    Question, Refused, Rule, Typed, TypedLength, Unit, UnitRule, Why, exact, feet_inches, fixed_mm,
    parse_angle, parse_length, shown, words,
};

fn mm() -> FieldOptions {
    FieldOptions::size(Unit::Mm)
}

fn signed(unit: Unit) -> FieldOptions {
    FieldOptions::offset(unit, "left of A", "right of A")
}

fn comma() -> FieldOptions {
    FieldOptions {
        decimals: DecimalStyle::Comma,
        ..mm()
    }
}

fn with_tolerance() -> FieldOptions {
    FieldOptions {
        takes_tolerance: true,
        ..mm()
    }
}

/// The nearest double to the exact value is reached, so a picometre is generous.
const EXACT_MM: f64 = 1e-9;

#[track_caller]
fn understood(raw: &str, opts: &FieldOptions) -> TypedLength {
    match parse_length(raw, opts) {
        Typed::Understood(t) => {
            assert_eq!(t.raw, raw, "the text is kept");
            t
        }
        other => panic!("{raw:?} should be understood: {other:?}"),
    }
}

#[track_caller]
fn reads(raw: &str, opts: &FieldOptions, expected_mm: f64) {
    let t = understood(raw, opts);
    assert!(
        (t.mm.mm() - expected_mm).abs() <= EXACT_MM,
        "{raw:?} is {} mm, not {expected_mm}",
        t.mm.mm()
    );
}

#[track_caller]
fn asks(raw: &str, opts: &FieldOptions, question: Question, expected_mm: &[f64]) {
    match parse_length(raw, opts) {
        Typed::Ask(Ask {
            question: q,
            readings,
        }) => {
            assert_eq!(q, question, "{raw:?}");
            let got: Vec<f64> = readings.iter().map(|r| r.mm.mm()).collect();
            let same = got.len() == expected_mm.len()
                && got
                    .iter()
                    .zip(expected_mm)
                    .all(|(a, b)| (a - b).abs() <= EXACT_MM);
            assert!(same, "{raw:?} offers {got:?}, not {expected_mm:?}");
            for r in readings {
                assert_eq!(r.asked, Some(question));
                assert_eq!(r.raw, raw);
            }
        }
        other => panic!("{raw:?} should be asked about: {other:?}"),
    }
}

#[track_caller]
fn refused(raw: &str, opts: &FieldOptions) -> Refused {
    match parse_length(raw, opts) {
        Typed::Refused(r) => {
            assert_eq!(r.raw, raw);
            let sentence = words::say(&r);
            assert!(
                sentence.len() > 20 && !sentence.ends_with('.'),
                "{sentence}"
            );
            r
        }
        other => panic!("{raw:?} should be refused: {other:?}"),
    }
}

/// Refused, with these characters marked and this reason.
#[track_caller]
fn refuses(raw: &str, opts: &FieldOptions, marked: &str, why: &Why) {
    let r = refused(raw, opts);
    assert_eq!((r.marked().as_str(), &r.why), (marked, why), "{raw:?}");
}

#[track_caller]
fn lists(raw: &str, opts: &FieldOptions, expected: &[Option<f64>]) {
    match parse_length(raw, opts) {
        Typed::List(items) => {
            let got: Vec<Option<f64>> = items
                .iter()
                .map(|i| match &i.typed {
                    Typed::Understood(t) => Some(t.mm.mm()),
                    _ => None,
                })
                .collect();
            assert_eq!(got, expected, "{raw:?}");
        }
        other => panic!("{raw:?} should be offered as a list: {other:?}"),
    }
}

#[test]
fn a1_inch_foot_and_yard() {
    for (raw, expected) in [
        ("1 in", 25.4),
        ("1 ft", 304.8),
        ("1 yd", 914.4),
        ("1000 thou", 25.4),
    ] {
        reads(raw, &mm(), expected);
    }
    assert_eq!(Length::INCH.mm(), 25.4);
    assert_eq!(Unit::Ft.length().mm(), 304.8);
}

#[test]
fn a2_an_unqualified_foot_is_not_the_survey_foot() {
    // Check A2: the survey foot is 1200/3937 m = 304.80060960121920 mm.
    let t = understood("1 ft", &mm());
    assert!((t.mm.mm() - 304.800_609_601_219_2).abs() > 0.0006);
    let _ = refused("1 US survey foot", &mm());
}

#[test]
fn a3_feet_inches_and_fractions() {
    for (raw, expected) in [
        ("5' 3 7/16\"", 1611.3125),
        ("0' 0 1/64\"", 0.396_875),
        ("12' 11 15/16\"", 3960.8125),
        ("3/8\"", 9.525),
        ("7ft 2in", 2184.4),
        ("1-1/2\"", 38.1),
    ] {
        reads(raw, &mm(), expected);
    }
    reads("-1' 6\"", &signed(Unit::Mm), -457.2);
    reads("\u{2212}1\u{2032} 6\u{2033}", &signed(Unit::Mm), -457.2);
    reads("-1-1/2\"", &signed(Unit::Mm), -38.1);
}

#[test]
fn a4_fractions_of_an_inch() {
    // Machinery's Handbook, fraction, decimal and mm equivalents.
    for (raw, inches, expected) in [
        ("1/64", 0.015_625, 0.396_875),
        ("1/32", 0.03125, 0.79375),
        ("1/16", 0.0625, 1.5875),
        ("3/32", 0.09375, 2.38125),
        ("1/8", 0.125, 3.175),
        ("3/16", 0.1875, 4.7625),
        ("1/4", 0.25, 6.35),
        ("5/16", 0.3125, 7.9375),
        ("3/8", 0.375, 9.525),
        ("7/16", 0.4375, 11.1125),
        ("1/2", 0.5, 12.7),
        ("9/16", 0.5625, 14.2875),
        ("5/8", 0.625, 15.875),
        ("3/4", 0.75, 19.05),
        ("7/8", 0.875, 22.225),
    ] {
        reads(raw, &FieldOptions::size(Unit::In), expected);
        reads(&format!("{raw}\""), &mm(), expected);
        reads(&format!("{inches} in"), &mm(), expected);
        let back = feet_inches(Length::from_mm(expected), InchParts::SixtyFourths);
        assert_eq!(back.to_string(), format!("{raw}\""));
        assert!(back.is_exact());
    }
}

#[test]
fn a7_sheet_sizes_in_inches() {
    // ANSI/ASME Y14.1: A, B, C, D, E; legal 8.5 x 14 is customary.
    for (raw, expected) in [
        ("8 1/2\"", 215.9),
        ("11\"", 279.4),
        ("14\"", 355.6),
        ("17\"", 431.8),
        ("22\"", 558.8),
        ("34\"", 863.6),
        ("44\"", 1117.6),
    ] {
        reads(raw, &mm(), expected);
    }
}

#[test]
fn a8_units_of_artwork() {
    // 1in = 96px = 72pt = 6pc = 2.54cm = 25.4mm = 101.6Q; 1px = 0.2645833 mm; 1pt = 4/3 px.
    for (unit, in_an_inch) in [
        ("in", 1.0),
        ("px", 96.0),
        ("pt", 72.0),
        ("pc", 6.0),
        ("cm", 2.54),
        ("mm", 25.4),
        ("Q", 101.6),
    ] {
        let one = ArtworkUnit::named(unit).unwrap().length();
        // One rounding each way.
        assert!((one.mm() * in_an_inch - 25.4).abs() < 1e-12, "{unit}");
    }
    assert!((ArtworkUnit::Px.length().mm() - 0.264_583_333_333).abs() < 1e-12);
    assert!((ArtworkUnit::Pt.length() / ArtworkUnit::Px.length() - 4.0 / 3.0).abs() < 1e-12);
    assert_eq!(ArtworkUnit::named("em"), None);
}
