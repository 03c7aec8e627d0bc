//! What inspects a file, clause by clause; it knows the drawing and no writer.

use super::samples;
use lopdf::content::Content;
use lopdf::{Document, Object};
use samespot_core::sheet::TemplateSheet;
use samespot_core::sheet::drawing::{Contour, Drawing, Meaning, Page, Segment, Shape};
use std::collections::BTreeSet;
use std::process::Command;

/// The clauses that do not hold.
pub(crate) type Faults = BTreeSet<String>;

/// A PDF unit is 1/72 in (ISO 32000-1, 8.3.2.3).
const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// What no printer reaches, by the contract's default.
const MARGIN_MM: f64 = 12.0;

fn mm(um: i32) -> f64 {
    f64::from(um) / 1000.0
}

/// The printed length of the bar across and of the bar up.
fn bars(page: &Page) -> Vec<(String, f64)> {
    page.items
        .iter()
        .filter_map(|i| {
            let label = i.label.clone()?;
            let length = label
                .strip_prefix("check bar ")?
                .split(' ')
                .nth(1)?
                .parse()
                .ok()?;
            Some((label, length))
        })
        .collect()
}

pub(crate) fn is(faults: &mut Faults, clause: &str, holds: bool) {
    if !holds {
        faults.insert(clause.to_owned());
    }
}

pub(crate) fn svg_faults(text: &str, page: &Page) -> Faults {
    let mut out = Faults::new();
    let Ok(doc) = roxmltree::Document::parse(text) else {
        out.insert("1 is SVG".into());
        return out;
    };
    let root = doc.root_element();
    let (w, h) = (mm(page.paper.width), mm(page.paper.height));
    let size = |name: &str| {
        root.attribute(name)?
            .strip_suffix("mm")?
            .parse::<f64>()
            .ok()
    };
    let near = |have: Option<f64>, want: f64| have.is_some_and(|v| (v - want).abs() < 1e-6);
    is(
        &mut out,
        "1 size in mm",
        near(size("width"), w) && near(size("height"), h),
    );
    let view: Vec<f64> = root
        .attribute("viewBox")
        .unwrap_or_default()
        .split(' ')
        .filter_map(|v| v.parse().ok())
        .collect();
    let wanted = [0.0, 0.0, w, h];
    let same = view.len() == 4 && view.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-6);
    is(&mut out, "1 viewBox", same);
    for node in doc.descendants().filter(roxmltree::Node::is_element) {
        let allowed = ["svg", "title", "desc", "metadata", "g", "path", "circle"];
        let bad = ["px", "%", "url(", "href", "http", "import"];
        let words = |s: &str| bad.iter().any(|b| s.contains(b));
        let clean = allowed.contains(&node.tag_name().name())
            && !node
                .attributes()
                .any(|a| words(a.value()) || words(a.name()));
        is(&mut out, "1 nothing but geometry", clean);
    }
    for (label, length) in bars(page) {
        let bar = doc
            .descendants()
            .find(|n| n.tag_name().name() == "title" && n.text() == Some(&label))
            .and_then(|n| n.parent()?.attribute("d"));
        let ends: Vec<f64> = bar
            .unwrap_or_default()
            .split(['M', 'L', ' '])
            .filter_map(|v| v.parse().ok())
            .collect();
        let right = ends
            .first_chunk::<4>()
            .is_some_and(|[a, b, c, d]| ((c - a).hypot(d - b) - length).abs() < 1e-3);
        is(&mut out, "1 bar", right);
    }
    out
}

/// The straight lines of a layer of a PDF page, mm.
fn pdf_lines(doc: &Document, id: lopdf::ObjectId, layer: &str) -> Vec<Vec<(f64, f64)>> {
    let Ok(content) = Content::decode(&doc.get_page_content(id)) else {
        return Vec::new();
    };
    let number = |o: &Object| match o {
        #[allow(clippy::cast_precision_loss, reason = "a page's numbers")]
        Object::Integer(i) => *i as f64,
        other => f64::from(other.as_float().unwrap_or_default()),
    };
    let (mut out, mut scale, mut nest) = (Vec::<Vec<(f64, f64)>>::new(), 0.0, Vec::<bool>::new());
    for op in content.operations {
        let n = |i: usize| op.operands.get(i).map(number).unwrap_or_default();
        match op.operator.as_str() {
            "cm" if scale == 0.0 => scale = n(0),
            "BDC" => {
                let own = op.operands[1]
                    .as_name()
                    .is_ok_and(|b| b == layer.as_bytes());
                nest.push(own || nest.last() == Some(&true));
            }
            "EMC" => drop(nest.pop()),
            "m" if nest.last() == Some(&true) => out.push(vec![(n(0), n(1))]),
            "l" if nest.last() == Some(&true) => {
                if let Some(last) = out.last_mut() {
                    last.push((n(0), n(1)));
                }
            }
            _ => {}
        }
    }
    let to_mm = scale / POINTS_PER_MM;
    out.iter_mut()
        .flatten()
        .for_each(|p| *p = (p.0 * to_mm, p.1 * to_mm));
    out
}

