//! A jig: a stiff plate square to the drill that stands on pins over this casting's marks; and the
//! setting plate, the same with the bracket bolted to it while its glass cures.
//!
//! ```text
//!      bush ▯        ▯ bush          plate, its underside
//!   ═══╤════╪════════╪════╤═══  ◀── STANDS_OFF over the highest thing under it
//!   pin│    ╎        ╎    │pin
//!      ●   ╭╎────────╎╮   ●          pins are parallel to the drill: they stand in
//!     ╭────╯╎        ╎╰────╮         the marks, each as long as its mark lies low
//! ```
//! Where edges of the casting are read, stops touch them instead ([`super::stops`]), and the pins only
//! carry. Seen along the drill everything is flat: the marks are where they project to, and no paper has
//! to follow the face. The first pin is pointed and sits in its mark; the second holds the plate
//! from turning only; the rest carry.

use super::laid::{Axes, axes_at};
use super::plate::Takes;
use super::stops;
use super::template::{
    Begun, Bracket, HolePlace, at_each, begin, with_the_bracket, with_the_level,
};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::holes::bush::bush_for;
use crate::job::{FixingId, MarkId, PieceId, SheetOf};
use crate::outline::Outline;
use crate::place::{Jacobian, Layout, Placed, Pose, place};
use crate::prepare::Source;
use crate::prepare::crosses::Crosses;
use crate::prepare::error::PrepareError;
use crate::prepare::feature::Prepared;
use crate::prepare::kept_level::Levelled;
use crate::prepare::layings::{LayBasis, best_laying, drawing_lands, too_wide, warnings_of};
use crate::prepare::standing::Standing;
use crate::prepare::words::{instead_words, kind_of, mm, stand_words, tenth};
use crate::surface::{Development, Shape, Surface, SurfaceError};
use crate::template::{Allowance, Laying, Shares};
use crate::units::{Angle, Length};
use nalgebra::Matrix2;

/// The plate's underside stands this far off the highest thing under it: chips have room (common
/// practice, no source).
const STANDS_OFF: Length = Length::from_mm(5.0);
/// A pin on a face that leans more than this slides off its mark (common practice, no source).
const MOST_LEAN: Angle = Angle::from_deg(45.0);
/// A pin is this thick, and its hole in the plate (common practice, no source).
const PIN: Length = Length::from_mm(6.0);
/// A pointed pin in a pip, or a stop pushed home, each way: half of what a cross is brought over its mark by eye
/// (common practice, no source).
const PIN_SD: Length = Length::from_mm(0.15);
/// Plate left between two bushes, or a bush and a pin (common practice, no source).
const WALL: Length = Length::from_mm(3.0);
/// Two pins nearer than this share of the way to the farthest hole turn the plate more than they
/// hold it (common practice, no source).
const SHORT_BASE: f64 = 1.0;

/// A point of the face seen along the drill: across, up, and how far above the middle.
fn seen(
    surface: &Surface,
    axes: &Axes,
    at: Point2<Face>,
) -> Result<(Point2<Flat>, f64), SurfaceError> {
    let off = surface.jet(at)?.at - axes.at;
    let flat = Point2::from_mm(off.dot(axes.across), off.dot(axes.up));
    Ok((flat, off.dot(axes.out)))
}

/// All marks seen along the drill.
fn all_seen(
    layout: &Layout,
    axes: &Axes,
    pose: &Pose,
) -> Result<Vec<(Point2<Flat>, f64)>, SurfaceError> {
    let marks = layout.marks.iter();
    marks
        .map(|&m| {
            seen(
                &layout.surface,
                axes,
                layout.surface.nearest(m, pose.centre),
            )
        })
        .collect()
}

