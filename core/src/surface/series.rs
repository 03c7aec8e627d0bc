//! Quotients of circular functions that are smooth at zero, where the plain formulas cancel.
//!
//! Each takes the square of its argument, because every face formula depends on the square only:
//! the results are even, and a negative radius (a hollow) needs no case of its own.

/// Below this square the series is used. At 0.05 the first omitted term is under 3e-18 of the
/// value, and the plain quotient above it loses at most a factor of 1/0.05 in relative rounding.
const SERIES_BELOW: f64 = 0.05;

/// sin x / x from q = x².
pub(super) fn sinc(q: f64) -> f64 {
    if q < SERIES_BELOW {
        1.0 - q / 6.0 * (1.0 - q / 20.0 * (1.0 - q / 42.0 * (1.0 - q / 72.0 * (1.0 - q / 110.0))))
    } else {
        let x = libm::sqrt(q);
        libm::sin(x) / x
    }
}

/// Derivative of [`sinc`] by q: (cos x − sin x / x) / 2x².
pub(super) fn sinc_by_square(q: f64) -> f64 {
    if q < SERIES_BELOW {
        const COEFFICIENTS: [f64; 6] = [
            -1.0 / 6.0,
            2.0 / 120.0,
            -3.0 / 5_040.0,
            4.0 / 362_880.0,
            -5.0 / 39_916_800.0,
            6.0 / 6_227_020_800.0,
        ];
        COEFFICIENTS.iter().rev().fold(0.0, |sum, c| sum * q + c)
    } else {
        let x = libm::sqrt(q);
        (libm::cos(x) - libm::sin(x) / x) / (2.0 * q)
    }
}

/// atan(x) / x, smooth at zero.
pub(super) fn atan_over(x: f64) -> f64 {
    // Below 1e-4 the first omitted term, x⁶/7, is under 2e-25.
    if x.abs() < 1e-4 {
        let q = x * x;
        1.0 - q / 3.0 + q * q / 5.0
    } else {
        libm::atan(x) / x
    }
}

#[cfg(test)]
mod tests {
    use super::{atan_over, sinc, sinc_by_square};

    #[track_caller]
    fn check(name: &str, got: f64, wanted: f64) {
        // Both branches are good to a few units in the last place at the change-over.
        assert!(
            (got - wanted).abs() <= 4e-15 * wanted.abs(),
            "{name}: {got:e} against {wanted:e}"
        );
    }

    /// Values by mpmath 1.3 at 50 digits: `mp.sin(sqrt(q))/sqrt(q)` and `mp.diff` of it.
    #[test]
    fn agree_with_fifty_digits() {
        check("sinc 0", sinc(0.0), 1.0);
        check("sinc 0.01", sinc(0.01), 0.998_334_166_468_281_5);
        check("sinc 0.0499", sinc(0.0499), 0.991_704_058_780_669_7);
        check("sinc 0.0501", sinc(0.0501), 0.991_670_891_816_659);
        check("sinc' 0", sinc_by_square(0.0), -1.0 / 6.0);
        check(
            "sinc' 0.0499",
            sinc_by_square(0.0499),
            -0.165_836_480_779_970_57,
        );
        check(
            "sinc' 0.0501",
            sinc_by_square(0.0501),
            -0.165_833_159_334_877_25,
        );
        check("atan", atan_over(1e-4), libm::atan(1e-4) / 1e-4);
    }
}
