//! Sheets as a whole: golden drawings, tiling, what must stand on them, errors in words.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    reason = "a test stops where it fails"
)]

#[path = "sheets_over.rs"]
mod over;
#[path = "sheet_samples.rs"]
mod samples;

use proptest::prelude::*;
use samespot_core::sheet::drawing::{Contour, Item, Segment, Shape, Spot};
use samespot_core::sheet::{Paper, ScaleCorrection, TemplateSheet, Window, clip_contour, compose};
use samespot_core::write::svg::svg_pages;
use std::path::PathBuf;

/// Compares each page with its golden SVG; `SAMESPOT_BLESS=1` writes them anew, to be looked at
/// before they are committed.
#[track_caller]
fn golden(name: &str, sheet: &TemplateSheet) {
    let drawing = compose(sheet).unwrap();
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("golden/sheets");
    let bless = std::env::var_os("SAMESPOT_BLESS").is_some();
    for (i, page) in svg_pages(&drawing).iter().enumerate() {
        let file = folder.join(format!("{name}-{}.svg", i + 1));
        if bless {
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(&file, page).unwrap();
        }
        let kept = std::fs::read_to_string(&file)
            .unwrap_or_else(|e| panic!("{}: {e}; SAMESPOT_BLESS=1 writes it", file.display()));
        assert!(
            kept == *page,
            "{} differs; look at both, then SAMESPOT_BLESS=1",
            file.display()
        );
    }
    let mut more = drawing.pages.len() + 1;
    while bless && std::fs::remove_file(folder.join(format!("{name}-{more}.svg"))).is_ok() {
        more += 1;
    }
    let next = folder.join(format!("{name}-{}.svg", drawing.pages.len() + 1));
    assert!(!next.exists(), "{} is a page too many", next.display());
}

#[test]
fn golden_drawings() {
    golden("eye-a3", &samples::eye(Paper::A3));
    golden("darted-a3", &samples::darted(Paper::A3));
    golden("badge-a4", &samples::badge(Paper::A4));
    golden("panel-a4", &samples::panel(Paper::A4));
}

fn all() -> Vec<TemplateSheet> {
    let mut out = Vec::new();
    for paper in [Paper::A4, Paper::A3, Paper::Letter, Paper::Tabloid] {
        out.push(samples::eye(paper));
        out.push(samples::darted(paper));
        out.push(samples::badge(paper));
        out.push(samples::panel(paper));
        out.push(samples::band(paper));
    }
    let odd = Paper::Typed {
        width: samples::mm(610.0),
        height: samples::mm(297.0),
    };
    out.push(samples::band(odd));
    out
}

/// Enough for a curve as long as a sheet with a turn as sharp as a hairpin: 0.5 mm off at most.
const CUBIC_STEPS: u32 = 192;

/// Points along a contour.
fn traced(contour: &Contour) -> Vec<(f64, f64)> {
    let p = |s: Spot| (f64::from(s.x), f64::from(s.y));
    let mut out = vec![p(contour.start)];
    for segment in &contour.segments {
        let from = *out.last().unwrap();
        match *segment {
            Segment::Line { to } => out.push(p(to)),
            Segment::Cubic { c1, c2, to } => {
                for k in 1..=CUBIC_STEPS {
                    let t = f64::from(k) / f64::from(CUBIC_STEPS);
                    let s = 1.0 - t;
                    let mix = |a: f64, b: f64, c: f64, d: f64| {
                        s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
                    };
                    let (b, c, d) = (p(c1), p(c2), p(to));
                    out.push((mix(from.0, b.0, c.0, d.0), mix(from.1, b.1, c.1, d.1)));
                }
            }
            Segment::Arc { via, to } => out.extend(arc(from, p(via), p(to))),
        }
    }
    out
}