/// How a mark seen along the drill moves when it moves over the face, by differences: the
/// derivative by the sizes of the face is third order in the mark's distance and left out.
fn projected(
    surface: &Surface,
    axes: &Axes,
    bare: &Development,
    flat: Point2<Flat>,
) -> Result<Matrix2<f64>, SurfaceError> {
    const STEP_MM: f64 = 0.01;
    let at = |dx: f64, dy: f64| -> Result<Point2<Flat>, SurfaceError> {
        let face = bare.face(flat + Vector2::from_mm(dx, dy))?;
        Ok(seen(surface, axes, face)?.0)
    };
    let x = (at(STEP_MM, 0.0)? - at(-STEP_MM, 0.0)?) * (0.5 / STEP_MM);
    let y = (at(0.0, STEP_MM)? - at(0.0, -STEP_MM)?) * (0.5 / STEP_MM);
    Ok(Matrix2::new(x.x_mm(), y.x_mm(), x.y_mm(), y.y_mm()))
}

/// The same place with its marks seen along the drill.
fn along_the_drill(
    placed: &Placed,
    surface: &Surface,
    axes: &Axes,
    marks: &[(Point2<Flat>, f64)],
) -> Result<Placed, SurfaceError> {
    let bare = Development::new(surface, placed.pose.centre, placed.pose.up)?;
    let by_casting = placed
        .marks
        .iter()
        .zip(&placed.marks_by_casting)
        .map(|(&flat, by)| {
            let p = projected(surface, axes, &bare, flat)?;
            let row = |r: usize| {
                let both = by.0[0].iter().zip(&by.0[1]);
                both.map(|(x, y)| p[(r, 0)] * x + p[(r, 1)] * y).collect()
            };
            Ok(Jacobian([row(0), row(1)]))
        })
        .collect::<Result<_, SurfaceError>>()?;
    Ok(Placed {
        marks: marks.iter().map(|m| m.0).collect(),
        marks_by_casting: by_casting,
        ..placed.clone()
    })
}

/// Works out the jig of a fixing for one piece.
///
/// # Errors
/// [`PrepareError`]: as for the drill template; bushes that run into each other or a pin, a mark on
/// a face too steep to stand on.
pub(in crate::prepare) fn prepare_jig(
    source: &Source<'_>,
    id: &FixingId,
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    on_pins(source, SheetOf::Jig(id.clone()), id, piece)
}

/// Works out the plate a bracket is bolted to while its glass cures, for one piece: it stands where
/// the drawing has the bracket, whatever was read later.
///
/// # Errors
/// As [`prepare_jig`].
pub(in crate::prepare) fn prepare_plate(
    source: &Source<'_>,
    id: &FixingId,
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    on_pins(source, SheetOf::Plate(id.clone()), id, piece)
}

