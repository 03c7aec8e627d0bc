//! A picture on known places, printed at full size with a grid: the photograph is taken by a pinhole
//! camera ray by ray, and what comes of it is read back by readers this project did not write.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a test stops where it fails; points of pictures"
)]

use base64::prelude::{BASE64_STANDARD, Engine as _};
use image::ImageEncoder;
use samespot_core::answer::{FileKind, PictureSheet, picture_drawing, picture_sheet};
use samespot_core::read::marked_picture::{KnownPlace, MarkedPicture, OfPicture, Tap};
use samespot_core::read::photo::{FlattenError, PhotoError, flattened};
use samespot_core::sheet::drawing::{Drawing, Meaning, Page, Shape, Spot};
use samespot_core::sheet::{Greys, Paper};
use samespot_core::units::Length;
use samespot_core::write::dxf::{dxf_page, dxf_r12_page};
use samespot_core::write::pdf::{Part, pdf};
use samespot_core::write::svg::svg_page;
use samespot_tests::photograph::{Camera, Sheet, pen};
use std::path::PathBuf;
use std::process::Command;

const WIDE: f64 = 400.0;
const HIGH: f64 = 300.0;
/// Known places, mm from the lower left of what is photographed.
const FOUR: [(&str, [f64; 2]); 4] = [
    ("mark A", [20.0, 20.0]),
    ("mark B", [380.0, 20.0]),
    ("mark C", [380.0, 280.0]),
    ("mark D", [20.0, 280.0]),
];
/// Middles of black squares, 10 mm a side.
const SQUARES: [[f64; 2]; 4] = [[70.0, 70.0], [270.0, 170.0], [170.0, 245.0], [330.0, 60.0]];

/// A wide lens, held well askew.
const CAMERA: Camera = Camera {
    size: (1500, 1100),
    focal: 1500.0,
    away: 520.0,
    turned: [14.0, -11.0, 4.0],
    noise: 0.0,
    ..Camera::held()
};

fn photographed() -> Sheet {
    let mut sheet = Sheet {
        wide: 1600,
        high: 1200,
        points: vec![250; 1600 * 1200],
        per_mm: 4.0,
    };
    sheet.draw(|x, y| {
        let near = |s: &[f64; 2]| pen((x - s[0]).abs().max((y - s[1]).abs()), 10.0);
        SQUARES.iter().map(near).fold(0.0, f64::max)
    });
    sheet
}

/// Where the camera sees a place, thousandths of the picture's width from its upper left.
fn seen(camera: &Camera, [x, y]: [f64; 2]) -> [f64; 2] {
    let [a, b, c] = camera.turned.map(f64::to_radians);
    // As `Camera` turns: right, down and the sheet's normal, in turn.
    let turn = |(x, y, z): (f64, f64, f64)| {
        let (x, y) = (x * c.cos() - y * c.sin(), x * c.sin() + y * c.cos());
        let (x, z) = (x * b.cos() + z * b.sin(), z * b.cos() - x * b.sin());
        let (y, z) = (y * a.cos() - z * a.sin(), y * a.sin() + z * a.cos());
        (x, y, z)
    };
    let at = turn((x - WIDE / 2.0, HIGH / 2.0 - y, 0.0));
    let (w, h) = (camera.size.0 as f64, camera.size.1 as f64);
    let k = camera.focal / (at.2 + camera.away);
    [
        (w / 2.0 + at.0 * k) * 1000.0 / w,
        (h / 2.0 + at.1 * k) * 1000.0 / w,
    ]
}

fn places(camera: &Camera) -> MarkedPicture {
    MarkedPicture {
        high: camera.size.1 as f64 * 1000.0 / camera.size.0 as f64,
        known: FOUR
            .iter()
            .map(|(name, at)| KnownPlace {
                name: (*name).to_owned(),
                at_mm: *at,
                within_mm: 0.5,
                tap: Tap {
                    at: seen(camera, *at),
                    within: 1.0,
                },
            })
            .collect(),
        fifth_needed: false,
        square_on: false,
        line: Vec::new(),
        smooth: false,
    }
}

fn ask(every: f64, paper: Paper) -> PictureSheet {
    PictureSheet {
        places: places(&CAMERA),
        every: Length::from_mm(every),
        paper,
        of: OfPicture {
            picture: "client.png".into(),
            job: "Quay puffins".into(),
            serves: vec!["1".into(), "2".into()],
            date: "2026-11-28".into(),
            ..OfPicture::default()
        },
        file: Some(FileKind::Pdf),
    }
}

