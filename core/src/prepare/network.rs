//! The readings of one face of one casting, adjusted, with the job's names put back.

use super::edges::{Corner, is_point};
use super::error::PrepareError;
use super::face::upper_line;
use super::naming::{casting_words, name_of, reading_words};
use super::taken::Builder;
use crate::frames::{Face, Point2};
use crate::job::{
    CastingId, EdgeId, EntityRef, FaceId, FactId, FeatureId, GirthLine, InstrumentId,
    InstrumentKind, Job, Kept, MarkId, Measured, PointRef, Reading as JobReading,
};
use crate::readings::{
    AdjustError, Adjusted, EdgeStart, Explained, Held, Network, NotHeld, Notice, Options,
    PointStart, SizeHeld, Slip, Status, adjust, turn_from_readings,
};
use crate::run::{Findable, counts, findable, untouched};
use crate::surface::{MAX_PARAMETERS, Shape, Surface};
use crate::units::Length;
use nalgebra::DMatrix;
use std::collections::{BTreeMap, BTreeSet};

/// Adjusted marks of one face of one casting.
#[derive(Debug, Clone)]
pub struct Marks {
    /// The points, in the order of the network.
    pub points: Vec<PointRef>,
    /// The adjustment.
    pub adjusted: Adjusted,
    /// Which fact each reading of the network is.
    pub facts: Vec<FactId>,
    /// Which instrument each tape of the network is; `None` where none was named.
    pub tapes: Vec<Option<InstrumentId>>,
    /// Which way of standing each stance of the network is.
    pub stood: Vec<u32>,
    /// What the user should be told, in words.
    pub notes: Vec<String>,
    /// Points that the drawing holds, not a reading: what one of the notes says.
    pub(super) held_by_drawing: Vec<PointRef>,
    /// The reading that goes least with the others, and those that could equally be it.
    pub suspects: Vec<Suspected>,
    /// Points that no reading of this casting touches.
    pub unread: Vec<PointRef>,
    /// Points of the pattern that readings touch and do not hold yet: they were left out.
    pub(super) open: Vec<LeftOpen>,
    /// What it was adjusted with.
    pub(super) options: Options,
}

/// A point that its readings do not hold yet.
#[derive(Debug, Clone)]
pub(super) struct LeftOpen {
    pub(super) point: PointRef,
    /// What is wanted.
    pub(super) why: PrepareError,
    /// The first one left out before it that it was read from: what holds that may hold it too.
    pub(super) through: Option<usize>,
}

/// A reading that the others contradict.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspected {
    /// Which fact.
    pub fact: FactId,
    /// The reading, in words: *B to C, over the surface*.
    pub reading: String,
    /// What the others say less what it says.
    pub off_by: Length,
    /// What the others say it should be, and the slip that would explain it, as a question:
    /// *The others say 103. Were two digits swapped?*
    pub explained: String,
}

impl Marks {
    /// Where a point is.
    #[must_use]
    pub fn at(&self, point: &PointRef) -> Option<Point2<Face>> {
        let k = self.index(point)?;
        self.adjusted.points.get(k).map(|p| p.at)
    }
    /// Its place in the network.
    #[must_use]
    pub fn index(&self, point: &PointRef) -> Option<usize> {
        self.points.iter().position(|p| p == point)
    }
    /// That something is not placed, with what is wanted for it where it was left out.
    pub(super) fn exactly(&self, why: PrepareError) -> PrepareError {
        let PrepareError::PatternNotPlaced { of: Some(of), .. } = &why else {
            return why;
        };
        let Some(own) = self.open.iter().find(|o| o.point == *of) else {
            return why;
        };
        let first = own.through.and_then(|k| self.open.get(k));
        first.unwrap_or(own).why.clone()
    }
    /// Covariance of points in a given order, then of the sizes of the face (mm²; the taper's own unit).
    #[must_use]
    pub fn covariance(&self, points: &[usize]) -> DMatrix<f64> {
        let marks = self.adjusted.covariance(points);
        let coupling = self.adjusted.size_coupling(points);
        let sizes = self.adjusted.size_covariance();
        let count = self.adjusted.surface.parameters().len();
        let n = 2 * points.len();
        DMatrix::from_fn(n + count, n + count, |r, c| match (r < n, c < n) {
            (true, true) => marks.get(r, c),
            (true, false) => coupling[r][c - n],
            (false, true) => coupling[c][r - n],
            (false, false) => sizes[r - n][c - n],
        })
    }
}

