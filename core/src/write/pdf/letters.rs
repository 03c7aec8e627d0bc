//! Letters as shapes and places: a sheet has some seventy shapes of letters in a few sizes and a
//! thousand letters. Each shape is written once for a file, each letter is a shape and a place.
//!
//! A shape is named by what it is, not by when it was met, so that a page reads the same in every
//! file that holds it and is pressed once for all of them.

use super::content::trace;
use crate::sheet::drawing::{Contour, Segment, Spot};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The name of a shape: 48 bits of its coordinates' hash. Among five hundred shapes two agree by
/// chance once in two thousand million files, and then the later one is drawn out in full.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub(super) struct ShapeName(u64);

impl ShapeName {
    /// Eight characters that PDF takes in a name as they are (ISO 32000-1, 7.3.5).
    pub(super) fn text(self) -> [u8; 8] {
        const DIGITS: &[u8; 64] =
            b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_";
        core::array::from_fn(|i| {
            let six = usize::try_from((self.0 >> (6 * i)) & 63).unwrap_or(0);
            DIGITS.get(six).copied().unwrap_or(b'0')
        })
    }
}

/// A shape as it was met.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Met {
    /// Contours relative to where the first of them starts. Those who bind pages need none.
    #[serde(skip)]
    shape: Vec<Contour>,
    /// The box round it.
    pub(super) reach: Reach,
}

/// The shapes met on one drawing.
#[derive(Debug, Clone, Default)]
pub(super) struct Shapes {
    met: BTreeMap<ShapeName, Met>,
    /// How many contours a letter has and what tells its first apart: the first shape met that looks so.
    at_a_glance: BTreeMap<(usize, [i32; 4]), ShapeName>,
}

impl Shapes {
    /// The name under which this letter is kept; `None` if its name means another shape.
    pub(super) fn keep(&mut self, letter: &[Contour], at: Spot) -> Option<ShapeName> {
        let back = Spot::new(at.x.saturating_neg(), at.y.saturating_neg());
        let is = |met: &Met| {
            met.shape.len() == letter.len()
                && met
                    .shape
                    .iter()
                    .zip(letter)
                    .all(|(k, l)| k.is_moved(l, back))
        };
        let glance = (letter.len(), letter.first().map_or([0; 4], Contour::glance));
        // A page has a thousand letters of some seventy shapes: most need no name worked out.
        if let Some(name) = self.at_a_glance.get(&glance)
            && self.met.get(name).is_some_and(is)
        {
            return Some(*name);
        }
        let name = name_of(letter, at);
        if let Some(met) = self.met.get(&name) {
            return is(met).then_some(name);
        }
        let shape: Vec<Contour> = letter.iter().map(|c| c.shifted(back)).collect();
        let met = Met {
            reach: reach(&shape),
            shape,
        };
        self.met.insert(name, met);
        self.at_a_glance.entry(glance).or_insert(name);
        Some(name)
    }
}

/// A shape as a file holds it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Kept {
    pub(super) met: Met,
    /// Its path and fill, compressed.
    #[serde(skip)]
    pub(super) packed: Vec<u8>,
}

/// The shapes of all drawings so far, each compressed once.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(from = "Vec<(ShapeName, Kept)>", into = "Vec<(ShapeName, Kept)>")]
pub(super) struct KeptShapes(BTreeMap<ShapeName, Kept>);

impl From<Vec<(ShapeName, Kept)>> for KeptShapes {
    fn from(all: Vec<(ShapeName, Kept)>) -> Self {
        Self(all.into_iter().collect())
    }
}

impl From<KeptShapes> for Vec<(ShapeName, Kept)> {
    fn from(all: KeptShapes) -> Self {
        all.0.into_iter().collect()
    }
}

impl KeptShapes {
    /// Takes in what was met on a drawing by itself; `false`, and nothing taken, where one of its names
    /// means another shape here.
    pub(super) fn take(&mut self, shapes: Shapes) -> bool {
        let known = |name: &ShapeName| self.0.get(name);
        let agree = |(name, met): (&ShapeName, &Met)| {
            known(name).is_none_or(|kept| kept.met.shape == met.shape)
        };
        if !shapes.met.iter().all(agree) {
            return false;
        }
        for (name, met) in shapes.met {
            self.0.entry(name).or_insert_with(|| {
                let mut raw = Vec::new();
                trace(&mut raw, &met.shape);
                raw.extend_from_slice(b"f");
                let packed = super::packed(&raw);
                Kept { met, packed }
            });
        }
        true
    }

    /// Takes in what others kept; `false` where a name means one shape here and another there. What is
    /// written alike is one shape.
    pub(super) fn join(&mut self, other: Self) -> bool {
        other.0.into_iter().all(|(name, kept)| {
            let here = self.0.entry(name).or_insert_with(|| kept.clone());
            here.packed == kept.packed && here.met.reach == kept.met.reach
        })
    }

    pub(super) fn packed(&mut self, each: &mut impl FnMut(&mut Vec<u8>)) {
        for kept in self.0.values_mut() {
            each(&mut kept.packed);
        }
    }

    /// All of them, as if they had been met on a drawing before what comes.
    pub(super) fn met(&self) -> Shapes {
        let all = self.0.iter();
        Shapes {
            met: all.map(|(name, kept)| (*name, kept.met.clone())).collect(),
            at_a_glance: BTreeMap::new(),
        }
    }

