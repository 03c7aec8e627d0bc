//! Artwork drawn elsewhere: every row of design/08 *SVG artwork inputs*, written from scratch.
//!
//! Expected numbers follow from the SVG 2 and CSS Values 3 specifications (96 px to the inch, sizes of
//! absolute units, arc corrections, painting rules) and from plane geometry; the clause stands beside
//! each check.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::float_cmp,
    reason = "a test may stop at the first surprise"
)]

#[path = "artwork/damage.rs"]
mod damage;
#[path = "artwork/many.rs"]
mod many;
#[path = "artwork/markup.rs"]
mod markup;

use samespot_core::frames::Artwork as Drawing;
use samespot_core::outline::Outline;
use samespot_core::read::artwork::{
    Answers, Artwork, ArtworkError, Dashes, DeclaredSize, Ignored, IgnoredKind, Note, Overlaps,
    PrepareError, Question, SizeAnswer, Strokes, prepare, read,
};
use samespot_core::units::Length;

const NS: &str = r#"xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink""#;

/// A 100 mm square page, one unit to the millimetre.
fn page(body: &str) -> Vec<u8> {
    format!(r#"<svg {NS} width="100mm" height="100mm" viewBox="0 0 100 100">{body}</svg>"#)
        .into_bytes()
}

#[track_caller]
fn art(body: &str) -> Artwork {
    read(&page(body)).unwrap()
}

#[track_caller]
fn near(found: f64, wanted: f64, within: f64) {
    assert!(
        (found - wanted).abs() <= within,
        "{found} is not {wanted} within {within}"
    );
}

fn fill(a: &Artwork, i: usize) -> &Outline<Drawing> {
    &a.shapes[i].fill.as_ref().unwrap().outline
}

/// Left, bottom, width, height.
fn frame(o: &Outline<Drawing>) -> [f64; 4] {
    let b = o.bounds().unwrap();
    [b.min.x_mm(), b.min.y_mm(), b.width().mm(), b.height().mm()]
}

#[track_caller]
fn framed(o: &Outline<Drawing>, wanted: [f64; 4], within: f64) {
    for (f, w) in frame(o).into_iter().zip(wanted) {
        near(f, w, within);
    }
}

fn ignored(a: &Artwork, what: IgnoredKind) -> Option<&Ignored> {
    a.ignored.iter().find(|i| i.what == what)
}

#[track_caller]
fn lists(a: &Artwork, what: IgnoredKind) {
    assert!(
        ignored(a, what).is_some(),
        "{what:?} is not in {:?}",
        a.ignored
    );
}

#[test]
fn s1_a_size_in_millimetres() {
    let a = read(format!(r#"<svg {NS} width="100mm" height="50mm" viewBox="0 0 100 50"><rect width="100" height="50"/></svg>"#).as_bytes()).unwrap();
    assert!(
        matches!(&a.size, DeclaredSize::Mm { width, height } if width.mm() == 100.0 && height.mm() == 50.0)
    );
    framed(fill(&a, 0), [0.0, 0.0, 100.0, 50.0], 1e-6);
    assert!(
        a.is_ready() && a.ignored.is_empty() && a.questions.is_empty(),
        "{a:?}"
    );
    let flat = prepare(&a, &Answers::default()).unwrap();
    let b = flat.bounds().unwrap();
    assert_eq!(
        (b.min.x_mm(), b.min.y_mm(), b.max.x_mm(), b.max.y_mm()),
        (-50.0, -25.0, 50.0, 25.0)
    );
}

#[test]
fn s2_pixels_are_asked_for() {
    let a = read(
        format!(r#"<svg {NS} width="100" height="50"><rect width="100" height="50"/></svg>"#)
            .as_bytes(),
    )
    .unwrap();
    let DeclaredSize::Pixels { choices, .. } = &a.size else {
        panic!("{:?}", a.size)
    };
    // CSS Values 3, section 6.2: 1 px = 1/96 in.
    for (choice, (dpi, w, h)) in choices.iter().zip([
        (96.0, 26.458, 13.229),
        (90.0, 28.222, 14.111),
        (72.0, 35.278, 17.639),
    ]) {
        assert_eq!(choice.per_inch, dpi);
        near(choice.width.mm(), w, 5e-4);
        near(choice.height.mm(), h, 5e-4);
    }
    assert!(a.questions.contains(&Question::Size));
    assert_eq!(prepare(&a, &Answers::default()), Err(PrepareError::Size));
    let answers = Answers {
        size: SizeAnswer::PerInch(96.0),
        ..Answers::default()
    };
    near(
        prepare(&a, &answers)
            .unwrap()
            .bounds()
            .unwrap()
            .width()
            .mm(),
        26.458,
        1e-3,
    );
}

#[test]
fn s3_no_size_asks_for_one_dimension() {
    for size in ["", r#"width="100%" height="100%""#, r#"width="100%""#] {
        let a = read(
            format!(r#"<svg {NS} {size} viewBox="0 0 24 12"><rect width="24" height="12"/></svg>"#)
                .as_bytes(),
        )
        .unwrap();
        assert_eq!(a.size, DeclaredSize::Unknown);
        assert!(a.questions.contains(&Question::Size));
        let (w, _) = a.page.unwrap();
        let answers = Answers {
            size: SizeAnswer::Known {
                drawn: w,
                real: Length::from_mm(184.0),
            },
            ..Answers::default()
        };
        let b = prepare(&a, &answers).unwrap().bounds().unwrap();
        near(b.width().mm(), 184.0, 1e-3);
        near(b.height().mm(), 92.0, 1e-3);
    }
}

#[test]
fn s4_the_view_is_fitted_or_stretched() {
    let svg = |fit: &str| {
        read(format!(r#"<svg {NS} width="100mm" height="100mm" viewBox="0 0 100 50" {fit}><rect width="100" height="50"/></svg>"#).as_bytes()).unwrap()
    };
    // SVG 2, section 8.6: xMidYMid meet unless said otherwise.
    framed(fill(&svg(""), 0), [0.0, 25.0, 100.0, 50.0], 1e-6);
    framed(
        fill(&svg(r#"preserveAspectRatio="xMidYMin""#), 0),
        [0.0, 50.0, 100.0, 50.0],
        1e-6,
    );
    let stretched = svg(r#"preserveAspectRatio="none""#);
    framed(fill(&stretched, 0), [0.0, 0.0, 100.0, 100.0], 1e-6);
    assert!(
        stretched
            .notes
            .iter()
            .any(|n| matches!(n, Note::Stretched { ratio } if *ratio == 0.5))
    );
}

#[test]
fn s5_units_are_exact_and_relative_ones_need_a_reference() {
    // The user unit is a millimetre here only if px are: take a page whose view is in px.
    let units = [
        ("10mm", 10.0),
        ("1cm", 10.0),
        ("1in", 25.4),
        ("72pt", 25.4),
        ("6pc", 25.4),
        ("40Q", 10.0),
        ("96px", 25.4),
        ("96", 25.4),
    ];
    for (text, mm) in units {
        let a = read(format!(r#"<svg {NS} width="200mm" height="200mm"><rect width="{text}" height="{text}"/></svg>"#).as_bytes()).unwrap();
        let f = frame(fill(&a, 0));
        // f32 in the second pass: 1e-7 of 100 px.
        near(f[2], mm, 1e-5);
        near(f[1], 200.0 - mm, 5e-5);
    }
    let a = art(r#"<rect width="50%" height="25%"/>"#);
    framed(fill(&a, 0), [0.0, 75.0, 50.0, 25.0], 1e-5);
    let a = art(r#"<g font-size="10"><rect width="2em" height="1em"/></g>"#);
    framed(fill(&a, 0), [0.0, 90.0, 20.0, 10.0], 1e-5);
    let a = art(r#"<rect width="2em" height="10"/><rect width="10" height="10"/>"#);
    assert_eq!(a.shapes.len(), 1);
    assert_eq!(
        ignored(&a, IgnoredKind::UnknownLength).unwrap().value,
        r#"width="2em""#
    );
    let a = read(format!(r#"<svg {NS}><rect width="50%" height="10"/></svg>"#).as_bytes()).unwrap();
    lists(&a, IgnoredKind::UnknownLength);
}

#[test]
fn s7_arcs_out_of_range_are_corrected() {
    // SVG 2, appendix B.2.5. Radii too small: scaled up to a half circle of radius 20.
    let a = art(r#"<path d="M10 50A1 1 0 0 1 50 50Z"/>"#);
    near(
        fill(&a, 0).area_mm2(),
        0.5 * std::f64::consts::PI * 400.0,
        0.02,
    );
    framed(fill(&a, 0), [10.0, 50.0, 40.0, 20.0], 1e-3);
    // A radius of 0 is a straight line.
    let a = art(r#"<path d="M10 50A0 9 0 0 1 50 50V90Z"/>"#);
    near(fill(&a, 0).area_mm2(), 800.0, 1e-3);
    // A negative one counts without its sign.
    let a = art(r#"<path d="M10 50A-20 -20 0 0 1 50 50Z"/>"#);
    near(
        fill(&a, 0).area_mm2(),
        0.5 * std::f64::consts::PI * 400.0,
        0.02,
    );
    // Flags glued together, SVG 2, section 9.3.9.
    let a = art(r#"<path d="M10 50a20 20 0 0140 0z"/>"#);
    near(
        fill(&a, 0).area_mm2(),
        0.5 * std::f64::consts::PI * 400.0,
        0.02,
    );
}

/// Distance from a point to an outline, by its chords.
fn from_outline(o: &Outline<Drawing>, x: f64, y: f64) -> f64 {
    let mut best = f64::MAX;
    for ring in o.polylines(Length::from_mm(1e-4)) {
        for (p, q) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            let (dx, dy) = (q.x_mm() - p.x_mm(), q.y_mm() - p.y_mm());
            let t = (((x - p.x_mm()) * dx + (y - p.y_mm()) * dy) / (dx * dx + dy * dy).max(1e-30))
                .clamp(0.0, 1.0);
            best = best.min((p.x_mm() + t * dx - x).hypot(p.y_mm() + t * dy - y));
        }
    }
    best
}

#[test]
fn s8_curves_under_transforms_are_where_their_points_go() {
    type Map = fn(f64, f64) -> (f64, f64);
    let maps: [(&str, Map); 4] = [
        ("scale(1,2)", |x, y| (x, 2.0 * y)),
        ("skewX(10)", |x, y| (x + 10_f64.to_radians().tan() * y, y)),
        ("scale(-1,1)", |x, y| (-x, y)),
        ("translate(5 3) rotate(30) scale(2 0.5)", |x, y| {
            let (s, c) = 30_f64.to_radians().sin_cos();
            let (x, y) = (2.0 * x, 0.5 * y);
            (5.0 + c * x - s * y, 3.0 + s * x + c * y)
        }),
    ];
    for (transform, map) in maps {
        let a = art(&format!(
            r#"<g transform="{transform}"><circle cx="20" cy="15" r="10"/><path d="M10 40a20 10 45 1 1 14 4z"/></g>"#
        ));
        assert_eq!(
            a.shapes.iter().filter(|s| s.mirrored).count(),
            if transform == "scale(-1,1)" { 2 } else { 0 }
        );
        // The circle, point by point.
        for i in 0..360 {
            let (s, c) = f64::from(i).to_radians().sin_cos();
            let (x, y) = map(20.0 + 10.0 * c, 15.0 + 10.0 * s);
            let off = from_outline(fill(&a, 0), x, 100.0 - y);
            assert!(off < 0.01, "{transform}: {off} mm at {i}°");
        }
        // The ellipse turned by 45°: the same path untransformed, its points carried over.
        let plain = art(r#"<path d="M10 40a20 10 45 1 1 14 4z"/>"#);
        for p in fill(&plain, 0).samples(Length::from_mm(0.5)) {
            let (x, y) = map(p.x_mm(), 100.0 - p.y_mm());
            let off = from_outline(fill(&a, 1), x, 100.0 - y);
            assert!(off < 0.01, "{transform}: {off} mm");
        }
    }
    // The ellipse itself against its equation: all points at one value of (u/20)² + (v/10)².
    let plain = art(r#"<path d="M10 40a20 10 45 1 1 14 4"/>"#);
    let (s, c) = 45_f64.to_radians().sin_cos();
    // SVG 2, appendix B.2.4, worked through for this arc by hand: centre from both end points.
    let (x1, y1) = (c * -7.0 + s * -2.0, s * 7.0 + c * -2.0);
    let (rx, ry) = (20.0_f64, 10.0_f64);
    let k = ((rx * ry).powi(2) - (rx * y1).powi(2) - (ry * x1).powi(2))
        / ((rx * y1).powi(2) + (ry * x1).powi(2));
    let k = -k.sqrt();
    let (cx1, cy1) = (k * rx * y1 / ry, -k * ry * x1 / rx);
    let (mut on, mut all) = (0, 0);
    for sign in [1.0, -1.0] {
        let (cx, cy) = (
            c * sign * cx1 - s * sign * cy1 + 17.0,
            s * sign * cx1 + c * sign * cy1 + 42.0,
        );
        let fits = fill(&plain, 0).contours()[0]
            .dense(Length::from_mm(1e-4), Length::from_mm(0.5))
            .iter()
            .all(|p| {
                let (dx, dy) = (p.x_mm() - cx, 100.0 - p.y_mm() - cy);
                let (u, v) = (c * dx + s * dy, -s * dx + c * dy);
                let chord = (c * (p.x_mm() - 10.0)).abs() < f64::MAX;
                chord && ((u / rx).hypot(v / ry) - 1.0).abs() * ry < 0.01
                    || from_chord((10.0, 40.0), (24.0, 44.0), (p.x_mm(), 100.0 - p.y_mm())) < 0.01
            });
        on += usize::from(fits);
        all += 1;
    }
    assert_eq!(
        (on, all),
        (1, 2),
        "on exactly one of the two ellipses through both ends"
    );
}

fn from_chord(a: (f64, f64), b: (f64, f64), p: (f64, f64)) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    ((p.0 - a.0) * dy - (p.1 - a.1) * dx).abs() / dx.hypot(dy)
}

#[test]
fn s10_repeats_and_loops() {
    let group = r#"<defs><g id="pair"><rect width="10" height="10"/><rect x="20" width="10" height="10"/></g></defs>"#;
    let links = [
        ("href", ""),
        ("xlink:href", ""),
        ("l:href", r#"xmlns:l="http://www.w3.org/1999/xlink""#),
    ];
    for (href, declared) in links {
        let a = art(&format!(
            r##"{group}<use {declared} {href}="#pair" x="5" y="7"/>"##
        ));
        assert_eq!(a.shapes.len(), 2, "{href}");
        framed(fill(&a, 1), [25.0, 83.0, 10.0, 10.0], 1e-5);
        assert_eq!(a.shapes[1].at.element, "use");
    }
    let a = art(
        r##"<use id="me" href="#me"/><g id="a"><use href="#b"/><rect width="5" height="5"/></g><g id="b"><use href="#a"/></g>"##,
    );
    lists(&a, IgnoredKind::Loop);
    assert!(!a.shapes.is_empty() && a.shapes.len() < 4);
    let a = art(r##"<use href="#nothing"/><use href="other.svg#a"/>"##);
    lists(&a, IgnoredKind::Dangling);
    lists(&a, IgnoredKind::ExternalReference);
    // Ten repeats of ten repeats of … would be 10^10 squares.
    let mut bomb = String::from(r#"<defs><g id="u0"><rect width="1" height="1"/></g>"#);
    for i in 1..=10 {
        bomb.push_str(&format!(r#"<g id="u{i}">"#));
        bomb.push_str(&format!(r##"<use href="#u{}"/>"##, i - 1).repeat(10));
        bomb.push_str("</g>");
    }
    bomb.push_str(r##"</defs><use href="#u10"/>"##);
    assert!(matches!(
        read(&page(&bomb)),
        Err(ArtworkError::TooMany { .. })
    ));
    // A symbol with a view of its own, SVG 2, section 5.6.
    let a = art(
        r##"<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol><use href="#s" x="10" y="10" width="30" height="30"/>"##,
    );
    framed(fill(&a, 0), [10.0, 60.0, 30.0, 30.0], 1e-4);
}
