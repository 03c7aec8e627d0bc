//! A template larger than a page wants three marks that are not in line: on two, or on a row of them, one
//! that was joined or laid askew looks right at every cross.

use crate::frames::{Flat, Point2};
use crate::outline::Bounds;
use crate::units::Length;

/// The longer side of A4 (ISO 216): what is larger is joined from sheets, or too long to be seen at a glance.
const PAGE: Length = Length::from_mm(297.0);
/// Off the line by less than this share of its length, a mark holds nothing the line does not (common
/// practice, no source).
const OFF_THE_LINE: f64 = 0.1;

/// What is to be said of its crosses, by letter and place, and what it carries.
pub(super) fn words(
    crosses: &[(&str, Point2<Flat>)],
    carried: Option<Bounds<Flat>>,
) -> Option<String> {
    let corners = carried.map(|b| [b.min, b.max]).into_iter().flatten();
    let reach = (crosses.iter().map(|c| c.1))
        .chain(corners)
        .fold(None::<Bounds<Flat>>, |all, p| {
            Some(all.map_or_else(|| Bounds::at(p), |b| b.holding(p)))
        })?;
    if reach.width() <= PAGE && reach.height() <= PAGE {
        return None;
    }
    let ends = |from: usize| {
        let (_, a) = *crosses.get(from)?;
        let all = crosses.iter().enumerate().skip(from + 1);
        all.map(|(to, (_, b))| (a.distance(*b), from, to))
            .reduce(|x, y| if y.0 > x.0 { y } else { x })
    };
    let (long, from, to) = (0..crosses.len())
        .filter_map(ends)
        .reduce(|x, y| if y.0 > x.0 { y } else { x })?;
    let ((first, a), (last, b)) = (*crosses.get(from)?, *crosses.get(to)?);
    let along = b - a;
    let off = |p: Point2<Flat>| {
        let by = p - a;
        (along.x_mm() * by.y_mm() - along.y_mm() * by.x_mm()).abs() / long.mm().max(1e-9)
    };
    let furthest = crosses.iter().map(|c| off(c.1)).fold(0.0, f64::max);
    if furthest >= OFF_THE_LINE * long.mm() {
        return None;
    }
    let would =
        format!("well off the line {first}–{last}, would show one that was joined or laid askew");
    Some(if crosses.len() == 2 {
        format!("larger than a page, on {first} and {last} alone: a third mark, {would}")
    } else {
        format!("larger than a page, and its marks lie nearly in line: one more, {would}")
    })
}