/// What to adjust.
pub(super) struct Wanted<'a> {
    pub(super) job: &'a Job,
    pub(super) face: &'a FaceId,
    pub(super) casting: &'a CastingId,
    pub(super) surface: Surface,
    pub(super) sizes: [SizeHeld; MAX_PARAMETERS],
    /// Its readings, as [`readings_on`] has them.
    pub(super) readings: &'a [&'a Kept<JobReading>],
    /// Points that must be in the network, with where the pattern has them.
    pub(super) starts: Vec<(PointRef, Point2<Face>)>,
    /// Standard deviation of castings about the drawing; `None` on the pattern itself.
    pub(super) spread: Option<Length>,
    /// A painted middle on this casting, with the distances read to it.
    pub(super) painted: Option<Painted<'a>>,
    /// Where its edges run before any reading.
    pub(super) edges: Vec<(EdgeId, EdgeStart)>,
    /// Two edges that something follows.
    pub(super) corner: Option<&'a Corner>,
    /// Heights of its marks on the board: they say which way is up.
    pub(super) heights: &'a [&'a Kept<JobReading>],
}

/// The middle of a painted feature, looked for by distances from marks.
#[derive(Debug, Clone, Copy)]
pub(super) struct Painted<'a> {
    /// Which feature.
    pub(super) feature: &'a FeatureId,
    /// Where to begin.
    pub(super) start: Point2<Face>,
    /// From marks to it.
    pub(super) readings: &'a [JobReading],
}

/// A painted middle is wherever the readings say: nothing but this, a metre each way, holds it
/// where it should be. Against half a millimetre read it weighs one part in four millions.
const ANYWHERE: Length = Length::from_mm(1000.0);

/// How far marks of castings stray from the pattern's (one standard deviation): 1 to 3 mm of
/// step, twist and clean-up (design/02).
pub(super) const MARK_SPREAD: Length = Length::from_mm(2.0);

/// Marks of a face in the order of their letters.
#[must_use]
pub fn marks_of(job: &Job, face: &FaceId) -> Vec<MarkId> {
    let mut marks: Vec<_> = job
        .marks
        .iter()
        .filter(|(_, m)| m.face.as_ref() == Some(face))
        .collect();
    marks.sort_by_key(|(id, m)| (m.letter.clone(), (*id).clone()));
    marks.into_iter().map(|(id, _)| id.clone()).collect()
}

pub(super) fn face_of(job: &Job, point: &PointRef) -> Option<FaceId> {
    match point {
        PointRef::Mark(id) => job.marks.get(id)?.face.clone(),
        PointRef::Feature(id) => job.features.get(id)?.face.clone(),
    }
}

/// Readings of one face of one casting, at the stage of the latest of them; and where a mark that
/// was read is gone since, the earlier ones that hold it.
///
/// Adjusting both together is the same as taking the earlier stage's places with their covariance
/// as known beforehand (sequential least squares). Earlier readings come in only where nothing was
/// filled, cut or sanded near their marks since, and nobody read the same thing later.
pub(super) fn readings_on<'a>(
    job: &'a Job,
    face: &FaceId,
    casting: &CastingId,
) -> Vec<&'a Kept<JobReading>> {
    let on_face = |by: Option<&EntityRef>| match by {
        Some(EntityRef::Mark(id)) => job.marks.get(id).and_then(|m| m.face.as_ref()) == Some(face),
        Some(EntityRef::Feature(id)) => {
            job.features.get(id).and_then(|f| f.face.as_ref()) == Some(face)
        }
        Some(EntityRef::Face(id)) => id == face,
        _ => false,
    };
    // What only a jig's stop touches says where the edge is, not where the mark is.
    let mut stops_only: BTreeMap<&EdgeId, bool> = BTreeMap::new();
    let mut all = Vec::new();
    for r in job.readings.about_parts(casting, &on_face) {
        let left_out = match &r.says.of {
            // Plan and height say where a face is in its part (`setout::board`) and which way is up on it
            // (`pattern::with_heights`). A network is of one face, where a set-up is six unknowns more: of n
            // marks it leaves 3n − 6 relations, chords known to √2 mm each, beside a tape's half a millimetre
            // a tenth of the weight. design/03 §1 has them among the readings: a face that the board alone
            // holds, with no tape on it, is what this leaves out.
            Measured::Board { .. } => true,
            Measured::Square { edge, .. } => {
                let known = stops_only.entry(edge);
                *known.or_insert_with(|| for_stops_only(job, edge))
            }
            _ => false,
        };
        if !left_out && counts(job, &r.says) {
            all.push(r);
        }
    }
    // Readings enter a network only with their own stage: a casting filled since is another shape.
    // The pattern stands as it was approved: what is set out on it is read at no stage.
    let stands = job
        .castings
        .get(casting)
        .is_some_and(|c| c.pattern == Some(true));
    let stage = match stands {
        true => all.iter().rev().find_map(|r| r.says.stage.clone()),
        false => all.last().and_then(|r| r.says.stage.clone()),
    };
    let is_gone = |p: &&PointRef| match p {
        PointRef::Mark(m) => matches!(findable(job, m, stage.as_deref()), Findable::Gone(_)),
        PointRef::Feature(_) => false,
    };
    let some_gone = all.iter().any(|r| r.says.of.points().iter().any(is_gone));
    let now = |r: &Kept<JobReading>| r.says.stage == stage || (stands && r.says.stage.is_none());
    let read_now: BTreeSet<&Measured> = match some_gone {
        true => all.iter().filter(|r| now(r)).map(|r| &r.says.of).collect(),
        false => BTreeSet::new(),
    };
    let read_later = |r: &Kept<JobReading>| read_now.contains(&r.says.of);
    all.into_iter()
        .filter(|r| now(r) || (some_gone && !read_later(r) && untouched(job, r)))
        .collect()
}

