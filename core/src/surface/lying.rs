//! A flat sheet made to lie on a face round both ways: its crosses where they leave least, and
//! darts where that is not enough.
//!
//! The outline keeps its shape about the centre (the polar map, which stretches least: Milnor
//! 1969). Two things can be wrong with the rest. An outline point lands δ from its place when the
//! crosses lie on their marks (design/11, *Flattening error*). And the paper between two crosses,
//! or between a cross and the centre, may be too long or too short to lie: half of that is how far
//! the crosses are off, which counts beyond what a hand lays a cross to. Both are in millimetres, and
//! the worse of the two is made least.

use super::dart::{Dart, HOLE_RADIUS, apart_mm};
use super::landing::{Arrival, SPAN_THAT_HOLDS, least_squares, span_rad};
use super::{Development, Shape, SurfaceError};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::units::{Angle, Length};

/// Crosses are moved in steps from this one, halved down to [`LAST_STEP_MM`].
const FIRST_STEP_MM: f64 = 4.0;
/// A sixteenth of a millimetre: under what anybody lays a cross to.
const LAST_STEP_MM: f64 = 0.0625;
/// The search looks at this many points of the outline at most; what is said is of all of them.
const MOST_LOOKED_AT: usize = 48;
/// Crosses count only by what they are off beyond this: a hand brings a cross no nearer to its mark
/// (`template::Shares::pointing`).
const LAID_TO_MM: f64 = 0.3;
/// A step counts only if it is better by more, so that machines agree.
const MARGIN_MM: f64 = 1e-6;
/// A dart wider than this at its tip is two: a flap that has to swing so far creases.
const WIDEST_DART: Angle = Angle::from_deg(35.0);
/// At most so many darts between two crosses.
const MOST_IN_A_GAP: u32 = 3;
/// Crosses nearer in bearing than this have no room for a dart between them, nor those further
/// apart than this a sheet between them.
const GAPS: [Angle; 2] = [Angle::from_deg(15.0), Angle::from_deg(170.0)];
/// A flap narrower than this at its root tears (design/11, *Darts*).
const LEAST_FLAP: Length = Length::from_mm(15.0);
/// A dart must be crossed at least so far outside its tip by the way that it shortens.
const LEAST_USE_MM: f64 = 5.0;

/// What darts must keep clear of, and what they are for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DartRoom {
    /// No dart is cut where the sheet is no further out than this.
    pub share: Length,
    /// Paper left between a dart and the outline.
    pub bridge: Length,
    /// Paper left round a cross.
    pub about_cross: Length,
}

/// A sheet as it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Lie {
    /// Where each cross is drawn.
    pub crosses: Vec<Point2<Flat>>,
    /// How far each outline point lands from its place.
    pub errors: Vec<Vector2<Flat>>,
    /// The greatest of them.
    pub worst: Length,
    /// Where.
    pub worst_at: Option<Point2<Flat>>,
    /// The root of their mean square.
    pub rms: Length,
    /// How far the crosses are off their marks, at worst, because the paper between them is too long
    /// or too short.
    pub crosses_off: Length,
    /// The darts.
    pub darts: Vec<Dart>,
}

impl Lie {
    /// The worse of both: of the outline, and of the crosses beyond what a hand lays them to.
    #[must_use]
    pub const fn out_by(&self) -> Length {
        Length::from_mm(self.worst.mm().max(self.crosses_off.mm() - LAID_TO_MM))
    }
}

/// One outline point and the way to it from each register.
struct Seen {
    flat: Point2<Flat>,
    /// From each register: how long the way is over the face, and how far a millimetre too much of it
    /// on the sheet moves the point. None where a register within 1 mm holds it.
    ways: Vec<(f64, Vector2<Flat>)>,
}

