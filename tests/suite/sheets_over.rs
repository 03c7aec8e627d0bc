//! Templates over several sheets: words stay with what they are about, and nothing stands on anything.

use super::{bounds, samples};
use samespot_core::sheet::drawing::{Page, Shape};
use samespot_core::sheet::{Paper, ProofState, TemplateSheet, compose};
use std::collections::BTreeSet;

/// What stands on a page in letters.
fn words(page: &Page) -> Vec<(&str, [f64; 4])> {
    let letters = page.items.iter().filter_map(|i| match &i.shape {
        Shape::Lettering { text, .. } => Some((text.as_str(), bounds(i))),
        _ => None,
    });
    letters.collect()
}

/// Letters of the crosses that a page shows whole: the ring is a ring and no part of one.
fn whole_crosses(page: &Page) -> BTreeSet<&str> {
    let rings = page
        .items
        .iter()
        .filter(|i| matches!(i.shape, Shape::Circle { .. }));
    rings.filter_map(|i| i.label.as_deref()).collect()
}

/// The panel with its crosses moved up by so much: seams fall elsewhere on them.
fn panel(up: f64) -> TemplateSheet {
    let mut sheet = samples::panel(Paper::A4);
    for cross in &mut sheet.crosses {
        cross.place = samples::at(cross.place.x_mm() * 0.9, cross.place.y_mm() * 0.8 + up);
    }
    sheet
}

#[test]
fn words_stand_only_where_what_they_are_about_does() {
    let sheets = (-3..=3_i32)
        .map(|k| panel(f64::from(k) * 18.0))
        .chain([samples::band(Paper::A4), samples::band(Paper::Letter)]);
    let mut several = 0;
    for sheet in sheets {
        let drawing = compose(&sheet).unwrap();
        several += usize::from(drawing.pages.len() > 2);
        let letters: BTreeSet<&str> = sheet.crosses.iter().map(|c| c.letter.as_str()).collect();
        for page in &drawing.pages {
            let (said, whole) = (words(page), whole_crosses(page));
            for (text, at) in &said {
                if letters.contains(text) {
                    assert!(
                        whole.contains(text),
                        "{}: {text} at {at:?} alone",
                        page.name
                    );
                }
                if text.starts_with("serves piece") {
                    let below = |t: &str| t.starts_with("issue");
                    assert!(said.iter().any(|(t, _)| below(t)), "{}: {text}", page.name);
                }
            }
            for cross in &sheet.crosses {
                let all = drawing.pages.iter().any(|p| {
                    whole_crosses(p).contains(cross.letter.as_str())
                        && words(p).iter().any(|(t, _)| *t == cross.letter)
                });
                assert!(all, "{} is nowhere whole", cross.letter);
            }
        }
    }
    assert!(several > 4, "{several}");
}

/// Whatever the length of the lines it finds, the stamp stands on none of them.
#[test]
fn the_stamp_stands_on_no_line() {
    let mut stamped = 0;
    for n in (20..150).step_by(9) {
        for (mut sheet, invented) in [
            (samples::panel(Paper::A4), true),
            (samples::band(Paper::A4), false),
            (samples::eye(Paper::A3), true),
        ] {
            sheet.words.laying = "Push it to and fro until it touches "
                .repeat(5)
                .chars()
                .take(n)
                .collect();
            sheet.words.proving = ["PROVING: NO PIECE CHECKED YET", "PROVING"]
                .map(String::from)
                .to_vec();
            if !invented {
                sheet.words.invented = String::new();
            }
            for page in &compose(&sheet).unwrap().pages {
                let said = words(page);
                let stamp = said.iter().find(|(t, _)| t.contains("PROVING")).unwrap();
                stamped += usize::from(stamp.0.contains("CHECKED YET"));
                for (text, b) in said.iter().filter(|w| w.0 != stamp.0) {
                    let s = stamp.1;
                    let apart = s[0] >= b[2] || b[0] >= s[2] || s[1] >= b[3] || b[1] >= s[3];
                    assert!(apart, "{}, {n}: the stamp on “{text}”", page.name);
                }
            }
        }
    }
    assert!(stamped > 30, "{stamped}");
}

/// What a finisher must not miss stands on every sheet she lays, not only on the one with the words.
#[test]
fn every_sheet_says_what_is_not_proved_and_not_approved() {
    let mut without_strip = 0;
    for mut sheet in [
        samples::panel(Paper::A4),
        samples::band(Paper::A4),
        samples::eye(Paper::A4),
        samples::eye(Paper::A3),
    ] {
        sheet.words.unsigned = true;
        sheet.words.warnings = vec!["NOT APPROVED: nobody has signed issue 2 yet.".into()];
        let unsigned = compose(&sheet).unwrap();
        for page in &unsigned.pages {
            let said = words(page);
            let says = |what: &str| said.iter().any(|(t, _)| t.contains(what));
            assert!(says("SIZE NOT PROVED"), "{}", page.name);
            assert!(says("NOT APPROVED"), "{}", page.name);
            without_strip += usize::from(!says("MEASURE BOTH BARS"));
        }
        // Stamps: whoever signs, and whatever is proved, the drawing keeps its reference.
        let mut signed = sheet.clone();
        signed.words.unsigned = false;
        signed.words.proof = ProofState::Proved("2026-11-12".into());
        let signed = compose(&signed).unwrap();
        assert_eq!(signed.reference, unsigned.reference);
        let stamp = |t: &str| t.contains("SIZE NOT PROVED");
        let still = (signed.pages.iter()).any(|p| words(p).iter().any(|(t, _)| stamp(t)));
        assert!(!still);
    }
    assert!(without_strip > 3, "{without_strip}");
}

/// A name of usual length stands whole along the foot of every sheet.
#[test]
fn the_foot_cuts_no_usual_name() {
    for (mut sheet, name) in [
        (samples::panel(Paper::A4), "Quay puffins (invented)"),
        (samples::band(Paper::Letter), "Market hall frieze"),
        (samples::eye(Paper::A3), "Quay puffins (invented)"),
    ] {
        sheet.words.job = name.into();
        sheet.words.feature = "Lettered band".into();
        for page in &compose(&sheet).unwrap().pages {
            let cut = words(page).into_iter().find(|(t, _)| t.ends_with('…'));
            assert_eq!(cut, None, "{}", page.name);
            assert!(words(page).iter().any(|(t, _)| *t == name), "{}", page.name);
        }
    }
}
