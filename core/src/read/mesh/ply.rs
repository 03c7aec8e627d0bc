//! PLY as text, and binary with the low or the high byte first.

use super::obj::face;
use super::polygon::MOST_CORNERS;
use super::text::{number, shown, words};
use super::{MeshError, Soup};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Order {
    Text,
    LowFirst,
    HighFirst,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Number {
    I8,
    U8,
    I16,
    U16,
    I32,
    U32,
    F32,
    F64,
}

impl Number {
    fn of(word: &[u8]) -> Option<Self> {
        Some(match word {
            b"char" | b"int8" => Self::I8,
            b"uchar" | b"uint8" => Self::U8,
            b"short" | b"int16" => Self::I16,
            b"ushort" | b"uint16" => Self::U16,
            b"int" | b"int32" => Self::I32,
            b"uint" | b"uint32" => Self::U32,
            b"float" | b"float32" => Self::F32,
            b"double" | b"float64" => Self::F64,
            _ => return None,
        })
    }
    const fn bytes(self) -> usize {
        match self {
            Self::I8 | Self::U8 => 1,
            Self::I16 | Self::U16 => 2,
            Self::I32 | Self::U32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }
}

struct Property {
    name: Vec<u8>,
    /// How the count of a list is written.
    list: Option<Number>,
    of: Number,
}

struct Element {
    name: Vec<u8>,
    count: u64,
    properties: Vec<Property>,
}

fn head(why: String) -> MeshError {
    MeshError::Head { why }
}

/// The rest of a file, number after number.
struct Body<'a> {
    order: Order,
    rest: &'a [u8],
    line: usize,
    /// What is being read, for a message.
    item: u64,
    of: u64,
}

impl Body<'_> {
    fn stops(&self) -> MeshError {
        MeshError::Stops {
            triangle: usize::try_from(self.item + 1).unwrap_or(usize::MAX),
            of: usize::try_from(self.of).unwrap_or(usize::MAX),
        }
    }
    fn next(&mut self, kind: Number) -> Result<f64, MeshError> {
        if self.order == Order::Text {
            let blank = self
                .rest
                .iter()
                .position(|b| !b.is_ascii_whitespace())
                .ok_or_else(|| self.stops())?;
            self.line += self.rest[..blank].iter().filter(|b| **b == b'\n').count();
            let rest = &self.rest[blank..];
            let end = rest
                .iter()
                .position(u8::is_ascii_whitespace)
                .unwrap_or(rest.len());
            let (word, rest) = rest.split_at(end);
            self.rest = rest;
            return number(Some(word), self.line);
        }
        let (word, rest) = self
            .rest
            .split_at_checked(kind.bytes())
            .ok_or_else(|| self.stops())?;
        self.rest = rest;
        let mut eight = [0; 8];
        for (k, slot) in eight.iter_mut().take(word.len()).enumerate() {
            *slot = match self.order {
                Order::HighFirst => word[word.len() - 1 - k],
                _ => word[k],
            };
        }
        let [a, b, c, d, ..] = eight;
        Ok(match kind {
            Number::I8 => f64::from(i8::from_le_bytes([a])),
            Number::U8 => f64::from(a),
            Number::I16 => f64::from(i16::from_le_bytes([a, b])),
            Number::U16 => f64::from(u16::from_le_bytes([a, b])),
            Number::I32 => f64::from(i32::from_le_bytes([a, b, c, d])),
            Number::U32 => f64::from(u32::from_le_bytes([a, b, c, d])),
            Number::F32 => f64::from(f32::from_le_bytes([a, b, c, d])),
            Number::F64 => f64::from_le_bytes(eight),
        })
    }
    fn count(&mut self, kind: Number) -> Result<usize, MeshError> {
        let says = self.next(kind)?;
        #[expect(clippy::cast_precision_loss, reason = "4096")]
        let fits = (0.0..=MOST_CORNERS as f64).contains(&says);
        if !fits || libm::floor(says) < says {
            return Err(MeshError::Line {
                line: self.line,
                why: format!("face {} of {} with {says} corners", self.item + 1, self.of),
            });
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "0 to 4096"
        )]
        let count = says as usize;
        Ok(count)
    }
}

