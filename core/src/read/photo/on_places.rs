//! What was tapped in a picture, by four places of it that are known.
//!
//! Four places give the homography; what each of them is unsure by goes on to everything tapped.
//! A small change of a homography moves the plane by a field v(x) = a + Bx + (c·x)x of eight
//! numbers (its Lie algebra, sl(3)); those follow exactly from how the four places move, so that
//! no step width comes into the covariance.

use super::view::{ROUND_95, View, radius, seen, stands};
use crate::frames::Flat;
use crate::outline::{FLATTENING, MeetingKind, Outline};
use crate::read::marked_picture::{FromPicture, KnownPlace, MarkedError, MarkedPicture, Tap};
use kurbo::{BezPath, Point};
use nalgebra::Matrix2;

/// Three places whose triangle is lower than this share of its longest side are on a line.
const LOWEST: f64 = 0.08;
/// A fifth place further off than so many times what was to be expected proves the four wrong.
const FIFTH_TIMES: f64 = 1.5;
/// What is less sure than this share of how far the four reach is out of their reach.
const FARTHEST: f64 = 0.25;
/// More places nobody taps.
const MOST_TAPS: usize = 2000;

/// What comes of a marked-up picture: its numbers, and the outline about the middle of its bounds
/// where one was drawn.
///
/// # Errors
/// [`MarkedError`].
pub fn on_places(picture: &MarkedPicture) -> Result<(FromPicture, Outline<Flat>), MarkedError> {
    let (view, fifth) = seen_through(picture)?;
    let square_on = view.square_on();
    let off = fifth.map_or(0.0, |[off, _]| off);
    let with_fifth = |within: f64| libm::hypot(within, off);
    if picture.line.len() > MOST_TAPS {
        return Err(MarkedError::TooMany(picture.line.len()));
    }
    let mut within = 0.0_f64;
    let mut drawn = Vec::new();
    for tap in &picture.line {
        let (at, spread) = view.at(*tap).ok_or(MarkedError::Horizon)?;
        within = within.max(radius(spread));
        if within > FARTHEST * view.scale {
            return Err(MarkedError::Horizon);
        }
        drawn.push(at);
    }
    if let [one] = drawn.as_slice() {
        let came = FromPicture {
            middle_mm: [one.x, one.y],
            middle_within: with_fifth(within),
            across: 0.0,
            up: 0.0,
            within: with_fifth(within),
            fifth,
            square_on,
        };
        return Ok((came, Outline::default()));
    }
    if drawn.len() < 3 {
        return Err(MarkedError::NoLine);
    }
    let path = if picture.smooth {
        smooth(&drawn)
    } else {
        straight(&drawn)
    };
    let outline: Outline<Flat> =
        Outline::from_paths_mm([&path]).map_err(|_| MarkedError::Horizon)?;
    let bounds = outline.bounds().ok_or(MarkedError::NoLine)?;
    let (across, up) = (bounds.width().mm(), bounds.height().mm());
    if across < 0.1 || up < 0.1 {
        return Err(MarkedError::NoLine);
    }
    let meets = outline.meetings(FLATTENING, 1);
    if meets.iter().any(|m| m.kind == MeetingKind::Crosses) {
        return Err(MarkedError::Crosses);
    }
    let middle = bounds.centre();
    let at_middle = Point::new(middle.x_mm(), middle.y_mm());
    let came = FromPicture {
        middle_mm: [at_middle.x, at_middle.y],
        // The taps round about, not one in the middle, say where that is: half the worst of them
        // is more than a mean of several has.
        middle_within: with_fifth(libm::hypot(radius(view.carried(at_middle)), within / 2.0)),
        across,
        up,
        within: with_fifth(within),
        fifth,
        square_on,
    };
    Ok((came, outline.shifted(-middle.from_origin())))
}

/// How the picture shows the plane of the known places, and how far a fifth of them is off with what
/// was to be expected.
pub(super) fn seen_through(
    picture: &MarkedPicture,
) -> Result<(View, Option<[f64; 2]>), MarkedError> {
    let known = &picture.known;
    let (Some(four), fifth) = (known.first_chunk::<4>(), known.get(4)) else {
        if !(picture.square_on && (2..4).contains(&known.len())) {
            return Err(MarkedError::TooFew(known.len()));
        }
        numbers(picture)?;
        if picture.fifth_needed {
            return Err(MarkedError::NeedsFifth);
        }
        return View::square_on_to(known, picture.high).map(|view| (view, None));
    };
    numbers(picture)?;
    if picture.fifth_needed && fifth.is_none() {
        return Err(MarkedError::NeedsFifth);
    }
    let view = in_order(four).and_then(|()| View::through(four).ok_or(MarkedError::OutOfOrder));
    match (view, fifth) {
        (view, None) => Ok((view?, None)),
        (view, Some(place)) => {
            // Two that were tapped for each other are named, whatever else comes of it.
            let proof = view.and_then(|v| proved(&v, place).map(|p| (v, Some(p))));
            proof.map_err(|why| swapped(four, place).unwrap_or(why))
        }
    }
}

