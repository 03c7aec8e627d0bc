//! Every kind of sheet of both examples, looked at by machine: joins stand where nothing else is drawn,
//! nothing lies in the margin, and a cutter gets each template in one piece.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops where it fails"
)]

#[path = "on_paper/cutter.rs"]
mod cutter;
#[path = "sheet_samples.rs"]
mod samples;
#[path = "on_paper/table.rs"]
mod table;

use kurbo::{CubicBez, Line, ParamCurve, Point, Rect};
use samespot_core::job::{Job, PieceId, SheetOf};
use samespot_core::prepare::{Issued, Source, issue, uncut};
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;
use samespot_core::sheet::drawing::{Contour, Item, Meaning, Page, Segment, Shape, Spot};
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;
use samespot_core::write::pdf::{Part, pdf};

const EXAMPLES: [(&str, &[u8]); 2] = [
    (
        "quay puffins",
        include_bytes!("../../public/examples/quay-puffins.samespot"),
    ),
    (
        "regatta otters",
        include_bytes!("../../public/examples/regatta-otters.samespot"),
    ),
];
const DAY: &str = "2026-11-28";

/// Stencils, shells, patches, drill templates, jigs and plates of a job.
fn all_sheets(job: &Job) -> Vec<SheetOf> {
    let features = job.features.keys().flat_map(|f| {
        [
            SheetOf::Feature(f.clone()),
            SheetOf::Shell(f.clone()),
            SheetOf::Patches(f.clone()),
        ]
    });
    let fixings = job.fixings.keys().flat_map(|f| {
        [
            SheetOf::Fixing(f.clone()),
            SheetOf::Jig(f.clone()),
            SheetOf::Plate(f.clone()),
        ]
    });
    let pairs = job.pairs.keys().map(|p| SheetOf::Pair(p.clone()));
    features.chain(fixings).chain(pairs).collect()
}

/// The first piece and the last.
fn some_pieces(job: &Job) -> Vec<PieceId> {
    let all: Vec<PieceId> = job
        .pieces_in_order()
        .into_iter()
        .map(|(id, _)| id.clone())
        .collect();
    [0, all.len() - 1].map(|k| all[k].clone()).to_vec()
}

/// Works on every sheet that can be made; gives back how many could.
fn each_sheet(
    papers: &[Paper],
    mut work: impl FnMut(&str, &Source<'_>, &SheetOf, &PieceId, Paper, Issued),
) -> usize {
    let mut made = 0;
    for (name, file) in EXAMPLES {
        let opened = open(file).unwrap();
        let job = Job::fold(&opened.ledger);
        let attachments: Attachments = opened.attachments;
        let source = Source {
            job: &job,
            attachments: &attachments,
        };
        for of in all_sheets(&job) {
            for (k, piece) in some_pieces(&job).into_iter().enumerate() {
                // The length of a roll is sought in nine steps: one piece does.
                let taken = |p: &&Paper| k == 0 || !matches!(p, Paper::Roll { .. });
                for paper in papers.iter().filter(taken) {
                    if let Ok(issued) = issue(&source, of.clone(), &piece, *paper, DAY) {
                        made += 1;
                        let says = format!("{name}, {of:?}, {piece}, {}", paper.name());
                        work(&says, &source, &of, &piece, *paper, issued);
                    }
                }
            }
        }
    }
    made
}

fn point(s: Spot) -> Point {
    Point::new(f64::from(s.x) / 1e3, f64::from(s.y) / 1e3)
}

/// A circle's centre by three of its points.
fn centre(a: Point, b: Point, c: Point) -> Option<Point> {
    let (p, q) = (b - a, c - a);
    let d = 2.0 * p.cross(q);
    (d.abs() > 1e-9).then(|| {
        let (pp, qq) = (p.hypot2(), q.hypot2());
        a + kurbo::Vec2::new(q.y * pp - p.y * qq, p.x * qq - q.x * pp) / d
    })
}

/// A contour as short straight lines, mm.
fn traced(contour: &Contour) -> Vec<Point> {
    let mut out = vec![point(contour.start)];
    for segment in &contour.segments {
        let from = *out.last().unwrap();
        match *segment {
            Segment::Line { to } => out.push(point(to)),
            Segment::Cubic { c1, c2, to } => {
                let curve = CubicBez::new(from, point(c1), point(c2), point(to));
                out.extend((1..=24).map(|k| curve.eval(f64::from(k) / 24.0)));
            }
            Segment::Arc { via, to } => {
                let (via, to) = (point(via), point(to));
                let Some(c) = centre(from, via, to) else {
                    out.extend([via, to]);
                    continue;
                };
                let ahead = |p: Point| {
                    let a = (p - c).atan2() - (from - c).atan2();
                    a.rem_euclid(std::f64::consts::TAU)
                };
                let sweep = if ahead(via) < ahead(to) {
                    ahead(to)
                } else {
                    ahead(to) - std::f64::consts::TAU
                };
                let arm = from - c;
                out.extend((1..=24).map(|k| {
                    let (sin, cos) = (sweep * f64::from(k) / 24.0).sin_cos();
                    c + kurbo::Vec2::new(arm.x * cos - arm.y * sin, arm.x * sin + arm.y * cos)
                }));
            }
        }
    }
    out
}

fn runs(item: &Item) -> Vec<Vec<Point>> {
    match &item.shape {
        Shape::Line(all) | Shape::Solid(all) => all.iter().map(traced).collect(),
        Shape::Lettering { outlines, .. } => outlines.iter().map(traced).collect(),
        Shape::Circle { centre, radius } => {
            let (c, r) = (point(*centre), f64::from(*radius) / 1e3);
            let at = |k: i32| {
                let (sin, cos) = (f64::from(k) * std::f64::consts::TAU / 72.0).sin_cos();
                Point::new(c.x + r * cos, c.y + r * sin)
            };
            vec![(0..=72).map(at).collect()]
        }
        Shape::Picture(_) => Vec::new(),
    }
}

fn box_of(item: &Item) -> Option<Rect> {
    box_round(runs(item).into_iter().flatten())
}

fn box_round(all: impl Iterator<Item = Point>) -> Option<Rect> {
    all.fold(None, |r: Option<Rect>, p| {
        Some(r.map_or(Rect::from_points(p, p), |r| r.union_pt(p)))
    })
}

/// Something of a run lies in a box.
fn enters(run: &[Point], r: Rect) -> bool {
    run.windows(2).any(|ends| {
        let line = Line::new(ends[0], ends[1]);
        let reach = Rect::from_points(line.p0, line.p1).inflate(1e-9, 1e-9);
        let near = reach.x0 <= r.x1 && r.x0 <= reach.x1 && reach.y0 <= r.y1 && r.y0 <= reach.y1;
        // Points a fifth of a millimetre apart.
        let steps = ((line.p1 - line.p0).hypot() / 0.2).ceil().max(1.0);
        #[allow(clippy::cast_possible_truncation, reason = "a sheet is not 400 m long")]
        let steps = steps as i32;
        near && (0..=steps).any(|k| r.contains(line.eval(f64::from(k) / f64::from(steps))))
    })
}

fn is_pair(text: &str) -> bool {
    ["●", "▲", "■"].iter().any(|s| text.contains(s)) && text.len() < 14
}

/// An item with what it is made of and the box round it, worked out once.
struct Drawn<'p> {
    item: &'p Item,
    runs: Vec<Vec<Point>>,
    all: Rect,
}

