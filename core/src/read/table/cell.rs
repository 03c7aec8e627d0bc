//! What is no measurement in a spreadsheet's cell, and why; the rest is read as if typed.

use crate::units::{FieldOptions, Typed, TypedLength, parse_length, words};

const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// The cell as a length, or why it is none.
pub(super) fn length(raw: &str, opts: &FieldOptions) -> Result<Typed<TypedLength>, String> {
    if let Some(why) = of_the_sheet(raw.trim()) {
        return Err(why.to_owned());
    }
    match parse_length(raw, opts) {
        Typed::Refused(refused) => Err(words::say(&refused)),
        Typed::List(_) => Err("This is more than one measurement: give each its own cell".into()),
        typed => Ok(typed),
    }
}

fn of_the_sheet(text: &str) -> Option<&'static str> {
    if text.starts_with('=') {
        Some("This is a formula, and nothing is worked out here: paste its value")
    } else if text.starts_with('#') {
        Some("The spreadsheet itself couldn't work this out: mend it there, or type the reading")
    } else if text.starts_with('\'') {
        Some("The apostrophe in front makes this text: take it out if a number is meant")
    } else if is_date(text) {
        Some("The spreadsheet made a date of this: type the fraction again, such as 1 3/4 in")
    } else {
        None
    }
}

/// `01-Mar`, `Mar-26`, `3/4/2026`, `2026-03-04`, `3.4.2026`.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split(['-', '/', '.', ' ']).collect();
    let number = |part: &&str| part.parse::<u16>().is_ok();
    let month = |part: &&str| {
        let start: String = part.to_lowercase().chars().take(3).collect();
        MONTHS.contains(&start.as_str())
    };
    let year = |part: &&str| part.len() == 4 && number(part);
    match parts.as_slice() {
        [a, b] => (number(a) && month(b)) || (month(a) && number(b)),
        [a, b, c] => {
            number(a) && (number(b) || month(b)) && number(c) && (year(a) || year(c) || month(b))
        }
        _ => false,
    }
}
