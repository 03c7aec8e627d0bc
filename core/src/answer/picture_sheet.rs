//! A picture or a drawing on known places at full size with a grid, over as many sheets as it takes.

use super::ask::FileKind;
use super::drawn::{LeftOut, PictureSheet, SheetsMade};
use super::files::{Pagewise, packed, page_texts};
use crate::frames::{Flat, Point2};
use crate::prepare::setout::grid_lines;
use crate::read::photo::{Flattened, flattened, is_photograph};
use crate::sheet::drawing::Spot;
use crate::sheet::{
    Cross, Drawing, FlatPath, Greys, SheetSetup, TemplateSheet, Words, compose, for_cutter,
};
use crate::write::pdf::{Part, pdf};
use crate::write::svg::svg_pages;
use core::slice;

/// What is shown in the plane of the known places.
pub(super) struct Shown {
    /// Its lower left corner, µm.
    pub(super) low: Spot,
    /// Its upper right corner.
    pub(super) top: Spot,
    /// A picture, laid flat.
    pub(super) picture: Option<Greys>,
    /// Lines of a drawing, mm.
    pub(super) lines: Vec<FlatPath>,
    /// How true it is amid the known places (95 %), mm.
    pub(super) middle_within: f64,
    /// And at its worst corner.
    pub(super) worst_within: f64,
    /// What is not on the sheets, and what nothing proves.
    pub(super) warnings: Vec<String>,
    /// What of the file was left out.
    pub(super) left_out: Vec<LeftOut>,
}

/// The sheets as a file or as pages to look at, and what is to be said of them.
///
/// # Errors
/// A sentence: the picture, the known places, the grid or the paper.
pub fn picture_sheet(bytes: &[u8], ask: &PictureSheet) -> Result<(SheetsMade, Vec<u8>), String> {
    let shown = if is_photograph(bytes) {
        of_picture(&flattened(bytes, &ask.places).map_err(|e| e.to_string())?)
    } else {
        super::drawing_sheet::shown(bytes, &ask.places)?
    };
    let sheet = template(&shown, ask)?;
    let drawing = compose(&sheet).map_err(|e| e.to_string())?;
    let (name, media, file) = written(&sheet, &drawing, ask)?;
    let made = SheetsMade {
        pages: drawing.pages.len(),
        middle_within: shown.middle_within,
        worst_within: shown.worst_within,
        name,
        media,
        left_out: shown.left_out,
    };
    Ok((made, file))
}

/// A file's name, its media type, and what is in it.
fn written(
    sheet: &TemplateSheet,
    drawing: &Drawing,
    ask: &PictureSheet,
) -> Result<(String, String, Vec<u8>), String> {
    let Some(kind) = ask.file else {
        let pages = serde_json::to_vec(&svg_pages(drawing)).map_err(|e| e.to_string())?;
        return Ok((String::new(), "application/json".to_owned(), pages));
    };
    let stem = format!("{} full size", stem(&ask.of.picture));
    if let Some(how) = Pagewise::of(kind) {
        let whole = (how.in_one_piece)
            .then(|| for_cutter(slice::from_ref(sheet), &drawing.reference))
            .transpose()
            .map_err(|e| e.to_string())?;
        let texts = page_texts(&stem, whole.as_ref().unwrap_or(drawing), &how);
        let file = packed(&stem, texts, &how).map_err(|e| e.to_string())?;
        return Ok((file.name, file.media.to_owned(), file.content));
    }
    if kind == FileKind::Zip {
        return Err("a folder is of a run, not of a picture: take PDF, SVG or DXF".to_owned());
    }
    let part = Part {
        bookmark: &drawing.title,
        drawing,
    };
    let file = pdf(&drawing.title, &[part]).map_err(|e| e.to_string())?;
    Ok((format!("{stem}.pdf"), "application/pdf".to_owned(), file))
}

/// What a file made from another is called: its letters and figures.
fn stem(picture: &str) -> String {
    let safe = |c: char| {
        if c.is_alphanumeric() || c == '-' {
            c
        } else {
            ' '
        }
    };
    let stem: String = picture.chars().map(safe).take(60).collect();
    let stem = stem.split_whitespace().collect::<Vec<_>>().join("-");
    if stem.is_empty() {
        "picture".to_owned()
    } else {
        stem
    }
}

/// What stands on the sheets of a picture.
///
/// # Errors
/// A sentence.
pub fn drawing(flat: &Flattened, ask: &PictureSheet) -> Result<Drawing, String> {
    let sheet = template(&of_picture(flat), ask)?;
    compose(&sheet).map_err(|e| e.to_string())
}

fn of_picture(flat: &Flattened) -> Shown {
    let mut warnings = Vec::new();
    match flat.square_on {
        Some(n) => warnings.push(format!(
            "Held by {n} places of a picture said to be taken square on; a camera 3° askew is allowed for. Four places would show how it was held."
        )),
        None if flat.fifth.is_none() => {
            warnings.push("Nothing proves the four places; a fifth would.".to_owned());
        }
        None => {}
    }
    if flat.square_on == Some(2) {
        warnings.push("Nothing proves the two places: check one length of the picture with a tape before use.".to_owned());
    }
    Shown {
        low: flat.picture.low,
        top: flat.picture.top(),
        picture: Some(flat.picture.clone()),
        lines: Vec::new(),
        middle_within: flat.middle_within,
        worst_within: flat.worst_within,
        warnings,
        left_out: Vec::new(),
    }
}

fn template(shown: &Shown, ask: &PictureSheet) -> Result<TemplateSheet, String> {
    let (low, top) = (shown.low, shown.top);
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
    let back = kurbo::Affine::translate((-mm(middle.x), -mm(middle.y)));
    Ok(TemplateSheet {
        underlay: (shown.picture.as_ref()).map(|p| p.shifted(Spot::new(-middle.x, -middle.y))),
        paint_edges: shown.lines.iter().map(|path| path.carried(back)).collect(),
        centre_lines: lines.collect(),
        grid: true,
        words: words(shown, ask, &crosses),
        crosses,
        setup: SheetSetup {
            paper: ask.paper,
            ..SheetSetup::default()
        },
        ..TemplateSheet::default()
    })
}

fn words(shown: &Shown, ask: &PictureSheet, crosses: &[Cross]) -> Words {
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
    let (what, drawn) = match &shown.picture {
        Some(_) => (
            "picture",
            "printed in pale grey so that lines are seen over it",
        ),
        None => (
            "drawing",
            "a drawn line stands as its middle, an area as its edge",
        ),
    };
    Words {
        job: of.job.clone(),
        part: of.part.clone(),
        face: of.face.clone(),
        feature: format!("{what} {}", of.picture),
        kind: format!("full-size {what}"),
        laying,
        lines: "line of the drawing",
        allowance: format!(
            "A grid line every {every} mm, both ways, counted from {origin}. The {what} is true to {:.1} mm amid the crosses and to {:.1} at its worst corner (95 %); {drawn}.",
            shown.middle_within, shown.worst_within
        ),
        warnings: shown.warnings.clone(),
        issue: of.issue,
        issue_date: of.issue_date.clone(),
        serves: of.serves.clone(),
        date: of.date.clone(),
        program: format!("Samespot {}", env!("CARGO_PKG_VERSION")),
        invented: of.invented.clone(),
        ..Words::default()
    }
}
