//! Slips of the hand at entry: asked about before they are kept, never put right by themselves.

use crate::units::Length;

/// A slip that would explain a value outside what is expected.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The question, one sentence.
    pub asks: String,
    /// What may have been meant; none where no known slip explains it.
    pub meant: Option<Length>,
}

/// Whole steps by which a tape is misread: a decimetre, a centimetre, an inch.
const STEPS_MM: [(f64, &str); 3] = [(100.0, "100 mm"), (10.0, "10 mm"), (25.4, "an inch")];

fn plain(mm: f64) -> String {
    super::super::words::mm(Length::from_mm(mm))
}

/// What to ask before a value is kept; nothing where it lies in what is expected.
#[must_use]
pub fn doubt(value: Length, typed: &str, low: Length, high: Length) -> Option<Doubt> {
    // Outward to the millimetre, as the field says it.
    let (least, most) = (libm::floor(low.mm()), libm::ceil(high.mm()));
    let inside = |mm: f64| least <= mm && mm <= most;
    let mm = value.mm();
    if inside(mm) {
        return None;
    }
    let expected = format!("{} to {} mm", plain(least), plain(most));
    let found = |asks: String, meant: f64| {
        Some(Doubt {
            asks,
            meant: Some(Length::from_mm(meant)),
        })
    };
    // Inches and centimetres first: they explain the most.
    for (factor, said) in [
        (25.4, "inches"),
        (10.0, "centimetres"),
        (0.1, "a point left out"),
    ] {
        let other = mm * factor;
        if inside(other) {
            return found(
                format!(
                    "{} mm? {expected} is expected. Was it {said}: {} mm?",
                    plain(mm),
                    plain(other)
                ),
                other,
            );
        }
    }
    for (step, said) in STEPS_MM {
        for (other, way) in [(mm - step, "more"), (mm + step, "less")] {
            if inside(other) {
                return found(
                    format!(
                        "{} mm? That is about {said} {way} than expected ({expected}). Was it {} mm?",
                        plain(mm),
                        plain(other)
                    ),
                    other,
                );
            }
        }
    }
    if let Some(other) = swapped(mm, typed).into_iter().find(|m| inside(*m)) {
        return found(
            format!(
                "{} mm? {expected} is expected. Two digits swapped: {} mm?",
                plain(mm),
                plain(other)
            ),
            other,
        );
    }
    Some(Doubt {
        asks: format!(
            "{} mm? {expected} is expected. Look at the tape and the marks once more",
            plain(mm)
        ),
        meant: None,
    })
}

/// The value with two neighbouring digits changed over, where it was typed in plain digits.
fn swapped(mm: f64, typed: &str) -> Vec<f64> {
    let digits: String = typed
        .chars()
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    let Ok(read) = digits.parse::<f64>() else {
        return Vec::new();
    };
    if read <= 0.0 {
        return Vec::new();
    }
    // Keeps the unit it was understood in.
    let scale = mm / read;
    let chars: Vec<char> = digits.chars().collect();
    (1..chars.len())
        .filter_map(|k| {
            let mut other = chars.clone();
            other.swap(k - 1, k);
            let text: String = other.iter().collect();
            let value: f64 = text.parse().ok()?;
            (chars[k - 1] != '.' && chars[k] != '.').then_some(value * scale)
        })
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[track_caller]
    fn check(typed: &str, mm: f64, low: f64, high: f64, meant: Option<f64>) {
        let l = Length::from_mm;
        let got = doubt(l(mm), typed, l(low), l(high)).map(|d| d.meant);
        // Micrometres: the arithmetic rounds, the tape does not.
        let um = |x: Option<Length>| x.map(Length::to_um);
        assert_eq!(
            um(got.flatten()),
            meant.map(|m| l(m).to_um()),
            "{typed} in {low}–{high}"
        );
    }

    #[test]
    fn slips_are_recognised_and_asked_about() {
        check("113", 113.0, 101.0, 105.0, Some(103.0));
        check("203", 203.0, 101.0, 105.0, Some(103.0));
        check("77.6", 77.6, 101.0, 105.0, Some(103.0));
        check("10.3", 10.3, 101.0, 105.0, Some(103.0));
        check("4", 4.0, 101.0, 105.0, Some(101.6));
        check("1030", 1030.0, 101.0, 105.0, Some(103.0));
        check("130", 130.0, 101.0, 104.0, Some(103.0));
        check("301", 301.0, 128.0, 132.0, None);
    }

    #[test]
    fn what_is_expected_is_not_asked_about() {
        let l = Length::from_mm;
        assert_eq!(doubt(l(103.0), "103", l(101.0), l(105.0)), None);
        assert_eq!(doubt(l(101.0), "101", l(101.0), l(105.0)), None);
    }
}
