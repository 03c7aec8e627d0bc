//! Repeats (`use`): which of them run in circles, and how much they come to when drawn out.

use super::{ArtworkError, MOST_DEPTH, MOST_ELEMENTS, place::Lines};
use roxmltree::{Document, Node, NodeId};
use std::collections::{BTreeMap, BTreeSet, HashMap};

pub(super) struct Uses<'a, 'input> {
    ids: BTreeMap<&'a str, Node<'a, 'input>>,
    /// Repeats that would contain themselves.
    pub(super) loops: BTreeSet<usize>,
}

impl<'a, 'input> Uses<'a, 'input> {
    /// # Errors
    /// [`ArtworkError::TooMany`] and [`ArtworkError::TooDeep`].
    pub(super) fn new(doc: &'a Document<'input>, lines: &Lines) -> Result<Self, ArtworkError> {
        let mut ids = BTreeMap::new();
        for node in doc.descendants().filter(Node::is_element) {
            if let Some(id) = node.attribute("id") {
                ids.entry(id).or_insert(node);
            }
        }
        let mut uses = Self {
            ids,
            loops: BTreeSet::new(),
        };
        // Only looked up, never run through.
        let mut known: HashMap<NodeId, (usize, usize)> = HashMap::new();
        let mut above = Vec::new();
        let root = doc.root_element();
        let (drawn, _) = uses.weigh(root, &mut known, &mut above, lines)?;
        if drawn > MOST_ELEMENTS {
            return Err(ArtworkError::TooMany {
                what: "elements",
                most: MOST_ELEMENTS,
            });
        }
        Ok(uses)
    }

    /// The element an id names.
    pub(super) fn by_id(&self, id: &str) -> Option<Node<'a, 'input>> {
        self.ids.get(id).copied()
    }

    /// The element a repeat repeats.
    pub(super) fn target(&self, node: Node<'a, 'input>) -> Option<Node<'a, 'input>> {
        self.by_id(href(node)?.trim().strip_prefix('#')?)
    }

    /// Elements drawn for this one, and how deep they go.
    fn weigh(
        &mut self,
        node: Node<'a, 'input>,
        known: &mut HashMap<NodeId, (usize, usize)>,
        above: &mut Vec<NodeId>,
        lines: &Lines,
    ) -> Result<(usize, usize), ArtworkError> {
        if let Some(found) = known.get(&node.id()) {
            return Ok(*found);
        }
        if above.len() >= MOST_DEPTH {
            let line = lines.line(node.range().start);
            return Err(ArtworkError::TooDeep {
                line,
                most: MOST_DEPTH,
            });
        }
        above.push(node.id());
        let (mut weight, mut depth) = (1_usize, 0_usize);
        let mut add = |(w, d): (usize, usize)| {
            weight = weight.saturating_add(w);
            depth = depth.max(d);
        };
        for child in node.children().filter(Node::is_element) {
            add(self.weigh(child, known, above, lines)?);
        }
        if node.tag_name().name() == "use"
            && let Some(target) = self.target(node)
        {
            if above.contains(&target.id()) {
                self.loops.insert(node.id().get_usize());
            } else {
                add(self.weigh(target, known, above, lines)?);
            }
        }
        above.pop();
        let found = (weight, depth + 1);
        if found.1 + above.len() > MOST_DEPTH {
            let line = lines.line(node.range().start);
            return Err(ArtworkError::TooDeep {
                line,
                most: MOST_DEPTH,
            });
        }
        known.insert(node.id(), found);
        Ok(found)
    }
}

/// `href`, before the older `xlink:href` (SVG 2, section 16.1.6).
pub(super) fn href<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    const XLINK: &str = "http://www.w3.org/1999/xlink";
    let named = |ns: Option<&str>| {
        node.attributes()
            .find(|a| a.name() == "href" && a.namespace() == ns)
            .map(|a| a.value())
    };
    named(None).or_else(|| named(Some(XLINK)))
}
