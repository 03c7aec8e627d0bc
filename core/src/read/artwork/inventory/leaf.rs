//! Figures, words and pictures on their way into the copy.

use super::{Above, Item, Kind, Open, Walk};
use crate::read::artwork::figure::{self, Figure};
use crate::read::artwork::length::{Along, user_units};
use crate::read::artwork::path::Stop;
use crate::read::artwork::place::short;
use crate::read::artwork::{ArtworkError, IgnoredKind, Note, arc, uses};
use kurbo::BezPath;
use roxmltree::Node;

/// Words repeated of a text, at most.
const MOST_WORDS: usize = 200;

/// About how wide a letter is, in its own size (common practice, no source).
const LETTER_WIDTH: f64 = 0.55;

/// The size of letters where a file does not say (CSS: *medium*, 16 px everywhere).
const LETTER_SIZE: f64 = 16.0;

impl<'a, 'input> Walk<'a, 'input> {
    pub(super) fn figure(
        &mut self,
        node: Node<'a, 'input>,
        open: &Open<'_>,
        inside: Above,
    ) -> Result<(), ArtworkError> {
        let (id, at) = (node.id().get_usize(), self.lines.place(node));
        let stops = |walk: &mut Self, stop: Option<Stop>| {
            walk.notes.extend(stop.map(|s| Note::PathStops {
                at: at.clone(),
                character: s.character,
                segments: s.segments,
            }));
        };
        let path = match figure::draw(node, inside.of) {
            Figure::Drawn(path, segments, stop) => {
                stops(self, stop);
                self.take_segments(segments)?;
                path
            }
            Figure::Empty(stop) => {
                stops(self, stop);
                self.ignored.add(IgnoredKind::Empty, at, 1, "");
                return Ok(());
            }
            Figure::Untold(value) => {
                self.ignored.add(IgnoredKind::UnknownLength, at, 1, &value);
                return Ok(());
            }
        };
        let painted = inside.filled || inside.lined;
        if let Some((entry, _)) = inside.hidden {
            self.ignored.count(entry, 1);
        } else if inside.drawn && !painted {
            self.ignored.add(IgnoredKind::Unpainted, at.clone(), 1, "");
        }
        let keeps_width = open
            .folded
            .get("vector-effect")
            .is_some_and(|v| v == "non-scaling-stroke");
        let expected = inside.drawn && inside.hidden.is_none() && painted;
        self.items.insert(
            id,
            Item {
                at,
                kind: Kind::Figure { keeps_width },
                expected,
            },
        );
        self.leaf(id, open, &path, None);
        Ok(())
    }

    pub(super) fn words(&mut self, node: Node<'a, 'input>, open: &Open<'_>, inside: Above) {
        let (id, at) = (node.id().get_usize(), self.lines.place(node));
        let mut all = String::new();
        for text in node
            .descendants()
            .filter(Node::is_text)
            .filter_map(|t| t.text())
        {
            all.push_str(text);
            if all.len() > 8 * MOST_WORDS {
                break;
            }
        }
        let words: Vec<&str> = all.split_whitespace().collect();
        let words: String = words.join(" ").chars().take(MOST_WORDS).collect();
        if let Some((entry, _)) = inside.hidden {
            self.ignored.count(entry, 1);
            return;
        }
        if words.is_empty() {
            self.ignored.add(IgnoredKind::Empty, at, 1, "");
            return;
        }
        let first = |name: &str, along: Along| {
            let with = core::iter::once(node).chain(node.children());
            with.filter_map(|n| n.attribute(name))
                .find_map(|v| user_units(v.split([' ', ',']).next()?, along, inside.of).ok())
                .unwrap_or(0.0)
        };
        let (x, y) = (first("x", Along::X), first("y", Along::Y));
        let size = inside.of.em.filter(|s| *s > 0.0).unwrap_or(LETTER_SIZE);
        #[expect(clippy::cast_precision_loss, reason = "at most 200")]
        let width = words.chars().count() as f64 * LETTER_WIDTH * size;
        let start = match open.folded.get("text-anchor").map(String::as_str) {
            Some("middle") => x - width / 2.0,
            Some("end") => x - width,
            _ => x,
        };
        let about = arc::rectangle(start, y - 0.8 * size, width, size, 0.0, 0.0);
        self.items.insert(
            id,
            Item {
                at,
                kind: Kind::Words(words),
                expected: inside.drawn,
            },
        );
        self.leaf(id, open, &about, Some(()));
    }

    pub(super) fn picture(&mut self, node: Node<'a, 'input>, open: &Open<'_>, inside: Above) {
        let (id, at) = (node.id().get_usize(), self.lines.place(node));
        let source = uses::href(node).unwrap_or_default().trim();
        if let Some((entry, _)) = inside.hidden {
            self.ignored.count(entry, 1);
            return;
        }
        let Some(data) = source.strip_prefix("data:") else {
            self.ignored.add(IgnoredKind::ExternalImage, at, 1, source);
            return;
        };
        let (kind, body) = data.split_once(',').unwrap_or((data, ""));
        let media = kind
            .split(';')
            .next()
            .unwrap_or_default()
            .trim()
            .to_ascii_lowercase();
        let raster = [
            "image/png",
            "image/jpeg",
            "image/jpg",
            "image/gif",
            "image/webp",
        ];
        if !raster.contains(&media.as_str()) || !kind.contains("base64") {
            self.ignored
                .add(IgnoredKind::ForeignImage, at, 1, &short(kind));
            return;
        }
        let side = |name: &str, along: Along| {
            node.attribute(name)
                .and_then(|v| user_units(v, along, inside.of).ok())
        };
        let (x, y) = (
            side("x", Along::X).unwrap_or(0.0),
            side("y", Along::Y).unwrap_or(0.0),
        );
        // Without a size of its own the picture's pixels would say, and they are not looked at.
        let (w, h) = match (side("width", Along::X), side("height", Along::Y)) {
            (Some(w), Some(h)) if w > 0.0 && h > 0.0 => (w, h),
            _ => inside.of.view.unwrap_or((1.0, 1.0)),
        };
        let base64: String = body.chars().filter(|c| !c.is_whitespace()).collect();
        let kind = Kind::Picture(media.replace("image/jpg", "image/jpeg"), base64);
        self.items.insert(
            id,
            Item {
                at,
                kind,
                expected: inside.drawn,
            },
        );
        let frame = arc::rectangle(x, y, w, h, 0.0, 0.0);
        self.leaf(id, open, &frame, Some(()));
    }

    /// One path of the copy; a stand-in is painted whatever its style says.
    fn leaf(&mut self, id: usize, open: &Open<'_>, path: &BezPath, stand_in: Option<()>) {
        if stand_in.is_some() {
            let plain = ["clip-path", "clip-rule"];
            let mut folded = open.folded.clone();
            folded.retain(|name, _| plain.contains(name));
            folded.insert("fill", "#000000".to_owned());
            folded.insert("stroke", "none".to_owned());
            folded.insert("visibility", "visible".to_owned());
            self.copy.open("path", id, open.transform, &folded);
        } else {
            self.copy.open("path", id, open.transform, open.folded);
        }
        self.copy.path(path);
        self.copy.inside();
        self.copy.close("path");
    }
}
