//! The skin of a face as triangles.

use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};
use crate::surface::{Shape, Surface};
use crate::units::Length;

/// At most so many cells each way, two triangles each: 4 225 corners. A ball of 100 mm shown 400 mm
/// wide is left by 0.1 mm at that; what is bent tighter is said with what it is left by.
pub const MOST_CELLS: usize = 64;

/// Triangles leave the face by no more than this where [`MOST_CELLS`] allow it: half a pixel of a
/// screen on which 200 mm are shown.
pub const CHORD: Length = Length::from_mm(0.1);

/// Cells on the longer side to begin with.
const FIRST_CELLS: usize = 8;

/// The part of a face's chart that is shown.
#[derive(Debug, Clone, Copy)]
pub(super) struct Room {
    pub(super) low: Point2<Face>,
    pub(super) high: Point2<Face>,
}

impl Room {
    /// Around these places, with a margin of an eighth, or of 15 mm where that is more; no further
    /// round a closed face than once. Nothing where there is no place.
    pub(super) fn around(surface: &Surface, places: &[Point2<Face>]) -> Option<Self> {
        let first = *places.first()?;
        let (mut low, mut high) = (first, first);
        for p in places {
            low = Point2::from_mm(low.x_mm().min(p.x_mm()), low.y_mm().min(p.y_mm()));
            high = Point2::from_mm(high.x_mm().max(p.x_mm()), high.y_mm().max(p.y_mm()));
        }
        let size = high - low;
        let margin = (size.x_mm().max(size.y_mm()) / 8.0).max(15.0);
        let by = Vector2::from_mm(margin, margin);
        let mut room = Self {
            low: low - by,
            high: high + by,
        };
        if let Some(girth) = surface.girth() {
            let over = |size_mm: f64, girth_mm: f64| {
                if girth_mm > 0.0 {
                    ((size_mm - girth_mm) / 2.0).max(0.0)
                } else {
                    0.0
                }
            };
            let size = room.high - room.low;
            let less = Vector2::from_mm(
                over(size.x_mm(), girth.x_mm()),
                over(size.y_mm(), girth.y_mm()),
            );
            room = Self {
                low: room.low + less,
                high: room.high - less,
            };
        }
        Some(room)
    }

    pub(super) fn middle(&self) -> Point2<Face> {
        self.low.lerp(self.high, 0.5)
    }

    fn at(&self, across: f64, up: f64) -> Point2<Face> {
        let size = self.high - self.low;
        self.low + Vector2::from_mm(size.x_mm() * across, size.y_mm() * up)
    }
}

/// A corner of the skin and which way it looks; nothing where the face ends.
pub(super) type Corner = Option<(Point3<Part>, Vector3<Part>)>;

/// The skin.
pub(super) struct Skin {
    /// Cells across and up.
    pub(super) cells: [usize; 2],
    /// (across + 1) × (up + 1) corners, rows upwards.
    pub(super) corners: Vec<Corner>,
    /// The greatest distance of the face from its triangles, seen at the middles of their sides.
    pub(super) chord: Length,
}

/// The skin over a part of the chart, with as many triangles as [`CHORD`] wants.
pub(super) fn skin(surface: &Surface, room: &Room) -> Skin {
    let size = room.high - room.low;
    let (wide, tall) = (size.x_mm().max(1.0), size.y_mm().max(1.0));
    let share = |side_mm: f64, cells: usize| {
        #[expect(
            clippy::cast_precision_loss,
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most 64"
        )]
        let of = libm::ceil(cells as f64 * side_mm / wide.max(tall)) as usize;
        of.clamp(2, MOST_CELLS)
    };
    let mut longest = FIRST_CELLS;
    loop {
        let skin = Skin::over(surface, room, [share(wide, longest), share(tall, longest)]);
        if skin.chord <= CHORD || longest >= MOST_CELLS {
            return skin;
        }
        longest *= 2;
    }
}

