//! DXF, read back: group by group here, and by ezdxf (MIT, not of this project) where it can be
//! imported (`tests/reference/dxf/read_dxf.py`; `SAMESPOT_PYTHON` names another interpreter).
//! The clauses are 3, 4, 6 and 7 of the exporter contract in the shared design, page 10 §2.4;
//! `$INSUNITS` 4 is millimetres (`../shared/checks` A11: DXF Reference, HEADER).
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops where it fails"
)]

#[path = "sheet_samples.rs"]
mod samples;

use samespot_core::sheet::drawing::{
    Contour, Drawing, Item, Meaning, Page, PaperSize, Segment, Shape, Spot,
};
use samespot_core::sheet::{Paper, compose};
use samespot_core::write::dxf::{MOST_VERTICES, dxf_page, dxf_pages};
use std::collections::BTreeSet;
use std::process::Command;

/// Curves are fitted with arcs within this of them (design/10 §2.3).
const WITHIN_MM: f64 = 0.05;

fn drawings() -> Vec<Drawing> {
    let sheets = [
        samples::eye(Paper::A4),
        samples::badge(Paper::A3),
        samples::panel(Paper::A4),
        samples::band(Paper::A4),
    ];
    sheets.iter().map(|s| compose(s).unwrap()).collect()
}

type Pairs = Vec<(u16, String)>;

fn pairs(text: &str) -> Pairs {
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len() % 2, 0, "a group code and a value each");
    lines
        .chunks(2)
        .map(|two| (two[0].trim().parse().unwrap(), two[1].to_owned()))
        .collect()
}

/// Entities as their pairs.
fn entities(all: &Pairs) -> Vec<Pairs> {
    let start = all
        .iter()
        .position(|p| *p == (2, "ENTITIES".into()))
        .unwrap();
    let mut out: Vec<Pairs> = Vec::new();
    for pair in &all[start + 1..] {
        if *pair == (0, "ENDSEC".into()) {
            break;
        }
        if pair.0 == 0 {
            out.push(Vec::new());
        }
        out.last_mut().unwrap().push(pair.clone());
    }
    out
}

fn number(e: &Pairs, code: u16) -> Option<f64> {
    let found = e.iter().find(|p| p.0 == code)?;
    Some(found.1.parse().unwrap())
}

fn layer(e: &Pairs) -> &str {
    &e.iter().find(|p| p.0 == 8).unwrap().1
}

/// Points along one entity.
fn points(e: &Pairs) -> Vec<(f64, f64)> {
    match e[0].1.as_str() {
        "LINE" => [(10, 20), (11, 21)]
            .map(|(x, y)| (number(e, x).unwrap(), number(e, y).unwrap()))
            .to_vec(),
        "CIRCLE" => {
            let (x, y) = (number(e, 10).unwrap(), number(e, 20).unwrap());
            let r = number(e, 40).unwrap();
            (0..=72)
                .map(|k| (f64::from(k) * 5.0_f64).to_radians())
                .map(|a| (x + r * a.cos(), y + r * a.sin()))
                .collect()
        }
        "LWPOLYLINE" => {
            let mut corners: Vec<(f64, f64, f64)> = Vec::new();
            for (code, value) in e.iter().skip_while(|p| p.0 != 10) {
                let v: f64 = value.parse().unwrap();
                match code {
                    10 => corners.push((v, 0.0, 0.0)),
                    20 => corners.last_mut().unwrap().1 = v,
                    42 => corners.last_mut().unwrap().2 = v,
                    other => panic!("group {other} in a polyline"),
                }
            }
            assert!(corners.len() <= MOST_VERTICES);
            assert_eq!(number(e, 90), Some(corners.len() as f64));
            if number(e, 70) == Some(1.0) {
                corners.push(corners[0]);
            }
            let mut out = Vec::new();
            for two in corners.windows(2) {
                let ((x, y, b), (u, v, _)) = (two[0], two[1]);
                let steps = if b == 0.0 { 1 } else { 40 };
                for k in 0..=steps {
                    let t = f64::from(k) / f64::from(steps);
                    // The point of a circular arc of bulge b over a chord: half-angle steps.
                    let sweep = 4.0 * b.atan();
                    let (along, aside) = if b == 0.0 {
                        (t, 0.0)
                    } else {
                        let r = 1.0 / (2.0 * (sweep / 2.0).sin());
                        let a = sweep * (t - 0.5);
                        (0.5 + r * a.sin(), r * (a.cos() - (sweep / 2.0).cos()))
                    };
                    let (dx, dy) = (u - x, v - y);
                    // A positive bulge turns left: the arc lies to the right of its chord.
                    out.push((x + dx * along + dy * aside, y + dy * along - dx * aside));
                }
            }
            out
        }
        other => panic!("{other} is not among the entities promised"),
    }
}

