//! One feature on one piece: rule, place, laying, budget, outline.

use super::Source;
use super::carriers::{add_tied_crosses, carriers, enough_to_lay_on, gone_on};
use super::crosses::Crosses;
use super::design::{Design, design, missing, restrict, restrict_covariance};
use super::error::PrepareError;
use super::face::casting_face;
use super::hatch::{Hatch, hatch};
use super::holes::{HolePlace, prepare_drill, prepare_jig, prepare_plate};
use super::islands::held;
use super::layings::{
    LayBasis, best_laying, drawing_lands, layings_for, pinned, too_wide, warnings_of,
};
use super::level::as_chosen;
use super::lying::{lies, on_sheet};
use super::naming::{casting_words, name_of};
use super::network::{MARK_SPREAD, Marks, Painted, Wanted, adjusted};
use super::outline::{Drawn, outline_of};
use super::pair_sheet::both;
use super::shell::{between_arms, first_words, is_shell, scatter, skin_of};
use super::words::{CUT_OUT, instead_words, kind_of, laying_words};
use crate::frames::{Flat, Point2, Vector2};
use crate::job::{DrawnSide, FeatureId, MarkId, Marker, PieceId, PointRef, Reading, SheetOf};
use crate::outline::Outline;
use crate::place::{Layout, Nominal, PlaceError, Placed, place, seen_from};
use crate::surface::{Dart, Development, Surface};
use crate::template::{Allowance, Budget, Cover, LAID, Laying, MarkerKind, Shares, allowance_of};
use crate::units::Length;
use nalgebra::DMatrix;

/// Spacing of the outline points at which errors are looked for.
const LOOK_EVERY: Length = Length::from_mm(2.0);

/// The radius asked for where nobody said: a painted feature (design/02).
pub(super) const USUAL_TOLERANCE: Length = Length::from_mm(3.0);

/// How far one register cross may be off its mark when the template lies right.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossMiss {
    /// Which mark.
    pub mark: MarkId,
    /// Its letter.
    pub letter: String,
    /// How it is found on the piece.
    pub found: String,
    /// Where it stands on the template.
    pub at: Point2<Flat>,
    /// How far that is from its own place about the target, so that flat paper lands best.
    pub eased: Vector2<Flat>,
    /// Where the drawing's own stencil has it, about the same feature.
    pub on_drawing: Point2<Flat>,
    /// 95 % of cases lie within this of the cross.
    pub within: Length,
    /// Where the mark could be, about the target.
    pub could_be: Cover,
    /// Nothing was read to it on this casting.
    pub unread: bool,
    /// It can't be found at the casting's stage: why, in words.
    pub gone: Option<String>,
    /// It is a stop: it touches an edge and stands on no mark.
    pub touches: bool,
}

/// A template worked out for one feature on one piece.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// What it is of.
    pub of: SheetOf,
    /// The piece.
    pub piece: PieceId,
    /// Where the feature goes on this casting.
    pub placed: Placed,
    /// The face of this casting.
    pub surface: Surface,
    /// How the template is laid.
    pub laying: Laying,
    /// What is done with the sheet before it is laid, as a whole sentence; often nothing.
    pub before: String,
    /// The first line of the sheet: that, and how it is laid.
    pub laying_words: String,
    /// What it leaves.
    pub budget: Budget,
    /// The radius asked for.
    pub allowed: Length,
    /// The register crosses.
    pub crosses: Vec<CrossMiss>,
    /// Wedges to cut out so that flat paper lies.
    pub darts: Vec<Dart>,
    /// How thick the sheet is that is laid.
    pub thickness: Length,
    /// What a flat sheet leaves, in words that follow what is laid.
    pub leaves: String,
    /// The paint edge, on the paper.
    pub paint_edge: Outline<Flat>,
    /// What is cut, on the paper; nothing where a marker wants no opening.
    pub cut: Option<Outline<Flat>>,
    /// The plug and its ticks, where the outline is sawn out of the skin and the plug kept.
    pub hatch: Option<Hatch>,
    /// The holes drilled by it; none on a stencil.
    pub holes: Vec<HolePlace>,
    /// The marker and its allowance.
    pub allowance: Allowance,
    /// The allowance used, outward positive.
    pub offset: Length,
    /// Sizes of the outline in words.
    pub size_words: String,
    /// Where the drawing's own stencil would land: greatest shift of the outline, and of its middle.
    pub nominal_lands: (Vector2<Flat>, Vector2<Flat>),
    /// The sentence for it.
    pub instead: String,
    /// What was not as it should be, or is worth knowing.
    pub warnings: Vec<String>,
    /// The readings of this casting, adjusted.
    pub marks: Marks,
    /// What any laying of it is judged from.
    pub basis: LayBasis,
}

