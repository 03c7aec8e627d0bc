//! Bridges: what holds an island in its place once the outline round it is cut.
//!
//! A hole in an opening is an island of sheet that falls out. Strips of sheet left standing across
//! the opening hold it; where they run the outline is touched in by hand. They are put where the
//! opening is narrow and its edges run straight, and spread round the island.

use super::join::combined;
use super::offset::{contour, pline, ring};
use super::{Contour, FLATTENING, Outline};
use crate::frames::{Frame, Point2, Vector2};
use crate::units::Length;
use cavalier_contours::polyline::{BooleanOp, PlineSourceMut, Polyline};
use core::f64::consts::TAU;

/// One bridge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bridge<F: Frame> {
    /// The middle of what it covers.
    pub at: Point2<F>,
    /// How long it is from the island to the sheet round it: what is to be touched in.
    pub length: Length,
    /// How wide it is.
    pub width: Length,
}

/// An outline that hangs together when it is cut.
#[derive(Debug, Clone, PartialEq)]
pub struct BridgedOutline<F: Frame> {
    /// The openings, each in as many pieces as its bridges leave.
    pub outline: Outline<F>,
    /// The bridges, island by island.
    pub bridges: Vec<Bridge<F>>,
    /// How many islands they hold.
    pub held: usize,
    /// Middles of islands for which there was no room for two.
    pub loose: Vec<Point2<F>>,
}

/// Round an island there is a bridge at least every so many mm, and two in any case: sheet that
/// spans further sags (common practice, no source).
const EVERY_MM: f64 = 160.0;
/// As many as are ever put round one island.
const MOST: f64 = 8.0;
/// Places looked at round one island.
const PLACES: f64 = 180.0;
/// Turns of a pattern of bridges tried round an island.
const TURNS: u8 = 36;
/// An edge that turns by this much (rad) beside a bridge counts the bridge's length once more.
const TURN_COSTS: f64 = 0.35;

/// A place for a bridge.
struct Place {
    /// On the island, and across from it.
    ends: [(f64, f64); 2],
    strip: Polyline<f64>,
    /// Seen from the middle of the island.
    bearing: f64,
    cost: f64,
}

impl<F: Frame> Outline<F> {
    /// Bridges of a width to every island of the openings this outline is.
    ///
    /// Contours may not cross; open ones are left as they are. Bridges run across the opening only:
    /// no edge of another opening is touched.
    #[must_use]
    pub fn bridged(&self, width: Length) -> BridgedOutline<F> {
        let nests = self.nesting();
        let mut done = BridgedOutline {
            outline: Self::default(),
            bridges: Vec::new(),
            held: 0,
            loose: Vec::new(),
        };
        let mut contours: Vec<Contour<F>> = Vec::new();
        for (i, (opening, nest)) in self.contours().iter().zip(&nests).enumerate() {
            if nest.is_hole() {
                continue;
            }
            let islands: Vec<&Contour<F>> = self
                .contours()
                .iter()
                .zip(&nests)
                .filter(|(c, n)| n.inside == Some(i) && n.is_hole() && c.is_closed())
                .map(|(c, _)| c)
                .collect();
            if islands.is_empty() || !opening.is_closed() {
                contours.push(opening.clone());
                continue;
            }
            let mut pieces = vec![turned(opening)];
            let before = done.held;
            for island in &islands {
                let others: Vec<&Contour<F>> = islands
                    .iter()
                    .filter(|o| !core::ptr::eq(**o, *island))
                    .copied()
                    .collect();
                let places = places(opening, island, &others, width.mm());
                let held = spread(&places, how_many(island))
                    .and_then(|chosen| Some((cut(&pieces, island, &chosen)?, chosen)));
                let Some((left, chosen)) = held else {
                    contours.push((*island).clone());
                    done.loose.push(island.bounds().centre());
                    continue;
                };
                pieces = left;
                done.held += 1;
                done.bridges.extend(chosen.iter().map(|p| {
                    let [(ax, ay), (bx, by)] = p.ends;
                    Bridge {
                        at: Point2::from_mm((ax + bx) / 2.0, (ay + by) / 2.0),
                        length: Length::from_mm(libm::hypot(bx - ax, by - ay)),
                        width,
                    }
                }));
            }
            if done.held == before {
                // Nothing was cut: the opening itself, not its flattened likeness.
                contours.push(opening.clone());
            } else {
                contours.extend(pieces.iter().filter_map(contour));
            }
        }
        done.outline = Self::from_iter(contours);
        done
    }
}

/// A narrow strip of sheet between two openings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Web<F: Frame> {
    /// Where it is narrowest.
    pub at: Point2<F>,
    /// How wide it is there.
    pub width: Length,
}