fn mm(s: Spot) -> (f64, f64) {
    (f64::from(s.x) / 1000.0, f64::from(s.y) / 1000.0)
}

/// The drawing's own curves, traced densely.
fn traced(contour: &Contour) -> Vec<(f64, f64)> {
    let mut out = vec![mm(contour.start)];
    for segment in &contour.segments {
        let a = *out.last().unwrap();
        match *segment {
            Segment::Line { to } => out.push(mm(to)),
            Segment::Cubic { c1, c2, to } => {
                let (b, c, d) = (mm(c1), mm(c2), mm(to));
                for k in 1..=64 {
                    let t = f64::from(k) / 64.0;
                    let s = 1.0 - t;
                    let at = |a: f64, b: f64, c: f64, d: f64| {
                        s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
                    };
                    out.push((at(a.0, b.0, c.0, d.0), at(a.1, b.1, c.1, d.1)));
                }
            }
            Segment::Arc { via, to } => {
                let (v, e) = (mm(via), mm(to));
                let (bx, by, cx, cy) = (v.0 - a.0, v.1 - a.1, e.0 - a.0, e.1 - a.1);
                let d = 2.0 * (bx * cy - by * cx);
                // Flatter than a square micrometre can tell from a line.
                if d.abs() < 1e-6 {
                    out.extend([v, e]);
                    continue;
                }
                let (bb, cc) = (bx * bx + by * by, cx * cx + cy * cy);
                let centre = (a.0 + (cy * bb - by * cc) / d, a.1 + (bx * cc - cx * bb) / d);
                let angle = |p: (f64, f64)| (p.1 - centre.1).atan2(p.0 - centre.0);
                let r = (a.0 - centre.0).hypot(a.1 - centre.1);
                let from = angle(a);
                let turn = core::f64::consts::TAU;
                let (mid, end) = (
                    (angle(v) - from).rem_euclid(turn),
                    (angle(e) - from).rem_euclid(turn),
                );
                let sweep = if mid <= end { end } else { end - turn };
                for k in 1..=64 {
                    let t = from + sweep * f64::from(k) / 64.0;
                    out.push((centre.0 + r * t.cos(), centre.1 + r * t.sin()));
                }
            }
        }
    }
    if contour.closed {
        out.push(mm(contour.start));
    }
    out
}

fn to_line(p: (f64, f64), line: &[(f64, f64)]) -> f64 {
    line.windows(2)
        .map(|w| {
            let ((ax, ay), (bx, by)) = (w[0], w[1]);
            let (dx, dy) = (bx - ax, by - ay);
            let l = dx * dx + dy * dy;
            let t = if l > 0.0 {
                (((p.0 - ax) * dx + (p.1 - ay) * dy) / l).clamp(0.0, 1.0)
            } else {
                0.0
            };
            (p.0 - ax - t * dx).hypot(p.1 - ay - t * dy)
        })
        .fold(f64::INFINITY, f64::min)
}

fn same_place(name: &str, a: &[Vec<(f64, f64)>], b: &[Vec<(f64, f64)>]) {
    for (these, those) in [(a, b), (b, a)] {
        for p in these.iter().flatten() {
            let off = those
                .iter()
                .map(|l| to_line(*p, l))
                .fold(f64::INFINITY, f64::min);
            assert!(off <= WITHIN_MM, "{name}: {p:?} is {off} mm off");
        }
    }
}