pub(crate) fn pdf_faults(bytes: &[u8], drawing: &Drawing) -> Faults {
    let mut out = Faults::new();
    let Ok(doc) = Document::load_mem(bytes) else {
        out.insert("2 is PDF".into());
        return out;
    };
    let scaling = doc.catalog().ok().and_then(|c| {
        let viewer = c.get(b"ViewerPreferences").ok()?.as_dict().ok()?;
        viewer.get(b"PrintScaling").ok()?.as_name().ok()
    });
    is(&mut out, "2 PrintScaling", scaling == Some(b"None"));
    let pages = doc.get_pages();
    is(&mut out, "2 pages", pages.len() == drawing.pages.len());
    for (page, id) in drawing.pages.iter().zip(pages.values()) {
        let dict = doc.get_dictionary(*id).unwrap();
        let media: Vec<f64> = dict
            .get(b"MediaBox")
            .and_then(Object::as_array)
            .map(|a| {
                a.iter()
                    .filter_map(|n| n.as_float().ok())
                    .map(f64::from)
                    .collect()
            })
            .unwrap_or_default();
        let want = [
            0.0,
            0.0,
            mm(page.paper.width) * POINTS_PER_MM,
            mm(page.paper.height) * POINTS_PER_MM,
        ];
        let same = media.len() == 4 && media.iter().zip(want).all(|(a, b)| (a - b).abs() < 1e-3);
        is(&mut out, "2 MediaBox", same);
        let others = [
            "CropBox", "TrimBox", "BleedBox", "ArtBox", "Rotate", "UserUnit",
        ];
        is(
            &mut out,
            "2 no other box",
            !others.iter().any(|o| dict.has(o.as_bytes())),
        );
        let lines = pdf_lines(&doc, *id, Meaning::Bar.layer());
        for (_, length) in bars(page) {
            // 0.001 pt is 3.5e-4 mm.
            let found = lines.iter().any(|l| {
                l.len() == 2 && ((l[1].0 - l[0].0).hypot(l[1].1 - l[0].1) - length).abs() < 3.6e-4
            });
            is(&mut out, "2 bar", found);
        }
    }
    let fonts = doc.objects.values().any(|o| {
        let dict = o
            .as_dict()
            .ok()
            .or_else(|| o.as_stream().ok().map(|s| &s.dict));
        dict.is_some_and(|d| d.has(b"Font") || d.has(b"FontFile"))
    });
    is(&mut out, "2 no fonts", !fonts);
    out
}

type Pairs = Vec<(i32, String)>;

fn pairs(text: &str) -> Option<Pairs> {
    let lines: Vec<&str> = text.lines().collect();
    if !lines.len().is_multiple_of(2) {
        return None;
    }
    lines
        .chunks(2)
        .map(|two| Some((two[0].trim().parse().ok()?, two[1].to_owned())))
        .collect()
}

fn entities(all: &Pairs) -> Vec<&[(i32, String)]> {
    let start = all
        .iter()
        .position(|p| p.0 == 2 && p.1 == "ENTITIES")
        .unwrap_or(all.len());
    let body = all.get(start + 1..).unwrap_or_default();
    let end = body
        .iter()
        .position(|p| p.0 == 0 && p.1 == "ENDSEC")
        .unwrap_or(body.len());
    body[..end].chunk_by(|_, b| b.0 != 0).collect()
}

/// The corners of everything a page draws in millimetres, y up, as another reader finds them in its SVG.
fn svg_extents(svg: &str) -> [f64; 4] {
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default()).unwrap();
    let (b, high) = (tree.root().abs_bounding_box(), tree.size().height());
    [b.left(), high - b.bottom(), b.right(), high - b.top()].map(|px| f64::from(px) * 25.4 / 96.0)
}

/// What the head of a DXF says of its extents.
fn dxf_extents(all: &Pairs) -> Option<[f64; 4]> {
    let corner = |name: &str| {
        let k = all.iter().position(|p| p.1 == name)?;
        let of = |p: &(i32, String)| p.1.trim().parse::<f64>().ok();
        Some((of(all.get(k + 1)?)?, of(all.get(k + 2)?)?))
    };
    let ((a, b), (c, d)) = (corner("$EXTMIN")?, corner("$EXTMAX")?);
    Some([a, b, c, d])
}

