//! What is shown, echoed and stored; angles.

use super::*;

#[test]
fn echoes() {
    for (raw, echo) in [
        ("184", "184 mm = about 7 1/4\""),
        ("6'2\"", "6 ft 2 in = 1879.6 mm"),
        ("18.4 cm", "18.4 cm = 184 mm"),
        ("1 3/4\"", "1 3/4 in = 44.45 mm"),
        ("3' 11 3/8\"", "3 ft 11 3/8 in = 1203.325 mm"),
        ("120.3cm", "120.3 cm = 1203 mm"),
        ("0", "0 mm = 0\""),
        ("0.0005", "0.0005 mm = less than 0.001\""),
        // 0.5/25.4 × 64 = 1.26, 0.1/25.4 = 0.0039.
        ("0.5", "0.5 mm = about 1/64\""),
        ("1", "1 mm = about 3/64\""),
        ("0.1", "0.1 mm = about 0.004\""),
        ("2 thou", "2 thou = 0.0508 mm"),
        ("1/3\"", "0.333333 in = 8.4667 mm"),
        ("5' 3 7/16\"", "5 ft 3 7/16 in = 1611.3125 mm"),
    ] {
        assert_eq!(words::echo(&understood(raw, &mm()), &mm()), echo);
    }
    assert_eq!(
        words::echo(&understood("18,45", &comma()), &comma()),
        "18,45 mm = about 3/4\""
    );
}

#[test]
fn digits_of_sheets() {
    for (mm, decimals, text) in [
        (183.0, 1, "183.0"),
        (0.8, 1, "0.8"),
        (0.05, 1, "0.1"),
        (-0.05, 1, "-0.1"),
        (-0.049, 1, "0.0"),
        (0.0, 1, "0.0"),
        (-0.0, 0, "0"),
        (2.5, 0, "3"),
        (-2.5, 0, "-3"),
        (1203.325, 3, "1203.325"),
        (1203.325, 9, "1203.325"),
        (99.95, 1, "100.0"),
        // On whole micrometres first: 0.0499996 is 50 µm.
        (0.049_999_6, 1, "0.1"),
    ] {
        assert_eq!(fixed_mm(Length::from_mm(mm), decimals), text);
    }
    for (mm, unit, style, text) in [
        (184.0, Unit::Cm, DecimalStyle::Point, "18.4"),
        (184.0, Unit::M, DecimalStyle::Comma, "0,184"),
        (44.45, Unit::In, DecimalStyle::Point, "1.75"),
        (1000.0, Unit::Mm, DecimalStyle::Point, "1000"),
        (-0.000_4, Unit::Mm, DecimalStyle::Point, "0"),
        (-1879.6, Unit::Ft, DecimalStyle::Point, "-6.166667"),
    ] {
        assert_eq!(exact(Length::from_mm(mm), unit, style), text);
    }
    assert_eq!(
        shown(Length::from_mm(183.96), Unit::Mm, DecimalStyle::Point),
        "184"
    );
    assert_eq!(
        shown(Length::from_mm(183.94), Unit::Mm, DecimalStyle::Point),
        "183.9"
    );
    assert_eq!(
        shown(Length::from_mm(25.4), Unit::In, DecimalStyle::Point),
        "1"
    );
}

#[test]
fn tapes_in_inches() {
    for (mm, parts, text, inches, exact) in [
        (
            1611.3125,
            InchParts::Sixteenths,
            "5' 3 7/16\"",
            "63 7/16\"",
            true,
        ),
        (1879.6, InchParts::Sixteenths, "6' 2\"", "74\"", true),
        (1828.8, InchParts::Sixteenths, "6'", "72\"", true),
        (
            1841.5,
            InchParts::Sixteenths,
            "6' 0 1/2\"",
            "72 1/2\"",
            true,
        ),
        (184.0, InchParts::Sixteenths, "7 1/4\"", "7 1/4\"", false),
        (0.0, InchParts::Sixteenths, "0\"", "0\"", true),
        (-0.1, InchParts::Sixteenths, "0\"", "0\"", false),
        (-457.2, InchParts::ThirtySeconds, "-1' 6\"", "-18\"", true),
        (304.79, InchParts::ThirtySeconds, "1'", "12\"", false),
    ] {
        let t = feet_inches(Length::from_mm(mm), parts);
        assert_eq!(
            (t.to_string().as_str(), t.in_inches().as_str(), t.is_exact()),
            (text, inches, exact),
            "{mm}"
        );
    }
    // 7 1/4 in is 184.15 mm: 0.15 more than 184.
    let off = feet_inches(Length::from_mm(184.0), InchParts::Sixteenths).off;
    assert!((off.mm() - 0.15).abs() < 1e-9);
}

#[test]
fn angles() {
    let turned = AngleOptions {
        sides: signed(Unit::Mm).sides,
        ..AngleOptions::default()
    };
    for (raw, deg) in [
        ("14", 14.0),
        ("14°", 14.0),
        ("14 deg", 14.0),
        ("14 Degrees", 14.0),
        ("14º", 14.0),
        ("14˚", 14.0),
        ("14,5", 14.5),
        ("14 1/2°", 14.5),
        ("14½", 14.5),
        ("-14", -14.0),
        ("−14.25 °", -14.25),
        ("0", 0.0),
        ("1.250", 1.25),
        ("1,250", 1.25),
    ] {
        match parse_angle(raw, &turned) {
            // Degrees to radians and back: two roundings of a number below 360.
            Typed::Understood(t) => assert!((t.angle.deg() - deg).abs() < 1e-12, "{raw}"),
            other => panic!("{raw}: {other:?}"),
        }
    }
    assert_eq!(parse_angle("  ", &turned), Typed::NotMeasured);
    for raw in [
        "14 rad", "14 grad", "1:4", "5%", "14° 30'", "14'", "14 mm", "400", "1e1", "14-2", "abc",
        "~14", "14 15",
    ] {
        match parse_angle(raw, &turned) {
            Typed::Refused(r) => assert!(!words::say(&r).is_empty()),
            other => panic!("{raw}: {other:?}"),
        }
    }
    match parse_angle("-14", &AngleOptions::default()) {
        Typed::Refused(r) => assert_eq!(r.why, Why::MinusMeansNothing),
        other => panic!("{other:?}"),
    }
    match parse_angle("14° 30'", &turned) {
        Typed::Refused(r) => assert_eq!(
            words::say(&r),
            "“30'” isn't understood: angles are typed in degrees, such as 14 or 14.5°"
        ),
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_is_stored_reads_back() {
    let t = understood("6'2\" \u{B1}1/8\"", &with_tolerance());
    let json = serde_json::to_string(&t).unwrap();
    assert_eq!(
        json,
        r#"{"raw":"6'2\" ±1/8\"","mm":1879.6,"unit":"ft","rule":{"unit":"feet-and-inches","number":"whole"},"tolerance":{"plus":3.175,"minus":3.175}}"#
    );
    assert_eq!(serde_json::from_str::<TypedLength>(&json).unwrap(), t);
    assert_eq!(t.rule.to_string(), "feet-and-inches whole");
    for raw in ["", "1,250", "184\n186", "1l4"] {
        let typed = parse_length(raw, &mm());
        let json = serde_json::to_string(&typed).unwrap();
        assert_eq!(
            serde_json::from_str::<Typed<TypedLength>>(&json).unwrap(),
            typed
        );
    }
}