fn marker_of(marker: Option<Marker>) -> MarkerKind {
    match marker {
        Some(Marker::Pounce) => MarkerKind::Pounce,
        Some(Marker::FinePen) => MarkerKind::FinePen,
        Some(Marker::Knife) => MarkerKind::Knife,
        Some(Marker::SoftPencil) | None => MarkerKind::SoftPencil,
    }
}

/// The marks of this piece's casting.
fn measured(
    source: &Source<'_>,
    design: &Design<'_>,
    piece: &PieceId,
    painted: Option<(&FeatureId, &[Reading])>,
) -> Result<Marks, PrepareError> {
    let job = source.job;
    let face_id = design
        .edit
        .face
        .as_ref()
        .ok_or_else(|| missing("the face", &design.name, "say what it lies on"))?;
    let part = job.faces.get(face_id).and_then(|f| f.part.clone());
    let part_id =
        part.ok_or_else(|| missing("the part", &design.name, "say which casting it is on"))?;
    let number = job
        .pieces
        .get(piece)
        .and_then(|p| p.number)
        .map_or_else(|| piece.to_string(), |n| n.to_string());
    let casting = job
        .casting_of(piece, &part_id)
        .ok_or_else(|| PrepareError::NoCasting {
            piece: number,
            part: job
                .parts
                .get(&part_id)
                .and_then(|p| p.name.clone())
                .unwrap_or_else(|| part_id.to_string()),
        })?;
    let readings = super::network::readings_on(job, face_id, casting);
    let read = |m: &MarkId| {
        let point = PointRef::Mark(m.clone());
        readings
            .iter()
            .any(|r| r.says.speaks_of().contains(&point.entity()))
    };
    let spec = design.edit.rule.as_ref();
    let needed = |m: &MarkId| spec.is_some_and(|s| s.marks().contains(&m));
    if !design.names.marks.iter().any(read) {
        let letters: Vec<String> = design
            .names
            .marks
            .iter()
            .filter(|m| needed(m))
            .map(|m| name_of(job, &PointRef::Mark(m.clone())))
            .collect();
        return Err(PrepareError::NotMeasured {
            casting: casting_words(job, casting),
            list: letters.join(" to "),
        });
    }
    let (surface, sizes) =
        casting_face(&design.pattern, design.shrinkage).map_err(|why| PrepareError::Surface {
            feature: design.name.clone(),
            why,
        })?;
    let factor = 1.0 - design.shrinkage / 1000.0;
    // A scan shrinks about the middle of its own chart.
    let middle = match surface {
        Surface::Scan(_) => Point2::ORIGIN,
        _ => design.on_pattern,
    };
    let mut starts: Vec<_> = design
        .names
        .marks
        .iter()
        .zip(&design.nominal.layout.marks)
        .filter(|(m, _)| read(m) || needed(m))
        .map(|(m, at)| (PointRef::Mark(m.clone()), middle + (*at - middle) * factor))
        .collect();
    add_tied_crosses(job, face_id, casting, &readings, &mut starts)?;
    adjusted(&Wanted {
        job,
        face: face_id,
        casting,
        surface,
        sizes,
        starts,
        spread: Some(MARK_SPREAD),
        painted: painted.map(|(feature, readings)| Painted {
            feature,
            start: middle + (design.nominal.centre - middle) * factor,
            readings,
        }),
    })
}