/// The middle of what is dark but no line within 8 mm of a place, mm; by points `[middle, brightness]`.
fn middle_of(points: impl Iterator<Item = ([f64; 2], u8)>, about: [f64; 2]) -> [f64; 2] {
    let (mut sum, mut x, mut y) = (0.0, 0.0, 0.0);
    for (at, bright) in points {
        let near = (at[0] - about[0]).abs() < 8.0 && (at[1] - about[1]).abs() < 8.0;
        if near && (85..190).contains(&bright) {
            let dark = 255.0 - f64::from(bright);
            (sum, x, y) = (sum + dark, x + at[0] * dark, y + at[1] * dark);
        }
    }
    assert!(sum > 0.0, "nothing dark at {about:?}");
    [x / sum, y / sum]
}

fn each(picture: &Greys) -> impl Iterator<Item = ([f64; 2], u8)> {
    let mm = |um: i32| f64::from(um) / 1000.0;
    let (left, top, point) = (mm(picture.low.x), mm(picture.top().y), mm(picture.point_um));
    let wide = picture.wide as usize;
    picture.points.all().iter().enumerate().map(move |(k, v)| {
        let (column, row) = ((k % wide) as f64, (k / wide) as f64);
        (
            [left + (column + 0.5) * point, top - (row + 0.5) * point],
            *v,
        )
    })
}

fn picture_of(page: &Page) -> Option<&Greys> {
    page.items.iter().find_map(|i| match &i.shape {
        Shape::Picture(picture) => Some(picture),
        _ => None,
    })
}

/// The middle of a register cross on a page.
fn cross(page: &Page, letter: &str) -> Option<Spot> {
    let mut all = page
        .items
        .iter()
        .filter(|i| i.meaning == Meaning::Register && i.label.as_deref() == Some(letter));
    all.find_map(|i| match i.shape {
        Shape::Circle { centre, .. } => Some(centre),
        _ => None,
    })
}

fn scratch(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name)
}

#[test]
fn a_photograph_taken_askew_is_laid_flat_at_true_size() {
    let flat = flattened(&CAMERA.png(&photographed()), &places(&CAMERA)).unwrap();
    for square in SQUARES {
        let [x, y] = middle_of(each(&flat.picture), square);
        let off = (x - square[0]).hypot(y - square[1]);
        assert!(off < 0.12, "{square:?}: {off}");
    }
    // A point is no finer than the picture tells, and the corners are no surer than the middle.
    assert!((127..300).contains(&flat.picture.point_um));
    assert!(flat.middle_within > 0.3 && flat.middle_within < flat.worst_within);
    assert_eq!((flat.fifth, flat.square_on), (None, None));
    // Black is pale enough to draw over.
    assert!(flat.picture.points.all().iter().all(|v| *v >= 96));
    // The same bytes each time.
    let again = flattened(&CAMERA.png(&photographed()), &places(&CAMERA)).unwrap();
    assert_eq!(again.picture, flat.picture);
}

#[test]
fn its_sheets_are_the_picture_cut_up_each_part_where_it_belongs() {
    let flat = flattened(&CAMERA.png(&photographed()), &places(&CAMERA)).unwrap();
    let drawing = picture_drawing(&flat, &ask(50.0, Paper::A4)).unwrap();
    assert!(drawing.pages.len() >= 4, "{}", drawing.pages.len());
    let mut proved = 0;
    let mut shown = 0_usize;
    for page in &drawing.pages {
        let Some(part) = picture_of(page) else {
            continue;
        };
        shown += part.points.all().len();
        for (name, at) in FOUR {
            let letter = name.strip_prefix("mark ").unwrap();
            let Some(here) = cross(page, letter) else {
                continue;
            };
            // From the page back into the plane.
            let um = |mm: f64| (mm * 1000.0).round() as i32;
            let back = Spot::new(um(at[0]) - here.x, um(at[1]) - here.y);
            let back = part.shifted(back);
            let (dx, dy) = (
                (back.low.x - flat.picture.low.x).rem_euclid(flat.picture.point_um),
                (back.low.y - flat.picture.low.y).rem_euclid(flat.picture.point_um),
            );
            // The cross itself is on the grid of whole micrometres.
            let whole = |d: i32| d.min(flat.picture.point_um - d) <= 1;
            assert!(whole(dx) && whole(dy), "{}: {dx} {dy}", page.name);
            let two = Spot::new(2, 2);
            let same = flat
                .picture
                .between(
                    Spot::new(back.low.x - two.x, back.low.y - two.y),
                    back.top().shifted(two),
                )
                .unwrap();
            assert_eq!(same.points, part.points, "{}", page.name);
            proved += 1;
        }
    }
    assert!(proved >= 4, "{proved}");
    // Overlaps and all, nothing of it is missing.
    assert!(shown >= flat.picture.points.all().len() * 98 / 100);
    let said = drawing.readable.join("\n");
    for words in [
        "A grid line every 50 mm",
        "at its worst corner",
        "Nothing proves the four",
    ] {
        assert!(said.contains(words), "{said}");
    }
}