/// An edge that stops of a jig touch, and that nothing else follows: one square distance from it says
/// less than the two unknowns it has.
fn for_stops_only(job: &Job, edge: &EdgeId) -> bool {
    let touched = job.fixings.values().any(|f| {
        let stops = f.stops.iter().flatten();
        stops.into_iter().any(|s| s.edge == *edge)
    });
    touched
        && !(job.features.values().filter_map(|f| f.rule.as_ref()))
            .any(|rule| rule.edges().contains(&edge))
}

/// How badly readings may hold all marks together before the start does instead.
///
/// A casting starts where the pattern has its marks: a third of its spread (design/11, *Ranks*).
/// The pattern starts in the middle of its face, which is where it is to within a hand's
/// breadth: 50 mm.
fn weak_motion(spread: Option<Length>) -> Length {
    spread.map_or(Length::from_mm(50.0), |s| s * (1.0 / 3.0))
}

/// Adjusts the readings of a face.
pub(super) fn adjusted(wanted: &Wanted<'_>) -> Result<Marks, PrepareError> {
    let job = wanted.job;
    let readings = wanted.readings;
    let casting_name = casting_words(job, wanted.casting);
    let mut network = Network::on(wanted.surface.clone());
    network.sizes = wanted.sizes;
    let mut points = Vec::new();
    for (point, start) in &wanted.starts {
        points.push(point.clone());
        network.points.push(PointStart {
            start: *start,
            held: Held::Free,
        });
    }
    let mut builder = Builder {
        wanted,
        network,
        points,
        facts: Vec::new(),
        tapes: Vec::new(),
        stood: Vec::new(),
    };
    let upper = job.faces.get(wanted.face).and_then(upper_line);
    for reading in readings.iter().chain(wanted.heights) {
        if builder.add(&reading.says, upper) {
            builder.facts.push(reading.id);
        }
    }
    if let Some(painted) = wanted.painted {
        let point = PointRef::Feature(painted.feature.clone());
        builder.points.push(point);
        builder.network.points.push(PointStart {
            start: painted.start,
            held: Held::Prior { sd: ANYWHERE },
        });
        for says in painted.readings {
            if !builder.add(says, upper) {
                return Err(PrepareError::Reading {
                    casting: casting_name,
                    reading: reading_words(job, &says.of),
                    why: "this mark was not read on this casting: read it from another mark first"
                        .to_owned(),
                });
            }
        }
    }
    if let Some(corner) = wanted.corner {
        builder.corner(corner);
    }
    let Builder {
        mut network,
        points,
        facts,
        tapes,
        stood,
        ..
    } = builder;
    for k in 0..network.stances.len() {
        let turn = turn_from_readings(&network, k);
        if let Some(stance) = network.stances.get_mut(k) {
            stance.turn = turn;
        }
    }
    let options = Options {
        drawing_spread: wanted.spread,
        weak_motion: Some(weak_motion(wanted.spread)),
        ..Options::default()
    };
    let words = |k: usize| {
        let says = match facts.get(k) {
            Some(id) => job.readings.named(*id).map(|r| &r.says),
            None => (wanted.painted).and_then(|p| p.readings.get(k - facts.len())),
        };
        says.map_or_else(String::new, |says| {
            format!("{} ({})", reading_words(job, &says.of), says.value.typed)
        })
    };
    let adjusted = adjust(&network, &options).map_err(|e| match e {
        AdjustError::NotHeld(list) => not_held(job, &points, &list),
        AdjustError::Unusable { reading, why, .. } => PrepareError::Reading {
            casting: casting_name.clone(),
            reading: words(reading),
            why: why.to_string(),
        },
        AdjustError::Reading { reading, why } => PrepareError::Reading {
            casting: casting_name.clone(),
            reading: words(reading),
            why: why.to_string(),
        },
        other => PrepareError::DoNotFit {
            casting: casting_name.clone(),
            hint: other.to_string(),
        },
    })?;
    if adjusted.status != Status::Converged {
        let worst = adjusted
            .readings
            .iter()
            .enumerate()
            .max_by(|a, b| a.1.off_by.mm().abs().total_cmp(&b.1.off_by.mm().abs()))
            .map_or_else(String::new, |(k, _)| words(k));
        return Err(PrepareError::DoNotFit {
            casting: casting_name,
            hint: format!("nothing fits them all; look first at {worst}"),
        });
    }
    let unread = points
        .iter()
        .filter(|p| !matches!(p, PointRef::Mark(id) if is_point(id)))
        .filter(|p| !readings.iter().any(|r| r.says.of.touches(p)))
        .cloned()
        .collect();
    // Only the worst and what could equally be it: once that is settled all others change.
    let listed = adjusted.suspects().unwrap_or_default();
    let suspects = listed
        .first()
        .into_iter()
        .flat_map(|s| std::iter::once(s.reading).chain(s.or.iter().copied()))
        .filter_map(|k| {
            Some(Suspected {
                fact: *facts.get(k)?,
                reading: words(k),
                off_by: adjusted.slip(k)?,
                explained: explained(job, &points, &adjusted, k, &options),
            })
        })
        .collect();
    let mut notes = notes_of(job, &points, &facts, &adjusted, &words);
    notes.extend(no_upper_line(job, readings, upper));
    let held_by_drawing = held_by_drawing(&points, &adjusted);
    Ok(Marks {
        points,
        adjusted,
        facts,
        tapes,
        stood,
        notes,
        held_by_drawing,
        suspects,
        unread,
        open: Vec::new(),
        options,
    })
}