/// A design applied to the marks of one casting.
pub(super) struct Standing {
    pub(super) marks: Marks,
    /// How many of the marks are the design's own; the rest carry others over.
    pub(super) kept: usize,
    pub(super) ids: Vec<MarkId>,
    pub(super) layout: Layout,
    pub(super) nominal: Nominal,
    pub(super) nominal_covariance: DMatrix<f64>,
    pub(super) covariance: DMatrix<f64>,
    pub(super) placed: Placed,
}

/// Where a design puts its feature on the casting of a piece.
pub(super) fn standing(
    source: &Source<'_>,
    design: &Design<'_>,
    piece: &PieceId,
) -> Result<Standing, PrepareError> {
    standing_with(source, design, piece, None)
}

/// The same, with the painted middle of a feature as the last of the marks where distances were
/// read to it: it carries nothing, and is seen from the target like any mark.
pub(super) fn standing_with(
    source: &Source<'_>,
    design: &Design<'_>,
    piece: &PieceId,
    painted: Option<(&FeatureId, &[Reading])>,
) -> Result<Standing, PrepareError> {
    let name = &design.name;
    let marks = measured(source, design, piece, painted)?;
    // The design's marks that this casting has too, in one order for both.
    let kept: Vec<usize> = (0..design.names.marks.len())
        .filter(|&k| {
            marks
                .index(&PointRef::Mark(design.names.marks[k].clone()))
                .is_some()
        })
        .collect();
    // After them the crosses that carry others over: they are on no drawing.
    let ids: Vec<MarkId> = kept
        .iter()
        .map(|&k| design.names.marks[k].clone())
        .chain(carriers(&marks, &design.names.marks))
        .collect();
    let order: Vec<usize> = ids
        .iter()
        .filter_map(|m| marks.index(&PointRef::Mark(m.clone())))
        .chain(painted.and_then(|(f, _)| marks.index(&PointRef::Feature(f.clone()))))
        .collect();
    let layout = Layout {
        surface: marks.adjusted.surface.clone(),
        marks: order
            .iter()
            .filter_map(|&k| marks.adjusted.points.get(k).map(|p| p.at))
            .collect(),
    };
    let extra = layout.marks.get(kept.len()..).unwrap_or_default();
    let nominal = restrict(design, &kept, extra);
    let nominal_covariance = restrict_covariance(design, &kept, extra.len());
    let covariance = marks.covariance(&order);
    let bad_place = |why: PlaceError| PrepareError::Place {
        feature: name.clone(),
        why,
    };
    let placed = place(&nominal, &layout).map_err(bad_place)?;
    check_side(&placed, &covariance).map_err(bad_place)?;
    Ok(Standing {
        kept: kept.len(),
        marks,
        ids,
        layout,
        nominal,
        nominal_covariance,
        covariance,
        placed,
    })
}

/// Works out what a sheet of any kind carries for one piece.
///
/// # Errors
/// [`PrepareError`]: what is missing or contradicts, where, and what to do.
pub fn prepare_sheet(
    source: &Source<'_>,
    of: &SheetOf,
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    match of {
        SheetOf::Feature(feature) | SheetOf::Shell(feature) => {
            let design = design(source, feature, source.job.number_of(piece))?;
            prepare_of(source, of.clone(), design, None, piece)
        }
        SheetOf::Pair(pair) => {
            let two = both(source, pair, source.job.number_of(piece))?;
            prepare_of(source, of.clone(), two.design, Some(two.drawn), piece)
        }
        SheetOf::Fixing(fixing) => prepare_drill(source, fixing, piece),
        SheetOf::Jig(fixing) => prepare_jig(source, fixing, piece),
        SheetOf::Plate(fixing) => prepare_plate(source, fixing, piece),
    }
}

/// Works out the template of one feature for one piece.
///
/// # Errors
/// [`PrepareError`]: what is missing or contradicts, where, and what to do.
pub fn prepare(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    prepare_sheet(source, &SheetOf::from(feature), piece)
}