fn on_pins(
    source: &Source<'_>,
    of: SheetOf,
    id: &FixingId,
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    let plate = matches!(of, SheetOf::Plate(_));
    let job = source.job;
    let Begun {
        name,
        drill,
        drill_for,
        thread,
        cured,
        allowed,
        places,
        laid,
        standing,
        mut registers,
        number,
    } = begin(
        source,
        id,
        piece,
        if plate { Bracket::Meant } else { Bracket::Now },
    )?;
    let Standing {
        marks,
        kept,
        mut ids,
        layout,
        nominal,
        nominal_covariance,
        covariance,
        placed,
        level,
        odd_on_pattern,
    } = standing;
    let cannot = |why: String| PrepareError::Holes {
        fixing: name.clone(),
        why,
    };
    let on_surface = |why: SurfaceError| PrepareError::Surface {
        feature: name.clone(),
        why,
    };
    let surface = &layout.surface;
    let pose = placed.pose;
    let axes = axes_at(surface, pose.centre, pose.up).map_err(on_surface)?;
    let mut heights = all_seen(&layout, &axes, &pose).map_err(on_surface)?;
    // A pin stands where its mark's face does not turn away from it.
    let mut pins = Vec::new();
    let mut steep = Vec::new();
    for &k in &registers.on {
        let at = surface.nearest(layout.marks[k], pose.centre);
        let lean = libm::acos(
            surface
                .normal(at)
                .map_err(on_surface)?
                .dot(axes.out)
                .clamp(-1.0, 1.0),
        );
        if lean > MOST_LEAN.rad() {
            steep.push(registers.letters[k].clone());
        } else {
            pins.push(k);
        }
    }
    if pins.len() < 2 {
        return Err(cannot(format!(
            "no jig can stand here: the face at {} leans more than {:.0}° from the drill, where a pin slides off. Two marks nearer to the holes would do",
            steep.join(" and "),
            MOST_LEAN.deg()
        )));
    }
    let takes = if plate {
        Takes::Bolts(thread)
    } else {
        Takes::Bushes(bush_for(drill).map_err(|why| cannot(why.to_string()))?)
    };
    let centres: Vec<Point2<Flat>> = places.iter().map(|&p| Point2::ORIGIN + p).collect();
    let bare = along_the_drill(&placed, surface, &axes, &heights).map_err(on_surface)?;
    let stops = found_stops(source, id, piece, (&layout, &axes), (&ids, &registers.on));
    let stops = stops.map_err(cannot)?;
    if !stops.is_empty() && !stops::spaced(&stops, &bare.marks) {
        return Err(cannot(stops::too_near()));
    }
    let first_stop = ids.len();
    let placed = stops::with_stops(&bare, &stops, PIN);
    for (n, stop) in (1..).zip(&stops) {
        ids.push(ids[stop.mark].clone());
        registers.letters.push(format!("S{n}"));
        registers.gone.push(None);
        let at = placed.marks.get(heights.len());
        heights.push((at.copied().unwrap_or(Point2::ORIGIN), heights[stop.mark].1));
    }
    let fouls: Vec<usize> = pins.iter().copied().chain(first_stop..ids.len()).collect();
    let letters = &registers.letters;
    room_between(&centres, &fouls, &heights, letters, &takes).map_err(cannot)?;
    let top = pins
        .iter()
        .map(|&k| heights[k].1)
        .chain(
            laid.spots
                .iter()
                .filter_map(|s| Some(seen(surface, &axes, s.at).ok()?.1)),
        )
        .fold(0.0_f64, f64::max)
        + STANDS_OFF.mm();
    let lowest = laid
        .spots
        .iter()
        .filter_map(|s| Some(seen(surface, &axes, s.at).ok()?.1))
        .fold(0.0_f64, f64::min);
    let shares = Shares {
        pointing: PIN_SD,
        marking: takes.leaves(Length::from_mm(top - lowest)),
        marked_by: takes.left_by(),
        ..Shares::default()
    };
    let shares = with_the_level(shares, level);
    let shares = with_the_bracket(shares, cured.as_ref(), &places);
    let basis = LayBasis {
        flattening: vec![Vector2::ZERO; centres.len()],
        drawn_by: Vec::new(),
        outline: centres.clone(),
        casting: stops::with_readings(&covariance, &stops),
        drawing: nominal_covariance,
        shares,
        ball_radius_mm: None,
        choices: if stops.is_empty() {
            pairs_of(&pins)
        } else {
            vec![stops::laying(&stops, first_stop)]
        },
    };
    let (laying, slopes, budget) = best_laying(&basis, &placed, &name)?;
    let on_drawing: Vec<Point2<Flat>> = {
        let pose = place(&nominal, &nominal.layout)
            .map_err(|why| PrepareError::Place {
                feature: name.clone(),
                why,
            })?
            .pose;
        let axes = axes_at(&nominal.layout.surface, pose.centre, pose.up).map_err(on_surface)?;
        let seen = all_seen(&nominal.layout, &axes, &pose).map_err(on_surface)?;
        seen.into_iter().map(|m| m.0).collect()
    };
    let is_pin = |k: usize| pins.contains(&k) || k >= first_stop;
    let is_unread = |k: usize| registers.unread.get(k).copied().unwrap_or(false);
    let no_pin: Vec<bool> = (0..ids.len()).map(|k| is_unread(k) || !is_pin(k)).collect();
    let mut crosses = Crosses {
        ids: &ids,
        letters,
        seen: &placed.marks,
        eased: &[],
        on_drawing: on_drawing.get(..kept).unwrap_or(&on_drawing),
        unread: &no_pin,
        gone: &registers.gone,
    }
    .missing(job, &placed, &slopes, &basis);
    for (cross, stop) in crosses.iter_mut().skip(first_stop).zip(&stops) {
        // No drawing has a stop: it is where the edge of this casting is.
        cross.on_drawing = cross.at;
        cross.touches = true;
        cross.found = format!("touches the {}", stop.lies.words());
    }
    let nominal_lands = drawing_lands(nominal.rule.line(), &on_drawing, &bare, &basis, &name)?;
    let each = at_each(&basis, &placed, &laying).map_err(|why| PrepareError::Laying {
        feature: name.clone(),
        why,
    })?;
    let holes: Vec<HolePlace> = laid
        .holes
        .iter()
        .zip(&centres)
        .zip(&each)
        .map(|((hole, &at), budget)| HolePlace {
            number: hole.number,
            at,
            drill: takes.bore(),
            bush: takes.bush(),
            // The plate holds drill or bolt square to itself, whatever the face does.
            lean: Angle::ZERO,
            leans: None,
            words: takes.at_hole(),
            budget: budget.clone(),
        })
        .collect();

    let mut warnings = takes.minded(Length::from_mm(top));
    warnings.push(pin_words(&pins, &heights, letters, top));
    if stops.is_empty() {
        warnings.push(spacing_words(
            &laying,
            &basis,
            &placed,
            letters,
            budget.worst,
        ));
    }
    let spacing = stops::Spacing {
        stops: &stops,
        letters,
        heights: &heights,
        top,
        bare: &bare,
        casting: &covariance,
        basis: &basis,
        pins: &pins,
        pin: PIN,
        worst: budget.worst,
    };
    warnings.extend(spacing.words());
    warnings.extend(warnings_of(
        job,
        &marks,
        odd_on_pattern.as_ref(),
        &registers,
    ));
    warnings.extend(level.map(Levelled::words));
    warnings.extend(registers.without("pin"));
    warnings.extend(steep.iter().map(|letter| {
        format!(
            "no pin at {letter}: the face leans more than {:.0}° there",
            MOST_LEAN.deg()
        )
    }));
    warnings.extend(too_wide(&budget, allowed));
    let count = holes.len();
    Ok(Prepared {
        instead: instead_words(kind_of(&of), &number, nominal_lands, budget.worst),
        of,
        piece: piece.clone(),
        before: String::new(),
        laying_words: stand_words(&laying, letters),
        placed,
        surface: layout.surface,
        laying,
        budget,
        allowed,
        cut: pin_holes(&crosses),
        crosses,
        edges: Vec::new(),
        darts: Vec::new(),
        patches: Vec::new(),
        gores: None,
        thickness: takes.thickness(),
        leaves: takes.made(),
        paint_edge: Outline::default(),
        hatch: None,
        holes,
        allowance: Allowance {
            offset: Length::ZERO,
            scatter: shares.marking,
            name: takes.name(),
            mind: takes.mind(),
        },
        offset: Length::ZERO,
        size_words: takes.size_words(count, &drill_for),
        nominal_lands,
        warnings,
        marks,
        basis,
    })
}

