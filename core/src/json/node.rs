//! What a JSON text holds, as it is on the way to a type: its strings lie in the text itself.
//!
//! A job of a hundred thousand entries is read through here when it is opened. serde_json's own tree
//! copies every name and every text of it, to be thrown away once the type is read.

use serde::Deserialize;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Number, Value};
use std::borrow::Cow;
use std::fmt;

/// A JSON value.
#[derive(Debug, PartialEq)]
pub(super) enum Node<'a> {
    Null,
    Bool(bool),
    Number(Number),
    Text(Cow<'a, str>),
    List(Vec<Self>),
    /// No name twice.
    Fields(Vec<Field<'a>>),
}

/// A name and what stands under it.
pub(super) type Field<'a> = (Cow<'a, str>, Node<'a>);

/// Up to so many fields are gone through for each other; more are sorted.
const FEW: usize = 16;

/// Of two fields of one name the last counts, as in serde_json's own tree.
fn once(mut fields: Vec<Field<'_>>) -> Vec<Field<'_>> {
    let twice = |fields: &[Field<'_>]| {
        let mut rest = fields;
        while let [(name, _), behind @ ..] = rest {
            if behind.iter().any(|(other, _)| other == name) {
                return true;
            }
            rest = behind;
        }
        false
    };
    if fields.len() > FEW || twice(&fields) {
        // Equal ones keep their order, and of each row the first is kept once all are turned round.
        fields.sort_by(|a, b| a.0.cmp(&b.0));
        fields.reverse();
        fields.dedup_by(|later, kept| later.0 == kept.0);
    }
    fields
}

impl<'a> Node<'a> {
    /// The same as a value says.
    pub(super) fn of(value: &'a Value) -> Self {
        match value {
            Value::Null => Self::Null,
            Value::Bool(b) => Self::Bool(*b),
            Value::Number(n) => Self::Number(n.clone()),
            Value::String(s) => Self::Text(Cow::Borrowed(s)),
            Value::Array(list) => Self::List(list.iter().map(Self::of).collect()),
            Value::Object(object) => Self::fields(object),
        }
    }

    /// The same as an object's fields.
    pub(super) fn fields(object: &'a serde_json::Map<String, Value>) -> Self {
        let each = object.iter();
        Self::Fields(
            each.map(|(name, value)| (Cow::Borrowed(name.as_str()), Self::of(value)))
                .collect(),
        )
    }
}

struct Any;

impl<'de> Visitor<'de> for Any {
    type Value = Node<'de>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("any valid JSON value")
    }
    fn visit_unit<E: Error>(self) -> Result<Node<'de>, E> {
        Ok(Node::Null)
    }
    fn visit_bool<E: Error>(self, b: bool) -> Result<Node<'de>, E> {
        Ok(Node::Bool(b))
    }
    fn visit_i64<E: Error>(self, n: i64) -> Result<Node<'de>, E> {
        Ok(Node::Number(n.into()))
    }
    fn visit_u64<E: Error>(self, n: u64) -> Result<Node<'de>, E> {
        Ok(Node::Number(n.into()))
    }
    fn visit_f64<E: Error>(self, n: f64) -> Result<Node<'de>, E> {
        Ok(Number::from_f64(n).map_or(Node::Null, Node::Number))
    }
    fn visit_str<E: Error>(self, text: &str) -> Result<Node<'de>, E> {
        Ok(Node::Text(Cow::Owned(text.to_owned())))
    }
    fn visit_borrowed_str<E: Error>(self, text: &'de str) -> Result<Node<'de>, E> {
        Ok(Node::Text(Cow::Borrowed(text)))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Node<'de>, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(Node::List(list))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node<'de>, A::Error> {
        let mut fields = Vec::new();
        while let Some(name) = map.next_key_seed(Name)? {
            fields.push((name, map.next_value()?));
        }
        Ok(Node::Fields(once(fields)))
    }
}

impl<'de> Deserialize<'de> for Node<'de> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Any)
    }
}

/// A field's name.
struct Name;

impl<'de> DeserializeSeed<'de> for Name {
    type Value = Cow<'de, str>;
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Self::Value, D::Error> {
        from.deserialize_str(self)
    }
}

impl<'de> Visitor<'de> for Name {
    type Value = Cow<'de, str>;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a string key")
    }
    fn visit_str<E: Error>(self, name: &str) -> Result<Self::Value, E> {
        Ok(Cow::Owned(name.to_owned()))
    }
    fn visit_borrowed_str<E: Error>(self, name: &'de str) -> Result<Self::Value, E> {
        Ok(Cow::Borrowed(name))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::road::Road;
    use super::*;

    /// What it holds is what serde_json's own tree holds.
    #[test]
    fn holds_what_serde_json_holds() {
        let many: Vec<String> = (0..40).map(|n| format!("\"f{}\":{n}", n % 30)).collect();
        let many = format!("{{{}}}", many.join(","));
        for text in [
            "null",
            "[true,-1,1,18446744073709551615,0.1,-0.0,1e21]",
            r#"{"a":"plain","b\u00e9\"":"tab\t","a":{"x":[]}}"#,
            r#"{"n":1,"n":2,"m":3,"n":4}"#,
            &many,
        ] {
            let whole: Value = serde_json::from_str(text).unwrap();
            let node: Node<'_> = serde_json::from_str(text).unwrap();
            let again = Value::deserialize(Road(node)).unwrap();
            assert_eq!(again, whole, "{text}");
            assert_eq!(Value::deserialize(Road(Node::of(&whole))).unwrap(), whole);
        }
        // Texts without escapes are not copied.
        let node: Node<'_> = serde_json::from_str(r#""plain""#).unwrap();
        assert!(matches!(node, Node::Text(Cow::Borrowed("plain"))));
        assert!(serde_json::from_str::<Node<'_>>(&"[".repeat(500)).is_err());
    }
}
