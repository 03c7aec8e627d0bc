//! Lengths in two units, and apostrophes and dashes that may stand between them.

use super::clean::Kind;
use super::number::{Cursor, Fault, MOST_DIGITS, Number, apostrophe_thousands, number};
use super::quantity::{
    Mark, Quantity, Reading, mark, no_second_unit, one_unit, reading, several, text_of,
};
use super::ratio::Ratio;
use super::typed::{NumberRule, Question, Rule, UnitRule, Why};
use super::unit::Unit;

/// Inches may follow feet: `6'2"`, `6 ft 2`, `6'-2 1/2"`.
pub(super) fn feet(
    cur: &mut Cursor<'_>,
    first: usize,
    feet: &Number,
) -> Result<Option<Quantity>, Fault> {
    let feet_at = cur.since(first);
    let mut there = *cur;
    let mut apart = there.skip_space();
    let dash = there.take(&Kind::Dash);
    apart |= there.skip_space();
    let tail_from = there.pos;
    let Some(n) = number(&mut there)? else {
        return Ok(one_unit(feet, Unit::Ft));
    };
    let tail_at = there.since(tail_from);
    match mark(&mut there)? {
        None | Some(Mark::One(Unit::In)) => {}
        // Another entry of a list.
        Some(_) if apart && !dash => return Ok(one_unit(feet, Unit::Ft)),
        Some(_) if dash => return Err(Fault::new(&tail_at, Why::Sum { sign: '-' })),
        Some(_) => {
            let second = text_of(&there, there.pos.saturating_sub(1));
            return Err(Fault::new(
                &there.since(there.pos.saturating_sub(1)),
                Why::TwoUnits {
                    first: Unit::Ft,
                    second,
                },
            ));
        }
    }
    let Some((whole_feet, _)) = feet.whole() else {
        return Err(Fault::new(&feet_at, Why::InchesAfterPartFeet));
    };
    *cur = there;
    // After feet, inches run to twelve: that settles 1,250.
    let fit: Vec<_> = n
        .readings
        .iter()
        .filter(|(v, _)| v.below(12))
        .copied()
        .collect();
    let (inches, over) = if fit.is_empty() {
        (&n.readings, true)
    } else {
        (&fit, false)
    };
    let mut readings = Vec::new();
    for &(v, number) in inches.iter() {
        let Some(nm) = whole_feet
            .of(Unit::Ft)
            .zip(v.of(Unit::In))
            .and_then(|(f, i)| f.plus(i))
        else {
            return Ok(None);
        };
        let rule = Rule {
            unit: UnitRule::FeetAndInches,
            number,
        };
        readings.push(Reading {
            nm,
            unit: Unit::Ft,
            rule,
            bare: None,
        });
    }
    let question = if over {
        Some(Question::InchesOverTwelve)
    } else {
        n.question.filter(|_| readings.len() > 1)
    };
    Ok(Some(Quantity { readings, question }))
}

/// A smaller metric unit may follow a larger one: `1 m 25 cm`, `1m25`.
pub(super) fn metric_parts(
    cur: &mut Cursor<'_>,
    large: &Number,
    unit: Unit,
) -> Result<Option<Quantity>, Fault> {
    let alone = one_unit(large, unit);
    let mut there = *cur;
    there.skip_space();
    let from = there.pos;
    let Some(whole) = large.whole().map(|(v, _)| v).and_then(|v| v.of(unit)) else {
        return Ok(alone);
    };
    let Some(n) = number(&mut there)? else {
        return Ok(alone);
    };
    let digits = there.tokens.get(from).map(|t| &t.kind);
    let tail_end = there.pos;
    let smaller = match mark(&mut there)? {
        None => None,
        Some(Mark::One(u)) if !u.is_inch_family() && u < unit && u != Unit::Um => Some(u),
        Some(_) => return Ok(alone),
    };
    let rule = |number| Rule {
        unit: UnitRule::MetricParts,
        number,
    };
    let sum = |value: Ratio, u: Unit| {
        value
            .of(u)
            .filter(|nm| nm.below(unit.nm()))
            .and_then(|nm| nm.plus(whole))
    };
    let mut readings: Vec<Reading> = Vec::new();
    let mut push = |nm: Option<Ratio>, number| {
        if let Some(nm) = nm.filter(|nm| !readings.iter().any(|r| r.nm == *nm)) {
            readings.push(Reading {
                nm,
                unit,
                rule: rule(number),
                bare: None,
            });
        }
    };
    if let Some(u) = smaller {
        for &(v, number) in &n.readings {
            push(sum(v, u), number);
        }
        let question = n.question.filter(|_| readings.len() > 1);
        if readings.is_empty() {
            return Ok(alone);
        }
        readings.truncate(if question.is_none() {
            1
        } else {
            readings.len()
        });
        *cur = there;
        return Ok(Some(Quantity { readings, question }));
    }
    // `1m25`: digits only and nothing that makes them an entry of their own.
    let (Some(Kind::Digits(d)), 1) = (digits, tail_end - from) else {
        return Ok(alone);
    };
    let Some((v, number)) = n.whole() else {
        return Ok(alone);
    };
    let places = u32::try_from(d.len()).unwrap_or(u32::MAX);
    if unit == Unit::M {
        push(sum(v, Unit::Cm), number);
    }
    push(
        d.parse()
            .ok()
            .and_then(|d| Ratio::decimal(d, places))
            .and_then(|v| sum(v, unit)),
        number,
    );
    push(sum(v, Unit::Mm), number);
    *cur = there;
    let question = (readings.len() > 1).then_some(Question::PartsOfAMetre);
    if readings.is_empty() {
        return Ok(alone);
    }
    Ok(Some(Quantity { readings, question }))
}