pub(crate) fn dxf_faults(text: &str, page: &Page, svg: &str) -> Faults {
    let mut out = Faults::new();
    is(&mut out, "3 EOF", text.trim_end().ends_with("EOF"));
    let Some(all) = pairs(text) else {
        out.insert("3 pairs".into());
        return out;
    };
    let units = all
        .iter()
        .position(|p| p.1 == "$INSUNITS")
        .and_then(|k| all.get(k + 1));
    is(
        &mut out,
        "3 $INSUNITS",
        units.is_some_and(|p| p.1.trim() == "4"),
    );
    let allowed = ["LINE", "ARC", "CIRCLE", "LWPOLYLINE"];
    let mut corners: Vec<(f64, f64)> = Vec::new();
    for entity in entities(&all) {
        is(
            &mut out,
            "3 entities",
            allowed.contains(&entity[0].1.as_str()),
        );
        let mut x = None;
        for (code, value) in entity {
            // Groups 10 to 59 are real numbers (DXF Reference, group code ranges).
            if !(10..60).contains(code) {
                continue;
            }
            let number = value.trim().parse::<f64>().ok();
            is(
                &mut out,
                "3 decimal point",
                number.is_some() && !value.contains(','),
            );
            match code {
                10 | 11 => x = number,
                20 | 21 => corners.extend(x.take().zip(number)),
                _ => {}
            }
        }
    }
    // Extents are those of the SVG turned over: everything lies on the sheet, and reaches as far
    // as what is drawn on it does.
    let (w, h) = (mm(page.paper.width), mm(page.paper.height));
    let on = corners
        .iter()
        .all(|(x, y)| (0.0..=w).contains(x) && (0.0..=h).contains(y));
    // Both readers' numbers are single: a hundredth of a millimetre on a sheet.
    let same = dxf_extents(&all)
        .is_some_and(|e| (e.iter().zip(svg_extents(svg))).all(|(a, b)| (a - b).abs() < 0.01));
    is(&mut out, "3 extents", on && same && !corners.is_empty());
    out
}

/// The straight lines of a layer of an SVG page, the right way up.
fn svg_lines(text: &str, layer: &str, height: f64) -> Vec<Vec<(f64, f64)>> {
    let doc = roxmltree::Document::parse(text).unwrap();
    let group = doc.descendants().find(|n| n.attribute("id") == Some(layer));
    let all = group
        .iter()
        .flat_map(|g| g.children())
        .filter_map(|n| n.attribute("d"));
    let mut out = Vec::new();
    for part in all.flat_map(|d| d.split('M')).filter(|p| !p.is_empty()) {
        let numbers: Vec<f64> = part
            .split(['L', 'Z', ' '])
            .filter(|v| !v.is_empty())
            .map(|v| v.parse().unwrap_or(f64::NAN))
            .collect();
        out.push(numbers.chunks(2).map(|p| (p[0], height - p[1])).collect());
    }
    out
}

fn dxf_lines(text: &str, layer: &str) -> Vec<Vec<(f64, f64)>> {
    let all = pairs(text).unwrap_or_default();
    let of = |e: &[(i32, String)], code: i32| {
        e.iter()
            .find(|p| p.0 == code)
            .and_then(|p| p.1.trim().parse::<f64>().ok())
    };
    entities(&all)
        .into_iter()
        .filter(|e| {
            e[0].1 == "LINE"
                && e.iter()
                    .any(|p| p.0 == 8 && p.1.eq_ignore_ascii_case(layer))
        })
        .filter_map(|e| Some(vec![(of(e, 10)?, of(e, 20)?), (of(e, 11)?, of(e, 21)?)]))
        .collect()
}

/// Which way the three register crosses run; nothing where they are not three.
fn hand(lines: &[Vec<(f64, f64)>]) -> Option<bool> {
    let level: Vec<(f64, f64)> = lines
        .iter()
        .filter(|l| {
            l.len() == 2 && (l[0].1 - l[1].1).abs() < 1e-6 && (l[0].0 - l[1].0).abs() > 17.0
        })
        .map(|l| ((l[0].0 + l[1].0) / 2.0, l[0].1))
        .collect();
    let [a, b, c] = *level.first_chunk::<3>()?;
    Some((b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0) > 0.0)
}

