//! Numbers: digits, groups, decimal marks, fractions.

use super::clean::{Kind, Token};
use super::ratio::Ratio;
use super::typed::{DecimalStyle, NumberRule, Question, Why};
use core::ops::Range;

/// The most digits of a number that count: 100 m to a tenth of a micrometre has nine.
pub(super) const MOST_DIGITS: usize = 12;

/// The most digits above or below a fraction's stroke.
const MOST_FRACTION_DIGITS: usize = 4;

/// What is wrong where.
#[derive(Debug)]
pub(super) struct Fault {
    pub(super) at: Range<usize>,
    pub(super) why: Why,
}

impl Fault {
    pub(super) fn new(at: &Range<usize>, why: Why) -> Self {
        Self {
            at: at.clone(),
            why,
        }
    }
}

/// A place in the tokens.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cursor<'a> {
    pub(super) tokens: &'a [Token],
    pub(super) pos: usize,
    pub(super) style: DecimalStyle,
}

impl<'a> Cursor<'a> {
    pub(super) fn peek(&self, ahead: usize) -> Option<&'a Token> {
        self.tokens.get(self.pos.checked_add(ahead)?)
    }

    pub(super) fn kind(&self, ahead: usize) -> Option<&'a Kind> {
        self.peek(ahead).map(|t| &t.kind)
    }

    pub(super) fn digits(&self, ahead: usize) -> Option<&'a str> {
        match self.kind(ahead) {
            Some(Kind::Digits(d)) => Some(d),
            _ => None,
        }
    }

    pub(super) fn skip_space(&mut self) -> bool {
        let there = self.kind(0) == Some(&Kind::Space);
        self.pos += usize::from(there);
        there
    }

    pub(super) fn take(&mut self, kind: &Kind) -> bool {
        let there = self.kind(0) == Some(kind);
        self.pos += usize::from(there);
        there
    }

    /// The typed characters from token `first` up to here.
    pub(super) fn since(&self, first: usize) -> Range<usize> {
        let start = self.tokens.get(first).map_or(0, |t| t.at.start);
        let end = self
            .pos
            .checked_sub(1)
            .and_then(|i| self.tokens.get(i))
            .map_or(start, |t| t.at.end);
        start..end.max(start)
    }

    /// Whether a fraction begins `ahead`: a sign, or digits either side of a stroke.
    fn fraction_at(&self, ahead: usize) -> bool {
        match self.kind(ahead) {
            Some(Kind::Vulgar(..)) => true,
            Some(Kind::Digits(_) | Kind::Raised(_)) => {
                self.kind(ahead + 1) == Some(&Kind::Slash)
                    && matches!(
                        self.kind(ahead + 2),
                        Some(Kind::Digits(_) | Kind::Lowered(_) | Kind::Raised(_))
                    )
            }
            _ => false,
        }
    }
}

/// A number with what else its digits could say.
#[derive(Debug, Clone)]
pub(super) struct Number {
    /// Likeliest first; one unless `question` or `style_decided`.
    pub(super) readings: Vec<(Ratio, NumberRule)>,
    /// Why it must be asked, if it must.
    pub(super) question: Option<Question>,
    pub(super) has_fraction: bool,
}

impl Number {
    fn certain(value: Ratio, rule: NumberRule) -> Self {
        Self {
            readings: vec![(value, rule)],
            question: None,
            has_fraction: rule == NumberRule::Fraction,
        }
    }

    /// The readings that are whole numbers.
    pub(super) fn whole(&self) -> Option<(Ratio, NumberRule)> {
        self.readings
            .iter()
            .find(|(v, _)| v.is_whole() && !self.has_fraction)
            .copied()
    }
}

/// A number, with a fraction or without; nothing where none begins.
pub(super) fn number(cur: &mut Cursor<'_>) -> Result<Option<Number>, Fault> {
    if cur.fraction_at(0) {
        return lone_fraction(cur).map(Some);
    }
    let first = cur.pos;
    let Some(plain) = decimal(cur)? else {
        return Ok(None);
    };
    let joined = match cur.kind(0) {
        Some(Kind::Vulgar(..) | Kind::Raised(_)) if cur.fraction_at(0) => 0,
        Some(Kind::Space | Kind::Dash) if cur.fraction_at(1) => 1,
        _ => return Ok(Some(plain)),
    };
    let whole_at = cur.since(first);
    cur.pos += joined;
    let fraction_from = cur.pos;
    let fraction = fraction(cur)?;
    let Some((whole, _)) = plain.whole() else {
        return Err(Fault::new(&whole_at, Why::FractionAfterDecimals));
    };
    if !fraction.below(1) {
        return Err(Fault::new(&cur.since(fraction_from), Why::FractionOverOne));
    }
    let sum = whole.plus(fraction).ok_or_else(|| too_many(&whole_at))?;
    Ok(Some(Number::certain(sum, NumberRule::Fraction)))
}

