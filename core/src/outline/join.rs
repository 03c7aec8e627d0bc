//! Joining the offsets of contours that run into each other, by adding and subtracting their areas.
//!
//! The points within a distance of a shape are what is left of its outside after that is taken in
//! by the distance. The outside falls into pieces that do not touch (the outside proper, and every
//! hole less the islands in it), and a disc fits into one of them or into none; so each piece can be
//! worked out by itself: what holds it taken in, less what lies in it grown.

use super::Nest;
use cavalier_contours::polyline::{
    BooleanOp, PlineOrientation, PlineSource, PlineSourceMut, Polyline,
};

type Ring = Polyline<f64>;

/// An area in pieces: solid rings, holes in them, islands in the holes. All run anticlockwise.
#[derive(Default)]
struct Area {
    solid: Vec<Ring>,
    holes: Vec<Ring>,
    islands: Vec<Ring>,
}

/// Contours (anticlockwise, with how they lie) moved by `by_mm`, positive to grow the area: all rings
/// that bound the result.
pub(super) fn joined(contours: &[(Ring, Nest, usize)], by_mm: f64) -> Vec<Ring> {
    let grow = by_mm > 0.0;
    let far = by_mm.abs();
    let mut rings = Vec::new();
    if grow {
        let top = contours.iter().filter(|(_, n, _)| n.depth == 0);
        let area = union(top.map(|(r, _, _)| r), far);
        rings.extend(area.solid);
        rings.extend(area.holes);
        rings.extend(area.islands);
    }
    // Growing takes the holes in, shrinking what is solid; what lies in either grows into it.
    for (ring, _, index) in contours.iter().filter(|(_, n, _)| n.is_hole() == grow) {
        let inside = contours.iter().filter(|(_, n, _)| n.inside == Some(*index));
        rings.extend(taken_in(ring, &union(inside.map(|(r, _, _)| r), far), far));
    }
    rings
}

fn taken_in(ring: &Ring, less: &Area, far: f64) -> Vec<Ring> {
    let pieces: Vec<Ring> = ring.parallel_offset(far);
    let mut rings = Vec::new();
    let mut left = pieces.clone();
    for grown in &less.solid {
        let mut next = Vec::new();
        for piece in &left {
            let (outer, inner) = combined(piece, grown, BooleanOp::Not);
            next.extend(outer);
            rings.extend(inner);
        }
        left = next;
    }
    rings.extend(left);
    for hole in &less.holes {
        for piece in &pieces {
            rings.extend(combined(hole, piece, BooleanOp::And).0);
        }
    }
    rings.extend(less.islands.iter().cloned());
    rings
}

fn union<'r>(rings: impl Iterator<Item = &'r Ring>, far: f64) -> Area {
    let mut all = Area::default();
    for ring in rings {
        let (mut solid, mut own_holes) = (Vec::new(), Vec::new());
        for mut moved in ring.parallel_offset(-far) {
            if moved.orientation() == PlineOrientation::CounterClockwise {
                solid.push(moved);
            } else {
                moved.invert_direction_mut();
                own_holes.push(moved);
            }
        }
        // What was there already fills the new one's holes, and the new one fills what was there.
        for old in &all.solid {
            own_holes = own_holes
                .iter()
                .flat_map(|h| {
                    let (left, islands) = combined(h, old, BooleanOp::Not);
                    all.islands.extend(islands);
                    left
                })
                .collect();
        }
        for new in &solid {
            let mut left = Vec::new();
            for hole in &all.holes {
                let (outer, inner) = combined(hole, new, BooleanOp::Not);
                left.extend(outer);
                all.islands.extend(inner);
            }
            all.holes = left;
        }
        all.holes.extend(own_holes);
        for mut new in solid {
            let mut kept = Vec::new();
            for old in all.solid {
                let (mut outer, holes) = combined(&new, &old, BooleanOp::Or);
                if outer.len() == 1 {
                    new = outer.remove(0);
                    all.holes.extend(holes);
                } else {
                    kept.push(old);
                }
            }
            kept.push(new);
            all.solid = kept;
        }
    }
    all
}

/// Outer rings and holes of two areas combined; all anticlockwise.
pub(super) fn combined(a: &Ring, b: &Ring, how: BooleanOp) -> (Vec<Ring>, Vec<Ring>) {
    let result = a.boolean(b, how);
    let turned = |mut ring: Ring| {
        if ring.orientation() == PlineOrientation::Clockwise {
            ring.invert_direction_mut();
        }
        ring
    };
    (
        result
            .pos_plines
            .into_iter()
            .map(|p| turned(p.pline))
            .collect(),
        result
            .neg_plines
            .into_iter()
            .map(|p| turned(p.pline))
            .collect(),
    )
}
