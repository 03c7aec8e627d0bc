//! A client's SVG drawing on known places, at full size with a grid: where its lines come to lie is
//! worked out here by complex numbers, and read back from DXF, SVG and PDF by readers this project
//! did not write.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops where it fails"
)]

use samespot_core::answer::{FileKind, PictureSheet, SheetsMade, picture_sheet};
use samespot_core::read::marked_picture::{KnownPlace, MarkedPicture, OfPicture, Tap};
use samespot_core::sheet::Paper;
use samespot_core::units::Length;
use std::io::{Cursor, Read};

/// The page of the drawing, its own units.
const PAGE: [f64; 2] = [400.0, 300.0];
/// Millimetres on the piece for a unit of the drawing, and how far it is turned there.
const SCALE: f64 = 1.6;
const TURNED: f64 = 0.35;
/// Places of the drawing that are known, its own units from the upper left corner.
const KNOWN: [[f64; 2]; 4] = [[40.0, 260.0], [360.0, 260.0], [360.0, 40.0], [40.0, 40.0]];

/// Where a place of the drawing belongs on the piece, mm: turned and scaled, y up.
fn on_piece([x, y]: [f64; 2]) -> [f64; 2] {
    let (x, y) = (x * SCALE, -y * SCALE);
    let (sin, cos) = TURNED.sin_cos();
    [x * cos - y * sin + 55.0, x * sin + y * cos + 20.0]
}

fn drawing(body: &str) -> Vec<u8> {
    let [w, h] = PAGE;
    format!(r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}" viewBox="0 0 {w} {h}">{body}</svg>"#)
        .into_bytes()
}

/// A straight line, a circle filled, a ground whose edge nobody sees.
fn lines() -> Vec<u8> {
    drawing(
        r##"<rect width="400" height="300" fill="#fff"/><path d="M60 200L340 200" stroke="#000" fill="none" stroke-width="9"/><circle cx="200" cy="120" r="50" fill="#345" stroke="#000"/>"##,
    )
}

fn known(n: usize) -> Vec<KnownPlace> {
    let names = ["mark A", "mark B", "mark C", "mark D"];
    let place = |(name, at): (&&str, &[f64; 2])| KnownPlace {
        name: (*name).to_owned(),
        at_mm: on_piece(*at),
        within_mm: 0.3,
        tap: Tap {
            at: [at[0] * 1000.0 / PAGE[0], at[1] * 1000.0 / PAGE[0]],
            within: 1.0,
        },
    };
    names.iter().zip(&KNOWN).map(place).take(n).collect()
}

fn ask(n: usize, paper: Paper, file: Option<FileKind>) -> PictureSheet {
    PictureSheet {
        places: MarkedPicture {
            high: 750.0,
            known: known(n),
            fifth_needed: false,
            square_on: false,
            line: Vec::new(),
            smooth: false,
        },
        every: Length::from_mm(100.0),
        paper,
        of: OfPicture {
            picture: "Quay, lettering.svg".into(),
            job: "Quay puffins".into(),
            date: "2026-11-28".into(),
            ..OfPicture::default()
        },
        file,
    }
}

fn large() -> Paper {
    Paper::Typed {
        width: Length::from_mm(1100.0),
        height: Length::from_mm(1200.0),
    }
}

fn made(n: usize, paper: Paper, file: Option<FileKind>) -> (SheetsMade, Vec<u8>) {
    picture_sheet(&lines(), &ask(n, paper, file)).unwrap()
}

fn refused(bytes: &[u8], change: impl FnOnce(&mut PictureSheet)) -> String {
    let mut ask = ask(4, Paper::A3, None);
    change(&mut ask);
    picture_sheet(bytes, &ask).unwrap_err()
}

