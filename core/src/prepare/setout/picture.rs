//! The picture of a face that is set out: its frame and how far it reaches.

use super::{FeatureView, MarkView, Placed, Stands};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{FaceId, Job};
use crate::prepare::edge_lines::{EdgePicture, edge_lines};
use crate::prepare::face::Sized;
use crate::prepare::network::Marks;
use crate::surface::Development;

/// Room about what is drawn where little is, mm.
const LEAST_ROOM_MM: f64 = 60.0;

/// The picture's frame: the face rolled out about the middle of what is held.
pub(super) struct Picture {
    pub(super) development: Development,
}

impl Picture {
    pub(super) fn about(marks: &Marks) -> Option<Self> {
        let n = marks.adjusted.points.len().max(1) as f64;
        let (mut u_mm, mut v_mm) = (0.0, 0.0);
        for point in &marks.adjusted.points {
            u_mm += point.at.x_mm() / n;
            v_mm += point.at.y_mm() / n;
        }
        let up = Vector2::from_mm(0.0, 1.0);
        let middle = Point2::from_mm(u_mm, v_mm);
        Development::new(&marks.adjusted.surface, middle, up)
            .ok()
            .map(|development| Self { development })
    }

    pub(super) fn at(&self, p: Point2<Face>) -> Option<Point2<Flat>> {
        self.development.flat(p).ok()
    }
}

pub(super) fn dot(p: Point2<Flat>) -> [f64; 2] {
    [p.x_mm(), p.y_mm()]
}

/// Corners of the picture, mm: left, low, right, high.
pub(super) fn bounds(
    marks: &[MarkView],
    features: &[FeatureView],
    edges: &[EdgePicture],
) -> [f64; 4] {
    let shown = |s: &Stands| match s {
        Stands::Held { at_mm, .. } => vec![*at_mm],
        Stands::EitherSide { either_mm, .. } => either_mm.iter().flatten().copied().collect(),
        Stands::Open { .. } => Vec::new(),
    };
    let dots = marks
        .iter()
        .flat_map(|m| shown(&m.stands))
        .chain(features.iter().flat_map(|f| shown(&f.stands)))
        .chain(
            features
                .iter()
                .flat_map(|f| f.outline.iter().flatten().copied()),
        )
        .chain(edges.iter().flat_map(|e| e.line.iter().copied()));
    let mut all: Option<[f64; 4]> = None;
    for [x, y] in dots {
        let [l, b, r, t] = all.unwrap_or([x, y, x, y]);
        all = Some([l.min(x), b.min(y), r.max(x), t.max(y)]);
    }
    let [l, b, r, t] = all.unwrap_or([0.0; 4]);
    // A picture of a single line still has some height.
    let wide = (LEAST_ROOM_MM - (r - l)).max(0.0) / 2.0;
    let high = (LEAST_ROOM_MM - (t - b)).max(0.0) / 2.0;
    [l - wide, b - high, r + wide, t + high]
}

/// The edges in the picture, as far as readings tell where they run.
pub(super) fn edges_seen(
    job: &Job,
    face: &FaceId,
    sized: &Sized,
    placed: &Placed,
    picture: Option<&Picture>,
) -> Vec<EdgePicture> {
    let adjusted = placed.marks.as_ref().map(|m| &m.adjusted);
    let edges = adjusted.map_or(&[][..], |a| &a.edges);
    let surface = adjusted.map_or(&sized.surface, |a| &a.surface);
    let marks: Vec<Point2<Face>> = adjusted
        .iter()
        .flat_map(|a| a.points.iter().map(|p| p.at))
        .collect();
    let seen = |p: Point2<Face>| Some(dot(picture?.at(p)?));
    edge_lines(job, face, (edges, surface), &marks, &seen)
}
