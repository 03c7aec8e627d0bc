//! A number with its unit, or without one.

use super::clean::Kind;
use super::number::{Cursor, Fault, MOST_DIGITS, Number, number};
use super::parts::{feet, feet_without_marks, metric_parts, with_apostrophes};
use super::ratio::Ratio;
use super::typed::{NumberRule, Question, Rule, UnitRule, Why};
use super::unit::Unit;

/// One way to read a quantity; unsigned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reading {
    pub(super) nm: Ratio,
    pub(super) unit: Unit,
    pub(super) rule: Rule,
    /// The bare number, if no unit was typed: other units may be tried on it.
    pub(super) bare: Option<Ratio>,
}

/// A quantity with all its readings, likeliest first.
#[derive(Debug, Clone)]
pub(super) struct Quantity {
    pub(super) readings: Vec<Reading>,
    /// Why it must be asked. Without one the first reading is meant, and any others count only
    /// if the field expected them.
    pub(super) question: Option<Question>,
}

impl Quantity {
    pub(super) fn is_bare(&self) -> bool {
        self.readings.iter().all(|r| r.bare.is_some())
    }
}

/// What stands after a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Mark {
    One(Unit),
    CapitalM,
    Mil,
}

/// A quantity in which a bare number is in `assume`; nothing where none begins.
pub(super) fn quantity(cur: &mut Cursor<'_>, assume: Unit) -> Result<Option<Quantity>, Fault> {
    let first = cur.pos;
    if let Some(q) = with_apostrophes(cur, assume)? {
        return Ok(Some(q));
    }
    let Some(n) = number(cur)? else {
        return Ok(None);
    };
    let q = match mark(cur)? {
        Some(Mark::One(Unit::Ft)) => feet(cur, first, &n)?,
        Some(Mark::One(unit @ (Unit::M | Unit::Dm | Unit::Cm))) => metric_parts(cur, &n, unit)?,
        Some(Mark::One(unit)) => one_unit(&n, unit),
        Some(Mark::CapitalM) => several(&n, &[Unit::M, Unit::Mm], Question::CapitalM),
        Some(Mark::Mil) => several(&n, &[Unit::Mm, Unit::Thou], Question::Mil),
        None => bare(cur, &n, assume)?,
    };
    let q =
        q.ok_or_else(|| Fault::new(&cur.since(first), Why::TooManyDigits { most: MOST_DIGITS }))?;
    no_second_unit(cur, &q)?;
    Ok(Some(q))
}

pub(super) fn reading(
    value: Ratio,
    number: NumberRule,
    unit: Unit,
    rule: UnitRule,
) -> Option<Reading> {
    let bare = matches!(rule, UnitRule::FieldUnit | UnitRule::ChosenUnit).then_some(value);
    Some(Reading {
        nm: value.of(unit)?,
        unit,
        rule: Rule { unit: rule, number },
        bare,
    })
}

pub(super) fn one_unit(n: &Number, unit: Unit) -> Option<Quantity> {
    let readings: Option<Vec<_>> = n
        .readings
        .iter()
        .map(|&(v, rule)| reading(v, rule, unit, UnitRule::OwnUnit))
        .collect();
    Some(Quantity {
        readings: readings?,
        question: n.question,
    })
}

/// The unit itself is in doubt; digits that are in doubt too give every pair.
pub(super) fn several(n: &Number, units: &[Unit], question: Question) -> Option<Quantity> {
    let mut readings = Vec::new();
    let take = if n.question.is_some() {
        n.readings.len()
    } else {
        1
    };
    for &unit in units {
        for &(v, rule) in n.readings.iter().take(take) {
            readings.push(reading(v, rule, unit, UnitRule::OwnUnit)?);
        }
    }
    Some(Quantity {
        readings,
        question: Some(question),
    })
}

/// The unit mark or word after a number, if one follows.
pub(super) fn mark(cur: &mut Cursor<'_>) -> Result<Option<Mark>, Fault> {
    let gap = usize::from(cur.kind(0) == Some(&Kind::Space));
    let found = match cur.kind(gap) {
        Some(Kind::Double) => Mark::One(Unit::In),
        Some(Kind::Single) => Mark::One(Unit::Ft),
        Some(Kind::Word(w)) => match known(w) {
            Some(m) => m,
            None => return unknown_word(cur, gap, w),
        },
        _ => return Ok(None),
    };
    let word = matches!(cur.kind(gap), Some(Kind::Word(_)));
    cur.pos += gap + 1;
    if word && cur.kind(0) == Some(&Kind::Point) && cur.digits(1).is_none() {
        cur.pos += 1;
    }
    Ok(Some(found))
}

fn known(word: &str) -> Option<Mark> {
    match word {
        "M" => Some(Mark::CapitalM),
        _ if word.eq_ignore_ascii_case("mil") || word.eq_ignore_ascii_case("mils") => {
            Some(Mark::Mil)
        }
        _ => Unit::named(word).map(Mark::One),
    }
}