/// Everything is a number, sizes are some, and places are in the picture.
pub(super) fn numbers(picture: &MarkedPicture) -> Result<(), MarkedError> {
    let high = picture.high;
    if !(high.is_finite() && high > 0.0) {
        return Err(MarkedError::NoSize);
    }
    let inside = |t: &Tap| (0.0..=1000.0).contains(&t.at[0]) && (0.0..=high).contains(&t.at[1]);
    for place in &picture.known {
        let known = place.at_mm.iter().all(|v| v.is_finite() && v.abs() < 1e6);
        let sure = place.within_mm.is_finite() && place.within_mm >= 0.0;
        if !(known && sure && place.tap.within.is_finite()) {
            return Err(MarkedError::NoSize);
        }
        if !inside(&place.tap) {
            return Err(MarkedError::Outside(place.name.clone()));
        }
    }
    if picture.line.iter().any(|t| !inside(t)) {
        return Err(MarkedError::Outside("what was drawn".into()));
    }
    Ok(())
}

const TRIPLES: [[usize; 3]; 4] = [[0, 1, 2], [0, 1, 3], [0, 2, 3], [1, 2, 3]];
const PAIRS: [(usize, usize); 6] = [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)];

/// Which way round each three of four places run, one for left and minus one for right; the first
/// three that lie on a line, where some do.
fn ways(four: &[Point; 4]) -> Result<[f64; 4], [usize; 3]> {
    let mut out = [0.0; 4];
    for (way, [i, j, k]) in out.iter_mut().zip(TRIPLES) {
        let (a, b, c) = (four[i], four[j], four[k]);
        let twice = (b - a).cross(c - a);
        let longest = (b - a).hypot2().max((c - a).hypot2()).max((c - b).hypot2());
        if twice.abs() <= LOWEST * longest {
            return Err([i, j, k]);
        }
        *way = twice.signum();
    }
    Ok(out)
}

/// A camera in front of a plane keeps which way round any three places run.
fn in_order(four: &[KnownPlace; 4]) -> Result<(), MarkedError> {
    let on_a_line = |[i, j, k]: [usize; 3]| {
        let name = |n: usize| four[n].name.clone();
        MarkedError::OnALine(name(i), name(j), name(k))
    };
    let plane = ways(&four.each_ref().map(stands)).map_err(on_a_line)?;
    let taps = four.each_ref().map(|p| seen(&p.tap));
    let picture = ways(&taps).map_err(on_a_line)?;
    let same = |a: &[f64; 4], b: &[f64; 4]| a.iter().zip(b).all(|(a, b)| a * b > 0.0);
    if same(&plane, &picture) {
        return Ok(());
    }
    if same(&plane, &picture.map(|w| -w)) {
        return Err(MarkedError::Mirrored);
    }
    for (a, b) in PAIRS {
        let mut other = taps;
        other.swap(a, b);
        if ways(&other).is_ok_and(|w| same(&w, &plane)) {
            let (a, b) = (four[a].name.clone(), four[b].name.clone());
            return Err(MarkedError::Swapped(a, b));
        }
    }
    Err(MarkedError::OutOfOrder)
}

/// How far the fifth place is off and what was to be expected.
fn proved(view: &View, place: &KnownPlace) -> Result<[f64; 2], MarkedError> {
    let (at, spread) = view.at(place.tap).ok_or(MarkedError::Horizon)?;
    let own = place.within_mm / ROUND_95;
    let expected = radius(spread + Matrix2::identity() * (own * own));
    let off = at - stands(place);
    let off = libm::hypot(off.x, off.y);
    if off <= FIFTH_TIMES * expected {
        return Ok([off, expected]);
    }
    let name = place.name.clone();
    Err(MarkedError::Fifth {
        name,
        off,
        expected,
    })
}

/// The one pair of taps which, exchanged, makes the fifth place fit.
fn swapped(four: &[KnownPlace; 4], fifth: &KnownPlace) -> Option<MarkedError> {
    let mut found = None;
    for (a, b) in PAIRS.into_iter().chain((0..4).map(|k| (k, 4))) {
        let (mut four, mut fifth) = (four.clone(), fifth.clone());
        // The taps are exchanged; names and places stay.
        let tap = four[a].tap;
        let other = four.get_mut(b).unwrap_or(&mut fifth);
        let (with, called) = (other.tap, other.name.clone());
        other.tap = tap;
        four[a].tap = with;
        let fits = in_order(&four).is_ok()
            && View::through(&four).is_some_and(|v| proved(&v, &fifth).is_ok());
        if fits {
            if found.is_some() {
                return None;
            }
            found = Some(MarkedError::Swapped(four[a].name.clone(), called));
        }
    }
    found
}

fn straight(places: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    for (k, p) in places.iter().enumerate() {
        if k == 0 {
            path.move_to(*p);
        } else {
            path.line_to(*p);
        }
    }
    path.close_path();
    path
}

/// A closed curve through places: the centripetal spline of Catmull and Rom (Yuksel and others
/// 2011), which makes no loops however unevenly they are tapped.
fn smooth(places: &[Point]) -> BezPath {
    let n = places.len();
    let at = |i: usize| places.get(i % n).copied().unwrap_or_default();
    let apart = |a: Point, b: Point| libm::sqrt(libm::hypot(b.x - a.x, b.y - a.y)).max(1e-6);
    let mut path = BezPath::new();
    path.move_to(at(0));
    for i in 0..n {
        let (before, p, q, after) = (at(i + n - 1), at(i), at(i + 1), at(i + 2));
        let (d1, d2, d3) = (apart(before, p), apart(p, q), apart(q, after));
        let leaving = (p - before) / d1 - (q - before) / (d1 + d2) + (q - p) / d2;
        let arriving = (q - p) / d2 - (after - p) / (d2 + d3) + (after - q) / d3;
        path.curve_to(p + leaving * (d2 / 3.0), q - arriving * (d2 / 3.0), q);
    }
    path.close_path();
    path
}
