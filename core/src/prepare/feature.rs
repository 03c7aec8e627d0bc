//! One feature on one piece: rule, place, laying, budget, outline.

use super::Source;
use super::crosses::Crosses;
use super::design::{Design, design, missing};
use super::drawn_by::drawn_by;
use super::edges::{self, laid_on_edges, pointing};
use super::error::PrepareError;
use super::fallen::Fallen;
use super::form::form_leaves;
use super::gores::{Gores, Round, gores};
use super::hatch::{Hatch, hatch};
use super::holes::{HolePlace, prepare_drill, prepare_jig, prepare_plate};
use super::in_line;
use super::islands::{bend_words, closed_words, eaten_words, held};
use super::layings::{
    LayBasis, best_laying, drawing_lands, layings_for, pinned, too_wide, unprintable, warnings_of,
};
use super::level::as_chosen;
use super::lying::{lies, on_sheet};
use super::network::Marks;
use super::open_lines;
use super::outline::{Drawn, marker_of, outline_of};
use super::pair_sheet::both;
use super::patches::{Division, Holes, Patch, Whole, divide, holes};
use super::registers::{Registers, on_drawing, seen_on};
use super::shell::{between_arms, first_words, is_shell, scatter, skin_of};
use super::standing::{Standing, standing};
use super::words::{CUT_OUT, instead_words, kind_of, laying_words};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{DrawnSide, FeatureId, MarkId, OutlineSpec, PieceId, SheetOf};
use crate::outline::Outline;
use crate::place::Placed;
use crate::sheet::RegisterEdge;
use crate::surface::{Dart, Development, Surface};
use crate::template::{Allowance, Budget, Cover, LAID, Laying, MarkerKind, Shares, allowance_of};
use crate::units::{Angle, Length};

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
    /// Lines that are laid along edges of the piece, each with its words.
    pub edges: Vec<RegisterEdge>,
    /// Wedges to cut out so that flat paper lies.
    pub darts: Vec<Dart>,
    /// Its patches, where it is in patches; what else stands here is of the whole.
    pub patches: Vec<Patch>,
    /// As gores alike, where it is; what else stands here is of the whole.
    pub gores: Option<Gores>,
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

