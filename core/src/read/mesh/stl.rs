//! STL, binary and text. Normals in the file are not looked at: they are often wrong.

use super::text::{lines, number, shown, words};
use super::weld::{Corners, TOGETHER, has_width};
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
    let mut soup = Soup {
        // A closed surface has half as many corners as triangles (Euler), an open one hardly more.
        joined: Corners::with_room(of / 2 + of / 32 + 3),
        ..Soup::default()
    };
    soup.triangles.reserve_exact(of);
    let (records, _) = body.as_chunks::<50>();
    for some in records[..of].chunks(TOGETHER / 3) {
        soup.add_together(some);
    }
    let after = body.len() - of * 50;
    if after > 0 {
        soup.notes.push(format!(
            "{after} bytes after the last triangle were left out"
        ));
    }
    Ok(soup)
}

/// The corners of a triangle in a binary file: after the normal, three times three singles.
fn corners(record: &[u8; 50]) -> [[f64; 3]; 3] {
    core::array::from_fn(|corner| {
        core::array::from_fn(|k| {
            let at = 12 + 12 * corner + 4 * k;
            f64::from(f32::from_le_bytes([
                record[at],
                record[at + 1],
                record[at + 2],
                record[at + 3],
            ]))
        })
    })
}

impl Soup {
    /// Some triangles of a binary file, no more than are looked up together.
    fn add_together(&mut self, records: &[[u8; 50]]) {
        let mut all = [[0.0; 3]; TOGETHER];
        let mut count = 0;
        for three in records.iter().map(corners) {
            if !three.iter().all(is_place) {
                self.not_numbers += 1;
            } else if !has_width(three) {
                self.no_width += 1;
            } else if let Some(room) = all.get_mut(count..count + 3) {
                room.copy_from_slice(&three);
                count += 3;
            }
        }
        let mut places = [0; TOGETHER];
        self.joined.place_together(&mut all[..count], &mut places);
        let (three, _) = places[..count].as_chunks::<3>();
        self.triangles.extend_from_slice(three);
    }

    /// A triangle with corners of its own: joined with those that are there.
    pub(super) fn add(&mut self, three: [[f64; 3]; 3]) {
        if !three.iter().all(is_place) {
            self.not_numbers += 1;
            return;
        }
        if !has_width(three) {
            self.no_width += 1;
            return;
        }
        self.triangles.push(three.map(|p| self.joined.place(p)));
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
        let triangle = soup.triangles.len() + soup.not_numbers + soup.no_width + 1;
        return Err(MeshError::Line {
            line: last,
            why: format!("the file stops inside triangle {triangle}: it was not copied whole"),
        });
    }
    Ok(soup)
}