/// Every pair of pins: the first in its mark, the second along the line.
fn pairs_of(pins: &[usize]) -> Vec<Laying> {
    let then = |first: usize| {
        pins.iter()
            .filter(move |&&k| k != first)
            .map(move |&k| (first, k))
    };
    pins.iter()
        .flat_map(|&first| then(first))
        .map(|(first, then)| Laying::FirstThenAlong { first, then })
        .collect()
}

fn pair_of(laying: &Laying) -> Option<(usize, usize)> {
    match laying {
        Laying::FirstThenAlong { first, then } => Some((*first, *then)),
        Laying::SplitAlong { .. } | Laying::BestFit { .. } | Laying::Stops { .. } => None,
    }
}

/// The stops of a fixing on the casting it is drilled in.
fn found_stops(
    source: &Source<'_>,
    id: &FixingId,
    piece: &PieceId,
    (layout, axes): (&Layout, &Axes),
    (ids, registers): (&[MarkId], &[usize]),
) -> Result<Vec<stops::Stop>, String> {
    let job = source.job;
    let Some(fixing) = job.fixings.get(id) else {
        return Ok(Vec::new());
    };
    let Some(casting) = stops::casting_of(job, fixing, piece) else {
        return Ok(Vec::new());
    };
    let among = stops::Among {
        job,
        casting,
        layout,
        axes,
        ids,
        registers,
    };
    stops::stops(fixing, &among)
}

