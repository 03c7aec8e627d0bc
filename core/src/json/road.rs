//! The reader behind [`super::of`]: from a JSON value, and no more than what JSON can hold and this
//! program writes.
//!
//! serde_json's own reader of values and serde's copies also read a struct from a list and its fields'
//! names from numbers and bytes. A browser would load that once more for every type.

use serde::de::{
    DeserializeSeed, EnumAccess, Error as _, IntoDeserializer, MapAccess, SeqAccess, Unexpected,
    VariantAccess, Visitor, value::StringDeserializer,
};
use serde::{Deserializer, forward_to_deserialize_any};
use serde_json::{Error, Map, Value, map};

/// A value to be read.
pub(super) struct Road(pub(super) Value);

impl Road {
    /// It is not of the kind that was expected.
    fn refused<'de, V: Visitor<'de>>(&self, visitor: &V) -> Error {
        refused(&self.0, visitor)
    }
}

#[inline(never)]
fn refused(value: &Value, expected: &dyn serde::de::Expected) -> Error {
    let found = match value {
        Value::Null => Unexpected::Unit,
        Value::Bool(b) => Unexpected::Bool(*b),
        Value::Number(n) => match (n.as_u64(), n.as_i64()) {
            (Some(u), _) => Unexpected::Unsigned(u),
            (_, Some(i)) => Unexpected::Signed(i),
            _ => Unexpected::Float(n.as_f64().unwrap_or(f64::NAN)),
        },
        Value::String(s) => Unexpected::Str(s),
        Value::Array(_) => Unexpected::Seq,
        Value::Object(_) => Unexpected::Map,
    };
    Error::invalid_type(found, expected)
}

fn fields<'de, V: Visitor<'de>>(object: Map<String, Value>, visitor: V) -> Result<V::Value, Error> {
    visitor.visit_map(Fields {
        rest: object.into_iter(),
        value: Value::Null,
    })
}

fn items<'de, V: Visitor<'de>>(array: Vec<Value>, visitor: V) -> Result<V::Value, Error> {
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
                Value::$kind($it) => $read(visitor),
                _ => Err(self.refused(&visitor)),
            }
        })*
    };
}

impl<'de> Deserializer<'de> for Road {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Value::Null => visitor.visit_unit(),
            Value::Bool(b) => visitor.visit_bool(b),
            Value::Number(n) => n.deserialize_any(visitor),
            Value::String(s) => visitor.visit_string(s),
            Value::Array(array) => items(array, visitor),
            Value::Object(object) => fields(object, visitor),
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
        deserialize_char String(s) => |v: V| v.visit_string(s),
        deserialize_str String(s) => |v: V| v.visit_string(s),
        deserialize_string String(s) => |v: V| v.visit_string(s),
        deserialize_identifier String(s) => |v: V| v.visit_string(s),
        deserialize_seq Array(a) => |v| items(a, v),
        deserialize_map Object(o) => |v| fields(o, v),
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
            Value::Null => visitor.visit_none(),
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
            Value::String(name) => (name, None),
            Value::Object(object) => {
                let mut entries = object.into_iter();
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

struct Items(std::vec::IntoIter<Value>);

impl<'de> SeqAccess<'de> for &mut Items {
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

struct Fields {
    rest: map::IntoIter,
    value: Value,
}

impl<'de> MapAccess<'de> for Fields {
    type Error = Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, Error> {
        match self.rest.next() {
            Some((key, value)) => {
                self.value = value;
                seed.deserialize(Road(Value::String(key))).map(Some)
            }
            None => Ok(None),
        }
    }

    fn next_value_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<T::Value, Error> {
        seed.deserialize(Road(self.value.take()))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.rest.len())
    }
}

struct Variant {
    name: String,
    holds: Option<Value>,
}

impl<'de> EnumAccess<'de> for Variant {
    type Error = Error;
    type Variant = Holds;

    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Holds), Error> {
        let name: StringDeserializer<Error> = self.name.into_deserializer();
        Ok((seed.deserialize(name)?, Holds(self.holds)))
    }
}

/// What a variant holds.
struct Holds(Option<Value>);

impl Holds {
    fn some(self, expected: &'static str) -> Result<Road, Error> {
        let none = || Error::invalid_type(Unexpected::UnitVariant, &expected);
        self.0.map(Road).ok_or_else(none)
    }
}

impl<'de> VariantAccess<'de> for Holds {
    type Error = Error;

    fn unit_variant(self) -> Result<(), Error> {
        match self.0 {
            None | Some(Value::Null) => Ok(()),
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
