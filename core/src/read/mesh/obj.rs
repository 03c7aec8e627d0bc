//! OBJ: points and faces; everything else of it is passed over.

use super::polygon::{self, MOST_CORNERS};
use super::text::{lines, number, shown, words};
use super::{MOST_TRIANGLES, MeshError, Soup, is_place};
use std::borrow::Cow;

/// Whether some line near the start is a point of an OBJ file.
pub(super) fn looks_like(bytes: &[u8]) -> bool {
    let head = bytes.get(..bytes.len().min(65_536)).unwrap_or_default();
    lines(head).any(|(_, l)| {
        let mut w = words(l);
        w.next() == Some(b"v") && number(w.next(), 0).is_ok_and(f64::is_finite)
    })
}

pub(super) fn read(bytes: &[u8]) -> Result<Soup, MeshError> {
    let mut soup = Soup::default();
    let mut lines = lines(bytes);
    let mut corners: Vec<u32> = Vec::new();
    while let Some((line, content)) = lines.next() {
        let mut whole = Cow::Borrowed(content);
        // A line goes on after a backslash; a comment does not.
        while !whole.starts_with(b"#") && whole.ends_with(b"\\") {
            let Some((_, more)) = lines.next() else { break };
            let mut joined = whole.into_owned();
            joined.pop();
            joined.push(b' ');
            joined.extend_from_slice(more);
            whole = Cow::Owned(joined);
        }
        let mut words = words(&whole);
        match words.next() {
            Some(b"v") => {
                soup.points.push([
                    number(words.next(), line)?,
                    number(words.next(), line)?,
                    number(words.next(), line)?,
                ]);
            }
            Some(b"f") => {
                corners.clear();
                for word in words {
                    if word.starts_with(b"#") {
                        break;
                    }
                    corners.push(corner(word, soup.points.len(), line)?);
                }
                face(&mut soup, &corners, line)?;
            }
            _ => {}
        }
    }
    Ok(soup)
}

/// The point that a corner such as `7/2/7` or `-1` names.
fn corner(word: &[u8], points: usize, line: usize) -> Result<u32, MeshError> {
    let wrong = |why: String| MeshError::Line { line, why };
    let first = word.split(|&b| b == b'/').next().unwrap_or_default();
    let index: i64 = core::str::from_utf8(first)
        .ok()
        .and_then(|t| t.parse().ok())
        .ok_or_else(|| wrong(format!("'{}' names no point", shown(word))))?;
    let so_far = i64::try_from(points).unwrap_or(i64::MAX);
    let place = if index < 0 { so_far + index } else { index - 1 };
    if index == 0 || place < 0 || place >= so_far {
        return Err(wrong(format!(
            "point {index} of {points}: there is no such point"
        )));
    }
    u32::try_from(place).map_err(|_| wrong("too many points".into()))
}

/// Adds a face, cut into triangles.
pub(super) fn face(soup: &mut Soup, corners: &[u32], line: usize) -> Result<(), MeshError> {
    if corners.len() < 3 || corners.len() > MOST_CORNERS {
        return Err(MeshError::Line {
            line,
            why: format!("a face with {} corners", corners.len()),
        });
    }
    if soup.triangles.len() + corners.len() > MOST_TRIANGLES {
        return Err(MeshError::TooMany {
            count: MOST_TRIANGLES as u64 + 1,
        });
    }
    let places: Vec<[f64; 3]> = corners
        .iter()
        .map(|&c| {
            soup.points
                .get(c as usize)
                .copied()
                .unwrap_or([f64::NAN; 3])
        })
        .collect();
    if !places.iter().all(is_place) {
        soup.not_numbers += 1;
        return Ok(());
    }
    let cut = polygon::triangles(&places);
    soup.triangles
        .extend(cut.into_iter().map(|t| t.map(|k| corners[k])));
    Ok(())
}
