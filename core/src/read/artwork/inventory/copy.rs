//! Writing the copy for pass 2.

use super::Folded;
use core::fmt::Write as _;
use kurbo::{BezPath, PathEl};
use roxmltree::Node;

pub(super) struct Copy {
    text: String,
}

/// The view given to pass 2 where the file has none; only lengths in percent could tell, and those
/// have been refused by then.
const NO_VIEW: (f64, f64) = (100.0, 100.0);

impl Copy {
    /// The root maps user units to themselves, so that pass 2 gives back user units.
    pub(super) fn begin(view: Option<(f64, f64)>) -> Self {
        let (w, h) = view.unwrap_or(NO_VIEW);
        Self {
            text: format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" \
                 viewBox=\"0 0 {w} {h}\">"
            ),
        }
    }
    pub(super) fn end(mut self) -> String {
        self.text.push_str("</svg>");
        self.text
    }
    pub(super) fn open(&mut self, tag: &str, id: usize, transform: Option<&str>, folded: &Folded) {
        // Writing to a String cannot fail, here and below.
        let _ = write!(self.text, "<{tag} id=\"e{id}\"");
        if let Some(transform) = transform {
            self.attribute("transform", transform);
        }
        for (name, value) in folded {
            if !matches!(*name, "transform" | "vector-effect" | "mask" | "font") {
                self.attribute(name, value);
            }
        }
    }
    pub(super) fn inside(&mut self) {
        self.text.push('>');
    }
    pub(super) fn close(&mut self, tag: &str) {
        let _ = write!(self.text, "</{tag}>");
    }
    pub(super) fn attribute(&mut self, name: &str, value: &str) {
        let _ = write!(self.text, " {name}=\"");
        for c in value.chars() {
            match c {
                '<' => self.text.push_str("&lt;"),
                '&' => self.text.push_str("&amp;"),
                '"' => self.text.push_str("&quot;"),
                c if c.is_control() => self.text.push(' '),
                c => self.text.push(c),
            }
        }
        self.text.push('"');
    }
    pub(super) fn number(&mut self, name: &str, value: f64) {
        let _ = write!(self.text, " {name}=\"{value}\"");
    }
    pub(super) fn attributes(&mut self, node: Node<'_, '_>, names: &[&str]) {
        for name in names {
            if let Some(value) = node.attribute(*name) {
                self.attribute(name, value);
            }
        }
    }
    pub(super) fn path(&mut self, path: &BezPath) {
        self.text.push_str(" d=\"");
        for el in path.elements() {
            let _ = match *el {
                PathEl::MoveTo(p) => write!(self.text, "M{} {}", p.x, p.y),
                PathEl::LineTo(p) => write!(self.text, "L{} {}", p.x, p.y),
                PathEl::QuadTo(a, p) => write!(self.text, "Q{} {} {} {}", a.x, a.y, p.x, p.y),
                PathEl::CurveTo(a, b, p) => {
                    write!(
                        self.text,
                        "C{} {} {} {} {} {}",
                        a.x, a.y, b.x, b.y, p.x, p.y
                    )
                }
                PathEl::ClosePath => write!(self.text, "Z"),
            };
        }
        self.text.push('"');
    }
}
