//! Stops of a jig: pins of its plate that hang past an edge of the casting and touch it from outside,
//! two on one edge and one on the next. Each touches where the edge was read, square from a mark.
//!
//! ```text
//!      ●A                 ●B           marks
//!      │ read             │ read       square to the edge, the rule parallel to the plate
//!  ────┴──────────────────┴────────    the edge of this casting, trimmed as it came
//!     (S1)               (S2)          stops, tangent to it from outside
//! ```
//! Seen along the drill a stop is one more point that moves with its mark and with one reading; it
//! holds the plate only square to its edge ([`Laying::Stops`]).

use super::laid::Axes;
use super::view::StopView;
use crate::frames::{Flat, Point2, Vector2};
use crate::job::{
    CastingId, EdgeLies, EdgeMade, FixingEdit, JigStop, Job, Kept, MarkId, Measured, PieceId,
    PointRef, Reading,
};
use crate::place::{Jacobian, Layout, Placed};
use crate::prepare::layings::LayBasis;
use crate::prepare::naming::name_of;
use crate::prepare::tapes::noise;
use crate::prepare::words::{mm, tenth};
use crate::run::counts;
use crate::surface::{Shape, SurfaceError};
use crate::template::Laying;
use crate::units::Length;
use nalgebra::DMatrix;

/// Two stops on an edge nearer than this hold nothing from turning (common practice, no source).
pub(super) const NEAREST: Length = Length::from_mm(40.0);
/// A stop hangs past the edge by this, so that a rounded edge still meets its side (common practice,
/// no source).
const PAST_THE_EDGE: Length = Length::from_mm(8.0);
/// Less is no better spacing, mm.
const WORTH_SAYING_MM: f64 = 0.1;

/// A stop on one casting, seen along the drill.
#[derive(Debug, Clone)]
pub(super) struct Stop {
    /// The edge it touches.
    pub(super) lies: EdgeLies,
    /// The mark it was read from, by its place among all.
    pub(super) mark: usize,
    /// Away from the casting, of unit length.
    pub(super) out: Vector2<Flat>,
    /// From the mark to the edge.
    pub(super) read: Length,
    /// How well, one standard deviation.
    pub(super) sd: Length,
}

/// What a stop is read as.
pub(super) fn measured(stop: &JigStop) -> Measured {
    Measured::Square {
        edge: stop.edge.clone(),
        to: PointRef::Mark(stop.at.clone()),
    }
}

/// What was read for a stop on a casting, last.
pub(super) fn read<'a>(
    job: &'a Job,
    casting: &CastingId,
    stop: &JigStop,
) -> Option<&'a Kept<Reading>> {
    let of = measured(stop);
    let mut there = job
        .readings
        .about_parts(casting, &|by| by == of.lies_by().as_ref());
    there.rfind(|r| r.says.of == of && counts(job, &r.says))
}

/// *square from A to the edge below*.
pub(super) fn asked_words(job: &Job, stop: &JigStop) -> String {
    let lies = job.edges.get(&stop.edge).and_then(|e| e.lies);
    format!(
        "square from {} to the {}",
        name_of(job, &PointRef::Mark(stop.at.clone())),
        lies.map_or("edge", EdgeLies::words)
    )
}

/// The edges to be read on the casting of a piece.
pub(super) fn views(job: &Job, fixing: &FixingEdit, piece: &PieceId) -> Vec<StopView> {
    let Some(casting) = casting_of(job, fixing, piece) else {
        return Vec::new();
    };
    let all = fixing.stops.iter().flatten();
    all.map(|stop| StopView {
        casting: casting.clone(),
        of: measured(stop),
        asks: asked_words(job, stop),
        read: read(job, casting, stop).map(|r| r.says.value.clone()),
    })
    .collect()
}

/// The casting that a fixing of a piece is drilled in.
pub(super) fn casting_of<'a>(
    job: &'a Job,
    fixing: &FixingEdit,
    piece: &PieceId,
) -> Option<&'a CastingId> {
    let face = job.faces.get(fixing.face.as_ref()?)?;
    job.casting_of(piece, face.part.as_ref()?)
}