impl Seen {
    /// From the length and the direction of arrival of each way: δ = (Σ t tᵀ)⁻¹ Σ t e is linear in e,
    /// and its slopes depend on the directions alone.
    fn new(flat: Point2<Flat>, arrive: &[(f64, Vector2<Flat>)]) -> Self {
        let mut arrivals: Vec<Arrival> = arrive
            .iter()
            .map(|&(_, direction)| Arrival {
                direction,
                too_long_mm: 0.0,
                weight: 1.0,
            })
            .collect();
        let held = |flat| Self {
            flat,
            ways: Vec::new(),
        };
        if span_rad(&arrivals) < SPAN_THAT_HOLDS.rad() {
            // The centre joins; from it the sheet is true.
            match flat.from_origin().unit() {
                Some(direction) if flat.from_origin().norm_mm() >= 1.0 => arrivals.push(Arrival {
                    direction,
                    too_long_mm: 0.0,
                    weight: 1.0,
                }),
                _ => return held(flat),
            }
        }
        let mut ways = Vec::with_capacity(arrive.len());
        for (k, &(mm, _)) in arrive.iter().enumerate() {
            for (n, arrival) in arrivals.iter_mut().enumerate() {
                arrival.too_long_mm = if n == k { 1.0 } else { 0.0 };
            }
            ways.push((mm, least_squares(&arrivals)));
        }
        Self { flat, ways }
    }
}

/// What the face says; nothing of it depends on where the crosses are drawn.
struct Survey {
    points: Vec<Seen>,
    /// Where the polar map has the crosses.
    polar: Vec<Point2<Flat>>,
    /// Over the surface between crosses: which two, how far.
    between: Vec<(usize, usize, f64)>,
}

impl Development {
    /// How a sheet with an outline about its centre lies with its crosses on these marks.
    ///
    /// The crosses are drawn where the worst of the outline and of the crosses is least. Where that
    /// still is more than the share asked for, and `room` is given, the fewest darts are cut that
    /// bring it under; they are left out where they would not take off a third of it.
    ///
    /// # Errors
    /// A point off the face, or a register so far from the outline that no tape would run there.
    pub fn lie(
        &self,
        outline: &[Point2<Flat>],
        registers: &[Point2<Face>],
        room: Option<&DartRoom>,
    ) -> Result<Lie, SurfaceError> {
        let polar = registers
            .iter()
            .map(|&at| self.flat(at))
            .collect::<Result<Vec<_>, _>>()?;
        if self.surface().is_developable() || outline.is_empty() {
            return Ok(Lie {
                crosses: polar,
                errors: vec![Vector2::ZERO; outline.len()],
                worst: Length::ZERO,
                worst_at: None,
                rms: Length::ZERO,
                crosses_off: Length::ZERO,
                darts: Vec::new(),
            });
        }
        let survey = self.survey(outline, registers, polar)?;
        let plain = survey.eased(Vec::new());
        let Some(room) = room.filter(|r| plain.out_by() > r.share) else {
            return Ok(plain);
        };
        let darted = survey.darted(outline, room);
        Ok(darted
            .filter(|d| d.out_by().mm() < plain.out_by().mm() * 2.0 / 3.0)
            .unwrap_or(plain))
    }

    fn survey(
        &self,
        outline: &[Point2<Flat>],
        registers: &[Point2<Face>],
        polar: Vec<Point2<Flat>>,
    ) -> Result<Survey, SurfaceError> {
        let mut points = Vec::with_capacity(outline.len());
        for &flat in outline {
            let at = self.face(flat)?;
            let laid = self.laid(at)?;
            let mut arrive = Vec::with_capacity(registers.len());
            for &register in registers {
                if let Some(way) = self.way_from(register, (at, &laid))? {
                    arrive.push((way.mm, way.arrives));
                }
            }
            points.push(if arrive.len() == registers.len() {
                Seen::new(flat, &arrive)
            } else {
                Seen {
                    flat,
                    ways: Vec::new(),
                }
            });
        }
        let mut between = Vec::new();
        for (j, &one) in registers.iter().enumerate() {
            for (k, &other) in registers.iter().enumerate().skip(j + 1) {
                let (a, b) = (self.middle_from_face(one), self.middle_from_face(other));
                // Crosses that no tape would run between say nothing to each other.
                if let Ok(d) = self.middle().over_surface(a, b, 0) {
                    between.push((j, k, d.mm));
                }
            }
        }
        Ok(Survey {
            points,
            polar,
            between,
        })
    }
}

