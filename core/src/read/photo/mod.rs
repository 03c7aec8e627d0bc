//! A photograph of a tracing frame read into an outline at true size.
//!
//! The four corner targets give the homography between sheet and picture; the fifth, which they
//! know nothing of, says how far it is off. Inside the window dark lines are followed to a fraction
//! of a picture point. Lens distortion and a sheet that doesn't lie flat show in the fifth.

mod blobs;
mod crosses;
mod flattened;
mod follow;
mod grey;
mod homography;
mod on_places;
mod shapes;
mod square_on;
mod targets;
mod to_scale;
mod view;

pub use flattened::{FlattenError, Flattened, flattened};
pub use homography::Homography;
pub use on_places::on_places;
pub use to_scale::ToScale;

use crate::frames::{Flat, Point2, Vector2};
use crate::outline::Outline;
use crate::sheet::{FrameLayout, Paper};
use crate::units::Length;
use kurbo::{BezPath, Point};

/// What a hand that follows an edge strays from it, 95 %, mm (common practice, no source).
const HAND_MM: f64 = 0.5;
/// The fifth target further off than this: the sheet wasn't flat, or the lens bends, mm.
const BENT_MM: f64 = 1.5;
/// A picture point larger than this on the sheet can't place a line, mm.
const COARSEST_MM: f64 = 0.5;

/// By how the two kinds of file begin (ISO/IEC 10918-1, B.2.4.1; ISO/IEC 15948, 5.2).
#[must_use]
pub fn is_photograph(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\xff\xd8\xff") || bytes.starts_with(b"\x89PNG")
}

/// An outline off a photograph.
#[derive(Debug, Clone)]
pub struct Tracing {
    /// At true size, about the middle of its bounds.
    pub outline: Outline<Flat>,
    /// How wide it is.
    pub across: Length,
    /// How high it is.
    pub up: Length,
    /// The frame it was traced in.
    pub paper: Paper,
    /// How far the fifth target was from where the other four put it.
    pub fifth_off: Length,
    /// How far the outline may be from the edge that was followed, 95 %: picture point, fifth
    /// target and hand; what the printer did to the frame is not in it.
    pub within: Length,
    /// Middles of the crosses drawn over marks, from the middle of the outline.
    pub marks: Vec<Vector2<Flat>>,
    /// Spots too small to be meant, left out.
    pub specks: usize,
}

/// Why a photograph gives no outline.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PhotoError {
    /// Neither JPEG nor PNG, or broken.
    #[error(
        "this is no picture that can be read here ({0}): a photograph as JPEG or PNG can; set the camera to *most compatible* or take a screenshot of the picture"
    )]
    NotAPicture(String),
    /// Too many points for a tablet's memory.
    #[error(
        "the picture has {megapixels} megapixels, and over {most} is too much for a tablet: photograph with fewer or save it smaller"
    )]
    TooLarge {
        /// What it has.
        megapixels: u64,
        /// What is taken.
        most: u64,
    },
    /// Fewer than five targets.
    #[error(
        "{found} of the five targets can be made out: photograph the whole frame, flat, in even light, with nothing on a target and no shadow across one"
    )]
    Targets {
        /// How many.
        found: usize,
    },
    /// More than five.
    #[error("{found} targets can be made out where a frame has five: only one frame in a picture")]
    TooManyTargets {
        /// How many.
        found: usize,
    },
    /// Five that are no frame.
    #[error(
        "five targets can be made out, but they don't stand as on a tracing frame: print the frame from here at 100 % and lay it flat"
    )]
    NotTheFrame,
    /// Seen through the film.
    #[error(
        "the frame is seen from behind, so the outline would come out mirrored: turn the film over and photograph it again"
    )]
    FromBehind,
    /// The fifth target is off.
    #[error(
        "the fifth target is {off:.1} mm from where the other four put it: lay the sheet flat, photograph it from further away and zoom in"
    )]
    Bent {
        /// By how much, mm.
        off: f64,
    },
    /// Picture points too large.
    #[error(
        "one point of the picture is {mm:.1} mm on the sheet, too coarse for a line: go nearer, or use a camera with more megapixels"
    )]
    TooCoarse {
        /// How large, mm.
        mm: f64,
    },
    /// Nothing in the window.
    #[error("nothing is traced inside the window: follow the edge with a dark pen, 1 to 3 mm wide")]
    Nothing,
    /// An open line.
    #[error(
        "the line {right:.0} mm from the left and {up:.0} mm from the foot of the window is not closed: close it with the pen and photograph it again"
    )]
    Open {
        /// From the left of the window, mm.
        right: f64,
        /// From its foot, mm.
        up: f64,
    },
    /// A line into the margin.
    #[error("a line runs out of the window: use a frame on larger paper, or trace it in parts")]
    RunsOut,
    /// Far too much.
    #[error(
        "there are {0} shapes in the window, more than anybody traces: is a shadow in the picture?"
    )]
    TooManyShapes(usize),
}

