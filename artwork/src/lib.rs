//! A WebAssembly module of its own: reading artwork and photographed tracings, loaded when the first
//! is opened.
//!
//! Nothing but the way in and out of [`samespot_core::read::artwork`] and
//! [`samespot_core::read::photo`]. A request carries the file and
//! what has been answered about it so far, so that the module holds no state between calls.

use samespot_core::answer::{DrawnFile, LeftOut, OwnSize, PictureSheet, TracedSize, picture_sheet};
use samespot_core::frames::Flat;
use samespot_core::outline::{FLATTENING, Outline};
use samespot_core::read::artwork::{
    Answers, Artwork, DeclaredSize, Overlaps, PrepareError, SizeAnswer, Strokes, prepare, read,
};
use samespot_core::read::marked_picture::MarkedPicture;
use samespot_core::read::photo::{self, PhotoError, Tracing};
use samespot_core::units::Length;
use serde::Deserialize;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// How wide an outline is stored, whatever size it will be made at: a metre, so that the grid of
/// 1/1024 mm is finer than anything that is made of it later.
const STORED: Length = Length::from_mm(1000.0);

/// What has been answered about a drawing.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(rename_all = "kebab-case", default)]
struct Told {
    strokes: Strokes,
    without_words: bool,
    /// What was tapped in a picture that holds no tracing frame.
    places: Option<MarkedPicture>,
    /// A picture to be printed at full size.
    sheet: Option<PictureSheet>,
}

/// A panic throws its words at who asked. What ends the module without any is memory that was refused:
/// `public/worker.js` tells the two apart by that.
#[wasm_bindgen(start)]
pub fn begin() {
    std::panic::set_hook(Box::new(|info| {
        wasm_bindgen::throw_str(&info.to_string());
    }));
}

/// Answers one request in the worker: `{ json, bytes }`, the bytes an outline to be attached.
#[wasm_bindgen]
#[must_use]
pub fn answer(request: &str, bytes: &[u8]) -> JsValue {
    let (json, outline) = reply(request, bytes);
    let answer = js_sys::Object::new();
    let outline = js_sys::Uint8Array::from(outline.as_slice());
    // Setting a field of an object just made cannot fail.
    let _ = js_sys::Reflect::set(&answer, &"json".into(), &json.into());
    let _ = js_sys::Reflect::set(&answer, &"bytes".into(), &outline);
    answer.into()
}

/// [`answer`] without the browser: the words as JSON, and the outline as it is attached to a job.
#[must_use]
pub fn reply(request: &str, bytes: &[u8]) -> (String, Vec<u8>) {
    let refused = |sentence: String| (DrawnFile::Refused { sentence }, Vec::new());
    let (came, outline) = match serde_json::from_str::<Told>(request) {
        Err(e) => refused(format!("the question was not understood: {e}")),
        Ok(Told {
            places: Some(places),
            ..
        }) => marked(&places),
        Ok(Told {
            sheet: Some(sheet), ..
        }) => match picture_sheet(bytes, &sheet) {
            Ok((made, file)) => (DrawnFile::Sheets(made), file),
            Err(sentence) => refused(sentence),
        },
        Ok(_) if photo::is_photograph(bytes) => match photo::read(bytes) {
            Err(
                e @ (PhotoError::Targets { .. }
                | PhotoError::TooManyTargets { .. }
                | PhotoError::NotTheFrame),
            ) => {
                let sentence = e.to_string();
                (DrawnFile::NoFrame { sentence }, Vec::new())
            }
            Err(e) => refused(e.to_string()),
            Ok(tracing) => {
                traced(&tracing).unwrap_or_else(|| refused(PrepareError::Nothing.to_string()))
            }
        },
        Ok(told) => match read(bytes) {
            Err(e) => refused(e.to_string()),
            Ok(artwork) => outlined(&artwork, &told),
        },
    };
    (serde_json::to_string(&came).unwrap_or_default(), outline)
}

fn traced(tracing: &Tracing) -> Option<(DrawnFile, Vec<u8>)> {
    let stored: Outline<Flat> = tracing.outline.sized(tracing.across, STORED)?;
    let came = DrawnFile::Outline {
        proportion: tracing.up / tracing.across,
        ignored: Vec::new(),
        traced: Some(TracedSize {
            across: tracing.across.mm(),
            up: tracing.up.mm(),
            within: tracing.within.mm(),
            fifth_off: tracing.fifth_off.mm(),
            paper: tracing.paper.name(),
            marks: tracing.marks.iter().map(|m| [m.x_mm(), m.y_mm()]).collect(),
            specks: tracing.specks,
        }),
        own: Vec::new(),
        picture: String::new(),
    };
    Some((came, serde_json::to_vec(&stored).unwrap_or_default()))
}

