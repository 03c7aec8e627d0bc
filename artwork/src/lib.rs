//! The second WebAssembly module: reading artwork, loaded when the first drawing is opened.
//!
//! Nothing but the way in and out of [`samespot_core::read::artwork`]; both functions take the bytes
//! of the file, so that the module holds no state between calls.

use samespot_core::read::artwork::{Answers, prepare, read};
use wasm_bindgen::prelude::wasm_bindgen;

/// What is in a drawing, as JSON; an `Err` carries what was wrong in words.
///
/// # Errors
/// When nothing can be made of the file.
#[wasm_bindgen(js_name = readArtwork)]
pub fn read_artwork(bytes: &[u8]) -> Result<String, String> {
    let artwork = read(bytes).map_err(|e| e.to_string())?;
    serde_json::to_string(&artwork).map_err(|e| e.to_string())
}

/// The outline in millimetres that a drawing comes to with these answers, both as JSON.
///
/// # Errors
/// When the file or the answers cannot be read, or a question is still open.
#[wasm_bindgen(js_name = prepareArtwork)]
pub fn prepare_artwork(bytes: &[u8], answers: &str) -> Result<String, String> {
    let answers: Answers = serde_json::from_str(answers).map_err(|e| e.to_string())?;
    let artwork = read(bytes).map_err(|e| e.to_string())?;
    let outline = prepare(&artwork, &answers).map_err(|e| e.to_string())?;
    serde_json::to_string(&outline).map_err(|e| e.to_string())
}
