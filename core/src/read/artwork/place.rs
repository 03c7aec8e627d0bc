//! Where in the file something stands, in the words of whoever drew it.

use roxmltree::Node;
use serde::Serialize;

/// An element of the file.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Place {
    /// Its name, `path` for one.
    pub element: String,
    /// The label, title or id it was given, if any.
    pub label: Option<String>,
    /// Its line, counted from 1.
    pub line: u32,
}

/// Longest label or value repeated in a list.
const MOST_CHARACTERS: usize = 60;

/// Where each line begins.
pub(super) struct Lines(Vec<usize>);

impl Lines {
    pub(super) fn new(text: &str) -> Self {
        Self(
            text.bytes()
                .enumerate()
                .filter(|(_, b)| *b == b'\n')
                .map(|(i, _)| i)
                .collect(),
        )
    }

    pub(super) fn line(&self, byte: usize) -> u32 {
        u32::try_from(self.0.partition_point(|&end| end < byte) + 1).unwrap_or(u32::MAX)
    }

    pub(super) fn place(&self, node: Node<'_, '_>) -> Place {
        let label = node
            .attributes()
            .find(|a| a.name() == "label" && a.namespace().is_some())
            .map(|a| a.value())
            .or_else(|| {
                node.children()
                    .find(|c| c.has_tag_name("title") || c.tag_name().name() == "title")
                    .and_then(|t| t.text())
            })
            .or_else(|| node.attribute("id"))
            .map(|l| short(l.trim()))
            .filter(|l| !l.is_empty());
        Place {
            element: short(node.tag_name().name()),
            label,
            line: self.line(node.range().start),
        }
    }
}

/// The beginning of a text, with a sign that there is more.
pub(super) fn short(text: &str) -> String {
    let mut out: String = text.chars().take(MOST_CHARACTERS).collect();
    if out.len() < text.len() {
        out.push('…');
    }
    out
}
