//! Reading what people type for a length.

use super::clean::{Kind, Token};
use super::entry::{entry, list, look_over, place, sign, stray};
use super::number::{Cursor, Fault};
use super::quantity::{Quantity, Reading, is_between, quantity};
use super::typed::{
    Ask, FieldOptions, NumberRule, Question, Refused, Rule, Tolerance, Typed, TypedLength,
    UnitRule, Why,
};
use super::{Length, Unit, is_date};
use core::ops::Range;

/// How much a value may differ from what was expected, as a part of it, and still be called near
/// it when digits can be read two ways. The two ways differ a thousandfold, so anything between a
/// few per cent and a factor of thirty does; a half leaves room for a piece cut to another length.
const NEAR: f64 = 0.5;

/// How far off, as a factor, a bare number must be before another unit is offered. A real piece
/// is never three times its drawing; a centimetre taken for a millimetre is ten times.
const FAR_FACTOR: f64 = 3.0;

/// How near another unit must bring a bare number to what was expected, as a part of it. A
/// casting is within a few per cent of its drawing, and cm and in differ by a factor of 2.5.
const UNIT_NEAR: f64 = 0.1;

/// Reads what was typed or pasted into a field for a length.
///
/// Never fails and never loses the text. The work grows no faster than the text, and stops after
/// a few thousand characters.
///
/// ```
/// use samespot_core::units::{parse_length, FieldOptions, Typed, Unit};
/// let Typed::Understood(l) = parse_length("6' 2 1/2\"", &FieldOptions::size(Unit::Mm)) else {
///     unreachable!()
/// };
/// assert_eq!(l.mm.to_um(), 1_892_300);
/// ```
#[must_use]
pub fn parse_length(raw: &str, opts: &FieldOptions) -> Typed<TypedLength> {
    match entry(raw, &|raw, tokens| line(raw, tokens, opts)) {
        // A fraction that went through a spreadsheet.
        Typed::Refused(refused) if refused.why != Why::TwoSlashes && is_date(raw) => {
            Typed::Refused(Refused {
                at: 0..refused.raw.chars().count(),
                why: Why::Date,
                ..refused
            })
        }
        typed => typed,
    }
}

fn line(raw: &str, tokens: &[Token], opts: &FieldOptions) -> Result<Typed<TypedLength>, Fault> {
    look_over(tokens, &[])?;
    let mut cur = Cursor {
        tokens,
        pos: 0,
        style: opts.decimals,
    };
    let first = read_one(&mut cur, opts)?;
    cur.skip_space();
    if cur.peek(0).is_none() {
        return finish(raw, tokens, first, opts);
    }
    // More than one measurement on a line: offered as a list if all of it reads as one.
    let mut places = vec![first.at];
    while let Some(stop) = cur.peek(0) {
        let stray_here = stray(&cur);
        let comma = cur.take(&Kind::Comma);
        let mut parted = comma | cur.skip_space() | cur.follows_space();
        if matches!(cur.kind(0), Some(Kind::Word(w)) if is_between(w)) {
            cur.pos += 1;
            cur.skip_space();
            parted = true;
        }
        if !matches!(
            cur.kind(0),
            Some(Kind::Digits(_) | Kind::Vulgar(..) | Kind::Raised(_))
        ) || !parted
        {
            return Err(if comma {
                Fault::new(&stop.at, Why::Unexpected { found: ',' })
            } else {
                stray_here
            });
        }
        places.push(read_one(&mut cur, opts)?.at);
        cur.skip_space();
    }
    Ok(list(raw, &places, &|raw, tokens| line(raw, tokens, opts)))
}

/// One measurement as it stands on the line.
struct One {
    quantity: Quantity,
    minus: Option<Range<usize>>,
    tolerance: Option<Tolerance>,
    at: Range<usize>,
}

fn read_one(cur: &mut Cursor<'_>, opts: &FieldOptions) -> Result<One, Fault> {
    let first = cur.pos;
    let minus = sign(cur)?;
    let start = *cur;
    let mut q = quantity(cur, opts.unit)?.ok_or_else(|| stray(cur))?;
    if let Some(at) = &minus
        && opts.sides.is_none()
    {
        return Err(Fault::new(at, Why::MinusMeansNothing));
    }
    let end = cur.pos;
    let mut tolerance = None;
    if let Some(t) = allowance(cur, tolerance_unit(&q, opts.unit))? {
        if !opts.takes_tolerance {
            let from = if cur.kind_at(end) == Some(&Kind::Space) {
                end + 1
            } else {
                end
            };
            return Err(Fault::new(&cur.since(from), Why::ToleranceNotHere));
        }
        tolerance = Some(t.tolerance);
        if let Some(unit) = t.own_unit.filter(|u| *u != opts.unit && q.is_bare()) {
            let mut again = start;
            if let Some(mut same) = quantity(&mut again, unit)?.filter(|_| again.pos == end) {
                same.readings.append(&mut q.readings);
                q = Quantity {
                    readings: same.readings,
                    question: Some(Question::UnitOfBoth),
                };
            }
        }
    }
    Ok(One {
        quantity: q,
        minus,
        tolerance,
        at: cur.since(first),
    })
}

