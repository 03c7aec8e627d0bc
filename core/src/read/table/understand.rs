//! From rows to readings: a row a casting with a column a reading, or a row a reading.

use super::Row;
use super::cell;
use super::head::{Table, is_casting, without_unit};
use super::names::{Names, one};
use crate::job::{CastingId, Entry, InstrumentId, MarkId, Measured, PartId, PointRef, Reading};
use crate::units::{DecimalStyle, FieldOptions, Question, Typed, TypedLength, Unit};
use std::collections::{BTreeMap, BTreeSet};

/// How the tape lay; a sheet seldom says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lay {
    /// Clear of the surface.
    Straight,
    /// On it.
    Over,
}

/// What the sheet leaves open.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// The unit where neither column, units row nor cell names one.
    pub unit: Unit,
    /// The decimal mark.
    pub decimals: DecimalStyle,
    /// How the tape lay.
    pub lay: Lay,
    /// With what, where no column says so.
    pub instrument: Option<InstrumentId>,
}

/// A reading understood, and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Line of the text, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// The reading; its entry keeps what was typed.
    pub reading: Reading,
}

/// A cell or row from which nothing is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct NotKept {
    /// Line of the text, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// As typed.
    pub typed: String,
    /// Why not.
    pub why: String,
}

/// What came of a table: every filled cell under a column of readings is in one of these.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Understanding {
    /// Readings.
    pub found: Vec<Found>,
    /// Those that mean one of several things, likeliest first, and the question.
    pub asked: Vec<(Question, Vec<Found>)>,
    /// Those from which nothing is kept.
    pub not_kept: Vec<NotKept>,
    /// Empty cells: not measured.
    pub blank: usize,
    /// Columns that were not used, by name.
    pub unused: Vec<String>,
}

/// The columns of a sheet, by what they hold.
#[derive(Default)]
struct Columns<'a> {
    casting: Option<usize>,
    face: Option<usize>,
    from: Option<usize>,
    to: Option<usize>,
    instrument: Option<usize>,
    /// Column, its unit, and in the wide shape its face and letters.
    values: Vec<(usize, Option<Unit>, Option<Line<'a>>)>,
}

#[derive(Clone, Copy)]
struct Line<'a> {
    face: Option<&'a str>,
    letters: [&'a str; 2],
}

/// Reads every data row of a table.
///
/// Columns are found by name in any order. A column named twice is used by neither name; a
/// casting on two rows of readings, or spelled in two ways (`07`, `7`), is kept from no row.
///
/// # Errors
/// A sentence where the columns that are needed are not there.
pub fn understand(table: &Table, names: &Names, opts: &Options) -> Result<Understanding, String> {
    let mut out = Understanding::default();
    let columns = columns(table, &mut out)?;
    let long = columns.from.is_some();
    let twice = named_twice(table, columns.casting, long);
    let units = table.units().unwrap_or_default();
    for row in table.data() {
        let named = text(row, columns.casting);
        if twice.contains(plain(named)) {
            out.not_kept.push(NotKept {
                line: row.line,
                column: columns.casting.map_or(1, |c| c + 1),
                typed: named.to_owned(),
                why: "This casting is named more than once, or in two ways: leave one row, \
                      or give each its own number"
                    .into(),
            });
            continue;
        }
        for &(column, unit, line) in &columns.values {
            let raw = text(row, Some(column));
            if raw.trim().is_empty() {
                out.blank += 1;
                continue;
            }
            let refuse = |why: String| NotKept {
                line: row.line,
                column: column + 1,
                typed: raw.to_owned(),
                why,
            };
            let line = line.unwrap_or_else(|| Line {
                face: Some(text(row, columns.face)).filter(|face| !face.trim().is_empty()),
                letters: [text(row, columns.from), text(row, columns.to)],
            });
            let field = FieldOptions {
                decimals: opts.decimals,
                ..FieldOptions::size(
                    unit.or(units.get(column).copied().flatten())
                        .unwrap_or(opts.unit),
                )
            };
            let who = place(names, named, line).and_then(|(casting, marks)| {
                let tool = text(row, columns.instrument);
                Ok((casting, marks, instrument(names, tool, opts)?))
            });
            let read = who.and_then(|who| Ok((who, cell::length(raw, &field)?)));
            let found =
                |who: &(CastingId, [MarkId; 2], Option<InstrumentId>), l: &TypedLength| Found {
                    line: row.line,
                    column: column + 1,
                    reading: reading(who, l, opts.lay),
                };
            match read {
                Err(why) => out.not_kept.push(refuse(why)),
                Ok((who, Typed::Understood(l))) => out.found.push(found(&who, &l)),
                Ok((who, Typed::Ask(ask))) => {
                    let each = ask.readings.iter().map(|l| found(&who, l)).collect();
                    out.asked.push((ask.question, each));
                }
                Ok(_) => out.blank += 1,
            }
        }
    }
    Ok(out)
}

