//! An outline drawn as it is seen, carried onto the surface of the pattern.
//!
//! It is projected once, on the nominal surface; from there it is an outline like any other and
//! follows its rule. Its middle stays where the pattern's readings have it.

use super::design::Design;
use super::error::PrepareError;
use super::naming::name_of;
use super::words::mm;
use crate::frames::{Face, Flat, Part, Point2, Vector2, Vector3};
use crate::job::{Job, MarkId, PointRef, SeenFrom};
use crate::outline::{FLATTENING, Outline};
use crate::place::{Nominal, PlaceError, Pose, place};
use crate::surface::{Development, Seen, Shape, Sight, Surface, SurfaceError, TURNED_AWAY, UP};
use crate::units::Length;

/// Spacing of the points that are carried over.
const STEP: Length = Length::from_mm(2.0);

/// An outline on the surface, rolled out about its middle.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Projected {
    /// Whole; nothing where part of it is turned away too far.
    outline: Option<Outline<Flat>>,
    /// Its lines as far as they can be carried over.
    pub(super) shown: Vec<Vec<Point2<Flat>>>,
    /// Those turned away too far, as far as they are met at all.
    pub(super) away: Vec<Vec<Point2<Flat>>>,
    /// In words: *as seen straight on at mark A*.
    pub(super) words: String,
}

/// From where, in words that follow *as seen*; nothing where it is laid over the surface.
pub(super) fn seen_words(job: &Job, seen: &SeenFrom) -> Option<String> {
    let mark = |m: &MarkId| name_of(job, &PointRef::Mark(m.clone()));
    match seen {
        SeenFrom::Surface => None,
        SeenFrom::Middle => Some("straight on at its middle".into()),
        SeenFrom::Mark { mark: m } => Some(format!("straight on at mark {}", mark(m))),
        SeenFrom::Level { mark: m } => Some(format!(
            "on the level, straight in front of mark {}",
            mark(m)
        )),
        SeenFrom::Eye {
            mark: m,
            away,
            above,
        } => {
            let high = match above.mm.to_um() {
                0 => "as high as it".to_owned(),
                um if um < 0 => format!("{} mm below it", mm(-above.mm)),
                _ => format!("{} mm above it", mm(above.mm)),
            };
            Some(format!(
                "from {} mm in front of mark {}, eyes {high}",
                mm(away.mm),
                mark(m)
            ))
        }
        SeenFrom::Hides { nearer, hidden } => {
            let face = |m: &MarkId| job.marks.get(m).and_then(|m| m.face.as_ref());
            let apart = face(nearer) != face(hidden);
            // Letters begin anew on every face.
            let named = |m: &MarkId| {
                let on = face(m).and_then(|f| job.faces.get(f)?.name.as_deref());
                on.filter(|_| apart)
                    .map_or_else(|| mark(m), |on| format!("{} ({on})", mark(m)))
            };
            Some(format!(
                "when mark {} hides mark {}",
                named(nearer),
                named(hidden)
            ))
        }
    }
}

/// Carries an outline onto the pattern's surface; nothing where it is laid over it as it is.
///
/// # Errors
/// [`PrepareError::Elevation`]: the mark is not on this face, nothing stands in front of it, or the
/// face turns away altogether.
pub(super) fn projected(
    design: &Design<'_>,
    outline: &Outline<Flat>,
) -> Result<Option<Projected>, PrepareError> {
    let seen = design.edit.seen.clone().unwrap_or_default();
    let Some(mut words) = seen_words(design.names.job, &seen) else {
        return Ok(None);
    };
    let refused = |why: String| PrepareError::Elevation {
        feature: design.name.clone(),
        why,
    };
    let surface = &design.nominal.layout.surface;
    let pose = placed_on_pattern(&design.nominal).map_err(|why| PrepareError::Place {
        feature: design.name.clone(),
        why,
    })?;
    let in_front = match seen.mark() {
        None => pose.centre,
        Some(mark) => design
            .on_its_pattern(mark)
            .ok_or_else(|| {
                refused(format!(
                    "mark {} is not placed on this face: say of another mark that one stands in front of it",
                    name_of(design.names.job, &PointRef::Mark(mark.clone()))
                ))
            })?,
    };
    let mut hides = None;
    if let (SeenFrom::Hides { nearer, hidden }, Some(face)) = (&seen, &design.edit.face) {
        // A quick template has no such drawing, nor the module that makes it a board.
        if cfg!(not(feature = "every-kind")) {
            return Ok(None);
        }
        let (towards, within) =
            super::setout::hides(design.names.job, face, [nearer, hidden]).map_err(refused)?;
        words = format!("{words} (a direction known within {:.1}°)", within.deg());
        hides = Some(towards);
    }
    let sight = match hides {
        Some(towards) => surface
            .jet(pose.centre)
            .and_then(|jet| Sight::new(towards, jet.space(pose.up))),
        None => sight_of(surface, &pose, in_front, &seen),
    }
    .map_err(|why| refused(sentence(why)))?;
    carried(outline, surface, &pose, &sight, format!("as seen {words}"))
        .map(Some)
        .map_err(|why| refused(sentence(why)))
}

