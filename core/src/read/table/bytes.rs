//! From a file's bytes to text, whatever program wrote it.

use super::{Encoding, TableError};

/// More than a run's readings ever come to.
const MOST_BYTES: usize = 8 * 1024 * 1024;

/// Windows-1252 from 0x80 to 0x9F (WHATWG Encoding, *index windows-1252*); from memory. The five
/// places that code page leaves empty are refused.
const CP1252: [Option<char>; 32] = [
    Some('€'),
    None,
    Some('‚'),
    Some('ƒ'),
    Some('„'),
    Some('…'),
    Some('†'),
    Some('‡'),
    Some('ˆ'),
    Some('‰'),
    Some('Š'),
    Some('‹'),
    Some('Œ'),
    None,
    Some('Ž'),
    None,
    None,
    Some('‘'),
    Some('’'),
    Some('“'),
    Some('”'),
    Some('•'),
    Some('–'),
    Some('—'),
    Some('˜'),
    Some('™'),
    Some('š'),
    Some('›'),
    Some('œ'),
    None,
    Some('ž'),
    Some('Ÿ'),
];

/// The text in these bytes and how it was written.
///
/// # Errors
/// When there is too much of it, or it is no text; with the line where it stops being text.
pub fn decode(bytes: &[u8]) -> Result<(String, Encoding), TableError> {
    if bytes.len() > MOST_BYTES {
        return Err(TableError::TooLarge { most: MOST_BYTES });
    }
    let (text, encoding) = match bytes {
        [0xFF, 0xFE, rest @ ..] => (utf16(rest, u16::from_le_bytes)?, Encoding::Utf16),
        [0xFE, 0xFF, rest @ ..] => (utf16(rest, u16::from_be_bytes)?, Encoding::Utf16),
        // Two ordinary letters of UTF-16 without its mark.
        [_, 0, _, 0, ..] => (utf16(bytes, u16::from_le_bytes)?, Encoding::Utf16),
        [0, _, 0, _, ..] => (utf16(bytes, u16::from_be_bytes)?, Encoding::Utf16),
        _ => {
            let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
            match core::str::from_utf8(bytes) {
                Ok(text) => (text.to_owned(), Encoding::Utf8),
                Err(_) => (windows(bytes)?, Encoding::Windows1252),
            }
        }
    };
    let nul = text.find('\0');
    nul.map_or(Ok((text.clone(), encoding)), |at| {
        Err(TableError::NoText {
            line: line_of(&text[..at]),
        })
    })
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String, TableError> {
    let units = bytes.chunks(2).map(|pair| match pair {
        [a, b] => unit([*a, *b]),
        // Half a character at the end: an unpaired surrogate, so that it is refused below.
        _ => 0xD800,
    });
    let mut text = String::new();
    for c in char::decode_utf16(units) {
        text.push(c.map_err(|_| TableError::NoText {
            line: line_of(&text),
        })?);
    }
    Ok(text)
}

fn windows(bytes: &[u8]) -> Result<String, TableError> {
    let mut text = String::new();
    for &byte in bytes {
        let c = match byte {
            0x80..=0x9F => CP1252[usize::from(byte - 0x80)],
            _ => Some(char::from(byte)),
        };
        text.push(c.ok_or_else(|| TableError::NoText {
            line: line_of(&text),
        })?);
    }
    Ok(text)
}

fn line_of(before: &str) -> usize {
    let ends = before.replace("\r\n", "\n");
    1 + ends.matches(['\n', '\r']).count()
}
