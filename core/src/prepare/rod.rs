//! Rods of a feature: how far its middle lies from each mark, over the surface, for one piece or the run.

use super::error::PrepareError;
use super::feature::{Prepared, prepare};
use super::printer::Printing;
use super::sheets::inputs_of_all;
use super::words::{mm, tenth};
use super::{Source, feature_title};
use crate::frames::{Flat, Point2};
use crate::job::{FeatureId, PieceId, Printed, SheetOf};
use crate::sheet::{Drawing, Lane, Paper, Rod, RodSheet, rods};
use crate::units::Length;

/// Two arcs that cross flatter than this place nothing well (design/10 §1.1: refuse poor crossings).
const LEAST_CROSSING: f64 = 0.5;
/// Nearer marks make no rod: a rule is handier.
const LEAST_MM: f64 = 5.0;

/// Rods with what was left out of them, a sentence each.
#[derive(Debug)]
pub struct Rods {
    /// Their sheets.
    pub drawing: Drawing,
    /// Pieces that have no place for the feature yet, and why.
    pub left_out: Vec<String>,
    /// What is recorded when they were printed, so that it is known when they no longer hold.
    pub printed: Printed,
}

/// A mark that can be found on a piece, as seen from the middle of the feature.
struct Seen {
    letter: String,
    way: Point2<Flat>,
    within: Length,
}

fn seen(prepared: &Prepared) -> Vec<Seen> {
    let crosses = prepared.crosses.iter().zip(&prepared.placed.marks);
    crosses
        .filter(|(c, _)| !c.unread && c.gone.is_none())
        .map(|(c, way)| Seen {
            letter: c.letter.clone(),
            way: *way,
            within: c.within,
        })
        .filter(|s| far(s) >= LEAST_MM)
        .collect()
}

fn far(s: &Seen) -> f64 {
    libm::hypot(s.way.x_mm(), s.way.y_mm())
}

/// The sine of the best crossing of two arcs about two of the marks.
fn best_crossing(marks: &[Seen]) -> f64 {
    let mut best = 0.0_f64;
    for (i, a) in marks.iter().enumerate() {
        for b in marks.iter().skip(i + 1) {
            let cross = a.way.x_mm() * b.way.y_mm() - a.way.y_mm() * b.way.x_mm();
            best = best.max(cross.abs() / (far(a) * far(b)));
        }
    }
    best
}

/// Rods for a feature: for one piece a rod with a lane for each mark, for several a rod for each mark
/// with a lane for each piece. `pieces` empty means the run.
///
/// # Errors
/// [`PrepareError`] of the first piece where none can be made; a rod that fits no sheet.
pub fn rods_of(
    source: &Source<'_>,
    feature: &FeatureId,
    pieces: &[PieceId],
    paper: Paper,
    day: &str,
) -> Result<Rods, PrepareError> {
    let job = source.job;
    let all: Vec<PieceId> = if pieces.is_empty() {
        let run = job.pieces_in_order();
        run.iter().map(|(id, _)| (*id).clone()).collect()
    } else {
        pieces.to_vec()
    };
    let mut made: Vec<(u32, Prepared)> = Vec::new();
    let mut left_out = Vec::new();
    let mut first_why = None;
    for piece in &all {
        match prepare(source, feature, piece) {
            Ok(p) => made.push((job.number_of(piece), p)),
            Err(why) => {
                left_out.push(format!("piece {}: {why}", job.number_of(piece)));
                first_why.get_or_insert(why);
            }
        }
    }
    let Some((number, first)) = made.first() else {
        return Err(first_why.unwrap_or(PrepareError::Sheet(crate::sheet::SheetError::Empty)));
    };
    let title = job
        .features
        .get(feature)
        .map_or_else(|| feature.to_string(), feature_title);
    let looks: Vec<(u32, Vec<Seen>)> = made.iter().map(|(n, p)| (*n, seen(p))).collect();
    let alone = made.len() == 1;
    let strips = if alone {
        one_piece(&looks, &title)
    } else {
        for_the_run(&looks, &title)
    };
    let whom = if alone {
        format!("piece {number}")
    } else {
        format!("{} pieces", made.len())
    };
    let printing = Printing::of(job, paper);
    let issue = job.issue_of(feature, job.number_of(&first.piece));
    let sheet = RodSheet {
        rods: strips,
        title: format!("Rods for {title}, {whom}"),
        how: how(&looks, alone, issue.and_then(|(_, i)| i.number)),
        proof: printing.state(first),
        issue: issue.and_then(|(_, i)| i.number).unwrap_or(1),
        made: format!("{day}, Samespot {}", env!("CARGO_PKG_VERSION")),
        correction: printing.correction,
    };
    let drawing = rods(&sheet, paper)?;
    let of = SheetOf::Rods(feature.clone());
    let pieces: Vec<PieceId> = made.iter().map(|(_, p)| p.piece.clone()).collect();
    let printed = Printed {
        inputs: inputs_of_all(source, &of, &pieces, paper),
        of,
        pieces,
        reference: drawing.reference.clone(),
        day: day.to_owned(),
        distances: Vec::new(),
    };
    Ok(Rods {
        drawing,
        left_out,
        printed,
    })
}