fn placed_on_pattern(nominal: &Nominal) -> Result<Pose, PlaceError> {
    Ok(place(nominal, &nominal.layout)?.pose)
}

/// The view of something about a pose, up as it is up.
fn sight_of(
    surface: &Surface,
    pose: &Pose,
    in_front: Point2<Face>,
    seen: &SeenFrom,
) -> Result<Sight, SurfaceError> {
    let up = surface.jet(pose.centre)?.space(pose.up);
    sight(surface, (pose.centre, up), in_front, seen)
}

/// Where places of a drawing come to lie about the middle of their feature, the pattern being as given
/// and the mark one stands in front of at a place; nothing where they can't be met.
pub(super) fn met_on(
    nominal: &Nominal,
    seen: &SeenFrom,
    in_front: Option<Point2<Face>>,
    places: &[Point2<Flat>],
) -> Option<Vec<Point2<Flat>>> {
    // Seen along two marks, no mark of this face turns the view.
    if matches!(seen, SeenFrom::Hides { .. }) {
        return None;
    }
    let surface = &nominal.layout.surface;
    let pose = placed_on_pattern(nominal).ok()?;
    let sight = sight_of(surface, &pose, in_front.unwrap_or(pose.centre), seen).ok()?;
    let about = Development::new(surface, pose.centre, pose.up).ok()?;
    let at = |p: &Point2<Flat>| {
        let away = Vector2::from_mm(p.x_mm(), p.y_mm());
        about
            .flat(sight.met(surface, pose.centre, away).ok()?.at)
            .ok()
    };
    places.iter().map(at).collect()
}

fn sentence(why: SurfaceError) -> String {
    match why {
        SurfaceError::InTheEye => {
            "the eye is not in front of it: stand further off".into()
        }
        SurfaceError::NoDirection => {
            "the face lies level there, so that nobody stands in front of it: choose straight on at a mark".into()
        }
        other => other.to_string(),
    }
}

/// Where a drawing has a place, from where it has its anchor: to the right and up, carried onto the face.
///
/// # Errors
/// In words: nothing stands in front of the anchor, or the face turns away too far before that.
pub(super) fn met_in_view(
    surface: &Surface,
    anchor: Point2<Face>,
    seen: &SeenFrom,
    [right, up]: [Length; 2],
) -> Result<Point2<Face>, String> {
    // Up in the view is plumb; where the face lies level, up on the face's own chart.
    let upright = sight(surface, (anchor, UP), anchor, seen);
    let sight = upright
        .or_else(|_| {
            let up = surface.jet(anchor)?.dv;
            sight(surface, (anchor, up), anchor, seen)
        })
        .map_err(sentence)?;
    let away = Vector2::from_mm(right.mm(), up.mm());
    let met = sight.met(surface, anchor, away).map_err(sentence)?;
    if met.turned > TURNED_AWAY {
        return Err(format!(
            "the face turns more than {:.0}° away there, and a hair on the drawing is a long way on it: give its place over the surface",
            TURNED_AWAY.deg()
        ));
    }
    Ok(met.at)
}

fn sight(
    surface: &Surface,
    (middle, up): (Point2<Face>, Vector3<Part>),
    in_front: Point2<Face>,
    seen: &SeenFrom,
) -> Result<Sight, SurfaceError> {
    let normal = surface.normal(in_front)?;
    let towards = match seen {
        SeenFrom::Level { .. } | SeenFrom::Eye { .. } => {
            let level = normal - UP * normal.dot(UP);
            // Within a degree of lying flat the direction would be a matter of chance.
            if level.norm().mm() < 0.0175 {
                return Err(SurfaceError::NoDirection);
            }
            level
        }
        _ => normal,
    };
    let SeenFrom::Eye { away, above, .. } = seen else {
        return Sight::new(towards, up);
    };
    let out = towards.unit().ok_or(SurfaceError::NoDirection)?;
    let eye = surface.jet(in_front)?.at + out * away.mm.mm() + UP * above.mm.mm();
    Sight::from_eye(eye, surface.jet(middle)?.at, up)
}

