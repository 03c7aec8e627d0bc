//! How the flat sheet of a template lies on its face: where its crosses are drawn, its darts, and
//! what is to be said of both.

use super::words::{direction_words, tenth};
use crate::frames::{Flat, Point2, Vector2};
use crate::outline::{FLATTENING, Outline};
use crate::place::Layout;
use crate::surface::{Dart, DartRoom, Development, Lie, SurfaceError};
use crate::units::{Angle, Length};
use nalgebra::Matrix2;

/// The share of the radius asked for that flat paper may take before darts are cut: a quarter, as
/// for the printer.
pub(super) const SHARE: f64 = 0.25;

/// Paper left between a dart and the outline: a bridge that survives taping (common practice, no source).
const BRIDGE: Length = Length::from_mm(5.0);

/// Paper left round a cross: its arms and a little.
const ABOUT_CROSS: Length = Length::from_mm(12.0);

/// Less than this nobody lays paper to, and nothing is said of it, mm.
const WORTH_SAYING_MM: f64 = 0.1;

/// Spacing at which an outline is looked at.
const LOOK_EVERY: Length = Length::from_mm(2.0);

/// What an outline may be off by for staying made of its own curves, mm: a fifth of the thinnest line.
const STRAIGHT_ENOUGH_MM: f64 = 0.02;

/// Crosses off by more than this are spoken of, mm.
const CROSSES_WORTH_SAYING_MM: f64 = 0.75;

/// How a sheet lies.
pub(super) struct Lies {
    /// How far each outline point lands from its place.
    pub(super) flattening: Vec<Vector2<Flat>>,
    /// How far each mark's cross is drawn from where the polar map has it.
    pub(super) eased: Vec<Vector2<Flat>>,
    /// The darts.
    pub(super) darts: Vec<Dart>,
    /// What is done with them, before the sheet is laid.
    pub(super) first: String,
    /// What flat paper leaves, for the line that says what is laid.
    pub(super) leaves: String,
    /// What is to be warned of.
    pub(super) warnings: Vec<String>,
}

/// Works it out for the crosses that carry the sheet.
///
/// # Errors
/// A point off the face.
pub(super) fn lies(
    bare: &Development,
    samples: &[Point2<Flat>],
    registers: &[usize],
    layout: &Layout,
    allowed: Length,
) -> Result<Lies, SurfaceError> {
    let held: Vec<(usize, _)> = registers
        .iter()
        .filter_map(|&k| {
            let at = *layout.marks.get(k)?;
            Some((k, layout.surface.nearest(at, bare.centre())))
        })
        .collect();
    let marks: Vec<_> = held.iter().map(|h| h.1).collect();
    let room = dart_room(allowed);
    let lie = bare.lie(samples, &marks, Some(&room))?;
    let mut eased = vec![Vector2::ZERO; layout.marks.len()];
    for ((k, at), cross) in held.iter().zip(&lie.crosses) {
        if let Some(slot) = eased.get_mut(*k) {
            *slot = *cross - bare.flat(*at)?;
        }
    }
    Ok(Lies {
        first: first_words(&lie.darts),
        leaves: leaves_words(&lie),
        warnings: warnings(&lie, allowed),
        flattening: lie.errors,
        eased,
        darts: lie.darts,
    })
}

/// What darts keep clear of, and what is asked of the sheet they are cut in.
pub(super) const fn dart_room(allowed: Length) -> DartRoom {
    DartRoom {
        share: Length::from_mm(allowed.mm() * SHARE),
        bridge: BRIDGE,
        about_cross: ABOUT_CROSS,
    }
}

fn first_words(darts: &[Dart]) -> String {
    let slit = |d: &Dart| d.angle < Angle::ZERO;
    let (slits, cut) = (
        darts.iter().filter(|d| slit(d)).count(),
        darts.iter().filter(|d| !slit(d)).count(),
    );
    let mut words = String::new();
    match cut {
        0 => {}
        1 => {
            words.push_str("Cut out the dart with its hole, close the gap edge to edge, tape it. ")
        }
        n => words.push_str(&format!(
            "Cut out the {n} darts with their holes, close each gap edge to edge, tape it. "
        )),
    }
    match slits {
        0 => {}
        1 => words.push_str("Cut along the slit to its hole: it opens as the sheet is laid. "),
        n => words.push_str(&format!(
            "Cut along the {n} slits to their holes: they open as the sheet is laid. "
        )),
    }
    words
}

fn leaves_words(lie: &Lie) -> String {
    if lie.worst.mm() < WORTH_SAYING_MM {
        return String::new();
    }
    let place = lie
        .worst_at
        .map_or("", |p| direction_words(p.from_origin()));
    format!(
        "; round as the face is, flat paper lands up to {} mm off, most {place}, {} on the whole",
        tenth(lie.worst),
        tenth(lie.rms)
    )
}

fn warnings(lie: &Lie, allowed: Length) -> Vec<String> {
    let mut all = Vec::new();
    let too_round = lie.out_by().mm() > allowed.mm() / 2.0;
    if too_round {
        all.push(format!(
            "this face is too round here for one sheet of flat paper, darts or not: the outline lands up to {} mm off, the crosses up to {}. Marks nearer to it or a smaller opening would help",
            tenth(lie.worst),
            tenth(lie.crosses_off)
        ));
    } else if lie.crosses_off.mm() > CROSSES_WORTH_SAYING_MM {
        all.push(format!(
            "round as the face is, the crosses can't all lie on their marks: let them be off alike, up to {} mm",
            tenth(lie.crosses_off)
        ));
    }
    all
}

/// An outline as it is drawn on a sheet of a thickness.
pub(super) fn on_sheet(
    outline: &Outline<Flat>,
    bare: &Development,
    sheet: &Development,
) -> Outline<Flat> {
    // A sheet of thickness t is longer than a face of radius R by t/2R. Carried over in each direction
    // at the centre that is exact for flat, cylinder and dome; elsewhere where it comes out the same.
    let (Ok(flat_from_face), Ok(face_from_flat)) = (
        sheet.flat_from_face(bare.centre()),
        bare.face_from_flat(Point2::ORIGIN),
    ) else {
        return outline.snapped();
    };
    let m = flat_from_face.after(face_from_flat).matrix();
    if (m - Matrix2::identity()).abs().max() < 1e-9 {
        return outline.snapped();
    }
    let straight = |p: Point2<Flat>| {
        Point2::<Flat>::from_mm(
            m.m11 * p.x_mm() + m.m12 * p.y_mm(),
            m.m21 * p.x_mm() + m.m22 * p.y_mm(),
        )
    };
    let exact = |p: Point2<Flat>| {
        let there = bare.face(p).and_then(|at| sheet.flat(at));
        there.unwrap_or_else(|_| straight(p))
    };
    let straight_enough = outline
        .samples(LOOK_EVERY)
        .iter()
        .all(|&p| (exact(p) - straight(p)).norm_mm() <= STRAIGHT_ENOUGH_MM);
    if straight_enough {
        return outline.mapped_straight(straight).snapped();
    }
    outline
        .mapped_by_points(exact, FLATTENING * 0.5, LOOK_EVERY)
        .snapped()
}
