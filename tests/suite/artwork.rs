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

use proptest::prelude::*;
use samespot_core::frames::Artwork as Drawing;
use samespot_core::outline::Outline;
use samespot_core::read::artwork::{
    Answers, Artwork, ArtworkError, Dashes, DeclaredSize, Ignored, IgnoredKind, Note, Overlaps,
    PrepareError, Question, SizeAnswer, Strokes, prepare, read,
};
use samespot_core::units::Length;
use std::path::{Path, PathBuf};

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

#[test]
fn s12_entities_are_put_in_place_or_refused() {
    let with = |dtd: &str, body: &str| {
        read(format!(r#"<?xml version="1.0"?><!DOCTYPE svg [{dtd}]><svg xmlns="&ns;" width="10mm" height="10mm" viewBox="0 0 10 10">{body}</svg>"#).as_bytes())
    };
    let a = with(
        r#"<!ENTITY ns "http://www.w3.org/2000/svg">"#,
        r#"<rect width="10" height="10"/>"#,
    )
    .unwrap();
    framed(fill(&a, 0), [0.0, 0.0, 10.0, 10.0], 1e-6);
    assert!(a.notes.contains(&Note::Entities { defined: 1 }));
    for dtd in [
        r#"<!ENTITY a "x"><!ENTITY ns "&a;&a;">"#,
        r#"<!ENTITY ns SYSTEM "file:///etc/passwd">"#,
        r#"<!ENTITY % p "x"><!ENTITY ns "y">"#,
        r#"<!ENTITY ns "<g/>">"#,
    ] {
        assert!(
            matches!(with(dtd, ""), Err(ArtworkError::Entity { .. })),
            "{dtd}"
        );
    }
    // Quadratic growth: one long entity, many references.
    let long = format!(r#"<!ENTITY ns "{}">"#, "x".repeat(100_000));
    assert!(matches!(
        with(&long, &"<desc>&ns;</desc>".repeat(200)),
        Err(ArtworkError::Entity { .. })
    ));
}

#[test]
fn s13_styles_decide_what_is_shown() {
    let a = art(
        r#"<style>.off{display:none}.ghost{opacity:0}.red{fill:#ff0000}rect.red{fill:#0000ff}#x{fill:#00ff00 !important}</style>
        <g id="hidden layer" style="display:none"><rect width="5" height="5"/><rect width="6" height="6"/></g>
        <rect class="off" width="7" height="7"/>
        <g visibility="hidden"><rect width="8" height="8"/><rect visibility="visible" x="50" width="9" height="9"/></g>
        <rect class="ghost" width="10" height="10"/>
        <rect class="red" fill="black" width="11" height="11"/>
        <rect id="x" class="red" style="fill:black" width="12" height="12"/>"#,
    );
    let seen: Vec<_> = a
        .shapes
        .iter()
        .map(|s| s.fill.as_ref().unwrap().colour.clone())
        .collect();
    // CSS Cascade 4: a rule beats an attribute, the more specific rule the other, importance all.
    assert_eq!(seen, ["#000000", "#0000ff", "#00ff00"]);
    framed(fill(&a, 0), [50.0, 91.0, 9.0, 9.0], 1e-5);
    let hidden: Vec<_> = a
        .ignored
        .iter()
        .filter(|i| i.what == IgnoredKind::Hidden)
        .map(|i| i.count)
        .collect();
    assert_eq!(hidden, [2, 1, 1, 1]);
    let layer = ignored(&a, IgnoredKind::Hidden).unwrap();
    assert_eq!(
        (layer.at.label.as_deref(), layer.at.line),
        (Some("hidden layer"), 2)
    );
}

#[test]
fn s14_nothing_is_fetched_and_all_of_it_is_listed() {
    let a = art(
        r#"<style>@import url(http://host.invalid/a.css);</style><image href="http://host.invalid/a.png" width="5" height="5"/><image href="//host.invalid/x.png" width="5" height="5"/><rect fill="url(http://host.invalid/a.svg#g)" width="5" height="5"/><rect width="10" height="10"/>"#,
    );
    lists(&a, IgnoredKind::Import);
    lists(&a, IgnoredKind::ExternalImage);
    lists(&a, IgnoredKind::ExternalReference);
    assert_eq!(a.shapes.len(), 1);
    assert!(a.underlays.is_empty());
}

#[test]
fn s15_nothing_runs() {
    let a = art(
        r#"<script>canary=1</script><rect onload="canary=1" width="5" height="5"/>
        <foreignObject width="9" height="9"><body xmlns="http://www.w3.org/1999/xhtml" onclick="canary=1"><iframe src="http://host.invalid"/></body></foreignObject>
        <a href="javascript:canary=1"><rect x="20" width="5" height="5"/></a>
        <animate attributeName="href" to="javascript:canary=1"/>
        <image href="data:image/svg+xml,&lt;svg/&gt;" width="5" height="5"/>"#,
    );
    for what in [
        IgnoredKind::Script,
        IgnoredKind::EventHandler,
        IgnoredKind::ForeignObject,
        IgnoredKind::Link,
        IgnoredKind::Animation,
        IgnoredKind::ForeignImage,
    ] {
        lists(&a, what);
    }
    assert_eq!(a.shapes.len(), 2);
    let json = serde_json::to_string(&a.shapes).unwrap();
    assert!(
        !json.contains("canary") && !json.contains("script"),
        "{json}"
    );
}

#[test]
fn s16_lines_are_asked_about() {
    let a = art(
        r#"<g fill="none" stroke="black"><path d="M10 50H90" stroke-width="2"/><path d="M10 60H90" stroke-width="0"/><path d="M10 70H90"/><path d="M10 80H90" stroke-width="2" stroke-dasharray="10 10"/><path d="M10 90H90" vector-effect="non-scaling-stroke"/></g>"#,
    );
    let widths: Vec<_> = a
        .shapes
        .iter()
        .map(|s| s.stroke.as_ref().unwrap().width.mm())
        .collect();
    assert_eq!(widths, [2.0, 1.0, 2.0, 1.0]);
    assert!(a.questions.contains(&Question::Strokes {
        lines: 4,
        dashed: 1,
        keeping_width: 1
    }));
    lists(&a, IgnoredKind::Unpainted);
    assert_eq!(
        prepare(&a, &Answers::default()),
        Err(PrepareError::Strokes { lines: 4 })
    );
    let with = |strokes, dashes| Answers {
        strokes,
        dashes,
        shapes: vec![0, 2],
        ..Answers::default()
    };
    let centre = prepare(&a, &with(Strokes::CentreLine, Dashes::Solid)).unwrap();
    assert_eq!(centre.contours().len(), 2);
    assert!(centre.contours().iter().all(|c| !c.is_closed()));
    let solid = prepare(&a, &with(Strokes::BothEdges, Dashes::Solid)).unwrap();
    assert_eq!(solid.contours().len(), 2);
    near(solid.area_mm2(), 2.0 * 160.0, 0.1);
    // 80 mm in dashes of 10 and gaps of 10: four of them, each 10 by 2.
    let each = prepare(&a, &with(Strokes::BothEdges, Dashes::Each)).unwrap();
    assert_eq!(each.contours().len(), 1 + 4);
    near(each.area_mm2(), 160.0 + 80.0, 0.1);
    // Round and square ends reach past the line by half its width (SVG 2, section 13.5.4).
    for (cap, more) in [("round", std::f64::consts::PI), ("square", 4.0)] {
        let a = art(&format!(
            r#"<path d="M10 50H90" stroke="black" stroke-width="2" stroke-linecap="{cap}"/>"#
        ));
        let both = Answers {
            strokes: Strokes::BothEdges,
            ..Answers::default()
        };
        near(prepare(&a, &both).unwrap().area_mm2(), 160.0 + more, 0.05);
    }
    // A circle's line has two edges.
    let ring =
        art(r#"<circle cx="50" cy="50" r="20" fill="none" stroke="black" stroke-width="4"/>"#);
    let ring = prepare(
        &ring,
        &Answers {
            strokes: Strokes::BothEdges,
            ..Answers::default()
        },
    )
    .unwrap();
    near(
        ring.area_mm2(),
        std::f64::consts::PI * (22.0 * 22.0 - 18.0 * 18.0),
        0.3,
    );
}

#[test]
fn s17_text_blocks_until_it_is_dealt_with() {
    let a = art(
        r#"<text x="10" y="20" font-size="8" font-family="None Such">GO<tspan>OD</tspan></text><text>x<textPath href="line">y</textPath></text><rect width="5" height="5"/>"#,
    );
    assert_eq!(a.texts.len(), 2);
    assert_eq!(a.texts[0].words, "GOOD");
    assert!(frame(a.texts[0].about.as_ref().unwrap())[0] == 10.0);
    assert_eq!(
        prepare(&a, &Answers::default()),
        Err(PrepareError::Words { texts: 2 })
    );
    assert!(
        prepare(
            &a,
            &Answers {
                without_words: true,
                ..Answers::default()
            }
        )
        .is_ok()
    );
}

#[test]
fn s18_a_picture_is_an_underlay_only() {
    let data = "iVBORw0KGgo".repeat(1_900_000);
    let a = art(&format!(
        r#"<image x="10" y="20" width="30" height="40" href="data:image/png;base64,{data}"/><rect width="5" height="5"/>"#
    ));
    assert_eq!(a.underlays.len(), 1);
    assert_eq!(
        (
            a.underlays[0].media_type.as_str(),
            a.underlays[0].base64.len()
        ),
        ("image/png", data.len())
    );
    framed(
        a.underlays[0].frame.as_ref().unwrap(),
        [10.0, 40.0, 30.0, 40.0],
        1e-5,
    );
    assert_eq!(
        prepare(&a, &Answers::default()).unwrap().contours().len(),
        1
    );
    assert!(matches!(
        read(&vec![b' '; 41 << 20]),
        Err(ArtworkError::TooLarge { .. })
    ));
}

#[test]
fn s19_clips_are_applied_and_masks_refused() {
    let half = r#"<clipPath id="c"><rect width="50" height="100"/></clipPath>"#;
    let a = art(&format!(
        r#"{half}<circle clip-path="url(#c)" cx="50" cy="50" r="20"/>"#
    ));
    // Cut shapes are chords within 5 µm of the curve: two thirds of that over a 63 mm arc.
    near(
        fill(&a, 0).area_mm2(),
        0.5 * std::f64::consts::PI * 400.0,
        0.21,
    );
    framed(fill(&a, 0), [30.0, 30.0, 20.0, 40.0], 1e-3);
    assert!(a.notes.contains(&Note::Clipped { shapes: 1 }));
    // Untouched by its clip, a circle stays one of eight curves.
    let a = art(&format!(
        r#"{half}<circle clip-path="url(#c)" cx="25" cy="50" r="20"/>"#
    ));
    assert_eq!(fill(&a, 0).contours()[0].path_mm().segments().count(), 8);
    let a = art(&format!(
        r#"{half}<circle clip-path="url(#c)" cx="80" cy="50" r="20"/>"#
    ));
    lists(&a, IgnoredKind::ClippedAway);
    assert!(a.shapes.is_empty());
    // CSS Masking 1, section 7.3.1: fractions of the shape's box.
    let a = art(
        r#"<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height="0.5"/></clipPath><rect clip-path="url(#c)" x="10" y="10" width="40" height="20"/>"#,
    );
    framed(fill(&a, 0), [10.0, 80.0, 40.0, 10.0], 1e-3);
    // A transform on the shape moves its clip too.
    let a = art(&format!(
        r#"{half}<g transform="translate(10 0)"><rect clip-path="url(#c)" width="80" height="100"/></g>"#
    ));
    framed(fill(&a, 0), [10.0, 0.0, 50.0, 100.0], 1e-3);
    // A clip cut by a clip.
    let a = art(
        r#"<clipPath id="d"><rect width="100" height="30"/></clipPath><clipPath id="c" clip-path="url(#d)"><rect width="50" height="100"/></clipPath><rect clip-path="url(#c)" width="100" height="100"/>"#,
    );
    framed(fill(&a, 0), [0.0, 70.0, 50.0, 30.0], 1e-3);
    let a = art(
        r##"<mask id="m"><rect width="50" height="50" fill="white"/></mask><rect mask="url(#m)" width="90" height="90"/><filter id="f"><feGaussianBlur stdDeviation="2"/></filter><rect filter="url(#f)" width="10" height="10"/>"##,
    );
    assert_eq!(a.shapes.len(), 1);
    lists(&a, IgnoredKind::Masked);
    lists(&a, IgnoredKind::Filter);
}

#[test]
fn s21_crossings_become_areas_and_small_parts_are_reported() {
    let a = art(r#"<path d="M0 0L40 40V0L0 40Z"/>"#);
    near(fill(&a, 0).area_mm2(), 800.0, 0.1);
    assert!(
        fill(&a, 0)
            .meetings(Length::from_mm(0.01), 5)
            .iter()
            .all(|m| m.kind == samespot_core::outline::MeetingKind::Touches)
    );
    assert!(a.notes.contains(&Note::Resolved { shapes: 1 }));
    // A loop at a cusp, then an inner offset larger than a feature.
    let a = art(
        r#"<path d="M10 10H60V60C30 40 30 60 60 40.5V90H10Z"/><circle cx="85" cy="20" r="2"/>"#,
    );
    let flat = prepare(&a, &Answers::default()).unwrap();
    let taken_in = flat.offset(Length::from_mm(-3.0)).unwrap();
    assert!(taken_in.lost.iter().any(|l| l.whole), "{:?}", taken_in.lost);
    assert!(
        taken_in
            .outline
            .meetings(Length::from_mm(0.02), 5)
            .is_empty()
    );
}

#[test]
fn s23_path_data_is_drawn_up_to_its_first_error() {
    // Glued numbers and exponents are good (SVG 2, section 9.3.9).
    let a = art(r#"<path d="M.5.5-.3.5.5 9z"/><path d="M1e1 1e-3 20,20 10 20"/>"#);
    assert!(a.notes.is_empty(), "{:?}", a.notes);
    framed(fill(&a, 0), [-0.3, 91.0, 0.8, 8.5], 1e-4);
    for (data, segments) in [
        ("M10 10H50V50H10L1e400 5Z", 4),
        ("M10 10H50V50H10L NaN 5Z", 4),
        ("M10 10H50V50H10L5", 4),
        ("M10 10H50V50H10,,5", 4),
    ] {
        let a = art(&format!(r#"<path id="p" d="{data}"/>"#));
        let stop = a.notes.iter().find_map(|n| match n {
            Note::PathStops {
                at,
                character,
                segments,
            } => Some((at.label.clone(), *character, *segments)),
            _ => None,
        });
        let (label, character, found) = stop.unwrap_or_else(|| panic!("{data}: {:?}", a.notes));
        assert_eq!((label.as_deref(), found), (Some("p"), segments), "{data}");
        assert!(
            (15..=20).contains(&character),
            "{data}: character {character}"
        );
        near(fill(&a, 0).area_mm2(), 1600.0, 1e-2);
    }
    let a = art(r#"<path d="10 10H50V50"/>"#);
    assert!(a.shapes.is_empty());
    assert!(
        a.notes
            .iter()
            .any(|n| matches!(n, Note::PathStops { segments: 0, .. }))
    );
}

#[test]
fn s24_much_and_strange_is_bounded() {
    let mut many = String::new();
    for i in 0..50_000 {
        many.push_str(&format!(
            r#"<path d="M{} {}h.2v.2z"/>"#,
            f64::from(i % 250) * 0.4,
            f64::from(i / 250) * 0.5
        ));
    }
    let a = art(&many);
    assert_eq!(a.shapes.len(), 50_000);
    let mut long = String::from("M50 50");
    for i in 0..200_000 {
        let turn = f64::from(i) * 1e-3;
        let r = 5.0 + 2e-4 * f64::from(i);
        long.push_str(&format!(
            "L{:.4} {:.4}",
            50.0 + r * turn.cos(),
            50.0 + r * turn.sin()
        ));
    }
    let a = art(&format!(r#"<path fill="none" stroke="black" d="{long}"/>"#));
    assert!(a.notes.iter().any(|n| matches!(n, Note::Heavy { .. })));
    let answers = Answers {
        strokes: Strokes::CentreLine,
        simplify: Some(Length::from_mm(0.05)),
        ..Answers::default()
    };
    let whole = prepare(
        &a,
        &Answers {
            simplify: None,
            ..answers.clone()
        },
    )
    .unwrap();
    let fewer = prepare(&a, &answers).unwrap();
    let count = |o: &Outline<samespot_core::frames::Flat>| {
        o.polylines(Length::from_mm(0.02)).concat().len()
    };
    assert!(
        count(&whole) > 190_000 && count(&fewer) < 4_000,
        "{} {}",
        count(&whole),
        count(&fewer)
    );
    for d in [
        "M0 0C0 0 0 0 0 0Z",
        "M5 5C5 5 5 5 20 20C20 20 20 20 20 20L5 20Z",
        "M0 0C90 90 90 90 0 0",
    ] {
        let _ = art(&format!(r#"<path d="{d}"/><rect width="1" height="1"/>"#));
    }
    let deep = format!(
        "{}<rect width='1' height='1'/>{}",
        "<g>".repeat(50_000),
        "</g>".repeat(50_000)
    );
    assert!(matches!(
        read(&page(&deep)),
        Err(ArtworkError::TooDeep { .. })
    ));
}

#[test]
fn s25_wrappings_are_taken_off() {
    let plain = r#"<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10"><rect width="10" height="10"/></svg>"#;
    let utf16: Vec<u8> = [0xFF, 0xFE]
        .into_iter()
        .chain(plain.encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let utf16_be: Vec<u8> = plain.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let bom: Vec<u8> = [0xEF, 0xBB, 0xBF]
        .into_iter()
        .chain(plain.bytes())
        .collect();
    let cr = format!(
        "<?xml version='1.0'?>\r<!-- x -->\r{}",
        plain.replace("><", ">\r<")
    )
    .into_bytes();
    let html = format!(
        "<!DOCTYPE html><html><body><p>Our logo<br></p>{}<svg/></body></html>",
        plain.replace(" xmlns=\"http://www.w3.org/2000/svg\"", "")
    )
    .into_bytes();
    for bytes in [utf16, utf16_be, bom, cr, html, gzip(plain.as_bytes())] {
        let a = read(&bytes).unwrap();
        framed(fill(&a, 0), [0.0, 0.0, 10.0, 10.0], 1e-6);
    }
    let mut damaged = gzip(plain.as_bytes());
    let middle = damaged.len() / 2;
    damaged.truncate(middle);
    assert!(matches!(read(&damaged), Err(ArtworkError::Packed { .. })));
    for (bytes, looks) in [
        (&b"\x89PNG\r\n"[..], "PNG"),
        (b"%PDF-1.7", "PDF"),
        (b"", "empty"),
        (b"hello", "plain text"),
        (b"<html><p>no</p></html>", "web page"),
    ] {
        let error = read(bytes).unwrap_err().to_string();
        assert!(error.contains(looks), "{error}");
    }
    // A broken file says where.
    assert!(matches!(
        read(b"<svg>\n<g>\n</svg>"),
        Err(ArtworkError::Xml { line: 3, .. })
    ));
}

/// Stored deflate blocks in a gzip wrapper (RFC 1951, section 3.2.4; RFC 1952).
fn gzip(data: &[u8]) -> Vec<u8> {
    let mut out = vec![0x1F, 0x8B, 8, 8, 0, 0, 0, 0, 0, 3];
    out.extend(b"drawing.svg\0");
    let len = u16::try_from(data.len()).unwrap();
    out.push(1);
    out.extend(len.to_le_bytes());
    out.extend((!len).to_le_bytes());
    out.extend(data);
    out.extend([0; 4]);
    out.extend(u32::from(len).to_le_bytes());
    out
}

#[test]
fn s27_what_is_outside_the_page_is_taken_and_asked_about() {
    let a = art(
        r#"<rect x="-5" y="10" width="20" height="20"/><rect x="300" width="10" height="10"/><rect x="40" y="40" width="10" height="10"/>"#,
    );
    assert_eq!(
        a.shapes.iter().map(|s| s.outside).collect::<Vec<_>>(),
        [true, true, false]
    );
    assert!(a.questions.contains(&Question::Outside { shapes: 2 }));
    assert_eq!(
        prepare(&a, &Answers::default()).unwrap().contours().len(),
        3
    );
    assert_eq!(
        prepare(
            &a,
            &Answers {
                within_page: true,
                ..Answers::default()
            }
        )
        .unwrap()
        .contours()
        .len(),
        1
    );
    let a = art(
        r#"<n:view xmlns:n="urn:x"><n:page x="0"/><n:page x="200"/></n:view><rect width="5" height="5"/>"#,
    );
    assert!(a.notes.contains(&Note::SeveralPages { pages: 2 }));
}

#[test]
fn s28_mirrored_lettering_is_warned_of() {
    let a = art(
        r#"<g transform="translate(100 0) scale(-1,1)"><text x="10" y="20">LEFT</text><rect width="5" height="5"/></g>"#,
    );
    assert!(a.notes.contains(&Note::Mirrored {
        shapes: 2,
        lettering: true
    }));
    framed(fill(&a, 0), [95.0, 95.0, 5.0, 5.0], 1e-4);
    let twice = art(
        r#"<g transform="scale(-1,1)"><g transform="scale(-1,1)"><rect width="5" height="5"/></g></g>"#,
    );
    assert!(!twice.shapes[0].mirrored);
}

#[test]
fn s29_what_has_no_size_is_ignored_with_a_note() {
    let a = art(
        r#"<rect width="0" height="5"/><rect width="-3" height="5"/><circle r="0"/><ellipse rx="4" ry="0"/><path d=""/><polygon points=""/><path d="M5 5H20"/><rect width="5" height="5"/>"#,
    );
    assert_eq!(a.shapes.len(), 1);
    assert_eq!(
        a.ignored
            .iter()
            .filter(|i| i.what == IgnoredKind::Empty)
            .count(),
        7,
        "{:?}",
        a.ignored
    );
}

#[test]
fn painted_areas_over_each_other_stay_apart_or_become_one() {
    let a = art(
        r#"<rect x="10" y="10" width="40" height="40" fill="red"/><rect x="30" y="30" width="40" height="40" fill="blue"/><circle cx="85" cy="85" r="5"/>"#,
    );
    assert!(a.questions.contains(&Question::Overlaps { pairs: 1 }));
    assert_eq!(
        prepare(&a, &Answers::default()).unwrap().contours().len(),
        3
    );
    let one = prepare(
        &a,
        &Answers {
            overlaps: Overlaps::Union,
            ..Answers::default()
        },
    )
    .unwrap();
    assert_eq!(one.contours().len(), 2);
    near(
        one.area_mm2(),
        3200.0 - 400.0 + std::f64::consts::PI * 25.0,
        0.05,
    );
}

#[test]
fn the_two_fill_rules_differ_where_they_should() {
    // SVG 2, section 13.4.2. Both rings the same way round: nonzero fills, evenodd leaves a hole.
    let d = "M0 0H40V40H0ZM10 10H30V30H10Z";
    near(
        fill(&art(&format!(r#"<path d="{d}"/>"#)), 0).area_mm2(),
        1600.0,
        1e-3,
    );
    near(
        fill(&art(&format!(r#"<path fill-rule="evenodd" d="{d}"/>"#)), 0).area_mm2(),
        1200.0,
        1e-3,
    );
    near(
        fill(&art(r#"<path d="M0 0H40V40H0ZM10 10V30H30V10Z"/>"#), 0).area_mm2(),
        1200.0,
        1e-3,
    );
}

#[test]
fn coordinates_past_single_precision_are_warned_of_or_refused() {
    // 2^18 steps by 2^-5 = 0.031; 2^22 by 0.5.
    let a = art(r#"<path d="M300000 0h10v10z"/>"#);
    assert!(
        a.notes
            .iter()
            .any(|n| matches!(n, Note::Coarse { step } if *step == 0.03125)),
        "{:?}",
        a.notes
    );
    assert!(matches!(
        read(&page(r#"<path d="M5000000 0h10v10z"/>"#)),
        Err(ArtworkError::Coarse { .. })
    ));
    let huge = read(format!(r#"<svg {NS} width="100mm" height="100mm" viewBox="500 700 100 100"><rect x="500" y="700" width="100" height="100"/></svg>"#).as_bytes()).unwrap();
    framed(fill(&huge, 0), [0.0, 0.0, 100.0, 100.0], 1e-6);
}

fn shared_artwork() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .ancestors()
        .map(|a| a.join("shared/data/artwork"))
        .find(|p| p.is_dir());
    let Some(folder) = folder else {
        println!("skipped: shared data not here");
        return Vec::new();
    };
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    files.sort();
    files
}

#[test]
fn all_shared_artwork_imports() {
    for file in shared_artwork() {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        let a = read(&std::fs::read(&file).unwrap()).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!(!a.shapes.is_empty(), "{name}: {:?}", a.ignored);
        let stray = a.ignored.iter().find(|i| i.what != IgnoredKind::Unpainted);
        assert_eq!(stray, None, "{name}");
        assert!(
            a.shapes
                .iter()
                .all(|s| !s.outside || name.starts_with("colour") || name.starts_with("line")),
            "{name}"
        );
        let (w, _) = a.page.unwrap();
        for strokes in [Strokes::CentreLine, Strokes::BothEdges] {
            for overlaps in [Overlaps::Apart, Overlaps::Union] {
                let size = SizeAnswer::Known {
                    drawn: w,
                    real: Length::from_mm(184.0),
                };
                let answers = Answers {
                    size,
                    strokes,
                    overlaps,
                    ..Answers::default()
                };
                let flat = prepare(&a, &answers).unwrap_or_else(|e| panic!("{name}: {e}"));
                let b = flat.bounds().unwrap();
                assert!(
                    b.width().mm() <= 190.0 && b.width().mm() > 20.0,
                    "{name}: {b:?}"
                );
                near(b.centre().x_mm(), 0.0, 1e-3);
                if overlaps == Overlaps::Union && strokes == Strokes::BothEdges {
                    let crossing = flat
                        .meetings(Length::from_mm(0.02), 1)
                        .into_iter()
                        .find(|m| m.kind == samespot_core::outline::MeetingKind::Crosses);
                    assert_eq!(crossing, None, "{name}");
                    let grown = flat
                        .offset(Length::from_mm(0.5))
                        .unwrap_or_else(|e| panic!("{name}: {e}"));
                    assert!(!grown.outline.is_empty(), "{name}");
                }
            }
        }
    }
}

/// A file with some of everything, to be damaged.
fn sample() -> Vec<u8> {
    page(
        r##"<style>.a{fill:red}#b{stroke:blue!important}</style><defs><g id="g"><rect class="a" width="5" height="5" rx="1"/></g><clipPath id="c"><circle r="30"/></clipPath></defs><use href="#g" x="3" transform="rotate(20)"/><g clip-path="url(#c)" id="b"><path d="M1 2C3 4 5 6 7 8S9 1 2 3Q4 5 6 7T8 9A5 4 3 0 1 2 3L.5.5-.3 1e1H5V6Z"/></g><polygon points="1,2 30,4 5,60"/><text x="1" y="2" font-size="3mm">hi</text><image href="data:image/png;base64,AAAA" width="9" height="9"/><path fill="none" stroke="#000" stroke-width=".5" stroke-dasharray="1 2" d="M0 0L90 90"/>"##,
    )
}

fn survive(bytes: &[u8]) {
    if let Ok(a) = read(bytes) {
        for strokes in [Strokes::CentreLine, Strokes::BothEdges] {
            let size = SizeAnswer::Known {
                drawn: Length::from_mm(10.0),
                real: Length::from_mm(20.0),
            };
            let answers = Answers {
                size,
                strokes,
                without_words: true,
                overlaps: Overlaps::Union,
                ..Answers::default()
            };
            if let Ok(flat) = prepare(&a, &answers) {
                let _ = flat.offset(Length::from_mm(-0.5));
                for p in flat.samples(Length::from_mm(5.0)) {
                    assert!(p.is_finite());
                }
            }
        }
    }
}

#[test]
fn truncated_files_never_panic() {
    let sample = sample();
    for end in (0..sample.len()).step_by(3) {
        survive(&sample[..end]);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damaged_files_never_panic(flips in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8)) {
        let mut bytes = sample();
        for (at, byte) in flips {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        survive(&bytes);
    }

    #[test]
    fn damaged_numbers_never_panic(flips in prop::collection::vec((any::<prop::sample::Index>(), "[0-9eE.+-]|,| |%"), 1..12)) {
        let mut bytes = sample();
        let digits: Vec<usize> = bytes.iter().enumerate().filter(|(_, b)| b.is_ascii_digit()).map(|(i, _)| i).collect();
        for (at, new) in flips {
            bytes[digits[at.index(digits.len())]] = new.as_bytes()[0];
        }
        survive(&bytes);
    }
}