impl<'a> Cursor<'a> {
    fn follows_space(&self) -> bool {
        self.pos.checked_sub(1).and_then(|i| self.kind_at(i)) == Some(&Kind::Space)
    }

    fn kind_at(&self, index: usize) -> Option<&'a Kind> {
        self.tokens.get(index).map(|t| &t.kind)
    }
}

/// A bare tolerance is in the unit of its size; after feet and inches, in inches.
fn tolerance_unit(q: &Quantity, field: Unit) -> Unit {
    match q.readings.first() {
        Some(Reading {
            rule:
                Rule {
                    unit: UnitRule::FeetAndInches,
                    ..
                },
            ..
        }) => Unit::In,
        Some(r) => r.unit,
        None => field,
    }
}

struct Allowance {
    tolerance: Tolerance,
    own_unit: Option<Unit>,
}

/// `±1`, `+1 -0`, `+1/-0`, `-0 +1`; nothing where none stands.
fn allowance(cur: &mut Cursor<'_>, unit: Unit) -> Result<Option<Allowance>, Fault> {
    let mut there = *cur;
    there.skip_space();
    let sign_at = there.pos;
    let Some(kind) = there.kind(0) else {
        return Ok(None);
    };
    if !matches!(kind, Kind::PlusMinus | Kind::Plus | Kind::Dash) {
        return Ok(None);
    }
    there.pos += 1;
    let Some(one) = amount(&mut there, unit)? else {
        if *kind != Kind::PlusMinus {
            return Ok(None);
        }
        return Err(Fault::new(&there.since(sign_at), Why::ToleranceCutShort));
    };
    let opposite = match kind {
        Kind::PlusMinus => {
            *cur = there;
            let tolerance = Tolerance {
                plus: one.0,
                minus: one.0,
            };
            return Ok(Some(Allowance {
                tolerance,
                own_unit: one.1,
            }));
        }
        Kind::Plus => Kind::Dash,
        _ => Kind::Plus,
    };
    there.skip_space();
    if there.take(&Kind::Slash) {
        there.skip_space();
    }
    if !there.take(&opposite) {
        return Ok(None);
    }
    let Some(other) = amount(&mut there, unit)? else {
        return Ok(None);
    };
    // `+1 -0 mm`: the unit at the end is for both.
    let (mut first, second) = (one.0, other.0);
    if let (None, Some(own)) = (one.1, other.1)
        && own != unit
    {
        first = one
            .2
            .and_then(|v| v.of(own))
            .and_then(|nm| nm.nm_to_length())
            .unwrap_or(first);
    }
    let (plus, minus) = if opposite == Kind::Dash {
        (first, second)
    } else {
        (second, first)
    };
    *cur = there;
    Ok(Some(Allowance {
        tolerance: Tolerance { plus, minus },
        own_unit: other.1.or(one.1),
    }))
}

type Amount = (Length, Option<Unit>, Option<super::ratio::Ratio>);

/// One amount of a tolerance, with its own unit if it has one. Of two ways to read its digits the
/// smaller is meant: nobody allows metres.
fn amount(cur: &mut Cursor<'_>, unit: Unit) -> Result<Option<Amount>, Fault> {
    cur.skip_space();
    let Some(q) = quantity(cur, unit)? else {
        return Ok(None);
    };
    let in_unit = q.readings.iter().filter(|r| !q.is_bare() || r.unit == unit);
    let least = in_unit
        .filter_map(|r| {
            r.nm.nm_to_length()
                .map(|l| (l, r.bare.is_none().then_some(r.unit), r.bare))
        })
        .min_by(|a, b| a.0.mm().total_cmp(&b.0.mm()));
    Ok(least)
}