pub(crate) fn across_formats(
    drawing: &Drawing,
    page: usize,
    svg: &str,
    dxf: &str,
    pdf: &[u8],
) -> Faults {
    let mut out = Faults::new();
    let doc = Document::load_mem(pdf).unwrap();
    let id = *doc.get_pages().values().nth(page).unwrap();
    let height = mm(drawing.pages[page].paper.height);
    // DXF may run a line the other way or join two that lie on one another: its points are looked
    // for, wherever they stand.
    for meaning in [Meaning::Bar, Meaning::CentreLine] {
        let of_svg: Vec<(f64, f64)> = svg_lines(svg, meaning.layer(), height).concat();
        let of_pdf: Vec<(f64, f64)> = pdf_lines(&doc, id, meaning.layer()).concat();
        let of_dxf: Vec<(f64, f64)> = dxf_lines(dxf, meaning.layer()).concat();
        let within = |a: &[(f64, f64)], b: &[(f64, f64)]| {
            a.iter()
                .all(|p| b.iter().any(|q| (p.0 - q.0).hypot(p.1 - q.1) < 0.01))
        };
        let same = within(&of_svg, &of_pdf) && within(&of_pdf, &of_svg);
        // Lines that lie on one another are cut once: what a cutter's file has, the others have.
        // Centre lines lie on nothing: a cutter's file has every one of them.
        let all = meaning != Meaning::CentreLine || within(&of_svg, &of_dxf);
        let same = same && within(&of_dxf, &of_svg) && all;
        is(&mut out, "4 same points", same);
    }
    let said = drawing
        .readable
        .iter()
        .find(|l| l.starts_with("A to B to C"));
    if let Some(said) = said {
        let words = said.contains("anticlockwise");
        let layer = Meaning::Register.layer();
        for lines in [
            svg_lines(svg, layer, height),
            pdf_lines(&doc, id, layer),
            dxf_lines(dxf, layer),
        ] {
            is(
                &mut out,
                "4 same hand",
                hand(&lines).is_none_or(|left| left == words),
            );
        }
    }
    out
}

/// The bars measured in a picture of 300 dpi; nothing where poppler is not there.
pub(crate) fn paper_faults(pdf: &[u8], page: &Page, name: &str) -> Option<Faults> {
    let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("contract");
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join(format!("{name}.pdf"));
    std::fs::write(&file, pdf).unwrap();
    let stem = file.with_extension("");
    let ran = Command::new("pdftoppm")
        .args(["-r", "300", "-gray", "-png", "-singlefile"])
        .arg(&file)
        .arg(&stem)
        .status();
    if ran.is_err() {
        println!("skipped: pdftoppm is not here");
        return None;
    }
    let picture = image::open(stem.with_extension("png"))
        .unwrap()
        .into_luma8();
    let per_mm = 300.0 / 25.4;
    let mut out = Faults::new();
    for item in &page.items {
        let Some((_, length)) = item
            .label
            .as_deref()
            .and_then(|l| l.strip_prefix("check bar across ")?.strip_suffix(" mm"))
            .map(|l| ((), l.parse::<f64>().unwrap()))
        else {
            continue;
        };
        let Shape::Line(all) = &item.shape else {
            continue;
        };
        let (a, b) = (all[0].start, all[0].end());
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "pixels of a page"
        )]
        let pixel = |v: f64| (v * per_mm) as u32;
        // Ticks stand over the bar's line: looked for between its top and theirs.
        let row = pixel(mm(page.paper.height) - mm(a.y) - 3.3);
        let middle = |at: f64| {
            let (mut ink, mut moment) = (0.0, 0.0);
            for x in pixel(at - 1.0)..=pixel(at + 1.0) {
                let dark = 255.0 - f64::from(picture.get_pixel(x, row).0[0]);
                ink += dark;
                moment += dark * (f64::from(x) + 0.5);
            }
            if ink > 200.0 { moment / ink } else { f64::NAN }
        };
        let pixels = (middle(mm(b.x)) - middle(mm(a.x))).abs();
        is(
            &mut out,
            "5 bar on paper",
            (pixels - length * per_mm).abs() <= 1.0,
        );
    }
    Some(out)
}

fn length_of(contour: &Contour) -> f64 {
    let mut at = contour.start;
    let apart = |a: samespot_core::sheet::drawing::Spot, b: samespot_core::sheet::drawing::Spot| {
        f64::from(a.x - b.x).hypot(f64::from(a.y - b.y)) / 1000.0
    };
    let mut sum = 0.0;
    for segment in &contour.segments {
        let (to, length) = match *segment {
            Segment::Line { to } => (to, apart(at, to)),
            Segment::Arc { via, to } => (to, apart(at, via) + apart(via, to)),
            Segment::Cubic { c1, c2, to } => {
                let p =
                    |s: samespot_core::sheet::drawing::Spot| kurbo::Point::new(mm(s.x), mm(s.y));
                let curve = kurbo::CubicBez::new(p(at), p(c1), p(c2), p(to));
                (to, kurbo::ParamCurveArclen::arclen(&curve, 1e-3))
            }
        };
        sum += length;
        at = to;
    }
    sum
}

