//! A feature's outline about its own centre, in the flat plane.

use super::Source;
use super::error::PrepareError;
use crate::frames::{Flat, Mirror2, Point2, Vector2};
use crate::job::{FeatureEdit, Marker, OutlineSpec};
use crate::outline::lettering::Weight;
use crate::outline::{Outline, OutlineError};
use crate::template::MarkerKind;
use crate::units::{Angle, Length};

/// An outline with what is to be said about it.
#[derive(Debug, Clone)]
pub(super) struct Drawn {
    pub(super) outline: Outline<Flat>,
    pub(super) notes: Vec<String>,
    /// In words: *62 × 48*.
    pub(super) size: String,
}

fn plain(mm: Length) -> String {
    super::words::mm(mm)
}

/// The outline of a feature, its middle on the origin, up along y; turned over where the feature
/// is. Letters are not: nobody paints words that read backwards.
pub(super) fn outline_of(
    source: &Source<'_>,
    feature: &str,
    edit: &FeatureEdit,
) -> Option<Result<Drawn, PrepareError>> {
    let spec = edit.outline.as_ref()?;
    let turned = edit.mirrored == Some(true)
        && !matches!(
            spec,
            OutlineSpec::Lettering { .. } | OutlineSpec::Strokes { .. }
        );
    Some(specified(source, feature, spec).map(|mut drawn| {
        if turned {
            let upright = Mirror2::across(Point2::ORIGIN, Angle::from_deg(90.0));
            drawn.outline = drawn.outline.mirrored(&upright);
        }
        if turned && matches!(spec, OutlineSpec::Artwork { .. }) {
            drawn.notes.push(
                "its outline is turned over: look whether letters in it now read backwards".into(),
            );
        }
        drawn
    }))
}

/// Builds the outline of a specification.
fn specified(
    source: &Source<'_>,
    feature: &str,
    spec: &OutlineSpec,
) -> Result<Drawn, PrepareError> {
    let bad = |e: OutlineError| PrepareError::outline(feature, &e);
    let mut notes = Vec::new();
    let (outline, size) = match spec {
        OutlineSpec::Circle { diameter } => (
            Outline::circle(diameter.mm).map_err(bad)?,
            format!("⌀ {}", plain(diameter.mm)),
        ),
        OutlineSpec::Oval { width, height } => (
            Outline::ellipse(width.mm, height.mm).map_err(bad)?,
            format!("{} × {}", plain(width.mm), plain(height.mm)),
        ),
        OutlineSpec::RoundedBox {
            width,
            height,
            corner,
        } => (
            Outline::rounded_rectangle(width.mm, height.mm, corner.mm).map_err(bad)?,
            format!("{} × {}", plain(width.mm), plain(height.mm)),
        ),
        OutlineSpec::Ring { outside, hole } => (
            Outline::ring(outside.mm, hole.mm).map_err(bad)?,
            format!("⌀ {}, hole {}", plain(outside.mm), plain(hole.mm)),
        ),
        OutlineSpec::Star {
            points,
            across,
            waist,
        } => (
            Outline::star(*points, across.mm, waist.as_ref().map(|w| w.mm)).map_err(bad)?,
            format!("{points} points, ⌀ {}", plain(across.mm)),
        ),
        OutlineSpec::ArcBand {
            radius,
            width,
            length,
        } => {
            let sweep = Angle::from_rad(length.mm.mm() / radius.mm.mm().max(1e-9));
            let band = Outline::arc_band(radius.mm, width.mm, sweep).map_err(bad)?;
            // The feature is the middle of the band, not of the circle it is part of.
            (
                band.shifted(Vector2::from_mm(0.0, -radius.mm.mm())),
                format!(
                    "{} × {}, R {}",
                    plain(width.mm),
                    plain(length.mm),
                    plain(radius.mm)
                ),
            )
        }
        OutlineSpec::Lettering { text, capitals } | OutlineSpec::Strokes { text, capitals } => {
            let single = matches!(spec, OutlineSpec::Strokes { .. });
            let (outline, missing) = if single {
                Outline::strokes(text, capitals.mm)
            } else {
                Outline::text(text, capitals.mm, Weight::SemiBold)
            }
            .map_err(bad)?;
            if !missing.is_empty() {
                let list: String = missing.iter().collect();
                notes.push(format!(
                    "no letter shape for {list}: boxes stand in its place"
                ));
            }
            let single = if single { ", single lines" } else { "" };
            (outline, format!("capitals {}{single}", plain(capitals.mm)))
        }
        OutlineSpec::Artwork {
            attachment,
            file,
            width,
            ignored,
        } => {
            let bytes = source.attachments.get(attachment).ok_or_else(|| PrepareError::Outline {
                feature: feature.to_owned(),
                why: format!("the artwork '{file}' is missing from this copy of the job: bring the file in again"),
            })?;
            // As text, like all else: a second reader of JSON would be loaded for this alone.
            let stored: Outline<Flat> = serde_json::from_str(&String::from_utf8_lossy(bytes))
                .map_err(|e| PrepareError::Outline {
                    feature: feature.to_owned(),
                    why: format!("the artwork '{file}' is damaged ({e}): bring the file in again"),
                })?;
            let bounds = stored.bounds().ok_or_else(|| PrepareError::Outline {
                feature: feature.to_owned(),
                why: format!("there is nothing to outline in '{file}'"),
            })?;
            let middle = bounds.centre().from_origin();
            let centred = stored.shifted(Vector2::ZERO - middle);
            let sized =
                centred
                    .sized(bounds.width(), width.mm)
                    .ok_or_else(|| PrepareError::Outline {
                        feature: feature.to_owned(),
                        why: format!("a width of {} mm can't be given to '{file}'", width.typed),
                    })?;
            if !ignored.is_empty() {
                notes.push(format!("left out of '{file}': {}", ignored.join(", ")));
            }
            (sized, format!("{} wide", plain(width.mm)))
        }
    };
    if outline.contours().is_empty() {
        return Err(PrepareError::Outline {
            feature: feature.to_owned(),
            why: "there is nothing to outline".into(),
        });
    }
    Ok(Drawn {
        outline,
        notes,
        size,
    })
}

/// What marks it, as a template counts it.
pub(super) fn marker_of(marker: Option<Marker>) -> MarkerKind {
    match marker {
        Some(Marker::Pounce) => MarkerKind::Pounce,
        Some(Marker::FinePen) => MarkerKind::FinePen,
        Some(Marker::Knife) => MarkerKind::Knife,
        Some(Marker::SoftPencil) | None => MarkerKind::SoftPencil,
    }
}

/// An outline whose size follows the casting.
pub(super) fn scaled(outline: Outline<Flat>, factor: f64) -> Outline<Flat> {
    if (factor - 1.0).abs() < 1e-12 {
        return outline;
    }
    outline
        .sized(Length::from_mm(1.0), Length::from_mm(factor))
        .unwrap_or(outline)
}
