//! An outline from what is typed, and what is typed of an outline.

use samespot_core::job::{Entry, OutlineSpec};
use std::collections::BTreeMap;

/// An outline that came from a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileOutline {
    /// What it is attached as.
    pub attachment: String,
    /// What the file was called.
    pub name: String,
    /// What of it was left out.
    pub ignored: Vec<String>,
}

impl FileOutline {
    /// At a width.
    #[must_use]
    pub fn outline(self, width: Entry) -> OutlineSpec {
        OutlineSpec::Artwork {
            attachment: self.attachment,
            file: self.name,
            width,
            ignored: self.ignored,
        }
    }
}

/// An outline as its fields show it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sizes<'s> {
    /// The shape taken.
    pub shape: &'static str,
    /// The sizes by field.
    pub sizes: BTreeMap<&'static str, &'s Entry>,
    /// How many points a star has.
    pub points: String,
    /// What lettering says.
    pub words: String,
    /// The file it came from.
    pub file: Option<FileOutline>,
}

/// The fields of an outline.
#[must_use]
pub fn sizes(spec: Option<&OutlineSpec>) -> Sizes<'_> {
    let mut out = Sizes {
        points: "5".into(),
        ..Sizes::default()
    };
    let (shape, sizes) = match spec {
        None => return out,
        Some(OutlineSpec::Circle { diameter }) => ("circle", vec![("across", diameter)]),
        Some(OutlineSpec::Oval { width, height }) => {
            ("oval", vec![("across", width), ("up", height)])
        }
        Some(OutlineSpec::RoundedBox {
            width,
            height,
            corner,
        }) => (
            "box",
            vec![("across", width), ("up", height), ("corner", corner)],
        ),
        Some(OutlineSpec::Ring { outside, hole }) => {
            ("ring", vec![("across", outside), ("hole", hole)])
        }
        Some(OutlineSpec::Star {
            points,
            across,
            waist,
        }) => {
            out.points = points.to_string();
            let mut all = vec![("across", across)];
            all.extend(waist.iter().map(|w| ("waist", w)));
            ("star", all)
        }
        Some(OutlineSpec::ArcBand {
            radius,
            width,
            length,
        }) => (
            "band",
            vec![("width", width), ("long", length), ("radius", radius)],
        ),
        Some(OutlineSpec::Lettering { text, capitals }) => {
            out.words.clone_from(text);
            ("words", vec![("capitals", capitals)])
        }
        Some(OutlineSpec::Strokes { text, capitals }) => {
            out.words.clone_from(text);
            ("strokes", vec![("capitals", capitals)])
        }
        Some(OutlineSpec::Artwork {
            attachment,
            file,
            width,
            ignored,
        }) => {
            out.file = Some(FileOutline {
                attachment: attachment.clone(),
                name: file.clone(),
                ignored: ignored.clone(),
            });
            ("file", vec![("across", width)])
        }
    };
    out.shape = shape;
    out.sizes = sizes.into_iter().collect();
    out
}

/// An outline from what is typed, once it is whole; files aside.
pub fn outline(
    shape: &str,
    size: &dyn Fn(&str) -> Option<Entry>,
    points: &str,
    words: &str,
) -> Option<OutlineSpec> {
    Some(match shape {
        "circle" => OutlineSpec::Circle {
            diameter: size("across")?,
        },
        "oval" => OutlineSpec::Oval {
            width: size("across")?,
            height: size("up")?,
        },
        "box" => {
            let (width, height) = (size("across")?, size("up")?);
            // A tenth of the shorter side, as the quick template has it.
            let tenth = width.mm.mm().min(height.mm.mm()) / 10.0;
            let corner =
                size("corner").unwrap_or_else(|| Entry::of_mm((tenth * 10.0).round() / 10.0));
            OutlineSpec::RoundedBox {
                width,
                height,
                corner,
            }
        }
        "ring" => OutlineSpec::Ring {
            outside: size("across")?,
            hole: size("hole")?,
        },
        "star" => OutlineSpec::Star {
            points: points.trim().parse().ok()?,
            across: size("across")?,
            waist: size("waist"),
        },
        "band" => OutlineSpec::ArcBand {
            radius: size("radius")?,
            width: size("width")?,
            length: size("long")?,
        },
        "words" if !words.trim().is_empty() => OutlineSpec::Lettering {
            text: words.trim().to_owned(),
            capitals: size("capitals")?,
        },
        "strokes" if !words.trim().is_empty() => OutlineSpec::Strokes {
            text: words.trim().to_owned(),
            capitals: size("capitals")?,
        },
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_shown_of_an_outline_says_the_same_outline_again() {
        let mm = Entry::of_mm;
        let all = [
            OutlineSpec::Circle { diameter: mm(40.0) },
            OutlineSpec::Ring {
                outside: mm(90.0),
                hole: mm(60.0),
            },
            OutlineSpec::Star {
                points: 6,
                across: mm(80.0),
                waist: None,
            },
            OutlineSpec::ArcBand {
                radius: mm(200.0),
                width: mm(20.0),
                length: mm(150.0),
            },
            OutlineSpec::Lettering {
                text: "QUAY".into(),
                capitals: mm(25.0),
            },
            OutlineSpec::Strokes {
                text: "Quay No 7".into(),
                capitals: mm(25.0),
            },
        ];
        for spec in all {
            let shown = sizes(Some(&spec));
            let size = |key: &str| shown.sizes.get(key).map(|e| (*e).clone());
            assert_eq!(
                outline(shown.shape, &size, &shown.points, &shown.words),
                Some(spec.clone())
            );
        }
    }
}
