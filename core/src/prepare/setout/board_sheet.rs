//! Sheets for the gridded board: a plain grid at true size with numbers, over as many sheets as it
//! takes.

use super::super::Source;
use super::super::error::PrepareError;
use super::super::words::mm;
use super::grid::{MOST_LINES, NEAREST_MM, job_words};
use crate::frames::Point2;
use crate::sheet::{Cross, Drawing, Paper, SheetSetup, TemplateSheet, Words, compose};
use crate::units::Length;

/// The smallest and the largest board a side, mm: less carries no casting, more is no table.
const SIDES_MM: [f64; 2] = [200.0, 2400.0];
/// Crossings of the grid carry their numbers about so far apart, mm: one on every sheet.
const NUMBERED_MM: f64 = 100.0;
/// Numbered crossings at most: more and a large board is all numbers.
const MOST_NUMBERED: f64 = 150.0;

/// The sheets of a gridded board so far across and so far back, a line every so far.
///
/// # Errors
/// [`PrepareError`] where no board is of that size, the grid too fine or too coarse, or the paper
/// too small.
pub fn board_sheet(
    source: &Source<'_>,
    size: [Length; 2],
    every: Length,
    paper: Paper,
    day: &str,
) -> Result<Drawing, PrepareError> {
    let cannot = |why: String| PrepareError::Size {
        face: "the gridded board".to_owned(),
        why,
    };
    let [across, back] = size.map(Length::mm);
    let [least, most] = SIDES_MM;
    if size.iter().any(|s| !(least..=most).contains(&s.mm())) {
        return Err(cannot(format!(
            "each side is from {least} to {most} mm: it is {} by {}",
            mm(size[0]),
            mm(size[1])
        )));
    }
    let step = every.mm();
    let longer = across.max(back);
    let nearest = NEAREST_MM.max(libm::ceil(longer / MOST_LINES));
    if step < nearest || step > NUMBERED_MM {
        return Err(cannot(format!(
            "a grid line every {} mm: from {nearest} to {NUMBERED_MM} mm can be counted and read between",
            mm(every)
        )));
    }
    let count = |side: f64, step: f64| libm::floor(side / step + 1e-9);
    // Numbers stand on lines of the grid.
    let mut numbered = step * libm::ceil(NUMBERED_MM / step - 1e-9);
    while (count(across, numbered) + 1.0) * (count(back, numbered) + 1.0) > MOST_NUMBERED {
        numbered += step;
    }
    let places = |side: f64, step: f64| {
        let mut all = Vec::new();
        let mut k = 0.0;
        while k <= count(side, step) {
            all.push(k * step);
            k += 1.0;
        }
        all
    };
    // The whole grid ends on a line.
    let (right, far) = (count(across, step) * step, count(back, step) * step);
    let at = |x: f64, y: f64| Point2::from_mm(x - right / 2.0, y - far / 2.0);
    let upright = places(across, step)
        .into_iter()
        .map(|x| [at(x, 0.0), at(x, far)]);
    let level = places(back, step)
        .into_iter()
        .map(|y| [at(0.0, y), at(right, y)]);
    let cross = |x: f64, y: f64| Cross {
        letter: if y > 0.0 {
            format!("{x}/{y}")
        } else {
            format!("{x}/0 front")
        },
        place: at(x, y),
        off_by: None,
        suspect: None,
    };
    let (columns, rows) = (places(across, numbered), places(back, numbered));
    let end = |all: &[f64]| all.last().copied().unwrap_or_default();
    // The outermost four first: between them the joined sheets are taped.
    let (last, deepest) = (end(&columns), end(&rows));
    let outermost = [(0.0, 0.0), (last, 0.0), (last, deepest), (0.0, deepest)];
    let between = rows
        .iter()
        .flat_map(|y| columns.iter().map(move |x| (*x, *y)))
        .filter(|place| !outermost.contains(place));
    let crosses = outermost
        .into_iter()
        .chain(between)
        .map(|(x, y)| cross(x, y));
    let words = Words {
        feature: "gridded board".to_owned(),
        kind: "grid for plan and height".to_owned(),
        laying: "Glue the joined sheets on a flat, level board. Stand the casting on it as it will stand, its front towards the edge marked front.".to_owned(),
        allowance: format!(
            "A line every {} mm. At a cross: how far across / how far back, in mm from the front left corner. Plumb each mark down to the grid; its height by a stick from the board.",
            mm(every)
        ),
        ..job_words(source.job, day)
    };
    let sheet = TemplateSheet {
        centre_lines: upright.chain(level).collect(),
        grid: true,
        crosses: crosses.collect(),
        words,
        setup: SheetSetup {
            paper,
            ..SheetSetup::default()
        },
        ..TemplateSheet::default()
    };
    compose(&sheet).map_err(|why| cannot(why.to_string()))
}
