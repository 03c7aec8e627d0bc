//! Style sheets, `style` and presentation attributes folded into one value to a property.

use roxmltree::Node;
use simplecss::{AttributeOperator, DeclarationTokenizer, Element, PseudoClass, StyleSheet};
use std::collections::BTreeMap;

/// The properties that decide what is painted and where; the rest is not for outlines.
const PROPERTIES: [&str; 30] = [
    "clip-path",
    "clip-rule",
    "color",
    "display",
    "fill",
    "fill-opacity",
    "fill-rule",
    "filter",
    "font",
    "font-size",
    "marker",
    "marker-end",
    "marker-mid",
    "marker-start",
    "mask",
    "opacity",
    "overflow",
    "paint-order",
    "stroke",
    "stroke-dasharray",
    "stroke-dashoffset",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-miterlimit",
    "stroke-opacity",
    "stroke-width",
    "text-anchor",
    "transform",
    "vector-effect",
    "visibility",
];

/// The properties of one element, by name.
pub(super) type Folded = BTreeMap<&'static str, String>;

/// The text of all style elements.
pub(super) fn sheets(doc: &roxmltree::Document<'_>) -> String {
    let mut css = String::new();
    for style in doc
        .descendants()
        .filter(|n| n.is_element() && n.tag_name().name() == "style")
    {
        for text in style.children().filter_map(|c| c.text()) {
            css.push_str(text);
            css.push('\n');
        }
    }
    css
}

/// CSS Cascade 4, section 6: importance, then where it is written, then specificity and order (the
/// rules of a sheet already come sorted by these two).
pub(super) fn fold(node: Node<'_, '_>, sheet: &StyleSheet<'_>) -> Folded {
    let mut ranked: BTreeMap<&'static str, (u8, String)> = BTreeMap::new();
    let mut put = |name: &str, value: &str, rank: u8| {
        let name = PROPERTIES
            .into_iter()
            .find(|p| p.eq_ignore_ascii_case(name.trim()));
        if let Some(name) = name
            && ranked.get(name).is_none_or(|(r, _)| rank >= *r)
        {
            ranked.insert(name, (rank, value.trim().to_owned()));
        }
    };
    for attribute in node.attributes().filter(|a| a.namespace().is_none()) {
        put(attribute.name(), attribute.value(), 0);
    }
    for rule in sheet
        .rules
        .iter()
        .filter(|r| r.selector.matches(&InTree(node)))
    {
        for d in &rule.declarations {
            put(d.name, d.value, if d.important { 3 } else { 1 });
        }
    }
    if let Some(own) = node.attribute("style") {
        for d in DeclarationTokenizer::from(own) {
            put(d.name, d.value, if d.important { 4 } else { 2 });
        }
    }
    let marker = ranked.remove("marker");
    let mut folded: Folded = ranked
        .into_iter()
        .map(|(name, (_, value))| (name, value))
        .collect();
    if let Some((_, value)) = marker {
        folded.entry("marker-start").or_insert(value);
    }
    folded
}

struct InTree<'a, 'input>(Node<'a, 'input>);

impl Element for InTree<'_, '_> {
    fn parent_element(&self) -> Option<Self> {
        self.0.parent_element().map(InTree)
    }
    fn prev_sibling_element(&self) -> Option<Self> {
        self.0.prev_sibling_element().map(InTree)
    }
    fn has_local_name(&self, name: &str) -> bool {
        self.0.tag_name().name() == name
    }
    fn attribute_matches(&self, name: &str, operator: AttributeOperator<'_>) -> bool {
        self.0
            .attribute(name)
            .is_some_and(|value| operator.matches(value))
    }
    fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
        matches!(class, PseudoClass::FirstChild) && self.prev_sibling_element().is_none()
    }
}