    pub(super) fn get(&self, name: ShapeName) -> Option<&Kept> {
        self.0.get(&name)
    }
}

/// FNV-1a (Fowler, Noll, Vo 1991) over whole coordinates, folded to 48 bits.
fn name_of(letter: &[Contour], at: Spot) -> ShapeName {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    let mut take = |n: i32| {
        hash ^= u64::from(n.cast_unsigned());
        hash = hash.wrapping_mul(0x0000_0100_0000_01b3);
        // A coordinate is four bytes taken at once: without this the high ones reach few bits.
        hash ^= hash >> 29;
    };
    let spot = |s: Spot, take: &mut dyn FnMut(i32)| {
        take(s.x.wrapping_sub(at.x));
        take(s.y.wrapping_sub(at.y));
    };
    for contour in letter {
        take(0);
        spot(contour.start, &mut take);
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => {
                    take(1);
                    spot(to, &mut take);
                }
                Segment::Arc { via, to } => {
                    take(2);
                    spot(via, &mut take);
                    spot(to, &mut take);
                }
                Segment::Cubic { c1, c2, to } => {
                    take(3);
                    spot(c1, &mut take);
                    spot(c2, &mut take);
                    spot(to, &mut take);
                }
            }
        }
    }
    ShapeName((hash ^ (hash >> 48)) & 0xffff_ffff_ffff)
}

/// The box round a shape, µm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Reach {
    pub(super) low: Spot,
    pub(super) high: Spot,
}

impl Reach {
    fn inside(self, other: Self) -> bool {
        self.low.x >= other.low.x
            && self.low.y >= other.low.y
            && self.high.x <= other.high.x
            && self.high.y <= other.high.y
    }
}

/// The box round contours; control points enclose what they control.
pub(super) fn reach(contours: &[Contour]) -> Reach {
    let mut r = Reach {
        low: Spot::new(i32::MAX, i32::MAX),
        high: Spot::new(i32::MIN, i32::MIN),
    };
    let mut take = |s: Spot| {
        r.low = Spot::new(r.low.x.min(s.x), r.low.y.min(s.y));
        r.high = Spot::new(r.high.x.max(s.x), r.high.y.max(s.y));
    };
    for contour in contours {
        take(contour.start);
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => take(to),
                Segment::Arc { via, to } => [via, to].into_iter().for_each(&mut take),
                Segment::Cubic { c1, c2, to } => [c1, c2, to].into_iter().for_each(&mut take),
            }
        }
    }
    r
}

/// Contours that belong together: a counter lies inside its letter and is filled with it.
pub(super) fn letters(outlines: &[Contour]) -> Vec<&[Contour]> {
    let boxes: Vec<Reach> = outlines
        .iter()
        .map(|c| reach(core::slice::from_ref(c)))
        .collect();
    let mut out = Vec::new();
    let mut from = 0;
    for (i, own) in boxes.iter().enumerate() {
        let held = boxes.get(from..i).unwrap_or_default();
        if i > from && !held.iter().any(|b| own.inside(*b) || b.inside(*own)) {
            out.extend(outlines.get(from..i));
            from = i;
        }
    }
    out.extend(outlines.get(from..).filter(|rest| !rest.is_empty()));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn triangle(at: Spot, tall: i32) -> Contour {
        let p = |x, y| at.shifted(Spot::new(x, y));
        let to = |x, y| Segment::Line { to: p(x, y) };
        Contour {
            start: at,
            segments: vec![to(1_000, 0), to(0, tall), to(0, 0)],
            closed: true,
        }
    }

    #[test]
    fn a_shape_has_one_name_wherever_it_stands() {
        let mut shapes = Shapes::default();
        let (here, there) = (Spot::new(5, -7), Spot::new(123_456, 9));
        let first = shapes.keep(&[triangle(here, 500)], here);
        assert_eq!(first, shapes.keep(&[triangle(there, 500)], there));
        assert_ne!(first, shapes.keep(&[triangle(here, 501)], here));
        assert_eq!(shapes.met.len(), 2);
    }

    #[test]
    fn names_are_eight_plain_characters() {
        let text = ShapeName(0xfedc_ba98_7654).text();
        assert!(
            text.iter()
                .all(|c| c.is_ascii_alphanumeric() || *c == b'-' || *c == b'_')
        );
        assert_ne!(text, ShapeName(0xfedc_ba98_7655).text());
    }

    #[test]
    fn a_name_that_means_another_shape_is_not_used() {
        let mut shapes = Shapes::default();
        let at = Spot::new(0, 0);
        let letter = [triangle(at, 500)];
        let name = shapes.keep(&letter, at);
        if let Some(kept) = name.and_then(|n| shapes.met.get_mut(&n)) {
            kept.shape = vec![triangle(at, 9)];
        }
        assert_eq!(shapes.keep(&letter, at), None);
        // Nor by a drawing that met it by itself.
        let mut kept = KeptShapes::default();
        assert!(kept.take(shapes));
        let mut alone = Shapes::default();
        assert_eq!(alone.keep(&letter, at), name);
        assert!(!kept.take(alone.clone()));
        let mut other = KeptShapes::default();
        assert!(other.take(alone));
        assert!(other.clone().join(other.clone()));
        assert!(!other.join(kept.clone()));
        assert_eq!(kept.met().keep(&letter, at), None);
    }
}