/// A fraction without a whole number before it. `13/4` may be a whole number run into one.
fn lone_fraction(cur: &mut Cursor<'_>) -> Result<Number, Fault> {
    let first = cur.pos;
    let above = cur.digits(0);
    let value = fraction(cur)?;
    let mut out = Number::certain(value, NumberRule::Fraction);
    let Some(above) = above.filter(|a| a.len() > 1 && !value.below(1)) else {
        return Ok(out);
    };
    let below = match cur
        .pos
        .checked_sub(1)
        .and_then(|i| cur.tokens.get(i))
        .map(|t| &t.kind)
    {
        Some(Kind::Digits(d) | Kind::Lowered(d) | Kind::Raised(d)) => int(d),
        _ => None,
    };
    // The longest proper fraction that its end makes, the rest before it: 113/16 is 1 13/16.
    let split = (1..above.len()).find_map(|i| {
        let (whole, tail) = (above.get(..i)?, above.get(i..)?);
        let part =
            Ratio::new(int(tail)?, below?).filter(|p| p.below(1) && !tail.starts_with('0'))?;
        Ratio::new(int(whole)?, 1)?.plus(part)
    });
    match split {
        Some(split) => {
            out.readings.insert(0, (split, NumberRule::Fraction));
            out.question = Some(Question::RunTogether);
            Ok(out)
        }
        None => Err(Fault::new(&cur.since(first), Why::Sum { sign: '/' })),
    }
}

fn fraction(cur: &mut Cursor<'_>) -> Result<Ratio, Fault> {
    let first = cur.pos;
    let (above, below) = match (cur.kind(0), cur.kind(2)) {
        (Some(Kind::Vulgar(n, d)), _) => {
            cur.pos += 1;
            (i128::from(*n), i128::from(*d))
        }
        (
            Some(Kind::Digits(n) | Kind::Raised(n)),
            Some(Kind::Digits(d) | Kind::Lowered(d) | Kind::Raised(d)),
        ) => {
            cur.pos += 3;
            let at = cur.since(first);
            let short = |s: &str| {
                int(s)
                    .filter(|_| s.len() <= MOST_FRACTION_DIGITS)
                    .ok_or_else(|| too_many(&at))
            };
            (short(n)?, short(d)?)
        }
        _ => return Err(Fault::new(&cur.since(first), Why::NoNumber)),
    };
    if cur.kind(0) == Some(&Kind::Slash) && cur.digits(1).is_some() {
        cur.pos += 2;
        return Err(Fault::new(&cur.since(first), Why::TwoSlashes));
    }
    Ratio::new(above, below).ok_or_else(|| Fault::new(&cur.since(first), Why::OverZero))
}

/// Digits with their marks and groups, and what the marks may mean.
struct Written<'a> {
    groups: Vec<&'a str>,
    /// Between the groups; with places.
    marks: Vec<(&'a Kind, Range<usize>)>,
    at: Range<usize>,
}

fn decimal(cur: &mut Cursor<'_>) -> Result<Option<Number>, Fault> {
    let first = cur.pos;
    let mut w = Written {
        groups: Vec::new(),
        marks: Vec::new(),
        at: 0..0,
    };
    match (cur.kind(0), cur.digits(1)) {
        (Some(Kind::Digits(d)), _) => {
            w.groups.push(d);
            cur.pos += 1;
        }
        (Some(Kind::Point | Kind::Comma), Some(_)) => w.groups.push(""),
        _ => return Ok(None),
    }
    while let Some(t) = cur.peek(0) {
        match (&t.kind, cur.digits(1)) {
            (Kind::Point | Kind::Comma, Some(d)) => {
                w.marks.push((&t.kind, t.at.clone()));
                w.groups.push(d);
                cur.pos += 2;
            }
            (Kind::Space, Some(d))
                if w.takes_space_group() && d.len() == 3 && !cur.fraction_at(1) =>
            {
                w.marks.push((&t.kind, t.at.clone()));
                w.groups.push(d);
                cur.pos += 2;
            }
            (Kind::Point | Kind::Comma, None) => {
                if matches!(cur.kind(1), Some(Kind::Point | Kind::Comma)) {
                    let at = cur.peek(1).map_or(0..0, |t| t.at.clone());
                    return Err(Fault::new(&at, Why::MoreThanOneMark));
                }
                // A comma before a space parts two entries; a mark at the end is a decimal mark.
                if t.kind == Kind::Comma
                    && cur.kind(1) == Some(&Kind::Space)
                    && cur.peek(2).is_some()
                {
                    break;
                }
                w.marks.push((&t.kind, t.at.clone()));
                w.groups.push("");
                cur.pos += 1;
                break;
            }
            _ => break,
        }
    }
    w.at = cur.since(first);
    w.read(cur.style).map(Some)
}

