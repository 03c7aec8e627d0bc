//! Where the edges of a face are drawn on a picture of it, and how each is named there.

use super::edges::{edges_of, goes_round, letter};
use crate::frames::{Face, Point2, Vector2};
use crate::job::{EdgeId, FaceId, Job, Measured};
use crate::readings::EdgeStart;
use crate::surface::Surface;
use serde::{Deserialize, Serialize};

/// An edge is drawn so far beyond the outermost marks, as a share of what lies between them.
const BEYOND: f64 = 0.12;
/// And so far at least, mm.
const LEAST_BEYOND_MM: f64 = 25.0;
/// Steps of a drawn edge: on a picture of a round face it may bend.
const STEPS: u32 = 12;

/// An edge on a picture of its face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EdgePicture {
    /// Which.
    pub edge: EdgeId,
    /// Its letter.
    pub letter: String,
    /// Where it is, in words: *edge below*.
    pub words: String,
    /// Where it runs, mm; nothing while no distance from it is read.
    pub line: Vec<[f64; 2]>,
}

impl EdgePicture {
    /// The place on it that is nearest to another, on the picture.
    #[must_use]
    pub fn foot(&self, [x, y]: [f64; 2]) -> Option<[f64; 2]> {
        let feet = self.line.windows(2).filter_map(|pair| {
            let [[ax, ay], [bx, by]] = <[[f64; 2]; 2]>::try_from(pair).ok()?;
            let (dx, dy) = (bx - ax, by - ay);
            let long = dx * dx + dy * dy;
            let share = if long > 0.0 {
                (((x - ax) * dx + (y - ay) * dy) / long).clamp(0.0, 1.0)
            } else {
                0.0
            };
            Some([ax + share * dx, ay + share * dy])
        });
        let far = |p: &[f64; 2]| libm::hypot(p[0] - x, p[1] - y);
        feet.min_by(|a, b| far(a).total_cmp(&far(b)))
    }
}

/// Every edge of a face; drawn where a distance from it was read, and where it is a line of the face.
pub(super) fn edge_lines(
    job: &Job,
    face: &FaceId,
    (edges, surface): (&[EdgeStart], &Surface),
    marks: &[Point2<Face>],
    seen: &dyn Fn(Point2<Face>) -> Option<[f64; 2]>,
) -> Vec<EdgePicture> {
    edges_of(job, face)
        .into_iter()
        .enumerate()
        .map(|(k, id)| {
            let lies = job.edges.get(&id).and_then(|e| e.lies).unwrap_or_default();
            let mut read = job.readings.iter();
            let read =
                read.any(|r| matches!(&r.says.of, Measured::Square { edge, .. } if *edge == id));
            // What goes round a cone bends about its tip, and is no line of its chart.
            let bends = matches!(surface, Surface::Cone(_)) && goes_round(job, &id);
            let line = match edges.get(k).filter(|_| read && !bends) {
                Some(start) => run(start, marks).filter_map(seen).collect(),
                None => Vec::new(),
            };
            EdgePicture {
                letter: letter(job, &id),
                words: lies.words().to_owned(),
                edge: id,
                line,
            }
        })
        .collect()
}

/// Places along an edge, past the marks at either end.
fn run(edge: &EdgeStart, marks: &[Point2<Face>]) -> impl Iterator<Item = Point2<Face>> + use<> {
    let along = Vector2::<Face>::from_mm(1.0, 0.0).turned(edge.along.rad());
    let through = edge.through;
    let feet = marks.iter().map(|m| along.dot(*m - through));
    let (low, high) = feet.fold((0.0_f64, 0.0_f64), |(l, h), f| (l.min(f), h.max(f)));
    let beyond = (BEYOND * (high - low)).max(LEAST_BEYOND_MM);
    let (from, to) = (low - beyond, high + beyond);
    (0..=STEPS).map(move |k| {
        let share = f64::from(k) / f64::from(STEPS);
        through + along * (from + share * (to - from))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::{EdgeKind, Held};
    use crate::units::Angle;

    /// An edge 40 under two marks 300 apart runs past both, and its foot under a mark is square below it.
    #[test]
    fn an_edge_runs_past_the_marks() {
        let edge = EdgeStart {
            through: Point2::from_mm(100.0, -40.0),
            along: Angle::ZERO,
            kind: EdgeKind::Moulded,
            held: Held::Free,
            slope_sd: None,
        };
        let marks = [Point2::from_mm(0.0, 0.0), Point2::from_mm(300.0, 5.0)];
        let line: Vec<[f64; 2]> = run(&edge, &marks).map(|p| [p.x_mm(), p.y_mm()]).collect();
        assert!(line.first().is_some_and(|p| p[0] < -20.0));
        assert!(line.last().is_some_and(|p| p[0] > 320.0));
        assert!(line.iter().all(|p| (p[1] + 40.0).abs() < 1e-9));
        let picture = EdgePicture {
            edge: EdgeId::new("e").unwrap_or_else(|_| unreachable!()),
            letter: "E".into(),
            words: "edge below".into(),
            line,
        };
        let foot = picture.foot([300.0, 5.0]);
        assert!(foot.is_some_and(|f| (f[0] - 300.0).abs() < 1e-6 && (f[1] + 40.0).abs() < 1e-6));
    }
}
