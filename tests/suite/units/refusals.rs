//! Signs, tolerances, nothing, slips, lists and floods (T15–T28).

use super::*;

#[test]
fn t15_signs() {
    for dash in [
        "-",
        "\u{2212}",
        "\u{2013}",
        "\u{2014}",
        "\u{2010}",
        "\u{2011}",
        "\u{FF0D}",
        "- ",
        "\u{2212}\u{2009}",
    ] {
        let raw = format!("{dash}12.5");
        reads(&raw, &signed(Unit::Mm), -12.5);
        let r = refused(&raw, &mm());
        assert_eq!(r.why, Why::MinusMeansNothing);
        assert_eq!(r.at, 0..1);
    }
    let t = understood("-12.5", &signed(Unit::Mm));
    assert!(t.is_negative());
    assert_eq!(
        words::echo(&t, &signed(Unit::Mm)),
        "12.5 mm left of A = about 1/2\""
    );
    let t = understood("12.7", &signed(Unit::Mm));
    assert_eq!(
        words::echo(&t, &signed(Unit::Mm)),
        "12.7 mm right of A = 1/2\""
    );
    let zero = understood("-0", &signed(Unit::Mm));
    assert!(zero.mm.mm() == 0.0 && zero.mm.mm().is_sign_positive() && !zero.is_negative());
    asks(
        "-1 3/4",
        &signed(Unit::Mm),
        Question::Inches,
        &[-44.45, -1.75],
    );
    refuses("--5", &signed(Unit::Mm), "-", &Why::MoreThanOneSign);
    assert_eq!(refused("--5", &mm()).at, 1..2);
    assert_eq!(
        refused("12.5-", &signed(Unit::Mm)).why,
        Why::Sum { sign: '-' }
    );
}

#[test]
fn t16_tolerances() {
    for (raw, size, plus, minus) in [
        ("184 +/-1", 184.0, 1.0, 1.0),
        ("184 \u{B1}1", 184.0, 1.0, 1.0),
        ("184\u{B1}1mm", 184.0, 1.0, 1.0),
        ("184 mm \u{B1} 1 mm", 184.0, 1.0, 1.0),
        ("184 +-1", 184.0, 1.0, 1.0),
        ("184 +/\u{2212}0,5", 184.0, 0.5, 0.5),
        ("184 +1 -0", 184.0, 1.0, 0.0),
        ("184 +1/-0", 184.0, 1.0, 0.0),
        ("184 -0 +1", 184.0, 1.0, 0.0),
        ("184 +1.5 \u{2212}0.5 mm", 184.0, 1.5, 0.5),
        ("18.4 cm \u{B1}1 mm", 184.0, 1.0, 1.0),
        ("18.4 cm \u{B1}0.1", 184.0, 1.0, 1.0),
        ("6'2\" \u{B1}1/8\"", 1879.6, 3.175, 3.175),
        ("6'2\" \u{B1}1/8", 1879.6, 3.175, 3.175),
        ("6'2\" +1/8 -1/16", 1879.6, 3.175, 1.5875),
    ] {
        let t = understood(raw, &with_tolerance());
        assert_eq!(t.mm.mm(), size, "{raw}");
        let tol = t.tolerance.unwrap();
        assert_eq!((tol.plus.mm(), tol.minus.mm()), (plus, minus), "{raw}");
        assert!(tol.minus.mm().is_sign_positive());
        assert_eq!(
            refused(raw, &mm()).why,
            Why::ToleranceNotHere,
            "{raw}: never dropped"
        );
    }
    assert_eq!(refused("184 \u{B1}1", &mm()).marked(), "\u{B1}1");
    assert_eq!(understood("184", &with_tolerance()).tolerance, None);
    assert_eq!(
        refused("184 \u{B1}", &with_tolerance()).why,
        Why::ToleranceCutShort
    );
    assert_eq!(refused("184 +/-", &mm()).why, Why::ToleranceCutShort);
    assert_eq!(
        refused("\u{B1}1", &with_tolerance()).why,
        Why::ToleranceCutShort
    );
    let _ = refused("184 +1", &with_tolerance());
    let _ = refused("184 +1 +2", &with_tolerance());
    let cm = FieldOptions {
        unit: Unit::Cm,
        ..with_tolerance()
    };
    asks("18.4 \u{B1}1 mm", &cm, Question::UnitOfBoth, &[18.4, 184.0]);
    let echo = words::echo(
        &understood("184 +1 -0", &with_tolerance()),
        &with_tolerance(),
    );
    assert_eq!(echo, "184 mm = about 7 1/4\", +1 −0 mm");
}

#[test]
fn t18_sums() {
    for (raw, sign) in [
        ("284-100", '-'),
        ("284 - 100", '-'),
        ("284\u{2212}100", '-'),
        ("284+100", '+'),
        ("2*92", '*'),
        ("2\u{D7}92", '\u{D7}'),
        ("2 x 92", '\u{D7}'),
        ("=184", '='),
        ("(184)", '('),
        ("10 - 1", '-'),
        ("1 - 3/4\"", '-'),
    ] {
        for opts in [mm(), with_tolerance(), signed(Unit::Mm)] {
            assert_eq!(refused(raw, &opts).why, Why::Sum { sign }, "{raw}");
        }
    }
    let said = words::say(&refused("284-100", &mm()));
    assert!(said.contains("zero at"), "{said}");
    assert_eq!(
        refused("10-1", &FieldOptions::size(Unit::In)).why,
        Why::Sum { sign: '-' }
    );
}

