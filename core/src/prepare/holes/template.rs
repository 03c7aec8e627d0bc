//! The drill template of a fixing: a flat sheet laid on this casting's marks, with its holes.

use super::cured::Cured;
use super::laid::{Laid, Spot, lay};
use super::stands::{BRACKET_WITHIN, Cannot, Stands, apart, as_meant, drill_of, stands};
use super::view::HoleView;
use crate::frames::{Flat, Point2, Vector2};
use crate::holes::chance::Method;
use crate::holes::fastener::Thread;
use crate::job::{FixingEdit, FixingId, HolePurpose, PieceId, SheetOf};
use crate::outline::Outline;
use crate::place::Placed;
use crate::prepare::Source;
use crate::prepare::crosses::Crosses;
use crate::prepare::design::missing;
use crate::prepare::error::PrepareError;
use crate::prepare::feature::Prepared;
use crate::prepare::kept_level::Levelled;
use crate::prepare::layings::{
    LayBasis, best_laying, drawing_lands, layings_for, too_wide, warnings_of,
};
use crate::prepare::lying::lies;
use crate::prepare::registers::{Registers, on_drawing, seen_on};
use crate::prepare::standing::Standing;
use crate::prepare::words::{instead_words, laying_words, mm, tenth};
use crate::surface::{Development, SurfaceError};
use crate::template::{Allowance, Budget, COVER_95, LAID, Laying, LayingError, Shares, TermKind};
use crate::units::{Angle, Length};

/// Points at which the edge of a hole is looked at.
const ROUND: u32 = 12;
/// Parts of an error under this are left out of a line.
const WORTH_SAYING_UM: i64 = 250;
/// The least that is asked of a bolt hole, where its clearance leaves less.
const LEAST_ASKED: Length = Length::from_mm(0.1);
/// The radius asked for where no bolt decides (design/02).
const USUAL: Length = Length::from_mm(3.0);

/// A hole on a template.
#[derive(Debug, Clone, PartialEq)]
pub struct HolePlace {
    /// Its number in its fixing, from 1.
    pub number: u32,
    /// Where it stands on the sheet.
    pub at: Point2<Flat>,
    /// The drill.
    pub drill: Length,
    /// Across the bush that guides it; nothing on a template of paper.
    pub bush: Option<Length>,
    /// How far the drill leans from square to the face.
    pub lean: Angle,
    /// Which way its free end leans, of unit length; nothing where it stands square by eye.
    pub leans: Option<Vector2<Flat>>,
    /// How it leans, in words.
    pub words: String,
    /// What the template leaves at it.
    pub budget: Budget,
}

impl HolePlace {
    /// *within 1.4 mm: measuring 1.1, drilling 0.8*.
    #[must_use]
    pub fn error_words(&self) -> String {
        let terms: Vec<String> = self
            .budget
            .terms
            .iter()
            .filter(|t| t.size.to_um() >= WORTH_SAYING_UM)
            .map(|t| format!("{} {}", t.kind.name(), tenth(t.size)))
            .collect();
        format!(
            "within {} mm ({})",
            tenth(self.budget.worst),
            terms.join(", ")
        )
    }
}

/// The radius asked for: what the clearance leaves beside the bracket's own holes, or less where
/// less is asked.
pub(super) fn asked(fixing: &FixingEdit, thread: Thread) -> Length {
    let by_bolt = by_bolt(fixing, thread);
    let own = fixing.tolerance.filter(|t| *t > Length::ZERO);
    own.filter(|t| *t < by_bolt).unwrap_or(by_bolt)
}

fn by_bolt(fixing: &FixingEdit, thread: Thread) -> Length {
    let bolt = fixing.purpose.unwrap_or(HolePurpose::Bolt) == HolePurpose::Bolt;
    match apart(fixing, thread) {
        Ok(apart) if bolt => {
            let left = apart - BRACKET_WITHIN;
            if left < LEAST_ASKED {
                LEAST_ASKED
            } else {
                left
            }
        }
        _ => USUAL,
    }
}

/// What punching through paper and drilling on the mark leaves: the same that the chance of entry
/// is reckoned with. A bound ±a counts a/√3 (JCGM 100:2008 4.3.7).
fn drilled_shares(method: Method) -> Shares {
    Shares {
        marking: Length::from_mm(method.within().mm() / libm::sqrt(3.0)),
        marked_by: TermKind::Drilling,
        ..Shares::default()
    }
}

/// The same with how well the bracket behind is known, at the hole where that is worst.
pub(super) fn with_the_bracket(
    shares: Shares,
    cured: Option<&Cured>,
    places: &[Vector2<Flat>],
) -> Shares {
    let known = cured.map_or(Length::ZERO, |c| c.within(places));
    Shares {
        marking: Length::from_mm(libm::hypot(shares.marking.mm(), known.mm() / COVER_95)),
        ..shares
    }
}

