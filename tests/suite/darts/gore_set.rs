//! Gores alike that butt edge to edge: against closed forms, and one read back from its SVG, rolled on
//! the ball as often as is said.
//!
//! Outside values: `../shared/checks` J12 (half-width of a gore), J6 (polyconic: Snyder 1987, Appendix A
//! pp. 303-304, eqs 18-2 to 18-4); rolling on by Napier's rules for the right spherical triangle.

use super::gores::ring;
use super::patches::{Part, marks_on_ball, part};
use super::*;
use samespot_core::job::SheetOf;
use samespot_core::prepare::PrepareError;
use samespot_core::surface::Gore;
use samespot_core::units::Length;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

fn mm(x: f64) -> Length {
    Length::from_mm(x)
}

fn as_gores(job: &Job) -> Result<Issued, PrepareError> {
    let source = Source {
        job,
        attachments: &Attachments::new(),
    };
    let spot = QuickIds::fixed().unwrap().spot;
    let piece = QuickIds::piece(1).unwrap().1;
    let of = SheetOf::Gores(spot);
    issue(&source, of, &piece, Paper::A3, "2026-11-28")
}

/// J12: N = 12, R = 100.
#[test]
fn a_gore_is_as_wide_as_its_share_of_the_parallel() {
    let gore = Gore::new(mm(100.0), 12, [mm(0.0), mm(200.0)]).unwrap();
    let half = |lat: f64| gore.half_width(mm(100.0 * (FRAC_PI_2 - lat))).mm();
    assert!((half(0.0) - 26.179_939).abs() < 1e-6, "{}", half(0.0));
    assert!((half(PI / 4.0) - 18.512_012).abs() < 1e-6);
    // Along the drawn parallel it is that, all round it is the whole of it.
    for s in [40.0, 110.0, 170.0] {
        let arc = gore.parallel(mm(s));
        let long: f64 = arc.windows(2).map(|w| (w[1] - w[0]).norm_mm()).sum();
        assert!((long - 2.0 * gore.half_width(mm(s)).mm()).abs() < 1e-2);
        let whole = TAU * 100.0 * (s / 100.0).sin();
        assert!((12.0 * long - whole).abs() < 0.1, "{long} {whole}");
    }
}

/// J6: R = 1, origin 30N 96W, point 40N 75W.
#[test]
fn a_place_of_it_is_where_the_polyconic_map_has_it() {
    let polar = |lat: f64| mm((90.0_f64 - lat).to_radians());
    let gore = Gore::new(mm(1.0), 4, [polar(50.0), polar(10.0)]).unwrap();
    let at = gore.flat(polar(40.0), 21.0_f64.to_radians());
    assert!((at.x_mm() - 0.278_179_8).abs() < 6e-8, "{at:?}");
    assert!((at.y_mm() - 0.207_454_1).abs() < 6e-8, "{at:?}");
}

#[test]
fn gores_that_cannot_be_are_none() {
    assert!(Gore::new(mm(100.0), 2, [mm(0.0), mm(50.0)]).is_none());
    assert!(Gore::new(mm(100.0), 12, [mm(50.0), mm(50.0)]).is_none());
    assert!(Gore::new(mm(100.0), 12, [mm(0.0), mm(260.0)]).is_none());
    assert!(Gore::new(mm(0.0), 12, [mm(0.0), mm(50.0)]).is_none());
}

/// The more there are, the less each leaves, wherever its ends are.
#[test]
fn more_gores_leave_less() {
    for ends in [[0.0, 90.0], [40.0, 120.0], [100.0, 240.0]] {
        let leaves = |n: u32| Gore::new(mm(150.0), n, ends.map(mm)).unwrap().leaves();
        for n in 4..30 {
            let (few, many) = (leaves(n), leaves(n + 1));
            assert!(many.worst < few.worst, "{n}: {few:?} {many:?}");
            assert!(many.too_long <= few.too_long);
        }
    }
}

/// The gore on its sheet: a place in millimetres up its middle line and to the right of it.
struct Local {
    mid: P,
    up: P,
}

impl Local {
    fn of(page: &Part, cap: bool) -> Self {
        let [a, b] = [&page.joins[0].1, &page.joins[1].1];
        let half = |p: P, q: P| ((p.0 + q.0) / 2.0, (p.1 + q.1) / 2.0);
        let (inner, outer) = (half(a[0], b[0]), half(a[a.len() - 1], b[b.len() - 1]));
        let v = minus(inner, outer);
        let up = (v.0 / length(v), v.1 / length(v));
        // The parallels bend: the middle line runs from the middle of one to that of the other.
        let on_line = |run: &Vec<P>| run[run.len() / 2];
        let mut ends: Vec<P> = page.outline.iter().map(on_line).collect();
        if cap {
            ends.push(inner);
        }
        assert_eq!(ends.len(), 2);
        Self {
            mid: half(ends[0], ends[1]),
            up,
        }
    }
    fn at(&self, p: P) -> P {
        let v = minus(p, self.mid);
        let right = (self.up.1, -self.up.0);
        (
            v.0 * right.0 + v.1 * right.1,
            v.0 * self.up.0 + v.1 * self.up.1,
        )
    }
}