/// Bushes need plate between them and round every pin.
fn room_between(
    centres: &[Point2<Flat>],
    pins: &[usize],
    heights: &[(Point2<Flat>, f64)],
    letters: &[String],
    takes: &Takes,
) -> Result<(), String> {
    let (what, across) = (takes.what(), takes.across());
    for (i, a) in centres.iter().enumerate() {
        for (k, b) in centres.iter().enumerate().skip(i + 1) {
            let left = (*b - *a).norm_mm() - across.mm();
            if left < WALL.mm() {
                return Err(format!(
                    "the {what} of holes {} and {} would leave {} mm of plate between them, {} at least: drill through the template or the bracket",
                    i + 1,
                    k + 1,
                    tenth(Length::from_mm(left.max(0.0))),
                    mm(WALL)
                ));
            }
        }
        for &k in pins {
            let left = (heights[k].0 - *a).norm_mm() - (across.mm() + PIN.mm()) / 2.0;
            if left < WALL.mm() {
                return Err(format!(
                    "the pin at {} would foul the {what} of hole {}: another mark, or drill through the template",
                    letters[k],
                    i + 1
                ));
            }
        }
    }
    Ok(())
}

/// How far each pin stands out of the plate on this casting.
fn pin_words(
    pins: &[usize],
    heights: &[(Point2<Flat>, f64)],
    letters: &[String],
    top: f64,
) -> String {
    let each: Vec<String> = pins
        .iter()
        .map(|&k| {
            format!(
                "{} {}",
                letters[k],
                tenth(Length::from_mm(top - heights[k].1))
            )
        })
        .collect();
    format!(
        "pins stand out of the plate's underside, mm: {}",
        each.join(", ")
    )
}

/// What the spacing of the two pins does, and what the worst pair would leave.
fn spacing_words(
    laying: &Laying,
    basis: &LayBasis,
    placed: &Placed,
    letters: &[String],
    worst: Length,
) -> String {
    let l = |k: usize| letters.get(k).cloned().unwrap_or_default();
    let at = |k: usize| placed.marks.get(k).copied().unwrap_or(Point2::ORIGIN);
    let Some((a, b)) = pair_of(laying) else {
        return String::new();
    };
    let base = (at(b) - at(a)).norm_mm();
    let far = basis
        .outline
        .iter()
        .map(|&p| (p - at(a)).norm_mm())
        .fold(0.0, f64::max);
    let ratio = far / base.max(1e-9);
    let mut words = format!(
        "pins {} and {} are {} mm apart, the farthest hole {} from {}: an error across at {} counts {ratio:.1} times there",
        l(a),
        l(b),
        mm(Length::from_mm(base)),
        mm(Length::from_mm(far)),
        l(a),
        l(b)
    );
    if ratio > SHORT_BASE {
        words.push_str("; marks further apart than the holes would hold it better");
    }
    let other = basis
        .choices
        .iter()
        .filter_map(|c| {
            let (_, sum) = basis.leaves(placed, c, &[]).ok()?;
            Some((pair_of(c)?, sum.worst))
        })
        .max_by(|x, y| x.1.mm().total_cmp(&y.1.mm()));
    if let Some(((c, d), leaves)) = other
        && leaves.mm() > worst.mm() + 0.1
    {
        words.push_str(&format!(
            "; on {} and {} it would leave {} mm instead of {}",
            l(c),
            l(d),
            tenth(leaves),
            tenth(worst)
        ));
    }
    words
}

/// The holes that the pins are pressed into.
fn pin_holes(crosses: &[crate::prepare::CrossMiss]) -> Option<Outline<Flat>> {
    let mut all = Outline::default();
    let pinned = crosses.iter().filter(|c| !c.unread && c.gone.is_none());
    for cross in pinned {
        let hole = Outline::<Flat>::circle(PIN).ok()?;
        all.extend(hole.shifted(cross.at.from_origin()));
    }
    Some(all.snapped())
}