#[test]
fn t19_t20_nothing_is_not_nought() {
    for raw in [
        "",
        " ",
        "\t",
        "\n",
        "\u{A0}\u{2009}",
        "\u{200B}",
        "\u{FEFF} \r\n",
    ] {
        assert_eq!(parse_length(raw, &mm()), Typed::NotMeasured, "{raw:?}");
    }
    assert_eq!(parse_length(&" ".repeat(10_000), &mm()), Typed::NotMeasured);
    for raw in ["0", "0,0", "0.00", "0 mm", "0'", ".0"] {
        reads(raw, &mm(), 0.0);
    }
    for raw in [
        "-", "\u{2014}", ".", ",", "'", "\"", "mm", "n/a", "none", "?", "/", ";", "+",
    ] {
        let _ = refused(raw, &mm());
    }
}

#[test]
fn t21_slips_are_marked_where_they_are() {
    refuses(
        "1l4",
        &mm(),
        "l",
        &Why::LooksLikeDigit {
            found: 'l',
            digit: '1',
        },
    );
    refuses(
        "18O",
        &mm(),
        "O",
        &Why::LooksLikeDigit {
            found: 'O',
            digit: '0',
        },
    );
    refuses(
        "l84",
        &mm(),
        "l",
        &Why::LooksLikeDigit {
            found: 'l',
            digit: '1',
        },
    );
    refuses(
        "1|4",
        &mm(),
        "|",
        &Why::LooksLikeDigit {
            found: '|',
            digit: '1',
        },
    );
    refuses(
        "1O4 mm",
        &mm(),
        "O",
        &Why::LooksLikeDigit {
            found: 'O',
            digit: '0',
        },
    );
    refuses(
        "O",
        &mm(),
        "O",
        &Why::LooksLikeDigit {
            found: 'O',
            digit: '0',
        },
    );
    for (raw, at) in [
        ("18..4", 3),
        ("2.1.0", 3),
        ("18,,4", 3),
        ("1.2,3.4", 3),
        ("1,2,3", 3),
        ("12,50.5", 5),
        ("1.2.", 3),
        ("1..", 2),
        (".5.5", 2),
    ] {
        let r = refused(raw, &mm());
        assert_eq!((r.at, r.why), (at..at + 1, Why::MoreThanOneMark), "{raw}");
    }
    let r = refused("\u{200B}\u{1F600} 18..4", &mm());
    assert_eq!((r.at.clone(), r.at_utf16()), (1..2, 1..3));
    assert_eq!(
        words::say(&refused("1l4", &mm())),
        "Character 2 is “l”, not a digit: is it 1?"
    );
}

#[test]
fn t22_bare_marks_and_leading_noughts() {
    for (raw, expected) in [
        (".5", 0.5),
        (",5", 0.5),
        ("5.", 5.0),
        ("5,", 5.0),
        ("0184", 184.0),
        ("00", 0.0),
        ("007.50", 7.5),
    ] {
        reads(raw, &mm(), expected);
    }
}

#[test]
fn t23_how_programs_write_numbers() {
    for raw in ["1e3", "1E3", "1e-3", "1.5e+2", "0x10", "0b101", "0xff"] {
        assert_eq!(refused(raw, &mm()).why, Why::ProgramNumber, "{raw}");
    }
    assert_eq!(refused("1.84e2 mm", &mm()).marked(), "1.84e2");
    for raw in ["Infinity", "inf", "-Infinity", "NaN", "\u{221E}", "5 inf"] {
        assert_eq!(
            refused(raw, &signed(Unit::Mm)).why,
            Why::NotANumber,
            "{raw}"
        );
    }
    assert_eq!(
        refused("1234567890123456789", &mm()).why,
        Why::TooManyDigits { most: 12 }
    );
    assert!(matches!(refused("1e", &mm()).why, Why::UnknownUnit { .. }));
}

#[test]
fn t24_units_that_are_not_there() {
    for (raw, unit) in [
        ("184 nm", "nm"),
        ("184 furlong", "furlong"),
        ("184 km", "km"),
        ("184px", "px"),
        ("184 mmm", "mmm"),
        ("6 ft 2 mn", "mn"),
    ] {
        refuses(raw, &mm(), unit, &Why::UnknownUnit { text: unit.into() });
    }
    refuses(
        "184\"mm",
        &mm(),
        "mm",
        &Why::TwoUnits {
            first: Unit::In,
            second: "mm".into(),
        },
    );
    refuses(
        "184 mm\"",
        &mm(),
        "\"",
        &Why::TwoUnits {
            first: Unit::Mm,
            second: "\"".into(),
        },
    );
    refuses(
        "184 mm cm",
        &mm(),
        "cm",
        &Why::TwoUnits {
            first: Unit::Mm,
            second: "cm".into(),
        },
    );
    refuses("mm 184", &mm(), "mm", &Why::UnitFirst { unit: Unit::Mm });
    asks("184 M", &mm(), Question::CapitalM, &[184.0]);
    asks("1.84M", &mm(), Question::CapitalM, &[1840.0, 1.84]);
    asks("3 mil", &mm(), Question::Mil, &[3.0, 0.0762]);
    for raw in [
        "184%",
        "184°",
        "$184",
        "184 mm²",
        "18é4",
        "abc",
        "184 mm long",
        "Ø184",
    ] {
        let _ = refused(raw, &mm());
    }
}

