//! This project's own export of readings, read back exactly.

use super::{Separator, TableError, rows};
use crate::job::{
    BoardAxis, CastingId, EdgeId, Entry, FaceAxis, FaceId, FeatureId, GirthLine, InstrumentId,
    MarkId, Measured, PointRef, Reading,
};
use crate::units::Length;
use crate::write::table::{COLUMNS, MOVED, plain_text};

/// Why a file is not read as this project's own export.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotOurs {
    /// It is no table.
    #[error(transparent)]
    NoTable(#[from] TableError),
    /// Its columns are others; it may still be somebody else's table.
    #[error("the columns are not those of an export of readings")]
    OtherColumns,
    /// A row was changed so that it no longer reads.
    #[error("line {line}: {column} doesn't read; put back what was exported")]
    Row {
        /// Where.
        line: usize,
        /// Which column.
        column: &'static str,
    },
}

/// The readings in an export of [`crate::write::table::readings`].
///
/// # Errors
/// [`NotOurs`].
pub fn read_own(text: &str) -> Result<Vec<Reading>, NotOurs> {
    let text = text.trim_start_matches('\u{feff}');
    let rows = rows(text, Separator::Comma)?;
    let Some((head, rows)) = rows.split_first() else {
        return Err(NotOurs::OtherColumns);
    };
    if head.cells != COLUMNS {
        return Err(NotOurs::OtherColumns);
    }
    rows.iter()
        .map(|row| {
            reading(&row.cells).map_err(|column| NotOurs::Row {
                line: row.line,
                column,
            })
        })
        .collect()
}

fn reading(cells: &[String]) -> Result<Reading, &'static str> {
    let [
        casting,
        read,
        from,
        to,
        mm,
        typed,
        unit,
        rule,
        instrument,
        hooked,
        stage,
        within,
        aside,
    ] = cells
    else {
        return Err("the number of cells");
    };
    let optional = |cell: &String| (!cell.is_empty()).then(|| plain_text(cell).to_owned());
    Ok(Reading {
        casting: CastingId::new(casting).map_err(|_| "casting")?,
        of: measured(read, from, to)?,
        value: Entry {
            typed: plain_text(typed).to_owned(),
            mm: length(mm).ok_or("value")?,
            unit: optional(unit),
            rule: optional(rule),
        },
        instrument: match instrument.as_str() {
            "" => None,
            id => Some(InstrumentId::new(id).map_err(|_| "instrument")?),
        },
        hooked: hooked == "yes",
        stage: optional(stage),
        within: match within.as_str() {
            "" => None,
            text => Some(length(text).ok_or("within")?),
        },
        set_aside: optional(aside),
    })
}

fn length(text: &str) -> Option<Length> {
    Length::try_from_mm(text.parse().ok()?).ok()
}

fn measured(read: &str, from: &str, to: &str) -> Result<Measured, &'static str> {
    let of = || point(from).ok_or("from");
    let face = || FaceId::new(from).map_err(|_| "from");
    let end = || point(to).ok_or("to");
    let (read, stood) = match read.split_once(MOVED) {
        Some((read, times)) => (read, times.parse().map_err(|_| "read")?),
        None => (read, 0),
    };
    Ok(match read {
        "level" => Measured::Level {
            from: of()?,
            to: end()?,
            stood,
        },
        "plumb" => Measured::Plumb {
            high: of()?,
            low: end()?,
            stood,
        },
        "height" => Measured::Height { of: end()?, stood },
        "board across" => Measured::Board {
            of: end()?,
            axis: BoardAxis::Across,
            stood,
        },
        "board back" => Measured::Board {
            of: end()?,
            axis: BoardAxis::Back,
            stood,
        },
        "board up" => Measured::Board {
            of: end()?,
            axis: BoardAxis::Up,
            stood,
        },
        "straight" => Measured::Straight {
            from: of()?,
            to: end()?,
        },
        "over the surface" => Measured::Over {
            from: of()?,
            to: end()?,
        },
        "square from an edge" => Measured::Square {
            edge: EdgeId::new(from).map_err(|_| "from")?,
            to: end()?,
        },
        "across" => Measured::Coordinate {
            of: end()?,
            axis: FaceAxis::U,
        },
        "up" => Measured::Coordinate {
            of: end()?,
            axis: FaceAxis::V,
        },
        "round the lower line" => Measured::Girth {
            face: face()?,
            at: GirthLine::Lower,
        },
        "round the upper line" => Measured::Girth {
            face: face()?,
            at: GirthLine::Upper,
        },
        _ => return Err("read"),
    })
}

fn point(text: &str) -> Option<PointRef> {
    match text.strip_prefix("feature ") {
        Some(id) => FeatureId::new(id).ok().map(PointRef::Feature),
        None => MarkId::new(text).ok().map(PointRef::Mark),
    }
}
