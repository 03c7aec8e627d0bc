//! What holds for every entry.

use super::*;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Texts made of what measurements are made of, and of anything else.
fn any_entry() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        8 => prop::sample::select(vec![
            "0", "1", "250", "3", "7", "12", "184", ".", ",", "'", "\"", "/", "-", "+", "\u{B1}", " ", "\u{A0}", "mm", "cm", "m", "M",
            "in", "ft", "mil", "\u{BD}", "\u{2044}", "\u{B9}", "\u{2084}", "\n", ";", "e", "x", "l", "O", "~", "?", "\u{200B}", "and",
            "\u{2019}", "\u{2033}", "\u{2212}", "\u{B0}", "deg", "\u{FF11}", "\u{339C}", "999999999999", "\u{215F}",
        ]).prop_map(str::to_owned),
        1 => any::<char>().prop_map(String::from),
    ];
    prop::collection::vec(piece, 0..14).prop_map(|p| p.concat())
}

fn any_field() -> impl Strategy<Value = FieldOptions> {
    (
        0..Unit::ALL.len(),
        0..3_u8,
        any::<bool>(),
        any::<bool>(),
        prop::option::of(-2_000.0..2_000.0),
    )
        .prop_map(
            |(unit, style, sides, takes_tolerance, expected)| FieldOptions {
                unit: Unit::ALL[unit],
                decimals: [
                    DecimalStyle::Point,
                    DecimalStyle::Comma,
                    DecimalStyle::Either,
                ][usize::from(style)],
                sides: sides.then(|| signed(Unit::Mm).sides.unwrap()),
                takes_tolerance,
                expected: expected.map(Length::from_mm),
                ..FieldOptions::default()
            },
        )
}

/// Whatever came of it: finite, in range, never minus zero, marked within the text, sayable.
fn is_sound(typed: &Typed<TypedLength>, raw: &str, opts: &FieldOptions) {
    let sound = |t: &TypedLength| {
        assert!(t.mm.mm().is_finite() && (opts.least..=opts.most).contains(&t.mm));
        assert!(t.mm.mm() != 0.0 || t.mm.mm().is_sign_positive());
        assert!(opts.sides.is_some() || !t.is_negative());
        assert!(opts.takes_tolerance || t.tolerance.is_none());
        assert!(
            t.tolerance
                .is_none_or(|t| t.plus >= Length::ZERO && t.minus >= Length::ZERO)
        );
        assert!(
            !words::echo(t, opts).contains("-0 ") && !words::label(t, opts.decimals).is_empty()
        );
    };
    match typed {
        Typed::NotMeasured => {}
        Typed::Understood(t) => sound(t),
        Typed::Ask(a) => {
            assert!(!a.readings.is_empty());
            a.readings.iter().for_each(sound);
            for (i, r) in a.readings.iter().enumerate() {
                assert!(
                    a.readings[..i].iter().all(|s| s.mm != r.mm),
                    "two buttons for one length"
                );
            }
        }
        Typed::List(items) => {
            assert!(!items.is_empty());
            for i in items {
                assert!(raw.contains(&i.raw));
                assert!(!matches!(i.typed, Typed::NotMeasured));
                is_sound(&i.typed, &i.raw, opts);
            }
        }
        Typed::Refused(r) => {
            assert_eq!(r.raw, raw);
            assert!(
                r.at.start < r.at.end && r.at.end <= raw.chars().count(),
                "{raw:?}: {r:?}"
            );
            assert!(words::say(r).chars().count() > 20);
        }
    }
}