fn one_piece(looks: &[(u32, Vec<Seen>)], title: &str) -> Vec<Rod> {
    let lane = |s: &Seen| Lane {
        name: s.letter.clone(),
        at: Length::from_mm(far(s)),
    };
    let rod = |(number, marks): &(u32, Vec<Seen>)| Rod {
        title: format!("to the middle of {title}, piece {number}"),
        stop: "STOP on the mark of the lane".into(),
        lanes: marks.iter().map(lane).collect(),
    };
    looks.iter().map(rod).collect()
}

fn for_the_run(looks: &[(u32, Vec<Seen>)], title: &str) -> Vec<Rod> {
    let mut letters: Vec<&str> = Vec::new();
    for s in looks.iter().flat_map(|(_, marks)| marks) {
        if !letters.contains(&s.letter.as_str()) {
            letters.push(&s.letter);
        }
    }
    let rod = |letter: &str| Rod {
        title: format!("{letter} to the middle of {title}"),
        stop: format!("STOP on {letter}"),
        lanes: looks
            .iter()
            .filter_map(|(number, marks)| {
                let s = marks.iter().find(|s| s.letter == letter)?;
                Some(Lane {
                    name: number.to_string(),
                    at: Length::from_mm(far(s)),
                })
            })
            .collect(),
    };
    letters.into_iter().map(rod).collect()
}

fn how(looks: &[(u32, Vec<Seen>)], alone: bool, issue: Option<u32>) -> Vec<String> {
    let lane = if alone {
        "the lane of that mark"
    } else {
        "the lane of your piece"
    };
    let within = looks.iter().flat_map(|(_, m)| m).map(|s| s.within.mm());
    let within = Length::from_mm(within.fold(0.0, f64::max));
    let mut said = vec![
        format!(
            "Print at 100 %, cut the strip out, stop line on the mark, strip flat on the face. Draw a short arc through the cross in {lane}; the same from the other marks."
        ),
        format!(
            "Where the arcs cross is the middle, within {} mm of where it belongs; a third arc that misses by more than {} mm: stop and measure again.",
            tenth(within),
            mm(Length::from_mm(libm::ceil(within.mm() * 2.0 * 10.0) / 10.0))
        ),
    ];
    let poor = looks
        .iter()
        .filter(|(_, m)| best_crossing(m) < LEAST_CROSSING);
    let poor: Vec<String> = poor.map(|(n, _)| n.to_string()).collect();
    if !poor.is_empty() {
        let noun = if poor.len() == 1 { "piece" } else { "pieces" };
        said.push(format!(
            "The arcs cross too flat to place it on {noun} {}: use the template there.",
            poor.join(", ")
        ));
    }
    if let Some(issue) = issue {
        said.push(format!("Issue {issue}."));
    }
    said
}
