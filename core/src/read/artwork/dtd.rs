//! Entities of the document type: literal ones are put in place, everything else is refused.
//!
//! Some vector programs of the 2000s declare their namespaces as entities. Those are short and plain
//! text. An entity that refers to another, to a file, or that would blow the document up is not.

use super::{ArtworkError, place::Lines};

/// Characters that entities may add in all.
const MOST_ADDED: usize = 4 << 20;

/// Returns how many entities are defined.
pub(super) fn check(text: &str) -> Result<usize, ArtworkError> {
    let Some(start) = text.find("<!DOCTYPE") else {
        return Ok(0);
    };
    let subset_end = text
        .get(start..)
        .and_then(|t| t.find("]>"))
        .map(|at| start + at);
    let Some(end) = subset_end else { return Ok(0) };
    let subset = text.get(start..end).unwrap_or_default();
    let lines = Lines::new(text);
    let mut defined: Vec<(&str, usize)> = Vec::new();
    for (at, _) in subset.match_indices("<!ENTITY") {
        let line = lines.line(start + at);
        let refused = |name: &str| ArtworkError::Entity {
            name: super::place::short(name),
            line,
        };
        let body = subset.get(at + 8..).unwrap_or_default().trim_start();
        let name_end = body.find(char::is_whitespace).unwrap_or(body.len());
        let (name, rest) = body.split_at_checked(name_end).unwrap_or((body, ""));
        let rest = rest.trim_start();
        let Some(quote) = rest.chars().next().filter(|c| matches!(c, '"' | '\'')) else {
            // `%` before a name, SYSTEM or PUBLIC after it.
            return Err(refused(name));
        };
        let value = rest
            .get(1..)
            .and_then(|v| v.split(quote).next())
            .unwrap_or_default();
        if name == "%" || value.contains('&') || value.contains('%') || value.contains('<') {
            return Err(refused(name));
        }
        defined.push((name, value.len()));
    }
    let body = text.get(end..).unwrap_or_default();
    let mut added = 0_usize;
    if !defined.is_empty() {
        for (at, _) in body.match_indices('&') {
            let name = body
                .get(at + 1..)
                .and_then(|r| r.split(';').next())
                .unwrap_or_default();
            if let Some((name, size)) = defined.iter().find(|(n, _)| *n == name) {
                added += size;
                if added > MOST_ADDED {
                    let line = lines.line(end + at);
                    return Err(ArtworkError::Entity {
                        name: super::place::short(name),
                        line,
                    });
                }
            }
        }
    }
    Ok(defined.len())
}