/// The same with how well a level told how far the bracket is turned on its line.
pub(super) fn with_the_level(shares: Shares, level: Option<Levelled>) -> Shares {
    Shares {
        turn: level.map_or(Angle::ZERO, |l| l.sd),
        ..shares
    }
}

/// How far two holes may be off each other, 95 of 100: what moves one of them alone, twice.
fn hole_to_hole(shares: &Shares) -> Length {
    Length::from_mm(COVER_95 * shares.marking.mm() * core::f64::consts::SQRT_2)
}

fn ring(about: Point2<Flat>, radius: Length) -> impl Iterator<Item = Point2<Flat>> {
    (0..ROUND).map(move |k| {
        let turn = core::f64::consts::TAU * f64::from(k) / f64::from(ROUND);
        let off = Vector2::from_mm(libm::cos(turn), libm::sin(turn)) * radius.mm();
        about + off
    })
}

/// What a laying leaves at each point alone.
pub(super) fn at_each(
    basis: &LayBasis,
    placed: &Placed,
    laying: &Laying,
) -> Result<Vec<Budget>, LayingError> {
    basis
        .outline
        .iter()
        .enumerate()
        .map(|(k, &p)| {
            let alone = LayBasis {
                outline: vec![p],
                flattening: basis.flattening.get(k).copied().into_iter().collect(),
                ..basis.clone()
            };
            alone.leaves(placed, laying, &[]).map(|(_, sum)| sum)
        })
        .collect()
}

/// What a template and a jig of a fixing both start from.
pub(super) struct Begun {
    pub(super) name: String,
    pub(super) drill: Length,
    pub(super) drill_for: String,
    pub(super) thread: Thread,
    pub(super) allowed: Length,
    /// The holes about the middle, in the bracket's own plane.
    pub(super) places: Vec<Vector2<Flat>>,
    pub(super) laid: Laid,
    pub(super) standing: Standing,
    pub(super) registers: Registers,
    /// The piece's number.
    pub(super) number: String,
    /// Where the bracket came to be, where that was read.
    pub(super) cured: Option<Cured>,
}

/// Which place of a bracket is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bracket {
    /// As on the drawing: it is not set yet.
    Meant,
    /// As it was read after cure, where it was.
    Now,
}

pub(super) fn begin(
    source: &Source<'_>,
    id: &FixingId,
    piece: &PieceId,
    bracket: Bracket,
) -> Result<Begun, PrepareError> {
    let job = source.job;
    let fixing = job
        .fixings
        .get(id)
        .ok_or_else(|| missing("the fixing", id.as_str(), "say what holds what"))?;
    let name = fixing.name.clone().unwrap_or_else(|| id.to_string());
    let stands = match bracket {
        Bracket::Meant => as_meant(source, &name, fixing, piece),
        Bracket::Now => stands(source, id, &name, fixing, piece),
    }
    .map_err(|why| why.of(&name))?;
    let laid = lay(job, fixing, piece, &stands).map_err(|why| Cannot::from(why).of(&name))?;
    let Stands {
        thread,
        places,
        standing,
        cured,
    } = stands;
    let (drill, drill_for) = drill_of(fixing, thread);
    let registers = Registers::of(job, fixing.face.as_ref(), piece, &standing);
    registers.enough(job, &name, &standing.ids)?;
    Ok(Begun {
        drill,
        drill_for,
        thread,
        cured,
        allowed: asked(fixing, thread),
        places,
        laid,
        registers,
        number: job
            .pieces
            .get(piece)
            .and_then(|p| p.number)
            .map_or_else(|| piece.to_string(), |n| n.to_string()),
        standing,
        name,
    })
}

