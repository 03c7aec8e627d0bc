//! Pass 1: what is in the file, and a copy that holds only what is allowed.
//!
//! In the copy every figure is one `path` of finite curves, every element that matters has an id of
//! ours, every style is an attribute, paints are plain colours, and no reference leaves the copy.

mod copy;
mod leaf;
mod list;

use super::length::{self, Along, Reference};
use super::place::{Lines, Place, short};
use super::uses::{self, Uses};
use super::{ArtworkError, IgnoredKind, MOST_SEGMENTS, Note, figure, size, style};
use copy::Copy;
pub(super) use list::List;
use roxmltree::{Document, Node};
use simplecss::StyleSheet;
use std::collections::BTreeMap;
use style::Folded;

/// What pass 2 is to make of an element of the copy.
#[derive(Debug, Clone)]
pub(super) enum Kind {
    /// A figure, painted or not.
    Figure {
        /// Its line keeps its width.
        keeps_width: bool,
    },
    /// A box that stands for words.
    Words(String),
    /// A box that stands for a picture: media type and base 64.
    Picture(String, String),
    /// A repeat; figures inside it carry no id of their own.
    Repeat,
}

/// One element of the copy, by its number there.
#[derive(Debug, Clone)]
pub(super) struct Item {
    pub(super) at: Place,
    pub(super) kind: Kind,
    /// Pass 2 must come across it.
    pub(super) expected: bool,
}

/// Everything pass 1 found.
pub(super) struct Seen {
    pub(super) copy: String,
    pub(super) page: size::Page,
    pub(super) items: BTreeMap<usize, Item>,
    pub(super) ignored: List,
    pub(super) notes: Vec<Note>,
    pub(super) segments: usize,
}

/// What an element inherits on the way down.
#[derive(Clone, Copy)]
struct Above {
    of: Reference,
    /// The entry that counts what is hidden here, and whether a child can show itself again.
    hidden: Option<(usize, bool)>,
    /// Drawn where it stands, not only through a reference.
    drawn: bool,
    filled: bool,
    lined: bool,
}

struct Walk<'a, 'input> {
    uses: Uses<'a, 'input>,
    lines: Lines,
    sheet: StyleSheet<'a>,
    copy: Copy,
    items: BTreeMap<usize, Item>,
    ignored: List,
    notes: Vec<Note>,
    segments: usize,
    pages: usize,
}

pub(super) fn take(doc: &Document<'_>) -> Result<Seen, ArtworkError> {
    let root = doc.root_element();
    if root.tag_name().name() != "svg" {
        let looks_like = "XML of another kind";
        return Err(ArtworkError::NotSvg { looks_like });
    }
    let lines = Lines::new(doc.input_text());
    let css = style::sheets(doc);
    let page = size::page(root);
    let mut walk = Walk {
        uses: Uses::new(doc, &lines)?,
        lines,
        sheet: StyleSheet::parse(&css),
        copy: Copy::begin(page.view),
        items: BTreeMap::new(),
        ignored: List::default(),
        notes: Vec::new(),
        segments: 0,
        pages: 0,
    };
    let fetches = css.contains("url(") && css.contains("//");
    if css.contains("@import") || css.contains("@font-face") || fetches {
        walk.ignored
            .add(IgnoredKind::Import, walk.lines.place(root), 1, "style");
    }
    walk.notes
        .extend(page.stretched.map(|ratio| Note::Stretched { ratio }));
    let above = Above {
        of: Reference {
            view: page.view,
            em: None,
        },
        hidden: None,
        drawn: true,
        filled: true,
        lined: false,
    };
    walk.element(root, above, true)?;
    if walk.pages > 1 {
        walk.notes.push(Note::SeveralPages { pages: walk.pages });
    }
    Ok(Seen {
        copy: walk.copy.end(),
        page,
        items: walk.items,
        ignored: walk.ignored,
        notes: walk.notes,
        segments: walk.segments,
    })
}

