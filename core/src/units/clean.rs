//! Typed text to tokens: one form for every quote, dash, space, fraction and width of digit.

use super::stands_for::Signs;
use core::cell::OnceCell;
use core::ops::Range;

/// What one stretch of typed text is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Kind {
    Digits(String),
    /// Raised digits, as in a fraction built by hand.
    Raised(String),
    /// Lowered digits, likewise.
    Lowered(String),
    /// One sign for a fraction.
    Vulgar(u8, u8),
    Word(String),
    Space,
    /// End of a line or a cell.
    Break,
    Point,
    Comma,
    /// Foot mark or apostrophe.
    Single,
    /// Inch mark.
    Double,
    Dash,
    Plus,
    PlusMinus,
    Slash,
    Other(char),
}

/// A token with its place in the typed text, in characters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Token {
    pub(super) kind: Kind,
    pub(super) at: Range<usize>,
}

/// The most characters, without counting runs of spaces twice, that are looked at: a column of
/// some 500 readings pasted at once. It bounds the work for any paste.
pub(super) const MOST_CHARS: usize = 4_000;

/// More than [`MOST_CHARS`]; the place where reading stopped.
pub(super) struct Overlong(pub(super) usize);

pub(super) fn tokens(raw: &str) -> Result<Vec<Token>, Overlong> {
    let mut out: Vec<Token> = Vec::new();
    let mut kept = 0;
    let signs = OnceCell::new();
    for (i, c) in raw.chars().enumerate() {
        if is_invisible(c) {
            continue;
        }
        for kind in kinds(c, &signs).into_iter().flatten() {
            let more = push(&mut out, kind, i);
            kept += usize::from(more);
        }
        if kept > MOST_CHARS {
            return Err(Overlong(i));
        }
    }
    Ok(plus_minus(out))
}

/// Appends, joining runs. Says whether it added anything but another space.
fn push(out: &mut Vec<Token>, kind: Kind, i: usize) -> bool {
    if let Some(last) = out.last_mut() {
        let end = i + 1;
        match (&mut last.kind, &kind) {
            (Kind::Digits(a), Kind::Digits(b))
            | (Kind::Raised(a), Kind::Raised(b))
            | (Kind::Lowered(a), Kind::Lowered(b))
            | (Kind::Word(a), Kind::Word(b)) => {
                a.push_str(b);
                last.at.end = end;
                return true;
            }
            (Kind::Space, Kind::Space) | (Kind::Break, Kind::Break | Kind::Space) => {
                last.at.end = end;
                return false;
            }
            (Kind::Space, Kind::Break) => {
                last.kind = Kind::Break;
                last.at.end = end;
                return false;
            }
            // Two foot marks make an inch mark.
            (Kind::Single, Kind::Single) => {
                last.kind = Kind::Double;
                last.at.end = end;
                return true;
            }
            _ => {}
        }
    }
    out.push(Token { kind, at: i..i + 1 });
    true
}

/// `+/-` and `+-` become one sign.
fn plus_minus(tokens: Vec<Token>) -> Vec<Token> {
    let mut out: Vec<Token> = Vec::with_capacity(tokens.len());
    for t in tokens {
        if t.kind == Kind::Dash {
            let n = out.len();
            let before = |k: usize| n.checked_sub(k).and_then(|i| out.get(i)).map(|t| &t.kind);
            let joined = match (before(2), before(1)) {
                (_, Some(Kind::Plus)) => 1,
                (Some(Kind::Plus), Some(Kind::Slash)) => 2,
                _ => 0,
            };
            if joined > 0 {
                out.truncate(n - joined + 1);
                if let Some(plus) = out.last_mut() {
                    *plus = Token {
                        kind: Kind::PlusMinus,
                        at: plus.at.start..t.at.end,
                    };
                }
                continue;
            }
        }
        out.push(t);
    }
    out
}

fn is_invisible(c: char) -> bool {
    matches!(c,
        '\u{AD}' | '\u{34F}' | '\u{61C}' | '\u{180E}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}')
}

/// No character that is accepted turns into more than three (the signs for units do).
const PARTS: usize = 4;

/// The first sign that the list of [`Signs`] could hold; what is before it stands for itself.
const FIRST_SIGN: char = '\u{80}';

/// The token kinds one character stands for; the list of signs is taken apart once it is needed.
fn kinds(c: char, signs: &OnceCell<Signs>) -> [Option<Kind>; PARTS] {
    let mut out = [const { None }; PARTS];
    if let Some(kind) = direct(c) {
        out[0] = Some(kind);
        if c == '⅟' {
            out[1] = Some(Kind::Slash);
        }
        return out;
    }
    out[0] = Some(Kind::Other(c));
    if c < FIRST_SIGN {
        return out;
    }
    let signs = signs.get_or_init(Signs::all);
    // Letter by letter: composing letters with accents would change nothing here.
    for (slot, letter) in out.iter_mut().zip(signs.plain(c)) {
        *slot = Some(direct(letter).unwrap_or(Kind::Other(c)));
    }
    out
}

