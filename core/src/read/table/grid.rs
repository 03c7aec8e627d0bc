//! Rows and cells (RFC 4180, with `;` and tab as well, and a lone CR as a line end).
//!
//! Written here because a reader that takes an unclosed quote for the rest of the file cannot say
//! on which line it was opened.

use super::{Row, Separator, TableError};

const MOST_ROWS: usize = 20_000;
const MOST_CELLS: usize = 200;
/// Lines looked at to find the separator.
const LINES_LOOKED_AT: usize = 20;

/// Which separator most lines agree on; a tab before a semicolon before a comma where they do
/// equally, because the comma is also a decimal mark.
#[must_use]
pub fn separator_of(text: &str) -> Separator {
    let lines = || {
        text.split(['\n', '\r'])
            .filter(|line| !line.trim().is_empty())
            .take(LINES_LOOKED_AT)
    };
    let mut best = (Separator::Tab, 0);
    for separator in [Separator::Tab, Separator::Semicolon, Separator::Comma] {
        let counts: Vec<usize> = lines()
            .map(|line| outside_quotes(line, separator))
            .collect();
        let agree = counts
            .iter()
            .filter(|&&n| n > 0)
            .map(|n| counts.iter().filter(|m| *m == n).count())
            .max()
            .unwrap_or(0);
        if agree > best.1 {
            best = (separator, agree);
        }
    }
    best.0
}

fn outside_quotes(line: &str, separator: Separator) -> usize {
    // A quote opens only at the start of a cell, as in `rows`: elsewhere it is an inch mark.
    let (mut quoted, mut at_start) = (false, true);
    let mut count = 0;
    for c in line.chars() {
        if quoted {
            // A doubled one opens again at once.
            quoted = c != '"';
            at_start = !quoted;
            continue;
        }
        if c == separator.char() {
            count += 1;
            at_start = true;
            continue;
        } else {
            quoted = c == '"' && at_start;
        }
        at_start = false;
    }
    count
}

/// The rows of a text, blank ones left out, each with the line it starts on.
///
/// # Errors
/// [`TableError`] with the line: a quote that is never closed, too many rows or cells.
pub fn rows(text: &str, separator: Separator) -> Result<Vec<Row>, TableError> {
    let mut out = Vec::new();
    let (mut cells, mut cell) = (Vec::new(), String::new());
    let (mut line, mut starts) = (1, 1);
    let mut opened: Option<usize> = None;
    let mut chars = text.chars().peekable();
    loop {
        let next = chars.next();
        let Some(c) = next else {
            if let Some(line) = opened {
                return Err(TableError::QuoteNotClosed { line });
            }
            cells.push(cell);
            keep(&mut out, starts, cells)?;
            return Ok(out);
        };
        let ends = c == '\n' || (c == '\r' && chars.peek() != Some(&'\n'));
        line += usize::from(ends);
        if opened.is_some() {
            if c != '"' {
                cell.push(c);
            } else if chars.next_if_eq(&'"').is_some() {
                cell.push('"');
            } else {
                opened = None;
            }
        } else if c == '"' && cell.is_empty() {
            opened = Some(line);
        } else if c == separator.char() {
            cells.push(core::mem::take(&mut cell));
            if cells.len() >= MOST_CELLS {
                return Err(TableError::TooManyCells {
                    line,
                    most: MOST_CELLS,
                });
            }
        } else if ends {
            cells.push(core::mem::take(&mut cell));
            keep(&mut out, starts, core::mem::take(&mut cells))?;
            starts = line;
        } else if c != '\r' {
            cell.push(c);
        }
    }
}

fn keep(out: &mut Vec<Row>, line: usize, cells: Vec<String>) -> Result<(), TableError> {
    if cells.iter().all(|c| c.trim().is_empty()) {
        return Ok(());
    }
    if out.len() >= MOST_ROWS {
        return Err(TableError::TooManyRows {
            line,
            most: MOST_ROWS,
        });
    }
    out.push(Row { line, cells });
    Ok(())
}
