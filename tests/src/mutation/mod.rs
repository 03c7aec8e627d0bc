//! Damaged inputs, made from good ones by a number: the same number makes the same damage everywhere.

mod attached;
mod fields;
#[cfg(feature = "artwork")]
mod pictured;
pub mod readers;

/// A sequence of numbers (SplitMix64: Steele, Lea, Flood 2014).
pub struct Chance(u64);

impl Chance {
    /// From a number.
    #[must_use]
    pub const fn of(seed: u64) -> Self {
        Self(seed)
    }

    /// One more number.
    pub fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// One below `n`, which is not nought.
    pub fn below(&mut self, n: usize) -> usize {
        let n = u64::try_from(n.max(1)).unwrap_or(1);
        usize::try_from(self.draw() % n).unwrap_or(0)
    }

    /// One of these.
    pub fn of_all<'a, T>(&mut self, all: &'a [T]) -> Option<&'a T> {
        all.get(self.below(all.len()))
    }
}

/// What readers stumble over: ends of ranges, brackets, separators, marks that change an encoding.
const WORDS: &[&[u8]] = &[
    b"0",
    b"-1",
    b"1e400",
    b"-1e-400",
    b"NaN",
    b"inf",
    b"4294967295",
    b"18446744073709551616",
    b"99999999999999999999999999",
    b"\"",
    b"'",
    b"<",
    b">",
    b"{",
    b"}",
    b"[",
    b"]",
    b",",
    b";",
    b":",
    b"\\",
    b"/",
    b"\0",
    b"\n",
    b"\r\n",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"\xc3\x28",
    b"%s",
    b"&amp;",
    b"<!--",
    b"-->",
    b"<![CDATA[",
    b"null",
    b"true",
    b"f 1 2 3",
    b"usemtl",
    b"endsolid",
    b"facet",
    b"M0 0L",
    b"scale(0)",
    b"url(#a)",
    b"#REF!",
    b"=1+1",
    b"../x",
    b"\x1f\x8b",
];

/// A whole, damaged in a few places.
#[must_use]
pub fn damaged(whole: &[u8], chance: &mut Chance) -> Vec<u8> {
    let mut out = whole.to_vec();
    for _ in 0..=chance.below(6) {
        damage(&mut out, whole, chance);
    }
    out
}

fn damage(out: &mut Vec<u8>, whole: &[u8], chance: &mut Chance) {
    let len = out.len();
    let at = chance.below(len + 1);
    let long = chance.of_all(&[1, 4, 16, 256]).copied().unwrap_or(1);
    let run = 1 + chance.below(long);
    let end = (at + run).min(len);
    match chance.below(11) {
        // A bit, a byte.
        0 => {
            if let Some(b) = out.get_mut(at) {
                *b ^= 1 << chance.below(8);
            }
        }
        1 => {
            if let Some(b) = out.get_mut(at) {
                *b = chance.draw().to_le_bytes()[0];
            }
        }
        // Cut short, or a stretch gone.
        2 => out.truncate(at),
        3 => drop(out.drain(at.min(end)..end)),
        // A stretch said twice, many times, or put elsewhere.
        4 => {
            let copy = out.get(at..end).unwrap_or_default().to_vec();
            let times = [1, 2, 50][chance.below(3)];
            let many: Vec<u8> = copy
                .iter()
                .copied()
                .cycle()
                .take(copy.len() * times)
                .collect();
            out.splice(at..at, many);
        }
        5 => {
            let from = chance.below(whole.len() + 1);
            let till = (from + run).min(whole.len());
            let piece = whole.get(from..till).unwrap_or_default().to_vec();
            out.splice(at..at, piece);
        }
        // A word readers stumble over, put in or put over.
        6 => {
            let word = chance.of_all(WORDS).copied().unwrap_or_default();
            out.splice(at..at, word.iter().copied());
        }
        7 => {
            let word = chance.of_all(WORDS).copied().unwrap_or_default().to_vec();
            out.splice(at..(at + word.len()).min(len), word);
        }
        // Another number where one stands.
        8 => number(out, at, chance),
        // All ones, all noughts: counts and lengths.
        9 => {
            let fill = [0, 0xff, 0x7f][chance.below(3)];
            out.iter_mut()
                .skip(at)
                .take(run.min(8))
                .for_each(|b| *b = fill);
        }
        // Deep.
        _ => {
            let pair: (&[u8], &[u8]) = [
                (&b"["[..], &b"]"[..]),
                (b"{\"a\":", b"}"),
                (b"<g>", b"</g>"),
            ][chance.below(3)];
            let deep = 1 + chance.below(3000);
            let opened = pair.0.iter().copied().cycle().take(pair.0.len() * deep);
            let closed = pair.1.iter().copied().cycle().take(pair.1.len() * deep);
            let both: Vec<u8> = opened.chain(closed).collect();
            out.splice(at..at, both);
        }
    }
}

/// The next number in a text becomes another.
fn number(out: &mut Vec<u8>, at: usize, chance: &mut Chance) {
    let Some(from) = out.iter().skip(at).position(u8::is_ascii_digit) else {
        return;
    };
    let from = at + from;
    let digits = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'e' | b'-');
    let long = out.iter().skip(from).take_while(|b| digits(b)).count();
    let other: &[u8] = [
        &b"0"[..],
        b"-0",
        b"1",
        b"1e308",
        b"1e-308",
        b"-99999999",
        b"65536",
        b"4294967296",
        b"0.0000001",
        b"9007199254740993",
    ][chance.below(10)];
    out.splice(from..from + long, other.iter().copied());
}
