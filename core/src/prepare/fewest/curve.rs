//! How many templates it takes against what is asked.

use super::{CurvePoint, Grouped, Trial, TriedSets, leaving_least, with_fewest};
use crate::prepare::feature::Prepared;
use crate::units::Length;

/// The curve is looked at for every half millimetre, up to twice what is asked.
const CURVE_STEP_MM: f64 = 0.5;

/// At least as far as what is asked of anything painted: bolts ask for less than some templates can hold.
const CURVE_AT_LEAST: Length = Length::from_mm(4.0);

/// And no further than this many steps, however much is allowed.
const CURVE_STEPS: usize = 16;

/// Of templates that are one sheet, and of sets of patches.
pub(super) fn curve(
    tried: &[(&[&Prepared], Vec<Trial>)],
    in_sets: &[TriedSets<'_>],
    allowed: Length,
) -> Vec<CurvePoint> {
    let all = tried.iter().map(|(c, _)| c.len()).sum::<usize>()
        + in_sets.iter().map(TriedSets::len).sum::<usize>();
    let classes = tried.len() + in_sets.len();
    let mut points = Vec::new();
    let mut tolerance = Length::ZERO;
    let twice = allowed + allowed;
    let end = if twice > CURVE_AT_LEAST {
        twice
    } else {
        CURVE_AT_LEAST
    };
    // What goes together within less goes together within more: never more templates than before.
    let mut most = vec![usize::MAX; tried.len()];
    for _ in 0..CURVE_STEPS {
        tolerance += Length::from_mm(CURVE_STEP_MM);
        if tolerance.to_um() > end.to_um() {
            break;
        }
        let (mut templates, mut beyond) = (0, 0);
        for ((class, trials), most) in tried.iter().zip(&mut most) {
            let Some(outline) = class.first().map(|p| &p.basis.outline) else {
                continue;
            };
            let mut alike = with_fewest(trials, tolerance, *most);
            if alike.is_empty() {
                // The search was cut short.
                alike = with_fewest(trials, tolerance, usize::MAX);
            }
            let Some(count) = alike.first().map(|g| g.groups.len()) else {
                templates += class.len();
                continue;
            };
            templates += count;
            *most = count;
            let short = |t: &Trial| {
                let over = |a: &&Length| a.to_um() > tolerance.to_um();
                t.alone.iter().filter(over).count()
            };
            let mut each = alike.iter().map(|g: &Grouped<'_>| short(g.trial));
            let first = each.next().unwrap_or_default();
            // Which of several is the one only counts where they differ.
            beyond += if each.all(|n| n == first) {
                first
            } else {
                leaving_least(alike, outline).map_or(first, |(trial, _)| short(trial))
            };
        }
        for sets in in_sets {
            let (count, over) = sets.count(tolerance);
            templates += count;
            beyond += over;
        }
        // Below what any template can hold there is nothing to draw.
        let same = points
            .last()
            .is_some_and(|p: &CurvePoint| p.templates == templates && p.beyond == beyond);
        if beyond < all && !same {
            points.push(CurvePoint {
                tolerance,
                templates,
                beyond,
            });
        }
        if templates <= classes && beyond == 0 {
            break;
        }
    }
    points
}