fn not_held(job: &Job, points: &[PointRef], list: &[NotHeld]) -> PrepareError {
    let named = |k: usize| {
        points
            .get(k)
            .map_or_else(|| "a mark".into(), |p| name_of(job, p))
    };
    // An edge that is open leaves the marks open too: it is what wants reading.
    let open_edge = list.iter().find(|n| matches!(n, NotHeld::Edge { .. }));
    match open_edge.or_else(|| list.first()) {
        Some(NotHeld::Point {
            index, would_hold, ..
        }) => PrepareError::PatternNotPlaced {
            point: named(*index),
            need: match would_hold {
                crate::readings::Remedy::DistanceFrom { point } => {
                    format!("read it from {}", named(*point))
                }
                crate::readings::Remedy::SquareOrCoordinate => {
                    "read it from two marks that are placed".into()
                }
            },
            of: points.get(*index).cloned(),
            either_side: false,
        },
        Some(NotHeld::Edge { .. }) => PrepareError::PatternNotPlaced {
            point: "an edge".into(),
            need: "read three marks that are not in a row square from it".into(),
            of: None,
            either_side: false,
        },
        Some(NotHeld::Size { .. }) | None => PrepareError::PatternNotPlaced {
            point: "the size of the face".into(),
            need: "read its girth, or a straight-edge and gap".into(),
            of: None,
            either_side: false,
        },
    }
}

/// What the others say of a suspect, and the slip it may have been.
fn explained(
    job: &Job,
    points: &[PointRef],
    adjusted: &Adjusted,
    reading: usize,
    options: &Options,
) -> String {
    let Some(found) = adjusted.explain(reading, options) else {
        return String::new();
    };
    // To the millimetre: a tape is read no finer, and the slip is larger.
    let others = format!("The others say {:.0} mm.", found.others.value.mm());
    match slip_question(job, points, &found) {
        Some(question) => format!("{others} {question}"),
        None => others,
    }
}

