//! From the bytes of a file to the text of one drawing.

use super::{ArtworkError, MOST_BYTES, Note};
use miniz_oxide::inflate::decompress_to_vec_with_limit;

pub(super) struct Decoded {
    pub(super) text: String,
    pub(super) notes: Vec<Note>,
}

pub(super) fn decode(bytes: &[u8]) -> Result<Decoded, ArtworkError> {
    let mut notes = Vec::new();
    if bytes.len() > MOST_BYTES {
        return Err(ArtworkError::TooLarge {
            bytes: bytes.len(),
            most: MOST_BYTES,
        });
    }
    let unpacked;
    let plain = if bytes.starts_with(&[0x1F, 0x8B]) {
        unpacked = gunzip(bytes).ok_or(ArtworkError::Packed { most: MOST_BYTES })?;
        notes.push(Note::Decoded { from: "gzip" });
        unpacked.as_slice()
    } else {
        bytes
    };
    if let Some(looks_like) = other_kind(plain) {
        return Err(ArtworkError::NotSvg { looks_like });
    }
    let (text, from) = characters(plain)?;
    notes.extend(from.map(|from| Note::Decoded { from }));
    // XML reads every line end as a line feed; done here so that lines are counted the same way.
    let text = if text.contains('\r') {
        text.replace("\r\n", "\n").replace('\r', "\n")
    } else {
        text
    };
    let text = match drawing_of_page(&text)? {
        Some((drawing, drawings)) => {
            notes.push(Note::FromPage { drawings });
            drawing
        }
        None => text,
    };
    if !text.contains("<svg") && !text.contains(":svg") {
        let looks_like = if text.trim().is_empty() {
            "an empty file"
        } else if text.trim_start().starts_with('<') {
            "XML or a web page without a drawing in it"
        } else {
            "plain text"
        };
        return Err(ArtworkError::NotSvg { looks_like });
    }
    Ok(Decoded { text, notes })
}

/// RFC 1952: header, raw deflate, CRC and size.
fn gunzip(bytes: &[u8]) -> Option<Vec<u8>> {
    let flags = *bytes.get(3)?;
    let mut at = 10_usize;
    if bytes.get(2) != Some(&8) {
        return None;
    }
    if flags & 4 != 0 {
        let extra = u16::from_le_bytes([*bytes.get(at)?, *bytes.get(at + 1)?]);
        at += 2 + usize::from(extra);
    }
    for bit in [8, 16] {
        if flags & bit != 0 {
            at += bytes.get(at..)?.iter().position(|b| *b == 0)? + 1;
        }
    }
    if flags & 2 != 0 {
        at += 2;
    }
    let out = decompress_to_vec_with_limit(bytes.get(at..)?, MOST_BYTES).ok()?;
    let stated = bytes.last_chunk::<4>().map(|b| u32::from_le_bytes(*b))?;
    (u32::try_from(out.len()).ok()? == stated).then_some(out)
}

fn other_kind(bytes: &[u8]) -> Option<&'static str> {
    const STARTS: [(&[u8], &str); 9] = [
        (b"\x89PNG", "a PNG picture"),
        (b"\xFF\xD8\xFF", "a JPEG picture"),
        (b"GIF8", "a GIF picture"),
        (b"%PDF", "a PDF document"),
        (b"%!PS", "a PostScript document"),
        (b"PK\x03\x04", "a ZIP archive"),
        (b"BM", "a bitmap picture"),
        (b"RIFF", "a picture or a sound"),
        (b"II*\0", "a TIFF picture"),
    ];
    STARTS
        .iter()
        .find(|(start, _)| bytes.starts_with(start))
        .map(|(_, kind)| *kind)
}