/// A stencil of a feature or of both of a pair, or what a shell is marked by. An outline that is not
/// the feature's own lies on the surface already.
fn prepare_of(
    source: &Source<'_>,
    of: SheetOf,
    design: Design<'_>,
    laid: Option<Drawn>,
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    let job = source.job;
    let name = design.name.clone();
    let Standing {
        marks,
        kept,
        ids,
        layout,
        nominal,
        nominal_covariance,
        covariance,
        placed,
    } = standing(source, &design, piece)?;

    let on_surface = |why| PrepareError::Surface {
        feature: name.clone(),
        why,
    };
    let bare = Development::new(&layout.surface, placed.pose.centre, placed.pose.up)
        .map_err(on_surface)?;
    let given = design.edit.thickness.filter(|t| t.mm() > 0.0);
    let thickness = given.unwrap_or(LAID[0].thickness);
    let skin = is_shell(&of).then(|| skin_of(&design.edit));
    // Paper on a skin has its middle a whole skin further out than on the face.
    let lifted = skin.map_or(thickness, |skin| LAID[0].thickness + skin * 2.0);
    let sheet =
        Development::with_thickness(&layout.surface, placed.pose.centre, placed.pose.up, lifted)
            .map_err(on_surface)?;

    let Drawn {
        outline,
        mut notes,
        size,
    } = match laid {
        Some(laid) => laid,
        None => outline_of(source, &name, &design.edit)
            .ok_or_else(|| missing("the outline", &name, "say what shape it is"))??,
    };
    let lies_on = (&layout.surface, &placed.pose);
    let (outline, words) = as_chosen(&design, outline, lies_on, placed.scale)?;
    let size = size + &words;
    let kind = marker_of(design.edit.marker);
    let allowance = allowance_of(kind);
    let given = design.edit.allowance.unwrap_or(allowance.offset);
    let offset = match (kind, design.edit.drawn) {
        (MarkerKind::Pounce, _) => given.abs(),
        (_, Some(DrawnSide::Outside)) => -given,
        _ => given,
    };
    notes.extend(super::scans::smoothing_words(&layout.surface));
    let mut cut = None;
    if !matches!(kind, MarkerKind::Pounce) || offset.mm() != 0.0 {
        let result = outline
            .offset(offset)
            .map_err(|e| PrepareError::offset(&name, &e))?;
        if !result.lost.is_empty() {
            notes.push(format!(
                "the {} allowance of {} mm closes {} narrow place{} of the outline: look at the paint edge there",
                allowance.name,
                super::words::mm(given),
                result.lost.len(),
                if result.lost.len() == 1 { "" } else { "s" }
            ));
        }
        cut = Some(if offset < Length::ZERO || kind == MarkerKind::Pounce {
            result.outline
        } else {
            held(result.outline, &design.edit, kind, &mut notes)
        });
    }

    let ball_radius = layout.surface.ball_radius_mm(placed.pose.centre);
    let samples = outline.samples(LOOK_EVERY);
    let unread: Vec<bool> = ids
        .iter()
        .map(|m| marks.unread.contains(&PointRef::Mark(m.clone())))
        .collect();
    let gone = gone_on(job, design.edit.face.as_ref(), piece, &ids);
    let is_gone: Vec<bool> = gone.iter().map(Option::is_some).collect();
    let registers: Vec<usize> = (0..ids.len())
        .filter(|&k| !unread[k] && !is_gone[k])
        .collect();
    enough_to_lay_on(job, &name, &ids, &gone, registers.len())?;
    let wanted = pinned(design.edit.laying.as_ref(), &ids, &is_gone);
    let choices = wanted.map_or_else(
        || layings_for(nominal.rule.line(), &registers, &is_gone),
        |l| vec![l],
    );
    let allowed = design
        .edit
        .tolerance
        .filter(|t| t.mm() > 0.0)
        .unwrap_or(USUAL_TOLERANCE);
    // The arms of a shell's sheet lie straight: its crosses need no easing.
    let on_paper: &[usize] = if skin.is_some() { &[] } else { &registers };
    let mut lies = lies(&bare, &samples, on_paper, &layout, allowed).map_err(on_surface)?;
    let basis = LayBasis {
        outline: samples,
        flattening: lies.flattening,
        casting: covariance,
        drawing: nominal_covariance,
        shares: Shares {
            marking: skin.map_or(allowance.scatter, |_| scatter(allowance.scatter)),
            ..Shares::default()
        },
        ball_radius_mm: ball_radius,
        choices,
    };
    let (laying, slopes, budget) = best_laying(&basis, &placed, &name)?;

    let letters: Vec<String> = ids
        .iter()
        .map(|m| name_of(job, &PointRef::Mark(m.clone())))
        .collect();
    let on_drawing = seen_from(&nominal).map_err(|why| PrepareError::Place {
        feature: name.clone(),
        why,
    })?;
    let seen = layout
        .marks
        .iter()
        .map(|&m| sheet.flat(layout.surface.nearest(m, placed.pose.centre)))
        .collect::<Result<Vec<_>, _>>()
        .map_err(on_surface)?;
    if let Some(skin) = skin {
        let arms: Vec<_> = registers
            .iter()
            .filter_map(|k| seen.get(*k).copied())
            .collect();
        lies.darts = between_arms(&basis.outline, &arms);
        lies.first = first_words(skin, lies.darts.len());
    }
    let crosses = Crosses {
        ids: &ids,
        letters: &letters,
        seen: &seen,
        eased: &lies.eased,
        // Crosses that carry others over are on no drawing.
        on_drawing: on_drawing.get(..kept).unwrap_or(&on_drawing),
        unread: &unread,
        gone: &gone,
    }
    .missing(job, &placed, &slopes, &basis);

    let nominal_lands = drawing_lands(nominal.rule.line(), &on_drawing, &placed, &basis, &name)?;
    let (furthest, shift) = nominal_lands;
    let number = job
        .pieces
        .get(piece)
        .and_then(|p| p.number)
        .map_or_else(|| piece.to_string(), |n| n.to_string());
    let paint_edge = on_sheet(&outline, &bare, &sheet);
    let hatch = match &of {
        SheetOf::Feature(id) => {
            let edit = (id, design.edit.as_ref(), name.as_str());
            hatch(job, edit, piece, &outline, &paint_edge)?
        }
        _ => None,
    };
    let called = hatch.as_ref().map_or(kind_of(&of), |_| CUT_OUT);
    let instead = instead_words(called, &number, (furthest, shift), budget.worst);

    let mut warnings = warnings_of(job, &marks, &letters, &unread);
    warnings.extend(
        gone.iter()
            .flatten()
            .map(|why| format!("{why}: no cross for it")),
    );
    warnings.extend(too_wide(&budget, allowed));
    warnings.append(&mut notes);
    warnings.extend(hatch.iter().flat_map(|h| h.warnings.iter().cloned()));
    warnings.extend(lies.warnings);

    Ok(Prepared {
        of,
        piece: piece.clone(),
        holes: Vec::new(),
        laying_words: format!("{}{}", lies.first, laying_words(&laying, &letters)),
        before: lies.first,
        darts: lies.darts,
        thickness,
        leaves: lies.leaves,
        paint_edge,
        hatch,
        cut: cut.as_ref().map(|o| on_sheet(o, &bare, &sheet)),
        placed,
        surface: layout.surface,
        laying,
        budget,
        allowed,
        crosses,
        allowance,
        offset,
        size_words: size,
        nominal_lands,
        instead,
        warnings,
        marks,
        basis,
    })
}

/// A third mark too near the line can't say which side is up (design/11: under 3σ).
fn check_side(placed: &Placed, covariance: &DMatrix<f64>) -> Result<(), PlaceError> {
    let Some((offset, row)) = &placed.side else {
        return Ok(());
    };
    let mut variance = 0.0;
    for (i, a) in row.iter().enumerate() {
        for (j, b) in row.iter().enumerate() {
            variance += a * covariance[(i, j)] * b;
        }
    }
    let within_mm = 3.0 * libm::sqrt(variance.max(0.0));
    if offset.abs() < within_mm {
        Err(PlaceError::NoSide { within_mm })
    } else {
        Ok(())
    }
}
