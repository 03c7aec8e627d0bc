//! The basic figures of SVG as paths of curves, in user units.

use super::arc;
use super::length::{Along, Reference, Untold, user_units};
use super::path::{self, Stop};
use kurbo::BezPath;
use roxmltree::Node;

/// A figure drawn.
pub(super) enum Figure {
    /// Its path, how many segments it took, and where its data stopped making sense.
    Drawn(BezPath, usize, Option<Stop>),
    /// It has no size.
    Empty(Option<Stop>),
    /// A length of it cannot be told: its text.
    Untold(String),
}

pub(super) const NAMES: [&str; 7] = [
    "path", "rect", "circle", "ellipse", "line", "polyline", "polygon",
];

pub(super) fn draw(node: Node<'_, '_>, of: Reference) -> Figure {
    let get = |name: &str, along: Along| -> Result<Option<f64>, String> {
        node.attribute(name)
            .map(|v| user_units(v, along, of).map_err(|Untold| format!("{name}=\"{v}\"")))
            .transpose()
    };
    let drawn = match node.tag_name().name() {
        "rect" => rect(&get),
        "circle" | "ellipse" => ellipse(node.tag_name().name() == "circle", &get),
        "line" => line(&get),
        "polyline" | "polygon" => {
            return points(
                node.attribute("points").unwrap_or_default(),
                node.tag_name().name() == "polygon",
            );
        }
        _ => {
            let data = node.attribute("d").unwrap_or_default();
            if data.trim() == "none" {
                return Figure::Empty(None);
            }
            let (path, segments, stop) = path::parse(data);
            return sized(path, segments, stop);
        }
    };
    match drawn {
        Ok(Some(path)) => {
            let segments = path.elements().len();
            sized(path, segments, None)
        }
        Ok(None) => Figure::Empty(None),
        Err(text) => Figure::Untold(text),
    }
}

type Get<'a> = &'a dyn Fn(&str, Along) -> Result<Option<f64>, String>;

fn rect(get: Get<'_>) -> Result<Option<BezPath>, String> {
    let (x, y) = (
        get("x", Along::X)?.unwrap_or(0.0),
        get("y", Along::Y)?.unwrap_or(0.0),
    );
    let (w, h) = (
        get("width", Along::X)?.unwrap_or(0.0),
        get("height", Along::Y)?.unwrap_or(0.0),
    );
    if w <= 0.0 || h <= 0.0 {
        return Ok(None);
    }
    // One radius alone stands for both; a negative one counts as not given.
    let radius = |v: Option<f64>| v.filter(|r| *r >= 0.0);
    let (rx, ry) = (radius(get("rx", Along::X)?), radius(get("ry", Along::Y)?));
    let (rx, ry) = (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
    Ok(Some(arc::rectangle(
        x,
        y,
        w,
        h,
        rx.min(w / 2.0),
        ry.min(h / 2.0),
    )))
}

fn ellipse(round: bool, get: Get<'_>) -> Result<Option<BezPath>, String> {
    let (cx, cy) = (
        get("cx", Along::X)?.unwrap_or(0.0),
        get("cy", Along::Y)?.unwrap_or(0.0),
    );
    let (rx, ry) = if round {
        let r = get("r", Along::Either)?.unwrap_or(0.0);
        (r, r)
    } else {
        let (rx, ry) = (get("rx", Along::X)?, get("ry", Along::Y)?);
        (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0))
    };
    Ok((rx > 0.0 && ry > 0.0).then(|| arc::ellipse(cx, cy, rx, ry)))
}

fn line(get: Get<'_>) -> Result<Option<BezPath>, String> {
    let mut path = BezPath::new();
    path.move_to((
        get("x1", Along::X)?.unwrap_or(0.0),
        get("y1", Along::Y)?.unwrap_or(0.0),
    ));
    path.line_to((
        get("x2", Along::X)?.unwrap_or(0.0),
        get("y2", Along::Y)?.unwrap_or(0.0),
    ));
    Ok(Some(path))
}

fn points(text: &str, close: bool) -> Figure {
    let mut path = BezPath::new();
    let mut stop = None;
    let mut numbers = svgtypes::NumberListParser::from(text);
    let mut drawn = 0;
    while let Some(x) = numbers.next() {
        match (x, numbers.next()) {
            (Ok(x), Some(Ok(y))) if x.abs() < 4e9 && y.abs() < 4e9 => {
                if drawn == 0 {
                    path.move_to((x, y));
                } else {
                    path.line_to((x, y));
                }
                drawn += 1;
            }
            _ => {
                // SVG 2, section 10.6: up to the last whole point.
                stop = Some(Stop {
                    character: 1,
                    segments: drawn,
                });
                break;
            }
        }
    }
    if close && drawn > 1 {
        path.close_path();
    }
    sized(path, drawn, stop)
}

/// A figure that runs nowhere is empty.
fn sized(path: BezPath, segments: usize, stop: Option<Stop>) -> Figure {
    let runs = path.segments().any(|s| {
        let c = s.to_cubic();
        c.p0 != c.p1 || c.p1 != c.p2 || c.p2 != c.p3
    });
    if runs {
        Figure::Drawn(path, segments, stop)
    } else {
        Figure::Empty(stop)
    }
}