fn characters(bytes: &[u8]) -> Result<(String, Option<&'static str>), ArtworkError> {
    let utf16 = |units: &mut dyn Iterator<Item = u16>, from: &'static str| {
        char::decode_utf16(units)
            .collect::<Result<String, _>>()
            .map(|t| (t, Some(from)))
            .map_err(|_| ArtworkError::Encoding {
                encoding: from.to_owned(),
            })
    };
    let pairs = |skip: usize| bytes.get(skip..).unwrap_or_default().chunks_exact(2);
    let le = |c: &[u8]| {
        u16::from_le_bytes([
            c.first().copied().unwrap_or(0),
            c.get(1).copied().unwrap_or(0),
        ])
    };
    match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => utf8(rest).map(|t| (t, None)),
        [0xFF, 0xFE, ..] => utf16(&mut pairs(2).map(le), "UTF-16"),
        [0xFE, 0xFF, ..] => utf16(&mut pairs(2).map(|c| le(c).swap_bytes()), "UTF-16"),
        [b'<', 0, ..] => utf16(&mut pairs(0).map(le), "UTF-16"),
        [0, b'<', ..] => utf16(&mut pairs(0).map(|c| le(c).swap_bytes()), "UTF-16"),
        _ => match utf8(bytes) {
            Ok(text) => Ok((text, None)),
            Err(not_utf8) => {
                let head = bytes.get(..bytes.len().min(200)).unwrap_or_default();
                let head = String::from_utf8_lossy(head).to_ascii_lowercase();
                // In XML both names stand for one byte to a character; the few signs in which they
                // differ (quotes and dashes) are in words, never in shapes.
                if head.contains("iso-8859-1") || head.contains("windows-1252") {
                    Ok((
                        bytes.iter().map(|b| char::from(*b)).collect(),
                        Some("ISO 8859-1"),
                    ))
                } else {
                    Err(not_utf8)
                }
            }
        },
    }
}

fn utf8(bytes: &[u8]) -> Result<String, ArtworkError> {
    core::str::from_utf8(bytes)
        .map(str::to_owned)
        .map_err(|e| ArtworkError::Encoding {
            encoding: format!("not UTF-8 from byte {}", e.valid_up_to()),
        })
}

/// The first drawing of a web page and how many it holds; `None` when this is no web page.
fn drawing_of_page(text: &str) -> Result<Option<(String, usize)>, ArtworkError> {
    // Cut at a character, not in one.
    let head: String = text
        .chars()
        .take(1000)
        .collect::<String>()
        .to_ascii_lowercase();
    let first_svg = head.find("<svg").unwrap_or(usize::MAX);
    let page = ["<!doctype html", "<html"]
        .iter()
        .any(|m| head.find(m).is_some_and(|at| at < first_svg));
    if !page {
        return Ok(None);
    }
    let missing = ArtworkError::NotSvg {
        looks_like: "a web page without a drawing in it",
    };
    let start = text.find("<svg").ok_or(missing.clone())?;
    let rest = text.get(start..).unwrap_or_default();
    let end = end_of_svg(rest).ok_or(missing)?;
    let drawing = rest.get(..end).unwrap_or_default();
    let mut own = drawing.to_owned();
    if drawing.contains("xlink:") && !drawing.contains("xmlns:xlink") {
        // A web page knows this prefix without being told.
        own = drawing.replacen(
            "<svg",
            "<svg xmlns:xlink=\"http://www.w3.org/1999/xlink\"",
            1,
        );
    }
    let others = rest.get(end..).unwrap_or_default().matches("<svg").count();
    Ok(Some((own, 1 + others)))
}

/// The byte after the end tag that closes the drawing at the start of `text`.
fn end_of_svg(text: &str) -> Option<usize> {
    let (mut depth, mut at) = (0_usize, 0_usize);
    loop {
        let rest = text.get(at..)?;
        let next = rest.find('<')?;
        let tag = rest.get(next..)?;
        let close = tag.find('>')?;
        if tag.starts_with("</svg") {
            depth = depth.checked_sub(1)?;
        } else if tag.starts_with("<svg") && !tag.get(..close)?.ends_with('/') {
            depth += 1;
        }
        at += next + close + 1;
        if depth == 0 {
            return Some(at);
        }
    }
}

pub(super) fn xml_error(e: &roxmltree::Error) -> ArtworkError {
    use roxmltree::Error as X;
    let pos = e.pos();
    match e {
        X::NodesLimitReached => ArtworkError::TooMany {
            what: "elements",
            most: super::MOST_ELEMENTS,
        },
        X::EntityReferenceLoop(_) => ArtworkError::Entity {
            name: "that refers to itself".to_owned(),
            line: pos.row,
        },
        _ => ArtworkError::Xml {
            line: pos.row,
            character: pos.col,
            what: e.to_string(),
        },
    }
}
