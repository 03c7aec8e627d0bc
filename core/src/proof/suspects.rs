//! What may have made a print so much larger or smaller than drawn.

use crate::sheet::Paper;

/// A ratio within this of a table value is that value: several may be.
const NEAR: f64 = 0.003;

/// Ratios with their usual cause (design/10 §2.2; each is plain arithmetic of unit, resolution or
/// paper sizes: 25.4 mm to the inch, 96, 90 and 72 to the inch, ISO 216 and ASME Y14.1 sizes).
const CAUSES: [(f64, &str); 23] = [
    (210.0 / 215.9, "a Letter page fitted on A4"),
    (279.4 / 297.0, "an A4 page fitted on Letter"),
    (90.0 / 96.0, "a reader that takes 96 to the inch for 90"),
    (96.0 / 90.0, "a reader that takes 90 to the inch for 96"),
    (72.0 / 96.0, "a reader that takes 96 to the inch for 72"),
    (96.0 / 72.0, "a reader that takes 72 to the inch for 96"),
    (1.06, "a browser’s own page printing: print the PDF"),
    (core::f64::consts::FRAC_1_SQRT_2, "an A3 page printed on A4"),
    (core::f64::consts::SQRT_2, "an A4 page printed on A3"),
    (1.25, "a zoom of 125 % used as print scale"),
    (1.1, "a zoom of 110 % used as print scale"),
    (0.9, "a zoom of 90 % used as print scale"),
    (0.8, "a zoom of 80 % used as print scale"),
    (0.5, "a zoom of 50 %, or two pages on a sheet"),
    (2.0, "a zoom of 200 % used as print scale"),
    (25.4 / 96.0, "millimetres taken for screen points"),
    (96.0 / 25.4, "screen points taken for millimetres"),
    (72.0 / 25.4, "points taken for millimetres"),
    (90.0 / 25.4, "points of 1/90 inch taken for millimetres"),
    (1.0 / 25.4, "inches taken for millimetres"),
    (25.4, "millimetres taken for inches"),
    (0.1, "centimetres taken for millimetres"),
    (10.0, "millimetres taken for centimetres"),
];

/// Every usual cause of a ratio on a paper, the table's first; empty where it has none.
///
/// A page that is fitted to what the printer reaches has no ratio of its own: it depends on the
/// margins, so the margins that would do it are named where a printer may have such.
#[must_use]
pub fn suspects(ratio: f64, paper: Paper) -> Vec<String> {
    let mut all: Vec<String> = CAUSES
        .iter()
        .filter(|(r, _)| (ratio / r - 1.0).abs() <= NEAR)
        .map(|(_, why)| (*why).to_owned())
        .collect();
    if let Ok(size) = paper.upright() {
        // The narrower side decides how far a page shrinks to fit.
        let margin = f64::from(size.width) / 1000.0 * (1.0 - ratio) / 2.0;
        if (2.8..=13.0).contains(&margin) {
            all.push(format!(
                "*fit to page*: shrunk into margins of about {margin:.1} mm"
            ));
        }
    }
    if (1.01..=1.031).contains(&ratio) {
        all.push("*borderless*: blown up to run over the edge".into());
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn names(ratio: f64, paper: Paper, each: &[&str]) {
        let found = suspects(ratio, paper);
        for word in each {
            assert!(found.iter().any(|s| s.contains(word)), "{ratio}: {found:?}");
        }
    }

    #[test]
    fn every_row_of_the_table_is_named() {
        // What a 100 mm bar reads: design/10 §2.2.
        for (ratio, margin) in [(0.952, "5.0"), (0.960, "4.2"), (0.9395, "6.4")] {
            names(ratio, Paper::A4, &["fit to page", margin]);
        }
        names(0.97, Paper::A4, &["margins of about 3.2", "Letter page"]);
        names(
            0.941,
            Paper::A4,
            &["A4 page fitted on Letter", "fit to page"],
        );
        names(0.941, Paper::Letter, &["A4 page fitted", "6.4 mm"]);
        names(0.9375, Paper::A4, &["for 90"]);
        names(1.067, Paper::A4, &["for 96"]);
        names(0.75, Paper::A4, &["for 72"]);
        names(1.333, Paper::A4, &["72 to the inch for 96"]);
        names(0.707, Paper::A4, &["A3 page"]);
        names(1.414, Paper::A3, &["A4 page"]);
        names(0.265, Paper::A4, &["screen points"]);
        names(3.543, Paper::A4, &["1/90"]);
        names(2.835, Paper::A4, &["points taken"]);
        names(0.0394, Paper::A4, &["inches taken"]);
        names(0.1, Paper::A4, &["centimetres"]);
        names(10.0, Paper::A4, &["millimetres taken for centimetres"]);
        names(1.02, Paper::A4, &["borderless"]);
    }

    #[test]
    fn overlapping_causes_are_all_named_and_strange_ones_not_at_all() {
        assert!(suspects(0.9395, Paper::A4).len() >= 2);
        assert!(suspects(0.62, Paper::A4).is_empty());
        assert!(suspects(1.0, Paper::A4).is_empty());
    }
}
