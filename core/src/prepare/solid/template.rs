//! A template as it lies on its piece: its outline where it is to go and where flat paper puts it, its
//! darts closed, and how far out each place may be.

use super::super::Source;
use super::super::error::PrepareError;
use super::super::feature::{Prepared, prepare};
use super::super::words::tenth;
use super::model::{Model, closed, often};
use super::skin::Room;
use super::{Look, SolidView};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{FeatureId, PieceId, PointRef};
use crate::outline::FLATTENING;
use crate::surface::{Dart, Development, Surface};
use crate::units::Length;

/// Outlines are drawn as finely as their picture is.
const FINE: Length = Length::from_mm(FLATTENING.mm() * 2.0);

/// Less than this nobody lays paper to, and no second line is drawn for it.
const WORTH_SHOWING: Length = Length::from_mm(0.1);

/// What is allowed is shown in so many steps; one more is for what is over it.
const STEPS: u8 = 4;

/// A cross this far off its mark is spoken of.
const OFF_WORTH_SAYING: Length = Length::from_mm(0.3);

/// A dart is drawn so far past whatever lies furthest its way, mm, as the paper reaches past its crosses.
const PAST_MM: f64 = 8.0;

/// The template of a feature in place.
///
/// # Errors
/// [`PrepareError`]: why it can't be made.
pub(super) fn template(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
) -> Result<(SolidView, Vec<u8>), PrepareError> {
    let p = prepare(source, feature, piece)?;
    let title = super::super::sheet_title(source.job, &p.of);
    let on_surface = |why| PrepareError::Surface {
        feature: title.clone(),
        why,
    };
    let pose = p.placed.pose;
    // On the paper, and on the face itself: a sheet of some thickness is a little longer than the face.
    let paper = Development::with_thickness(&p.surface, pose.centre, pose.up, p.thickness)
        .map_err(on_surface)?;
    let bare = Development::new(&p.surface, pose.centre, pose.up).map_err(on_surface)?;
    let runs: Vec<Vec<Point2<Flat>>> = p
        .paint_edge
        .polylines(FINE)
        .into_iter()
        .map(closed)
        .collect();
    let marks = marks(&p);
    let mut places: Vec<Point2<Face>> = marks.iter().map(|m| m.at).collect();
    let dots = runs.iter().flatten();
    places.extend(dots.filter_map(|dot| paper.face(*dot).ok()));
    places.push(pose.centre);
    let room = Room::around(&p.surface, &places).ok_or_else(|| {
        super::super::design::missing("the outline", &title, "say what shape it is")
    })?;
    let mut model = Model::of(&p.surface, &room, pose.up, pose.centre).map_err(on_surface)?;
    let each = p
        .basis
        .leaves_at_each(&p.placed, &p.laying)
        .map_err(|why| PrepareError::Laying {
            feature: title.clone(),
            why,
        })?;
    let worst_at = bands(&mut model, &p, &paper, &runs, &each);
    model.part(Look::Outline, |m| {
        for run in &runs {
            m.line_on(&paper, run);
        }
    });
    model.explain(Look::Outline, 0, "where the paint is to go");
    lands(&mut model, &p, &bare, &runs);
    darts(&mut model, &p, &paper);
    model.part(Look::Mark, |m| {
        for mark in &marks {
            m.cross(mark.at, 0.035);
        }
    });
    for mark in marks {
        model.name(mark.at, mark.words, mark.more, Some(mark.point));
    }
    model.explain(Look::Mark, 0, "a mark that its cross is laid on");
    if let Some((at, words, more)) =
        worst_at.and_then(|(at, words, more)| Some((paper.face(at).ok()?, words, more)))
    {
        model.name(at, words, more, None);
    }
    Ok(model.done())
}

struct MarkInPlace {
    at: Point2<Face>,
    words: String,
    more: String,
    point: PointRef,
}

