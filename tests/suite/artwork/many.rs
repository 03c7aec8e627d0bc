//! Files nobody here drew, and files damaged at random.

use super::*;

use proptest::prelude::*;
use std::path::{Path, PathBuf};

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
                    assert_eq!(
                        crossing,
                        None,
                        "{name} {:?} {:?}",
                        a.notes,
                        flat.contours().len()
                    );
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
