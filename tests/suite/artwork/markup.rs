//! Styles, lines, words, pictures, clips, and everything that must not run or be fetched: S12 to S19.

use super::*;

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