/// The marks that crosses are laid on, as read on this casting.
fn marks(p: &Prepared) -> Vec<MarkInPlace> {
    let near = |surface: &Surface, at| surface.nearest(at, p.placed.pose.centre);
    p.crosses
        .iter()
        .filter(|c| c.gone.is_none())
        .filter_map(|c| {
            let point = PointRef::Mark(c.mark.clone());
            let at = near(&p.surface, p.marks.at(&point)?);
            let mut more = format!("mark {}", c.letter);
            if !c.found.is_empty() {
                more.push_str(&format!(", {}", c.found));
            }
            let eased = c.eased.norm();
            if c.unread {
                more.push_str(": not read on this piece, so it has no cross");
            } else if eased > OFF_WORTH_SAYING {
                more.push_str(&format!(
                    ": flat paper leaves its cross about {} mm off, on purpose, so that the rest lands best",
                    tenth(eased)
                ));
            }
            Some(MarkInPlace {
                at,
                words: c.letter.clone(),
                more,
                point,
            })
        })
        .collect()
}

/// Which step of the scale an error falls on: 0 to [`STEPS`], the last for more than is allowed.
fn step_of(error: Length, allowed: Length) -> u8 {
    let mut step = 0;
    while step < STEPS && error > allowed * (f64::from(step + 1) / f64::from(STEPS)) {
        step += 1;
    }
    step
}

/// The strip beside the outline that says how far out each place of it may be. Returns the worst place
/// with its words.
fn bands(
    model: &mut Model<'_>,
    p: &Prepared,
    paper: &Development,
    runs: &[Vec<Point2<Flat>>],
    each: &[Length],
) -> Option<(Point2<Flat>, String, String)> {
    let wide = Length::from_mm((model.reach_mm() * 0.05).clamp(2.0, 14.0));
    let looked = &p.basis.outline;
    // The places where errors are known stand every 2 mm: the worst of those beside a piece says it, the
    // nearest where a piece is shorter than that.
    let error_at = |middle: Point2<Flat>, beside_mm: f64| {
        let (mut nearest, mut most) = ((f64::INFINITY, Length::ZERO), None::<Length>);
        for (at, error) in looked.iter().zip(each) {
            let away = (*at - middle).norm_mm();
            if away < nearest.0 {
                nearest = (away, *error);
            }
            if away <= beside_mm && most.is_none_or(|m| *error > m) {
                most = Some(*error);
            }
        }
        most.unwrap_or(nearest.1)
    };
    let mut used = [false; STEPS as usize + 1];
    let mut worst: Option<(Length, Point2<Flat>)> = None;
    model.part(Look::Band, |m| {
        for run in runs {
            let dots = often(run);
            let side = outside(&dots);
            let ways: Vec<Vector2<Flat>> = dots
                .windows(2)
                .map(|pair| (pair[1] - pair[0]).unit().unwrap_or(Vector2::ZERO))
                .collect();
            // Square to the line on average, so that a piece goes on where the last one ends.
            let out_at = |k: usize| {
                let way = |k: usize| ways.get(k % ways.len()).copied().unwrap_or(Vector2::ZERO);
                let on = way(k + ways.len() - 1) + way(k);
                on.unit().unwrap_or(way(k)).perp() * (side * wide.mm())
            };
            let mut pieces = Vec::with_capacity(dots.len());
            for (k, pair) in dots.windows(2).enumerate() {
                let [a, b] = [pair[0], pair[1]];
                let out = [out_at(k), out_at(k + 1)];
                let middle = a.lerp(b, 0.5);
                let beside_mm = (b - a).norm_mm() / 2.0 + 0.5;
                let (error, at) = (error_at(middle, beside_mm), middle + out[0]);
                let step = step_of(error, p.allowed);
                if let Some(seen) = used.get_mut(usize::from(step)) {
                    *seen = true;
                }
                if worst.is_none_or(|(most, _)| error > most + Length::from_mm(1e-6)) {
                    worst = Some((error, at));
                }
                pieces.push((
                    [a, b],
                    [a + out[0], b + out[1]],
                    f64::from(step) / f64::from(STEPS),
                ));
            }
            m.band_on(paper, &pieces);
        }
    });
    for step in 0..=STEPS {
        if used.get(usize::from(step)) == Some(&true) {
            let at = |k: u8| tenth(p.allowed * (f64::from(k) / f64::from(STEPS)));
            let words = if step < STEPS {
                format!("lands within {} mm, 95 of 100 times", at(step + 1))
            } else {
                format!("may be more than the {} mm allowed out", at(STEPS))
            };
            model.explain(Look::Band, step, words);
        }
    }
    worst.map(|(error, at)| {
        (
            at,
            format!("{} mm, the most", tenth(error)),
            format!(
                "here the outline may land up to {} mm out, 95 of 100 times; {} is allowed",
                tenth(error),
                tenth(p.allowed)
            ),
        )
    })
}