/// Works out what a sheet of any kind carries for one piece.
///
/// # Errors
/// [`PrepareError`]: what is missing or contradicts, where, and what to do.
pub fn prepare_sheet(
    source: &Source<'_>,
    of: &SheetOf,
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    // Nothing else is in a quick template, nor in the module that makes it.
    if cfg!(not(feature = "every-kind")) && !matches!(of, SheetOf::Feature(_)) {
        return Err(PrepareError::NotSetUp {
            what: "this sheet",
            of: "a quick template".to_owned(),
            then: "it is made by the part that is loaded later",
        });
    }
    match of {
        SheetOf::Feature(feature)
        | SheetOf::Shell(feature)
        | SheetOf::Patches(feature)
        | SheetOf::Gores(feature)
        | SheetOf::Rods(feature) => {
            let design = design(source, feature, source.job.number_of(piece))?;
            prepare_of(source, of.clone(), design, (None, None), piece)
        }
        SheetOf::Pair(pair) => {
            let two = both(source, pair, source.job.number_of(piece))?;
            let laid = Some(two.drawn);
            prepare_of(source, of.clone(), two.design, (laid, None), piece)
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

/// A feature in patches on one piece, divided as it is on another.
///
/// # Errors
/// [`PrepareError`], also where it can't be divided so here.
pub(super) fn prepare_divided(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
    division: &Division,
) -> Result<Prepared, PrepareError> {
    let design = design(source, feature, source.job.number_of(piece))?;
    let of = SheetOf::Patches(feature.clone());
    prepare_of(source, of, design, (None, Some(division)), piece)
}

/// A stencil of a feature or of both of a pair, or what a shell is marked by. An outline that is not
/// the feature's own lies on the surface already.
fn prepare_of(
    source: &Source<'_>,
    of: SheetOf,
    design: Design<'_>,
    (laid, alike): (Option<Drawn>, Option<&Division>),
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    let job = source.job;
    let name = design.name.clone();
    let standing = standing(source, &design, piece)?;
    let registers = Registers::of(job, design.edit.face.as_ref(), piece, &standing);
    let Standing {
        marks,
        kept,
        ids,
        layout,
        nominal,
        nominal_covariance,
        covariance,
        placed,
        level,
        odd_on_pattern,
    } = standing;

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
    let stands = |m: &MarkId| {
        let k = ids.iter().position(|id| id == m)?;
        layout.marks.get(k).copied()
    };
    let on = (&layout.surface, &placed.pose);
    let straight = outline.clone();
    let (outline, words) = as_chosen(&design, outline, on, placed.scale, stands)?;
    let size = words.map_or_else(|| size.clone(), |words| format!("{size}, {words}"));
    let kind = marker_of(design.edit.marker);
    let allowance = allowance_of(kind);
    let given = design.edit.allowance.unwrap_or(allowance.offset);
    let letters = matches!(design.edit.outline, Some(OutlineSpec::Strokes { .. }));
    let (closed, open) = open_lines::parted(&outline);
    let single = letters || closed.contours().is_empty();
    let offset = match (kind, design.edit.drawn) {
        // A line has no inside that an opening or a patch would be drawn to.
        _ if single => Length::ZERO,
        (MarkerKind::Pounce, _) => given.abs(),
        (_, Some(DrawnSide::Outside)) => -given,
        _ => given,
    };
    notes.extend(super::scans::smoothing_words(&layout.surface));
    notes.extend(
        design
            .left_out
            .iter()
            .map(|why| format!("{why}. The sheet is made without it")),
    );
    let (mut cut, mut opening) = (None, None);
    if !letters {
        open_lines::words(&open, !single, &mut notes);
    }
    if letters {
        notes.push(
            "these letters are single lines: they are drawn, routed or pricked through, and nothing falls out".into(),
        );
    } else if !single && (!matches!(kind, MarkerKind::Pounce) || offset.mm() != 0.0) {
        let result = job
            .asked
            .alike((closed.clone(), offset), |(outline, offset)| {
                outline.offset(*offset)
            })
            .map_err(|e| PrepareError::offset(&name, &e))?;
        if result.outline.contours().is_empty() {
            return Err(PrepareError::Outline {
                feature: name,
                why: eaten_words(allowance.name, given.abs()),
            });
        }
        if !result.lost.is_empty() {
            let words = closed_words(kind, allowance.name, given.abs(), result.lost.len());
            notes.push(words);
        }
        // Between the joins of its patches a ring is open at both ends: no bridges.
        let in_parts = matches!(of, SheetOf::Patches(_) | SheetOf::Gores(_));
        let open = in_parts && holes(&outline) == Holes::RoundTheMiddle;
        cut = Some(
            if open || offset < Length::ZERO || kind == MarkerKind::Pounce {
                result.outline
            } else {
                let hangs = held(&job.asked, result.outline, &design.edit, kind, &mut notes);
                opening = (!in_parts).then(|| hangs.clone());
                hangs
            },
        );
    }

    notes.extend(cut.as_ref().and_then(|cut| bend_words(cut, thickness)));

    let ball_radius = layout.surface.ball_radius_mm(placed.pose.centre);
    let samples = outline.samples(LOOK_EVERY);
    registers.enough(job, &name, &ids)?;
    let is_gone = registers.is_gone();
    let wanted = pinned(design.edit.laying.as_ref(), &ids, &is_gone);
    let wanted = wanted.or_else(|| laid_on_edges(&nominal.rule));
    let on_bare = |m: &Point2<Face>| {
        let near = layout.surface.nearest(*m, placed.pose.centre);
        bare.flat(near).ok()
    };
    let on_sheets: Vec<_> = layout.marks.iter().map(on_bare).collect();
    let fallen = Fallen::of(opening.as_ref(), &on_sheets, &registers.on);
    let by_choice = wanted.is_some();
    let choices = wanted.map_or_else(
        || {
            let (on, without) = (fallen.laid_on(&registers.on), fallen.without(&is_gone));
            layings_for(nominal.rule.line(), &on, &without)
        },
        |l| vec![l],
    );
    let allowed = design
        .edit
        .tolerance
        .filter(|t| t.mm() > 0.0)
        .unwrap_or(USUAL_TOLERANCE);
    // The arms of a shell's sheet lie straight: its crosses need no easing. Each patch has its own.
    // A quick template is one sheet: the module that makes it does without the rest.
    let whole = cfg!(feature = "every-kind");
    let divided = whole && matches!(of, SheetOf::Patches(_));
    let gores_asked = whole && matches!(of, SheetOf::Gores(_));
    let one_sheet = skin.is_none() && !divided && !gores_asked;
    let on_paper: &[usize] = if one_sheet { &registers.on } else { &[] };
    let mut lies = lies(&bare, &samples, on_paper, &layout, allowed).map_err(on_surface)?;
    let form = form_leaves(&layout.surface, &placed, &samples, &registers.on);
    let mut basis = LayBasis {
        drawn_by: drawn_by(
            &design,
            (&straight, &samples),
            (&nominal, &ids),
            (&layout, &placed),
        ),
        outline: samples,
        flattening: lies.flattening,
        casting: covariance,
        drawing: nominal_covariance,
        shares: Shares {
            marking: skin.map_or(allowance.scatter, |_| scatter(allowance.scatter)),
            turn: level.map_or(Angle::ZERO, |l| l.sd),
            pointing: pointing(&design),
            form,
            ..Shares::default()
        },
        ball_radius_mm: ball_radius,
        choices,
    };
    let (laying, slopes, mut budget) = best_laying(&basis, &placed, &name)?;

    notes.extend(fallen.words(&registers.on, &registers.letters, &of, by_choice));
    let on_drawing = on_drawing(&nominal, &name)?;
    let seen = seen_on(&sheet, &layout, &placed.pose).map_err(on_surface)?;
    if let Some(skin) = skin {
        let arms: Vec<_> = registers
            .on
            .iter()
            .filter_map(|k| seen.get(*k).copied())
            .collect();
        lies.darts = between_arms(&basis.outline, &arms);
        lies.first = first_words(skin, lies.darts.len());
    }
    let crosses = Crosses {
        ids: &ids,
        letters: &registers.letters,
        seen: &seen,
        eased: &lies.eased,
        // Crosses that carry others over are on no drawing.
        on_drawing: on_drawing.get(..kept).unwrap_or(&on_drawing),
        unread: &registers.unread,
        gone: &registers.gone,
    }
    .missing(job, &placed, &slopes, &basis);

    let mut patches = Vec::new();
    if divided {
        let whole = Whole {
            job,
            name: &name,
            bare: &bare,
            layout: &layout,
            placed: &placed,
            basis: &basis,
            line: nominal.rule.line(),
            outline: &outline,
            cut: cut.as_ref(),
            thickness,
            allowed,
            registers: &registers.on,
            ids: &ids,
            letters: &registers.letters,
            unread: &registers.unread,
            gone: &registers.gone,
        };
        let parts = divide(&whole, alike)?;
        basis.flattening = parts.flattening;
        let worst = parts.patches.iter().max_by_key(|p| p.budget.worst.to_um());
        budget = worst.map_or(budget, |p| p.budget.clone());
        (lies.leaves, lies.warnings, lies.first) = (parts.leaves, parts.warnings, parts.laying);
        patches = parts.patches;
    }
    let mut as_gores = None;
    if gores_asked {
        let set = gores(&Round {
            name: &name,
            edit: &design.edit,
            bare: &bare,
            sheet: &sheet,
            outline: &outline,
            cut: cut.as_ref(),
            looked: &basis.outline,
            marks: &placed.marks,
            registers: &registers.on,
            crosses: &crosses,
            allowed,
        })?;
        basis.flattening.clone_from(&set.flattening);
        budget = basis
            .leaves(&placed, &laying, &[])
            .map_or(budget, |(_, sum)| sum);
        (lies.leaves, lies.first) = (set.words.clone(), set.laying.clone());
        lies.warnings.clone_from(&set.warnings);
        as_gores = Some(set);
    }
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

    let mut warnings = warnings_of(job, &marks, odd_on_pattern.as_ref(), &registers);
    warnings.extend(unprintable([job.about.title.as_deref(), Some(&name)]));
    warnings.extend(registers.without("cross"));
    warnings.extend(too_wide(&budget, allowed));
    warnings.extend(level.map(|l| l.words()));
    warnings.append(&mut notes);
    warnings.extend(hatch.iter().flat_map(|h| h.warnings.iter().cloned()));
    warnings.extend(lies.warnings);

    let on_edges = (design.corner.as_ref())
        .filter(|_| Some(&laying) == laid_on_edges(&nominal.rule).as_ref())
        .map(|c| edges::words(job, c, &layout.surface));
    let half_way = |between: [&MarkId; 2]| {
        let [a, b] =
            between.map(|m| stands(m).map(|at| layout.surface.nearest(at, placed.pose.centre)));
        let (a, b) = a.zip(b)?;
        sheet.flat(a + (b - a) * 0.5).ok()
    };
    let (crosses, edges) = edges::apart(
        job,
        crosses,
        design.corner.as_ref(),
        &layout.surface,
        &half_way,
    );
    if edges.is_empty() && patches.is_empty() && as_gores.is_none() {
        let laid = crosses.iter().filter(|c| !c.unread && c.gone.is_none());
        let laid: Vec<_> = laid.map(|c| (c.letter.as_str(), c.at)).collect();
        warnings.extend(in_line::words(&laid, paint_edge.bounds()));
    }
    Ok(Prepared {
        of,
        piece: piece.clone(),
        holes: Vec::new(),
        edges,
        laying_words: if patches.is_empty() && as_gores.is_none() {
            format!(
                "{}{}",
                lies.first,
                on_edges.unwrap_or_else(|| laying_words(&laying, &registers.letters))
            )
        } else {
            lies.first.clone()
        },
        patches,
        gores: as_gores,
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
