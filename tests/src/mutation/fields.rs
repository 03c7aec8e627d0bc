//! What people type or paste into a field, damaged.

use samespot_core::units::{
    AngleOptions, DecimalStyle, FieldOptions, Typed, TypedLength, Unit, parse_angle, parse_length,
    words,
};

/// Fields of every kind that the page has.
fn fields() -> Vec<FieldOptions> {
    let units = [Unit::Mm, Unit::Cm, Unit::In];
    let mut all: Vec<FieldOptions> = units.into_iter().map(FieldOptions::size).collect();
    all.push(FieldOptions::offset(Unit::Mm, "left", "right"));
    all
}

fn sound(length: &TypedLength, options: &FieldOptions) {
    assert!(length.mm.mm().is_finite(), "{length:?}");
    let echo = words::echo(length, options);
    let label = words::label(length, DecimalStyle::Point);
    for said in [echo, label] {
        assert!(!said.contains("NaN") && !said.contains("inf"), "{said}");
    }
}

/// A text in every field, as it is while it is typed; where none takes it, the words of the first.
pub(super) fn read_field(bytes: &[u8]) -> Result<(), String> {
    // A browser's field holds text, whatever was pasted.
    let text = String::from_utf8_lossy(bytes);
    let mut all = Vec::new();
    for options in fields() {
        let came = match parse_length(&text, &options) {
            Typed::NotMeasured => Ok(()),
            Typed::Understood(length) => {
                sound(&length, &options);
                Ok(())
            }
            Typed::Ask(ask) => {
                assert!(!ask.readings.is_empty(), "a question without answers");
                assert!(!words::ask(ask.question).is_empty());
                ask.readings.iter().for_each(|l| sound(l, &options));
                Ok(())
            }
            Typed::List(items) => {
                assert!(items.len() > 1, "a list of {}", items.len());
                Ok(())
            }
            Typed::Refused(refused) => {
                let said = words::say(&refused);
                assert!(!said.trim().is_empty(), "refused without a word");
                Err(said)
            }
        };
        all.push(came);
    }
    if let Typed::Understood(angle) = parse_angle(&text, &AngleOptions::default()) {
        assert!(angle.angle.rad().is_finite());
        all.push(Ok(()));
    }
    let took = all.iter().any(Result::is_ok);
    all.into_iter().next().filter(|_| !took).unwrap_or(Ok(()))
}

/// What is typed on a good day.
pub(super) fn typed() -> Vec<Vec<u8>> {
    let all = [
        "184",
        "18,5",
        "1 250,5",
        "6'2\"",
        "5' 3 7/16\"",
        "1-3/4\"",
        "½\"",
        "-12.5",
        "0.184m",
        "184 mm\n186 mm\n187,5 mm",
        "12.5\u{b0}",
    ];
    all.iter().map(|t| t.as_bytes().to_vec()).collect()
}