impl<'a, 'input> Walk<'a, 'input> {
    fn element(
        &mut self,
        node: Node<'a, 'input>,
        above: Above,
        is_root: bool,
    ) -> Result<(), ArtworkError> {
        const SVG: &str = "http://www.w3.org/2000/svg";
        let name = node.tag_name().name();
        if !matches!(node.tag_name().namespace(), None | Some(SVG)) {
            self.pages += usize::from(name == "page");
            // Notes that drawing programs keep for themselves; nothing in there is painted.
            self.foreign(node);
            return Ok(());
        }
        self.handlers(node);
        let refuse = match name {
            "title" | "desc" | "metadata" | "style" | "stop" | "linearGradient"
            | "radialGradient" | "pattern" | "solidcolor" | "filter" | "mask" | "view" => {
                return Ok(());
            }
            "script" => Some(IgnoredKind::Script),
            "foreignObject" => Some(IgnoredKind::ForeignObject),
            "animate" | "set" | "animateMotion" | "animateTransform" | "animateColor"
            | "discard" | "mpath" => Some(IgnoredKind::Animation),
            "marker" => return Ok(()),
            "svg" | "g" | "a" | "defs" | "symbol" | "switch" | "clipPath" | "use" | "text"
            | "image" => None,
            _ if figure::NAMES.contains(&name) => None,
            _ => Some(IgnoredKind::Unknown),
        };
        if let Some(kind) = refuse {
            let scripts = node
                .descendants()
                .skip(1)
                .filter(|n| n.tag_name().name() == "script");
            for script in scripts {
                self.ignored
                    .add(IgnoredKind::Script, self.lines.place(script), 1, "");
            }
            for inside in node.descendants().skip(1).filter(Node::is_element) {
                self.handlers(inside);
            }
            self.ignored.add(kind, self.lines.place(node), 1, name);
            return Ok(());
        }
        let mut folded = style::fold(node, &self.sheet);
        if let Some(value) = folded.get("mask").filter(|v| v.as_str() != "none") {
            let (count, value) = (self.figures(node), short(value));
            self.ignored
                .add(IgnoredKind::Masked, self.lines.place(node), count, &value);
            return Ok(());
        }
        for (property, kind) in [
            ("filter", IgnoredKind::Filter),
            ("marker-start", IgnoredKind::Marker),
            ("marker-mid", IgnoredKind::Marker),
            ("marker-end", IgnoredKind::Marker),
        ] {
            if let Some(value) = folded.remove(property).filter(|v| v != "none") {
                self.ignored.add(kind, self.lines.place(node), 1, &value);
            }
        }
        let Some(transform) = self.transform(node, &folded) else {
            return Ok(());
        };
        let inside = self.inherit(node, &folded, above);
        self.references(node, &mut folded);
        let open = Open {
            folded: &folded,
            transform: transform.as_deref(),
        };
        match name {
            "use" => self.repeat(node, &open, inside),
            "text" => {
                self.words(node, &open, inside);
                Ok(())
            }
            "image" => {
                self.picture(node, &open, inside);
                Ok(())
            }
            _ if figure::NAMES.contains(&name) => self.figure(node, &open, inside),
            _ => self.group(node, &open, inside, is_root),
        }
    }

    fn group(
        &mut self,
        node: Node<'a, 'input>,
        open: &Open<'_>,
        mut inside: Above,
        is_root: bool,
    ) -> Result<(), ArtworkError> {
        let name = node.tag_name().name();
        // The root's own view is already the page; what else it says applies to all in it.
        let tag = if is_root || name == "a" { "g" } else { name };
        if name == "a"
            && let Some(to) = uses::href(node).filter(|h| !h.starts_with('#'))
        {
            let to = short(to);
            self.ignored
                .add(IgnoredKind::Link, self.lines.place(node), 1, &to);
        }
        if matches!(name, "defs" | "symbol" | "clipPath" | "switch") {
            inside.drawn = false;
        }
        self.copy
            .open(tag, node.id().get_usize(), open.transform, open.folded);
        if !is_root {
            let kept: &[&str] = match name {
                "svg" => &[
                    "x",
                    "y",
                    "width",
                    "height",
                    "viewBox",
                    "preserveAspectRatio",
                ],
                "symbol" => &["viewBox", "preserveAspectRatio"],
                "clipPath" => &["clipPathUnits"],
                _ => &[],
            };
            self.copy.attributes(node, kept);
            self.copy.attributes(
                node,
                &["requiredExtensions", "requiredFeatures", "systemLanguage"],
            );
            if matches!(name, "svg" | "symbol") {
                inside.of.view = size::inner_view(node, inside.of);
            }
        }
        self.copy.inside();
        for child in node.children().filter(Node::is_element) {
            self.element(child, inside, false)?;
        }
        self.copy.close(tag);
        Ok(())
    }

