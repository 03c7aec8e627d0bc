//! Words in XML.

/// Whether a character may stand in XML at all (XML 1.0, 2.2): most control characters may not, not
/// even written as a number, and a reader refuses the whole file for one.
const fn allowed(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\u{20}'..='\u{fffd}' | '\u{10000}'..)
}

/// Words with what would be markup written as it must be (2.4), and a space for what may not stand.
pub(super) fn said(out: &mut Vec<u8>, text: &str) {
    let mut rest = text;
    let stands = |c: char| allowed(c) && !matches!(c, '&' | '<' | '>');
    while let Some(at) = rest.find(|c: char| !stands(c)) {
        let (before, from) = rest.split_at(at);
        out.extend_from_slice(before.as_bytes());
        let mut after = from.chars();
        let means = match after.next() {
            Some('&') => "&amp;",
            Some('<') => "&lt;",
            Some('>') => "&gt;",
            _ => " ",
        };
        out.extend_from_slice(means.as_bytes());
        rest = after.as_str();
    }
    out.extend_from_slice(rest.as_bytes());
}