/// How much of the paint edge a page shows, mm.
pub(crate) fn paint_length(page: &Page) -> f64 {
    page.items
        .iter()
        .filter(|i| i.meaning == Meaning::PaintEdge)
        .map(|i| match &i.shape {
            Shape::Line(all) => all.iter().map(length_of).sum(),
            _ => 0.0,
        })
        .sum()
}

/// Clause 8: all sheets together show at least the whole paint edge (what lies in an overlap twice),
/// and every mark is whole on one of them.
pub(crate) fn tile_faults(drawing: &Drawing, sheet: &TemplateSheet) -> Faults {
    let mut out = Faults::new();
    let shown: f64 = drawing.pages.iter().map(paint_length).sum();
    let whole: f64 = sheet
        .paint_edges
        .iter()
        .map(|p| {
            let mut one = sheet.clone();
            one.paint_edges = vec![p.clone()];
            one.setup = samples::setup(samespot_core::sheet::Paper::Roll {
                width: samples::mm(1200.0),
            });
            samespot_core::sheet::compose(&one)
                .map_or(0.0, |d| d.pages.iter().map(paint_length).sum())
        })
        .sum();
    is(&mut out, "8 union", shown >= whole - 0.5);
    for cross in &sheet.crosses {
        let on_one = drawing.pages.iter().any(|page| {
            let strokes = page
                .items
                .iter()
                .filter(|i| i.label.as_deref() == Some(cross.letter.as_str()));
            let long = strokes.filter(|i| match &i.shape {
                Shape::Line(all) => all.iter().map(length_of).sum::<f64>() > 17.9,
                _ => false,
            });
            long.count() >= 1
        });
        is(&mut out, "8 marks", on_one);
    }
    overlap_faults(drawing, &mut out);
    out
}

/// Every stroke of the crosses of a join on a page: start and end.
fn join_strokes(page: &Page, name: &str) -> Vec<[(i32, i32); 2]> {
    let of_join = page
        .items
        .iter()
        .filter(|i| i.label.as_deref() == Some(name));
    let runs = of_join.filter_map(|i| match &i.shape {
        Shape::Line(all) => Some(all),
        _ => None,
    });
    let ends = |c: &Contour| [(c.start.x, c.start.y), (c.end().x, c.end().y)];
    runs.flatten().map(ends).collect()
}

/// What lies in an overlap is on both sheets, and as far apart: both crosses of a join, whole.
fn overlap_faults(drawing: &Drawing, out: &mut Faults) {
    let labels = drawing.pages.iter().flat_map(|p| &p.items);
    let names: BTreeSet<&str> = labels
        .filter_map(|i| i.label.as_deref())
        .filter(|l| l.starts_with("join ") && l.ends_with(" cross"))
        .collect();
    is(
        out,
        "8 overlap",
        !names.is_empty() || drawing.pages.len() < 2,
    );
    for name in names {
        let shown: Vec<_> = drawing
            .pages
            .iter()
            .map(|p| join_strokes(p, name))
            .filter(|s| s.len() >= 2)
            .collect();
        let [one, other, ..] = shown.as_slice() else {
            is(out, "8 overlap", false);
            continue;
        };
        let apart: Vec<_> = one
            .iter()
            .flatten()
            .zip(other.iter().flatten())
            .map(|(a, b)| (b.0 - a.0, b.1 - a.1))
            .collect();
        let alike = apart.windows(2).all(|w| {
            let (dx, dy) = (w[1].0 - w[0].0, w[1].1 - w[0].1);
            dx.abs() <= 1 && dy.abs() <= 1
        });
        is(out, "8 overlap", one.len() == other.len() && alike);
    }
}

/// Clause 9, by another reader: nothing of a page lies in the margin.
pub(crate) fn margin_faults(svg: &str) -> Faults {
    let mut out = Faults::new();
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default()).unwrap();
    let margin = MARGIN_MM * 96.0 / 25.4;
    let b = tree.root().abs_stroke_bounding_box();
    let size = tree.size();
    let inside = f64::from(b.left()) >= margin - 0.05
        && f64::from(b.top()) >= margin - 0.05
        && f64::from(b.right()) <= f64::from(size.width()) - margin + 0.05
        && f64::from(b.bottom()) <= f64::from(size.height()) - margin + 0.05;
    is(&mut out, "9 margin", inside);
    out
}
