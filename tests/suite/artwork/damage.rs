//! Crossings, broken and huge files, wrappings, what lies outside, and fill rules: S21 to S29.

use super::*;

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
