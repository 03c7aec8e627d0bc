//! Numbers in files: millimetres with at most three decimals, a point whatever the place, no −0.
//!
//! The files of a run hold millions of them, so their digits are looked up three at a time.

/// The three digits of every number under a thousand, and how many stand before noughts at the end.
#[expect(clippy::cast_possible_truncation, reason = "single digits")]
static DIGITS: [[u8; 4]; 1000] = {
    let mut out = [[0; 4]; 1000];
    let mut n: u16 = 0;
    while n < 1000 {
        let [h, t, u] = [n / 100, n / 10 % 10, n % 10];
        let count = if u > 0 {
            3
        } else if t > 0 {
            2
        } else {
            1
        };
        out[n as usize] = [b'0' + h as u8, b'0' + t as u8, b'0' + u as u8, count];
        n += 1;
    }
    out
};

/// A number in the making; the longest is `-2147483.648`.
struct Text {
    letters: [u8; 16],
    length: usize,
}

impl Text {
    /// Whole µm as millimetres, with or without the nought before a point.
    #[inline]
    fn of(um: i32, nought: bool) -> Self {
        let mut text = Self {
            letters: [b'-'; 16],
            length: usize::from(um < 0),
        };
        let size = um.unsigned_abs();
        let (whole, part) = (size / 1000, size % 1000);
        if whole >= 1_000_000 {
            text.put_first(whole / 1_000_000);
            text.put_next(whole / 1000 % 1000);
            text.put_next(whole % 1000);
        } else if whole >= 1000 {
            text.put_first(whole / 1000);
            text.put_next(whole % 1000);
        } else if nought || whole > 0 || part == 0 {
            text.put_first(whole);
        }
        if part > 0 {
            let [h, t, u, count] = digits(part);
            text.put([b'.', h, t, u], 1 + usize::from(count));
        }
        text
    }

    /// The digits of a number under a thousand without noughts in front.
    #[inline]
    fn put_first(&mut self, n: u32) {
        let [h, t, u, _] = digits(n);
        let noughts = usize::from(n < 100) + usize::from(n < 10);
        let moved = u32::from_le_bytes([h, t, u, 0]) >> (8 * noughts);
        self.put(moved.to_le_bytes(), 3 - noughts);
    }

    /// All three of its digits.
    fn put_next(&mut self, n: u32) {
        self.put(digits(n), 3);
    }

    #[inline]
    fn put(&mut self, letters: [u8; 4], count: usize) {
        if let Some(here) = self.letters.get_mut(self.length..self.length + 4) {
            here.copy_from_slice(&letters);
        }
        self.length += count;
    }

    /// All sixteen at once and the rest off again: that is one step, a length of its own many.
    #[inline]
    fn add_to(&self, out: &mut Vec<u8>) {
        let end = out.len() + self.length;
        out.extend_from_slice(&self.letters);
        out.truncate(end);
    }
}

#[inline]
fn digits(n: u32) -> [u8; 4] {
    DIGITS.get(n as usize).copied().unwrap_or_default()
}

/// Whole µm as millimetres: `1200` is `1.2`.
#[inline]
pub(super) fn mm(um: i32, out: &mut Vec<u8>) {
    Text::of(um, true).add_to(out);
}

/// As short as the grammar of path data allows: `.5-.25`, a separator only where one is needed.
#[inline]
pub(super) fn short(um: i32, out: &mut Vec<u8>) {
    let parted = um < 0 || out.last().is_some_and(u8::is_ascii_alphabetic);
    if !parted {
        out.push(b' ');
    }
    Text::of(um, false).add_to(out);
}

pub(super) fn mm_text(um: i32) -> String {
    let text = Text::of(um, true);
    text.letters
        .iter()
        .take(text.length)
        .map(|c| char::from(*c))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Text, mm_text, short};

    #[test]
    fn whole_micrometres_print_as_short_as_they_are() {
        let cases = [
            (0, "0"),
            (1, "0.001"),
            (-1, "-0.001"),
            (1_200, "1.2"),
            (-1_250, "-1.25"),
            (210_000, "210"),
            (1_000_000, "1000"),
            (-1_012_030, "-1012.03"),
            (1_000_001_000, "1000001"),
            (i32::MAX, "2147483.647"),
            (i32::MIN, "-2147483.648"),
        ];
        for (um, text) in cases {
            assert_eq!(mm_text(um), text);
        }
    }

    #[test]
    fn every_digit_is_the_one_the_standard_library_prints() {
        // A prime step meets every ending of wholes and parts; the first ones are met one by one.
        let all = (-2000..2000).chain((i32::MIN..i32::MAX).step_by(99_991));
        for um in all {
            let size = um.unsigned_abs();
            let exact = format!("{}.{:03}", size / 1000, size % 1000);
            let exact = exact.trim_end_matches('0').trim_end_matches('.');
            let sign = if um < 0 { "-" } else { "" };
            assert_eq!(mm_text(um), format!("{sign}{exact}"));
            let mut bare = Vec::new();
            Text::of(um, false).add_to(&mut bare);
            let exact = match exact.strip_prefix("0.") {
                Some(part) => format!(".{part}"),
                None => exact.to_owned(),
            };
            assert_eq!(bare, format!("{sign}{exact}").as_bytes());
        }
    }

    #[test]
    fn short_numbers_run_together_only_where_they_can() {
        let mut out = b"c".to_vec();
        [500, -250, 0, 10_050, -1_000]
            .into_iter()
            .for_each(|um| short(um, &mut out));
        assert_eq!(out, b"c.5-.25 0 10.05-1");
    }
}