    fn repeat(
        &mut self,
        node: Node<'a, 'input>,
        open: &Open<'_>,
        inside: Above,
    ) -> Result<(), ArtworkError> {
        let (id, at) = (node.id().get_usize(), self.lines.place(node));
        let to = uses::href(node).unwrap_or_default().trim();
        let Some(target) = self.uses.target(node) else {
            let kind = if to.starts_with('#') || to.is_empty() {
                IgnoredKind::Dangling
            } else {
                IgnoredKind::ExternalReference
            };
            self.ignored.add(kind, at, 1, to);
            return Ok(());
        };
        if self.uses.loops.contains(&id) {
            self.ignored.add(IgnoredKind::Loop, at, 1, to);
            return Ok(());
        }
        if let Some((entry, _)) = inside.hidden {
            let count = self.figures(target);
            self.ignored.count(entry, count);
        }
        let expected = inside.drawn && inside.hidden.is_none() && self.figures(target) > 0;
        self.items.insert(
            id,
            Item {
                at,
                kind: Kind::Repeat,
                expected,
            },
        );
        self.copy.open("use", id, open.transform, open.folded);
        self.copy
            .attribute("href", &format!("#e{}", target.id().get_usize()));
        for (name, along) in [
            ("x", Along::X),
            ("y", Along::Y),
            ("width", Along::X),
            ("height", Along::Y),
        ] {
            if let Some(value) = node.attribute(name) {
                match length::user_units(value, along, inside.of) {
                    Ok(units) => self.copy.number(name, units),
                    Err(length::Untold) => {
                        let at = self.lines.place(node);
                        self.ignored.add(IgnoredKind::UnknownLength, at, 1, value);
                    }
                }
            }
        }
        self.copy.inside();
        self.copy.close("use");
        Ok(())
    }

    /// What the children inherit; lists what is hidden here.
    fn inherit(&mut self, node: Node<'a, 'input>, folded: &Folded, mut above: Above) -> Above {
        let get = |name: &str| folded.get(name).map(String::as_str);
        let gone = get("display") == Some("none") || get("opacity").is_some_and(is_zero);
        let unseen = matches!(get("visibility"), Some("hidden" | "collapse"));
        let reopened = get("visibility") == Some("visible");
        match above.hidden {
            None if gone || unseen => {
                let value = if gone { "display" } else { "visibility" };
                let entry = self
                    .ignored
                    .add(IgnoredKind::Hidden, self.lines.place(node), 0, value);
                above.hidden = Some((entry, !gone));
            }
            Some((entry, _)) if gone => above.hidden = Some((entry, false)),
            Some((_, true)) if reopened => above.hidden = None,
            _ => {}
        }
        if let Some(size) = get("font-size") {
            above.of.em = length::user_units(size, Along::Y, above.of).ok();
        }
        if folded.contains_key("font") {
            above.of.em = None;
        }
        if let Some(fill) = get("fill").filter(|v| *v != "inherit") {
            above.filled = fill != "none" && fill != "transparent";
        }
        if get("fill-opacity").is_some_and(is_zero) {
            above.filled = false;
        }
        if let Some(stroke) = get("stroke").filter(|v| *v != "inherit") {
            above.lined = stroke != "none" && stroke != "transparent";
        }
        above
    }

