//! An SVG drawing in the plane of its known places: what its sheets show. Its lines stay lines.

use super::drawn::LeftOut;
use super::picture_sheet::Shown;
use crate::frames::Artwork as Page;
use crate::outline::{Bounds, Outline};
use crate::read::artwork::{ArtworkError, Painted, read};
use crate::read::marked_picture::MarkedPicture;
use crate::read::photo::ToScale;
use crate::sheet::FlatPath;
use crate::sheet::drawing::Spot;
use kurbo::{Affine, Point, Rect, Shape as _};

/// Pieces of line taken: more fill a sheet black, and a printer's memory.
const MOST_PIECES: usize = 200_000;

/// What the sheets of a drawing show.
///
/// # Errors
/// A sentence: the file, its page, the known places, or nothing that can be drawn.
pub(super) fn shown(bytes: &[u8], places: &MarkedPicture) -> Result<Shown, String> {
    let artwork = read(bytes).map_err(|why| match why {
        ArtworkError::NotSvg { looks_like } => format!(
            "this is neither a picture (JPEG, PNG) nor an SVG drawing; it looks like {looks_like}"
        ),
        why => why.to_string(),
    })?;
    let Some((wide, high)) = artwork.page.map(|(w, h)| (w.mm(), h.mm())) else {
        return Err("the drawing does not say how large its page is, so that what was tapped can’t be found in it: save it again with a page round what is drawn".to_owned());
    };
    let to_scale = ToScale::of(places, high / wide).map_err(|e| e.to_string())?;
    let plane = to_scale.plane_from_page() * Affine::scale(1.0 / wide);
    let mut left_out: Vec<LeftOut> = artwork.ignored.iter().map(LeftOut::of).collect();
    let (mut lines, mut pieces, mut outside) = (Vec::new(), 0_usize, 0_usize);
    let mut reach: Option<Rect> = None;
    for shape in &artwork.shapes {
        let Some(edge) = edge(shape) else { continue };
        match edge.bounds() {
            Some(b) if is_off_page(b, wide, high) => {
                outside += 1;
                continue;
            }
            Some(b) if shape.stroke.is_none() && covers(b, wide, high) => continue,
            _ => {}
        }
        for contour in edge.contours() {
            let path = plane * contour.path_mm().clone();
            pieces += path.elements().len();
            let own = path.bounding_box();
            reach = Some(reach.map_or(own, |r| r.union(own)));
            lines.extend(FlatPath::from_bezier(&path));
        }
    }
    if pieces > MOST_PIECES {
        return Err(format!(
            "the drawing has {pieces} pieces of line, and {MOST_PIECES} are put on sheets: save it simplified, or in parts"
        ));
    }
    let Some(reach) = reach else {
        return Err("nothing in the drawing can be drawn as a line: words have to be turned into paths, and pictures inside it printed as pictures".to_owned());
    };
    let known = (places.known.iter()).map(|p| Point::new(p.at_mm[0], p.at_mm[1]));
    let reach = known.fold(reach, |r, p| r.union_pt(p));
    let missing = [
        ("texts", artwork.texts.len()),
        ("pictures", artwork.underlays.len()),
        ("outside", outside),
    ];
    left_out.extend(
        missing
            .into_iter()
            .filter(|(_, n)| *n > 0)
            .map(|(what, count)| LeftOut {
                what: what.to_owned(),
                count,
            }),
    );
    let corner = |x, y| to_scale.within(Point::new(x, y));
    let corners = [
        corner(reach.x0, reach.y0),
        corner(reach.x1, reach.y0),
        corner(reach.x1, reach.y1),
        corner(reach.x0, reach.y1),
    ];
    Ok(Shown {
        low: Spot::new(
            micro(libm::floor(reach.x0 * 1000.0)),
            micro(libm::floor(reach.y0 * 1000.0)),
        ),
        top: Spot::new(
            micro(libm::ceil(reach.x1 * 1000.0)),
            micro(libm::ceil(reach.y1 * 1000.0)),
        ),
        picture: None,
        lines,
        middle_within: to_scale.within(to_scale.middle()),
        worst_within: corners.into_iter().fold(0.0, f64::max),
        warnings: warnings(places, missing),
        left_out,
    })
}

/// The edge of a painted area, else the middle of a drawn line. Where a shape has both they lie on
/// each other.
fn edge(shape: &Painted) -> Option<&Outline<Page>> {
    let fill = shape.fill.as_ref().map(|f| &f.outline);
    fill.or_else(|| shape.stroke.as_ref().map(|s| &s.centre))
}

fn is_off_page(b: Bounds<Page>, wide: f64, high: f64) -> bool {
    b.max.x_mm() < 0.0 || b.max.y_mm() < 0.0 || b.min.x_mm() > wide || b.min.y_mm() > high
}

/// The ground of the page: an area as large as it, whose edge nobody sees.
fn covers(b: Bounds<Page>, wide: f64, high: f64) -> bool {
    let hair = wide.max(high) * 1e-3;
    let from = b.min.x_mm() <= hair && b.min.y_mm() <= hair;
    from && b.max.x_mm() >= wide - hair && b.max.y_mm() >= high - hair
}

fn warnings(places: &MarkedPicture, missing: [(&str, usize); 3]) -> Vec<String> {
    let mut out = Vec::new();
    if places.known.len() == 2 {
        out.push("Nothing proves the two known places: check one length of the drawing with a tape before use.".to_owned());
    }
    let said: Vec<String> = (missing.into_iter())
        .filter(|(_, n)| *n > 0)
        .map(|(what, n)| {
            let words = match (what, n) {
                ("texts", 1) => "text that is not outlined",
                ("texts", _) => "texts that are not outlined",
                ("pictures", 1) => "picture",
                ("pictures", _) => "pictures",
                (_, 1) => "shape outside the page",
                _ => "shapes outside the page",
            };
            format!("{n} {words}")
        })
        .collect();
    if !said.is_empty() {
        out.push(format!(
            "In the file and not on these sheets: {}.",
            said.join(", ")
        ));
    }
    out
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "it saturates, and what is out of reach is refused"
)]
const fn micro(um: f64) -> i32 {
    um as i32
}
