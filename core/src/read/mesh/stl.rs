//! STL, binary and text. Normals in the file are not looked at: they are often wrong.

use super::text::{lines, number, shown, words};
use super::{MOST_TRIANGLES, MeshError, Soup, is_place};

/// The count in a binary file's head.
pub(super) fn count(bytes: &[u8]) -> Option<u32> {
    let four: [u8; 4] = bytes.get(80..84)?.try_into().ok()?;
    Some(u32::from_le_bytes(four))
}

pub(super) fn binary(bytes: &[u8]) -> Result<Soup, MeshError> {
    let says = u64::from(count(bytes).unwrap_or(0));
    let body = bytes.get(84..).unwrap_or_default();
    let whole = body.len() / 50;
    if says > whole as u64 {
        // A file cut short lacks some of its end; a count twice what fits is no count.
        if says > 2 * whole as u64 + 2 {
            return Err(MeshError::Count {
                says,
                what: "triangles",
                bytes: bytes.len(),
            });
        }
        return Err(MeshError::Stops {
            triangle: whole + 1,
            of: usize::try_from(says).unwrap_or(usize::MAX),
        });
    }
    if says > MOST_TRIANGLES as u64 {
        return Err(MeshError::TooMany { count: says });
    }
    let of = usize::try_from(says).unwrap_or(0);
    let mut soup = Soup::default();
    soup.points.reserve_exact(3 * of);
    soup.triangles.reserve_exact(of);
    for record in body.chunks_exact(50).take(of) {
        let mut corners = record[12..48]
            .chunks_exact(4)
            .map(|four| f64::from(f32::from_le_bytes([four[0], four[1], four[2], four[3]])));
        let mut next = || corners.next().unwrap_or(f64::NAN);
        let three = [(); 3].map(|()| [next(), next(), next()]);
        soup.add(three);
    }
    let after = body.len() - of * 50;
    if after > 0 {
        soup.notes.push(format!(
            "{after} bytes after the last triangle were left out"
        ));
    }
    Ok(soup)
}

impl Soup {
    /// A triangle with corners of its own.
    pub(super) fn add(&mut self, three: [[f64; 3]; 3]) {
        if !three.iter().all(is_place) {
            self.not_numbers += 1;
            return;
        }
        let Ok(first) = u32::try_from(self.points.len()) else {
            return;
        };
        self.points.extend(three);
        self.triangles.push([first, first + 1, first + 2]);
    }
}

pub(super) fn text(bytes: &[u8]) -> Result<Soup, MeshError> {
    let mut soup = Soup::default();
    let mut corners: Vec<[f64; 3]> = Vec::with_capacity(4);
    let mut open = None;
    let mut last = 1;
    for (line, content) in lines(bytes) {
        last = line;
        let mut words = words(content);
        while let Some(word) = words.next() {
            let is = |name: &str| word.eq_ignore_ascii_case(name.as_bytes());
            if is("solid") || is("endsolid") {
                // The rest of the line is a name.
                break;
            } else if is("facet") {
                open = Some(line);
                corners.clear();
                break;
            } else if is("vertex") {
                corners.push([
                    number(words.next(), line)?,
                    number(words.next(), line)?,
                    number(words.next(), line)?,
                ]);
            } else if is("endfacet") {
                let three: [[f64; 3]; 3] =
                    corners.as_slice().try_into().map_err(|_| MeshError::Line {
                        line,
                        why: format!("a triangle with {} corners", corners.len()),
                    })?;
                if soup.triangles.len() >= MOST_TRIANGLES {
                    return Err(MeshError::TooMany {
                        count: MOST_TRIANGLES as u64 + 1,
                    });
                }
                soup.add(three);
                open = None;
            } else if !(is("outer") || is("loop") || is("endloop")) {
                return Err(MeshError::Line {
                    line,
                    why: format!("'{}' does not belong in an STL file", shown(word)),
                });
            }
        }
    }
    if open.is_some() {
        let triangle = soup.triangles.len() + soup.not_numbers + 1;
        return Err(MeshError::Line {
            line: last,
            why: format!("the file stops inside triangle {triangle}: it was not copied whole"),
        });
    }
    Ok(soup)
}