/// A place of a grid as a share of its side.
#[expect(clippy::cast_precision_loss, reason = "at most 64 cells")]
fn share(k: usize, halves: usize, cells: usize) -> f64 {
    (2 * k + halves) as f64 / (2 * cells) as f64
}

impl Skin {
    fn over(surface: &Surface, room: &Room, cells: [usize; 2]) -> Self {
        let [across, up] = cells;
        let mut corners = Vec::with_capacity((across + 1) * (up + 1));
        for j in 0..=up {
            for i in 0..=across {
                let at = room.at(share(i, 0, across), share(j, 0, up));
                corners.push(corner(surface, at));
            }
        }
        let mut skin = Self {
            cells,
            corners,
            chord: Length::ZERO,
        };
        let mut chord_mm: f64 = 0.0;
        for j in 0..=up {
            for i in 0..=across {
                // Across, up, and along the side that both triangles of a cell share: on a surface bent
                // alike all over, a triangle with a right angle is left most at the middle of that.
                for (di, dj) in [(1, 0), (0, 1), (1, 1)] {
                    if i + di > across || j + dj > up {
                        continue;
                    }
                    let middle = room.at(share(i, di, across), share(j, dj, up));
                    let off = skin.off_mm([i, j], [i + di, j + dj], corner(surface, middle));
                    chord_mm = chord_mm.max(off);
                }
            }
        }
        skin.chord = Length::from_mm(chord_mm);
        skin
    }

    pub(super) fn corner(&self, [i, j]: [usize; 2]) -> Corner {
        self.corners
            .get(j * (self.cells[0] + 1) + i)
            .copied()
            .flatten()
    }

    /// How far a side between two corners lies from the face, square to it.
    fn off_mm(&self, from: [usize; 2], to: [usize; 2], there: Corner) -> f64 {
        let (Some(a), Some(b), Some((at, normal))) = (self.corner(from), self.corner(to), there)
        else {
            return 0.0;
        };
        let middle = a.0 + (b.0 - a.0) * 0.5;
        (at - middle).dot(normal).abs()
    }
}

fn corner(surface: &Surface, at: Point2<Face>) -> Corner {
    Some((surface.jet(at).ok()?.at, surface.normal(at).ok()?))
}

/// Lines of equal u and of equal v at round steps, about ten over the longer side; where the face
/// ends, a line is two.
pub(super) fn steps(surface: &Surface, room: &Room) -> (Length, Vec<Vec<Point3<Part>>>) {
    /// Dots along a line.
    const DOTS: usize = 64;
    let size = room.high - room.low;
    let longer = size.x_mm().max(size.y_mm());
    let step_mm = [
        5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0,
    ]
    .into_iter()
    .find(|step| longer / step <= 11.0)
    .unwrap_or(10_000.0);
    let mut lines = Vec::new();
    let mut line = |at: &dyn Fn(f64) -> Point2<Face>| {
        let mut run = Vec::new();
        for k in 0..=DOTS {
            match surface.jet(at(share(k, 0, DOTS))) {
                Ok(jet) => run.push(jet.at),
                Err(_) => lines.push(core::mem::take(&mut run)),
            }
        }
        lines.push(run);
    };
    let whole = |low: f64, high: f64| {
        let first = libm::ceil(low / step_mm);
        core::iter::successors(Some(first), |k| Some(k + 1.0))
            .map(move |k| k * step_mm)
            .take_while(move |at| *at <= high)
    };
    for u in whole(room.low.x_mm(), room.high.x_mm()) {
        line(&|t| Point2::from_mm(u, room.at(0.0, t).y_mm()));
    }
    for v in whole(room.low.y_mm(), room.high.y_mm()) {
        line(&|t| Point2::from_mm(room.at(t, 0.0).x_mm(), v));
    }
    lines.retain(|run| run.len() > 1);
    (Length::from_mm(step_mm), lines)
}