/// Whether a word parts two entries.
pub(super) fn is_between(word: &str) -> bool {
    ["and", "then"].iter().any(|b| b.eq_ignore_ascii_case(word))
}

fn unknown_word(cur: &Cursor<'_>, gap: usize, w: &str) -> Result<Option<Mark>, Fault> {
    let at = cur.peek(gap).map_or(0..0, |t| t.at.clone());
    let next = cur.kind(gap + 1);
    if is_between(w) {
        return Ok(None);
    }
    let before = cur.pos.checked_sub(1).and_then(|i| cur.tokens.get(i));
    let zero = before.is_some_and(|t| t.kind == Kind::Digits("0".to_owned()));
    let program = gap == 0
        && (w.eq_ignore_ascii_case("e")
            && matches!(next, Some(Kind::Digits(_) | Kind::Dash | Kind::Plus))
            || zero
                && ["x", "b"]
                    .iter()
                    .any(|p| w.get(..1).is_some_and(|f| f.eq_ignore_ascii_case(p))));
    if program {
        let number = cur.tokens.get(..cur.pos).unwrap_or_default().iter().rev();
        let start = number
            .take_while(|t| matches!(t.kind, Kind::Digits(_) | Kind::Point | Kind::Comma))
            .last()
            .map_or(at.start, |t| t.at.start);
        let end = cur.peek(gap + 1).map_or(at.end, |t| t.at.end);
        return Err(Fault::new(&(start..end), Why::ProgramNumber));
    }
    if w.eq_ignore_ascii_case("x") && gap + cur.pos + 1 < cur.tokens.len() {
        return Err(Fault::new(&at, Why::Sum { sign: '×' }));
    }
    if let (0, Some((found, digit))) = (gap, like_a_digit(w)) {
        return Err(Fault::new(
            &(at.start..at.start + 1),
            Why::LooksLikeDigit { found, digit },
        ));
    }
    Err(Fault::new(&at, Why::UnknownUnit { text: w.to_owned() }))
}

/// The first letter of a word that holds nothing but letters that pass for digits.
pub(super) fn like_a_digit(w: &str) -> Option<(char, char)> {
    let digit = |c| {
        Some(match c {
            'O' | 'o' | 'Q' => '0',
            'l' | 'I' | 'i' => '1',
            'Z' | 'z' => '2',
            'S' | 's' => '5',
            'B' => '8',
            _ => return None,
        })
    };
    let first = w.chars().next()?;
    w.chars().all(|c| digit(c).is_some()).then_some(())?;
    Some((first, digit(first)?))
}

/// A number without a unit.
fn bare(cur: &mut Cursor<'_>, n: &Number, assume: Unit) -> Result<Option<Quantity>, Fault> {
    if let Some(q) = feet_without_marks(cur, n, assume)? {
        return Ok(Some(q));
    }
    let units: &[Unit] = match assume {
        Unit::In => &[Unit::In],
        _ if n.has_fraction => &[Unit::In, assume],
        _ => core::slice::from_ref(&assume),
    };
    let mut readings = Vec::new();
    for &unit in units {
        let rule = if unit == assume {
            UnitRule::FieldUnit
        } else {
            UnitRule::ChosenUnit
        };
        for &(v, number) in &n.readings {
            let Some(r) = reading(v, number, unit, rule) else {
                return Ok(None);
            };
            readings.push(r);
        }
    }
    let question = if n.has_fraction && assume != Unit::In {
        Some(Question::Inches)
    } else {
        n.question
    };
    Ok(Some(Quantity { readings, question }))
}

/// A second unit right behind the first: `184"mm`.
pub(super) fn no_second_unit(cur: &Cursor<'_>, q: &Quantity) -> Result<(), Fault> {
    let Some(first) = q.readings.first().filter(|r| r.bare.is_none()) else {
        return Ok(());
    };
    let gap = usize::from(cur.kind(0) == Some(&Kind::Space));
    let second = match cur.kind(gap) {
        Some(Kind::Single | Kind::Double) => true,
        Some(Kind::Word(w)) => known(w).is_some(),
        _ => false,
    };
    if second {
        let at = cur.peek(gap).map_or(0..0, |t| t.at.clone());
        return Err(Fault::new(
            &at,
            Why::TwoUnits {
                first: first.unit,
                second: text_of(cur, cur.pos + gap),
            },
        ));
    }
    Ok(())
}

/// What a token says, for naming it.
pub(super) fn text_of(cur: &Cursor<'_>, index: usize) -> String {
    match cur.tokens.get(index).map(|t| &t.kind) {
        Some(Kind::Word(w) | Kind::Digits(w)) => w.clone(),
        Some(Kind::Vulgar(n, d)) => format!("{n}/{d}"),
        Some(Kind::Single) => "'".to_owned(),
        Some(Kind::Double) => "\"".to_owned(),
        Some(Kind::Other(c)) => c.to_string(),
        _ => String::new(),
    }
}