const WORKED_TO: [Meaning; 5] = [
    Meaning::Cut,
    Meaning::PaintEdge,
    Meaning::Register,
    Meaning::Trim,
    Meaning::Bar,
];

fn of_drawing(page: &Page, meaning: Meaning) -> Vec<Vec<(f64, f64)>> {
    page.items
        .iter()
        .filter(|i| i.meaning == meaning)
        .flat_map(|i| match &i.shape {
            Shape::Line(c) | Shape::Solid(c) => c.iter().map(traced).collect(),
            Shape::Lettering { outlines, .. } => outlines.iter().map(traced).collect(),
            Shape::Picture(_) => Vec::new(),
            Shape::Circle { centre, radius } => {
                let (x, y) = mm(*centre);
                let r = f64::from(*radius) / 1000.0;
                vec![
                    (0..=720)
                        .map(|k| (f64::from(k) * 0.5_f64).to_radians())
                        .map(|a| (x + r * a.cos(), y + r * a.sin()))
                        .collect(),
                ]
            }
        })
        .collect()
}

#[test]
fn the_file_is_whole_and_in_millimetres() {
    for drawing in drawings() {
        for text in dxf_pages(&drawing) {
            let all = pairs(&text);
            assert_eq!(all.last().unwrap(), &(0, "EOF".to_owned()));
            let variable = |name: &str| {
                let k = all.iter().position(|p| *p == (9, name.to_owned())).unwrap();
                all[k + 1].1.clone()
            };
            assert_eq!(variable("$ACADVER"), "AC1015");
            assert_eq!(variable("$INSUNITS"), "4");
            assert_eq!(variable("$MEASUREMENT"), "1");
            let seed = u32::from_str_radix(&variable("$HANDSEED"), 16).unwrap();
            let mut handles = BTreeSet::new();
            let body = all.iter().position(|p| p.1 == "TABLES").unwrap();
            for (_, handle) in all[body..].iter().filter(|p| p.0 == 5 || p.0 == 105) {
                let value = u32::from_str_radix(handle, 16).unwrap();
                assert!(value < seed && handles.insert(value), "handle {handle}");
            }
            // Every owner that is named is there.
            for (_, owner) in all[body..].iter().filter(|p| p.0 == 330 && p.1 != "0") {
                assert!(handles.contains(&u32::from_str_radix(owner, 16).unwrap()));
            }
            assert!(entities(&all).len() > 20);
        }
    }
}

#[test]
fn what_is_worked_to_lies_where_the_drawing_has_it_and_the_right_way_up() {
    for drawing in drawings() {
        for (k, page) in drawing.pages.iter().enumerate() {
            let all = entities(&pairs(&dxf_page(&drawing, k).unwrap()));
            for meaning in WORKED_TO {
                let read: Vec<_> = all
                    .iter()
                    .filter(|e| layer(e) == meaning.layer())
                    .map(points)
                    .collect();
                same_place(meaning.layer(), &read, &of_drawing(page, meaning));
            }
            // And the extents are those of everything that is there.
            let every: Vec<(f64, f64)> = all.iter().flat_map(points).collect();
            let reach = |f: fn(f64, f64) -> f64, first: f64| {
                every
                    .iter()
                    .fold((first, first), |s, p| (f(s.0, p.0), f(s.1, p.1)))
            };
            let text = dxf_page(&drawing, k).unwrap();
            let said = pairs(&text);
            for (name, real) in [
                ("$EXTMIN", reach(f64::min, f64::INFINITY)),
                ("$EXTMAX", reach(f64::max, f64::NEG_INFINITY)),
            ] {
                let at = said.iter().position(|p| p.1 == name).unwrap();
                let (x, y): (f64, f64) = (
                    said[at + 1].1.parse().unwrap(),
                    said[at + 2].1.parse().unwrap(),
                );
                assert!(
                    (x - real.0).abs() < 0.06 && (y - real.1).abs() < 0.06,
                    "{name}"
                );
            }
        }
    }
}