fn marked(places: &MarkedPicture) -> (DrawnFile, Vec<u8>) {
    match photo::on_places(places) {
        Err(e) => (
            DrawnFile::Refused {
                sentence: e.to_string(),
            },
            Vec::new(),
        ),
        Ok((came, outline)) => {
            let stored: Option<Outline<Flat>> = outline.sized(Length::from_mm(came.across), STORED);
            let bytes = stored.and_then(|o| serde_json::to_vec(&o).ok());
            (DrawnFile::Marked(came), bytes.unwrap_or_default())
        }
    }
}

fn outlined(artwork: &Artwork, told: &Told) -> (DrawnFile, Vec<u8>) {
    let stored = at_stored_size(artwork, told).and_then(|(outline, drawn)| {
        let b = outline.bounds().ok_or(PrepareError::Nothing)?;
        Ok((outline, b.height() / b.width(), drawn))
    });
    let came = match stored {
        Ok((outline, proportion, drawn)) => {
            let ignored = artwork.ignored.iter().map(LeftOut::of).collect();
            let bytes = serde_json::to_vec(&outline).unwrap_or_default();
            return (
                DrawnFile::Outline {
                    proportion,
                    ignored,
                    traced: None,
                    own: own_sizes(&artwork.size, drawn),
                    picture: picture(&outline),
                },
                bytes,
            );
        }
        Err(PrepareError::Strokes { lines }) => DrawnFile::AskStrokes {
            lines,
            dashed: artwork
                .shapes
                .iter()
                .filter(|s| s.stroke.as_ref().is_some_and(|s| s.dashed))
                .count(),
        },
        Err(PrepareError::Words { texts }) => DrawnFile::AskWords {
            texts,
            first: artwork
                .texts
                .first()
                .map_or_else(String::new, |t| t.words.clone()),
        },
        Err(e) => DrawnFile::Refused {
            sentence: e.to_string(),
        },
    };
    (came, Vec::new())
}

/// How wide what is drawn would be by the size the file gives itself.
fn own_sizes(declared: &DeclaredSize, drawn: Length) -> Vec<OwnSize> {
    match declared {
        DeclaredSize::Mm { .. } => vec![OwnSize {
            across: drawn.mm(),
            by: "as the file says".to_owned(),
        }],
        DeclaredSize::Pixels { choices, .. } => choices
            .iter()
            .map(|c| OwnSize {
                across: drawn.mm() * 25.4 / c.per_inch,
                by: format!("at {:.0} pixels to the inch", c.per_inch),
            })
            .collect(),
        DeclaredSize::Unknown => Vec::new(),
    }
}

/// An outline to be looked at: nobody sees a thousandth of its width.
fn picture(outline: &Outline<Flat>) -> String {
    let Some(b) = outline.bounds() else {
        return String::new();
    };
    let (left, top) = (b.min.x_mm(), b.max.y_mm());
    let mm = 1000.0 / b.width().mm();
    let mut d = String::new();
    for line in outline.polylines(b.width() / 1000.0) {
        for (k, p) in line.iter().enumerate() {
            let (x, y) = ((p.x_mm() - left) * mm, (top - p.y_mm()) * mm);
            d.push_str(&format!("{}{x:.0} {y:.0}", if k == 0 { "M" } else { "L" }));
        }
        d.push('Z');
    }
    d
}

