//! Entries that are understood or asked about (T1–T13).

use super::*;

#[test]
fn t1_to_t4_numbers_and_metric_units() {
    for (raw, expected) in [
        ("184", 184.0),
        ("  184  ", 184.0),
        ("+184", 184.0),
        ("18.4cm", 184.0),
        ("18.4 CM", 184.0),
        ("18,4 Cm", 184.0),
        ("0.184m", 184.0),
        ("0,184 m", 184.0),
        ("0.184 metres", 184.0),
        ("184 Mm", 184.0),
        ("184 mm.", 184.0),
        ("184 millimetres", 184.0),
        ("1.84 dm", 184.0),
        ("350 µm", 0.35),
        ("350 \u{3BC}m", 0.35),
        ("350um", 0.35),
        ("18,5", 18.5),
        ("18.5", 18.5),
        ("18\u{B7}5", 18.5),
        ("１８４ｍｍ", 184.0),
        ("184㎜", 184.0),
        ("18.4㎝", 184.0),
        ("1 m 25 cm", 1250.0),
        ("1m 250mm", 1250.0),
        ("18cm4", 184.0),
    ] {
        reads(raw, &mm(), expected);
    }
    let t = understood("184", &mm());
    assert_eq!(
        (t.unit, t.rule),
        (
            Unit::Mm,
            Rule {
                unit: UnitRule::FieldUnit,
                number: NumberRule::Whole
            }
        )
    );
    let t = understood("18,4cm", &mm());
    assert_eq!(
        (t.unit, t.rule),
        (
            Unit::Cm,
            Rule {
                unit: UnitRule::OwnUnit,
                number: NumberRule::DecimalComma
            }
        )
    );
    for (unit, expected) in [
        (Unit::Mm, 7.0),
        (Unit::Cm, 70.0),
        (Unit::M, 7000.0),
        (Unit::In, 177.8),
        (Unit::Ft, 2133.6),
    ] {
        reads("7", &FieldOptions::size(unit), expected);
        reads("7 in", &FieldOptions::size(unit), 177.8);
    }
    asks("1m25", &mm(), Question::PartsOfAMetre, &[1250.0, 1025.0]);
    asks(
        "2m5",
        &mm(),
        Question::PartsOfAMetre,
        &[2050.0, 2500.0, 2005.0],
    );
}

#[test]
fn t6_points_and_commas_before_three_digits() {
    reads("1.250", &mm(), 1.25);
    reads("1.250", &mm().expecting(Length::from_mm(1.3)), 1.25);
    asks(
        "1.250",
        &mm().expecting(Length::from_mm(1250.0)),
        Question::ThousandsOrDecimals,
        &[1250.0, 1.25],
    );
    asks(
        "1.250",
        &mm().expecting(Length::from_mm(1180.0)),
        Question::ThousandsOrDecimals,
        &[1250.0, 1.25],
    );
    asks(
        "1,250",
        &mm(),
        Question::ThousandsOrDecimals,
        &[1250.0, 1.25],
    );
    reads("1,250", &comma(), 1.25);
    asks(
        "1,250",
        &comma().expecting(Length::from_mm(1250.0)),
        Question::ThousandsOrDecimals,
        &[1250.0, 1.25],
    );
    asks(
        "1.250",
        &comma(),
        Question::ThousandsOrDecimals,
        &[1250.0, 1.25],
    );
    let either = FieldOptions {
        decimals: DecimalStyle::Either,
        ..mm()
    };
    asks(
        "1.250",
        &either,
        Question::ThousandsOrDecimals,
        &[1250.0, 1.25],
    );
    asks(
        "1,250",
        &either,
        Question::ThousandsOrDecimals,
        &[1250.0, 1.25],
    );
    reads("0.250", &either, 0.25);
    reads("0,250", &mm(), 0.25);
    reads("1234.250", &mm(), 1234.25);
    reads("1,250.5", &mm(), 1250.5);
    reads("1.250,5", &mm(), 1250.5);
    reads("1.250 m", &mm(), 1250.0);
    // The field cannot hold 1.25, so the point may have parted thousands: asked, not taken.
    let big = FieldOptions {
        least: Length::from_mm(100.0),
        ..mm()
    };
    asks("1.250", &big, Question::ThousandsOrDecimals, &[1250.0]);
    let labels: Vec<String> = match parse_length("1,250", &mm()) {
        Typed::Ask(a) => a
            .readings
            .iter()
            .map(|r| words::label(r, DecimalStyle::Point))
            .collect(),
        other => panic!("{other:?}"),
    };
    assert_eq!(labels, ["1250 mm", "1.25 mm"]);
}

#[test]
fn another_unit_is_offered_where_the_number_is_far_from_what_was_expected() {
    let f = mm().expecting(Length::from_mm(184.0));
    asks("18.4", &f, Question::OtherUnit, &[184.0, 18.4]);
    asks("7.25", &f, Question::OtherUnit, &[184.15, 7.25]);
    asks("0.184", &f, Question::OtherUnit, &[184.0, 0.184]);
    reads("150", &f, 150.0);
    reads("18.4 mm", &f, 18.4);
    reads("0", &f, 0.0);
    reads("30", &f, 30.0);
}