/// The lengths that were read, without the text.
fn values(typed: &Typed<TypedLength>) -> (u8, Vec<i64>) {
    match typed {
        Typed::NotMeasured => (0, vec![]),
        Typed::Understood(t) => (1, vec![t.mm.to_um()]),
        Typed::Ask(a) => (2, a.readings.iter().map(|r| r.mm.to_um()).collect()),
        Typed::List(items) => (3, items.iter().flat_map(|i| values(&i.typed).1).collect()),
        Typed::Refused(_) => (4, vec![]),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, rng_seed: RngSeed::Fixed(0x5A3E_5907), ..ProptestConfig::default() })]

    #[test]
    fn any_text_gives_something_sound(raw in ".*", opts in any_field()) {
        is_sound(&parse_length(&raw, &opts), &raw, &opts);
    }

    #[test]
    fn any_likely_text_gives_something_sound(raw in any_entry(), opts in any_field()) {
        is_sound(&parse_length(&raw, &opts), &raw, &opts);
        let _ = parse_angle(&raw, &AngleOptions::default());
    }

    #[test]
    fn what_is_shown_reads_back_to_the_micrometre(um in -99_999_999_i64..99_999_999, unit in 0..Unit::ALL.len(), comma in any::<bool>()) {
        let unit = Unit::ALL[unit];
        let decimals = if comma { DecimalStyle::Comma } else { DecimalStyle::Point };
        let length = Length::from_mm(um as f64 / 1000.0);
        let field = FieldOptions { decimals, ..signed(unit) };
        let bare = exact(length, unit, decimals);
        prop_assert_eq!(values(&parse_length(&bare, &field)), (1, vec![um]));
        let elsewhere = FieldOptions { unit: Unit::M, ..field };
        let with_unit = format!("{bare} {unit}");
        prop_assert_eq!(values(&parse_length(&with_unit, &elsewhere)), (1, vec![um]));
    }

    #[test]
    fn tapes_read_back(n in -62_000_i32..62_000, parts in 0..3_u8) {
        let (parts, per_inch) = [(InchParts::Sixteenths, 16.0), (InchParts::ThirtySeconds, 32.0), (InchParts::SixtyFourths, 64.0)][usize::from(parts)];
        let length = Length::from_mm(f64::from(n) * 25.4 / per_inch);
        let tape = feet_inches(length, parts);
        prop_assert!(tape.is_exact());
        for text in [tape.to_string(), tape.in_inches()] {
            let read = understood(&text, &signed(Unit::Mm)).mm;
            // Not in micrometres: odd 64ths end on half of one.
            prop_assert!((read - length).abs().mm() < EXACT_MM, "{}", text);
        }
    }

    #[test]
    fn the_look_of_marks_and_spaces_changes_nothing(raw in any_entry(), opts in any_field()) {
        let expected = values(&parse_length(&raw, &opts));
        let swapped: String = raw.chars().map(|c| match c {
            '\'' => '\u{2032}',
            '"' => '\u{201D}',
            '-' => '\u{2212}',
            ' ' => '\u{202F}',
            '/' => '\u{2044}',
            '0'..='9' => char::from_u32(u32::from(c) + 0xFEE0).unwrap(),
            c => c,
        }).collect();
        prop_assert_eq!(values(&parse_length(&swapped, &opts)), expected.clone(), "{:?}", swapped);
        let padded = format!(" \u{FEFF}{} \u{A0}", raw.chars().map(|c| format!("{c}\u{200B}")).collect::<String>());
        prop_assert_eq!(values(&parse_length(&padded, &opts)), expected, "{:?}", padded);
    }

    #[test]
    fn units_scale(whole in 0_u32..900, thousandths in 0_u32..1000, unit in 0..Unit::ALL.len()) {
        // Not three decimals, which might be thousands; the unit's own length is the outside value.
        let unit = Unit::ALL[unit];
        let number = f64::from(whole) + f64::from(thousandths / 10) / 100.0;
        let raw = format!("{whole}.{:02} {unit}", thousandths / 10);
        let wide = FieldOptions { most: Length::from_mm(1e9), ..mm() };
        let t = understood(&raw, &wide);
        let expected = number * unit.length().mm();
        // Two roundings of the product against one of the quotient.
        prop_assert!((t.mm.mm() - expected).abs() <= expected.abs() * 4.0 * f64::EPSILON, "{}", raw);
    }

    #[test]
    fn a_minus_is_the_same_length_on_the_other_side(raw in any_entry()) {
        let opts = signed(Unit::Mm);
        if let (Typed::Understood(t), true) = (parse_length(&raw, &opts), raw.starts_with(|c: char| c.is_ascii_digit())) {
            let minus = understood(&format!("-{raw}"), &opts);
            prop_assert_eq!(minus.mm.mm(), 0.0 - t.mm.mm());
        }
    }
}
