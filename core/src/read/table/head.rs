//! Which row names the columns, and which rows under it are no data.

use super::Row;
use crate::units::{DecimalStyle, Unit};

/// Words a column of castings goes by.
const CASTING: [&str; 7] = ["casting", "castings", "id", "no", "no.", "number", "piece"];
const TOTALS: [&str; 7] = ["total", "totals", "sum", "mean", "average", "min", "max"];

/// Rows with their head found.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// All rows.
    pub rows: Vec<Row>,
    /// Which of them names the columns.
    pub head: usize,
}

impl Table {
    /// The rows with the likeliest head: the first row that names a column of castings, else the
    /// first with two cells or more (title rows have one).
    #[must_use]
    pub fn of(rows: Vec<Row>) -> Self {
        let names_castings = |row: &Row| row.cells.iter().any(|c| is_casting(c));
        let filled = |row: &Row| row.cells.iter().filter(|c| !c.trim().is_empty()).count() > 1;
        let head = rows
            .iter()
            .position(names_castings)
            .or_else(|| rows.iter().position(filled))
            .unwrap_or(0);
        Self { rows, head }
    }

    /// The names of the columns; a blank one (merged cells) is blank.
    #[must_use]
    pub fn columns(&self) -> Vec<&str> {
        let cells = self.rows.get(self.head).map_or(&[][..], |row| &row.cells);
        cells.iter().map(|c| c.trim()).collect()
    }

    /// The units that stand in a row of their own under the head, by column.
    #[must_use]
    pub fn units(&self) -> Option<Vec<Option<Unit>>> {
        let row = self.rows.get(self.head + 1)?;
        let units: Vec<_> = row.cells.iter().map(|c| unit(c)).collect();
        let only_units = row
            .cells
            .iter()
            .zip(&units)
            .all(|(c, unit)| c.trim().is_empty() || unit.is_some());
        only_units.then_some(units)
    }

    /// The rows that hold data: not the head, what stands above it, its units, or totals.
    pub fn data(&self) -> impl Iterator<Item = &Row> {
        let first = self.head + 1 + usize::from(self.units().is_some());
        self.rows.iter().skip(first).filter(|row| !is_totals(row))
    }

    /// The rows of totals, which are no readings.
    pub fn totals(&self) -> impl Iterator<Item = &Row> {
        self.rows
            .iter()
            .skip(self.head + 1)
            .filter(|row| is_totals(row))
    }

    /// How decimals are written all through: a sheet with both marks, or none, leaves it open.
    #[must_use]
    pub fn decimals(&self) -> DecimalStyle {
        let has = |mark: char| {
            self.data().flat_map(|row| &row.cells).any(|cell| {
                cell.split_once(mark).is_some_and(|(whole, part)| {
                    let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
                    digits(whole.trim().trim_start_matches(['-', '−'])) && digits(part.trim())
                })
            })
        };
        match (has('.'), has(',')) {
            (true, false) => DecimalStyle::Point,
            (false, true) => DecimalStyle::Comma,
            _ => DecimalStyle::Either,
        }
    }
}

pub(super) fn is_casting(name: &str) -> bool {
    CASTING.contains(&name.trim().to_lowercase().as_str())
}

fn is_totals(row: &Row) -> bool {
    let first = row.cells.iter().find(|c| !c.trim().is_empty());
    first.is_some_and(|c| {
        let word = c.trim().trim_end_matches(':').to_lowercase();
        TOTALS.contains(&word.as_str())
    })
}

/// `mm`, `[mm]`, `(in)`.
fn unit(cell: &str) -> Option<Unit> {
    Unit::named(cell.trim().trim_matches(['[', ']', '(', ')']))
}

/// A column's name without the unit in brackets behind it, and that unit.
pub(super) fn without_unit(name: &str) -> (&str, Option<Unit>) {
    let parted = name.trim().rfind(['(', '[']).and_then(|at| {
        let (front, back) = name.trim().split_at(at);
        unit(back).map(|unit| (front.trim(), Some(unit)))
    });
    parted.unwrap_or((name.trim(), None))
}