#[test]
fn t7_t8_thousands_parted_by_spaces_and_apostrophes() {
    for space in [" ", "\u{2009}", "\u{202F}", "\u{A0}", "\u{2007}", "  "] {
        reads(&format!("1{space}250"), &mm(), 1250.0);
        reads(&format!("1{space}250,5"), &mm(), 1250.5);
        reads(&format!("1{space}250.5 mm"), &mm(), 1250.5);
        reads(&format!("12{space}250"), &mm(), 12_250.0);
    }
    // One foot and 250 inches: 304.8 + 6350.
    asks("1'250", &mm(), Question::ThousandsOrFeet, &[1250.0, 6654.8]);
    asks(
        "1\u{2019}250",
        &mm(),
        Question::ThousandsOrFeet,
        &[1250.0, 6654.8],
    );
    asks("1'006", &mm(), Question::ThousandsOrFeet, &[1006.0, 457.2]);
    asks(
        "1'250,5",
        &mm(),
        Question::ThousandsOrFeet,
        &[1250.5, 6667.5],
    );
    reads("1'250 mm", &mm(), 1250.0);
    reads("6'011\"", &mm(), 2108.2);
}

#[test]
fn t9_feet_and_inches() {
    for raw in [
        "6'2\"",
        "6' 2\"",
        "6\u{2032}2\u{2033}",
        "6\u{2019}2\u{201D}",
        "6\u{2018}2\u{201C}",
        "6'2''",
        "6\u{2019}2\u{2019}\u{2019}",
        "6 ft 2",
        "6 ft. 2 in.",
        "6ft2in",
        "6FT 2IN",
        "6'2",
        "6 feet 2 inches",
        "6'-2\"",
        "6' - 2\"",
        "6\u{2032}\u{2013}2\u{2033}",
        "6 \u{2032} 2 \u{2033}",
    ] {
        reads(raw, &mm(), 1879.6);
    }
    let ft = FieldOptions::size(Unit::Ft);
    asks("6-2", &ft, Question::FeetAndInches, &[1879.6, 1889.76]);
    asks("6 2", &ft, Question::FeetAndInches, &[1879.6, 1889.76]);
    asks("6-2 1/2", &ft, Question::FeetAndInches, &[1892.3]);
    asks("6-2\"", &mm(), Question::FeetAndInches, &[1879.6]);
    asks("5' 14\"", &mm(), Question::InchesOverTwelve, &[1879.6]);
    reads("6.5'", &mm(), 1981.2);
    reads("1/2'", &mm(), 152.4);
    reads("6' 0\"", &mm(), 1828.8);
    reads("6' 1/2\"", &mm(), 1841.5);
    reads("6' 2.5\"", &mm(), 1892.3);
    refuses("6.5' 2\"", &mm(), "6.5'", &Why::InchesAfterPartFeet);
    refuses("6\"2'", &mm(), "2", &Why::Text { text: "2".into() });
    let r = refused("6'2'", &mm());
    assert!(matches!(r.why, Why::TwoUnits { .. }), "{r:?}");
}

#[test]
fn t11_to_t13_fractions() {
    for raw in [
        "1 3/4\"",
        "1-3/4\"",
        "1 3/4 in",
        "1\u{BE}\"",
        "1 \u{BE}\"",
        "1\u{2013}3/4\u{2033}",
        "1\u{B3}\u{2044}\u{2084}\"",
        "1.75\"",
    ] {
        reads(raw, &mm(), 44.45);
    }
    for raw in ["1-3/4", "1 3/4", "1\u{BE}"] {
        asks(raw, &mm(), Question::Inches, &[44.45, 1.75]);
        reads(raw, &FieldOptions::size(Unit::In), 44.45);
        asks(
            raw,
            &FieldOptions::size(Unit::Ft),
            Question::Inches,
            &[44.45, 533.4],
        );
    }
    for raw in [
        "1/2\"",
        "\u{BD}\"",
        "\u{BD} in",
        "1\u{2044}2\"",
        "\u{B9}\u{2044}\u{2082}\"",
        "\u{B9}/\u{2082}\u{2033}",
        "\u{215F}2\"",
        "\u{FF11}\u{FF0F}\u{FF12}\u{FF02}",
    ] {
        reads(raw, &mm(), 12.7);
    }
    reads("1\u{BD}\"", &mm(), 38.1);
    reads("\u{215D}\"", &mm(), 15.875);
    reads("5\u{2075}\u{2044}\u{2081}\u{2086}\"", &mm(), 134.9375);
    reads("5/4\"", &mm(), 31.75);
    reads("1/2 mm", &mm(), 0.5);
    reads("3/4 m", &mm(), 750.0);
    // A space lost in 1 3/4, or 13 quarters: 3.25 in.
    asks("13/4\"", &mm(), Question::RunTogether, &[44.45, 82.55]);
    reads("31/32\"", &mm(), 24.606_25);
    refuses("1/0\"", &mm(), "1/0", &Why::OverZero);
    refuses("1 5/4\"", &mm(), "5/4", &Why::FractionOverOne);
    refuses("1.5 1/2\"", &mm(), "1.5", &Why::FractionAfterDecimals);
    refuses("12/05/2024", &mm(), "12/05/2024", &Why::TwoSlashes);
    refuses("184/2", &mm(), "184/2", &Why::Sum { sign: '/' });
    refuses(
        "18\u{B2}",
        &mm(),
        "\u{B2}",
        &Why::RaisedDigit { found: '2' },
    );
    refuses(
        "\u{2460}84",
        &mm(),
        "\u{2460}",
        &Why::Unexpected { found: '\u{2460}' },
    );
}