    /// The transform as it is, none, or `None` when it cannot be read and the element is left out.
    #[expect(clippy::option_option, reason = "left out, none, or one")]
    fn transform(&mut self, node: Node<'a, 'input>, folded: &Folded) -> Option<Option<String>> {
        let Some(text) = folded.get("transform").map(|t| t.trim()) else {
            return Some(None);
        };
        if text.is_empty() || text == "none" {
            return Some(None);
        }
        let parsed: Result<svgtypes::Transform, _> = text.parse();
        let sane = parsed.is_ok_and(|t| {
            [t.a, t.b, t.c, t.d, t.e, t.f]
                .iter()
                .all(|v| v.abs() < 1e12)
                && (t.a * t.d - t.b * t.c).abs() > 0.0
        });
        if sane {
            return Some(Some(text.to_owned()));
        }
        let (count, value) = (self.figures(node), short(text));
        self.ignored.add(
            IgnoredKind::BadTransform,
            self.lines.place(node),
            count,
            &value,
        );
        None
    }

    /// Points references into the copy, and turns every paint into a plain colour.
    fn references(&mut self, node: Node<'a, 'input>, folded: &mut Folded) {
        for property in ["fill", "stroke", "clip-path"] {
            let Some(value) = folded.get(property) else {
                continue;
            };
            let Some((to, after)) = link(value) else {
                continue;
            };
            let target = to.strip_prefix('#').and_then(|id| self.uses.by_id(id));
            if target.is_none() && !to.starts_with('#') {
                let to = short(to);
                self.ignored.add(
                    IgnoredKind::ExternalReference,
                    self.lines.place(node),
                    1,
                    &to,
                );
            }
            let new = match (property, target.map(|t| (t.tag_name().name(), t))) {
                ("clip-path", Some(("clipPath", t))) => {
                    Some(format!("url(#e{})", t.id().get_usize()))
                }
                // A clip path that is not there clips nothing (CSS Masking 1, section 4.1).
                ("clip-path", _) => None,
                (_, Some(("linearGradient" | "radialGradient" | "pattern", _))) => {
                    // Any paint marks the area; which shade it has is not for an outline.
                    Some(SHADED.to_owned())
                }
                _ if after.is_empty() => Some("none".to_owned()),
                _ => Some(after.to_owned()),
            };
            match new {
                Some(new) => folded.insert(property, new),
                None => folded.remove(property),
            };
        }
    }

    fn handlers(&mut self, node: Node<'a, 'input>) {
        for attribute in node.attributes() {
            let name = attribute.name();
            if name.len() > 3
                && name
                    .get(..2)
                    .is_some_and(|on| on.eq_ignore_ascii_case("on"))
            {
                self.ignored
                    .add(IgnoredKind::EventHandler, self.lines.place(node), 1, name);
            }
        }
        if let Some(to) = uses::href(node).filter(|h| h.trim_start().starts_with("javascript:")) {
            let to = short(to);
            self.ignored
                .add(IgnoredKind::Script, self.lines.place(node), 1, &to);
        }
    }

    fn foreign(&mut self, node: Node<'a, 'input>) {
        for inside in node.descendants().filter(|n| n.is_element()).skip(1) {
            self.pages += usize::from(inside.tag_name().name() == "page");
            if inside.tag_name().name() == "script" {
                self.ignored
                    .add(IgnoredKind::Script, self.lines.place(inside), 1, "");
            }
        }
    }

    /// Figures in a subtree.
    fn figures(&self, node: Node<'a, 'input>) -> usize {
        node.descendants()
            .filter(|n| figure::NAMES.contains(&n.tag_name().name()))
            .count()
    }

    fn take_segments(&mut self, segments: usize) -> Result<(), ArtworkError> {
        self.segments += segments;
        if self.segments > MOST_SEGMENTS {
            return Err(ArtworkError::TooMany {
                what: "path segments",
                most: MOST_SEGMENTS,
            });
        }
        Ok(())
    }
}

/// The colour that stands for gradients and patterns.
const SHADED: &str = "#808080";

struct Open<'f> {
    folded: &'f Folded,
    transform: Option<&'f str>,
}

fn is_zero(value: &str) -> bool {
    value
        .trim()
        .trim_end_matches('%')
        .parse::<f64>()
        .is_ok_and(|v| v <= 0.0)
}

/// What `url(…)` refers to, and what stands after it.
fn link(value: &str) -> Option<(&str, &str)> {
    let rest = value.trim().strip_prefix("url(")?;
    let (inside, after) = rest.split_once(')')?;
    Some((inside.trim().trim_matches(['"', '\'']).trim(), after.trim()))
}
