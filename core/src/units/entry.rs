//! What every kind of entry has in common: emptiness, lists, and text that is no number.

use super::clean::{Kind, Overlong, Token, tokens};
use super::number::{Cursor, Fault};
use super::quantity::{like_a_digit, text_of};
use super::typed::{Item, Refused, Typed, Why};
use super::unit::Unit;
use core::ops::Range;

/// The most characters of one measurement; the longest sensible one, feet, inches, a fraction and
/// two tolerances, spelt out, has about fifty.
const MOST_LINE: usize = 80;

/// The most readings in one paste: more than any casting has.
const MOST_ITEMS: usize = 500;

/// One line's tokens, without spaces at the ends, to what came of them.
pub(super) type ReadLine<'a, T> = &'a dyn Fn(&str, &[Token]) -> Result<Typed<T>, Fault>;

/// Reads an entry that may be empty, overlong or a list.
pub(super) fn entry<T>(raw: &str, line: ReadLine<'_, T>) -> Typed<T> {
    let tokens = match tokens(raw) {
        Ok(t) => t,
        Err(Overlong(at)) => {
            let why = Why::TooLong {
                most: super::clean::MOST_CHARS,
            };
            return Typed::Refused(Refused {
                raw: raw.to_owned(),
                at: at..raw.chars().count(),
                why,
            });
        }
    };
    let lines: Vec<&[Token]> = tokens
        .split(|t| t.kind == Kind::Break)
        .map(trimmed)
        .filter(|l| !l.is_empty())
        .collect();
    match lines.as_slice() {
        [] if raw.contains(';') => {
            refuse(raw, Fault::new(&(0..raw.chars().count()), Why::NoNumber))
        }
        [] => Typed::NotMeasured,
        [only] => one(raw, only, line),
        many => {
            let places: Vec<_> = many.iter().filter_map(|l| place(l)).collect();
            list(raw, &places, line)
        }
    }
}

/// Several entries at these places of the text.
pub(super) fn list<T>(raw: &str, places: &[Range<usize>], line: ReadLine<'_, T>) -> Typed<T> {
    let chars: Vec<char> = raw.chars().collect();
    if let Some(beyond) = places.get(MOST_ITEMS) {
        return refuse(
            raw,
            Fault::new(
                &(beyond.start..chars.len()),
                Why::TooManyItems { most: MOST_ITEMS },
            ),
        );
    }
    let items: Vec<Item<T>> = places
        .iter()
        .map(|at| {
            let raw: String = chars.get(at.clone()).unwrap_or_default().iter().collect();
            let typed = match tokens(&raw) {
                Ok(t) => one(&raw, trimmed(&t), line),
                Err(Overlong(_)) => Typed::NotMeasured,
            };
            Item { raw, typed }
        })
        .collect();
    if items
        .iter()
        .any(|i| matches!(i.typed, Typed::Understood(_) | Typed::Ask(_)))
    {
        return Typed::List(items);
    }
    refuse(raw, Fault::new(&(0..chars.len()), Why::NoNumber))
}

fn one<T>(raw: &str, tokens: &[Token], line: ReadLine<'_, T>) -> Typed<T> {
    let length: usize = tokens.iter().map(|t| weight(&t.kind)).sum();
    let read = if length > MOST_LINE {
        let at = place(tokens).unwrap_or(0..0);
        Err(Fault::new(&at, Why::TooLong { most: MOST_LINE }))
    } else {
        line(raw, tokens)
    };
    read.unwrap_or_else(|fault| refuse(raw, fault))
}

fn refuse<T>(raw: &str, fault: Fault) -> Typed<T> {
    Typed::Refused(Refused {
        raw: raw.to_owned(),
        at: fault.at,
        why: fault.why,
    })
}

fn weight(kind: &Kind) -> usize {
    match kind {
        Kind::Digits(s) | Kind::Raised(s) | Kind::Lowered(s) | Kind::Word(s) => s.len(),
        _ => 1,
    }
}

fn trimmed(mut tokens: &[Token]) -> &[Token] {
    let blank = |t: &Token| matches!(t.kind, Kind::Space | Kind::Break);
    while let [first, rest @ ..] = tokens
        && blank(first)
    {
        tokens = rest;
    }
    while let [rest @ .., last] = tokens
        && blank(last)
    {
        tokens = rest;
    }
    tokens
}

/// Where tokens stand in the text.
pub(super) fn place(tokens: &[Token]) -> Option<Range<usize>> {
    Some(tokens.first()?.at.start..tokens.last()?.at.end)
}

