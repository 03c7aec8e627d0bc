//! The exporter contract (shared design, page 10 §2.4, with page 11's corrections), clause by
//! clause: what inspects a file finds nothing in a sound one, and names the clause in a copy of it
//! that was damaged in that respect and no other. The inspectors read with roxmltree, usvg, lopdf
//! and poppler, or group by group.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops where it fails"
)]

#[path = "contract/inspect.rs"]
mod inspect;
#[path = "contract/printed_screen.rs"]
mod printed_screen;
#[path = "sheet_samples.rs"]
mod samples;

use inspect::{
    Faults, across_formats, dxf_faults, paper_faults, pdf_faults, svg_faults, tile_faults,
};
use lopdf::content::Content;
use lopdf::{Dictionary, Document, Object};
use samespot_core::sheet::drawing::{Drawing, Item, Meaning, Page, Shape, Spot};
use samespot_core::sheet::{Paper, compose, reference};
use samespot_core::write::dxf::dxf_page;
use samespot_core::write::pdf::{Part, pdf};
use samespot_core::write::svg::svg_page;

fn sound() -> Drawing {
    compose(&samples::eye(Paper::A3)).unwrap()
}

fn written(drawing: &Drawing) -> Vec<u8> {
    let part = Part {
        bookmark: &drawing.title,
        drawing,
    };
    pdf(&drawing.title, &[part]).unwrap()
}

/// The damage is seen, and nothing else is said.
#[track_caller]
fn only(faults: &Faults, clause: &str, damage: &str) {
    assert!(
        faults.contains(clause),
        "{damage}: {clause} is not among {faults:?}"
    );
    assert_eq!(faults.len(), 1, "{damage}: {faults:?}");
}

/// At least that clause: some damage breaks what other clauses read.
#[track_caller]
fn among(faults: &Faults, clause: &str, damage: &str) {
    assert!(
        faults.contains(clause),
        "{damage}: {clause} is not among {faults:?}"
    );
}

#[test]
fn sound_files_break_no_clause() {
    for sheet in [
        samples::eye(Paper::A3),
        samples::badge(Paper::Letter),
        samples::panel(Paper::A4),
        samples::band(Paper::A4),
    ] {
        let drawing = compose(&sheet).unwrap();
        let none = Faults::new();
        assert_eq!(
            pdf_faults(&written(&drawing), &drawing),
            none,
            "{}",
            drawing.title
        );
        assert_eq!(tile_faults(&drawing, &sheet), none, "{}", drawing.title);
        for (i, page) in drawing.pages.iter().enumerate() {
            let svg = svg_page(&drawing, i).unwrap();
            let dxf = dxf_page(&drawing, i).unwrap();
            assert_eq!(svg_faults(&svg, page), none, "{}", page.name);
            assert_eq!(dxf_faults(&dxf, page, &svg), none, "{}", page.name);
        }
        assert_eq!(
            across_formats(
                &drawing,
                0,
                &svg_page(&drawing, 0).unwrap(),
                &dxf_page(&drawing, 0).unwrap(),
                &written(&drawing)
            ),
            none
        );
    }
}

