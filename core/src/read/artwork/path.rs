//! Path data to curves, up to the first error.

use super::arc::{self, ArcCommand};
use kurbo::{BezPath, Point};
use svgtypes::{PathParser, PathSegment};

/// Where path data stopped making sense.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stop {
    /// Character, counted from 1.
    pub(super) character: usize,
    /// Segments before it.
    pub(super) segments: usize,
}

/// The curves of path data, how many segments, and where it stopped if it did.
///
/// SVG 2, section 9.5.4: a path with an error is drawn up to it.
pub(super) fn parse(data: &str) -> (BezPath, usize, Option<Stop>) {
    let mut path = BezPath::new();
    let mut pen = Pen::default();
    let mut segments = 0;
    for segment in PathParser::from(data) {
        match segment {
            Ok(s) if pen.draw(&mut path, s) => segments += 1,
            Ok(_) => {
                // A number that is not finite, or past any drawing.
                let character = nth_segment(data, segments);
                return (
                    path,
                    segments,
                    Some(Stop {
                        character,
                        segments,
                    }),
                );
            }
            Err(e) => {
                let character = match e {
                    svgtypes::Error::UnexpectedData(at)
                    | svgtypes::Error::InvalidChar(_, at)
                    | svgtypes::Error::InvalidString(_, at)
                    | svgtypes::Error::InvalidNumber(at) => at,
                    _ => data.chars().count() + 1,
                };
                return (
                    path,
                    segments,
                    Some(Stop {
                        character: character.max(1),
                        segments,
                    }),
                );
            }
        }
    }
    (path, segments, None)
}

/// The character of the command letter that begins or governs segment `n`.
fn nth_segment(data: &str, n: usize) -> usize {
    // Only called for the rare segment whose number overflows, so counting letters is near enough.
    let mut last = 1;
    for (seen, (i, _)) in data
        .chars()
        .enumerate()
        .filter(|(_, c)| c.is_ascii_alphabetic() && *c != 'e')
        .enumerate()
    {
        last = i + 1;
        if seen == n {
            break;
        }
    }
    last
}

/// Largest coordinate taken: a thousand kilometres in pixels. f32 has long lost the drawing by then.
const MOST: f64 = 4e9;

#[derive(Default)]
struct Pen {
    at: Point,
    start: Point,
    /// The last control point, for the smooth commands.
    cubic: Option<Point>,
    quad: Option<Point>,
    /// A sub-path is open: the next drawing command needs no *move to*.
    drawing: bool,
}

impl Pen {
    /// Draws one segment; false when a coordinate is beyond [`MOST`] or not finite.
    fn draw(&mut self, path: &mut BezPath, segment: PathSegment) -> bool {
        let here = self.at;
        let to = |abs: bool, x: f64, y: f64| {
            if abs {
                Point::new(x, y)
            } else {
                Point::new(here.x + x, here.y + y)
            }
        };
        let fine = |p: Point| p.x.abs() <= MOST && p.y.abs() <= MOST;
        if let PathSegment::ClosePath { .. } = segment {
            if self.drawing {
                path.close_path();
            }
            (self.at, self.cubic, self.quad, self.drawing) = (self.start, None, None, false);
            return true;
        }
        if let PathSegment::MoveTo { abs, x, y } = segment {
            let p = to(abs, x, y);
            if !fine(p) {
                return false;
            }
            path.move_to(p);
            *self = Self {
                at: p,
                start: p,
                cubic: None,
                quad: None,
                drawing: true,
            };
            return true;
        }
        let mirrored = |control: Option<Point>| {
            control.map_or(here, |c| Point::new(2.0 * here.x - c.x, 2.0 * here.y - c.y))
        };
        let (mut cubic, mut quad) = (None, None);
        let (points, end): ([Option<Point>; 2], Point) = match segment {
            PathSegment::LineTo { abs, x, y } => ([None; 2], to(abs, x, y)),
            PathSegment::HorizontalLineTo { abs, x } => (
                [None; 2],
                Point::new(if abs { x } else { here.x + x }, here.y),
            ),
            PathSegment::VerticalLineTo { abs, y } => (
                [None; 2],
                Point::new(here.x, if abs { y } else { here.y + y }),
            ),
            PathSegment::CurveTo {
                abs,
                x1,
                y1,
                x2,
                y2,
                x,
                y,
            } => {
                cubic = Some(to(abs, x2, y2));
                ([Some(to(abs, x1, y1)), cubic], to(abs, x, y))
            }
            PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => {
                cubic = Some(to(abs, x2, y2));
                ([Some(mirrored(self.cubic)), cubic], to(abs, x, y))
            }
            PathSegment::Quadratic { abs, x1, y1, x, y } => {
                quad = Some(to(abs, x1, y1));
                ([quad, None], to(abs, x, y))
            }
            PathSegment::SmoothQuadratic { abs, x, y } => {
                quad = Some(mirrored(self.quad));
                ([quad, None], to(abs, x, y))
            }
            PathSegment::EllipticalArc { abs, x, y, .. } => ([None; 2], to(abs, x, y)),
            PathSegment::MoveTo { .. } | PathSegment::ClosePath { .. } => return true,
        };
        if !fine(end) || !points.into_iter().flatten().all(fine) {
            return false;
        }
        if !self.drawing {
            path.move_to(here);
            (self.start, self.drawing) = (here, true);
        }
        if let PathSegment::EllipticalArc {
            rx,
            ry,
            x_axis_rotation,
            large_arc,
            sweep,
            ..
        } = segment
        {
            if !(rx.abs() <= MOST && ry.abs() <= MOST && x_axis_rotation.is_finite()) {
                return false;
            }
            let arc = ArcCommand {
                radii: (rx, ry),
                turn_deg: x_axis_rotation,
                large: large_arc,
                sweep,
            };
            arc::arc_to(path, here, end, arc);
        } else {
            match points {
                [Some(a), Some(b)] => path.curve_to(a, b, end),
                [Some(a), None] => path.quad_to(a, end),
                _ => path.line_to(end),
            }
        }
        (self.at, self.cubic, self.quad) = (end, cubic, quad);
        true
    }
}
