//! 3MF: a ZIP package with a model in XML (3MF Core Specification 1.3).

use super::{MOST_TRIANGLES, MeshError, ScanUnit, Soup, is_place};
use roxmltree::{Document, Node};
use std::io::{Cursor, Read};

/// The longest model text taken once unpacked: read as a tree it fills several times as much.
const MOST_BYTES: usize = 96 * 1024 * 1024;

/// Objects inside objects followed so deep.
const DEEPEST: usize = 8;

/// Rows of a transform: a place goes in as (x, y, z, 1).
type Transform = [[f64; 3]; 4];

const AS_IS: Transform = [
    [1.0, 0.0, 0.0],
    [0.0, 1.0, 0.0],
    [0.0, 0.0, 1.0],
    [0.0, 0.0, 0.0],
];

fn wrong(why: impl Into<String>) -> MeshError {
    MeshError::Package { why: why.into() }
}

pub(super) fn read(bytes: &[u8]) -> Result<Soup, MeshError> {
    let text = model(bytes)?;
    let document = Document::parse(&text).map_err(|e| wrong(format!("its model: {e}")))?;
    let root = document.root_element();
    let mut soup = Soup {
        unit: match root.attribute("unit") {
            Some("micron") => return Err(wrong("it is drawn in microns: export it in mm")),
            Some("centimeter") => Some(ScanUnit::Cm),
            Some("inch") => Some(ScanUnit::Inch),
            Some("foot") => return Err(wrong("it is drawn in feet: export it in mm")),
            Some("meter") => Some(ScanUnit::M),
            // The specification's own default.
            _ => Some(ScanUnit::Mm),
        },
        ..Soup::default()
    };
    let objects: Vec<Node<'_, '_>> = root
        .descendants()
        .filter(|n| n.tag_name().name() == "object")
        .collect();
    let items: Vec<Node<'_, '_>> = root
        .descendants()
        .filter(|n| n.tag_name().name() == "item")
        .collect();
    for item in &items {
        let id = item.attribute("objectid").unwrap_or_default();
        place(&mut soup, &objects, id, &transform(item)?, 0)?;
    }
    Ok(soup)
}

/// The text of the model, unpacked under a cap; a path in the package is only a name.
fn model(bytes: &[u8]) -> Result<String, MeshError> {
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes))
        .map_err(|_| wrong("it is not a whole ZIP package"))?;
    let name = zip
        .file_names()
        .filter_map(Result::ok)
        .filter(|n| n.to_ascii_lowercase().ends_with(".model"))
        .min_by_key(|n| (!n.eq_ignore_ascii_case("3D/3dmodel.model"), n.len()))
        .map(std::borrow::Cow::into_owned)
        .ok_or_else(|| wrong("there is no model in it"))?;
    let index = zip
        .index_for_name(&name)
        .ok_or_else(|| wrong("there is no model in it"))?;
    let mut entry = zip
        .by_index_raw(index)
        .map_err(|_| wrong("its model can't be unpacked"))?;
    let too_long = || {
        wrong(format!(
            "unpacked its model is longer than {} MB: export it as STL or PLY",
            MOST_BYTES / (1024 * 1024)
        ))
    };
    let mut packed = Vec::new();
    entry
        .by_ref()
        .take(MOST_BYTES as u64 + 1)
        .read_to_end(&mut packed)
        .map_err(|_| wrong("its model can't be unpacked"))?;
    if packed.len() > MOST_BYTES {
        return Err(too_long());
    }
    let plain = match entry.compression() {
        zip::CompressionMethod::Stored => packed,
        _ => miniz_oxide::inflate::decompress_to_vec_with_limit(&packed, MOST_BYTES).map_err(
            |e| match e.status {
                miniz_oxide::inflate::TINFLStatus::HasMoreOutput => too_long(),
                _ => wrong("its model can't be unpacked"),
            },
        )?,
    };
    String::from_utf8(plain).map_err(|_| wrong("its model is not text"))
}

fn transform(node: &Node<'_, '_>) -> Result<Transform, MeshError> {
    let Some(text) = node.attribute("transform") else {
        return Ok(AS_IS);
    };
    let numbers: Vec<f64> = text
        .split_ascii_whitespace()
        .filter_map(|w| w.parse().ok())
        .filter(|x: &f64| x.is_finite())
        .collect();
    match numbers.as_slice() {
        [a, b, c, d, e, f, g, h, i, j, k, l] => {
            Ok([[*a, *b, *c], [*d, *e, *f], [*g, *h, *i], [*j, *k, *l]])
        }
        _ => Err(wrong(format!("a place in it can't be: '{text}'"))),
    }
}

fn applied(by: &Transform, p: [f64; 3]) -> [f64; 3] {
    core::array::from_fn(|k| by[0][k] * p[0] + by[1][k] * p[1] + by[2][k] * p[2] + by[3][k])
}

fn place(
    soup: &mut Soup,
    objects: &[Node<'_, '_>],
    id: &str,
    by: &Transform,
    depth: usize,
) -> Result<(), MeshError> {
    if depth > DEEPEST {
        return Err(wrong("its objects are inside one another without end"));
    }
    let Some(object) = objects.iter().find(|o| o.attribute("id") == Some(id)) else {
        return Err(wrong(format!("its object {id} is missing")));
    };
    for part in object.children().filter(Node::is_element) {
        match part.tag_name().name() {
            "mesh" => add_mesh(soup, &part, by)?,
            "components" => {
                for inner in part.children().filter(Node::is_element) {
                    let own = transform(&inner)?;
                    let rows = own.map(|row| applied(by, row));
                    // A direction does not take the shift.
                    let both: Transform = core::array::from_fn(|r| {
                        core::array::from_fn(|k| {
                            if r < 3 {
                                rows[r][k] - by[3][k]
                            } else {
                                rows[r][k]
                            }
                        })
                    });
                    let inner = inner.attribute("objectid").unwrap_or_default();
                    place(soup, objects, inner, &both, depth + 1)?;
                }
            }
            _ => {}
        }
    }
    Ok(())
}

fn add_mesh(soup: &mut Soup, mesh: &Node<'_, '_>, by: &Transform) -> Result<(), MeshError> {
    let first = soup.points.len();
    for node in mesh.descendants().filter(Node::is_element) {
        match node.tag_name().name() {
            "vertex" => {
                let at = ["x", "y", "z"].map(|k| {
                    node.attribute(k)
                        .and_then(|t| t.trim().parse().ok())
                        .unwrap_or(f64::NAN)
                });
                soup.points.push(applied(by, at));
            }
            "triangle" => {
                if soup.triangles.len() >= MOST_TRIANGLES {
                    return Err(MeshError::TooMany {
                        count: MOST_TRIANGLES as u64 + 1,
                    });
                }
                let corners = ["v1", "v2", "v3"].map(|k| {
                    node.attribute(k)
                        .and_then(|t| t.trim().parse::<usize>().ok())
                        .map(|k| k.saturating_add(first))
                        .filter(|k| *k < soup.points.len())
                });
                let [Some(a), Some(b), Some(c)] = corners else {
                    return Err(wrong(format!(
                        "triangle {} names a point that is not there",
                        soup.triangles.len() + 1
                    )));
                };
                let finite = [a, b, c].iter().all(|k| is_place(&soup.points[*k]));
                let three = [a, b, c].map(|k| u32::try_from(k).unwrap_or(u32::MAX));
                if finite {
                    soup.triangles.push(three);
                } else {
                    soup.not_numbers += 1;
                }
            }
            _ => {}
        }
    }
    Ok(())
}
