//! How a mesh's triangles are parted into boxes.
//!
//! They are put in order along a curve, so that neighbours come side by side; as many of them as make a small box are a leaf. Then from above: the
//! row of leaves in a box is cut where the two parts' surface times their number is least (MacDonald
//! and Booth 1990, *Heuristics for ray tracing using space subdivision*, Visual Computer 6, 153–166),
//! until there are eight.

use super::curve::{along_curve, which};
use super::packed::{Around, EIGHT, Inside, Leaf, Node, less, more};
use super::{Boxes, corners, single};
use crate::read::mesh::Mesh;
use crate::read::mesh::look::{add, times};

/// A leaf takes one more triangle while the box round all is no larger than the two boxes times this.
const LOOSE: f32 = 2.0;

/// From this depth on boxes are halved by number, so that no scan makes the tree deeper than
/// [`DEEPEST`].
const HALVED_FROM: usize = 12;

/// The deepest that boxes are in boxes: eight to the seventh are more than [`MOST_TRIANGLES`].
///
/// [`MOST_TRIANGLES`]: crate::read::mesh::MOST_TRIANGLES
pub(super) const DEEPEST: usize = HALVED_FROM + 11;

/// The triangles in the order of the curve.
fn in_order(mesh: &Mesh) -> Vec<u64> {
    let points = mesh.points.iter().copied();
    along_curve(points, mesh.triangles.len(), |t| {
        let [a, b, c] = mesh.triangles[t].map(|k| mesh.points[k as usize]);
        times(add(add(a, b), c), 1.0 / 3.0)
    })
}

/// Triangles side by side on the curve, as leaves with the boxes round them.
fn leaves(mesh: &Mesh, order: &[u64]) -> (Vec<Leaf>, Vec<Around>) {
    let about = order.len() / 5 + 1;
    let (mut leaves, mut boxes) = (Vec::with_capacity(about), Vec::with_capacity(about));
    let mut open = [([[0.0; 3]; 3], 0); EIGHT];
    let (mut count, mut around) = (0, Around::NOTHING);
    for key in order {
        let t = which(*key);
        let three = corners(mesh, t);
        let [a, b, c] = three.map(single);
        let one = Around {
            low: [0, 1, 2].map(|k| less(less(a[k], b[k]), c[k])),
            high: [0, 1, 2].map(|k| more(more(a[k], b[k]), c[k])),
        };
        let all = around.with(&one);
        let fits = all.surface() <= LOOSE * (around.surface() + one.surface());
        if count > 0 && (count == EIGHT || !fits) {
            leaves.push(Leaf::of(&open[..count], &around));
            boxes.push(around);
            (count, around) = (0, one);
        } else {
            around = all;
        }
        open[count] = (three, t);
        count += 1;
    }
    if count > 0 {
        leaves.push(Leaf::of(&open[..count], &around));
        boxes.push(around);
    }
    (leaves, boxes)
}

/// Some leaves side by side, and half the surface of the box round them.
#[derive(Debug, Clone, Copy)]
struct Row {
    first: usize,
    end: usize,
    surface: f32,
}

/// Boxes in boxes, made from above.
struct Making<'a> {
    leaves: &'a [Around],
    /// Surfaces of what lies after each cut.
    after: Vec<f32>,
    nodes: Vec<Node>,
    slack: f32,
}

impl Making<'_> {
    fn round(&self, row: Row) -> Around {
        let all = self.leaves[row.first..row.end].iter();
        all.fold(Around::NOTHING, |sum, b| sum.with(b))
    }

    fn cut(&mut self, row: Row, halved: bool) -> [Row; 2] {
        let leaves = &self.leaves[row.first..row.end];
        let mut sum = Around::NOTHING;
        for (k, b) in leaves.iter().enumerate().skip(1).rev() {
            sum = sum.with(b);
            self.after[k] = sum.surface();
        }
        let mut sum = Around::NOTHING;
        let mut best = (f32::INFINITY, leaves.len() / 2, [row.surface; 2]);
        let (mut before, mut behind) = (0.0_f32, to_count(leaves.len()));
        for (k, b) in leaves.iter().enumerate().take(leaves.len() - 1) {
            sum = sum.with(b);
            (before, behind) = (before + 1.0, behind - 1.0);
            let surfaces = [sum.surface(), self.after[k + 1]];
            let cost = surfaces[0] * before + surfaces[1] * behind;
            let better = if halved {
                k + 1 == leaves.len() / 2
            } else {
                cost < best.0
            };
            if better {
                best = (cost, k + 1, surfaces);
            }
        }
        let (_, at, [left, right]) = best;
        let at = row.first + at;
        [(row.first, at, left), (at, row.end, right)].map(|(first, end, surface)| Row {
            first,
            end,
            surface,
        })
    }

    /// The boxes in a box, and what is in them; says where it is.
    fn put(&mut self, all: Row, depth: usize) -> usize {
        let mut rows = [all; EIGHT];
        let mut count = 1;
        let halved = depth >= HALVED_FROM;
        let whole = if all.end - all.first > EIGHT {
            EIGHT
        } else {
            1
        };
        while count < EIGHT {
            // The largest that can be cut, or the fullest. What goes into one box whole is not cut: full
            // boxes are few.
            let mut largest = None;
            let large = |row: &Row| {
                if halved {
                    to_count(row.end - row.first)
                } else {
                    row.surface
                }
            };
            for (c, row) in rows.iter().enumerate().take(count) {
                if row.end - row.first > whole
                    && largest.is_none_or(|l: usize| large(row) > large(&rows[l]))
                {
                    largest = Some(c);
                }
            }
            let Some(c) = largest else { break };
            [rows[c], rows[count]] = self.cut(rows[c], halved);
            count += 1;
        }
        let this = self.nodes.len();
        let rows = &rows[..count];
        let mut boxes = [Around::NOTHING; EIGHT];
        for (around, row) in boxes.iter_mut().zip(rows) {
            *around = self.round(*row);
        }
        let boxes = &boxes[..count];
        self.nodes.push(Node::over(boxes, &[], self.slack));
        let mut inside = [0; EIGHT];
        for (inside, row) in inside.iter_mut().zip(rows) {
            *inside = if row.end - row.first == 1 {
                Inside::Triangles(row.first).kept()
            } else {
                Inside::Boxes(self.put(*row, depth + 1)).kept()
            };
        }
        self.nodes[this] = Node::over(boxes, &inside[..count], self.slack);
        this
    }
}

#[expect(clippy::cast_precision_loss, reason = "to compare by")]
fn to_count(n: usize) -> f32 {
    n as f32
}

impl Boxes {
    /// Over all of a mesh.
    #[must_use]
    pub fn over(mesh: &Mesh) -> Self {
        let (leaves, around) = leaves(mesh, &in_order(mesh));
        let all = around.iter().fold(Around::NOTHING, |sum, b| sum.with(b));
        let furthest = (0..3).fold(0.0, |far, k| more(far, more(-all.low[k], all.high[k])));
        let mut boxes = Self {
            nodes: Vec::new(),
            leaves,
            furthest,
        };
        if !around.is_empty() {
            let mut making = Making {
                leaves: &around,
                after: vec![0.0; around.len()],
                nodes: Vec::with_capacity(around.len() / 5 + 1),
                // Corners in single precision are off by half the last of their 24 digits.
                slack: furthest * f32::EPSILON,
            };
            let row = Row {
                first: 0,
                end: around.len(),
                surface: all.surface(),
            };
            making.put(row, 0);
            boxes.nodes = making.nodes;
        }
        boxes
    }
}