fn drawn(page: &Page) -> Vec<Drawn<'_>> {
    let each = page.items.iter().filter_map(|item| {
        let runs = runs(item);
        let all = box_round(runs.iter().flatten().copied())?;
        Some(Drawn { item, runs, all })
    });
    each.collect()
}

/// What of a join stands on a page: the box round each cross, and round each line of its label.
fn marks_of_joins(page: &[Drawn<'_>]) -> Vec<(String, Rect)> {
    let mut out: Vec<(String, Rect)> = Vec::new();
    for Drawn { item, all: r, .. } in page {
        let of_cross = item
            .label
            .as_deref()
            .filter(|l| l.starts_with("join ") && l.ends_with(" cross"));
        if let Some(label) = of_cross {
            // Two strokes, one after the other, through one middle.
            match out.last_mut() {
                Some((last, all)) if last == label && all.center().distance(r.center()) < 0.01 => {
                    *all = all.union(*r);
                }
                _ => out.push((label.to_owned(), *r)),
            }
        }
        if let Shape::Lettering { text, .. } = &item.shape
            && (is_pair(text) || text.starts_with("crosses "))
        {
            out.push((text.clone(), *r));
        }
    }
    out
}

/// What stands in a box besides what a join is itself; its line may run through its crosses.
fn strangers(page: &[Drawn<'_>], (own, r): &(String, Rect)) -> Vec<String> {
    let of_cross = own.ends_with(" cross");
    let others = page.iter().filter(|d| match &d.item.shape {
        _ if d.item.label.as_deref() == Some(own) => false,
        Shape::Lettering { text, .. } => text != own,
        _ => !(of_cross && d.item.meaning == Meaning::Join),
    });
    others
        .filter(|d| d.all.x0 <= r.x1 && r.x0 <= d.all.x1 && d.all.y0 <= r.y1 && r.y0 <= d.all.y1)
        .filter(|d| match &d.item.shape {
            Shape::Lettering { .. } => true,
            _ => d.runs.iter().any(|run| enters(run, *r)),
        })
        .map(|d| match &d.item.shape {
            Shape::Lettering { text, .. } => format!("“{text}”"),
            _ => format!("{} {:?}", d.item.meaning.layer(), d.item.label),
        })
        .collect()
}

#[test]
fn joins_stand_where_nothing_else_is_drawn() {
    let (mut joins, mut bad) = (0, Vec::new());
    let papers = [Paper::A4, Paper::A3];
    let made = each_sheet(&papers, |says, _, _, piece, _, issued| {
        // To be looked at.
        if piece.as_str() == "p1" && issued.drawing.pages.len() > 1 {
            let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("joins");
            std::fs::create_dir_all(&folder).unwrap();
            let name: String = says.chars().filter(|c| c.is_alphanumeric()).collect();
            let part = Part {
                bookmark: says,
                drawing: &issued.drawing,
            };
            std::fs::write(
                folder.join(format!("{name}.pdf")),
                pdf(says, &[part]).unwrap(),
            )
            .unwrap();
        }
        for page in &issued.drawing.pages {
            let page_drawn = drawn(page);
            let marks = marks_of_joins(&page_drawn);
            for mark in &marks {
                joins += 1;
                let inside = strangers(&page_drawn, mark);
                if !inside.is_empty() {
                    bad.push(format!(
                        "{says}, {}: {} at {:.0} over {inside:?}",
                        page.name,
                        mark.0,
                        mark.1.center()
                    ));
                }
            }
            // Each join that a page shows is named on it with both numbers and its symbol.
            for (label, _) in marks.iter().filter(|m| m.0.ends_with(" cross")) {
                let pair = label.trim_start_matches("join ").trim_end_matches(" cross");
                if !marks.iter().any(|m| m.0 == pair) {
                    bad.push(format!("{says}, {}: {pair} is not said", page.name));
                }
            }
        }
    });
    assert!(made > 60 && joins > 200, "{made} sheets, {joins} marks");
    assert!(
        bad.is_empty(),
        "{} of {joins}:\n{}",
        bad.len(),
        bad.join("\n")
    );
}

/// The widths of what stands in letters on a page.
fn widths(page: &Page) -> Vec<(&str, f64)> {
    let letters = page.items.iter().filter_map(|i| match &i.shape {
        Shape::Lettering { text, .. } => Some((text.as_str(), box_of(i)?.width())),
        _ => None,
    });
    letters.collect()
}

#[test]
fn no_join_divides_what_a_template_says() {
    let (mut said, mut bad) = (0, Vec::new());
    each_sheet(
        &[Paper::A4, Paper::A3],
        |says, source, _, _, paper, issued| {
            let Some(whole) = uncut(source, &issued, paper, DAY) else {
                return;
            };
            let name = widths(&whole.pages[0]);
            let there: Vec<(&str, f64)> = issued.drawing.pages.iter().flat_map(widths).collect();
            for (text, wide) in name.into_iter().filter(|(t, _)| t.chars().count() > 5) {
                said += 1;
                // A smaller form of the same words is whole too where it is closed at both ends: its letters
                // stand in the proportion of the larger one's.
                let there = there.iter().filter(|w| w.0 == text);
                let there: Vec<f64> = there.map(|w| w.1).collect();
                let forms = [1.0, 5.0 / 7.0, 3.5 / 5.0, 2.5 / 3.5];
                let found = there
                    .iter()
                    .any(|w| forms.iter().any(|f| (w - wide * f).abs() < 0.3));
                if !found {
                    bad.push(format!(
                        "{says}: “{text}” {wide:.1} wide, on its sheets {there:.1?}"
                    ));
                }
            }
        },
    );
    assert!(said > 40, "{said}");
    assert!(
        bad.is_empty(),
        "{} of {said}:\n{}",
        bad.len(),
        bad.join("\n")
    );
}

/// 12 mm is what no printer fails to reach by the contract's default (design 10 §2.4, clause 9).
#[test]
fn nothing_lies_in_the_margin() {
    let papers = [
        Paper::A4,
        Paper::Letter,
        Paper::A3,
        Paper::Tabloid,
        Paper::Roll {
            width: Length::from_mm(610.0),
        },
    ];
    let mut bad = Vec::new();
    let made = each_sheet(&papers, |says, _, _, _, _, issued| {
        for page in &issued.drawing.pages {
            let (w, h) = (
                f64::from(page.paper.width) / 1e3,
                f64::from(page.paper.height) / 1e3,
            );
            let safe = Rect::new(12.0, 12.0, w - 12.0, h - 12.0);
            for item in &page.items {
                // Half of a line's own width lies outside its middle.
                let half = f64::from(item.meaning.width_um()) / 2e3;
                let out = box_of(item).filter(|b| {
                    !safe
                        .inflate(1e-6, 1e-6)
                        .contains_rect(b.inflate(half, half))
                });
                if let (Some(b), false) = (out, matches!(item.shape, Shape::Lettering { .. })) {
                    bad.push(format!(
                        "{says}, {}: {} {b:.2}",
                        page.name,
                        item.meaning.layer()
                    ));
                }
                let letters = box_of(item).filter(|b| !safe.contains_rect(*b));
                if let (Some(b), Shape::Lettering { text, .. }) = (letters, &item.shape) {
                    bad.push(format!("{says}, {}: “{text}” {b:.2}", page.name));
                }
            }
        }
    });
    assert!(made > 100, "{made}");
    assert!(bad.is_empty(), "{}:\n{}", bad.len(), bad.join("\n"));
}
