//! Numbers in files: millimetres with at most three decimals, a point whatever the place, no −0.

/// The characters of whole µm as millimetres, with or without the nought before a point.
fn each(um: i32, nought: bool, mut put: impl FnMut(u8)) {
    if um < 0 {
        put(b'-');
    }
    let size = um.unsigned_abs();
    let (whole, part) = (size / 1000, size % 1000);
    let digit = |n: u32| b'0' + (n % 10) as u8;
    if nought || whole > 0 || part == 0 {
        let mut unit = 1;
        while whole / unit >= 10 {
            unit *= 10;
        }
        while unit > 0 {
            put(digit(whole / unit));
            unit /= 10;
        }
    }
    if part > 0 {
        put(b'.');
        for unit in [100, 10, 1] {
            if part % (unit * 10) > 0 {
                put(digit(part / unit));
            }
        }
    }
}

/// Whole µm as millimetres: `1200` is `1.2`.
pub(super) fn mm(um: i32, out: &mut String) {
    each(um, true, |c| out.push(char::from(c)));
}

/// The same for files that are bytes.
pub(super) fn mm_bytes(um: i32, out: &mut Vec<u8>) {
    each(um, true, |c| out.push(c));
}

/// As short as the grammar of path data allows: `.5-.25`, a separator only where one is needed.
pub(super) fn short(um: i32, out: &mut String) {
    let parted = um < 0 || out.ends_with(|c: char| c.is_ascii_alphabetic());
    if !parted {
        out.push(' ');
    }
    each(um, false, |c| out.push(char::from(c)));
}

pub(super) fn mm_text(um: i32) -> String {
    let mut out = String::new();
    mm(um, &mut out);
    out
}

#[cfg(test)]
mod tests {
    use super::{mm_text, short};

    #[test]
    fn whole_micrometres_print_as_short_as_they_are() {
        let cases = [
            (0, "0"),
            (1, "0.001"),
            (-1, "-0.001"),
            (1_200, "1.2"),
            (-1_250, "-1.25"),
            (210_000, "210"),
            (i32::MIN, "-2147483.648"),
        ];
        for (um, text) in cases {
            assert_eq!(mm_text(um), text);
        }
    }

    #[test]
    fn short_numbers_run_together_only_where_they_can() {
        let mut out = String::from("c");
        [500, -250, 0, 10_050, -1_000]
            .into_iter()
            .for_each(|um| short(um, &mut out));
        assert_eq!(out, "c.5-.25 0 10.05-1");
    }
}
