//! What a spreadsheet makes of a fraction: a date.

const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// `01-Mar`, `Mar-26`, `3/4/2026`, `2026-03-04`, `3.4.2026`.
#[must_use]
pub fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.trim().split(['-', '/', '.', ' ']).collect();
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