pub(super) fn read(bytes: &[u8]) -> Result<Soup, MeshError> {
    let (order, elements, mut body) = parse_head(bytes)?;
    let mut soup = Soup::default();
    for element in &elements {
        // Every item takes at least a byte for each of its numbers.
        let least: usize = element
            .properties
            .iter()
            .map(|p| match (order, p.list) {
                (Order::Text, _) => 2,
                (_, Some(count)) => count.bytes(),
                (_, None) => p.of.bytes(),
            })
            .sum();
        let needs = element.count.saturating_mul(least.max(1) as u64);
        if needs > body.rest.len() as u64 + 1 {
            let what = if element.name == b"vertex" {
                "points"
            } else {
                "faces"
            };
            return Err(MeshError::Count {
                says: element.count,
                what,
                bytes: bytes.len(),
            });
        }
        body.of = element.count;
        let (is_point, is_face) = (element.name == b"vertex", element.name == b"face");
        let mut corners = Vec::new();
        for item in 0..element.count {
            body.item = item;
            let mut at = [f64::NAN; 3];
            let mut found = false;
            for property in &element.properties {
                let Some(counted) = property.list else {
                    let value = body.next(property.of)?;
                    match property.name.as_slice() {
                        b"x" => at[0] = value,
                        b"y" => at[1] = value,
                        b"z" => at[2] = value,
                        _ => {}
                    }
                    continue;
                };
                let wanted = is_face
                    && matches!(
                        property.name.as_slice(),
                        b"vertex_indices" | b"vertex_index"
                    );
                found |= wanted;
                corners.clear();
                for _ in 0..body.count(counted)? {
                    let value = body.next(property.of)?;
                    if wanted {
                        corners.push(point_named(value, soup.points.len(), &body)?);
                    }
                }
                if wanted && corners.len() >= 3 {
                    face(&mut soup, &corners, body.line)?;
                }
            }
            if is_point {
                soup.points.push(at);
            }
            if is_face && !found {
                return Err(head("its faces name no points".into()));
            }
        }
    }
    Ok(soup)
}

fn point_named(value: f64, points: usize, body: &Body<'_>) -> Result<u32, MeshError> {
    #[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 points")]
    let inside = value >= 0.0 && value < points as f64 && libm::floor(value) >= value;
    if inside {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "just looked at"
        )]
        return Ok(value as u32);
    }
    Err(MeshError::Line {
        line: body.line,
        why: format!(
            "face {} of {} names point {value}, but there are {points}",
            body.item + 1,
            body.of
        ),
    })
}

fn parse_head(bytes: &[u8]) -> Result<(Order, Vec<Element>, Body<'_>), MeshError> {
    /// Lines of head looked at: no scanner writes a hundred.
    const MOST_LINES: usize = 1000;
    let mut rest = super::text::start(bytes);
    let mut order = None;
    let mut elements: Vec<Element> = Vec::new();
    for line in 1..=MOST_LINES {
        let end = rest
            .iter()
            .position(|b| *b == b'\n' || *b == b'\r')
            .ok_or_else(|| head("it has no end".into()))?;
        let content = rest[..end].trim_ascii();
        // Exactly one line end is taken: the next byte may be data that looks like one.
        let both = rest[end..].starts_with(b"\r\n");
        rest = &rest[end + if both { 2 } else { 1 }..];
        let mut words = words(content);
        let wrong = || head(format!("line {line}: '{}'", shown(content)));
        match words.next() {
            Some(b"format") => {
                order = Some(match words.next() {
                    Some(b"ascii") => Order::Text,
                    Some(b"binary_little_endian") => Order::LowFirst,
                    Some(b"binary_big_endian") => Order::HighFirst,
                    _ => return Err(wrong()),
                });
            }
            Some(b"element") => {
                let name = words.next().ok_or_else(wrong)?.to_vec();
                let count = words
                    .next()
                    .and_then(|w| core::str::from_utf8(w).ok())
                    .and_then(|w| w.parse().ok())
                    .ok_or_else(wrong)?;
                elements.push(Element {
                    name,
                    count,
                    properties: Vec::new(),
                });
            }
            Some(b"property") => {
                let element = elements.last_mut().ok_or_else(wrong)?;
                let first = words.next().ok_or_else(wrong)?;
                let (list, kind) = if first == b"list" {
                    let count = words.next().and_then(Number::of).ok_or_else(wrong)?;
                    (Some(count), words.next().ok_or_else(wrong)?)
                } else {
                    (None, first)
                };
                element.properties.push(Property {
                    of: Number::of(kind).ok_or_else(wrong)?,
                    list,
                    name: words.next().ok_or_else(wrong)?.to_vec(),
                });
            }
            Some(b"end_header") => {
                let order =
                    order.ok_or_else(|| head("it does not say how it is written".into()))?;
                let body = Body {
                    order,
                    rest,
                    line: line + 1,
                    item: 0,
                    of: 0,
                };
                return Ok((order, elements, body));
            }
            Some(b"ply" | b"comment" | b"obj_info") | None => {}
            Some(_) => return Err(wrong()),
        }
    }
    Err(head("it has no end".into()))
}