/// What stops are found among.
pub(super) struct Among<'a> {
    pub(super) job: &'a Job,
    pub(super) casting: &'a CastingId,
    pub(super) layout: &'a Layout,
    pub(super) axes: &'a Axes,
    pub(super) ids: &'a [MarkId],
    /// Marks that can be measured from, by their place.
    pub(super) registers: &'a [usize],
}

/// The stops of a fixing on a casting; none where it stands on pins.
///
/// # Errors
/// What is wrong with them or still to be read, and what to do.
pub(super) fn stops(fixing: &FixingEdit, of: &Among<'_>) -> Result<Vec<Stop>, String> {
    let wanted = fixing.stops.as_deref().unwrap_or_default();
    if wanted.is_empty() {
        return Ok(Vec::new());
    }
    let mut found = Vec::new();
    let mut unread = Vec::new();
    for (number, stop) in (1..).zip(wanted) {
        let edge = of.job.edges.get(&stop.edge).cloned().unwrap_or_default();
        let lies = edge.lies.ok_or_else(|| {
            format!("stop S{number} has no edge: say on Setting out which edge it touches")
        })?;
        let unexplained = edge.reason.as_ref().is_none_or(|r| r.trim().is_empty());
        if edge.made == Some(EdgeMade::Trimmed) && unexplained {
            return Err(format!(
                "the {} is trimmed by hand: no two castings have it in the same place. Choose a moulded edge, or say on Setting out why this one may serve",
                lies.words()
            ));
        }
        let letter = name_of(of.job, &PointRef::Mark(stop.at.clone()));
        let mark = of.ids.iter().position(|m| *m == stop.at);
        let Some(mark) = mark.filter(|k| of.registers.contains(k)) else {
            return Err(format!(
                "stop S{number} is read from {letter}, which can’t be used on this casting: choose another mark for it on Setting out"
            ));
        };
        let Some(read) = read(of.job, of.casting, stop) else {
            unread.push(asked_words(of.job, stop));
            continue;
        };
        let out = away(of, mark, lies).map_err(|why| why.to_string())?;
        let sd = read
            .says
            .within
            .unwrap_or_else(|| noise(of.job, read.says.instrument.as_ref(), read.says.value.mm));
        found.push(Stop {
            lies,
            mark,
            out,
            read: read.says.value.mm,
            sd,
        });
    }
    if !unread.is_empty() {
        return Err(format!(
            "its stops touch edges that were not read on this casting. Read on the Holes screen: {}",
            unread.join("; ")
        ));
    }
    let [a, b, c] = found.as_slice() else {
        return Err("a jig wants three stops, two on one edge and one on the next: no fewer hold it, and more rock".into());
    };
    if a.lies != b.lies || a.lies.faces() == c.lies.faces() {
        return Err("stops S1 and S2 belong on one edge and S3 on the one that meets it: others leave the plate free to slide, or can’t be lifted off".into());
    }
    Ok(found)
}

/// Away from the casting at a mark, seen along the drill.
pub(super) fn away(
    of: &Among<'_>,
    mark: usize,
    lies: EdgeLies,
) -> Result<Vector2<Flat>, SurfaceError> {
    let at = of.layout.marks[mark];
    let jet = of.layout.surface.jet(at)?;
    let space = match lies {
        EdgeLies::Below => -jet.dv,
        EdgeLies::Above => jet.dv,
        EdgeLies::Left => -jet.du,
        EdgeLies::Right => jet.du,
    };
    let flat = Vector2::from_mm(space.dot(of.axes.across), space.dot(of.axes.up));
    flat.unit().ok_or(SurfaceError::TooClose)
}

