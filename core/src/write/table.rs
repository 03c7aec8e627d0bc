//! All readings as a table for a spreadsheet: UTF-8 with its mark, commas, decimal points, the
//! unit in the column's name. [`crate::read::table::read_own`] reads it back exactly.

use crate::job::{BoardAxis, FaceAxis, GirthLine, Measured, PointRef, Reading};

/// The columns, in order.
pub const COLUMNS: [&str; 13] = [
    "casting",
    "read",
    "from",
    "to",
    "value (mm)",
    "typed",
    "unit",
    "rule",
    "instrument",
    "hooked",
    "stage",
    "within (mm)",
    "set aside",
];

/// The file's text.
#[must_use]
pub fn readings<'a>(all: impl IntoIterator<Item = &'a Reading>) -> String {
    let mut out = String::from("\u{feff}");
    row(&mut out, &COLUMNS.map(str::to_owned));
    for reading in all {
        let text = |t: &Option<String>| t.as_deref().map(safe).unwrap_or_default();
        let (read, from, to) = measured(&reading.of);
        row(
            &mut out,
            &[
                reading.casting.to_string(),
                read,
                from,
                to,
                // The shortest digits that give the same number back, never with an exponent.
                reading.value.mm.mm().to_string(),
                safe(&reading.value.typed),
                text(&reading.value.unit),
                text(&reading.value.rule),
                (reading.instrument.as_ref()).map_or_else(String::new, ToString::to_string),
                if reading.hooked { "yes" } else { "" }.to_owned(),
                text(&reading.stage),
                (reading.within).map_or_else(String::new, |l| l.mm().to_string()),
                text(&reading.set_aside),
            ],
        );
    }
    out
}

pub(crate) fn row(out: &mut String, cells: &[String]) {
    for (at, cell) in cells.iter().enumerate() {
        if at > 0 {
            out.push(',');
        }
        if cell.contains(['"', ',', ';', '\t', '\n', '\r']) {
            out.push('"');
            out.push_str(&cell.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(cell);
        }
    }
    out.push_str("\r\n");
}

/// Text that a spreadsheet would take for a formula, with an apostrophe before it; a plain
/// negative number is left as it is. Text that has an apostrophe of its own gets a second one, so
/// that [`plain_text`] gives every text back.
#[must_use]
pub fn safe(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\'']);
    if formula && !is_negative_number(text) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// A text as it was before [`safe`].
#[must_use]
pub fn plain_text(cell: &str) -> &str {
    cell.strip_prefix('\'').unwrap_or(cell)
}

fn is_negative_number(text: &str) -> bool {
    text.strip_prefix('-').is_some_and(|size| {
        let (whole, part) = size.split_once(['.', ',']).unwrap_or((size, "0"));
        let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
        digits(whole) && digits(part)
    })
}

/// What is read, from and to; what is read against up says how often the casting was moved.
fn measured(of: &Measured) -> (String, String, String) {
    let (read, from, to) = words(of);
    let read = match of.moved() {
        0 => read.to_owned(),
        n => format!("{read}{MOVED}{n}"),
    };
    (read, from, to)
}

/// Before the number of times a casting was moved.
pub(crate) const MOVED: &str = ", moved ";

fn words(of: &Measured) -> (&'static str, String, String) {
    match of {
        Measured::Straight { from, to } => ("straight", point(from), point(to)),
        Measured::Over { from, to } => ("over the surface", point(from), point(to)),
        Measured::Level { from, to, .. } => ("level", point(from), point(to)),
        Measured::Plumb { high, low, .. } => ("plumb", point(high), point(low)),
        Measured::Height { of, .. } => ("height", String::new(), point(of)),
        Measured::Board { of, axis, .. } => {
            let read = match axis {
                BoardAxis::Across => "board across",
                BoardAxis::Back => "board back",
                BoardAxis::Up => "board up",
            };
            (read, String::new(), point(of))
        }
        Measured::Square { edge, to } => ("square from an edge", edge.to_string(), point(to)),
        Measured::Coordinate { of, axis } => {
            let read = match axis {
                FaceAxis::U => "across",
                FaceAxis::V => "up",
            };
            (read, String::new(), point(of))
        }
        Measured::Girth { face, at } => {
            let read = match at {
                GirthLine::Lower => "round the lower line",
                GirthLine::Upper => "round the upper line",
            };
            (read, face.to_string(), String::new())
        }
    }
}

fn point(at: &PointRef) -> String {
    match at {
        PointRef::Mark(id) => id.to_string(),
        PointRef::Feature(id) => format!("feature {id}"),
    }
}