impl Written<'_> {
    /// A space parts thousands only after one to three digits that do not begin with a nought,
    /// and only as long as nothing but spaces does.
    fn takes_space_group(&self) -> bool {
        self.marks.iter().all(|(k, _)| **k == Kind::Space) && self.leads_thousands()
    }

    fn leads_thousands(&self) -> bool {
        self.groups
            .first()
            .is_some_and(|g| (1..=3).contains(&g.len()) && !g.starts_with('0'))
    }

    /// Whether the first `n` marks part thousands.
    fn parts_thousands(&self, n: usize) -> bool {
        self.leads_thousands() && self.groups.iter().skip(1).take(n).all(|g| g.len() == 3)
    }

    fn read(&self, style: DecimalStyle) -> Result<Number, Fault> {
        let n = self.marks.len();
        let Some((last, _)) = self.marks.last() else {
            return Ok(Number::certain(self.value(0)?, NumberRule::Whole));
        };
        let before = self.marks.get(..n - 1).unwrap_or_default();
        // The mark after which things stop making sense: the first that differs, else the second.
        let wrong = || {
            let first = before.first().map(|(k, _)| *k);
            let at = self
                .marks
                .iter()
                .skip(1)
                .find(|(k, _)| Some(*k) != first)
                .or_else(|| self.marks.get(1));
            Fault::new(at.map_or(&self.at, |(_, at)| at), Why::MoreThanOneMark)
        };
        let Some((grouping, _)) = before.first() else {
            return if **last == Kind::Space {
                Ok(Number::certain(
                    self.value(0)?,
                    NumberRule::ThousandsBySpace,
                ))
            } else {
                self.one_mark(last, style)
            };
        };
        if !before.iter().all(|(k, _)| k == grouping) || !self.parts_thousands(n - 1) {
            return Err(wrong());
        }
        if grouping != last {
            return Ok(Number::certain(self.value(1)?, thousands(grouping)));
        }
        if self.parts_thousands(n) {
            Ok(Number::certain(self.value(0)?, thousands(grouping)))
        } else {
            Err(wrong())
        }
    }

    /// `1.250`, `1,250`: decimals by this workshop's style, or thousands.
    fn one_mark(&self, mark: &Kind, style: DecimalStyle) -> Result<Number, Fault> {
        let (rule, own) = match mark {
            Kind::Comma => (NumberRule::DecimalComma, DecimalStyle::Comma),
            _ => (NumberRule::DecimalPoint, DecimalStyle::Point),
        };
        let mut out = Number::certain(self.value(1)?, rule);
        if self.parts_thousands(1) {
            let as_thousands = (self.value(0)?, thousands(mark));
            if style == own {
                out.readings.push(as_thousands);
            } else {
                out.readings.insert(0, as_thousands);
                out.question = Some(Question::ThousandsOrDecimals);
            }
        }
        Ok(out)
    }

    /// The groups as one number, the last `decimals` groups of it behind the mark.
    fn value(&self, decimals: usize) -> Result<Ratio, Fault> {
        let split = self.groups.len().saturating_sub(decimals);
        let whole: String = self.groups.iter().take(split).copied().collect();
        let part: String = self.groups.iter().skip(split).copied().collect();
        let whole = whole.trim_start_matches('0');
        let part = part.trim_end_matches('0');
        if whole.len().saturating_add(part.len()) > MOST_DIGITS {
            return Err(too_many(&self.at));
        }
        let places = u32::try_from(part.len()).unwrap_or(u32::MAX);
        int(&format!("0{whole}{part}"))
            .and_then(|d| Ratio::decimal(d, places))
            .ok_or_else(|| too_many(&self.at))
    }
}

fn thousands(mark: &Kind) -> NumberRule {
    match mark {
        Kind::Point => NumberRule::ThousandsByPoint,
        Kind::Comma => NumberRule::ThousandsByComma,
        _ => NumberRule::ThousandsBySpace,
    }
}

/// Thousands parted by apostrophes, `1'250` or `1'250,5`, where the text allows that reading;
/// the cursor moves past it. Says how many apostrophes there were.
pub(super) fn apostrophe_thousands(cur: &mut Cursor<'_>) -> Result<Option<(Ratio, usize)>, Fault> {
    let Some(lead) = cur
        .digits(0)
        .filter(|d| d.len() <= 3 && !d.starts_with('0'))
    else {
        return Ok(None);
    };
    let mut there = *cur;
    there.pos += 1;
    let mut groups = vec![lead];
    while let (Some(Kind::Single), Some(d)) =
        (there.kind(0), there.digits(1).filter(|d| d.len() == 3))
    {
        groups.push(d);
        there.pos += 2;
    }
    let apostrophes = groups.len() - 1;
    let mut decimals = 0;
    if let (Some(Kind::Point | Kind::Comma), Some(d)) = (there.kind(0), there.digits(1)) {
        groups.push(d);
        there.pos += 2;
        decimals = 1;
    }
    let more =
        there.fraction_at(0) || (there.kind(0) == Some(&Kind::Space) && there.fraction_at(1));
    if apostrophes == 0
        || more
        || matches!(
            there.kind(0),
            Some(Kind::Slash | Kind::Dash | Kind::Point | Kind::Comma)
        )
    {
        return Ok(None);
    }
    let w = Written {
        groups,
        marks: Vec::new(),
        at: there.since(cur.pos),
    };
    let value = w.value(decimals)?;
    *cur = there;
    Ok(Some((value, apostrophes)))
}

fn int(digits: &str) -> Option<i128> {
    digits.parse().ok()
}

fn too_many(at: &Range<usize>) -> Fault {
    Fault::new(at, Why::TooManyDigits { most: MOST_DIGITS })
}