/// Clause 1.
#[test]
fn a_damaged_svg_is_refused() {
    only(
        &svg_faults("<svg", &sound().pages[0]),
        "1 is SVG",
        "cut off",
    );
    let drawing = sound();
    let page = &drawing.pages[0];
    let svg = svg_page(&drawing, 0).unwrap();
    let (w, h) = (page.paper.width / 1000, page.paper.height / 1000);
    let changed = |from: &str, to: &str| {
        assert!(svg.contains(from), "{from} is not in the file");
        svg_faults(&svg.replacen(from, to, 1), page)
    };
    only(
        &changed(&format!("width=\"{w}mm\""), &format!("width=\"{w}.1mm\"")),
        "1 size in mm",
        "a width off by 0.1",
    );
    only(
        &changed(&format!("width=\"{w}mm\""), &format!("width=\"{w}\"")),
        "1 size in mm",
        "a width without its unit",
    );
    only(
        &changed(
            &format!("viewBox=\"0 0 {w} {h}\""),
            &format!("viewBox=\"0 0 {w} {h}.5\""),
        ),
        "1 viewBox",
        "a view of another size",
    );
    // A bar's path holds its title.
    let bar = svg.split("check bar across").next().unwrap();
    let d = bar.rsplit("d=\"").next().unwrap();
    let d = d.split('"').next().unwrap();
    // From `M x y` straight to `L x y`: the second x.
    let (start, end) = d.split_once('L').unwrap();
    let (x, y) = end.split_once(' ').unwrap();
    let longer = x.parse::<f64>().unwrap() + 0.002;
    let other = format!("{start}L{longer:.3} {y}");
    only(
        &changed(&format!("d=\"{d}\""), &format!("d=\"{other}\"")),
        "1 bar",
        "a bar 2 µm too long",
    );
    for (damage, element) in [
        ("a script", "<script>1</script>"),
        ("a style that is fetched", "<style>@import 'x.css';</style>"),
        ("live text", "<text>7</text>"),
        ("a picture", "<image/>"),
        ("something from elsewhere", "<use href=\"#a\"/>"),
        ("a size in px", "<g transform=\"translate(1px)\"/>"),
        ("a share", "<g opacity=\"50%\"/>"),
    ] {
        among(
            &changed("</svg>", &format!("{element}</svg>")),
            "1 nothing but geometry",
            damage,
        );
    }
}

fn pdf_with(drawing: &Drawing, damage: impl Fn(&mut Document)) -> Faults {
    let mut doc = Document::load_mem(&written(drawing)).unwrap();
    damage(&mut doc);
    let mut bytes = Vec::new();
    doc.save_to(&mut bytes).unwrap();
    pdf_faults(&bytes, drawing)
}

fn page_of(doc: &mut Document) -> &mut Dictionary {
    let id = *doc.get_pages().values().next().unwrap();
    doc.get_object_mut(id).unwrap().as_dict_mut().unwrap()
}

fn box_of(w: f64, h: f64) -> Object {
    #[allow(clippy::cast_possible_truncation, reason = "the reader's own type")]
    let real = |v: f64| Object::Real(v as f32);
    Object::Array(vec![real(0.0), real(0.0), real(w), real(h)])
}

/// Changes the operands of the first of an operator that a test picks.
fn content(doc: &mut Document, change: impl Fn(&mut Vec<lopdf::content::Operation>)) {
    let id = *doc.get_pages().values().next().unwrap();
    let mut all = Content::decode(&doc.get_page_content(id)).unwrap();
    change(&mut all.operations);
    let bytes = all.encode().unwrap();
    doc.change_page_content(id, bytes).unwrap();
}

/// Clause 2.
#[test]
fn a_damaged_pdf_is_refused() {
    let drawing = sound();
    let (w, h) = (297.0 * 72.0 / 25.4, 420.0 * 72.0 / 25.4);
    assert_eq!(
        pdf_with(&drawing, |_| ()),
        Faults::new(),
        "saved again and sound"
    );
    only(
        &pdf_faults(b"%PDF-1.7\ncut off", &drawing),
        "2 is PDF",
        "cut off",
    );
    only(
        &pdf_with(&drawing, |d| {
            page_of(d).set("MediaBox", box_of(w + 0.01, h))
        }),
        "2 MediaBox",
        "a page 0.01 pt wider",
    );
    only(
        &pdf_with(&drawing, |d| page_of(d).set("CropBox", box_of(w - 20.0, h))),
        "2 no other box",
        "a smaller crop",
    );
    only(
        &pdf_with(&drawing, |d| page_of(d).set("Rotate", Object::Integer(90))),
        "2 no other box",
        "a page turned",
    );
    only(
        &pdf_with(&drawing, |d| page_of(d).set("UserUnit", Object::Real(2.0))),
        "2 no other box",
        "a user unit",
    );
    only(
        &pdf_with(&drawing, |d| {
            let catalog = d.catalog_mut().unwrap();
            let mut viewer = Dictionary::new();
            viewer.set("PrintScaling", Object::Name(b"AppDefault".to_vec()));
            catalog.set("ViewerPreferences", Object::Dictionary(viewer));
        }),
        "2 PrintScaling",
        "printing as the program likes",
    );
    let mut two = drawing.clone();
    two.pages.push(two.pages[0].clone());
    only(
        &pdf_faults(&written(&drawing), &two),
        "2 pages",
        "a page missing",
    );
    only(
        &pdf_with(&drawing, |d| {
            let mut font = Dictionary::new();
            font.set("Type", Object::Name(b"Font".to_vec()));
            let mut all = Dictionary::new();
            all.set("F1", Object::Dictionary(font));
            let mut resources = Dictionary::new();
            resources.set("Font", Object::Dictionary(all));
            d.add_object(Object::Dictionary(resources));
        }),
        "2 no fonts",
        "a font",
    );
    among(
        &pdf_with(&drawing, |d| {
            content(d, |all| {
                let cm = all.iter_mut().find(|o| o.operator == "cm").unwrap();
                cm.operands[0] = Object::Real(0.002_834_6 * 0.96);
            });
        }),
        "2 bar",
        "everything drawn at 96 %",
    );
}