#[test]
fn t26_guesses() {
    for raw in [
        "~184",
        "184?",
        "184 approx",
        "184 approx.",
        "ca 184",
        "ca. 184",
        "c. 184",
        "about 184 mm",
        "\u{2248}184",
        "184ish",
        "184 or so",
        "Roughly 184",
        "\u{FF5E}184",
    ] {
        assert_eq!(refused(raw, &mm()).why, Why::Estimate, "{raw}");
    }
}

/// What a spreadsheet makes of 1-3/4 and 3/4, copied into a field.
#[test]
fn a_date_where_a_fraction_was_meant() {
    for raw in [
        "1-Mar",
        "01-Mar",
        "Mar-04",
        "01.03.2026",
        "2026-03-04",
        "4 March 2026",
    ] {
        let r = refused(raw, &mm());
        assert_eq!(r.why, Why::Date, "{raw}");
        assert_eq!(r.at, 0..raw.chars().count());
    }
    let said = words::say(&refused("1-Mar", &mm()));
    assert!(
        said.contains("if it was a fraction, type it again"),
        "{said}"
    );
    // What only looks a little like one says what it is.
    assert_eq!(refused("2.1.0", &mm()).why, Why::MoreThanOneMark);
    reads("6 ft 2", &mm(), 1879.6);
}

#[test]
fn t28_lists_and_floods() {
    lists("184 mm\n186 mm", &mm(), &[Some(184.0), Some(186.0)]);
    lists("184\r\n186\r\n", &mm(), &[Some(184.0), Some(186.0)]);
    lists("184\t186\tx", &mm(), &[Some(184.0), Some(186.0), None]);
    lists("18,4; 18,6", &mm(), &[Some(18.4), Some(18.6)]);
    lists("184, 186", &mm(), &[Some(184.0), Some(186.0)]);
    lists(
        "184 mm, 186 mm and 6' 2\"",
        &mm(),
        &[Some(184.0), Some(186.0), Some(1879.6)],
    );
    lists("184 186", &mm(), &[Some(184.0), Some(186.0)]);
    lists(
        "184,186,188",
        &mm(),
        &[Some(184.0), Some(186.0), Some(188.0)],
    );
    lists("12 34", &mm(), &[Some(12.0), Some(34.0)]);
    lists("6' 7'", &mm(), &[Some(1828.8), Some(2133.6)]);
    reads("184\n", &mm(), 184.0);
    assert_eq!(refused("a\nb", &mm()).why, Why::NoNumber);
    for flood in [
        "1",
        "184 ",
        "x",
        "-",
        ".",
        "'",
        "1/",
        "\u{1F600}",
        "\u{FDFA}",
        "\u{BD}",
        "1\u{200B}",
        "1,",
    ] {
        let r = refused(&flood.repeat(10_000), &mm());
        assert_eq!(r.why, Why::TooLong { most: 4_000 }, "{flood:?}");
        assert!(words::say(&r).chars().count() < 200);
    }
    assert!(matches!(
        refused(&"184 mm\n".repeat(600), &mm()).why,
        Why::TooLong { .. } | Why::TooManyItems { .. }
    ));
    let line = format!("184 {}", "m".repeat(100));
    assert_eq!(refused(&line, &mm()).why, Why::TooLong { most: 80 });
    assert_eq!(
        refused("184 \u{1F600}", &mm()).why,
        Why::Unexpected { found: '\u{1F600}' }
    );
    refuses(
        "1\u{FE0F}\u{20E3}",
        &mm(),
        "\u{20E3}",
        &Why::Unexpected { found: '\u{20E3}' },
    );
}

#[test]
fn out_of_range() {
    for raw in [
        "1 000 000",
        "1 234 567",
        "1,234,567.5",
        "1.250.500",
        "1'250'000",
    ] {
        assert!(
            matches!(refused(raw, &mm()).why, Why::OutOfRange { .. }),
            "{raw}"
        );
    }
    let f = FieldOptions {
        least: Length::from_mm(1.0),
        most: Length::from_mm(3000.0),
        ..mm()
    };
    let r = refused("1203 m", &f);
    assert_eq!(
        words::say(&r),
        "1203000 mm is more than this field takes, at most 3000 mm: check the number and its unit"
    );
    assert!(words::say(&refused("0", &f)).contains("at least 1 mm"));
    assert!(matches!(
        refused("200 m", &mm()).why,
        Why::OutOfRange { .. }
    ));
    reads("3000", &f, 3000.0);
}