/// A way to move the crosses.
enum Move {
    /// One of them, by so many steps across and up.
    One(usize, [f64; 2]),
    /// All of them alike.
    All([f64; 2]),
    /// All of them by so many steps towards the centre.
    Inwards(f64),
}

impl Move {
    fn of(&self, k: usize, at: Point2<Flat>, step_mm: f64) -> Point2<Flat> {
        match *self {
            Self::One(which, _) if which != k => at,
            Self::One(_, [x, y]) | Self::All([x, y]) => {
                at + Vector2::from_mm(x * step_mm, y * step_mm)
            }
            Self::Inwards(n) => match at.from_origin().unit() {
                Some(out) => at - out * (n * step_mm),
                None => at,
            },
        }
    }
}

fn moves(crosses: usize) -> impl Iterator<Item = Move> {
    const EIGHT: [[f64; 2]; 8] = [
        [1.0, 0.0],
        [-1.0, 0.0],
        [0.0, 1.0],
        [0.0, -1.0],
        [1.0, 1.0],
        [1.0, -1.0],
        [-1.0, 1.0],
        [-1.0, -1.0],
    ];
    let one = (0..crosses).flat_map(|k| EIGHT.map(|by| Move::One(k, by)));
    let all = EIGHT.map(Move::All);
    one.chain(all)
        .chain([Move::Inwards(1.0), Move::Inwards(-1.0)])
}

impl Survey {
    fn error_at(&self, point: &Seen, crosses: &[Point2<Flat>], darts: &[Dart]) -> Vector2<Flat> {
        let moved = point
            .ways
            .iter()
            .zip(crosses)
            .map(|(&(mm, by), &cross)| by * (apart_mm(darts, cross, point.flat) - mm));
        moved.fold(Vector2::ZERO, |sum, v| sum + v)
    }

    /// Half of what the paper between crosses, and between each and the centre, is out by.
    fn crosses_off_mm(&self, crosses: &[Point2<Flat>], darts: &[Dart]) -> f64 {
        let mut worst: f64 = 0.0;
        for &(j, k, mm) in &self.between {
            if let (Some(&a), Some(&b)) = (crosses.get(j), crosses.get(k)) {
                worst = worst.max((apart_mm(darts, a, b) - mm).abs() / 2.0);
            }
        }
        for (cross, polar) in crosses.iter().zip(&self.polar) {
            let out = cross.from_origin().norm_mm() - polar.from_origin().norm_mm();
            worst = worst.max(out.abs() / 2.0);
        }
        worst
    }

    /// The greatest of everything over every `every`-th point, as far as it stays under a bound; the
    /// place in the list that passed it is looked at first the next time.
    fn out_by_mm(
        &self,
        (crosses, darts): (&[Point2<Flat>], &[Dart]),
        every: usize,
        under_mm: f64,
        first: &mut usize,
    ) -> Option<f64> {
        let off = |k: usize| {
            let point = self.points.get(k);
            point.map_or(0.0, |p| self.error_at(p, crosses, darts).norm_mm())
        };
        let mut most = self.crosses_off_mm(crosses, darts) - LAID_TO_MM;
        if most >= under_mm || off(*first) >= under_mm {
            return None;
        }
        for k in (0..self.points.len()).step_by(every) {
            let mm = off(k);
            if mm >= under_mm {
                *first = k;
                return None;
            }
            most = most.max(mm);
        }
        Some(most)
    }

