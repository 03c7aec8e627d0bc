//! Levels of a walk: which are asked for, and what each should come to.

use super::super::kept_level::AS_IT_WILL_STAND;
use super::super::network::{MARK_SPREAD, Marks};
use super::face::OnFace;
use super::view::Expected;
use crate::job::{Job, Measured, PointRef, RuleSpec, TurnKept};
use crate::readings::Above;
use crate::units::Length;

/// Levels that are wanted on every casting: of the lines whose features or brackets are kept level.
pub(super) fn wanted(job: &Job, on: &OnFace) -> Vec<Measured> {
    let mut all = Vec::new();
    let features = (job.features.values()).map(|f| (&f.face, f.turn_kept, &f.rule));
    let fixings = (job.fixings.values()).map(|f| (&f.face, f.turn_kept, &f.rule));
    for (face, turn_kept, rule) in features.chain(fixings) {
        if face.as_ref() != Some(&on.id) || turn_kept != Some(TurnKept::ToLevel) {
            continue;
        }
        if let Some([from, to]) = rule.as_ref().and_then(RuleSpec::line) {
            let level = Measured::Level {
                from: PointRef::Mark(from.clone()),
                to: PointRef::Mark(to.clone()),
                stood: AS_IT_WILL_STAND,
            };
            if !all.contains(&level) {
                all.push(level);
            }
        }
    }
    all
}

/// How far the second stands above the first, as readings of one casting tell.
fn told(marks: &Marks, [from, to]: [&PointRef; 2], stood: u32) -> Option<Above> {
    let stance = marks.stood.iter().position(|s| *s == stood)?;
    marks
        .adjusted
        .above(stance, marks.index(from)?, marks.index(to)?)
}

/// What a level should come to, ±3 standard deviations: by what was levelled on this casting, else
/// as the pattern stands, each mark as far off as castings stray.
pub(super) fn expected(on: &OnFace, of: &Measured, noise: Length) -> Option<Expected> {
    let Measured::Level { from, to, stood } = of else {
        return None;
    };
    let here = on
        .read
        .as_ref()
        .ok()
        .and_then(|marks| told(marks, [from, to], *stood));
    let above = here.or_else(|| {
        let drawn = (*stood == AS_IT_WILL_STAND)
            .then(|| told(&on.on_pattern, [from, to], AS_IT_WILL_STAND))??;
        let strays = MARK_SPREAD.mm() * core::f64::consts::SQRT_2;
        Some(Above {
            by: drawn.by * on.factor,
            sd: Length::from_mm(libm::hypot(drawn.sd.mm(), strays)),
        })
    })?;
    let reach = Length::from_mm(3.0 * libm::hypot(above.sd.mm(), noise.mm()));
    Some(Expected {
        low: above.by - reach,
        middle: above.by,
        high: above.by + reach,
    })
}