fn at_stored_size(artwork: &Artwork, told: &Told) -> Result<(Outline<Flat>, Length), PrepareError> {
    let unit = Length::from_mm(1.0);
    let mut answers = Answers {
        size: SizeAnswer::Known {
            drawn: unit,
            real: unit,
        },
        strokes: told.strokes,
        without_words: told.without_words,
        ..Answers::default()
    };
    let drawn = prepare(artwork, &answers)?
        .bounds()
        .map_or(Length::ZERO, |b| b.width());
    if drawn <= Length::ZERO {
        return Err(PrepareError::Nothing);
    }
    answers.size = SizeAnswer::Known {
        drawn,
        real: STORED,
    };
    let apart = prepare(artwork, &answers)?;
    // Areas that lie one inside the other make a picture as they are; areas that meet cannot be cut
    // out one by one.
    if apart.meetings(FLATTENING, 1).is_empty() {
        return Ok((apart, drawn));
    }
    answers.overlaps = Overlaps::Union;
    Ok((prepare(artwork, &answers)?, drawn))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;
    use serde_json::{Value, json};

    fn ask(told: &str, body: &str) -> (Value, Vec<u8>) {
        let svg =
            format!(r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24">{body}</svg>"#);
        let (json, bytes) = reply(told, svg.as_bytes());
        (serde_json::from_str(&json).unwrap(), bytes)
    }

    #[test]
    fn an_outline_comes_a_metre_wide_with_what_was_left_out() {
        let body = r#"<script/><rect width="20" height="5"/>"#;
        let (came, bytes) = ask(r#"{"strokes":"ask","without-words":false}"#, body);
        assert_eq!(came["came"], "outline");
        assert_eq!(came["proportion"], 0.25);
        assert_eq!(came["ignored"][0]["what"], "script");
        assert_eq!(came["ignored"][0]["count"], 1);
        let outline: Outline<Flat> = serde_json::from_slice(&bytes).unwrap();
        assert!((outline.bounds().unwrap().width() / STORED - 1.0).abs() < 1e-9);
    }

    /// 60 mm of a page of 120: the file's own size is offered, with a picture; pixels by the inch (CSS
    /// Values 4: 96 to the inch, 48 px are 12.7 mm).
    #[test]
    fn the_files_own_size_is_offered_with_a_picture() {
        let told = r#"{"strokes":"ask"}"#;
        let svg = |size: &str, view: &str, wide: u32| {
            format!(
                r#"<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{view}"><rect width="{wide}" height="{}"/></svg>"#,
                wide / 2
            )
        };
        let came =
            |svg: &str| -> Value { serde_json::from_str(&reply(told, svg.as_bytes()).0).unwrap() };
        let mm = came(&svg(r#"width="120mm" height="60mm""#, "0 0 240 120", 120));
        assert!(
            (mm["own"][0]["across"].as_f64().unwrap() - 60.0).abs() < 1e-6,
            "{mm}"
        );
        assert!(mm["picture"].as_str().unwrap().starts_with('M'));
        let px = came(&svg(r#"width="96" height="48""#, "0 0 96 48", 48));
        assert!(
            (px["own"][0]["across"].as_f64().unwrap() - 12.7).abs() < 1e-6,
            "{px}"
        );
        assert_eq!(came(&svg("", "0 0 24 24", 20))["own"], Value::Null);
    }

    #[test]
    fn open_questions_come_back_as_questions() {
        let line = r#"<path d="M1 1H9" stroke="red"/><path d="M1 2H9" stroke="red" stroke-dasharray="1"/>"#;
        let ask_strokes = json!({ "came": "ask-strokes", "lines": 2, "dashed": 1 });
        assert_eq!(ask(r#"{"strokes":"ask"}"#, line).0, ask_strokes);
        for strokes in ["both-edges", "centre-line"] {
            let told = format!(r#"{{"strokes":"{strokes}"}}"#);
            assert_eq!(ask(&told, line).0["came"], "outline", "{strokes}");
        }
        let words = r#"<text x="1" y="9">KIOSK</text><rect width="5" height="5"/>"#;
        let ask_words = json!({ "came": "ask-words", "texts": 1, "first": "KIOSK" });
        assert_eq!(ask("{}", words).0, ask_words);
        assert_eq!(ask(r#"{"without-words":true}"#, words).0["came"], "outline");
    }

    #[test]
    fn what_was_tapped_in_a_picture_comes_back_at_true_size() {
        // A picture 1000 wide and 800 high that shows a sheet 500 by 400 mm square on.
        let tap = |x: f64, y: f64| json!({ "at": [x, y], "within": 2.0 });
        let corner = |name: &str, x: f64, y: f64| {
            let at = tap(x * 2.0, 800.0 - y * 2.0);
            json!({ "name": name, "at_mm": [x, y], "within_mm": 0.5, "tap": at })
        };
        let told = json!({ "places": {
            "high": 800.0, "fifth-needed": false, "smooth": false,
            "known": [corner("1", 0.0, 0.0), corner("2", 500.0, 0.0), corner("3", 500.0, 400.0), corner("4", 0.0, 400.0)],
            "line": [tap(400.0, 400.0), tap(600.0, 400.0), tap(600.0, 300.0), tap(400.0, 300.0)],
        }});
        let (json, bytes) = reply(&told.to_string(), b"");
        let came: Value = serde_json::from_str(&json).unwrap();
        assert_eq!(came["came"], "marked", "{json}");
        assert!((came["across"].as_f64().unwrap() - 100.0).abs() < 1e-6);
        assert!((came["middle_mm"][1].as_f64().unwrap() - 225.0).abs() < 1e-6);
        let outline: Outline<Flat> = serde_json::from_slice(&bytes).unwrap();
        assert!((outline.bounds().unwrap().width() / STORED - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_picture_at_full_size_comes_as_sheets_or_as_a_sentence() {
        let sheet = json!({ "sheet": {
            "places": { "high": 800.0, "known": [], "fifth-needed": false, "line": [], "smooth": false },
            "every": 50.0, "paper": "a4", "of": { "job": "Quay puffins" },
        }});
        for (picture, says) in [
            (&b""[..], "it looks like an empty file"),
            (&b"\x89PNG\r\n\x1a\n"[..], "four places"),
        ] {
            let (json, bytes) = reply(&sheet.to_string(), picture);
            assert!(
                json.contains("refused") && json.contains(says) && bytes.is_empty(),
                "{json}"
            );
        }
    }

    #[test]
    fn what_cannot_be_read_is_refused_in_a_sentence() {
        let (json, bytes) = reply("{}", b"\x89PNG");
        assert!(
            json.contains("refused") && json.contains("photograph") && bytes.is_empty(),
            "{json}"
        );
        assert_eq!(ask(r#"{"strokes":"leave-out"}"#, "").0["came"], "refused");
        assert!(reply("not json", b"").0.contains("refused"));
    }
}
