//! Both of a pair on one template: placed together by their rule, their spacing held as designed.
//!
//! ```text
//!        A ┼            ┼ B
//!           ◜eye◝ ─┼─ ◜eye◝        one feature with two outlines, its middle half way between theirs
//! ```

use super::Source;
use super::design::{Design, design, missing};
use super::error::PrepareError;
use super::level::as_chosen;
use super::outline::{Drawn, outline_of};
use super::words::mm;
use crate::frames::{Face, Flat, Point2, Rigid2};
use crate::job::{FeatureEdit, PairId, Runs, SeenFrom};
use crate::outline::{FLATTENING, Outline};
use crate::place::{Pose, place};
use crate::surface::{Development, Shape, Surface, SurfaceError};
use crate::units::{Angle, Length};
use std::borrow::Cow;

/// Spacing of the points that are carried from one plane to another.
const STEP: Length = Length::from_mm(2.0);

/// What a pair's template carries.
pub(super) struct Both<'a> {
    /// The two as one feature.
    pub(super) design: Design<'a>,
    /// Their outlines about their common middle.
    pub(super) drawn: Drawn,
}

/// The two of a pair as one feature, as the issues that hold on a piece have them.
///
/// # Errors
/// [`PrepareError::Pair`] where they lie on two faces or follow different marks; all that either can
/// want by itself.
pub(super) fn both<'a>(
    source: &Source<'a>,
    pair: &PairId,
    piece: u32,
) -> Result<Both<'a>, PrepareError> {
    let edit = source
        .job
        .pairs
        .get(pair)
        .ok_or_else(|| missing("the pair", pair.as_str(), "choose one that is in the job"))?;
    let name = edit.name.clone().unwrap_or_else(|| "Pair".to_owned());
    let (Some(left), Some(right)) = (&edit.left, &edit.right) else {
        return Err(missing(
            "one of the two",
            &name,
            "say which two belong together",
        ));
    };
    let refused = |why: &str| PrepareError::Pair {
        pair: name.clone(),
        why: why.to_owned(),
    };
    let two = [design(source, left, piece)?, design(source, right, piece)?];
    let [one, other] = &two;
    if one.edit.face != other.edit.face {
        return Err(refused(
            "the two lie on two faces, and one sheet lies on one: each has a template of its own",
        ));
    }
    if one.nominal.rule != other.nominal.rule {
        return Err(refused(
            "the two follow different marks, so that on a casting they move apart: each has a template of its own. To have both on one, let them follow the same marks in the same way",
        ));
    }
    if one.level.is_some() != other.level.is_some() {
        return Err(refused(
            "one of the two is kept level and the other to its line, so that on a casting they turn apart: each has a template of its own. To have both on one, keep both level, or both to the line",
        ));
    }
    let off_face = |why: SurfaceError| PrepareError::Surface {
        feature: name.clone(),
        why,
    };
    let surface = &one.nominal.layout.surface;
    let between = |a: Point2<Face>, b: Point2<Face>| {
        let b = surface.nearest(b, a);
        a + (b - a) * 0.5
    };
    let mut nominal = one.nominal.clone();
    nominal.centre = between(one.nominal.centre, other.nominal.centre);
    nominal.turn = mean(one.nominal.turn, other.nominal.turn);
    let middle = pose(&nominal, &name)?;
    let about = Development::new(surface, middle.centre, middle.up).map_err(off_face)?;
    let mut outline = Outline::default();
    let (mut notes, mut sizes) = (Vec::new(), Vec::new());
    for each in &two {
        let here = pose(&each.nominal, &each.name)?;
        let drawn = outline_of(source, &each.name, &each.edit)
            .ok_or_else(|| missing("the outline", &each.name, "say what shape it is"))??;
        // On the surface of the pattern, about its own middle.
        let on = (&each.nominal.layout.surface, &here);
        let mark = |m: &_| each.on_its_pattern(m);
        let (own, _) = as_chosen(each, drawn.outline, on, 1.0, mark)?;
        outline.extend(carried(&own, surface, &here, &about).map_err(off_face)?);
        notes.extend(drawn.notes);
        sizes.push(drawn.size);
    }
    sizes.dedup();
    let apart = surface
        .over_surface(
            one.nominal.centre,
            surface.nearest(other.nominal.centre, one.nominal.centre),
            0,
        )
        .map_err(off_face)?;
    let size = format!(
        "both, {}, middles {} apart over the surface",
        sizes.join(" and "),
        mm(Length::from_mm(apart.mm))
    );
    // The covariance of a mean is at most the mean of the covariances, however the two hang together.
    let nominal_covariance = (&one.nominal_covariance + &other.nominal_covariance) * 0.5;
    let on_pattern = between(one.on_pattern, other.on_pattern);
    let tolerance = [one.edit.tolerance, other.edit.tolerance]
        .into_iter()
        .flatten()
        .filter(|t| t.mm() > 0.0)
        .min_by(|a, b| a.mm().total_cmp(&b.mm()));
    if one.edit.marker != other.edit.marker || one.edit.drawn != other.edit.drawn {
        notes.push(format!(
            "{} and {} are marked in different ways: this sheet has both as {} is",
            one.name, other.name, one.name
        ));
    }
    let [one, _] = two;
    let edit = FeatureEdit {
        name: Some(name.clone()),
        hand: None,
        tolerance,
        runs: Some(Runs::Straight),
        seen: Some(SeenFrom::Surface),
        mirrored: None,
        ..one.edit.into_owned()
    };
    Ok(Both {
        design: Design {
            edit: Cow::Owned(edit),
            name,
            nominal,
            on_pattern,
            nominal_covariance,
            ..one
        },
        drawn: Drawn {
            outline,
            notes,
            size,
        },
    })
}

fn pose(nominal: &crate::place::Nominal, name: &str) -> Result<Pose, PrepareError> {
    place(nominal, &nominal.layout)
        .map(|placed| placed.pose)
        .map_err(|why| PrepareError::Place {
            feature: name.to_owned(),
            why,
        })
}

/// The direction half way between two.
fn mean(a: Angle, b: Angle) -> Angle {
    let sin = libm::sin(a.rad()) + libm::sin(b.rad());
    let cos = libm::cos(a.rad()) + libm::cos(b.rad());
    if libm::hypot(sin, cos) < 1e-9 {
        return a;
    }
    Angle::from_rad(libm::atan2(sin, cos))
}

/// An outline about one place of a face carried into the plane about another.
fn carried(
    outline: &Outline<Flat>,
    surface: &Surface,
    from: &Pose,
    about: &Development,
) -> Result<Outline<Flat>, SurfaceError> {
    let own = Development::new(surface, from.centre, from.up)?;
    let there = |p: Point2<Flat>| about.flat(surface.nearest(own.face(p)?, about.centre()));
    if surface.is_developable() {
        // Two ways of unrolling the same face differ by a shift and a turn: curves stay curves.
        let (middle, up) = (there(Point2::ORIGIN)?, there(Point2::from_mm(0.0, 1.0))?);
        let turn = Angle::from_rad((up - middle).direction_rad() - core::f64::consts::FRAC_PI_2);
        return Ok(outline.placed(&Rigid2::<Flat, Flat>::new(turn, middle)));
    }
    for &p in &outline.samples(STEP) {
        there(p)?;
    }
    Ok(outline.mapped_by_points(|p| there(p).unwrap_or(p), FLATTENING * 0.5, STEP))
}