/// All on one sheet, large enough.
fn on_one() -> Drawing {
    let flat = flattened(&CAMERA.png(&photographed()), &places(&CAMERA)).unwrap();
    let paper = Paper::Typed {
        width: Length::from_mm(700.0),
        height: Length::from_mm(900.0),
    };
    let drawing = picture_drawing(&flat, &ask(100.0, paper)).unwrap();
    assert_eq!(drawing.pages.len(), 1);
    drawing
}

/// Where a square should be on the page, mm from its lower left.
fn expected(page: &Page, square: [f64; 2]) -> [f64; 2] {
    let a = cross(page, "A").unwrap();
    let [x, y] = FOUR[0].1;
    [
        f64::from(a.x) / 1000.0 + square[0] - x,
        f64::from(a.y) / 1000.0 + square[1] - y,
    ]
}

#[test]
fn a_pdf_and_an_svg_of_it_are_rendered_true_by_others() {
    let drawing = on_one();
    let page = &drawing.pages[0];
    let part = Part {
        bookmark: "picture",
        drawing: &drawing,
    };
    let bytes = pdf("picture", &[part]).unwrap();
    let file = scratch("picture.pdf");
    std::fs::write(&file, &bytes).unwrap();
    let read = lopdf::Document::load_mem(&bytes).unwrap();
    let images = read.objects.values().filter_map(|o| o.as_stream().ok());
    let is_image = |s: &&lopdf::Stream| {
        s.dict.get(b"Subtype").and_then(lopdf::Object::as_name).ok() == Some(&b"Image"[..])
    };
    assert_eq!(images.filter(is_image).count(), 1);
    let svg = scratch("picture.svg");
    std::fs::write(&svg, svg_page(&drawing, 0).unwrap()).unwrap();
    let from_pdf = scratch("picture-pdf.png");
    let from_svg = scratch("picture-svg.png");
    let mut looked = 0;
    let ran = Command::new("pdftoppm")
        .args(["-r", "127", "-gray", "-png", "-singlefile"])
        .arg(&file)
        .arg(from_pdf.with_extension(""))
        .status();
    let ran_svg = Command::new("rsvg-convert")
        .args([
            "--dpi-x", "127", "--dpi-y", "127", "-b", "white", "-u", "-o",
        ])
        .arg(&from_svg)
        .arg(&svg)
        .status();
    for (name, ran, png) in [("pdf", ran, from_pdf), ("svg", ran_svg, from_svg)] {
        if ran.is_err() {
            println!("skipped: no renderer for {name}");
            continue;
        }
        let shown = image::open(&png).unwrap().into_luma8();
        let per_mm = 5.0;
        let high = f64::from(page.paper.height) / 1000.0;
        for square in SQUARES {
            let about = expected(page, square);
            let all = shown.enumerate_pixels().map(|(x, y, v)| {
                let at = [
                    (f64::from(x) + 0.5) / per_mm,
                    high - (f64::from(y) + 0.5) / per_mm,
                ];
                (at, v.0[0])
            });
            let [x, y] = middle_of(all, about);
            let off = (x - about[0]).hypot(y - about[1]);
            assert!(off < 0.25, "{name} {square:?}: {off}");
        }
        looked += 1;
    }
    println!("{looked} renderers looked");
}