fn off(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// What of a DXF lies where, read by the crate `dxf`: crosses by their rings, lines, arcs and circles of
/// the drawing.
struct Dxf {
    rings: Vec<[f64; 2]>,
    ends: Vec<[[f64; 2]; 2]>,
    bends: Vec<([f64; 2], f64)>,
}

fn read_dxf(bytes: &[u8]) -> Dxf {
    use dxf::entities::EntityType;
    let file = dxf::Drawing::load(&mut Cursor::new(bytes)).unwrap();
    let at = |p: &dxf::Point| [p.x, p.y];
    let mut out = Dxf {
        rings: Vec::new(),
        ends: Vec::new(),
        bends: Vec::new(),
    };
    for entity in file.entities() {
        let layer = entity.common.layer.as_str();
        match (&entity.specific, layer) {
            (EntityType::Circle(c), "register-cross") => out.rings.push(at(&c.center)),
            (EntityType::Circle(c), "paint-edge") => out.bends.push((at(&c.center), c.radius)),
            (EntityType::Arc(a), "paint-edge") => out.bends.push((at(&a.center), a.radius)),
            (EntityType::Line(l), "paint-edge") => out.ends.push([at(&l.p1), at(&l.p2)]),
            (EntityType::LwPolyline(l), "paint-edge") => {
                // A bulge is the tangent of a quarter of the arc's angle (DXF reference, LWPOLYLINE).
                let n = l.vertices.len();
                let pieces = if l.is_closed() { n } else { n - 1 };
                for k in 0..pieces {
                    let (p, q) = (&l.vertices[k], &l.vertices[(k + 1) % n]);
                    let (p, q, bulge) = ([p.x, p.y], [q.x, q.y], p.bulge);
                    if bulge == 0.0 {
                        out.ends.push([p, q]);
                        continue;
                    }
                    let (chord, half) = (off(p, q), 2.0 * bulge.atan());
                    let radius = chord / 2.0 / half.sin().abs();
                    let (dx, dy) = ((q[0] - p[0]) / chord, (q[1] - p[1]) / chord);
                    let away = chord / 2.0 / half.tan();
                    let centre = [
                        f64::midpoint(p[0], q[0]) - dy * away,
                        f64::midpoint(p[1], q[1]) + dx * away,
                    ];
                    out.bends.push((centre, radius));
                }
            }
            _ => {}
        }
    }
    out
}

#[test]
fn its_lines_stay_lines_at_true_size_where_the_known_places_put_them() {
    let (made, dxf) = made(4, large(), Some(FileKind::Dxf));
    assert_eq!(made.pages, 1);
    assert_eq!(made.name, "Quay-lettering-svg full size-mm.dxf");
    let file = read_dxf(&dxf);
    // The ring of cross A is the first known place; everything else is counted from there.
    let a = on_piece(KNOWN[0]);
    let ring = file
        .rings
        .iter()
        .find(|r| {
            // From A the other three crosses are where the drawing says.
            KNOWN[1..].iter().all(|k| {
                let b = on_piece(*k);
                let wish = [r[0] + b[0] - a[0], r[1] + b[1] - a[1]];
                file.rings.iter().any(|o| off(*o, wish) < 0.002)
            })
        })
        .unwrap();
    let here = |p: [f64; 2]| {
        let q = on_piece(p);
        [ring[0] + q[0] - a[0], ring[1] + q[1] - a[1]]
    };
    let (p, q) = (here([60.0, 200.0]), here([340.0, 200.0]));
    let is_it = |e: &[[f64; 2]; 2]| {
        (off(e[0], p) < 0.01 && off(e[1], q) < 0.01) || (off(e[0], q) < 0.01 && off(e[1], p) < 0.01)
    };
    assert!(
        file.ends.iter().any(is_it),
        "{p:?} {q:?} in {:?}",
        file.ends
    );
    // The circle comes as arcs of its own middle and radius, and only once.
    let middle = here([200.0, 120.0]);
    assert!((2..=16).contains(&file.bends.len()), "{}", file.bends.len());
    for (centre, radius) in &file.bends {
        assert!(
            off(*centre, middle) < 0.06 && (radius - 50.0 * SCALE).abs() < 0.06,
            "{centre:?} {radius}"
        );
    }
    // The ground of the page is no line.
    assert_eq!(file.ends.len(), 1, "{:?}", file.ends);
}

#[test]
fn two_places_do_and_are_said_to_prove_nothing() {
    let (made, svg) = made(2, large(), Some(FileKind::Svg));
    let svg = String::from_utf8(svg).unwrap();
    assert!(svg.contains("Nothing proves the two known places"));
    assert!(!svg.contains("<image"), "lines, no picture");
    // Two taps and places of 0.5 mm and less: by 4 of them it is surer.
    let (four, _) = self::made(4, large(), Some(FileKind::Pdf));
    assert!(four.worst_within < made.worst_within && made.middle_within < 1.0);
}

#[test]
fn over_many_sheets_the_line_is_whole_and_the_preview_is_what_is_exported() {
    let (looked, pages) = made(3, Paper::A4, None);
    let pages: Vec<String> = serde_json::from_slice(&pages).unwrap();
    assert!(pages.len() > 4 && looked.pages == pages.len());
    let (_, zip) = made(3, Paper::A4, Some(FileKind::Svg));
    let mut zip = zip::ZipArchive::new(Cursor::new(zip)).unwrap();
    assert_eq!(zip.len(), pages.len());
    for k in 0..zip.len() {
        let mut text = String::new();
        zip.by_index(k).unwrap().read_to_string(&mut text).unwrap();
        assert!(pages.contains(&text), "sheet {k} is not what was shown");
    }
    // A cutter gets the line in one piece, whatever the paper.
    let (_, dxf) = made(3, Paper::A4, Some(FileKind::Dxf));
    let ends = read_dxf(&dxf).ends;
    let long: f64 = ends.iter().map(|[p, q]| off(*p, *q)).sum();
    let whole = 280.0 * SCALE;
    assert!((long - whole).abs() < 0.01, "{long} of {whole}");
    let (_, pdf) = made(3, Paper::A4, Some(FileKind::Pdf));
    let read = lopdf::Document::load_mem(&pdf).unwrap();
    assert_eq!(read.get_pages().len(), pages.len());
}

#[test]
fn what_fits_no_drawing_to_scale_is_refused_in_words() {
    let file = lines();
    let says = |why: String, words: &str| assert!(why.contains(words), "{why}");
    says(
        refused(&file, |a| a.places.known.truncate(1)),
        "two places of the drawing",
    );
    says(
        refused(&file, |a| a.places.known[1].at_mm[0] += 15.0),
        "not true to scale",
    );
    says(
        refused(&file, |a| {
            for place in &mut a.places.known {
                place.at_mm[0] = -place.at_mm[0];
            }
        }),
        "mirror image",
    );
    says(
        refused(&file, |a| {
            a.places.fifth_needed = true;
            a.places.known.truncate(2);
        }),
        "tap a third",
    );
    says(
        refused(&drawing(r#"<text x="9" y="9">QUAY</text>"#), |_| {}),
        "turned into paths",
    );
    says(
        refused(
            br#"<svg xmlns="http://www.w3.org/2000/svg"><path d="M1 1H9V9z"/></svg>"#,
            |_| {},
        ),
        "how large its page is",
    );
    says(
        refused(b"<html>no drawing</html>", |_| {}),
        "neither a picture",
    );
    says(refused(&file, |a| a.file = Some(FileKind::Zip)), "of a run");
    says(
        refused(&file, |a| a.places.known[0].tap.at[0] = f64::NAN),
        "outside of the picture",
    );
    let many: String = (0..100_001)
        .map(|k| format!("L{} {}", 10 + k % 380, 10 + (k / 380) % 270))
        .collect();
    let path = format!(r#"<path d="M1 1{many}" stroke="black" fill="none"/>"#);
    says(
        refused(&drawing(&path.repeat(2)), |_| {}),
        "save it simplified",
    );
}

#[test]
fn what_is_left_out_of_the_file_is_said_on_sheet_and_screen() {
    let body = r#"<path d="M60 200H340" stroke="red"/><text x="9" y="20">QUAY</text><path d="M500 500h9v9z"/><script>1</script>"#;
    let (made, svg) = picture_sheet(&drawing(body), &ask(3, large(), Some(FileKind::Svg))).unwrap();
    let svg = String::from_utf8(svg).unwrap();
    assert!(svg.contains("1 text that is not outlined, 1 shape outside the page"));
    let said: Vec<(&str, usize)> = (made.left_out.iter())
        .map(|l| (l.what.as_str(), l.count))
        .collect();
    for one in [("script", 1), ("texts", 1), ("outside", 1)] {
        assert!(said.contains(&one), "{said:?}");
    }
}
