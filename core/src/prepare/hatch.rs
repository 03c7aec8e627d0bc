//! A hatch: its saw line, its least corner, its plug, and the ticks by which the plug goes back.

use super::error::PrepareError;
use super::words::{feature_title, mm};
use crate::frames::{Flat, Point2};
use crate::job::{CutOut, DoneFact, FeatureEdit, FeatureId, HatchStands, Job, Kept, PieceId};
use crate::outline::{FLATTENING, Outline};
use crate::sheet::Plug;
use crate::units::Length;

/// A corner tighter than this is said to be too tight: cracks start at it (common practice, no source).
pub const LEAST_CORNER: Length = Length::from_mm(10.0);
/// A tick reaches so far to either side of the saw line.
const TICK: f64 = 14.0;
/// The two ticks at the top stand so far from its middle, the one at the side so far above it.
const BESIDE: f64 = 5.0;

/// What a hatch adds to its template.
#[derive(Debug, Clone, PartialEq)]
pub struct Hatch {
    /// The plug, and what is done.
    pub plug: Plug,
    /// Ticks across the saw line: two at the top, one at the right, seen from outside.
    pub ticks: Vec<[Point2<Flat>; 2]>,
    /// The tightest corner of the saw line; nothing where it has none.
    pub least_corner: Option<Length>,
    /// What is not as it should be.
    pub warnings: Vec<String>,
}

/// What every sheet that leads to a saw says, after whom it is left to.
pub(super) const CAUTIONS: [&str; 4] = [
    "Look behind the skin and tap over it before the saw line is drawn: no armature, wiring, lifting point or foam may lie under it",
    "Strap, sling or prop the figure first; a second person holds it and stays. Sawing takes strength out of the shell until the plug is back",
    "Eye and ear protection, respirator for fine dust (P3 or the local equal), extraction at the blade. Tight cuffs, hair back, no gloves near a turning blade; gloves for raw edges",
    "Tape the plug or screw a handle into it before the last cut: it must not fall in",
];

/// The hatch of a feature; `None` where it is not cut out.
///
/// `outline` as it is sawn, `on_paper` as it lies on the sheet.
///
/// # Errors
/// [`PrepareError::Outline`] where what is sawn out is not one piece.
pub(super) fn hatch(
    job: &Job,
    (id, edit, name): (&FeatureId, &FeatureEdit, &str),
    piece: &PieceId,
    outline: &Outline<Flat>,
    on_paper: &Outline<Flat>,
) -> Result<Option<Hatch>, PrepareError> {
    if edit.cut_out != Some(CutOut::PlugKept) {
        return Ok(None);
    }
    let one = matches!(outline.contours(), [only] if only.is_closed());
    if !one {
        return Err(PrepareError::Outline {
            feature: name.to_owned(),
            why: "a hatch is cut along one closed line, and this outline has several: give it a plain shape, or say that it is not cut out".into(),
        });
    }
    let least_corner = outline.least_radius();
    let number = job.plug_number(id, piece).unwrap_or_default();
    Ok(Some(Hatch {
        ticks: ticks(on_paper),
        warnings: warnings(least_corner),
        plug: plug(number, least_corner),
        least_corner,
    }))
}

/// Who said so and when, as far as either is known.
pub(super) fn by_whom(who: &str, when: &str) -> String {
    let known: Vec<&str> = [who, when].into_iter().filter(|w| !w.is_empty()).collect();
    known.join(", ")
}

/// What the record of a piece says of its hatches, a line each.
pub(super) fn record_lines(job: &Job, piece: &PieceId) -> Vec<String> {
    job.hatches()
        .into_iter()
        .filter(|id| job.casting_with(id, piece).is_some())
        .filter_map(|id| {
            let title = feature_title(job.features.get(id)?);
            let plug = job.plug_number(id, piece)?;
            let by = |d: &Kept<DoneFact>| by_whom(&d.who, &d.wall);
            Some(match job.hatch_stands(id, piece) {
                HatchStands::NotCut => {
                    format!("{title}: not said to be cut out; its plug is {plug}")
                }
                HatchStands::Open(d) => format!("{title}: cut out, plug {plug} kept ({})", by(d)),
                HatchStands::Closed(d) => {
                    format!("{title}: plug {plug} back and closed ({})", by(d))
                }
            })
        })
        .collect()
}

/// The same plug with what is written on it left to the piece, for a template that serves several.
pub(super) fn of_several(hatch: &Hatch) -> Plug {
    plug("OF THE PIECE".into(), hatch.least_corner)
}

fn plug(number: String, least_corner: Option<Length>) -> Plug {
    let written = if number.starts_with(|c: char| c.is_ascii_digit()) {
        format!("write {number} on the plug and beside the opening, on the inside too")
    } else {
        "write the piece's number on the plug and beside the opening, on the inside too".to_owned()
    };
    let corners = match least_corner {
        Some(r) if wide_enough(r) => format!(
            "least corner radius {} mm: round a corner with a hole saw or a jigsaw, never a square cut",
            mm(r)
        ),
        Some(r) if r.mm() > 0.0 => format!("least corner radius {} mm", mm(r)),
        Some(_) => "it has a corner without a radius".to_owned(),
        None => String::new(),
    };
    let mut steps = vec![
        "cut out: saw along the line, the blade's middle on it; start from a hole drilled inside it".to_owned(),
        corners,
        "before sawing carry every tick across the line with a rule: two at the top, one on the right, seen from outside. The plug goes back so that all three meet".to_owned(),
        format!("{written}; keep it with the piece"),
    ];
    steps.retain(|s| !s.is_empty());
    Plug { number, steps }
}