    /// The crosses moved to where the worst is least, by trying steps of each and of all together: a
    /// worst has edges on which steps of one alone get stuck.
    fn eased(&self, darts: Vec<Dart>) -> Lie {
        let every = self.points.len().div_ceil(MOST_LOOKED_AT).max(1);
        let mut crosses = self.polar.clone();
        let mut first = 0;
        let mut look = |crosses: &[Point2<Flat>], under_mm: f64| {
            self.out_by_mm((crosses, &darts), every, under_mm, &mut first)
        };
        let mut least = look(&crosses, f64::INFINITY).unwrap_or(f64::INFINITY);
        let mut step = FIRST_STEP_MM;
        while step >= LAST_STEP_MM {
            let mut better = false;
            for moved in moves(crosses.len()) {
                let tried: Vec<Point2<Flat>> = crosses
                    .iter()
                    .enumerate()
                    .map(|(k, &at)| moved.of(k, at, step))
                    .collect();
                if let Some(now) = look(&tried, least - MARGIN_MM) {
                    (least, better, crosses) = (now, true, tried);
                }
            }
            if !better {
                step /= 2.0;
            }
        }
        self.lie(crosses, darts)
    }

    fn lie(&self, crosses: Vec<Point2<Flat>>, darts: Vec<Dart>) -> Lie {
        let errors: Vec<Vector2<Flat>> = self
            .points
            .iter()
            .map(|p| self.error_at(p, &crosses, &darts))
            .collect();
        let (mut worst_mm, mut worst_at, mut squares) = (0.0, None, 0.0);
        for (error, point) in errors.iter().zip(&self.points) {
            let mm = error.norm_mm();
            squares += mm * mm;
            if worst_at.is_none() || mm > worst_mm + MARGIN_MM {
                (worst_mm, worst_at) = (mm, Some(point.flat));
            }
        }
        #[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 points")]
        let count = errors.len().max(1) as f64;
        Lie {
            worst: Length::from_mm(worst_mm),
            worst_at,
            rms: Length::from_mm(libm::sqrt(squares / count)),
            crosses_off: Length::from_mm(self.crosses_off_mm(&crosses, &darts)),
            crosses,
            errors,
            darts,
        }
    }

    /// Darts added one gap between crosses after the other, the worst first, until the sheet lies;
    /// the best there was where none is enough.
    fn darted(&self, outline: &[Point2<Flat>], room: &DartRoom) -> Option<Lie> {
        let mut gaps: Vec<(f64, Vec<Dart>)> = self
            .between
            .iter()
            .filter_map(|&(j, k, mm)| {
                let (a, b) = (*self.polar.get(j)?, *self.polar.get(k)?);
                let out = ((b - a).norm_mm() - mm).abs();
                let darts = self.in_gap((a, b, mm), outline, room)?;
                Some((out, darts))
            })
            .collect();
        // The widest mismatch first; the order of the crosses where two are alike.
        gaps.sort_by(|x, y| y.0.total_cmp(&x.0));
        let mut best: Option<Lie> = None;
        let mut darts: Vec<Dart> = Vec::new();
        for (_, more) in gaps {
            let mut tried = darts.clone();
            tried.extend(more);
            if !keep_apart(&tried) {
                continue;
            }
            darts = tried;
            let lie = self.eased(darts.clone());
            let better = best
                .as_ref()
                .is_none_or(|b| lie.out_by().mm() < b.out_by().mm() - MARGIN_MM);
            if better {
                let enough = lie.out_by() <= room.share;
                best = Some(lie);
                if enough {
                    break;
                }
            }
        }
        best
    }

