//! From JSON to a value, by one road.
//!
//! Whatever a type is read from, its reader is compiled anew for that type. Here everything is read
//! by one reader, which knows no more than JSON: each type is compiled once, instead of once for text,
//! once for values and once for whatever else serde can read, and the modules that a browser has to
//! load are that much smaller.

mod node;
mod road;

use node::Node;
use road::Road;
use serde::de::DeserializeOwned;
use serde_json::{Error, Map, Value};

/// What a JSON value means.
///
/// # Errors
/// What doesn't fit, in the words of the reader.
pub fn of<T: DeserializeOwned>(value: Value) -> Result<T, Error> {
    T::deserialize(Road(Node::of(&value)))
}

/// What the fields of a JSON object mean.
///
/// # Errors
/// What doesn't fit, in the words of the reader.
pub fn of_fields<T: DeserializeOwned>(fields: &Map<String, Value>) -> Result<T, Error> {
    T::deserialize(Road(Node::fields(fields)))
}

/// What a JSON text means. Not for what holds raw JSON: that has to be read straight from the text.
///
/// # Errors
/// What is no JSON or doesn't fit, in the words of the reader.
pub fn read<T: DeserializeOwned>(text: &str) -> Result<T, Error> {
    T::deserialize(Road(serde_json::from_str(text)?))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use serde::Serialize;
    use std::collections::BTreeMap;

    #[derive(Debug, Clone, PartialEq, Serialize, serde::Deserialize)]
    #[serde(tag = "kind", rename_all = "kebab-case")]
    enum Tagged {
        Flat { wide: f64 },
        Round(Round),
    }

    #[derive(Debug, Clone, PartialEq, Serialize, serde::Deserialize)]
    struct Round {
        at: [f64; 2],
        #[serde(default, skip_serializing_if = "Option::is_none")]
        named: Option<String>,
    }

    #[derive(Debug, Clone, PartialEq, Serialize, serde::Deserialize)]
    enum Plain {
        Nothing,
        Number(i64),
        Both(u64, f64),
        Named {
            list: Vec<Tagged>,
            by: BTreeMap<String, (bool, Option<u64>)>,
        },
    }

    /// The road changes nothing: what serde_json reads by itself is what is read here.
    #[test]
    fn reads_what_serde_json_reads() {
        let round = |x: f64, named: Option<&str>| {
            let named = named.map(str::to_owned);
            Tagged::Round(Round { at: [x, -x], named })
        };
        let by = [("", (true, None)), ("é\"\\", (false, Some(u64::MAX)))];
        let mut all = vec![
            Plain::Nothing,
            Plain::Number(i64::MIN),
            Plain::Number(7),
            Plain::Named {
                list: vec![
                    Tagged::Flat { wide: 0.1 },
                    round(1e-9, None),
                    round(1e21, Some("at")),
                ],
                by: by.map(|(k, v)| (k.to_owned(), v)).into(),
            },
        ];
        all.extend(
            [0.0, -0.0, 1.0, 1.0 / 3.0, 5e-324, 1.797e308].map(|x| Plain::Both(u64::MAX, x)),
        );
        for what in all {
            let text = serde_json::to_string(&what).unwrap();
            let straight: Plain = serde_json::from_str(&text).unwrap();
            assert_eq!(read::<Plain>(&text).unwrap(), straight);
            let value = serde_json::to_value(&what).unwrap();
            assert_eq!(of::<Plain>(value).unwrap(), what);
        }
    }

    #[test]
    fn says_what_does_not_fit() {
        for (text, word) in [
            ("{\"at\":[1,2],\"named\":3}", "invalid type: integer `3`"),
            ("{}", "missing field `at`"),
            ("{\"at\":[1]}", "invalid length 1"),
            ("{\"at\":", "EOF"),
        ] {
            let why = read::<Round>(text).unwrap_err().to_string();
            assert!(why.contains(word), "{text}: {why}");
        }
        let why = read::<Tagged>("{\"kind\":\"square\"}").unwrap_err();
        assert!(
            why.to_string().contains("unknown variant `square`"),
            "{why}"
        );
        assert_eq!(read::<Vec<u8>>("[1,2]").unwrap(), [1, 2]);
        assert_eq!(read::<f64>("1").unwrap().to_bits(), 1.0_f64.to_bits());
    }
}
