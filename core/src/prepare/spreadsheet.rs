//! Readings of a whole run from a spreadsheet, ready to be kept: what each cell was understood as,
//! which are asked about, which are refused and why, which stand in the job already.

use super::naming::{casting_words, reading_words};
use crate::job::{EntityRef, InstrumentId, InstrumentKind, Job, Reading};
use crate::read::table::{
    Found, Lay, Names, NotOurs, Options, Table, read_own, rows, separator_of, understand,
};
use crate::units::{Length, Unit, words};
use serde::{Deserialize, Serialize};

/// One reading of a sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetReading {
    /// Line of the text, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// *seal 7*.
    pub casting: String,
    /// *A to B, over the surface*.
    pub words: String,
    /// As typed.
    pub typed: String,
    /// As understood.
    pub value: Length,
    /// What would be kept.
    pub reading: Reading,
    /// The job has this reading with this value already.
    pub known: bool,
}

/// A cell that may mean one of several things.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetQuestion {
    /// What is asked.
    pub question: String,
    /// What may have been meant, likeliest first.
    pub readings: Vec<SheetReading>,
}

/// A cell from which nothing is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SheetRefusal {
    /// Line of the text, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// As typed.
    pub typed: String,
    /// Why not, and what to do.
    pub why: String,
}

/// A sheet read.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SheetView {
    /// Readings, in the order of the sheet.
    pub readings: Vec<SheetReading>,
    /// Those that are asked about.
    pub asked: Vec<SheetQuestion>,
    /// Those that are not kept.
    pub refused: Vec<SheetRefusal>,
    /// Empty cells: not measured.
    pub blank: usize,
    /// Columns that were not used, by name.
    pub unused: Vec<String>,
}

/// What is understood of a sheet; nothing of it is kept by this.
///
/// # Errors
/// The sentence where the text is no table of readings.
pub fn read_sheet(job: &Job, text: &str, lay: Lay) -> Result<SheetView, String> {
    match read_own(text) {
        Ok(all) => return Ok(own(job, all)),
        Err(NotOurs::OtherColumns) => {}
        Err(other) => return Err(other.to_string()),
    }
    let table = Table::of(rows(text, separator_of(text)).map_err(|e| e.to_string())?);
    let options = Options {
        unit: match job.about.unit.as_deref() {
            Some("cm") => Unit::Cm,
            Some("in") => Unit::In,
            _ => Unit::Mm,
        },
        decimals: table.decimals(),
        lay,
        instrument: tape(job, lay),
    };
    let understood = understand(&table, &Names::of(job), &options)?;
    // Taken at the stage the casting is in: a sheet has no column for it.
    let line = |mut found: Found| {
        let stage = job.stage_of(&found.reading.casting);
        found.reading.stage = stage.map(str::to_owned);
        line(job, found)
    };
    Ok(SheetView {
        readings: understood.found.into_iter().map(line).collect(),
        asked: understood
            .asked
            .into_iter()
            .map(|(question, found)| SheetQuestion {
                question: words::ask(question).to_owned(),
                readings: found.into_iter().map(line).collect(),
            })
            .collect(),
        refused: understood
            .not_kept
            .into_iter()
            .map(|n| SheetRefusal {
                line: n.line,
                column: n.column,
                typed: n.typed,
                why: n.why,
            })
            .collect(),
        blank: understood.blank,
        unused: understood.unused,
    })
}

/// The job's own tape for a way of lying, where it has exactly one.
fn tape(job: &Job, lay: Lay) -> Option<InstrumentId> {
    let kind = match lay {
        Lay::Over => InstrumentKind::SoftTape,
        Lay::Straight => InstrumentKind::PocketTape,
    };
    let mut all = job.instruments.iter().filter(|(_, i)| i.kind == Some(kind));
    match (all.next(), all.next()) {
        (Some((id, _)), None) => Some(id.clone()),
        _ => None,
    }
}

fn line(job: &Job, found: Found) -> SheetReading {
    let Found {
        line,
        column,
        reading,
    } = found;
    SheetReading {
        line,
        column,
        casting: casting_words(job, &reading.casting),
        words: reading_words(job, &reading.of),
        typed: reading.value.typed.clone(),
        value: reading.value.mm,
        known: known(job, &reading),
        reading,
    }
}

fn own(job: &Job, all: Vec<Reading>) -> SheetView {
    let mut view = SheetView::default();
    let mut there: Vec<&Reading> = job.readings.iter().map(|r| &r.says).collect();
    for (at, reading) in all.into_iter().enumerate() {
        // The head is the first line of an export.
        let number = at + 2;
        if job.castings.contains_key(&reading.casting) {
            // An export says the stage itself, also that there was none.
            let found = Found {
                line: number,
                column: 5,
                reading,
            };
            let mut line = line(job, found);
            // Read twice alike, perhaps with two tapes: each stands for one that is here.
            let copy = there.iter().position(|r| same_reading(r, &line.reading));
            line.known = copy.map(|at| there.remove(at)).is_some();
            view.readings.push(line);
        } else {
            view.refused.push(SheetRefusal {
                line: number,
                column: 1,
                typed: reading.casting.to_string(),
                why: "No casting here has this name: this export is of another job".into(),
            });
        }
    }
    view
}

/// An export says everything of a reading: one that differs in any of it is another.
fn same_reading(a: &Reading, b: &Reading) -> bool {
    a.casting == b.casting
        && a.of == b.of
        && a.value.mm.to_um() == b.value.mm.to_um()
        && a.instrument == b.instrument
        && a.stage == b.stage
}

fn known(job: &Job, reading: &Reading) -> bool {
    let by = reading.of.lies_by();
    let lies_there = |known: Option<&EntityRef>| known == by.as_ref();
    let mut there = job.readings.about_parts(&reading.casting, &lies_there);
    there.any(|r| r.says.of == reading.of && r.says.value.mm.to_um() == reading.value.mm.to_um())
}