/// Works out the drill template of a fixing for one piece.
///
/// # Errors
/// [`PrepareError`]: what is missing or contradicts, where, and what to do.
pub(in crate::prepare) fn prepare_drill(
    source: &Source<'_>,
    id: &FixingId,
    piece: &PieceId,
) -> Result<Prepared, PrepareError> {
    let job = source.job;
    let Begun {
        name,
        drill,
        drill_for,
        allowed,
        laid,
        standing,
        registers,
        number,
        places,
        cured,
        ..
    } = begin(source, id, piece, Bracket::Now)?;
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
    let on_surface = |why: SurfaceError| PrepareError::Surface {
        feature: name.clone(),
        why,
    };
    let pose = placed.pose;
    let bare = Development::new(&layout.surface, pose.centre, pose.up).map_err(on_surface)?;
    let thickness = LAID[0].thickness;
    let sheet = Development::with_thickness(&layout.surface, pose.centre, pose.up, thickness)
        .map_err(on_surface)?;
    let middles = flat_of(&bare, &laid.spots).map_err(on_surface)?;
    let mut looked: Vec<Point2<Flat>> =
        middles.iter().flat_map(|&m| ring(m, drill / 2.0)).collect();
    let rings = looked.len();
    looked.extend(&middles);

    let mut lies = lies(&bare, &looked, &registers.on, &layout, allowed).map_err(on_surface)?;
    let shares = drilled_shares(Method::Templated);
    let alone = hole_to_hole(&shares);
    let shares = with_the_level(shares, level);
    let shares = with_the_bracket(shares, cured.as_ref(), &places);
    let basis = LayBasis {
        outline: middles,
        flattening: lies.flattening.split_off(rings.min(lies.flattening.len())),
        drawn_by: Vec::new(),
        casting: covariance,
        drawing: nominal_covariance,
        shares,
        ball_radius_mm: layout.surface.ball_radius_mm(pose.centre),
        choices: layings_for(nominal.rule.line(), &registers.on, &registers.is_gone()),
    };
    let (laying, slopes, budget) = best_laying(&basis, &placed, &name)?;

    let on_drawing = on_drawing(&nominal, &name)?;
    let seen = seen_on(&sheet, &layout, &pose).map_err(on_surface)?;
    let crosses = Crosses {
        ids: &ids,
        letters: &registers.letters,
        seen: &seen,
        eased: &lies.eased,
        on_drawing: on_drawing.get(..kept).unwrap_or(&on_drawing),
        unread: &registers.unread,
        gone: &registers.gone,
    }
    .missing(job, &placed, &slopes, &basis);
    let nominal_lands = drawing_lands(nominal.rule.line(), &on_drawing, &placed, &basis, &name)?;
    let each = at_each(&basis, &placed, &laying).map_err(|why| PrepareError::Laying {
        feature: name.clone(),
        why,
    })?;
    let on_sheet = flat_of(&sheet, &laid.spots).map_err(on_surface)?;
    let holes = hole_places(&laid, &on_sheet, &each, drill);

    let mut warnings = warnings_of(job, &marks, odd_on_pattern.as_ref(), &registers);
    warnings.extend(level.map(Levelled::words));
    warnings.extend(registers.without("cross"));
    warnings.extend(too_wide(&budget, allowed));
    if holes.len() > 1 {
        warnings.push(format!(
            "hole to hole within {} mm: the rest moves all of them alike",
            tenth(alone)
        ));
    }
    warnings.extend(lies.warnings);
    let count = holes.len();
    Ok(Prepared {
        of: SheetOf::Fixing(id.clone()),
        piece: piece.clone(),
        laying_words: format!(
            "{}{}",
            lies.first,
            laying_words(&laying, &registers.letters)
        ),
        before: lies.first,
        instead: instead_words("drill template", &number, nominal_lands, budget.worst),
        placed,
        surface: layout.surface,
        laying,
        budget,
        allowed,
        crosses,
        edges: Vec::new(),
        darts: lies.darts,
        patches: Vec::new(),
        gores: None,
        thickness,
        leaves: lies.leaves,
        paint_edge: Outline::default(),
        hatch: None,
        cut: None,
        holes,
        allowance: Allowance {
            offset: Length::ZERO,
            scatter: shares.marking,
            name: "centre punch",
            mind: "punch every hole through the middle of its cross, lift the sheet off, then drill",
        },
        offset: Length::ZERO,
        size_words: format!(
            "{count} hole{}, drill {} mm: {drill_for}",
            if count == 1 { "" } else { "s" },
            mm(drill)
        ),
        nominal_lands,
        warnings,
        marks,
        basis,
    })
}

fn flat_of(sheet: &Development, spots: &[Spot]) -> Result<Vec<Point2<Flat>>, SurfaceError> {
    spots.iter().map(|s| sheet.flat(s.at)).collect()
}

fn hole_places(
    laid: &Laid,
    on_sheet: &[Point2<Flat>],
    each: &[Budget],
    drill: Length,
) -> Vec<HolePlace> {
    let all = laid.holes.iter().zip(&laid.spots).zip(on_sheet).zip(each);
    all.map(|(((hole, spot), &at), budget)| hole_place(hole, spot, at, budget, drill))
        .collect()
}

fn hole_place(
    hole: &HoleView,
    spot: &Spot,
    at: Point2<Flat>,
    budget: &Budget,
    drill: Length,
) -> HolePlace {
    HolePlace {
        number: hole.number,
        at,
        drill,
        bush: None,
        lean: hole.lean,
        leans: spot.leans,
        words: super::lean_words(hole),
        budget: budget.clone(),
    }
}