/// Marks seen along the drill, and the stops after them, each `pin` from its edge.
pub(super) fn with_stops(placed: &Placed, stops: &[Stop], pin: Length) -> Placed {
    let mut all = placed.clone();
    let inputs = placed.by_casting.0[0].len();
    let wider = |row: &[f64], own: Option<(usize, f64)>| -> Vec<f64> {
        let mut row = row.to_vec();
        row.resize(inputs + stops.len(), 0.0);
        if let Some((k, slope)) = own
            && let Some(cell) = row.get_mut(inputs + k)
        {
            *cell = slope;
        }
        row
    };
    for row in &mut all.by_casting.0 {
        *row = wider(row, None);
    }
    for mark in &mut all.marks_by_casting {
        for row in &mut mark.0 {
            *row = wider(row, None);
        }
    }
    for (k, stop) in stops.iter().enumerate() {
        let Some((&at, by)) = placed
            .marks
            .get(stop.mark)
            .zip(placed.marks_by_casting.get(stop.mark))
        else {
            continue;
        };
        all.marks
            .push(at + stop.out * (stop.read.mm() + pin.mm() / 2.0));
        all.marks_by_casting.push(Jacobian([
            wider(&by.0[0], Some((k, stop.out.x_mm()))),
            wider(&by.0[1], Some((k, stop.out.y_mm()))),
        ]));
    }
    all
}

/// The covariance of the casting with the readings of the stops after it.
pub(super) fn with_readings(casting: &DMatrix<f64>, stops: &[Stop]) -> DMatrix<f64> {
    let n = casting.nrows();
    let size = n + stops.len();
    DMatrix::from_fn(size, size, |r, c| match (r < n, c < n) {
        (true, true) => casting[(r, c)],
        (false, false) if r == c => {
            let sd = stops.get(r - n).map_or(0.0, |s| s.sd.mm());
            sd * sd
        }
        _ => 0.0,
    })
}

/// How a jig comes to rest on its stops, the first of which is the mark numbered `first`.
pub(super) fn laying(stops: &[Stop], first: usize) -> Laying {
    Laying::Stops {
        touch: (first..).zip(stops.iter().map(|s| s.out)).collect(),
    }
}

/// What is to be known of the stops: what they touch, how long they are, what their spacing does.
pub(super) struct Spacing<'a> {
    pub(super) stops: &'a [Stop],
    pub(super) letters: &'a [String],
    /// How far above the middle each mark stands, in order.
    pub(super) heights: &'a [(Point2<Flat>, f64)],
    /// The plate's underside above the middle.
    pub(super) top: f64,
    /// The marks without stops.
    pub(super) bare: &'a Placed,
    pub(super) casting: &'a DMatrix<f64>,
    /// With the stops.
    pub(super) basis: &'a LayBasis,
    pub(super) pins: &'a [usize],
    pub(super) pin: Length,
    /// What the worst hole is left.
    pub(super) worst: Length,
}

