//! The reader behind [`super::of`]: from what JSON can hold, and no more than this program writes.
//!
//! serde_json's own reader of values and serde's copies also read a struct from a list and its fields'
//! names from numbers and bytes. A browser would load that once more for every type.

use super::node::{Field, Node};
use serde::de::{
    DeserializeSeed, EnumAccess, Error as _, MapAccess, SeqAccess, Unexpected, VariantAccess,
    Visitor,
};
use serde::{Deserializer, forward_to_deserialize_any};
use serde_json::Error;
use std::borrow::Cow;

/// A value to be read.
pub(super) struct Road<'a>(pub(super) Node<'a>);

impl<'a> Road<'a> {
    /// It is not of the kind that was expected.
    fn refused<V: Visitor<'a>>(&self, visitor: &V) -> Error {
        refused(&self.0, visitor)
    }
}

fn text<'a, V: Visitor<'a>>(text: Cow<'a, str>, visitor: V) -> Result<V::Value, Error> {
    match text {
        Cow::Borrowed(text) => visitor.visit_borrowed_str(text),
        Cow::Owned(text) => visitor.visit_string(text),
    }
}

#[inline(never)]
fn refused(value: &Node<'_>, expected: &dyn serde::de::Expected) -> Error {
    let found = match value {
        Node::Null => Unexpected::Unit,
        Node::Bool(b) => Unexpected::Bool(*b),
        Node::Number(n) => match (n.as_u64(), n.as_i64()) {
            (Some(u), _) => Unexpected::Unsigned(u),
            (_, Some(i)) => Unexpected::Signed(i),
            _ => Unexpected::Float(n.as_f64().unwrap_or(f64::NAN)),
        },
        Node::Text(s) => Unexpected::Str(s),
        Node::List(_) => Unexpected::Seq,
        Node::Fields(_) => Unexpected::Map,
    };
    Error::invalid_type(found, expected)
}

fn fields<'de, V: Visitor<'de>>(fields: Vec<Field<'de>>, visitor: V) -> Result<V::Value, Error> {
    visitor.visit_map(Fields {
        rest: fields.into_iter(),
        value: Node::Null,
    })
}

fn items<'de, V: Visitor<'de>>(array: Vec<Node<'de>>, visitor: V) -> Result<V::Value, Error> {
    let len = array.len();
    let mut items = Items(array.into_iter());
    let read = visitor.visit_seq(&mut items)?;
    if items.0.len() == 0 {
        Ok(read)
    } else {
        Err(Error::invalid_length(len, &"fewer elements in array"))
    }
}

/// Reads what must be of one kind.
macro_rules! only {
    ($($method:ident $kind:ident($it:ident) => $read:expr),* $(,)?) => {
        $(fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
            match self.0 {
                Node::$kind($it) => $read(visitor),
                _ => Err(self.refused(&visitor)),
            }
        })*
    };
}

impl<'de> Deserializer<'de> for Road<'de> {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Node::Null => visitor.visit_unit(),
            Node::Bool(b) => visitor.visit_bool(b),
            Node::Number(n) => n.deserialize_any(visitor),
            Node::Text(s) => text(s, visitor),
            Node::List(list) => items(list, visitor),
            Node::Fields(all) => fields(all, visitor),
        }
    }

    only! {
        deserialize_bool Bool(b) => |v: V| v.visit_bool(b),
        deserialize_u8 Number(n) => |v| n.deserialize_any(v),
        deserialize_u16 Number(n) => |v| n.deserialize_any(v),
        deserialize_u32 Number(n) => |v| n.deserialize_any(v),
        deserialize_u64 Number(n) => |v| n.deserialize_any(v),
        deserialize_i8 Number(n) => |v| n.deserialize_any(v),
        deserialize_i16 Number(n) => |v| n.deserialize_any(v),
        deserialize_i32 Number(n) => |v| n.deserialize_any(v),
        deserialize_i64 Number(n) => |v| n.deserialize_any(v),
        deserialize_f32 Number(n) => |v| n.deserialize_any(v),
        deserialize_f64 Number(n) => |v| n.deserialize_any(v),
        deserialize_char Text(s) => |v: V| text(s, v),
        deserialize_str Text(s) => |v: V| text(s, v),
        deserialize_string Text(s) => |v: V| text(s, v),
        deserialize_identifier Text(s) => |v: V| text(s, v),
        deserialize_seq List(a) => |v| items(a, v),
        deserialize_map Fields(o) => |v| fields(o, v),
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Error> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_map(visitor)
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Node::Null => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_newtype_struct(self)
    }

    /// The name of a variant, or an object of its name and what it holds.
    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        let (name, holds) = match self.0 {
            Node::Text(name) => (name, None),
            Node::Fields(fields) => {
                let mut entries = fields.into_iter();
                match (entries.next(), entries.next()) {
                    (Some((name, holds)), None) => (name, Some(holds)),
                    _ => {
                        let found = Unexpected::Map;
                        return Err(Error::invalid_value(found, &"map with a single key"));
                    }
                }
            }
            other => {
                let found = refused(&other, &"string or map");
                return Err(found);
            }
        };
        visitor.visit_enum(Variant { name, holds })
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_unit()
    }

    forward_to_deserialize_any! { i128 u128 bytes byte_buf unit unit_struct }
}

struct Items<'a>(std::vec::IntoIter<Node<'a>>);

impl<'de> SeqAccess<'de> for &mut Items<'de> {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Error> {
        match self.0.next() {
            Some(value) => seed.deserialize(Road(value)).map(Some),
            None => Ok(None),
        }
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.0.len())
    }
}

struct Fields<'a> {
    rest: std::vec::IntoIter<Field<'a>>,
    value: Node<'a>,
}

impl<'de> MapAccess<'de> for Fields<'de> {
    type Error = Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, Error> {
        match self.rest.next() {
            Some((key, value)) => {
                self.value = value;
                seed.deserialize(Road(Node::Text(key))).map(Some)
            }
            None => Ok(None),
        }
    }

    fn next_value_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<T::Value, Error> {
        let value = std::mem::replace(&mut self.value, Node::Null);
        seed.deserialize(Road(value))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.rest.len())
    }
}

struct Variant<'a> {
    name: Cow<'a, str>,
    holds: Option<Node<'a>>,
}

impl<'de> EnumAccess<'de> for Variant<'de> {
    type Error = Error;
    type Variant = Holds<'de>;

    fn variant_seed<S: DeserializeSeed<'de>>(
        self,
        seed: S,
    ) -> Result<(S::Value, Holds<'de>), Error> {
        let name = seed.deserialize(Road(Node::Text(self.name)))?;
        Ok((name, Holds(self.holds)))
    }
}

/// What a variant holds.
struct Holds<'a>(Option<Node<'a>>);

impl<'a> Holds<'a> {
    fn some(self, expected: &'static str) -> Result<Road<'a>, Error> {
        let none = || Error::invalid_type(Unexpected::UnitVariant, &expected);
        self.0.map(Road).ok_or_else(none)
    }
}

impl<'de> VariantAccess<'de> for Holds<'de> {
    type Error = Error;

    fn unit_variant(self) -> Result<(), Error> {
        match self.0 {
            None | Some(Node::Null) => Ok(()),
            Some(other) => Err(refused(&other, &"unit variant")),
        }
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Error> {
        seed.deserialize(self.some("newtype variant")?)
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Error> {
        self.some("tuple variant")?.deserialize_seq(visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.some("struct variant")?.deserialize_map(visitor)
    }
}
