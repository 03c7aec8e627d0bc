//! What a template is made of: its middle lies half its thickness off the face.

use crate::units::Length;

/// A material that is laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    /// What it is called.
    pub name: &'static str,
    /// How thick it is.
    pub thickness: Length,
}

/// What templates are usually made of, thinnest first (copier paper of 80 g/m², drafting film, carton,
/// hardboard: common practice, no source). The first is taken where nobody says.
pub const LAID: [Laid; 4] = [
    Laid {
        name: "paper",
        thickness: Length::from_mm(0.1),
    },
    Laid {
        name: "film",
        thickness: Length::from_mm(0.2),
    },
    Laid {
        name: "card",
        thickness: Length::from_mm(0.5),
    },
    Laid {
        name: "board",
        thickness: Length::from_mm(2.0),
    },
];

impl Laid {
    /// What is this thick, to a micrometre; nothing where it is none of the usual.
    #[must_use]
    pub fn named(thickness: Length) -> Option<&'static str> {
        LAID.iter()
            .find(|l| l.thickness.to_um() == thickness.to_um())
            .map(|l| l.name)
    }
}