/// Shown in tenths: what reads 10 is 10, though curves drawn as cubics bend a hair tighter.
fn wide_enough(radius: Length) -> bool {
    radius.mm() + 0.05 >= LEAST_CORNER.mm()
}

fn warnings(least_corner: Option<Length>) -> Vec<String> {
    let said = match least_corner {
        Some(r) if r.mm() <= 0.0 => {
            "the saw line has a corner without a radius: cracks start there".to_owned()
        }
        Some(r) if !wide_enough(r) => format!(
            "a corner of the saw line has a radius of {} mm: cracks start at tight corners",
            mm(r)
        ),
        _ => return Vec::new(),
    };
    vec![format!(
        "{said}. Round it to {} mm at least (common practice)",
        mm(LEAST_CORNER)
    )]
}

/// Two ticks across the top of an outline and one across its right side, off the centre lines, so
/// that no turn and no turning over brings all three back.
fn ticks(outline: &Outline<Flat>) -> Vec<[Point2<Flat>; 2]> {
    let p = Point2::from_mm;
    let Some(bounds) = outline.bounds() else {
        return Vec::new();
    };
    let c = bounds.centre();
    // On a small outline they move together rather than past its corners.
    let beside = |side: Length| BESIDE.min(side.mm() / 6.0);
    let (dx, dy) = (beside(bounds.width()), beside(bounds.height()));
    let lines = outline.polylines(FLATTENING);
    let top = |x: f64| farthest(&lines, x, |q| (q.x_mm(), q.y_mm()));
    let right = farthest(&lines, c.y_mm() + dy, |q| (q.y_mm(), q.x_mm()));
    let up =
        [c.x_mm() - dx, c.x_mm() + dx].map(|x| top(x).map(|y| [p(x, y - TICK), p(x, y + TICK)]));
    let y = c.y_mm() + dy;
    up.into_iter()
        .flatten()
        .chain(right.map(|x| [p(x - TICK, y), p(x + TICK, y)]))
        .collect()
}

/// Where a line at `at` of the first coordinate last meets the contours along the second.
fn farthest(
    lines: &[Vec<Point2<Flat>>],
    at: f64,
    of: impl Fn(Point2<Flat>) -> (f64, f64),
) -> Option<f64> {
    let mut best: Option<f64> = None;
    for line in lines {
        for (k, a) in line.iter().enumerate() {
            let b = line.get((k + 1) % line.len()).unwrap_or(a);
            let ((x0, y0), (x1, y1)) = (of(*a), of(*b));
            if (x0 - at) * (x1 - at) > 0.0 || (x1 - x0).abs() < 1e-12 {
                continue;
            }
            let y = y0 + (y1 - y0) * (at - x0) / (x1 - x0);
            best = Some(best.map_or(y, |far: f64| far.max(y)));
        }
    }
    best
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    const fn mm_(x: f64) -> Length {
        Length::from_mm(x)
    }

    #[test]
    fn ticks_cross_the_line_and_no_turn_brings_them_back() {
        let box_ = Outline::<Flat>::rounded_rectangle(mm_(300.0), mm_(220.0), mm_(40.0)).unwrap();
        let ticks = ticks(&box_);
        let middles: Vec<(f64, f64)> = ticks
            .iter()
            .map(|[a, b]| {
                let m = a.lerp(*b, 0.5);
                (m.x_mm(), m.y_mm())
            })
            .collect();
        let want = [(-5.0, 110.0), (5.0, 110.0), (150.0, 5.0)];
        assert_eq!(middles.len(), want.len());
        for (got, want) in middles.iter().zip(want) {
            assert!(
                (got.0 - want.0).abs() < 0.03 && (got.1 - want.1).abs() < 0.03,
                "{got:?} for {want:?}"
            );
        }
        // A half turn, and turning over either way: some tick finds no other.
        for (sx, sy) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0)] {
            let all_back = middles.iter().all(|(x, y)| {
                middles
                    .iter()
                    .any(|(u, v)| (sx * x - u).abs() < 1.0 && (sy * y - v).abs() < 1.0)
            });
            assert!(!all_back, "{sx} {sy}");
        }
    }

    #[test]
    fn tight_corners_are_said_and_wide_ones_are_not() {
        assert!(warnings(Some(mm_(25.0))).is_empty());
        assert!(warnings(None).is_empty());
        assert!(warnings(Some(mm_(4.0)))[0].contains("4 mm"));
        assert!(warnings(Some(mm_(0.0)))[0].contains("without a radius"));
        let plug = plug("7".into(), Some(mm_(25.0)));
        assert!(
            plug.steps
                .iter()
                .any(|s| s.contains("least corner radius 25 mm"))
        );
        assert!(plug.steps.iter().any(|s| s.contains("write 7 on the plug")));
    }
}