impl Spacing<'_> {
    pub(super) fn words(&self) -> Vec<String> {
        let [a, b, c] = self.stops else {
            return Vec::new();
        };
        let letter = |s: &Stop| self.letters.get(s.mark).cloned().unwrap_or_default();
        let mut all = vec![format!(
            "stops S1 and S2 touch the {}, opposite {} and {}, and S3 the {}, opposite {}; they are pins of {} mm, and the pins over marks only carry: blunt ones",
            a.lies.words(),
            letter(a),
            letter(b),
            c.lies.words(),
            letter(c),
            mm(self.pin)
        )];
        let long: Vec<String> = (1..)
            .zip(self.stops)
            .map(|(n, s)| {
                let low = self.heights.get(s.mark).map_or(0.0, |h| h.1);
                let long = Length::from_mm(self.top - low) + PAST_THE_EDGE;
                format!("S{n} {}", tenth(long))
            })
            .collect();
        all.push(format!(
            "stops stand out of the plate’s underside at least, mm: {}; longer where the edge lies lower than its mark. Cut nothing that hooks under the edge: it must lift off square",
            long.join(", ")
        ));
        all.push(self.lever(a, b));
        all.extend(self.further_apart(a, b));
        all.extend(self.on_pins());
        all
    }

    /// What an error at one stop of the long side does at the farthest hole.
    fn lever(&self, a: &Stop, b: &Stop) -> String {
        let at = |s: &Stop| {
            self.bare
                .marks
                .get(s.mark)
                .copied()
                .unwrap_or(Point2::ORIGIN)
        };
        let apart = across(a, at(b) - at(a)).abs();
        let off = |p: Point2<Flat>| (p - at(a)).norm_mm();
        let far = self.basis.outline.iter().map(|&p| off(p));
        let far = far.fold(0.0, f64::max);
        format!(
            "S1 and S2 are {} mm apart, the farthest hole {} from S1’s mark: an error at S2 counts {:.1} times there",
            mm(Length::from_mm(apart)),
            mm(Length::from_mm(far)),
            far / apart.max(1e-9)
        )
    }

    /// Two marks further apart opposite which the stops of the long side would hold better.
    fn further_apart(&self, a: &Stop, b: &Stop) -> Option<String> {
        let mut best: Option<(usize, usize, f64)> = None;
        for (i, &k) in self.pins.iter().enumerate() {
            for &l in self.pins.iter().skip(i + 1) {
                let moved = |s: &Stop, mark: usize| Stop { mark, ..s.clone() };
                let mut stops = self.stops.to_vec();
                stops[0] = moved(a, k);
                stops[1] = moved(b, l);
                let leaves = self.leaves(&stops).unwrap_or(f64::INFINITY);
                if best.is_none_or(|(_, _, w)| leaves < w - 1e-6) {
                    best = Some((k, l, leaves));
                }
            }
        }
        let (k, l, leaves) = best?;
        let name = |k: usize| self.letters.get(k).cloned().unwrap_or_default();
        (leaves < self.worst.mm() - WORTH_SAYING_MM).then(|| {
            format!(
                "opposite {} and {} the stops S1 and S2 would leave {} mm instead of {}",
                name(k),
                name(l),
                tenth(Length::from_mm(leaves)),
                tenth(self.worst)
            )
        })
    }

    fn leaves(&self, stops: &[Stop]) -> Option<f64> {
        spaced(stops, &self.bare.marks).then_some(())?;
        let placed = with_stops(self.bare, stops, self.pin);
        let basis = LayBasis {
            casting: with_readings(self.casting, stops),
            ..self.basis.clone()
        };
        let laying = laying(stops, self.bare.marks.len());
        let (_, sum) = basis.leaves(&placed, &laying, &[]).ok()?;
        Some(sum.worst.mm())
    }

    /// What pins in marks would leave instead, where that is less.
    fn on_pins(&self) -> Option<String> {
        let placed = with_stops(self.bare, self.stops, self.pin);
        let pairs = self.pins.iter().flat_map(|&first| {
            let others = self.pins.iter().filter(move |&&k| k != first);
            others.map(move |&then| Laying::FirstThenAlong { first, then })
        });
        let leaves = pairs.filter_map(|p| Some(self.basis.leaves(&placed, &p, &[]).ok()?.1.worst));
        let least = leaves.reduce(|a, b| if b < a { b } else { a })?;
        (least.mm() < self.worst.mm() - WORTH_SAYING_MM).then(|| {
            format!(
                "on two pins in marks the jig would leave {} mm instead of {}",
                tenth(least),
                tenth(self.worst)
            )
        })
    }
}

/// How far something lies along the edge of a stop.
fn across(stop: &Stop, way: Vector2<Flat>) -> f64 {
    way.cross(stop.out)
}

/// The two stops of the long side stand far enough apart.
pub(super) fn spaced(stops: &[Stop], marks: &[Point2<Flat>]) -> bool {
    let at = |s: &Stop| marks.get(s.mark).copied().unwrap_or(Point2::ORIGIN);
    match stops {
        [a, b, ..] => across(a, at(b) - at(a)).abs() >= NEAREST.mm(),
        _ => false,
    }
}

/// What is said where they do not.
pub(super) fn too_near() -> String {
    format!(
        "stops S1 and S2 stand less than {} mm apart along their edge: the plate would turn on them. Choose marks further apart",
        mm(NEAREST)
    )
}