impl<F: Frame> Outline<F> {
    /// Strips narrower than `least` between two openings of this outline, the narrowest place of each
    /// pair of openings.
    #[must_use]
    pub fn webs(&self, least: Length) -> Vec<Web<F>> {
        let nests = self.nesting();
        let step = Length::from_mm((least.mm() / 3.0).max(0.1));
        let openings: Vec<(Vec<Point2<F>>, super::Bounds<F>)> = self
            .contours()
            .iter()
            .zip(&nests)
            .filter(|(c, n)| !n.is_hole() && c.is_closed())
            .map(|(c, _)| (c.dense(FLATTENING, step), c.bounds()))
            .collect();
        let mut found = Vec::new();
        for (i, (points, box_)) in openings.iter().enumerate() {
            for (others, other_box) in openings.iter().skip(i + 1) {
                let gap = |a0: f64, a1: f64, b0: f64, b1: f64| (b0 - a1).max(a0 - b1);
                let apart = gap(
                    box_.min.x_mm(),
                    box_.max.x_mm(),
                    other_box.min.x_mm(),
                    other_box.max.x_mm(),
                )
                .max(gap(
                    box_.min.y_mm(),
                    box_.max.y_mm(),
                    other_box.min.y_mm(),
                    other_box.max.y_mm(),
                ));
                if apart >= least.mm() {
                    continue;
                }
                let ends = others.iter().skip(1).chain(others.first());
                let chords = others.iter().zip(ends);
                let chords = chords
                    .map(|(a, b)| ((a.x_mm(), a.y_mm()), (b.x_mm(), b.y_mm())))
                    .collect();
                let near = super::near::Near::new(chords, least.mm());
                let narrowest = points
                    .iter()
                    .filter_map(|p| Some((near.distance((p.x_mm(), p.y_mm()), least.mm())?, *p)))
                    .min_by(|a, b| a.0.total_cmp(&b.0));
                found.extend(narrowest.map(|(mm, at)| Web {
                    at,
                    width: Length::from_mm(mm),
                }));
            }
        }
        found
    }
}

fn turned<F: Frame>(c: &Contour<F>) -> Polyline<f64> {
    if c.is_anticlockwise() {
        pline(&ring(c))
    } else {
        pline(&ring(&c.reversed()))
    }
}

fn how_many<F: Frame>(island: &Contour<F>) -> f64 {
    let points = island.polyline(FLATTENING);
    let next = points.iter().skip(1).chain(points.first());
    let round_mm: f64 = points
        .iter()
        .zip(next)
        .map(|(p, q)| p.distance(*q).mm())
        .sum();
    libm::ceil(round_mm / EVERY_MM).clamp(2.0, MOST)
}

/// The pieces less an island and its bridges; nothing where that does not come out clean.
fn cut<F: Frame>(
    pieces: &[Polyline<f64>],
    island: &Contour<F>,
    chosen: &[&Place],
) -> Option<Vec<Polyline<f64>>> {
    let mut sheet = turned(island);
    for place in chosen {
        let (joined, holes) = combined(&sheet, &place.strip, BooleanOp::Or);
        let [one] = <[Polyline<f64>; 1]>::try_from(joined).ok()?;
        if !holes.is_empty() {
            return None;
        }
        sheet = one;
    }
    let mut left = Vec::new();
    for piece in pieces {
        let (open, loose) = combined(piece, &sheet, BooleanOp::Not);
        if !loose.is_empty() {
            return None;
        }
        left.extend(open);
    }
    (left.len() > pieces.len() || chosen.len() == 1).then_some(left)
}

/// So many places, spread evenly within half their spacing, that cost least together.
fn spread(places: &[Place], many: f64) -> Option<Vec<&Place>> {
    let apart = TAU / many;
    let mut best: Option<(f64, Vec<&Place>)> = None;
    for turn in 0..TURNS {
        let first = apart * f64::from(turn) / f64::from(TURNS);
        let mut chosen: Vec<&Place> = Vec::new();
        let (mut k, mut cost) = (0.0, 0.0);
        while k < many {
            let wish = first + apart * k;
            let off = |p: &Place| {
                let d = libm::fmod(p.bearing - wish, TAU);
                let d = if d < 0.0 { d + TAU } else { d };
                d.min(TAU - d)
            };
            // Evenly spread is worth something, but less than a straight short place.
            let cost_of = |p: &Place| {
                let share = off(p) / apart;
                p.cost * (1.0 + share * share)
            };
            let near = places.iter().filter(|p| off(p) <= apart / 4.0);
            let cheapest = near.min_by(|a, b| cost_of(a).total_cmp(&cost_of(b)));
            cost += cheapest.map_or(0.0, cost_of);
            chosen.extend(cheapest);
            k += 1.0;
        }
        #[expect(clippy::cast_precision_loss, reason = "at most eight")]
        if (chosen.len() as f64) < many {
            continue;
        }
        if best.as_ref().is_none_or(|(least, _)| cost < least - 1e-9) {
            best = Some((cost, chosen));
        }
    }
    best.map(|(_, chosen)| chosen)
}

