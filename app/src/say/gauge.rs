//! What a gauge card's number says.

use super::numbers;
use samespot_core::surface::size::gauge_card;
use samespot_core::units::Length;

/// What was understood of a number being typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// Nothing is typed.
    Nothing,
    /// A card there is.
    Radius {
        /// Its number.
        number: i64,
        /// The radius it says, and how sure.
        words: String,
    },
    /// No card has that number.
    Refused(String),
}

impl Said {
    /// The number, where there is such a card.
    #[must_use]
    pub const fn number(&self) -> Option<i64> {
        match self {
            Self::Radius { number, .. } => Some(*number),
            Self::Nothing | Self::Refused(_) => None,
        }
    }
}

/// To a tenth where that says something.
fn short(length: Length) -> String {
    if length.mm() < 10.0 {
        numbers::tenth(length)
    } else {
        format!("{:.0}", length.mm())
    }
}

/// The radius a card says and how sure it is, while its number is typed.
#[must_use]
pub fn said(text: &str) -> Said {
    let text = text.trim();
    if text.is_empty() {
        return Said::Nothing;
    }
    let Ok(number) = text.parse::<i64>() else {
        return Said::Refused(
            "A gauge card has a whole number, such as 14: type the one printed on it".into(),
        );
    };
    match (gauge_card::radius(number), gauge_card::sure_to(number)) {
        (Ok(radius), Ok(sure)) => {
            let mut words = format!(
                "Radius {} mm, within about {} mm",
                if radius.mm() < 100.0 {
                    numbers::tenth(radius)
                } else {
                    short(radius)
                },
                short(sure)
            );
            if number >= gauge_card::first_too_close() {
                words.push_str(
                    ". Cards this flat are too close to tell apart: a straight-edge and the gap under it says more",
                );
            }
            Said::Radius { number, words }
        }
        (Err(why), _) | (_, Err(why)) => {
            let mut why = why.to_string();
            if let Some(first) = why.get_mut(..1) {
                first.make_ascii_uppercase();
            }
            Said::Refused(why)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_says_a_radius_and_how_sure() {
        let words = |text: &str| match said(text) {
            Said::Radius { words, .. } | Said::Refused(words) => words,
            Said::Nothing => String::new(),
        };
        assert_eq!(words(" 14 "), "Radius 54.2 mm, within about 2.1 mm");
        assert_eq!(words("34"), "Radius 252 mm, within about 9.9 mm");
        assert!(words("60").ends_with("says more"));
        assert_eq!(
            words("0"),
            "There is no gauge card 0: they are numbered 1 to 61"
        );
        assert!(words("14a").starts_with("A gauge card has a whole number"));
        assert_eq!(said(" "), Said::Nothing);
    }
}
