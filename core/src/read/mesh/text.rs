//! Lines and numbers of mesh files written as text.

use super::MeshError;

/// Past a byte order mark and white space.
pub(super) fn start(bytes: &[u8]) -> &[u8] {
    let rest = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    rest.trim_ascii_start()
}

/// Lines with their numbers from one; ends by LF, CR LF or CR.
pub(super) fn lines(bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let cr_alone = !bytes.contains(&b'\n');
    let end = if cr_alone { b'\r' } else { b'\n' };
    bytes
        .split(move |&b| b == end)
        .enumerate()
        .map(|(k, line)| (k + 1, line.trim_ascii()))
}

pub(super) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(u8::is_ascii_whitespace)
        .filter(|w| !w.is_empty())
}

/// What a word is, for a message.
pub(super) fn shown(word: &[u8]) -> String {
    String::from_utf8_lossy(word).chars().take(30).collect()
}

/// A number; NaN and infinity come through and are sorted out by triangle.
pub(super) fn number(word: Option<&[u8]>, line: usize) -> Result<f64, MeshError> {
    let Some(word) = word else {
        return Err(MeshError::Line {
            line,
            why: "a number is missing".into(),
        });
    };
    if let Some(value) = core::str::from_utf8(word).ok().and_then(|t| t.parse().ok()) {
        return Ok(value);
    }
    let text = shown(word);
    if text.contains(',') && text.replace(',', ".").parse::<f64>().is_ok() {
        return Err(MeshError::DecimalComma { line, number: text });
    }
    Err(MeshError::Line {
        line,
        why: format!("'{text}' is not a number"),
    })
}