/// Clause 3.
#[test]
fn a_damaged_dxf_is_refused() {
    let drawing = sound();
    let page = &drawing.pages[0];
    let dxf = dxf_page(&drawing, 0).unwrap();
    let svg = svg_page(&drawing, 0).unwrap();
    let dxf_faults = |text: &str, page: &Page| dxf_faults(text, page, &svg);
    let line = if dxf.contains("\r\n") { "\r\n" } else { "\n" };
    let of = |lines: &[&str]| lines.join(line);
    let changed = |from: &[&str], to: &[&str]| {
        let from = of(from);
        assert!(dxf.contains(&from), "{from} is not in the file");
        dxf_faults(&dxf.replacen(&from, &of(to), 1), page)
    };
    let units: Vec<&str> = dxf
        .split(line)
        .skip_while(|l| *l != "$INSUNITS")
        .take(3)
        .collect();
    only(
        &changed(&units, &[units[0], units[1], "1"]),
        "3 $INSUNITS",
        "inches",
    );
    among(
        &dxf_faults(dxf.trim_end().trim_end_matches("EOF"), page),
        "3 EOF",
        "cut short",
    );
    among(
        &dxf_faults(&dxf.replacen(line, &format!("{line}999{line}"), 1), page),
        "3 pairs",
        "a code without a value",
    );
    let entities = dxf.find("ENTITIES").unwrap();
    let (head, body) = dxf.split_at(entities);
    let spline = format!("{head}{}", body.replacen("LWPOLYLINE", "SPLINE", 1));
    among(&dxf_faults(&spline, page), "3 entities", "a spline");
    let at = body.find('.').unwrap();
    let comma = format!("{head}{},{}", &body[..at], &body[at + 1..]);
    among(&dxf_faults(&comma, page), "3 decimal point", "a comma");
    // One line's beginning a millimetre off the sheet: groups and values stand by turns.
    let mut lines: Vec<String> = dxf.split(line).map(str::to_owned).collect();
    let start = lines.iter().position(|l| l == "ENTITIES").unwrap() + 1;
    let k = (start..lines.len())
        .step_by(2)
        .find(|k| lines[*k].trim() == "10")
        .unwrap();
    lines[k + 1] = "-1.0".into();
    only(
        &dxf_faults(&lines.join(line), page),
        "3 extents",
        "a point off the sheet",
    );
    // Turned over as SVG is: all of it is on the sheet, and reaches elsewhere.
    let reach: Vec<&str> = dxf
        .split(line)
        .skip_while(|l| *l != "$EXTMAX")
        .take(5)
        .collect();
    let other = [reach[0], reach[1], reach[2], reach[3], "400.000"];
    only(
        &changed(&reach, &other),
        "3 extents",
        "a head that says it reaches elsewhere",
    );
}

fn with_item(
    drawing: &Drawing,
    pick: impl Fn(&Item) -> bool,
    change: impl Fn(&mut Item),
) -> Drawing {
    let mut other = drawing.clone();
    let item = other.pages[0].items.iter_mut().find(|i| pick(i)).unwrap();
    change(item);
    other
}

