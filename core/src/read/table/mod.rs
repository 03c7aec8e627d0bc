//! Readings of a whole run from a spreadsheet: a CSV file, or cells pasted as text.
//!
//! ```text
//! bytes ─ decode ▶ text ─ rows ▶ rows with their lines ─ Table ▶ head, units, totals set apart
//!                                                       ─ understand ▶ readings; asked; refused
//! ```
//! Nothing is guessed: what a cell may mean in two ways is asked, what can't be one measurement
//! is refused with why, and both keep what was typed.

mod bytes;
mod cell;
mod grid;
mod head;
mod names;
mod own;
mod understand;

pub use bytes::decode;
pub use grid::{rows, separator_of};
pub use head::Table;
pub use names::{Name, Names, PlacedMark};
pub use own::{NotOurs, read_own};
pub use understand::{Found, Lay, NotKept, Options, Understanding, understand};

/// How the text of a file was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without its mark.
    Utf8,
    /// UTF-16, either way round.
    Utf16,
    /// Windows-1252: no other reading was possible, so names with accents want a look.
    Windows1252,
}

/// What stands between two cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separator {
    /// A tab, as cells are copied.
    Tab,
    /// A semicolon, where the comma is the decimal mark.
    Semicolon,
    /// A comma.
    Comma,
}

impl Separator {
    /// The character.
    #[must_use]
    pub const fn char(self) -> char {
        match self {
            Self::Tab => '\t',
            Self::Semicolon => ';',
            Self::Comma => ',',
        }
    }
}

/// One row that is not blank.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The line of the text it starts on, from 1.
    pub line: usize,
    /// Its cells as they stand.
    pub cells: Vec<String>,
}

/// Why a text is no table at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TableError {
    /// Too many bytes.
    #[error("this file is over {} MB, more than the readings of a run: save only their sheet", most / 1024 / 1024)]
    TooLarge {
        /// The most that is read, bytes.
        most: usize,
    },
    /// Not text.
    #[error("line {line} is not text: save the sheet as CSV and open that")]
    NoText {
        /// Where.
        line: usize,
    },
    /// A quote without its end.
    #[error("the quote opened on line {line} is never closed: close it, or take it out")]
    QuoteNotClosed {
        /// Where it was opened.
        line: usize,
    },
    /// Too many rows.
    #[error("there are more than {most} rows (line {line}): save only the readings of this run")]
    TooManyRows {
        /// Where the first too many stands.
        line: usize,
        /// The most that are read.
        most: usize,
    },
    /// Too many cells in a row.
    #[error("line {line} has more than {most} cells: check what separates them")]
    TooManyCells {
        /// Where.
        line: usize,
        /// The most that are read.
        most: usize,
    },
}