/// Range, then what was expected: whether the likeliest reading may stand.
fn finish(
    raw: &str,
    tokens: &[Token],
    one: One,
    opts: &FieldOptions,
) -> Result<Typed<TypedLength>, Fault> {
    let at = one.at.clone();
    let make = |r: &Reading| {
        let nm = if one.minus.is_some() {
            r.nm.negated()
        } else {
            r.nm
        };
        let mm = nm.nm_to_length()?;
        Some(TypedLength {
            raw: raw.to_owned(),
            mm,
            unit: r.unit,
            rule: r.rule,
            tolerance: one.tolerance,
            asked: None,
        })
    };
    let fits = |t: &TypedLength| opts.least <= t.mm && t.mm <= opts.most;
    let all: Vec<TypedLength> = one.quantity.readings.iter().filter_map(make).collect();
    let Some(first) = all.first().cloned() else {
        return Err(Fault::new(&at, Why::NoNumber));
    };
    let first_fits = fits(&first);
    let mut fitting: Vec<TypedLength> = all.into_iter().filter(fits).collect();
    if fitting.is_empty() {
        if let Some(places) = run_of_entries(tokens, first.rule.number) {
            return Ok(list(raw, &places, &|raw, tokens| line(raw, tokens, opts)));
        }
        return Err(Fault::new(
            &at,
            Why::OutOfRange {
                mm: first.mm,
                least: opts.least,
                most: opts.most,
            },
        ));
    }
    let others = other_units(raw, &one, &first, opts);
    let expected = opts.expected.map(Length::abs);
    let near = |t: &TypedLength, e: Length| (t.mm.abs() - e).abs() <= e * NEAR;
    let question = match (one.quantity.question, expected) {
        (Some(q), _) => Some(q),
        (None, _) if !first_fits => Some(Question::ThousandsOrDecimals),
        (None, Some(e)) if !near(&first, e) && fitting.iter().skip(1).any(|t| near(t, e)) => {
            Some(Question::ThousandsOrDecimals)
        }
        (None, _) if !others.is_empty() => {
            fitting.truncate(1);
            fitting.extend(others.into_iter().filter(fits));
            (fitting.len() > 1).then_some(Question::OtherUnit)
        }
        (None, _) => None,
    };
    let Some(question) = question else {
        return Ok(Typed::Understood(first));
    };
    let mut readings: Vec<TypedLength> = Vec::new();
    for t in fitting {
        if !readings.iter().any(|r| r.mm == t.mm) {
            readings.push(TypedLength {
                asked: Some(question),
                ..t
            });
        }
    }
    if let Some(e) = expected {
        readings.sort_by(|a, b| {
            (a.mm.abs() - e)
                .abs()
                .mm()
                .total_cmp(&(b.mm.abs() - e).abs().mm())
        });
    }
    Ok(Typed::Ask(Ask { question, readings }))
}

/// The units in which a bare number that is far from what was expected would be near it.
fn other_units(raw: &str, one: &One, first: &TypedLength, opts: &FieldOptions) -> Vec<TypedLength> {
    let bare = one.quantity.readings.first().and_then(|r| r.bare);
    let (Some(e), Some(value)) = (opts.expected.map(Length::abs), bare) else {
        return Vec::new();
    };
    let far = first.mm.abs() * FAR_FACTOR < e || first.mm.abs() > e * FAR_FACTOR;
    if !far || e == Length::ZERO || first.mm == Length::ZERO {
        return Vec::new();
    }
    Unit::FOR_FIELDS
        .into_iter()
        .filter(|u| *u != first.unit)
        .filter_map(|unit| {
            let nm = value.of(unit)?;
            let mm = if one.minus.is_some() {
                nm.negated()
            } else {
                nm
            }
            .nm_to_length()?;
            let rule = Rule {
                unit: UnitRule::ChosenUnit,
                ..first.rule
            };
            let near = (mm.abs() - e).abs() <= e * UNIT_NEAR;
            near.then(|| TypedLength {
                raw: raw.to_owned(),
                mm,
                unit,
                rule,
                tolerance: one.tolerance,
                asked: None,
            })
        })
        .collect()
}

/// `184 186`, `184,186,188`: what looked like thousands, but is too long for anything, may be
/// entries one after another.
fn run_of_entries(tokens: &[Token], rule: NumberRule) -> Option<Vec<Range<usize>>> {
    let between = match rule {
        NumberRule::ThousandsBySpace => Kind::Space,
        NumberRule::ThousandsByComma => Kind::Comma,
        _ => return None,
    };
    let entries: Vec<&[Token]> = tokens.split(|t| t.kind == between).collect();
    // `1 000 000` is one number, however much too large.
    let alike = entries.iter().all(|e| {
        matches!(e, [Token { kind: Kind::Digits(d), .. }] if d.len() == 3 && !d.starts_with('0'))
    });
    alike.then(|| entries.iter().filter_map(|e| place(e)).collect())
}