/// Where a bridge of a width could stand between an island and the edge of its opening.
fn places<F: Frame>(
    opening: &Contour<F>,
    island: &Contour<F>,
    others: &[&Contour<F>],
    width_mm: f64,
) -> Vec<Place> {
    let fine = |c: &Contour<F>, step_mm: f64| c.dense(FLATTENING, Length::from_mm(step_mm));
    let bounds = island.bounds();
    let round_mm = 2.0 * (bounds.width().mm() + bounds.height().mm());
    let on_island = fine(island, (round_mm / PLACES).max(0.05));
    let outside = opening.bounds();
    let step_mm = ((outside.width().mm() + outside.height().mm()) / 400.0).max(0.1);
    let on_edge = fine(opening, step_mm);
    let siblings: Vec<Point2<F>> = others.iter().flat_map(|o| fine(o, step_mm)).collect();
    let middle = bounds.centre();
    let mut found = Vec::new();
    for (i, &p) in on_island.iter().enumerate() {
        let Some((j, q)) = nearest(&on_edge, p) else {
            continue;
        };
        let across = q - p;
        let long = across.norm_mm();
        if long < 0.05 {
            continue;
        }
        // A bridge over another island would hold neither.
        let clear = siblings
            .iter()
            .all(|s| is_beyond(p, q, *s, width_mm / 2.0 + 0.3));
        if !clear {
            continue;
        }
        let along = across * (1.0 / long);
        let side = Vector2::from_mm(-along.y_mm(), along.x_mm()) * (width_mm / 2.0);
        // Into the island, and out of the opening, until the strip's corners are covered.
        let covered = |end: Point2<F>, ring: &[Point2<F>], within: bool| {
            [end + side, end - side]
                .iter()
                .all(|c| (super::nest::winding(ring, *c) != 0) == within)
        };
        let reach = |from: Point2<F>, towards: Vector2<F>, ring: &[Point2<F>], within: bool| {
            (1..=20_u8)
                .map(|k| from + towards * (0.05 * f64::from(k) * width_mm.max(1.0)))
                .find(|end| covered(*end, ring, within))
        };
        let Some((a, b)) =
            reach(p, along * -1.0, &on_island, true).zip(reach(q, along, &on_edge, false))
        else {
            continue;
        };
        let turns = turn(&on_island, i, width_mm) + turn(&on_edge, j, width_mm);
        let corners = [a + side, a - side, b - side, b + side];
        let mut strip = Polyline::new_closed();
        // Anticlockwise: down the left side, up the right.
        for c in corners {
            strip.add(c.x_mm(), c.y_mm(), 0.0);
        }
        let bearing = libm::atan2(p.y_mm() - middle.y_mm(), p.x_mm() - middle.x_mm());
        found.push(Place {
            ends: [(p.x_mm(), p.y_mm()), (q.x_mm(), q.y_mm())],
            strip,
            bearing,
            cost: long * (1.0 + turns / TURN_COSTS),
        });
    }
    found
}

fn nearest<F: Frame>(points: &[Point2<F>], to: Point2<F>) -> Option<(usize, Point2<F>)> {
    let off = points.iter().map(|p| *p - to);
    let at = super::near::shortest(off.map(|v| (v.x_mm(), v.y_mm())))?;
    points.get(at).map(|p| (at, *p))
}

fn is_beyond<F: Frame>(a: Point2<F>, b: Point2<F>, p: Point2<F>, least_mm: f64) -> bool {
    let pair = |q: Point2<F>| (q.x_mm(), q.y_mm());
    super::near::is_beyond(pair(a), pair(b), pair(p), least_mm)
}

/// How much (rad) a closed run of points turns within a bridge's width and a millimetre of one.
fn turn<F: Frame>(points: &[Point2<F>], at: usize, width_mm: f64) -> f64 {
    let n = points.len();
    let reach = width_mm / 2.0 + 1.0;
    let heading = |from: usize, forwards: bool| {
        let mut gone = 0.0;
        let mut here = points.get(from).copied()?;
        let mut k = from;
        for _ in 0..n {
            k = if forwards {
                (k + 1) % n
            } else {
                (k + n - 1) % n
            };
            let next = points.get(k).copied()?;
            let leg = next - here;
            gone += leg.norm_mm();
            here = next;
            if gone >= reach {
                let way = if forwards { leg } else { leg * -1.0 };
                return Some(libm::atan2(way.y_mm(), way.x_mm()));
            }
        }
        None
    };
    match (heading(at, false), heading(at, true)) {
        (Some(before), Some(after)) => {
            let d = libm::fmod(after - before, TAU);
            let d = if d < 0.0 { d + TAU } else { d };
            d.min(TAU - d)
        }
        // An island smaller than the bridge is wide.
        _ => core::f64::consts::PI,
    }
}