fn columns<'a>(table: &'a Table, out: &mut Understanding) -> Result<Columns<'a>, String> {
    let heads = table.columns();
    let mut columns = Columns::default();
    let mut wide = Vec::new();
    for (at, head) in heads.iter().enumerate() {
        let (name, unit) = without_unit(head);
        let lower = name.to_lowercase();
        let twice = heads
            .iter()
            .filter(|other| without_unit(other).0.to_lowercase() == lower);
        if !name.is_empty() && twice.count() > 1 {
            out.not_kept.push(NotKept {
                line: table.rows.get(table.head).map_or(1, |row| row.line),
                column: at + 1,
                typed: (*head).to_owned(),
                why: "Two columns have this name: rename one".into(),
            });
            continue;
        }
        match lower.as_str() {
            "face" => columns.face = Some(at),
            "from" => columns.from = Some(at),
            "to" => columns.to = Some(at),
            "value" | "reading" => columns.values.push((at, unit, None)),
            "instrument" | "tape" => columns.instrument = Some(at),
            _ if is_casting(name) && columns.casting.is_none() => columns.casting = Some(at),
            _ => match line(name) {
                Some(line) => wide.push((at, unit, Some(line))),
                None => out.unused.push(name.to_owned()),
            },
        }
    }
    if columns.casting.is_none() {
        return Err(
            "No column names the castings: name one *casting*, or pick the row that \
                    names the columns"
                .into(),
        );
    }
    match (columns.from, columns.to, columns.values.is_empty()) {
        (Some(_), Some(_), false) => Ok(columns),
        (None, None, true) if !wide.is_empty() => {
            columns.values = wide;
            Ok(columns)
        }
        _ => Err(
            "No column holds readings: name columns by their marks, such as A-B, or have \
                  the three columns *from*, *to* and *value*"
                .into(),
        ),
    }
}

/// `A-B`, `A–B`, `A B`, `head-left A–B`.
fn line(name: &str) -> Option<Line<'_>> {
    let (face, pair) = match name.rsplit_once([' ', '\u{a0}']) {
        Some((front, last)) if last.contains(['-', '–']) => (Some(front.trim()), last),
        Some((front, _)) => match front.rsplit_once(' ') {
            Some((face, _)) => (Some(face.trim()), name.get(face.len() + 1..)?),
            None => (None, name),
        },
        None => (None, name),
    };
    let (a, b) = pair.split_once(['-', '–', ' ', '\u{a0}'])?;
    let letter =
        |t: &str| (1..=2).contains(&t.chars().count()) && t.chars().all(char::is_alphanumeric);
    (letter(a) && letter(b)).then_some(Line {
        face,
        letters: [a, b],
    })
}

/// A casting's name as two spellings of it agree: without spaces and leading zeros.
fn plain(named: &str) -> &str {
    named.trim().trim_start_matches('0')
}

fn named_twice(table: &Table, column: Option<usize>, long: bool) -> BTreeSet<&str> {
    let mut spellings: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for row in table.data() {
        let named = text(row, column);
        let known = spellings.entry(plain(named)).or_default();
        // In a sheet of one row a reading the same casting stands on many rows.
        if !long || !known.contains(&named) {
            known.push(named);
        }
    }
    spellings.retain(|_, all| all.len() > 1);
    spellings.into_keys().collect()
}

fn text(row: &Row, column: Option<usize>) -> &str {
    column
        .and_then(|c| row.cells.get(c))
        .map_or("", String::as_str)
}

fn place(names: &Names, named: &str, line: Line<'_>) -> Result<(CastingId, [MarkId; 2]), String> {
    let casting = one(&names.castings, named).map_err(|n| match n {
        0 => format!("No casting here is called {}: add it first", named.trim()),
        _ => format!(
            "{n} castings are called {}: use their full names",
            named.trim()
        ),
    })?;
    let part: Option<&PartId> = casting.part.as_ref();
    let mut all = names.marks(part, line.face, line.letters);
    let [a, b] = line.letters;
    match (all.pop(), all.len()) {
        (Some([from, to]), 0) if from == to => Err(format!("{a} to {b} is no distance")),
        (Some(only), 0) => Ok((casting.id.clone(), only)),
        (Some(_), _) => {
            let has = |face: &str| names.marks(part, Some(face), line.letters).len() == 1;
            let named = names.faces.iter().map(|f| f.name.trim());
            let face = named
                .filter(|n| !n.is_empty())
                .find(|n| has(n))
                .unwrap_or("front");
            Err(format!(
                "More than one face has marks {a} and {b}: name the face, as ‘{face} {a}-{b}’ at the head of the column, or ‘{face}’ in a column called face"
            ))
        }
        (None, _) => Err(format!(
            "No face of this casting has both marks {a} and {b}"
        )),
    }
}

fn instrument(names: &Names, tool: &str, opts: &Options) -> Result<Option<InstrumentId>, String> {
    if tool.trim().is_empty() {
        return Ok(opts.instrument.clone());
    }
    one(&names.instruments, tool)
        .map(|found| Some(found.id.clone()))
        .map_err(|_| format!("No one instrument here is called {}", tool.trim()))
}

fn reading(
    (casting, [from, to], instrument): &(CastingId, [MarkId; 2], Option<InstrumentId>),
    length: &TypedLength,
    lay: Lay,
) -> Reading {
    let from = PointRef::Mark(from.clone());
    let to = PointRef::Mark(to.clone());
    Reading {
        casting: casting.clone(),
        of: match lay {
            Lay::Straight => Measured::Straight { from, to },
            Lay::Over => Measured::Over { from, to },
        },
        value: Entry {
            typed: length.raw.clone(),
            mm: length.mm,
            unit: Some(length.unit.to_string()),
            rule: Some(length.rule.to_string()),
        },
        instrument: instrument.clone(),
        hooked: false,
        stage: None,
        within: None,
        set_aside: None,
    }
}