fn carried(
    outline: &Outline<Flat>,
    surface: &Surface,
    pose: &Pose,
    sight: &Sight,
    words: String,
) -> Result<Projected, SurfaceError> {
    let about = Development::new(surface, pose.centre, pose.up)?;
    if sight.turned(surface, pose.centre)? > TURNED_AWAY {
        return Err(SurfaceError::OutOfSight);
    }
    let at =
        |p: &Point2<Flat>| sight.met(surface, pose.centre, Vector2::from_mm(p.x_mm(), p.y_mm()));
    let (mut shown, mut away) = (Vec::new(), Vec::new());
    let mut whole = true;
    // Every place is met once, in the order in which the outline is carried over below.
    let mut all_met: Vec<Point2<Flat>> = Vec::new();
    for contour in outline.contours() {
        let run = contour.dense(FLATTENING * 0.5, STEP);
        let seen: Vec<Result<Seen, SurfaceError>> = run.iter().map(at).collect();
        let there: Vec<Point2<Face>> = seen.iter().flatten().map(|s| s.at).collect();
        let mut flat = about.flat_all(&there).into_iter();
        let mut met: Vec<_> = (seen.into_iter())
            .map(|seen| {
                let in_sight = seen?.turned <= TURNED_AWAY;
                Ok((flat.next().ok_or(SurfaceError::OutOfSight)??, in_sight))
            })
            .collect();
        all_met.extend(met.iter().flatten().map(|(flat, _)| *flat));
        if contour.is_closed() {
            met.extend(met.first().cloned());
        }
        // Lines that belong together, and whether they are in sight.
        let mut arc: (Vec<Point2<Flat>>, bool) = (Vec::new(), true);
        let mut end = |arc: &mut (Vec<Point2<Flat>>, bool)| {
            let points = core::mem::take(&mut arc.0);
            if points.len() > 1 {
                if arc.1 { &mut shown } else { &mut away }.push(points);
            }
        };
        for place in met {
            match place {
                Ok((flat, in_sight)) => {
                    whole &= in_sight;
                    if arc.1 != in_sight {
                        let last = arc.0.last().copied();
                        end(&mut arc);
                        arc = (last.into_iter().collect(), in_sight);
                    }
                    arc.0.push(flat);
                }
                // Behind the edge of what is seen there is nothing to show.
                Err(SurfaceError::OutOfSight) => {
                    whole = false;
                    end(&mut arc);
                }
                Err(other) => return Err(other),
            }
        }
        end(&mut arc);
    }
    let outline = whole.then(|| {
        let next = core::cell::Cell::new(0);
        let carry = |p| {
            all_met
                .get(next.replace(next.get() + 1))
                .map_or(p, |met| *met)
        };
        outline.mapped_by_points(carry, FLATTENING * 0.5, STEP)
    });
    Ok(Projected {
        outline,
        shown,
        away,
        words,
    })
}

impl Projected {
    /// How it is drawn, and what stands against printing it.
    pub(super) fn in_words(&self) -> String {
        match self.outline {
            Some(_) => self.words.clone(),
            None => format!("{}: {}", self.words, self.too_far()),
        }
    }

    fn too_far(&self) -> String {
        format!(
            "part of its outline lies where the face turns more than {:.0}° away, and a hair on the drawing is a long way there. Give it over the surface, or as seen from nearer in front of it",
            TURNED_AWAY.deg()
        )
    }

    /// The outline, where all of it can be carried over.
    ///
    /// # Errors
    /// [`PrepareError::Elevation`] where part of it is turned away past [`TURNED_AWAY`].
    pub(super) fn whole(self, feature: &str) -> Result<(Outline<Flat>, String), PrepareError> {
        if let Some(outline) = self.outline {
            return Ok((outline, self.words));
        }
        Err(PrepareError::Elevation {
            feature: feature.to_owned(),
            why: format!("drawn {}, {}", self.words, self.too_far()),
        })
    }
}