/// What makes a line no measurement wherever it stands: guesses, sums, odd characters, no digits.
pub(super) fn look_over(tokens: &[Token], allowed: &[char]) -> Result<(), Fault> {
    for (i, t) in tokens.iter().enumerate() {
        match &t.kind {
            Kind::Other(c) if allowed.contains(c) => {}
            Kind::Other(c) => return Err(Fault::new(&t.at, odd(*c))),
            Kind::Word(w) if is_guess(w) || (i == 0 && w.eq_ignore_ascii_case("c")) => {
                return Err(Fault::new(&t.at, Why::Estimate));
            }
            Kind::Word(w)
                if ["inf", "infinity", "nan"]
                    .iter()
                    .any(|n| n.eq_ignore_ascii_case(w)) =>
            {
                return Err(Fault::new(&t.at, Why::NotANumber));
            }
            _ => {}
        }
    }
    let has_digits = tokens
        .iter()
        .any(|t| matches!(t.kind, Kind::Digits(_) | Kind::Vulgar(..) | Kind::Raised(_)));
    if has_digits {
        return Ok(());
    }
    if let [
        Token {
            kind: Kind::Word(w),
            at,
        },
    ] = tokens
        && let Some((found, digit)) = like_a_digit(w)
    {
        return Err(Fault::new(
            &(at.start..at.start + 1),
            Why::LooksLikeDigit { found, digit },
        ));
    }
    Err(Fault::new(&place(tokens).unwrap_or(0..0), Why::NoNumber))
}

fn odd(c: char) -> Why {
    match c {
        '~' | '～' | '≈' | '∼' | '≃' | '≅' | '?' | '？' => Why::Estimate,
        '∞' => Why::NotANumber,
        '|' => Why::LooksLikeDigit {
            found: c,
            digit: '1',
        },
        '*' | '×' | '÷' | '=' | '^' | '(' | ')' => Why::Sum { sign: c },
        _ => Why::Unexpected { found: c },
    }
}

fn is_guess(w: &str) -> bool {
    const GUESSES: [&str; 19] = [
        "about",
        "abt",
        "almost",
        "approx",
        "approximate",
        "approximately",
        "around",
        "ca",
        "circa",
        "est",
        "estimate",
        "estimated",
        "guess",
        "ish",
        "maybe",
        "nearly",
        "or",
        "roughly",
        "say",
    ];
    GUESSES.iter().any(|g| g.eq_ignore_ascii_case(w))
}

/// What is wrong with the token where reading stopped.
pub(super) fn stray(cur: &Cursor<'_>) -> Fault {
    let Some(t) = cur.peek(0) else {
        return Fault::new(&cur.since(cur.pos), Why::NoNumber);
    };
    let why = match &t.kind {
        Kind::Raised(d) | Kind::Lowered(d) => Why::RaisedDigit {
            found: d.chars().next().unwrap_or('0'),
        },
        Kind::Slash => Why::Sum { sign: '/' },
        Kind::Dash => Why::Sum { sign: '-' },
        Kind::Plus => Why::Sum { sign: '+' },
        Kind::PlusMinus => Why::ToleranceCutShort,
        Kind::Point | Kind::Comma => Why::MoreThanOneMark,
        Kind::Single => Why::Unexpected { found: '\'' },
        Kind::Double => Why::Unexpected { found: '"' },
        Kind::Other(c) => odd(*c),
        Kind::Word(w) => return stray_word(cur, w, t),
        Kind::Digits(_) | Kind::Vulgar(..) | Kind::Space | Kind::Break => Why::Text {
            text: text_of(cur, cur.pos),
        },
    };
    Fault::new(&t.at, why)
}

fn stray_word(cur: &Cursor<'_>, w: &str, t: &Token) -> Fault {
    let touches_digits = cur.digits(1).is_some();
    if let (true, Some((found, digit))) = (touches_digits, like_a_digit(w)) {
        return Fault::new(
            &(t.at.start..t.at.start + 1),
            Why::LooksLikeDigit { found, digit },
        );
    }
    if let Some(unit) = Unit::named(w).filter(|_| cur.pos == 0) {
        return Fault::new(&t.at, Why::UnitFirst { unit });
    }
    Fault::new(&t.at, Why::Text { text: w.to_owned() })
}

/// Takes one sign at most; says whether it is a minus, and where.
pub(super) fn sign(cur: &mut Cursor<'_>) -> Result<Option<Range<usize>>, Fault> {
    let Some(t) = cur
        .peek(0)
        .filter(|t| matches!(t.kind, Kind::Plus | Kind::Dash))
    else {
        return Ok(None);
    };
    cur.pos += 1;
    cur.skip_space();
    if let Some(second) = cur
        .peek(0)
        .filter(|t| matches!(t.kind, Kind::Plus | Kind::Dash | Kind::PlusMinus))
    {
        return Err(Fault::new(&second.at, Why::MoreThanOneSign));
    }
    Ok((t.kind == Kind::Dash).then(|| t.at.clone()))
}
