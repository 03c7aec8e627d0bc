//! A picture on known places at full size with a grid, over as many sheets as it takes.

use super::drawn::{PictureSheet, SheetsMade};
use crate::frames::{Flat, Point2};
use crate::prepare::setout::grid_lines;
use crate::read::photo::{Flattened, flattened};
use crate::sheet::drawing::Spot;
use crate::sheet::{Cross, Drawing, SheetSetup, TemplateSheet, Words, compose};
use crate::write::pdf::{Part, pdf};

/// The sheets as PDF, and what is to be said of them.
///
/// # Errors
/// A sentence: the picture, the known places, the grid or the paper.
pub fn picture_sheet(bytes: &[u8], ask: &PictureSheet) -> Result<(SheetsMade, Vec<u8>), String> {
    let flat = flattened(bytes, &ask.places).map_err(|e| e.to_string())?;
    let drawing = drawing(&flat, ask)?;
    let part = Part {
        bookmark: &drawing.title,
        drawing: &drawing,
    };
    let file = pdf(&drawing.title, &[part]).map_err(|e| e.to_string())?;
    let made = SheetsMade {
        pages: drawing.pages.len(),
        middle_within: flat.middle_within,
        worst_within: flat.worst_within,
    };
    Ok((made, file))
}

/// What stands on the sheets.
///
/// # Errors
/// A sentence.
pub fn drawing(flat: &Flattened, ask: &PictureSheet) -> Result<Drawing, String> {
    let (low, top) = (flat.picture.low, flat.picture.top());
    let middle = Spot::new(i32::midpoint(low.x, top.x), i32::midpoint(low.y, top.y));
    let mm = |um: i32| f64::from(um) / 1000.0;
    let onto = |[x, y]: [f64; 2]| Point2::<Flat>::from_mm(x - mm(middle.x), y - mm(middle.y));
    let known = &ask.places.known;
    let letter = |k: usize, name: &str| match name.strip_prefix("mark ") {
        Some(letter) => letter.to_owned(),
        None => (k + 1).to_string(),
    };
    let crosses: Vec<Cross> = known
        .iter()
        .enumerate()
        .map(|(k, place)| Cross {
            letter: letter(k, &place.name),
            place: onto(place.at_mm),
            off_by: None,
            suspect: None,
        })
        .collect();
    let first = known.first().map_or([0.0; 2], |p| p.at_mm);
    let low_mm = [mm(low.x), mm(low.y)];
    let high_mm = [mm(top.x), mm(top.y)];
    let [upright, level] = grid_lines(first, low_mm, high_mm, ask.every)?;
    let lines = upright
        .into_iter()
        .map(|x| [onto([x, low_mm[1]]), onto([x, high_mm[1]])])
        .chain(
            level
                .into_iter()
                .map(|y| [onto([low_mm[0], y]), onto([high_mm[0], y])]),
        );
    let sheet = TemplateSheet {
        underlay: Some(flat.picture.shifted(Spot::new(-middle.x, -middle.y))),
        centre_lines: lines.collect(),
        words: words(flat, ask, &crosses),
        crosses,
        setup: SheetSetup {
            paper: ask.paper,
            ..SheetSetup::default()
        },
        ..TemplateSheet::default()
    };
    compose(&sheet).map_err(|e| e.to_string())
}

fn words(flat: &Flattened, ask: &PictureSheet, crosses: &[Cross]) -> Words {
    let of = &ask.of;
    let by_marks = ask.places.known.iter().all(|p| p.name.starts_with("mark "));
    let laying = match crosses {
        [a, b, ..] if by_marks => {
            let (a, b) = (&a.letter, &b.letter);
            format!("Put {a} on {a}, then turn until {b} lies on the line {a}–{b}.")
        }
        _ => String::new(),
    };
    let origin = crosses.first().map_or("", |c| c.letter.as_str());
    let every = crate::prepare::words::mm(ask.every);
    let mut warnings = vec![match flat.square_on {
        Some(n) => format!(
            "Held by {n} places of a picture said to be taken square on; a camera 3° askew is allowed for. Four places would show how it was held."
        ),
        None if flat.fifth.is_none() => "Nothing proves the four places; a fifth would.".to_owned(),
        None => String::new(),
    }];
    if flat.square_on == Some(2) {
        warnings.push("Nothing proves the two places: check one length of the picture with a tape before use.".to_owned());
    }
    warnings.retain(|w| !w.is_empty());
    Words {
        job: of.job.clone(),
        part: of.part.clone(),
        face: of.face.clone(),
        feature: format!("picture {}", of.picture),
        kind: "full-size picture".to_owned(),
        laying,
        allowance: format!(
            "A grid line every {every} mm, both ways, counted from {origin}. The picture is true to {:.1} mm amid the crosses and to {:.1} at its worst corner (95 %); printed in pale grey so that lines are seen over it.",
            flat.middle_within, flat.worst_within
        ),
        warnings,
        issue: of.issue,
        issue_date: of.issue_date.clone(),
        serves: of.serves.clone(),
        date: of.date.clone(),
        program: format!("Samespot {}", env!("CARGO_PKG_VERSION")),
        invented: of.invented.clone(),
        ..Words::default()
    }
}