fn is_bar(item: &Item) -> bool {
    item.label
        .as_deref()
        .is_some_and(|l| l.starts_with("check bar across"))
}

fn moved(item: &mut Item, by: Spot) {
    if let Shape::Line(all) = &mut item.shape {
        for c in all {
            *c = c.shifted(by);
        }
    }
}

/// Clause 4: one file says something else than the other two.
#[test]
fn files_that_differ_are_refused() {
    let drawing = sound();
    let other = with_item(&drawing, is_bar, |i| moved(i, Spot::new(0, 20)));
    let (svg, dxf, pdf) = (
        |d: &Drawing| svg_page(d, 0).unwrap(),
        |d: &Drawing| dxf_page(d, 0).unwrap(),
        written,
    );
    for (damage, a, b, c) in [
        ("SVG", &other, &drawing, &drawing),
        ("DXF", &drawing, &other, &drawing),
        ("PDF", &drawing, &drawing, &other),
    ] {
        only(
            &across_formats(&drawing, 0, &svg(a), &dxf(b), &pdf(c)),
            "4 same points",
            &format!("a bar 0.02 mm higher in {damage} alone"),
        );
    }
    // A line that one reader drops without a word, as one does that knows another layer's name.
    let whole = dxf(&drawing);
    let at = whole.find("ENTITIES").unwrap();
    let (head, body) = whole.split_at(at);
    let layer = Meaning::CentreLine.layer();
    let lost = format!("{head}{}", body.replacen(layer, "OTHER", 1));
    assert_ne!(lost, whole);
    only(
        &across_formats(&drawing, 0, &svg(&drawing), &lost, &pdf(&drawing)),
        "4 same points",
        "a centre line missing in DXF alone",
    );
    // Turned over: the words of the sheet and the crosses of the file say different hands.
    let mut sheet = samples::eye(Paper::A3);
    for cross in &mut sheet.crosses {
        cross.place = samples::at(-cross.place.x_mm(), cross.place.y_mm());
    }
    let turned = compose(&sheet).unwrap();
    among(
        &across_formats(&drawing, 0, &svg(&turned), &dxf(&turned), &pdf(&turned)),
        "4 same hand",
        "crosses the other way round",
    );
}

/// Clause 5, where poppler is there.
#[test]
fn a_print_at_another_size_is_refused() {
    let drawing = sound();
    let Some(faults) = paper_faults(&written(&drawing), &drawing.pages[0], "sound") else {
        return;
    };
    assert_eq!(faults, Faults::new());
    // A bar two pixels short (0.17 mm) with its tick, its figure as before.
    let low = drawing_bar_start(&drawing);
    let mut short = drawing.clone();
    for item in &mut short.pages[0].items {
        if item.meaning != Meaning::Bar {
            continue;
        }
        if let Shape::Line(all) = &mut item.shape {
            for c in all.iter_mut().filter(|c| c.start.x == low) {
                if c.end().x == low {
                    *c = c.shifted(Spot::new(170, 0));
                } else {
                    c.start = c.start.shifted(Spot::new(170, 0));
                }
            }
        }
    }
    let faults = paper_faults(&written(&short), &drawing.pages[0], "short").unwrap();
    only(&faults, "5 bar on paper", "a bar 0.17 mm short");
}

fn drawing_bar_start(drawing: &Drawing) -> i32 {
    let bar = drawing.pages[0].items.iter().find(|i| is_bar(i)).unwrap();
    match &bar.shape {
        Shape::Line(all) => all[0].start.x,
        _ => panic!("a bar is lines"),
    }
}