/// A page that holds one contour of a meaning.
fn page_of(contours: Vec<Contour>) -> Drawing {
    let item = Item {
        meaning: Meaning::Cut,
        shape: Shape::Line(contours),
        label: None,
        stamp: false,
    };
    Drawing {
        title: "one".into(),
        reference: String::new(),
        readable: Vec::new(),
        pages: vec![Page {
            paper: PaperSize {
                width: 210_000,
                height: 297_000,
            },
            name: "one".into(),
            items: vec![item],
        }],
    }
}

fn square(side: i32) -> Contour {
    let to = |x, y| Segment::Line {
        to: Spot::new(x, y),
    };
    Contour {
        start: Spot::new(0, 0),
        segments: vec![to(side, 0), to(side, side), to(0, side), to(0, 0)],
        closed: true,
    }
}

#[test]
fn a_line_that_lies_on_another_is_cut_once() {
    let other = Contour {
        start: Spot::new(10_000, 0),
        segments: vec![
            Segment::Line {
                to: Spot::new(0, 0),
            },
            Segment::Line {
                to: Spot::new(-5_000, 0),
            },
        ],
        closed: false,
    };
    let text = dxf_page(&page_of(vec![square(10_000), other]), 0).unwrap();
    let all = entities(&pairs(&text));
    assert_eq!(all.len(), 2);
    assert_eq!(number(&all[0], 70), Some(1.0), "the square stays closed");
    assert_eq!(all[1][0].1, "LINE");
    assert_eq!(points(&all[1]), [(0.0, 0.0), (-5.0, 0.0)]);
}

#[test]
fn a_path_too_long_for_a_cutter_is_split_without_a_gap() {
    let count = 45_000;
    let ring = Contour {
        start: Spot::new(0, 0),
        segments: (1..count)
            .map(|k| Segment::Line {
                to: Spot::new(k, (k % 2) * 100),
            })
            .collect(),
        closed: true,
    };
    let all = entities(&pairs(&dxf_page(&page_of(vec![ring]), 0).unwrap()));
    assert_eq!(all.len(), 3);
    let runs: Vec<_> = all.iter().map(points).collect();
    for two in runs.windows(2) {
        assert_eq!(two[0].last(), two[1].first());
    }
    assert_eq!(runs[0].first(), runs[2].last(), "it still closes");
}

#[test]
fn the_same_drawing_gives_the_same_bytes() {
    for (a, b) in drawings().iter().zip(&drawings()) {
        assert_eq!(dxf_pages(a), dxf_pages(b));
    }
}

#[test]
fn another_reader_finds_nothing_to_repair() {
    let python = std::env::var("SAMESPOT_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python).args(["-c", "import ezdxf"]).output();
    if !has.is_ok_and(|o| o.status.success()) {
        println!("skipped: no ezdxf in {python}");
        return;
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/reference/dxf/read_dxf.py");
    for (n, drawing) in drawings().iter().enumerate() {
        let file = std::env::temp_dir().join(format!("samespot-{}-{n}.dxf", std::process::id()));
        std::fs::write(&file, dxf_page(drawing, 0).unwrap()).unwrap();
        let out = Command::new(&python)
            .arg(script)
            .arg(&file)
            .output()
            .unwrap();
        std::fs::remove_file(&file).unwrap();
        let said = String::from_utf8(out.stdout).unwrap();
        assert!(
            out.status.success(),
            "{}",
            String::from_utf8_lossy(&out.stderr)
        );
        let head: Vec<&str> = said.lines().take_while(|l| !l.starts_with("p ")).collect();
        assert!(head.contains(&"version AC1015"), "{head:?}");
        assert!(head.contains(&"units 4 1"), "{head:?}");
        assert!(head.contains(&"audit 0"), "{head:?}");
        for meaning in WORKED_TO {
            let wanted = of_drawing(&drawing.pages[0], meaning);
            for line in said.lines() {
                let words: Vec<&str> = line.split(' ').collect();
                if let ["p", layer, x, y] = words[..]
                    && layer == meaning.layer()
                {
                    let p = (x.parse().unwrap(), y.parse().unwrap());
                    let off = wanted
                        .iter()
                        .map(|l| to_line(p, l))
                        .fold(f64::INFINITY, f64::min);
                    assert!(off <= WITHIN_MM + 0.005, "{layer}: {p:?} is {off} mm off");
                }
            }
        }
    }
}
