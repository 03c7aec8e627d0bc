//! Numbers in files: millimetres with at most three decimals, a point whatever the place, no −0.

/// Whole µm as millimetres: `1200` is `1.2`.
pub(super) fn mm(um: i32, out: &mut String) {
    let wide = i64::from(um);
    if wide < 0 {
        out.push('-');
    }
    let (whole, part) = (wide.abs() / 1000, wide.abs() % 1000);
    out.push_str(&whole.to_string());
    if part != 0 {
        let digits = format!("{part:03}");
        out.push('.');
        out.push_str(digits.trim_end_matches('0'));
    }
}

/// As short as the grammar of path data allows: `.5-.25`, a separator only where one is needed.
pub(super) fn short(um: i32, out: &mut String) {
    let mut text = mm_text(um);
    if text != "0" {
        text = text.replacen(
            "0.",
            ".",
            usize::from(text.starts_with("0.") || text.starts_with("-0.")),
        );
    }
    let parted = text.starts_with('-') || out.ends_with(|c: char| c.is_ascii_alphabetic());
    if !parted {
        out.push(' ');
    }
    out.push_str(&text);
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
