//! Pages as pixels, by renderers that this project did not write.

use super::{Page, bars, mm, samples, written};
use samespot_core::sheet::{Paper, compose};
use samespot_core::write::svg::svg_page;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A program of the system, or a word that the check was skipped.
fn there(program: &str) -> bool {
    let there = Command::new(program).arg("--version").output().is_ok()
        || Command::new(program).arg("-v").output().is_ok();
    if !there {
        println!("skipped: {program} is not here");
    }
    there
}

fn scratch(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("writers");
    std::fs::create_dir_all(&folder).unwrap();
    folder.join(name)
}

/// A greyscale picture: width, height, rows from the top.
fn grey(file: &Path) -> (usize, Vec<u8>) {
    let mut bytes = Vec::new();
    std::fs::File::open(file)
        .unwrap()
        .read_to_end(&mut bytes)
        .unwrap();
    let mut at = 0;
    let mut field = || {
        while bytes[at].is_ascii_whitespace() {
            at += 1;
        }
        let from = at;
        while !bytes[at].is_ascii_whitespace() {
            at += 1;
        }
        String::from_utf8(bytes[from..at].to_vec()).unwrap()
    };
    assert_eq!(field(), "P5");
    let (w, _h, most) = (field(), field(), field());
    assert_eq!(most, "255");
    (w.parse().unwrap(), bytes.split_off(at + 1))
}

/// The length of a bar in a picture, in pixels to a share of one: from the middle of the tick at
/// one end to the middle of the tick at the other, each weighed by its ink.
fn measured(picture: &(usize, Vec<u8>), per_mm: f64, height: f64, ends: [(f64, f64); 2]) -> f64 {
    let (width, pixels) = picture;
    let across = (ends[0].1 - ends[1].1).abs() < 1e-9;
    // Ticks reach 4 mm from the bar's base line, the bar itself 2.4: look between.
    let line = if across {
        height - ends[0].1 - 3.3
    } else {
        ends[0].0 + 3.3
    };
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "pixels of a page"
    )]
    let index = |v: f64| (v * per_mm) as usize;
    let middle = |at: f64| {
        let (from, to) = (index(at - 1.0), index(at + 1.0));
        let (mut ink, mut moment) = (0.0, 0.0);
        for k in from..=to {
            let (x, y) = if across {
                (k, index(line))
            } else {
                (index(line), k)
            };
            let dark = 255.0 - f64::from(pixels[y * width + x]);
            #[allow(clippy::cast_precision_loss, reason = "pixels of a page")]
            let centre = k as f64 + 0.5;
            ink += dark;
            moment += dark * centre;
        }
        assert!(ink > 200.0, "no tick at {at}");
        moment / ink
    };
    if across {
        (middle(ends[1].0) - middle(ends[0].0)).abs()
    } else {
        (middle(height - ends[1].1) - middle(height - ends[0].1)).abs()
    }
}

/// At 300 dpi a bar of 200 mm is 2362.2 pixels.
const DPI: f64 = 300.0;

#[test]
fn poppler_prints_the_bars_as_long_as_they_say() {
    if !there("pdftoppm") {
        return;
    }
    for (n, drawing) in [
        samples::eye(Paper::A3),
        samples::panel(Paper::A4),
        samples::badge(Paper::Letter),
    ]
    .iter()
    .map(|s| compose(s).unwrap())
    .enumerate()
    {
        let file = scratch(&format!("poppler-{n}.pdf"));
        std::fs::write(&file, written(&drawing)).unwrap();
        for (i, page) in drawing.pages.iter().enumerate() {
            let stem = scratch(&format!("poppler-{n}-{i}"));
            let number = (i + 1).to_string();
            let status = Command::new("pdftoppm")
                .args([
                    "-r",
                    "300",
                    "-gray",
                    "-singlefile",
                    "-f",
                    &number,
                    "-l",
                    &number,
                ])
                .arg(&file)
                .arg(&stem)
                .status()
                .unwrap();
            assert!(status.success());
            check_bars(page, &grey(&stem.with_extension("pgm")));
        }
    }
}

#[track_caller]
fn check_bars(page: &Page, picture: &(usize, Vec<u8>)) {
    let all = bars(page);
    assert_eq!(all.len(), 2, "a bar each way");
    for (across, length, ends) in all {
        assert!(length >= 100.0);
        let pixels = measured(picture, DPI / 25.4, mm(page.paper.height), ends);
        let want = length * DPI / 25.4;
        assert!(
            (pixels - want).abs() <= 1.0,
            "across {across}: {pixels} for {want}"
        );
    }
}

#[test]
fn librsvg_draws_the_bars_as_long_as_they_say() {
    if !(there("rsvg-convert") && there("pdftoppm")) {
        return;
    }
    let drawing = compose(&samples::eye(Paper::A3)).unwrap();
    let (svg, made) = (scratch("librsvg.svg"), scratch("librsvg.pdf"));
    std::fs::write(&svg, svg_page(&drawing, 0).unwrap()).unwrap();
    // Its PDF shows what it takes a user unit for, and poppler turns that into pixels.
    let status = Command::new("rsvg-convert")
        .args(["-f", "pdf", "-o"])
        .arg(&made)
        .arg(&svg)
        .status();
    assert!(status.unwrap().success());
    let stem = scratch("librsvg");
    let status = Command::new("pdftoppm")
        .args(["-r", "300", "-gray", "-singlefile"])
        .arg(&made)
        .arg(&stem)
        .status();
    assert!(status.unwrap().success());
    check_bars(&drawing.pages[0], &grey(&stem.with_extension("pgm")));
}

#[test]
fn poppler_reads_the_page_size() {
    if !there("pdfinfo") {
        return;
    }
    let drawing = compose(&samples::eye(Paper::A3)).unwrap();
    let file = scratch("info.pdf");
    std::fs::write(&file, written(&drawing)).unwrap();
    let said = Command::new("pdfinfo")
        .arg("-box")
        .arg(&file)
        .output()
        .unwrap();
    let said = String::from_utf8(said.stdout).unwrap();
    // ISO 216 A3 in points: 841.89 × 1190.55.
    assert!(said.contains("(A3)"), "{said}");
    assert!(said.contains(&drawing.title), "{said}");
    let warned = Command::new("pdffonts").arg(&file).output();
    if let Ok(fonts) = warned {
        let lines = String::from_utf8(fonts.stdout).unwrap().lines().count();
        assert_eq!(lines, 2, "a header and no font");
    }
}
