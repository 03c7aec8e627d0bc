//! Lengths as SVG writes them (CSS Values 3, sections 5.2 and 6.2).

/// What relative lengths refer to.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Reference {
    /// Width and height of the nearest view, in user units, where known.
    pub(super) view: Option<(f64, f64)>,
    /// Size of the letters in user units, where the file says so.
    pub(super) em: Option<f64>,
}

/// Across, up, or neither: what a percentage is of.
#[derive(Debug, Clone, Copy)]
pub(super) enum Along {
    X,
    Y,
    Either,
}

/// A length that cannot be told: `em` or `%` of something unknown, or no length at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Untold;

/// User units (96 to the inch) of a length.
pub(super) fn user_units(text: &str, along: Along, of: Reference) -> Result<f64, Untold> {
    let (number, unit) = split(text)?;
    let scale = match unit {
        "" => 1.0,
        "em" => of.em.ok_or(Untold)?,
        // No font is at hand to ask for its x-height; half an em is what CSS says to take then.
        "ex" => 0.5 * of.em.ok_or(Untold)?,
        "%" => {
            let (w, h) = of.view.ok_or(Untold)?;
            match along {
                Along::X => w / 100.0,
                Along::Y => h / 100.0,
                Along::Either => libm::sqrt((w * w + h * h) / 2.0) / 100.0,
            }
        }
        unit => absolute_mm(unit).ok_or(Untold)? / PIXEL_MM,
    };
    let units = number * scale;
    if units.is_finite() {
        Ok(units)
    } else {
        Err(Untold)
    }
}

/// A CSS pixel: 1/96 inch exactly.
pub(super) const PIXEL_MM: f64 = 25.4 / 96.0;

/// Millimetres of one absolute unit.
pub(super) fn absolute_mm(unit: &str) -> Option<f64> {
    Some(match unit {
        "mm" => 1.0,
        "cm" => 10.0,
        "q" => 0.25,
        "in" => 25.4,
        "pt" => 25.4 / 72.0,
        "pc" => 25.4 / 6.0,
        "px" => PIXEL_MM,
        _ => return None,
    })
}

/// Number and unit; the unit in small letters.
pub(super) fn split(text: &str) -> Result<(f64, &'static str), Untold> {
    let text = text.trim();
    let unit_at = text
        .char_indices()
        .rev()
        .take_while(|(_, c)| c.is_ascii_alphabetic() || *c == '%')
        .last()
        .map_or(text.len(), |(i, _)| i);
    let (number, unit) = text.split_at_checked(unit_at).ok_or(Untold)?;
    let number: f64 = number.trim_end().parse().map_err(|_| Untold)?;
    let known = ["", "mm", "cm", "q", "in", "pt", "pc", "px", "em", "ex", "%"];
    let unit = known
        .into_iter()
        .find(|k| k.eq_ignore_ascii_case(unit))
        .ok_or(Untold)?;
    if number.is_finite() {
        Ok((number, unit))
    } else {
        Err(Untold)
    }
}