/// `6-2` and `6 2` where feet are the field's unit, `6-2"` anywhere: feet and inches, asked.
pub(super) fn feet_without_marks(
    cur: &mut Cursor<'_>,
    n: &Number,
    assume: Unit,
) -> Result<Option<Quantity>, Fault> {
    let mut there = *cur;
    let dash = there.take(&Kind::Dash);
    let apart = dash || (assume == Unit::Ft && there.skip_space());
    if !apart {
        return Ok(None);
    }
    let Some((whole, _)) = n.whole() else {
        return Ok(None);
    };
    let from = there.pos;
    let Some(inches) = number(&mut there)? else {
        return Ok(None);
    };
    let end = there.pos;
    let unit = mark(&mut there)?;
    let fits = match unit {
        None => assume == Unit::Ft,
        Some(Mark::One(Unit::In)) => dash,
        Some(_) => false,
    };
    let Some(&(v, number)) = inches
        .readings
        .iter()
        .find(|(v, _)| v.below(12))
        .filter(|_| fits)
    else {
        return Ok(None);
    };
    // `6 2 4`: a list, not feet.
    if !dash && there.kind(0).is_some() {
        return Ok(None);
    }
    let Some(nm) = whole
        .of(Unit::Ft)
        .zip(v.of(Unit::In))
        .and_then(|(f, i)| f.plus(i))
    else {
        return Ok(None);
    };
    let rule = Rule {
        unit: UnitRule::FeetAndInches,
        number,
    };
    let mut readings = vec![Reading {
        nm,
        unit: Unit::Ft,
        rule,
        bare: None,
    }];
    // The dash and the point lie side by side.
    if let (Some(Kind::Digits(d)), true) = (
        there.tokens.get(from).map(|t| &t.kind),
        end - from == 1 && unit.is_none(),
    ) {
        let places = u32::try_from(d.len()).unwrap_or(u32::MAX);
        let part = d.parse().ok().and_then(|d| Ratio::decimal(d, places));
        if let Some(r) = part
            .and_then(|p| whole.plus(p))
            .and_then(|v| reading(v, NumberRule::DecimalPoint, Unit::Ft, UnitRule::FieldUnit))
        {
            readings.push(r);
        }
    }
    *cur = there;
    Ok(Some(Quantity {
        readings,
        question: Some(Question::FeetAndInches),
    }))
}

/// `1'250`: thousands, or feet and inches.
pub(super) fn with_apostrophes(
    cur: &mut Cursor<'_>,
    assume: Unit,
) -> Result<Option<Quantity>, Fault> {
    let mut there = *cur;
    let Some((value, apostrophes)) = apostrophe_thousands(&mut there)? else {
        return Ok(None);
    };
    let rule = NumberRule::ThousandsByApostrophe;
    let n = Number {
        readings: vec![(value, rule)],
        question: None,
        has_fraction: false,
    };
    let q = match mark(&mut there)? {
        Some(Mark::One(Unit::In)) if apostrophes == 1 => {
            let asked = number(&mut skip_feet(*cur))?.and_then(|i| i.readings.first().copied());
            if asked.is_none_or(|(v, _)| v.below(12)) {
                return Ok(None);
            }
            both(cur, one_unit(&n, Unit::In))?
        }
        Some(Mark::One(unit)) => one_unit(&n, unit),
        Some(Mark::CapitalM) => several(&n, &[Unit::M, Unit::Mm], Question::CapitalM),
        Some(Mark::Mil) => several(&n, &[Unit::Mm, Unit::Thou], Question::Mil),
        None => {
            let thousands = reading(value, rule, assume, UnitRule::FieldUnit).map(|r| Quantity {
                readings: vec![r],
                question: None,
            });
            if apostrophes == 1 {
                both(cur, thousands)?
            } else {
                thousands
            }
        }
    };
    let Some(q) = q else {
        return Err(Fault::new(
            &there.since(cur.pos),
            Why::TooManyDigits { most: MOST_DIGITS },
        ));
    };
    no_second_unit(&there, &q)?;
    *cur = there;
    Ok(Some(q))
}

/// Past the feet and their mark.
fn skip_feet(mut cur: Cursor<'_>) -> Cursor<'_> {
    cur.pos += 2;
    cur
}

/// The thousands first, then feet and inches.
fn both(cur: &Cursor<'_>, thousands: Option<Quantity>) -> Result<Option<Quantity>, Fault> {
    let mut there = *cur;
    let first = there.pos;
    let Some(lead) = number(&mut there)? else {
        return Ok(thousands);
    };
    there.pos += 1;
    let feet = feet(&mut there, first, &lead)?;
    Ok(thousands.map(|t| {
        let readings = t
            .readings
            .into_iter()
            .chain(feet.into_iter().flat_map(|f| f.readings))
            .collect();
        Quantity {
            readings,
            question: Some(Question::ThousandsOrFeet),
        }
    }))
}