#[test]
fn the_points_in_an_svg_are_those_of_the_drawing_and_a_dxf_says_what_it_leaves_out() {
    let drawing = on_one();
    let picture = picture_of(&drawing.pages[0]).unwrap();
    let svg = svg_page(&drawing, 0).unwrap();
    let doc = roxmltree::Document::parse(&svg).unwrap();
    let images: Vec<_> = doc
        .descendants()
        .filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "image")))
        .collect();
    let [image] = images.as_slice() else {
        panic!("{} images", images.len())
    };
    let number = |name: &str| image.attribute(name).unwrap().parse::<f64>().unwrap();
    let wide = f64::from(picture.point_um) * f64::from(picture.wide) / 1000.0;
    assert!((number("width") - wide).abs() < 1e-9);
    // Everything else is drawn after it, that is over it.
    let next = image.next_sibling_element().unwrap();
    assert!(next.attribute("id").is_some());
    let href = image
        .attribute(("http://www.w3.org/1999/xlink", "href"))
        .unwrap();
    let data = href.strip_prefix("data:image/png;base64,").unwrap();
    let png = BASE64_STANDARD.decode(data.as_bytes()).unwrap();
    let read = image::load_from_memory(&png).unwrap().into_luma8();
    assert_eq!(read.dimensions(), (picture.wide, picture.high()));
    assert_eq!(read.as_raw(), picture.points.all());
    for dxf in [
        dxf_page(&drawing, 0).unwrap(),
        dxf_r12_page(&drawing, 0).unwrap(),
    ] {
        assert!(dxf.contains("is left out: DXF holds its lines only"));
        let file = dxf::Drawing::load(&mut dxf.as_bytes()).unwrap();
        assert!(file.entities().count() > 20);
    }
}

#[test]
fn ten_megapixels_are_taken_and_a_hundred_refused_in_words() {
    let large = Camera {
        size: (3900, 2600),
        focal: 3900.0,
        turned: [0.0, 0.0, 0.0],
        ..CAMERA
    };
    let pixels = vec![200_u8; 3900 * 2600];
    let mut jpeg = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut jpeg)
        .write_image(&pixels, 3900, 2600, image::ExtendedColorType::L8)
        .unwrap();
    let flat = flattened(&jpeg, &places(&large)).unwrap();
    assert!(flat.picture.points.all().len() <= 16_200_000);
    let (made, file) = picture_sheet(
        &jpeg,
        &PictureSheet {
            places: places(&large),
            ..ask(50.0, Paper::A3)
        },
    )
    .unwrap();
    assert!(made.pages > 1 && file.starts_with(b"%PDF-"));
    // The size in the head of a JPEG (SOF0: FF C0, length, precision, height, width).
    let at = jpeg.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    let mut huge = jpeg.clone();
    huge[at + 5..at + 9].copy_from_slice(&[0x27, 0x10, 0x27, 0x10]);
    assert_eq!(
        flattened(&huge, &places(&large)).unwrap_err(),
        FlattenError::Photo(PhotoError::TooLarge {
            megapixels: 100,
            most: 64
        })
    );
    // What it is, where it is neither.
    let why = picture_sheet(b"RIFF....WEBPVP8 ", &ask(50.0, Paper::A4)).unwrap_err();
    assert!(
        why.contains("neither a picture (JPEG, PNG) nor an SVG drawing"),
        "{why}"
    );
    let why = picture_sheet(b"\x89PNG nothing", &ask(50.0, Paper::A4)).unwrap_err();
    assert!(why.contains("no picture"), "{why}");
    let png = CAMERA.png(&photographed());
    let why = picture_sheet(&png, &ask(1.0, Paper::A4)).unwrap_err();
    assert!(why.contains("too close"), "{why}");
    let tiny = Paper::Typed {
        width: Length::from_mm(60.0),
        height: Length::from_mm(60.0),
    };
    assert!(
        !picture_sheet(&png, &ask(50.0, tiny))
            .unwrap_err()
            .is_empty()
    );
}

#[test]
fn a_picture_is_taken_as_a_browser_shows_it_however_the_phone_was_held() {
    let sheet = photographed();
    let upright = image::GrayImage::from_raw(1500, 1100, CAMERA.takes(&sheet)).unwrap();
    // Turned a quarter back, with a note that it is to be turned a quarter forward: TIFF 6.0 tag
    // 0x0112, value 6 (CIPA DC-008, 4.6.4).
    let turned = image::imageops::rotate270(&upright);
    let mut exif = b"II*\0\x08\0\0\0\x01\0".to_vec();
    exif.extend_from_slice(&[0x12, 0x01, 3, 0, 1, 0, 0, 0, 6, 0, 0, 0, 0, 0, 0, 0]);
    let mut jpeg = Vec::new();
    let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut jpeg, 97);
    encoder.set_exif_metadata(exif).unwrap();
    encoder
        .write_image(turned.as_raw(), 1100, 1500, image::ExtendedColorType::L8)
        .unwrap();
    let flat = flattened(&jpeg, &places(&CAMERA)).unwrap();
    for square in SQUARES {
        let [x, y] = middle_of(each(&flat.picture), square);
        assert!((x - square[0]).hypot(y - square[1]) < 0.2, "{square:?}");
    }
}