    /// The darts between two neighbouring crosses that make the paper between them right.
    fn in_gap(
        &self,
        (a, b, mm): (Point2<Flat>, Point2<Flat>, f64),
        outline: &[Point2<Flat>],
        room: &DartRoom,
    ) -> Option<Vec<Dart>> {
        let (mut first, mut then) = (a.from_origin(), b.from_origin());
        if first.cross(then) < 0.0 {
            (first, then) = (then, first);
        }
        let gap = libm::atan2(first.cross(then), first.dot(then));
        if gap < GAPS[0].rad() || gap > GAPS[1].rad() {
            return None;
        }
        // No other cross stands between: those make two gaps of this one.
        let inside = |p: &Point2<Flat>| {
            let v = p.from_origin();
            first.cross(v) > 1e-6 && v.cross(then) > 1e-6
        };
        if self.polar.iter().any(inside) {
            return None;
        }
        let (from, to) = (Point2::ORIGIN + first, Point2::ORIGIN + then);
        for count in 1..=MOST_IN_A_GAP {
            let ways: Vec<Vector2<Flat>> = (1..=count)
                .filter_map(|q| {
                    let share = f64::from(q) / f64::from(count + 1);
                    first.unit().map(|u| u.turned(gap * share))
                })
                .collect();
            let with = |angle_rad: f64| -> Vec<Dart> {
                ways.iter()
                    .map(|&out| Dart {
                        tip: Point2::ORIGIN + out * tip_mm(outline, out, room.bridge.mm()),
                        out,
                        angle: Angle::from_rad(angle_rad),
                    })
                    .collect()
            };
            let useful = with(0.0).iter().all(|d| {
                let way = to - from;
                let along = (d.tip - from).cross(d.out) / way.cross(d.out);
                (from + way * along - d.tip).dot(d.out) > LEAST_USE_MM
            });
            if !useful {
                return None;
            }
            let too_long = |angle_rad: f64| {
                let mut here = from;
                for d in with(angle_rad) {
                    here = d.tip + (here - d.tip).turned(angle_rad);
                }
                (to - here).norm_mm() - mm
            };
            // Wider than the gap it would turn one cross past the other.
            let widest = WIDEST_DART.rad().min(0.9 * gap / f64::from(count));
            if too_long(widest) > 0.0 || too_long(-widest) < 0.0 {
                continue;
            }
            let (mut low, mut high) = (-widest, widest);
            for _ in 0..60 {
                let middle = f64::midpoint(low, high);
                if too_long(middle) > 0.0 {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            let darts = with(low);
            let clear = darts.iter().all(|d| {
                outline
                    .iter()
                    .all(|&p| d.clear_of(p).mm() >= room.bridge.mm() - HOLE_RADIUS.mm() - 0.01)
                    && self
                        .polar
                        .iter()
                        .all(|&p| d.clear_of(p) >= room.about_cross)
            });
            return clear.then_some(darts);
        }
        None
    }
}

/// How far out along a direction a tip stays a bridge's width off the outline, the hole included.
fn tip_mm(outline: &[Point2<Flat>], out: Vector2<Flat>, bridge_mm: f64) -> f64 {
    let reach = bridge_mm + HOLE_RADIUS.mm();
    let mut tip: f64 = 0.0;
    for p in outline {
        let v = p.from_origin();
        let (along, off) = (v.dot(out), v.cross(out).abs());
        if off < reach {
            tip = tip.max(along + libm::sqrt(reach * reach - off * off));
        }
    }
    tip
}

/// No two wedges meet, and every flap between two darts holds at its root.
fn keep_apart(darts: &[Dart]) -> bool {
    darts.iter().enumerate().all(|(k, one)| {
        darts.iter().skip(k + 1).all(|other| {
            let roots = one.tip.distance(other.tip) >= LEAST_FLAP;
            // Rays that leave from tips apart meet where each turns towards the other.
            let apart = one.edges().iter().all(|&e| {
                other.edges().iter().all(|&f| {
                    let way = other.tip - one.tip;
                    let turn = e.cross(f);
                    if turn.abs() < 1e-12 {
                        return true;
                    }
                    let (s, t) = (way.cross(f) / turn, way.cross(e) / turn);
                    s < 0.0 || t < 0.0
                })
            });
            roots && apart
        })
    })
}

#[cfg(test)]
mod tests;
