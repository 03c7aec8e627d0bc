//! Curves and pens out of the second pass, tidied.

use super::super::region::Rule;
use crate::frames::Artwork as Drawing;
use crate::units::Length;
use kurbo::{Affine, BezPath, PathEl, Point};
use usvg::tiny_skia_path::PathSegment;

/// All on one line: an area of nothing, however its parts cancel.
pub(super) fn flat(contour: &crate::outline::Contour<Drawing>, within: f64) -> bool {
    let b = contour.bounds();
    b.width().mm() <= within || b.height().mm() <= within || {
        let points = contour.polyline(Length::from_mm(within));
        let far = points.iter().max_by(|a, b| {
            a.distance(contour.start())
                .mm()
                .total_cmp(&b.distance(contour.start()).mm())
        });
        far.and_then(|f| (*f - contour.start()).unit())
            .is_none_or(|along| {
                points
                    .iter()
                    .all(|p| along.cross(*p - contour.start()).abs() <= within)
            })
    }
}

/// Segments too short to matter left out, and ends that all but meet made to meet: f32 leaves both.
pub(super) fn tidied(path: &BezPath, within: f64) -> BezPath {
    let near = |a: Point, b: Point| (a.x - b.x).abs() <= within && (a.y - b.y).abs() <= within;
    let mut out = BezPath::new();
    for sub in path.subpaths() {
        let Some(PathEl::MoveTo(start)) = sub.first().copied() else {
            continue;
        };
        let mut elements = vec![PathEl::MoveTo(start)];
        let mut at = start;
        for el in sub.iter().skip(1) {
            let short = match *el {
                PathEl::LineTo(p) => near(at, p),
                PathEl::QuadTo(a, p) => near(at, a) && near(at, p),
                PathEl::CurveTo(a, b, p) => near(at, a) && near(at, b) && near(at, p),
                PathEl::MoveTo(_) | PathEl::ClosePath => false,
            };
            if !short {
                elements.push(*el);
                at = el.end_point().unwrap_or(at);
            }
        }
        let closes = matches!(elements.last(), Some(PathEl::ClosePath));
        let last = elements.len().saturating_sub(if closes { 2 } else { 1 });
        if last > 0
            && let Some(el) = elements.get_mut(last)
        {
            match el {
                PathEl::LineTo(p) | PathEl::QuadTo(_, p) | PathEl::CurveTo(_, _, p)
                    if near(*p, start) =>
                {
                    *p = start;
                }
                _ => {}
            }
        }
        for el in elements {
            out.push(el);
        }
    }
    out
}

/// The path as pass 2 holds it, before any transform.
pub(super) fn local(path: &usvg::Path) -> BezPath {
    let at = |p: usvg::tiny_skia_path::Point| Point::new(f64::from(p.x), f64::from(p.y));
    let mut out = BezPath::new();
    for segment in path.data().segments() {
        match segment {
            PathSegment::MoveTo(p) => out.move_to(at(p)),
            PathSegment::LineTo(p) => out.line_to(at(p)),
            PathSegment::QuadTo(a, p) => out.quad_to(at(a), at(p)),
            PathSegment::CubicTo(a, b, p) => out.curve_to(at(a), at(b), at(p)),
            PathSegment::Close => out.close_path(),
        }
    }
    out
}

pub(super) fn affine(t: usvg::Transform) -> Affine {
    Affine::new([t.sx, t.ky, t.kx, t.sy, t.tx, t.ty].map(f64::from))
}

pub(super) const fn rule_of(rule: usvg::FillRule) -> Rule {
    match rule {
        usvg::FillRule::NonZero => Rule::NonZero,
        usvg::FillRule::EvenOdd => Rule::EvenOdd,
    }
}

pub(super) fn colour(paint: &usvg::Paint) -> String {
    match paint {
        usvg::Paint::Color(c) => format!("#{:02x}{:02x}{:02x}", c.red, c.green, c.blue),
        _ => "#808080".to_owned(),
    }
}

pub(super) fn pen(s: &usvg::Stroke) -> kurbo::Stroke {
    let cap = match s.linecap() {
        usvg::LineCap::Butt => kurbo::Cap::Butt,
        usvg::LineCap::Round => kurbo::Cap::Round,
        usvg::LineCap::Square => kurbo::Cap::Square,
    };
    let join = match s.linejoin() {
        usvg::LineJoin::Miter | usvg::LineJoin::MiterClip => kurbo::Join::Miter,
        usvg::LineJoin::Round => kurbo::Join::Round,
        usvg::LineJoin::Bevel => kurbo::Join::Bevel,
    };
    let style = kurbo::Stroke::new(f64::from(s.width().get()))
        .with_caps(cap)
        .with_join(join)
        .with_miter_limit(f64::from(s.miterlimit().get()));
    match s.dasharray() {
        Some(dashes) => style.with_dashes(
            f64::from(s.dashoffset()),
            dashes.iter().map(|d| f64::from(*d)),
        ),
        None => style,
    }
}