/// Clauses 6 and 7: the same bytes, but for a declared day. (Locales: `writers.rs` writes in
/// processes of three; here a number written with a comma is seen by clause 3's inspector.)
#[test]
fn other_bytes_are_seen() {
    let drawing = sound();
    assert_eq!(written(&drawing), written(&drawing));
    assert_eq!(svg_page(&drawing, 0), svg_page(&drawing, 0));
    let mut sheet = samples::eye(Paper::A3);
    sheet.words.date = "13 Nov 2025".into();
    let next_day = compose(&sheet).unwrap();
    assert_ne!(written(&drawing), written(&next_day), "the day is printed");
    assert_eq!(
        reference(&drawing, None, 2),
        reference(&next_day, None, 2),
        "and is declared"
    );
    let other = with_item(&drawing, is_bar, |i| moved(i, Spot::new(1, 0)));
    assert_ne!(
        reference(&drawing, None, 2),
        reference(&other, None, 2),
        "a thousandth is not"
    );
}

/// Clause 8.
#[test]
fn tiles_that_lose_something_are_refused() {
    let sheet = samples::panel(Paper::A4);
    let drawing = compose(&sheet).unwrap();
    assert!(drawing.pages.len() > 1);
    for k in 0..drawing.pages.len() {
        let mut lost = drawing.clone();
        let gone = lost.pages.remove(k);
        let has_paint = inspect::paint_length(&gone) > 0.0;
        if has_paint {
            among(
                &tile_faults(&lost, &sheet),
                "8 union",
                &format!("sheet {} lost", k + 1),
            );
        }
    }
    let mut no_mark = drawing.clone();
    let letter = sheet.crosses[0].letter.clone();
    for page in &mut no_mark.pages {
        page.items
            .retain(|i| i.label.as_deref() != Some(letter.as_str()));
    }
    only(
        &tile_faults(&no_mark, &sheet),
        "8 marks",
        "a cross on no sheet",
    );
    let is_join = |i: &Item| {
        let label = i.label.as_deref().unwrap_or_default();
        label.starts_with("join ") && label.ends_with(" cross")
    };
    // A sheet that ends where its neighbour begins: nothing left to lay cross on cross.
    let mut short = drawing.clone();
    short.pages[0].items.retain(|i| !is_join(i));
    only(
        &tile_faults(&short, &sheet),
        "8 overlap",
        "a sheet without its share of the overlap",
    );
    // An overlap drawn 0.2 mm narrower on one sheet than on the other.
    let mut narrow = drawing;
    let first = narrow.pages[0].items.iter_mut().find(|i| is_join(i));
    moved(first.unwrap(), Spot::new(200, 0));
    only(
        &tile_faults(&narrow, &sheet),
        "8 overlap",
        "a cross of a join 0.2 mm off on one sheet",
    );
}

/// Clause 9.
#[test]
fn what_lies_in_the_margin_is_refused() {
    let drawing = sound();
    let low = drawing_bar_start(&drawing);
    let out = with_item(&drawing, is_bar, |i| moved(i, Spot::new(4000 - low, 0)));
    among(
        &inspect::margin_faults(&svg_page(&out, 0).unwrap()),
        "9 margin",
        "a bar 4 mm from the edge",
    );
    assert_eq!(
        inspect::margin_faults(&svg_page(&drawing, 0).unwrap()),
        Faults::new()
    );
}

/// Clause 10. There is no printing of a page but by the browser's own menu: no bar is typed that would make
/// it true. (`browser/rack.rs` prints screens and reads what came out.)
#[test]
fn a_screen_that_prints_as_if_it_were_to_scale_is_refused() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../public/styles");
    let mut printed = String::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        printed.push_str(text.find("@media print").map_or("", |at| &text[at..]));
    }
    assert_eq!(printed_screen::print_faults(&printed), Faults::new());
    let changed = |from: &str, to: &str| {
        assert!(printed.contains(from), "{from} is not there");
        printed_screen::print_faults(&printed.replacen(from, to, 1))
    };
    for (damage, from, to, clause) in [
        (
            "no such rule",
            "@media print",
            "@media screen",
            "10 warning",
        ),
        (
            "the drawing shown",
            "none !important",
            "block",
            "10 nothing but the warning",
        ),
        (
            "one kind of screen left out",
            "main canvas",
            "main video",
            "10 nothing but the warning",
        ),
        ("other words", "NOT TO SCALE.", "Draft.", "10 warning"),
        ("too small to be seen", "32pt", "6pt", "10 warning"),
    ] {
        among(&changed(from, to), clause, damage);
    }
}
