//! What is no measurement in a spreadsheet's cell, and why; the rest is read as if typed.

use crate::units::{FieldOptions, Typed, TypedLength, is_date, parse_length, words};

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