/// On which side of its way a closed run has its outside: 1 left of it, −1 right.
fn outside(dots: &[Point2<Flat>]) -> f64 {
    let area =
        |sum: f64, pair: &[Point2<Flat>]| sum + pair[0].from_origin().cross(pair[1].from_origin());
    let twice = dots.windows(2).fold(0.0, area);
    if twice > 0.0 { -1.0 } else { 1.0 }
}

/// Where flat paper puts the outline.
fn lands(model: &mut Model<'_>, p: &Prepared, bare: &Development, runs: &[Vec<Point2<Flat>>]) {
    let off = &p.basis.flattening;
    let most = off.iter().map(|v| v.norm_mm()).fold(0.0, f64::max);
    let most = Length::from_mm(most);
    if most < WORTH_SHOWING {
        return;
    }
    let looked = &p.basis.outline;
    let moved = |dot: Point2<Flat>| {
        let mut best: Option<(f64, Vector2<Flat>)> = None;
        for (at, by) in looked.iter().zip(off) {
            let away = (*at - dot).norm_mm();
            if best.is_none_or(|(least, _)| away < least) {
                best = Some((away, *by));
            }
        }
        dot + best.map_or(Vector2::ZERO, |b| b.1)
    };
    model.part(Look::Lands, |m| {
        for run in runs {
            let dots: Vec<_> = often(run).into_iter().map(moved).collect();
            m.line_on(bare, &dots);
        }
    });
    model.explain(
        Look::Lands,
        0,
        format!(
            "where flat paper puts it on a face so round: up to {} mm beside",
            tenth(most)
        ),
    );
}

/// The darts as they lie when they are closed, and slits as they open.
fn darts(model: &mut Model<'_>, p: &Prepared, paper: &Development) {
    let outline = p.paint_edge.polylines(FINE).into_iter().flatten();
    let reached: Vec<_> = outline.chain(p.crosses.iter().map(|c| c.at)).collect();
    let long = |dart: &Dart| {
        let past = |far: f64, q: &Point2<Flat>| far.max((*q - dart.tip).dot(dart.out));
        reached.iter().fold(0.0, past) + PAST_MM
    };
    model.part(Look::Dart, |m| {
        for dart in &p.darts {
            m.line_on(paper, &[dart.tip, dart.tip + dart.out * long(dart)]);
        }
    });
    let slit = |d: &Dart| d.angle.rad() <= 0.0;
    for dart in &p.darts {
        let middle = paper.face(dart.tip + dart.out * (long(dart) * 0.6));
        if let Ok(at) = middle {
            let (words, more) = if slit(dart) {
                ("slit", "a slit in the paper: it opens as the sheet is laid")
            } else {
                (
                    "dart",
                    "a dart cut out of the paper: its two edges meet here",
                )
            };
            model.name(at, words, more, None);
        }
    }
    if p.darts.iter().any(|d| !slit(d)) {
        model.explain(Look::Dart, 0, "a dart, closed");
    } else if !p.darts.is_empty() {
        model.explain(Look::Dart, 0, "a slit, where it opens");
    }
}