/// The kind of a character that needs no decomposing.
fn direct(c: char) -> Option<Kind> {
    let kind = match c {
        '0'..='9' => Kind::Digits(c.to_string()),
        'a'..='z' | 'A'..='Z' => Kind::Word(c.to_string()),
        'µ' | 'μ' => Kind::Word("µ".to_owned()),
        '\n' | '\r' | '\t' | '\u{B}' | '\u{C}' | '\u{85}' | '\u{2028}' | '\u{2029}' | ';' => {
            Kind::Break
        }
        // The raised point is the old British decimal point.
        '.' | '·' => Kind::Point,
        ',' => Kind::Comma,
        '\'' | '`' | '´' | 'ʹ' | 'ʻ' | 'ʼ' | 'ˈ' | '‘' | '’' | '‛' | '′' | '‵' => {
            Kind::Single
        }
        '"' | 'ʺ' | '˝' | '“' | '”' | '„' | '‟' | '″' | '‶' | '〃' | '〝' | '〞' | '〟' => {
            Kind::Double
        }
        '-' | '‐' | '‑' | '‒' | '–' | '—' | '―' | '−' | '⁃' | '˗' => Kind::Dash,
        '+' => Kind::Plus,
        '±' => Kind::PlusMinus,
        '/' | '⁄' | '∕' | '⧸' => Kind::Slash,
        // Signs that decomposing would tear into a space and an accent.
        '˚' | 'º' | '°' => Kind::Other('°'),
        '⁰' => Kind::Raised("0".to_owned()),
        '¹' | '⅟' => Kind::Raised("1".to_owned()),
        '²' => Kind::Raised("2".to_owned()),
        '³' => Kind::Raised("3".to_owned()),
        '⁴'..='⁹' => Kind::Raised(digit_from(c, '⁴', 4)),
        '₀'..='₉' => Kind::Lowered(digit_from(c, '₀', 0)),
        _ if c.is_whitespace() => Kind::Space,
        _ => return vulgar(c).map(|(n, d)| Kind::Vulgar(n, d)),
    };
    Some(kind)
}

fn digit_from(c: char, first: char, value: u32) -> String {
    char::from_digit((u32::from(c) - u32::from(first)).saturating_add(value), 10)
        .map_or_else(String::new, String::from)
}

/// The fractions that Unicode gives one sign.
fn vulgar(c: char) -> Option<(u8, u8)> {
    Some(match c {
        '¼' => (1, 4),
        '½' => (1, 2),
        '¾' => (3, 4),
        '⅐' => (1, 7),
        '⅑' => (1, 9),
        '⅒' => (1, 10),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '⅕' => (1, 5),
        '⅖' => (2, 5),
        '⅗' => (3, 5),
        '⅘' => (4, 5),
        '⅙' => (1, 6),
        '⅚' => (5, 6),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use unicode_normalization::UnicodeNormalization;

    /// What Unicode makes of a character (UAX #15, NFKD; the crate `unicode-normalization`), where all
    /// of it can be part of a measurement.
    fn by_unicode(c: char) -> Vec<Kind> {
        // What turns into digits only by losing its ring, dot or height is not a digit.
        let plain_digit = matches!(c, '\u{FF10}'..='\u{FF19}' | '\u{1D7CE}'..='\u{1D7FF}' | '\u{1FBF0}'..='\u{1FBF9}');
        let parts = core::iter::once(c).nfkd();
        let kinds: Vec<Kind> = parts.map(|n| direct(n).unwrap_or(Kind::Other(c))).collect();
        let no_part = |kind: &Kind| {
            matches!(kind, Kind::Other(_)) || (matches!(kind, Kind::Digits(_)) && !plain_digit)
        };
        if kinds.len() > PARTS || kinds.iter().any(no_part) {
            return vec![Kind::Other(c)];
        }
        kinds
    }

    #[test]
    fn every_character_is_what_unicode_makes_of_it() {
        let signs = OnceCell::new();
        for c in ('\0'..=char::MAX).filter(|&c| direct(c).is_none()) {
            let ours: Vec<Kind> = kinds(c, &signs).into_iter().flatten().collect();
            assert_eq!(ours, by_unicode(c), "{c:?} U+{:X}", u32::from(c));
        }
    }
}