/// Rolled on from the middle line of the k-th gore: so far along the meridian, then square to it.
fn rolled(r: f64, mid: f64, bearing: f64, (x, y): P) -> V {
    let foot = (mid - y) / r;
    let out = [bearing.cos(), bearing.sin(), 0.0];
    let on_line = [0, 1, 2].map(|k| foot.sin() * out[k] + if k == 2 { foot.cos() } else { 0.0 });
    // Anticlockwise about the pole.
    let aside = [-bearing.sin(), bearing.cos(), 0.0];
    let (c, s) = ((x / r).cos(), (x / r).sin());
    [0, 1, 2].map(|k| c * on_line[k] + s * aside[k])
}

#[test]
fn a_set_rolled_on_closes_round_the_dome() {
    let job = ring(3.0);
    let made = as_gores(&job).unwrap();
    let set = made.prepared.gores.as_ref().unwrap();
    let r = ball(&made);
    let marks = marks_on_ball(&made, r);
    assert_eq!(made.drawing.pages.len(), 1, "one outline, cut many times");
    let svg = svg_page(&made.drawing, 0).unwrap();
    if let Ok(to) = std::env::var("SAMESPOT_SHOW") {
        std::fs::write(format!("{to}-gore.svg"), &svg).unwrap();
    }
    let page = part(&svg);
    let local = Local::of(&page, false);
    // Edges of 70 and 100 mm on the pattern's ball; on the casting's the feature keeps its size.
    let (mid, ends) = (85.0, [70.0, 100.0]);
    let n = f64::from(set.count);
    // No more gores than are needed, and those that are lie within the share of flat paper.
    assert!(set.leaves.worst.mm() <= 0.75, "{:?}", set.leaves);
    let fewer = Gore::new(mm(r), set.count - 1, ends.map(mm))
        .unwrap()
        .leaves();
    assert!(fewer.worst.mm() > 0.75, "{fewer:?}");
    // Both ends lie on their parallels.
    for run in &page.outline {
        for p in run {
            let v = rolled(r, mid, 0.0, local.at(*p));
            let polar = r * v[2].acos();
            let off = ends
                .iter()
                .map(|e| (polar - e).abs())
                .fold(f64::MAX, f64::min);
            assert!(off <= set.leaves.worst.mm() + 0.06, "{off}");
        }
    }
    // One's right edge meets the next one's left: as far apart as is said, no more, no less.
    let said = set.leaves.gap.mm().max(set.leaves.overlap.mm());
    let [right, left] = [&page.joins[0].1, &page.joins[1].1];
    let mut apart: f64 = 0.0;
    for (a, b) in right.iter().zip(left) {
        let here = rolled(r, mid, 0.0, local.at(*a));
        let next = rolled(r, mid, TAU / n, local.at(*b));
        apart = apart.max(great(r, here, next));
    }
    assert!(page.joins[0].0.contains("next"), "{}", page.joins[0].0);
    assert!((apart - said).abs() < 0.03, "{apart} for {said}");
    // The long edges are dashed and in the key.
    let words = made.drawing.readable.join("\n");
    assert!(
        words.contains(&format!("Cut {} alike", set.count)),
        "{words}"
    );
    // Every cross comes onto its mark when its own gore is rolled on; the first gore runs through A.
    let a = &marks[0].1;
    let first = a[1].atan2(a[0]);
    assert_eq!(page.crosses.len(), marks.len());
    for ((letter, which), (name, at)) in set.carried.iter().zip(&page.crosses) {
        assert!(name.contains(letter.as_str()), "{name}");
        let mark = marks.iter().find(|(l, _)| l == letter).unwrap();
        let bearing = first + TAU / n * f64::from(which - 1);
        let there = rolled(r, mid, bearing, local.at(*at));
        let off = great(r, there, mark.1);
        assert!(off < 0.3, "{letter} on gore {which}: {off}");
    }
}

#[test]
fn gores_are_for_circles_and_rings_on_domes() {
    let why = as_gores(&job(150.0, [160.0, 100.0, 100.0], [60.0, 40.0])).unwrap_err();
    assert!(why.to_string().contains("a circle or a ring"), "{why}");
    let mut flat = ring(3.0);
    for face in flat.faces.values_mut() {
        face.shape = Some(FaceShape::Flat);
    }
    let why = as_gores(&flat).unwrap_err();
    assert!(why.to_string().contains("on a dome only"), "{why}");
}