/// Points along the arc through three points, from the perpendicular bisectors of its chords.
fn arc(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> Vec<(f64, f64)> {
    let d = 2.0 * (a.0 * (b.1 - c.1) + b.0 * (c.1 - a.1) + c.0 * (a.1 - b.1));
    if d.abs() < 1.0 {
        return vec![b, c];
    }
    let sq = |p: (f64, f64)| p.0 * p.0 + p.1 * p.1;
    let x = (sq(a) * (b.1 - c.1) + sq(b) * (c.1 - a.1) + sq(c) * (a.1 - b.1)) / d;
    let y = (sq(a) * (c.0 - b.0) + sq(b) * (a.0 - c.0) + sq(c) * (b.0 - a.0)) / d;
    let r = (a.0 - x).hypot(a.1 - y);
    let angle = |p: (f64, f64)| (p.1 - y).atan2(p.0 - x);
    let turn = std::f64::consts::TAU;
    let (from, mid, end) = (angle(a), angle(b), angle(c));
    let ahead = |q: f64| (q - from).rem_euclid(turn);
    let sweep = if ahead(mid) <= ahead(end) {
        ahead(end)
    } else {
        ahead(end) - turn
    };
    (1..=64)
        .map(|k| from + sweep * f64::from(k) / 64.0)
        .map(|q| (x + r * q.cos(), y + r * q.sin()))
        .collect()
}

fn lines_of(item: &Item) -> Vec<Vec<(f64, f64)>> {
    match &item.shape {
        Shape::Line(c) | Shape::Solid(c) | Shape::Lettering { outlines: c, .. } => {
            c.iter().map(traced).collect()
        }
        Shape::Circle { centre, radius } => {
            let (x, y, r) = (f64::from(centre.x), f64::from(centre.y), f64::from(*radius));
            vec![
                arc((x + r, y), (x, y + r), (x - r, y)),
                arc((x - r, y), (x, y - r), (x + r, y)),
            ]
        }
        Shape::Picture(_) => Vec::new(),
    }
}

fn bounds(item: &Item) -> [f64; 4] {
    let far = f64::INFINITY;
    lines_of(item)
        .iter()
        .flatten()
        .fold([far, far, -far, -far], |b, p| {
            [b[0].min(p.0), b[1].min(p.1), b[2].max(p.0), b[3].max(p.1)]
        })
}

/// Nothing is drawn nearer to the edge of the paper than the margin, lines' widths included
/// (common practice, no source: printers miss 3 to 6 mm, some 12).
#[test]
fn nothing_lies_in_the_margin() {
    for sheet in all() {
        let drawing = compose(&sheet).unwrap();
        for page in &drawing.pages {
            let margin = 12_000.0;
            let (w, h) = (f64::from(page.paper.width), f64::from(page.paper.height));
            for item in &page.items {
                let half = match item.shape {
                    Shape::Line(_) | Shape::Circle { .. } => {
                        f64::from(item.meaning.width_um()) / 2.0
                    }
                    _ => 0.0,
                };
                let b = bounds(item);
                let inside = b[0] - half >= margin
                    && b[1] - half >= margin
                    && b[2] + half <= w - margin
                    && b[3] + half <= h - margin;
                assert!(
                    inside,
                    "{} {:?} {:?} {b:?}",
                    page.name, item.meaning, item.label
                );
            }
        }
    }
}

/// Bars are the largest multiples of 50 mm in the safe area, at least 100; A4: 150 × 250.
#[test]
fn bars_are_as_long_as_the_paper_allows() {
    let cases = [
        (Paper::A4, [150.0, 250.0]),
        (Paper::A3, [250.0, 350.0]),
        (Paper::Letter, [150.0, 250.0]),
        (Paper::Tabloid, [250.0, 400.0]),
    ];
    for (paper, want) in cases {
        for sheet in [
            samples::eye(paper),
            samples::badge(paper),
            samples::panel(paper),
        ] {
            for page in compose(&sheet).unwrap().pages {
                let mut have: Vec<f64> = page
                    .items
                    .iter()
                    .filter_map(|i| i.label.as_deref()?.strip_prefix("check bar "))
                    .map(|l| l.split(' ').nth(1).unwrap().parse().unwrap())
                    .collect();
                have.sort_by(f64::total_cmp);
                assert_eq!(have, want, "{paper:?}");
            }
        }
    }
}

#[track_caller]
fn crosses_box(line: &[(f64, f64)], b: [f64; 4]) -> bool {
    line.windows(2).any(|pair| {
        let (p, q) = (pair[0], pair[1]);
        // Liang and Barsky: the part of the segment inside the box, if any.
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (at, run, low, high) in [(p.0, q.0 - p.0, b[0], b[2]), (p.1, q.1 - p.1, b[1], b[3])] {
            if run.abs() < 1e-9 {
                if at < low || at > high {
                    return false;
                }
            } else {
                let (a, c) = ((low - at) / run, (high - at) / run);
                from = from.max(a.min(c));
                to = to.min(a.max(c));
            }
        }
        from < to
    })
}

/// No letter stands on a line, on a filled shape or on another letter.
#[test]
fn letters_touch_nothing() {
    for sheet in all() {
        let drawing = compose(&sheet).unwrap();
        for page in &drawing.pages {
            let letters: Vec<_> = page
                .items
                .iter()
                .filter_map(|i| match &i.shape {
                    Shape::Lettering { text, .. } => Some((text.clone(), bounds(i))),
                    _ => None,
                })
                .collect();
            for (n, (text, b)) in letters.iter().enumerate() {
                for (other, c) in letters.iter().skip(n + 1) {
                    let apart = b[0] >= c[2] || c[0] >= b[2] || b[1] >= c[3] || c[1] >= b[3];
                    assert!(apart, "{}: “{text}” on “{other}”", page.name);
                }
                if text == "!" {
                    continue; // stands in its triangle
                }
                for item in &page.items {
                    if matches!(item.shape, Shape::Lettering { .. }) {
                        continue;
                    }
                    let hit = lines_of(item).iter().any(|l| crosses_box(l, *b));
                    let name = item.label.clone().unwrap_or_default();
                    assert!(
                        !hit,
                        "{}: “{text}” on {:?} {name} {b:?}",
                        page.name, item.meaning
                    );
                }
            }
        }
    }
}

/// Everything design asks of a template stands on it, and first how to lay it.
#[test]
fn every_sheet_says_what_it_must() {
    for sheet in all() {
        let drawing = compose(&sheet).unwrap();
        let said: Vec<Vec<String>> = drawing
            .pages
            .iter()
            .map(|page| {
                let letters = page.items.iter().filter_map(|i| match &i.shape {
                    Shape::Lettering { text, .. } => Some(text.clone()),
                    _ => None,
                });
                letters.collect()
            })
            .collect();
        let everything = said.iter().flatten().cloned().collect::<Vec<_>>().join(" ");
        for must in [
            "UP",
            "THIS SIDE OUT",
            "SIZE NOT PROVED: MEASURE BOTH BARS",
            "WORST ERROR",
            "HAND CHECK",
            "seen from outside",
            "Quay puffins",
            "Samespot 0.1.0",
            "Corner to corner of the frame",
        ] {
            assert!(everything.contains(must), "{must} on {}", drawing.title);
        }
        for cross in &sheet.crosses {
            assert!(
                said.iter().flatten().any(|t| *t == cross.letter),
                "cross {}",
                cross.letter
            );
        }
        let laying = sheet.words.laying.split(' ').next().unwrap();
        for (page, words) in drawing.pages.iter().zip(&said) {
            // The highest words of the page begin the way to lay it.
            let first = page
                .items
                .iter()
                .filter_map(|i| match &i.shape {
                    Shape::Lettering { text, .. } => Some((bounds(i), text)),
                    _ => None,
                })
                .filter(|(b, _)| b[0] < f64::from(page.paper.width) / 3.0 && b[2] - b[0] > 20_000.0)
                .max_by(|a, b| a.0[3].total_cmp(&b.0[3]))
                .unwrap();
            assert!(
                first.1.starts_with(laying),
                "{} begins “{}”",
                page.name,
                first.1
            );
            for must in ["measure both before use", "INVENTED EXAMPLE"] {
                assert!(
                    words.iter().any(|t| t.contains(must)),
                    "{must} on {}",
                    page.name
                );
            }
        }
    }
}

/// What registers lies whole on at least one sheet, and each join's crosses on both of its sheets.
#[test]
fn crosses_and_joins_come_out_whole() {
    for sheet in all() {
        let drawing = compose(&sheet).unwrap();
        for cross in &sheet.crosses {
            let whole = drawing.pages.iter().any(|page| {
                page.items.iter().any(|i| {
                    let b = bounds(i);
                    i.label.as_deref() == Some(&cross.letter)
                        && (b[2] - b[0] - 18_000.0).abs() < 1.0
                        && (b[3] - b[1] - 18_000.0).abs() < 1.0
                })
            });
            assert!(whole, "{} {}", drawing.title, cross.letter);
        }
        let mut joins: std::collections::BTreeMap<String, Vec<Vec<i32>>> = Default::default();
        for page in &drawing.pages {
            let mut own: std::collections::BTreeMap<String, Vec<[f64; 4]>> = Default::default();
            for item in &page.items {
                if let Some(name) = item
                    .label
                    .as_deref()
                    .filter(|l| l.starts_with("join ") && l.ends_with(" cross"))
                {
                    own.entry(name.into()).or_default().push(bounds(item));
                }
            }
            for (name, strokes) in own {
                assert_eq!(strokes.len(), 4, "two crosses of {name} on {}", page.name);
                // Differences between the strokes are the same on both sheets, to the micrometre.
                #[allow(clippy::cast_possible_truncation, reason = "whole micrometres")]
                let shape = strokes
                    .iter()
                    .flat_map(|b| [(b[0] - strokes[0][0]) as i32, (b[1] - strokes[0][1]) as i32])
                    .collect();
                joins.entry(name).or_default().push(shape);
            }
        }
        for (name, sheets) in joins {
            assert_eq!(sheets.len(), 2, "{name} of {}", drawing.title);
            assert_eq!(sheets[0], sheets[1], "{name} of {}", drawing.title);
        }
    }
}

#[track_caller]
fn refused(sheet: &TemplateSheet, said: &[&str]) {
    let fault = compose(sheet).unwrap_err().to_string();
    for words in said {
        assert!(fault.contains(words), "“{words}” in “{fault}”");
    }
}

#[test]
fn what_cannot_be_printed_is_refused_in_words() {
    let mut sheet = samples::badge(Paper::A4);
    sheet.setup.margin = samples::mm(120.0);
    refused(
        &sheet,
        &["margins of 120 mm", "A4 is only 210 × 297 mm", "smaller"],
    );
    sheet.setup.margin = samples::mm(60.0);
    refused(&sheet, &["too little for a check bar of 100 mm"]);
    let mut sheet = samples::badge(Paper::Typed {
        width: samples::mm(0.0),
        height: samples::mm(90.0),
    });
    refused(&sheet, &["0 × 90 mm is no paper size"]);
    sheet.setup.paper = Paper::Typed {
        width: samples::mm(6000.0),
        height: samples::mm(900.0),
    };
    refused(&sheet, &["at most 5080 mm"]);
    let mut sheet = samples::badge(Paper::A4);
    sheet.setup.overlap = samples::mm(5.0);
    refused(&sheet, &["overlap of 5 mm", "at least 10 mm"]);
    let mut sheet = samples::badge(Paper::A4);
    sheet.crosses[0].place = samples::at(-4000.0, 0.0);
    sheet.crosses[1].place = samples::at(4000.0, 2500.0);
    refused(&sheet, &["sheets of A4", "24 is the most"]);
    sheet.crosses[1].place = samples::at(4.0e6, 0.0);
    refused(&sheet, &["cross B", "100 m away"]);
    sheet.crosses[1].place = samples::at(f64::NAN, 0.0);
    refused(&sheet, &["cross B"]);
    let mut sheet = samples::badge(Paper::A4);
    sheet.correction = Some(ScaleCorrection {
        across: 1.4,
        up: 1.0,
    });
    refused(&sheet, &["1.4", "no printer's error"]);
    refused(&TemplateSheet::default(), &["nothing to draw"]);
}

/// With a correction the bar is drawn longer by it, and says what the tape must read.
#[test]
fn a_correction_scales_everything_by_choice_and_says_so() {
    let mut sheet = samples::eye(Paper::A3);
    sheet.correction = Some(ScaleCorrection {
        across: 1.0014,
        up: 0.9991,
    });
    let drawing = compose(&sheet).unwrap();
    for page in &drawing.pages {
        for item in &page.items {
            let Some(label) = item
                .label
                .as_deref()
                .and_then(|l| l.strip_prefix("check bar "))
            else {
                continue;
            };
            let (way, length) = label.split_once(' ').unwrap();
            let length: f64 = length.strip_suffix(" mm").unwrap().parse().unwrap();
            let b = bounds(item);
            let (drawn, factor) = if way == "across" {
                (b[2] - b[0], 1.0014)
            } else {
                (b[3] - b[1], 0.9991)
            };
            // Both ends are rounded to whole µm.
            assert!(
                (drawn / 1000.0 - length * factor).abs() <= 0.001,
                "{way} {drawn}"
            );
        }
    }
    let said = drawing.readable.join("\n");
    assert!(said.contains("scale 1.0014 across, 0.9991 up"), "{said}");
}

fn spot() -> impl Strategy<Value = Spot> {
    (-300_000..300_000_i32, -300_000..300_000_i32).prop_map(|(x, y)| Spot::new(x, y))
}

fn segment() -> impl Strategy<Value = Segment> {
    prop_oneof![
        spot().prop_map(|to| Segment::Line { to }),
        (spot(), spot()).prop_map(|(via, to)| Segment::Arc { via, to }),
        (spot(), spot(), spot()).prop_map(|(c1, c2, to)| Segment::Cubic { c1, c2, to }),
    ]
}

fn near(lines: &[Vec<(f64, f64)>], p: (f64, f64), tolerance: f64) -> bool {
    lines.iter().flat_map(|l| l.windows(2)).any(|pair| {
        let (a, b) = (pair[0], pair[1]);
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let long = (dx * dx + dy * dy).max(1e-9);
        let t = (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / long).clamp(0.0, 1.0);
        (a.0 + t * dx - p.0).hypot(a.1 + t * dy - p.1) <= tolerance
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// The parts on overlapping windows together are the whole, and no part leaves its window.
    #[test]
    fn tiles_together_are_the_whole(
        start in spot(),
        mut segments in prop::collection::vec(segment(), 1..5),
        closed in any::<bool>(),
        step in (90_000..260_000_i32, 90_000..260_000_i32),
    ) {
        if closed {
            segments.push(Segment::Line { to: start });
        }
        // Only what a template can have: arcs up to a metre round.
        let arcs_round = |from: Spot, via: Spot, to: Spot| {
            let cross = i64::from(via.x - from.x) * i64::from(to.y - from.y)
                - i64::from(via.y - from.y) * i64::from(to.x - from.x);
            cross.abs() > 2_000_000_000
        };
        let mut at = start;
        for s in &mut segments {
            if let Segment::Arc { via, to } = *s
                && !arcs_round(at, via, to)
            {
                *s = Segment::Line { to };
            }
            at = s.to();
        }
        let contour = Contour { start, segments, closed };
        let mut parts: Vec<Vec<(f64, f64)>> = Vec::new();
        let reach = 1_600_000;
        let overlap = 15_000;
        let mut low = Spot::new(-reach, -reach);
        while low.y < reach {
            low.x = -reach;
            while low.x < reach {
                let window = Window { low, high: low.shifted(Spot::new(step.0, step.1)) };
                for part in clip_contour(&contour, window) {
                    let line = traced(&part);
                    for p in &line {
                        // Half a µm of rounding, and the bulge of an arc between its own spots.
                        let slack = 3.0;
                        prop_assert!(
                            p.0 >= f64::from(window.low.x) - slack
                                && p.0 <= f64::from(window.high.x) + slack
                                && p.1 >= f64::from(window.low.y) - slack
                                && p.1 <= f64::from(window.high.y) + slack,
                            "{p:?} outside {window:?}"
                        );
                    }
                    parts.push(line);
                }
                low.x += step.0 - overlap;
            }
            low.y += step.1 - overlap;
        }
        let inside = |p: &(f64, f64)| p.0.abs() < 1_500_000.0 && p.1.abs() < 1_500_000.0;
        for p in traced(&contour).iter().step_by(8).filter(|p| inside(p)) {
            // 0.5 mm: the polylines of this test, 64 to an arc, against each other.
            prop_assert!(near(&parts, *p, 500.0 + 1.0), "{p:?} is on no sheet");
        }
    }
}

/// A roll is cut off as short as holds the template whole: 25 mm less would not hold it.
#[test]
fn a_roll_is_cut_off_where_the_template_ends() {
    for (sheet, width) in [
        (samples::band(Paper::A4), 610.0),
        (samples::panel(Paper::A4), 610.0),
        (samples::eye(Paper::A4), 914.0),
    ] {
        let width = samples::mm(width);
        let mut roll = sheet.clone();
        roll.setup.paper = Paper::Roll { width };
        let on_roll = compose(&roll).unwrap();
        let [page] = on_roll.pages.as_slice() else {
            panic!("{} pages on a roll", on_roll.pages.len());
        };
        let (w, h) = (page.paper.width, page.paper.height);
        let (across, along) = if w == 1000 * width.mm() as i32 {
            (w, h)
        } else {
            (h, w)
        };
        assert_eq!(across, 1000 * width.mm() as i32);
        assert_eq!(along % 25_000, 0);
        let cut = |along_um: i32| {
            let mut cut = sheet.clone();
            cut.setup.paper = Paper::Typed {
                width,
                height: samples::mm(f64::from(along_um) / 1000.0),
            };
            compose(&cut).map_or(0, |d| d.pages.len())
        };
        assert_eq!(cut(along), 1);
        assert!(along == 200_000 || cut(along - 25_000) != 1, "{along}");
    }
    // A roll of no width is no paper, and said so.
    let mut none = samples::eye(Paper::A4);
    none.setup.paper = Paper::Roll {
        width: samples::mm(0.0),
    };
    assert!(compose(&none).is_err());
}