/// Reads a photograph.
///
/// # Errors
/// [`PhotoError`].
pub fn read(bytes: &[u8]) -> Result<Tracing, PhotoError> {
    let picture = grey::decode(bytes)?;
    let found = targets::find(&picture)?;
    let (layout, to_picture, off_mm) = frame(&found)?;
    if off_mm > BENT_MM {
        return Err(PhotoError::Bent { off: off_mm });
    }
    let point_mm = point_size(&to_picture, &layout);
    if point_mm > COARSEST_MM {
        return Err(PhotoError::TooCoarse { mm: point_mm });
    }
    let patch = follow::Patch::of(&picture, &to_picture, layout.window, point_mm);
    let shapes = shapes::shapes(&patch)?;
    let path: BezPath = shapes.outlines.into_iter().flatten().collect();
    let outline = Outline::from_paths_mm([&path]).map_err(|_| PhotoError::Nothing)?;
    let bounds = outline.bounds().ok_or(PhotoError::Nothing)?;
    let outline = outline.shifted(-bounds.centre().from_origin());
    let marks = shapes
        .crosses
        .iter()
        .map(|p| Point2::from_mm(p.x, p.y) - bounds.centre())
        .collect();
    let within = libm::sqrt(point_mm * point_mm + off_mm * off_mm + HAND_MM * HAND_MM);
    Ok(Tracing {
        outline,
        across: bounds.width(),
        up: bounds.height(),
        paper: layout.paper,
        fifth_off: Length::from_mm(off_mm),
        within: Length::from_mm(within),
        marks,
        specks: shapes.specks,
    })
}

/// Which frame it is, how it lies in the picture, and how far its fifth target is off, mm: of all
/// frames and all ways of naming the targets the one whose fifth fits best.
fn frame(found: &[Point; 5]) -> Result<(FrameLayout, Homography, f64), PhotoError> {
    let mut best: Option<(f64, FrameLayout, Homography, bool)> = None;
    for (skip, fifth) in found.iter().enumerate() {
        let mut rest: Vec<Point> = found
            .iter()
            .enumerate()
            .filter(|(i, _)| *i != skip)
            .map(|(_, p)| *p)
            .collect();
        let sum = rest.iter().fold(Point::ZERO, |s, p| s + p.to_vec2());
        let middle = Point::new(sum.x / 4.0, sum.y / 4.0);
        // Anticlockwise as seen: the picture's y runs down.
        let way = |p: &Point| libm::atan2(middle.y - p.y, p.x - middle.x);
        rest.sort_by(|a, b| way(a).total_cmp(&way(b)));
        let Ok(round) = <[Point; 4]>::try_from(rest) else {
            continue;
        };
        for behind in [false, true] {
            let mut round = round;
            if behind {
                round.reverse();
            }
            for _ in 0..4 {
                round.rotate_left(1);
                for layout in FrameLayout::all() {
                    let Some(h) = Homography::through(layout.corners, round) else {
                        continue;
                    };
                    let Some(back) = h.inverse().and_then(|b| b.at(*fifth)) else {
                        continue;
                    };
                    let off = length(back - layout.fifth);
                    if best.as_ref().is_none_or(|b| off < b.0) {
                        best = Some((off, layout, h, behind));
                    }
                }
            }
        }
    }
    match best {
        Some((off, ..)) if off > 2.0 * BENT_MM => Err(PhotoError::NotTheFrame),
        None => Err(PhotoError::NotTheFrame),
        Some((_, _, _, true)) => Err(PhotoError::FromBehind),
        Some((off, layout, h, false)) => Ok((layout, h, off)),
    }
}

/// How large a point of the picture is on the sheet, at its largest, mm.
fn point_size(to_picture: &Homography, layout: &FrameLayout) -> f64 {
    let w = layout.window;
    let mut largest: f64 = 0.0;
    for p in [
        w.center(),
        Point::new(w.x0, w.y0),
        Point::new(w.x1, w.y0),
        Point::new(w.x1, w.y1),
        Point::new(w.x0, w.y1),
    ] {
        let here = to_picture.at(p);
        for step in [(1.0, 0.0), (0.0, 1.0)] {
            if let (Some(a), Some(b)) = (here, to_picture.at(p + step)) {
                largest = largest.max(1.0 / length(b - a).max(1e-9));
            }
        }
    }
    largest
}

/// The platform's own may differ in the last digit.
fn length(v: kurbo::Vec2) -> f64 {
    libm::hypot(v.x, v.y)
}