/// The slip that would explain a reading best, as a question.
pub(super) fn slip_question(job: &Job, points: &[PointRef], found: &Explained) -> Option<String> {
    Some(match found.slips.first()?.slip {
        Slip::Ten => "Was it misread by 10 mm?".to_owned(),
        Slip::Hundred => "Was it misread by 100 mm?".to_owned(),
        Slip::Inch => "Was it misread by an inch?".to_owned(),
        Slip::DigitsSwapped => "Were two digits swapped?".to_owned(),
        Slip::InchesAsCentimetres => "Was it read off in inches?".to_owned(),
        Slip::ZeroLeftIn => "Did the tape start at its 100 mark, and the 100 stay in?".to_owned(),
        Slip::LaidOver => "Did the tape lie on the surface?".to_owned(),
        Slip::HungStraight => "Did the tape hang straight, clear of the surface?".to_owned(),
        Slip::OtherSide => "Was the side mistaken: above for below, left for right?".to_owned(),
        Slip::NeighbouringMark { mark } => {
            format!("Was it read to {}?", name_of(job, points.get(mark)?))
        }
    })
}

/// The reading was taken with something that reaches over a bulge.
fn reaches_over(job: &Job, fact: Option<&FactId>) -> bool {
    let reading = fact.and_then(|id| job.readings.named(*id));
    let instrument = reading.and_then(|r| job.instruments.get(r.says.instrument.as_ref()?));
    instrument.is_some_and(|i| {
        matches!(
            i.kind,
            Some(
                InstrumentKind::Trammel | InstrumentKind::OutsideCalipers | InstrumentKind::Drawing
            )
        )
    })
}

/// Points that no reading holds.
fn held_by_drawing(points: &[PointRef], adjusted: &Adjusted) -> Vec<PointRef> {
    let point = |notice: &Notice| match notice {
        Notice::HeldByDrawing(NotHeld::Point { index, .. }) => points.get(*index).cloned(),
        _ => None,
    };
    adjusted.notices.iter().filter_map(point).collect()
}

/// That no reading holds these, in one sentence; nothing where all are held.
pub(super) fn by_drawing(job: &Job, points: &[PointRef]) -> Option<String> {
    let names: Vec<String> = points.iter().map(|p| name_of(job, p)).collect();
    match names.as_slice() {
        [] => None,
        [one] => Some(format!(
            "No reading of this casting holds {one} yet: it stands where the pattern has it"
        )),
        [most @ .., last] => {
            let most = most.join(", ");
            Some(format!(
                "No reading of this casting holds {most} and {last} yet: they stand where the pattern has them"
            ))
        }
    }
}

/// An upper girth of a face that was tapered once is no girth of it now: read as the middle's it would
/// bend the face.
fn no_upper_line(
    job: &Job,
    readings: &[&Kept<JobReading>],
    upper: Option<Length>,
) -> Option<String> {
    let at_upper = |of: &Measured| {
        matches!(
            of,
            Measured::Girth {
                at: GirthLine::Upper,
                ..
            }
        )
    };
    let says = readings
        .iter()
        .map(|r| &r.says)
        .find(|says| at_upper(&says.of))?;
    upper.is_none().then(|| {
        format!(
            "{} ({}) is left out: the face is not tapered any more and has no upper line. Say on Setting out that it tapers, or set the reading aside",
            reading_words(job, &says.of),
            says.value.typed
        )
    })
}

fn notes_of(
    job: &Job,
    points: &[PointRef],
    facts: &[FactId],
    adjusted: &Adjusted,
    words: &dyn Fn(usize) -> String,
) -> Vec<String> {
    let mut notes: Vec<String> = by_drawing(job, &held_by_drawing(points, adjusted))
        .into_iter()
        .collect();
    for notice in &adjusted.notices {
        match notice {
            // Points on a beam or legs reach over the bulge: their line needs no clear air.
            Notice::LineDips { reading, .. } if reaches_over(job, facts.get(*reading)) => {}
            Notice::LineDips { reading, by } => notes.push(format!(
                "{}: a straight line there would dip {:.1} mm into the surface. Was it a trammel, or laid over?",
                words(*reading),
                by.mm()
            )),
            Notice::OtherWayRound { reading, .. } => {
                notes.push(format!("{}: taken the other way round, which fits far better", words(*reading)));
            }
            Notice::HeldByDrawing(_) | Notice::Weak { .. } | Notice::StartedElsewhere { .. } => {}
        }
    }
    if adjusted.chi_square.is_some_and(|c| c.too_high) {
        notes.push("the readings disagree more than the tools allow".into());
    }
    notes
}
