//! Jobs coming in.

use crate::state::Came;

/// What came of opening a file.
#[must_use]
pub fn came(title: &str, came: &Came) -> String {
    match came {
        Came::New => format!("{title} is open and kept on this device"),
        Came::Merged {
            came_in: 0,
            refused: 0,
        } => {
            format!(
                "{title} was here already; the file holds nothing that this device did not have"
            )
        }
        Came::Merged { came_in, refused } => {
            let entries = if *came_in == 1 {
                "1 entry".into()
            } else {
                format!("{came_in} entries")
            };
            let refused = match refused {
                0 => String::new(),
                1 => "; 1 entry stands here with another text under the same name: neither counts until it is written again".into(),
                n => format!("; {n} entries stand here with other texts under the same names: none of them counts until they are written again"),
            };
            format!(
                "{title} was here already: {entries} came in from the file and nothing was overwritten{refused}"
            )
        }
    }
}

/// The first letter large: core's sentences also stand in the middle of others.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// A paragraph of plural: `18 pieces`, `1 piece`.
#[must_use]
pub fn pieces(n: usize) -> String {
    if n == 1 {
        "1 piece".into()
    } else {
        format!("{n} pieces")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_merge_is_reported_in_words() {
        let said = came(
            "Quay puffins",
            &Came::Merged {
                came_in: 31,
                refused: 0,
            },
        );
        assert!(said.contains("31 entries came in"), "{said}");
        let said = came(
            "Quay puffins",
            &Came::Merged {
                came_in: 1,
                refused: 2,
            },
        );
        assert!(
            said.contains("1 entry came in") && said.contains("2 entries stand"),
            "{said}"
        );
    }
}
