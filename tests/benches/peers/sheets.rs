//! The yardstick's 144 sheets as drawings, written as SVG and PDF.

use super::timing::{Of, measured};
use kurbo::PathEl;
use samespot_core::answer::Desk;
use samespot_core::outline::lettering::{Weight, set_text};
use samespot_core::read::job::open;
use samespot_core::sheet::drawing::{
    Contour, Drawing, Item, Meaning, Page, PaperSize, Segment, Shape, Spot,
};
use samespot_core::units::Length;
use samespot_core::write::pdf::{Part, pdf};
use samespot_core::write::svg::svg_page;
use std::f64::consts::TAU;

const SHEETS: u32 = 144;

fn um(mm: f64) -> i32 {
    (mm * 1000.0).round() as i32
}

fn spot(x: f64, y: f64) -> Spot {
    Spot::new(um(x), um(y))
}

fn item(meaning: Meaning, shape: Shape) -> Item {
    Item {
        meaning,
        shape,
        label: None,
        stamp: false,
    }
}

fn line(points: &[Spot], closed: bool) -> Contour {
    Contour {
        start: points[0],
        segments: points[1..].iter().map(|&to| Segment::Line { to }).collect(),
        closed,
    }
}

fn lettering(text: String, x: f64, y: f64) -> Item {
    let set = set_text(&text, Length::from_mm(2.1), Weight::Medium);
    let mut outlines: Vec<Contour> = Vec::new();
    let at = |p: kurbo::Point| spot(x + p.x, y + p.y);
    for path in &set.contours {
        for el in path {
            let segment = match el {
                PathEl::MoveTo(p) => {
                    outlines.push(Contour {
                        start: at(p),
                        segments: Vec::new(),
                        closed: true,
                    });
                    continue;
                }
                PathEl::LineTo(p) => Segment::Line { to: at(p) },
                PathEl::CurveTo(a, b, c) => Segment::Cubic {
                    c1: at(a),
                    c2: at(b),
                    to: at(c),
                },
                PathEl::QuadTo(a, b) => Segment::Arc {
                    via: at(a),
                    to: at(b),
                },
                PathEl::ClosePath => continue,
            };
            outlines.last_mut().unwrap().segments.push(segment);
        }
    }
    item(Meaning::Note, Shape::Lettering { text, outlines })
}

/// `sheet` of the yardstick, with its letters as the outlines that ours always are.
fn sheet(k: u32) -> Drawing {
    let mut items = Vec::new();
    for j in 0..4 {
        let points: Vec<Spot> = (0..500)
            .map(|i| {
                let t = f64::from(i) * TAU / 500.0;
                let r = (80.0 - 15.0 * f64::from(j))
                    * (0.70
                        + 0.22 * (5.0 * t + f64::from(k) * 0.1).cos()
                        + 0.05 * (13.0 * t).sin()
                        + 0.03 * (29.0 * t).cos());
                spot(105.0 + r * t.cos(), 148.0 + r * t.sin())
            })
            .collect();
        items.push(item(Meaning::Cut, Shape::Line(vec![line(&points, true)])));
    }
    for i in 0..40 {
        let x = 20.0 + f64::from(i % 8) * 24.0;
        let y = 20.0 + f64::from(i / 8) * 50.0 + f64::from(k) * 0.01;
        let cross = vec![
            line(&[spot(x - 3.0, y), spot(x + 3.0, y)], false),
            line(&[spot(x, y - 3.0), spot(x, y + 3.0)], false),
        ];
        items.push(item(Meaning::Register, Shape::Line(cross)));
        let circle = Shape::Circle {
            centre: spot(x, y),
            radius: 1500,
        };
        items.push(item(Meaning::Register, circle));
    }
    for i in 0..30 {
        let (x, y) = (
            15.0 + f64::from(i % 5) * 36.0,
            15.0 + f64::from(i / 5) * 45.0,
        );
        let r = 3.0 + f64::from(i) * 0.25;
        let text = format!("P{:02} S{} #{i} r={r:.2}", k / 6 + 1, k % 6 + 1);
        items.push(lettering(text, x, y));
    }
    Drawing {
        title: "yardstick".into(),
        reference: String::new(),
        readable: Vec::new(),
        pages: vec![Page {
            paper: PaperSize {
                width: 210_000,
                height: 297_000,
            },
            name: format!("sheet {k}"),
            items,
        }],
    }
}

pub(super) fn sheets() {
    let of = |kernel, way| Of {
        kernel,
        way,
        size: "144",
        items: SHEETS as usize,
    };
    let drawings: Vec<Drawing> = (0..SHEETS).map(sheet).collect();
    let bare: Vec<Drawing> = drawings
        .iter()
        .map(|d| {
            let mut d = d.clone();
            d.pages[0].items.retain(|i| i.meaning != Meaning::Note);
            d
        })
        .collect();
    for (way, all) in [
        (", letters as outlines", &drawings),
        (", letters left out", &bare),
    ] {
        measured(
            &of("svg_144", way),
            || {
                all.iter()
                    .map(|d| svg_page(d, 0).unwrap().len())
                    .sum::<usize>()
            },
            |n| format!("{n} bytes"),
        );
        measured(
            &of("pdf_144_flate", way),
            || {
                let parts: Vec<Part<'_>> = all
                    .iter()
                    .map(|drawing| Part {
                        bookmark: "sheet",
                        drawing,
                    })
                    .collect();
                pdf("yardstick", &parts).unwrap().len()
            },
            |n| format!("{n} bytes"),
        );
    }
}

/// Every sheet of the larger example, as `cargo xtask issue` makes them, all threads together.
pub(super) fn issue() {
    let file = include_bytes!("../../../public/examples/quay-puffins.samespot");
    measured(
        &Of {
            kernel: "issue",
            way: "",
            size: "quay puffins",
            items: 129,
        },
        || {
            let mut desk = Desk::default();
            let job = desk.take(open(file).unwrap());
            desk.run(&job, None, "2026-11-25").unwrap().0.len()
        },
        |n| format!("{n} files"),
    );
}
